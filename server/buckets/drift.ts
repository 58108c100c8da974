import { DAY, type Instant, MINUTE } from '../core/clock.ts';
import { combine } from './gravity.ts';
import type { Facts } from './ledger.ts';

type Readings = Facts['recent'];

/** Change of SG per day and its standard error. */
interface Drift {
  perDay: number;
  perDayU: number;
}

/** Under this chance of still lying in the band, a bucket needs a reading. */
export const LEAST_CHANCE = 0.8;

const FEWEST_READINGS = 6;
const SHORTEST_DAYS = 3;
const HORIZON_DAYS = 60;
/** Two readings nearer in time than this say nothing about a slope. */
const APART_DAYS = 1 / 24;
/** Median absolute deviation to standard deviation, for normal scatter. */
const MAD_TO_SD = 1.4826;
/** The slope's efficiency against least squares is 3/π for normal scatter (Sen 1968). */
const SLOPE_COST = Math.sqrt(Math.PI / 3);
const SMALLEST_JUMP = 0.01;

/**
 * How fast the gravity of an undisturbed bucket changes: Theil–Sen slope, the median of the slopes of all pairs,
 * which one odd reading does not move. Its standard error follows from the robust scatter about the line.
 *
 * Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389.
 * @returns null under 6 readings over 3 days, which say nothing reliable
 */
export function drift(recent: Readings): Drift | null {
  const line = theilSen(recent);
  return line && { perDay: line.perDay, perDayU: line.perDayU };
}

/**
 * Chance that the gravity still lies in the band so many days after a reading: normal about G + b·t with standard
 * deviation u(b)·t. The reading's own error is not in it: only drift may ask for another reading.
 */
export function chanceInBand(
  lastGravity: number,
  d: Drift,
  elapsedDays: number,
  low: number,
  high: number,
): number {
  const middle = lastGravity + d.perDay * elapsedDays;
  const sd = d.perDayU * elapsedDays;
  if (sd <= 0) return middle >= low && middle <= high ? 1 : 0;
  return normalBelow((high - middle) / sd) - normalBelow((low - middle) / sd);
}

/**
 * The first instant, to the minute, at which the chance of lying in the band falls under 0.8. Inside the band it
 * only ever falls, so halving the interval finds it.
 * @param from when the gravity was read
 * @returns null when it stays above for 60 days
 */
export function horizon(
  from: Instant,
  lastGravity: number,
  d: Drift,
  low: number,
  high: number,
): Instant | null {
  const doubtful = (minutes: number) =>
    chanceInBand(lastGravity, d, (minutes * MINUTE) / DAY, low, high) < LEAST_CHANCE;
  let sure = 0;
  let unsure = (HORIZON_DAYS * DAY) / MINUTE;
  if (!doubtful(unsure)) return null;
  while (unsure - sure > 1) {
    const middle = Math.floor((sure + unsure) / 2);
    if (doubtful(middle)) unsure = middle;
    else sure = middle;
  }
  return from + unsure * MINUTE;
}

/**
 * A jump between the last two readings that scatter and drift do not explain: beyond three standard deviations of
 * a difference of two readings where the earlier ones show their scatter, else beyond the 95 % range of both.
 * @returns by how much SG jumped (to 0.01, below zero when it fell) within how many days, or null
 */
export function jump(recent: Readings): { by: number; days: number } | null {
  const [before, last] = recent.slice(-2);
  if (!before || !last) return null;
  const days = (last.at - before.at) / DAY;
  const by = last.specificGravity - before.specificGravity;
  const line = theilSen(recent.slice(0, -1));
  const expected = line ? line.perDay * days : 0;
  const explained = line
    ? 3 * Math.SQRT2 * line.scatter
    : 1.96 * combine(before.standardUncertainty, last.standardUncertainty);
  if (Math.abs(by - expected) <= Math.max(explained, SMALLEST_JUMP)) return null;
  return { by: Math.round(by * 100) / 100, days: Math.max(1, Math.round(days)) };
}

function theilSen(recent: Readings): (Drift & { scatter: number }) | null {
  const [first] = recent;
  const last = recent.at(-1);
  if (!first || !last || recent.length < FEWEST_READINGS) return null;
  if (last.at - first.at < SHORTEST_DAYS * DAY) return null;

  const points = recent.map((r) => ({ day: (r.at - first.at) / DAY, sg: r.specificGravity }));
  const perDay = median(pairSlopes(points));
  const offset = median(points.map((p) => p.sg - perDay * p.day));
  const misses = points.map((p) => Math.abs(p.sg - offset - perDay * p.day));
  const n = points.length;
  const scatter = MAD_TO_SD * median(misses) * Math.sqrt(n / (n - 2));
  const meanDay = points.reduce((sum, p) => sum + p.day, 0) / n;
  const leverage = combine(...points.map((p) => p.day - meanDay));
  return { perDay, perDayU: (SLOPE_COST * scatter) / leverage, scatter };
}

function pairSlopes(points: { day: number; sg: number }[]): number[] {
  return points.flatMap((a, i) =>
    points
      .slice(i + 1)
      .filter((b) => b.day - a.day >= APART_DAYS)
      .map((b) => (b.sg - a.sg) / (b.day - a.day)),
  );
}

function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length / 2;
  const upper = sorted[Math.floor(middle)] ?? 0;
  const lower = sorted[Math.ceil(middle) - 1] ?? 0;
  return (lower + upper) / 2;
}

/** Standard normal distribution function (Abramowitz & Stegun 26.2.17, error below 7.5·10⁻⁸). */
function normalBelow(z: number): number {
  if (z < 0) return 1 - normalBelow(-z);
  const t = 1 / (1 + 0.2316419 * z);
  const tail =
    t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return 1 - (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * tail;
}
