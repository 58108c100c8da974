import { ReadingsPage, ShutOffPage } from '../../../views/kilns/firing-during.tsx';
import { OpenPage, questioned } from '../../../views/kilns/firing-open.tsx';
import { GasLogPage } from '../../../views/kilns/gas-log.tsx';
import type { Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  gasForm,
  noteGasLine,
  noteReading,
  openForm,
  openKiln,
  readingForm,
  showFiring,
  shutOff,
  shutOffForm,
  strikeOutEvent,
  strikeOutForm,
} from '../service/index.ts';
import { doneIn, loadNumber, loadReaderOf } from './load-reader.ts';

const DONE = {
  read: 'Written down.',
  line: 'The line is written.',
  off: 'It is off. It cools from now on.',
  cracked: 'Written down: cracked.',
  opened: 'Written down: opened.',
  struck: 'Struck out.',
};

const at = (visit: Visit, pageName: string): string => `/kilns/loads/${loadNumber(visit)}/${pageName}`;

async function props(visit: Visit, form: FormState) {
  const firing = await showFiring(visit.read, loadNumber(visit));
  const started = firing.load.kiln.power === 'gas' ? 'It is lit.' : 'It is on.';
  return {
    firing,
    form,
    done: doneIn(visit, form, { ...DONE, started }),
    reader: loadReaderOf(visit),
  };
}

export const showReadings = async (visit: Visit, form: FormState = emptyForm()): Promise<Answer> =>
  page('Pyrometer', 'kilns', <ReadingsPage {...(await props(visit, form))} />);

export const saveReading = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showReadings(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(readingForm);
      await visit.act((act) => noteReading(act, number, command));
      return go(at(visit, 'readings?did=read'));
    },
  );

export async function showGas(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const shown = await props(visit, form);
  if (shown.firing.load.kiln.power !== 'gas' && form.errors.length === 0) return go(at(visit, 'readings'));
  return page('Hand log', 'kilns', <GasLogPage {...shown} />);
}

export const saveGas = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGas(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(gasForm, { ...visit.typed, down: inWords(visit.typed.down) });
      await visit.act((act) => noteGasLine(act, number, command));
      return go(at(visit, 'gas?did=line'));
    },
  );

/** '5, 6' as two. */
const inWords = (typed: Typed[string]): string[] =>
  [typed ?? []].flat().flatMap((one) => one.split(/[\s,;]+/));

export async function showShutOff(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const shown = await props(visit, form);
  const { number, state } = shown.firing.load;
  if (state !== 'firing' && form.errors.length === 0)
    return go(state === 'cooling' ? at(visit, 'open') : `/kilns/loads/${number}`);
  return page('Shut off', 'kilns', <ShutOffPage {...shown} />);
}

export const saveShutOff = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showShutOff(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(shutOffForm);
      await visit.act((act) => shutOff(act, number, command));
      return go(at(visit, 'open?did=off'));
    },
  );

export const showOpen = async (visit: Visit, form: FormState = emptyForm()): Promise<Answer> =>
  page('Cooling', 'kilns', <OpenPage {...(await props(visit, form))} />);

/** A yes to "was it all the same?" counts for the reading that was asked about alone. */
export const confirmed = (typed: Typed): Typed => ({
  ...typed,
  confirm: typed.confirm !== undefined && typed.confirm === questioned(emptyForm(typed)) ? 'yes' : undefined,
});

export const saveOpen = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showOpen(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(openForm, confirmed(visit.typed));
      await visit.act((act) => openKiln(act, number, command));
      return go(at(visit, `open?did=${command.how}`));
    },
  );

/** Pages that an entry may be struck out from, and lead back to. */
const BACK: Record<string, (visit: Visit, form?: FormState) => Promise<Answer>> = {
  readings: showReadings,
  gas: showGas,
};

export function strikeOut(visit: Visit): Promise<Answer> {
  const { back } = visit.typed;
  const name = typeof back === 'string' && Object.hasOwn(BACK, back) ? back : null;
  return visit.submit(
    (form) => (BACK[name ?? 'readings'] ?? showReadings)(visit, { ...form, typed: {} }),
    async () => {
      const number = loadNumber(visit);
      const { event, reason } = visit.form(strikeOutForm);
      await visit.act((act) => strikeOutEvent(act, number, { event, reason }));
      return go(name === null ? `/kilns/loads/${number}` : at(visit, `${name}?did=struck`));
    },
  );
}
