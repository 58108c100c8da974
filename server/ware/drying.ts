import { ifSolvable, leastSquares, studentQuantile } from './least-squares.ts';

/** A piece on the scale, hours after any fixed moment. */
export interface Weighing {
  hours: number;
  grams: number;
}

export type WhyNoTime = 'too-few' | 'below-dry' | 'already-dry' | 'rising' | 'equal' | 'no-fit';

/** When a piece will be dry enough for its next coat, or why nobody can say. */
export type Drying =
  | {
      readyAtHours: number;
      /** Four pieces in five are ready within it. */
      range: { low: number; high: number };
      /** Hours in which the water falls to 1/e. */
      timeConstantHours: number;
      reason: null;
    }
  | { readyAtHours: null; reason: WhyNoTime };

/** Share of the water that must be gone before the next coat. Common practice, no source. */
export const ENOUGH_GONE = 0.9;
/** Two weighings this far apart and this near in mass: nothing goes any more. Common practice, no source. */
const STILL_HOURS = 0.5;
const STILL_GRAMS = 1;
/** Standard uncertainty of a weighing on a studio's scale. Common practice, no source. */
const WEIGHING_U = 0.5;
/** That figure itself is good to a half: ½·(Δu/u)⁻² degrees of freedom (GUM, G.4.2). */
const STATED_FREEDOM = 2;
const RANGE_SHARE = 0.8;
/** Less gone than this says nothing of the end. Common practice, no source. */
const LEAST_GONE = 0.1;
/** Scatter about the curve, as a share of all that went, above which it is no first-order drying. No source. */
const MOST_SCATTER = 0.05;
/** A time constant known worse than to this factor predicts nothing. No source. */
const MOST_FACTOR = 2;

/**
 * Share of the coat's water that has gone: (just glazed − now)/(wet gain × (1 − solids fraction)). Water in the wall
 * counts, for it came with the slurry.
 * @param i grams of the piece just glazed and now, grams it gained when glazed, mass fraction of solids of the slurry
 * @returns 0 and below where it has not lost anything; above 1 where more went than came, a damp bisque for one
 * @throws RangeError where nothing was gained, or the fraction lies outside 0 to 1
 */
export function shareOfWaterGone(i: {
  justGlazedGrams: number;
  nowGrams: number;
  wetGainGrams: number;
  solidsFraction: number;
}): number {
  if (!(i.wetGainGrams > 0)) throw new RangeError('Glazed it must weigh more than before.');
  if (!(i.solidsFraction > 0 && i.solidsFraction < 1))
    throw new RangeError('The share of solids lies between 0 and 1.');
  return (i.justGlazedGrams - i.nowGrams) / (i.wetGainGrams * (1 - i.solidsFraction));
}

/** Whether the last weighing lies within a gram of one at least half an hour before it. */
export function hasStoppedDrying(weighings: readonly Weighing[]): boolean {
  const inOrder = byTime(weighings);
  const last = inOrder.at(-1);
  return inOrder.some(
    (w) =>
      last !== undefined &&
      last.hours - w.hours >= STILL_HOURS - 1e-9 &&
      Math.abs(last.grams - w.grams) <= STILL_GRAMS + 1e-9,
  );
}

/**
 * Whether a piece may take its next coat, by what its weighings say: enough of the water gone, or two weighings half an
 * hour apart within a gram.
 * @param wet what the coat brought, null where it was not weighed
 * @param enough share of the water that must be gone
 * @throws RangeError as `shareOfWaterGone`
 */
export function isDryEnough(
  weighings: readonly Weighing[],
  wet: { justGlazedGrams: number; wetGainGrams: number; solidsFraction: number } | null,
  enough = ENOUGH_GONE,
): boolean {
  const last = byTime(weighings).at(-1);
  if (!last) return false;
  if (wet && shareOfWaterGone({ ...wet, nowGrams: last.grams }) >= enough - 1e-9) return true;
  return hasStoppedDrying(weighings);
}

/**
 * When the water left is at most a share of the first weighing's, by first-order drying: m(t) = dry + W·e^(−t/τ),
 * fitted to the masses by Gauss–Newton steps from the line through their logarithms. Two weighings give the curve
 * itself; its range then rests on the stated uncertainty of the scale (0.5 g) alone, known with two degrees of freedom.
 * The range is that of the time by the standard errors of ln W and ln τ, Student's t, 80 %.
 *
 * Source: the falling-rate period of drying as a first-order process, Lewis 1921 (from memory).
 * @param dryGrams bisque and dry coat together
 * @param waterLeftShare above 0, below 1
 * @returns a reason in place of a time where the weighings do not bear one out: fewer than two times, a mass below
 * dry, ready already, heavier than before, no change, or no such curve
 * @throws RangeError for a share or a mass that cannot be
 */
export function dryingTime(
  weighings: readonly Weighing[],
  dryGrams: number,
  waterLeftShare = 1 - ENOUGH_GONE,
): Drying {
  if (!(waterLeftShare > 0 && waterLeftShare < 1))
    throw new RangeError('The share of water left lies between 0 and 1.');
  if (!(dryGrams > 0 && Number.isFinite(dryGrams)))
    throw new RangeError('The dry piece must weigh more than nothing.');
  if (!weighings.every((w) => Number.isFinite(w.hours) && Number.isFinite(w.grams)))
    throw new RangeError('Hours and grams must be numbers.');
  const water = byTime(weighings).map((w) => ({ hours: w.hours, grams: w.grams - dryGrams }));
  const [first] = water;
  const last = water.at(-1);
  if (!first || !last) return no('too-few');
  if (water.some((w) => w.grams < 0)) return no('below-dry');
  const target = waterLeftShare * first.grams;
  if (last.grams <= target + 1e-9) return no('already-dry');
  if (last.hours === first.hours) return no('too-few');
  if (hasRisen(water)) return no('rising');
  if (water.every((w) => w.grams === first.grams)) return no('equal');
  if (last.grams > (1 - LEAST_GONE) * first.grams + 1e-9 || water.some((w) => w.grams === 0))
    return no('no-fit');
  // Weighings may lie too close together, or one outweigh all others.
  const curve = ifSolvable(() => exponential(water));
  if (!curve) return no('no-fit');

  const { logWater, logTau, covariance, scale2, freedom, scatter } = curve;
  const tau = Math.exp(logTau);
  const quantile = studentQuantile((1 + RANGE_SHARE) / 2, freedom);
  const tauU = Math.sqrt(scale2 * (covariance[1]?.[1] ?? 0));
  if (quantile * tauU > Math.log(MOST_FACTOR)) return no('no-fit');
  if (scatter > Math.max(STILL_GRAMS, MOST_SCATTER * (first.grams - last.grams))) return no('no-fit');

  const lengths = logWater - Math.log(target);
  const readyAtHours = first.hours + tau * lengths;
  const [[ww = 0, wt = 0] = [], [, tt = 0] = []] = covariance;
  const u = tau * Math.sqrt(scale2 * (ww + 2 * lengths * wt + lengths ** 2 * tt));
  return {
    readyAtHours,
    range: { low: Math.max(last.hours, readyAtHours - quantile * u), high: readyAtHours + quantile * u },
    timeConstantHours: tau,
    reason: null,
  };
}

interface Curve {
  /** Of the grams of water at the first weighing. */
  logWater: number;
  logTau: number;
  covariance: number[][];
  scale2: number;
  freedom: number;
  /** Standard deviation of the weighings about the curve, g; 0 of two. */
  scatter: number;
}

/** Gauss–Newton in ln W and ln τ, hours counted from the first weighing; null where it does not settle. */
function exponential(water: readonly Weighing[]): Curve | null {
  const start = water[0]?.hours ?? 0;
  const points = water.map((w) => ({ t: w.hours - start, grams: w.grams }));
  // What a mass is worth on the logarithms falls with it: u(ln w) = u/w.
  const line = leastSquares(
    points.map((p) => ({ x: [1, p.t], y: Math.log(p.grams), u: WEIGHING_U / p.grams })),
  );
  const [firstWater = 0, slope = 0] = line.beta;
  if (!(slope < 0)) return null;
  let logWater = firstWater;
  let logTau = -Math.log(-slope);
  const off = () => points.map((p) => p.grams - Math.exp(logWater - p.t * Math.exp(-logTau)));
  const squares = () => off().reduce((sum, r) => sum + (r / WEIGHING_U) ** 2, 0);
  let chi2 = squares();
  let covariance = line.covariance;
  for (let round = 0; round < 50; round++) {
    const residuals = off();
    const step = leastSquares(
      points.map((p, i) => {
        const lengths = p.t * Math.exp(-logTau);
        const grams = Math.exp(logWater - lengths);
        return { x: [grams, grams * lengths], y: residuals[i] ?? 0, u: WEIGHING_U };
      }),
    );
    covariance = step.covariance;
    const [before, beforeTau] = [logWater, logTau];
    let share = 1;
    let found = chi2;
    do {
      logWater = before + share * (step.beta[0] ?? 0);
      logTau = beforeTau + share * (step.beta[1] ?? 0);
      found = squares();
      share /= 2;
    } while (!(found <= chi2 + 1e-12) && share > 1e-6);
    if (!Number.isFinite(found)) return null;
    chi2 = found;
    if (Math.abs(logWater - before) + Math.abs(logTau - beforeTau) < 1e-12) break;
  }
  const over = points.length - 2;
  return {
    logWater,
    logTau,
    covariance,
    scale2: (STATED_FREEDOM + chi2) / (STATED_FREEDOM + over),
    freedom: STATED_FREEDOM + over,
    scatter: over > 0 ? WEIGHING_U * Math.sqrt(chi2 / over) : 0,
  };
}

/** Heavier at the end than at the start, or by more than a gram than at any time before. */
function hasRisen(water: readonly Weighing[]): boolean {
  let least = Number.POSITIVE_INFINITY;
  for (const { grams } of water) {
    if (grams > least + STILL_GRAMS) return true;
    least = Math.min(least, grams);
  }
  return (water.at(-1)?.grams ?? 0) > (water[0]?.grams ?? 0);
}

const no = (reason: WhyNoTime): Drying => ({ readyAtHours: null, reason });

const byTime = (weighings: readonly Weighing[]): Weighing[] =>
  weighings.toSorted((a, b) => a.hours - b.hours || b.grams - a.grams);
