import { COVERAGE_95, WATER_20 } from './gravity.ts';
import { dryToThicken, slurryToBlend, waterToTakeOff, waterToThin } from './slurry.ts';

/** One thing that brings a bucket to its aim: the whole amount, the stage to do first, and what ± leaves open. */
export type Way =
  | {
      kind: 'add-water' | 'blend' | 'take-water-off';
      litres: number;
      first: number;
      range: { low: number; high: number };
      takeOutFirst?: number;
      /** Of the slurry to blend in; only for a blend. */
      specificGravity?: number;
    }
  | {
      kind: 'add-dry';
      kilograms: number;
      first: number;
      range: { low: number; high: number };
      takeOutFirst?: number;
    };

export interface AdviceInput {
  litres: number;
  specificGravity: number;
  /** Of the gravity, default 0. */
  standardUncertainty?: number;
  target: number;
  solidsDensity: number;
  capacityLitres?: number;
  blendSpecificGravity?: number;
}

/** What a way asks of so many litres at a gravity, and the litres that one unit of it fills. */
interface Remedy {
  kind: Way['kind'];
  amount: (litres: number, sg: number) => number;
  litresPerUnit: number;
  specificGravity?: number;
}

const SAME = 1e-9;
const STEP = 0.01;

/**
 * Everything that could be done to bring a bucket to its aim, best first; none when it is there already, or so
 * near that no amount a person can measure is left.
 *
 * Thick: add water, then blend in thinner slurry. Thin: blend in heavier slurry, take clear water off after
 * settling, add dry glaze. Amounts are litres or kilograms, rounded to 0.01 (0.001 below 0.1); `first` is about
 * three quarters of it; `range` is what a gravity 1.96 u lower or higher would ask for. When the whole amount
 * would not fit, `takeOutFirst` litres of the slurry as it is come out before, and the amounts are for the rest.
 * @throws RangeError with a sentence for the person when the input cannot be
 */
export function ways(i: AdviceInput, rho: number = WATER_20): Way[] {
  refuseImpossible(i, rho);
  if (Math.abs(i.specificGravity - i.target) < SAME) return [];
  return remedies(i, rho)
    .map((remedy) => way(remedy, i, rho))
    .filter((found) => whole(found) > 0);
}

/**
 * The ways open to whoever asks. A member adds water; everything else is a technician's. Water is never taken off
 * a recipe with solubles, for they would leave with it.
 */
export function openTo(who: 'member' | 'technician', all: Way[], o: { hasSolubles: boolean }): Way[] {
  if (who === 'member') return all.filter((w) => w.kind === 'add-water');
  return all.filter((w) => !(w.kind === 'take-water-off' && o.hasSolubles));
}

function remedies(i: AdviceInput, rho: number): Remedy[] {
  const { target, solidsDensity } = i;
  if (i.specificGravity > target) {
    const water: Remedy = {
      kind: 'add-water',
      amount: (litres, sg) => waterToThin({ litres, sg, target }, rho),
      litresPerUnit: 1,
    };
    return [water, ...blends(i)];
  }
  const takeOff: Remedy = {
    kind: 'take-water-off',
    amount: (litres, sg) => waterToTakeOff({ litres, sg, target }, rho),
    litresPerUnit: 0,
  };
  const dry: Remedy = {
    kind: 'add-dry',
    amount: (litres, sg) => dryToThicken({ litres, sg, target, solidsDensity }),
    litresPerUnit: 1 / solidsDensity,
  };
  return [...blends(i), takeOff, dry];
}

/** Blending helps only when the aim lies between the bucket and the other slurry. */
function blends({ specificGravity, target, blendSpecificGravity: blend }: AdviceInput): Remedy[] {
  if (blend === undefined || Math.abs(blend - target) < SAME) return [];
  const sameSide = blend > target === specificGravity > target;
  if (sameSide) return [];
  const amount = (litres: number, sg: number) => slurryToBlend({ litres, sg, target, blend });
  return [{ kind: 'blend', amount, litresPerUnit: 1, specificGravity: blend }];
}

function way(remedy: Remedy, i: AdviceInput, rho: number): Way {
  const takeOutFirst = roomToMake(remedy, i);
  const litres = i.litres - takeOutFirst;
  const spread = COVERAGE_95 * (i.standardUncertainty ?? 0);
  const at = (sg: number) =>
    roundAmount(Math.max(0, remedy.amount(litres, Math.min(Math.max(sg, rho), i.solidsDensity))));
  const [one, other] = [at(i.specificGravity - spread), at(i.specificGravity + spread)];
  const amount = at(i.specificGravity);
  const shared = {
    first: firstStage(amount, remedy.kind),
    range: { low: Math.min(one, other), high: Math.max(one, other) },
    ...(takeOutFirst > 0 && { takeOutFirst }),
  };
  if (remedy.kind === 'add-dry') return { kind: 'add-dry', kilograms: amount, ...shared };
  return {
    kind: remedy.kind,
    litres: amount,
    ...shared,
    ...(remedy.specificGravity !== undefined && { specificGravity: remedy.specificGravity }),
  };
}

/** Litres of slurry that must come out before the whole amount fits, in steps of 0.01, rounded up. */
function roomToMake(remedy: Remedy, i: AdviceInput): number {
  const added = remedy.amount(i.litres, i.specificGravity) * remedy.litresPerUnit;
  // Half a step stays free, so that the rounded amount fits too.
  const room = Math.max(0, (i.capacityLitres ?? Number.POSITIVE_INFINITY) - STEP / 2);
  if (remedy.litresPerUnit === 0 || i.litres + added <= room) return 0;
  const kept = (room * i.litres) / (i.litres + added);
  return Math.min(i.litres, roundTo(Math.ceil((i.litres - kept) / STEP - SAME) * STEP, STEP));
}

function whole(w: Way): number {
  return w.kind === 'add-dry' ? w.kilograms : w.litres;
}

function roundAmount(amount: number): number {
  return roundTo(amount, amount < 0.1 ? 0.001 : STEP);
}

/** About three quarters of an amount, in steps a person can measure, and never more than the whole. */
function firstStage(amount: number, kind: Way['kind']): number {
  const wanted = 0.75 * amount;
  const quarters = roundTo(wanted, 0.25);
  const inJugs = kind !== 'add-dry' && wanted >= 1 && Math.abs(quarters - wanted) <= 0.08 * wanted;
  const step = inJugs ? 0.25 : wanted >= 0.5 ? 0.05 : wanted >= 0.1 ? 0.01 : 0.001;
  return Math.min(amount, roundTo(wanted, step));
}

function roundTo(value: number, step: number): number {
  const perUnit = Math.round(1 / step);
  return Math.round(value * perUnit) / perUnit;
}

function refuseImpossible(i: AdviceInput, rho: number): void {
  const refuse = (impossible: boolean, sentence: string) => {
    if (impossible) throw new RangeError(sentence);
  };
  const { litres, specificGravity, standardUncertainty = 0, target, solidsDensity } = i;
  const blend = i.blendSpecificGravity ?? rho;
  const capacity = i.capacityLitres ?? Number.POSITIVE_INFINITY;
  refuse(!(litres >= 0 && Number.isFinite(litres)), 'Say how many litres are in the bucket.');
  refuse(!(solidsDensity > rho && Number.isFinite(solidsDensity)), 'The solids must be heavier than water.');
  refuse(!(specificGravity >= rho - SAME), 'The gravity cannot be below that of water.');
  refuse(!(specificGravity <= solidsDensity + SAME), 'The gravity must be below that of the dry solids.');
  refuse(!(target > rho), 'The gravity wanted must be above that of water.');
  refuse(!(target < solidsDensity), 'The gravity wanted must be below that of the dry solids.');
  refuse(
    !(standardUncertainty >= 0 && Number.isFinite(standardUncertainty)),
    'The uncertainty of the gravity cannot be negative.',
  );
  refuse(!(capacity > 0), 'The bucket must hold more than nothing.');
  refuse(litres > capacity + SAME, 'There cannot be more litres in the bucket than it holds.');
  refuse(
    !(blend >= rho && blend <= solidsDensity),
    'The slurry to blend must lie between water and the dry solids.',
  );
}
