import type { ComponentChildren } from 'preact';
import type { Shelf } from '../../server/kilns/packing/problem.ts';
import type { KilnNow } from '../../server/kilns/service/index.ts';
import { State } from '../ui/icons.tsx';
import { Notice } from '../ui/panel.tsx';

/** Some fields of a long form. */
export function Group({ title, children }: { title: string; children: ComponentChildren }) {
  return (
    <fieldset class="group">
      <legend>{title}</legend>
      <div class="form">{children}</div>
    </fieldset>
  );
}

/** 'round, 550 mm across', '10 sides, 560 mm across flats', '600 × 500 mm' */
export function shelfWords(shelf: Shelf): string {
  if (shelf.shape === 'round') return `round, ${shelf.diameterMm} mm across`;
  if (shelf.shape === 'polygon') return `${shelf.sides} sides, ${shelf.acrossFlatsMm} mm across flats`;
  return `${shelf.widthMm} × ${shelf.depthMm} mm`;
}

/** Whether a kiln may be used, as word and shape. */
export function ServiceState({ kiln }: { kiln: Pick<KilnNow, 'service' | 'retiredAt'> }) {
  if (kiln.retiredAt !== null) return <State state="do-not-use" words="Retired" />;
  return kiln.service === 'in-service' ? (
    <State state="ready" words="In service" />
  ) : (
    <State state="do-not-use" words="Out of service" />
  );
}

/** Before a hand goes into a kiln that nobody is firing. */
export function CareCaution({ handsBelowC }: { handsBelowC: number }) {
  return (
    <Notice title="Isolate and lock off before reaching in" tone="too-thick">
      <p>
        Pull the plug or lock the isolator, try the controls, then reach in. Below {handsBelowC} °C by the
        pyrometer, with gloves. Vacuum with a mask on: the dust of bricks and wash harms lungs.
      </p>
    </Notice>
  );
}

export const plural = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;
