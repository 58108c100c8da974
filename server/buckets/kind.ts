import type { z } from 'zod';
import { Invalid } from '../core/errors.ts';
import { instant, text } from '../core/forms.ts';
import type { Permission } from '../core/policy.ts';
import { type UnitSystem, volume } from '../core/units.ts';
import type { Calibration } from './float.ts';
import type { HydrometerScale } from './gravity.ts';
import type { Facts, Payload } from './ledger.ts';
import type { Problem } from './problems.ts';
import type { Shape } from './vessel.ts';

/** A vessel for brim-full weighing, as readings need it. */
export interface Cup {
  code: string;
  tareG: number;
  waterG: number;
  waterC: number;
  resolutionG: number;
}

/** A scale, a hydrometer or a flow cup of the studio. */
export interface Instrument {
  kind: 'scale' | 'hydrometer' | 'flow-cup';
  code: string;
  name: string;
  resolutionG: number | null;
  scale: HydrometerScale | null;
  division: number | null;
}

/** The bucket as it is when something is recorded about it. */
export interface Situation {
  facts: Facts;
  capacityLitres: number;
  shape: Shape | null;
  sieveMesh: number;
  /** Holds mixed leftovers of many glazes. */
  isReclaim: boolean;
  /** In which the person reads amounts. */
  units: UnitSystem;
  /** Whether what is recorded comes after all that is known; the past is not second-guessed. */
  isLatest: boolean;
  cup: Cup | null;
  /** The named instrument, and the named float with its newest calibration; null when there is none such. */
  instrument: Instrument | null;
  float: { calibration: Calibration | null } | null;
  /** The newest batch in it, where it is still to be accepted by a fired tile. */
  untestedBatch: number | null;
}

/** What is stored of an event: what the arithmetic needs, and what was typed or reported. */
export type Entry = Payload & { typed?: Record<string, unknown>; problem?: Problem };

/**
 * One kind of act at a bucket. The form on the page, the JSON route and its OpenAPI entry, and what is
 * appended to the ledger all come from here. `entries` is pure: what it returns is appended in order, what it
 * throws is shown beside the field.
 */
export interface Kind<B extends z.ZodType = z.ZodType> {
  path: string;
  summary: string;
  body: B;
  permission(body: z.output<B>): Permission;
  entries(body: z.output<B>, situation: Situation): Entry[];
}

export const kind = <B extends z.ZodType>(k: Kind<B>): Kind<B> => k;

export const always = (permission: Permission) => () => permission;

/** What every act may carry: when it happened, if not now, and a remark. */
export const common = { happenedAt: instant().optional(), note: text(500).optional() };

/** What a use case of pure code cannot be given is the person's to mend: said beside the field. */
export function taken<T>(path: string, compute: () => T): T {
  try {
    return compute();
  } catch (error) {
    if (error instanceof RangeError) throw new Invalid([{ path, message: error.message }]);
    throw error;
  }
}

/** As much as the bucket holds, and no more. */
export function mustFit(path: string, litres: number, { capacityLitres, units }: Situation): void {
  if (litres > capacityLitres + 1e-9)
    throw new Invalid([{ path, message: `The bucket holds ${volume(capacityLitres, units)}.` }]);
}

/** Together with what is surely in it already. */
export function mustFitIn(path: string, litres: number, situation: Situation): void {
  mustFit(path, litres, situation);
  const { facts, isLatest, capacityLitres, units } = situation;
  if (!isLatest || facts.litres === null) return;
  if (facts.litres - 2 * facts.litresU + litres <= capacityLitres) return;
  throw new Invalid([
    {
      path,
      message: `About ${volume(facts.litres, units)} are in it and it holds ${volume(capacityLitres, units)}. Record the level first if that is wrong.`,
    },
  ]);
}

/** Between water and the dry glaze. */
export function mustBeSlurry(path: string, specificGravity: number, solidsDensity: number): void {
  if (specificGravity < 1)
    throw new Invalid([
      {
        path,
        message: `That gives a gravity of ${specificGravity.toFixed(3)}: no glaze is lighter than water.`,
      },
    ]);
  if (specificGravity >= solidsDensity)
    throw new Invalid([
      {
        path,
        message: `That gives a gravity of ${specificGravity.toFixed(2)}: heavier than the dry powder itself (${solidsDensity.toFixed(2)}).`,
      },
    ]);
}
