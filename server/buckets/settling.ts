import type { Instant } from '../core/clock.ts';
import { WATER_20 } from './gravity.ts';

/** SG at dipping depth right after stirring, and again at the same depth after so many minutes untouched. */
export interface Pair {
  fresh: number;
  later: number;
  minutes: number;
}

/** What pairs of readings say about how fast the glaze leaves the top. */
export interface MeasuredSettling {
  pairs: number;
  /** How many of them did not settle: the later gravity was no lower. */
  stood: number;
  /** Median share of the gravity over that of water that is lost each minute. */
  perMinute: number;
  /** Minutes until a quarter of the band is lost at dipping depth; null when the middle pair did not settle. */
  minutes: number | null;
  /** The same by the fastest and by the slowest pair that settled. */
  range: { low: number; high: number } | null;
}

/** Fewer are overruled by one bad reading. */
export const FEWEST_PAIRS = 3;
const MOST_PAIRS = 12;
const SHARE_OF_BAND = 1 / 4;
/** A quarter of a very wide band may be more than the glaze has over water at all. */
const MOST_LOST = 0.99;
/** What a bucket's interval may be at most. */
const LONGEST_MIN = 1440;

/**
 * The rate per minute at which one pair loses its gravity over that of water, taken as exponential:
 * G(t) − ρ_w = (G(0) − ρ_w)·e^(−kt). Zero for a pair that did not settle.
 *
 * Nothing is assumed about particles. A glaze with clay is a weak gel, and formulas for single spheres falling
 * through water miss it by orders of magnitude; so it is measured, and only for the depth that was measured.
 */
export function lossPerMinute({ fresh, later, minutes }: Pair, waterDensity = WATER_20): number {
  if (later >= fresh || fresh <= waterDensity || !(minutes > 0)) return 0;
  const left = Math.max(later - waterDensity, Number.EPSILON);
  return Math.log((fresh - waterDensity) / left) / minutes;
}

/**
 * How fast the bucket settles, by the median of its pairs, which one bad pair of three does not move.
 * @returns null without a pair
 */
export function measuredSettling(
  pairs: Pair[],
  band: { low: number; aim: number; high: number },
  waterDensity = WATER_20,
): MeasuredSettling | null {
  if (pairs.length === 0) return null;
  const rates = pairs.map((pair) => lossPerMinute(pair, waterDensity)).sort((a, b) => a - b);
  const settled = rates.filter((rate) => rate > 0);
  const until = (rate: number) => minutesToLose(rate, band, waterDensity);
  const slowest = settled[0];
  const fastest = settled.at(-1);
  const perMinute = median(rates);
  return {
    pairs: pairs.length,
    stood: rates.length - settled.length,
    perMinute,
    minutes: perMinute > 0 ? until(perMinute) : null,
    range:
      slowest === undefined || fastest === undefined ? null : { low: until(fastest), high: until(slowest) },
  };
}

/** The interval to propose, rounded down to what people remember; null while there is too little to go by. */
export function proposedInterval(found: MeasuredSettling | null): number | null {
  if (found === null || found.minutes === null || found.pairs < FEWEST_PAIRS) return null;
  const minutes = Math.min(found.minutes, LONGEST_MIN);
  const step = minutes < 10 ? 1 : minutes < 60 ? 5 : 15;
  // What floating point takes away must not cost a whole step.
  return Math.max(1, Math.floor(minutes / step + 1e-9) * step);
}

/** Those since the composition last changed, where they are enough; else the newest. Newest first, as given. */
export function pairsToUse<P extends { at: Instant }>(
  newestFirst: P[],
  changedAt: Instant | null,
): { pairs: P[]; sinceChange: boolean } {
  const since = newestFirst.filter(({ at }) => changedAt === null || at >= changedAt);
  const sinceChange = since.length >= FEWEST_PAIRS;
  return { pairs: (sinceChange ? since : newestFirst).slice(0, MOST_PAIRS), sinceChange };
}

/** 'A quarter of the band is lost at dipping depth in 4.6 min: the middle of 4 pairs, which give 3.9 to 5.8 min.' */
export function settlingText({ pairs, stood, minutes, range }: MeasuredSettling): string {
  if (minutes === null || range === null) {
    return pairs === 1
      ? 'It hardly settles: its one pair did not settle in the time it was given.'
      : `It hardly settles: ${stood} of ${pairs} pairs did not settle in the time they were given.`;
  }
  const lost = `A quarter of the band is lost at dipping depth in ${figure(minutes)} min`;
  if (pairs === 1) return `${lost}, by one pair.`;
  const [low, high] = [figure(range.low), figure(range.high)];
  const give = low === high ? '' : `, which give ${low} to ${high} min`;
  return `${lost}: the middle of ${pairs} pairs${give}.${stood === 0 ? '' : ` ${stood} of them did not settle.`}`;
}

function minutesToLose(
  perMinute: number,
  { low, aim, high }: { low: number; aim: number; high: number },
  waterDensity: number,
): number {
  const share = ((high - low) * SHARE_OF_BAND) / (aim - waterDensity);
  return -Math.log1p(-Math.min(share, MOST_LOST)) / perMinute;
}

function median(sorted: number[]): number {
  const middle = sorted.length / 2;
  return ((sorted[Math.floor(middle)] ?? 0) + (sorted[Math.ceil(middle) - 1] ?? 0)) / 2;
}

const figure = (minutes: number): string => (minutes < 9.95 ? minutes.toFixed(1) : minutes.toFixed(0));
