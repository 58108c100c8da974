import { DAY, HOUR, type Instant, MINUTE } from '../core/clock.ts';
import { combine } from './gravity.ts';
import type { Facts } from './ledger.ts';

type Readings = Facts['recent'];

/** Change of SG per day, its standard error, and the degrees of freedom that error is known with. */
interface Drift {
  perDay: number;
  perDayU: number;
  freedom: number;
}

/** Under this chance of still lying in the band, a bucket needs a reading. */
export const LEAST_CHANCE = 0.8;
/** How sure "likely in range until" is. */
export const LIKELY = 0.95;

const FEWEST_READINGS = 6;
const SHORTEST_DAYS = 3;
const HORIZON_DAYS = 60;
/** Beyond this nobody should lean on a straight line. */
const LIKELY_DAYS = 14;
/** Two readings nearer in time than this say nothing about a slope. */
const APART_DAYS = 1 / 24;
/** Efficiency of slope and level against least squares is 3/π for normal scatter (Sen 1968, Hodges & Lehmann 1963). */
const ROBUST_COST = Math.sqrt(Math.PI / 3);
/** Readings to 0.01 that all agree still hide the standard deviation of rounding. */
const LEAST_SCATTER = 0.01 / Math.sqrt(12);
/** Plain scatter is called a jump at most this often. */
const FALSE_JUMP = 0.005;
/** The two-sided normal quantile of that. */
const FALSE_JUMP_SD = 2.807;
const SMALLEST_JUMP = 0.01;

/**
 * How fast the gravity of an undisturbed bucket changes: Theil–Sen slope, the median of the slopes of all pairs,
 * which one odd reading does not move. Its standard error follows from the scatter about the line; there an odd
 * reading does count, since nobody knows which of them was odd.
 *
 * Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389.
 * @returns null under 6 readings over 3 days, which say nothing reliable
 */
export function drift(recent: Readings): Drift | null {
  const line = theilSen(recent);
  return line && { perDay: line.perDay, perDayU: line.perDayU, freedom: line.freedom };
}

/**
 * Chance that the gravity still lies in the band so many days after a reading: Student's t about G + b·t with
 * standard deviation u(b)·t. The reading's own error is not in it: only drift may ask for another reading.
 */
export function chanceInBand(
  lastGravity: number,
  d: Drift,
  elapsedDays: number,
  low: number,
  high: number,
): number {
  const middle = lastGravity + d.perDay * elapsedDays;
  return chanceBetween({ middle, sd: d.perDayU * elapsedDays }, d.freedom, low, high);
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
 * Until when the gravity lies in the band with 95 %, to the hour, at most two weeks after the last reading. Unlike
 * the chance that asks for a reading it takes no single reading as true: where the line is now is in doubt too.
 * In the band means as these instruments read it; what is wrong with all of them alike does not show in scatter.
 * @returns null when nothing should be said: under 6 readings over 3 days, a last reading outside the band or off
 *   the line, or doubt from the start
 */
export function likelyUntil(recent: Readings, low: number, high: number): Instant | null {
  const line = lineThrough(recent);
  const last = recent.at(-1);
  if (!line || !last || last.specificGravity < low || last.specificGravity > high) return null;
  const off = Math.abs(last.specificGravity - foretold(line, last.at).middle);
  if (off > 2 * line.scatter || jump(recent) !== null) return null;
  const likely = (hours: number) =>
    chanceBetween(foretold(line, last.at + hours * HOUR), line.freedom, low, high) >= LIKELY;
  if (!likely(0)) return null;
  let hours = 0;
  while (hours < LIKELY_DAYS * 24 && likely(hours + 1)) hours++;
  return last.at + hours * HOUR;
}

/**
 * A jump between the last two readings that scatter and drift do not explain. Plain scatter is taken for one at
 * most once in 200 readings: judged by Student's t of the line through the earlier readings where there are
 * enough, else by the uncertainty of both, and then steep drift looks like a jump too.
 * @returns by how much SG jumped (to 0.01, below zero when it fell) within how many days, or null
 */
export function jump(recent: Readings): { by: number; days: number } | null {
  const [before, last] = recent.slice(-2);
  if (!before || !last) return null;
  const days = (last.at - before.at) / DAY;
  const by = last.specificGravity - before.specificGravity;
  const line = lineThrough(recent.slice(0, -1));
  const step = by - (line?.perDay ?? 0) * days;
  if (Math.abs(step) <= SMALLEST_JUMP) return null;
  if (line ? !leapsOff(line, last, step) : Math.abs(step) <= FALSE_JUMP_SD * both(before, last)) return null;
  return { by: Math.round(by * 100) / 100, days: Math.max(1, Math.round(days)) };
}

/** Whether a reading, and the step to it, lie further off the line than scatter goes. */
function leapsOff(line: Line, last: Readings[number], step: number): boolean {
  const { middle, sd } = foretold(line, last.at);
  const off = last.specificGravity - middle;
  if (off * step < 0) return false;
  const least = Math.min(Math.abs(off), Math.abs(step));
  return 2 * (1 - studentBelow(least / combine(sd, line.scatter), line.freedom)) < FALSE_JUMP;
}

const both = (a: Readings[number], b: Readings[number]) =>
  combine(a.standardUncertainty, b.standardUncertainty);

interface Slope extends Drift {
  /** Standard deviation of one reading about the line. */
  scatter: number;
}

interface Line extends Slope {
  /** Gravity in the middle of the readings, and when that is. */
  level: number;
  levelU: number;
  middle: Instant;
}

function theilSen(recent: Readings): Slope | null {
  const [first] = recent;
  const last = recent.at(-1);
  if (!first || !last || recent.length < FEWEST_READINGS) return null;
  if (last.at - first.at < SHORTEST_DAYS * DAY) return null;

  const points = aboutTheirMiddle(recent);
  const perDay = median(pairSlopes(points));
  const above = points.map((p) => p.sg - perDay * p.day);
  const level = mean(above);
  const freedom = recent.length - 2;
  const scatter = Math.max(combine(...above.map((sg) => sg - level)) / Math.sqrt(freedom), LEAST_SCATTER);
  const leverage = combine(...points.map((p) => p.day));
  return { perDay, perDayU: (ROBUST_COST * scatter) / leverage, freedom, scatter };
}

/** The slope with its level, which one odd reading does not move far either. */
function lineThrough(recent: Readings): Line | null {
  const slope = theilSen(recent);
  if (!slope) return null;
  const level = hodgesLehmann(aboutTheirMiddle(recent).map((p) => p.sg - slope.perDay * p.day));
  const levelU = (ROBUST_COST * slope.scatter) / Math.sqrt(recent.length);
  return { ...slope, level, levelU, middle: middleOf(recent) };
}

const middleOf = (recent: Readings): Instant => mean(recent.map((r) => r.at));

function aboutTheirMiddle(recent: Readings): { day: number; sg: number }[] {
  const middle = middleOf(recent);
  return recent.map((r) => ({ day: (r.at - middle) / DAY, sg: r.specificGravity }));
}

function foretold(line: Line, at: Instant): { middle: number; sd: number } {
  const days = (at - line.middle) / DAY;
  return { middle: line.level + line.perDay * days, sd: combine(line.levelU, line.perDayU * days) };
}

function chanceBetween(
  { middle, sd }: { middle: number; sd: number },
  freedom: number,
  low: number,
  high: number,
): number {
  if (sd <= 0) return middle >= low && middle <= high ? 1 : 0;
  return studentBelow((high - middle) / sd, freedom) - studentBelow((low - middle) / sd, freedom);
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
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length / 2;
  const upper = sorted[Math.floor(middle)] ?? 0;
  const lower = sorted[Math.ceil(middle) - 1] ?? 0;
  return (lower + upper) / 2;
}

/** The median of all averages of two values, each with itself too: as steady as a mean, and no odd value moves it far. */
function hodgesLehmann(values: number[]): number {
  return median(values.flatMap((a, i) => values.slice(i).map((b) => (a + b) / 2)));
}

const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Distribution function of Student's t for whole degrees of freedom (Abramowitz & Stegun 26.7.3 and 26.7.4). */
export function studentBelow(t: number, freedom: number): number {
  const angle = Math.atan(t / Math.sqrt(freedom));
  const [sin, cos] = [Math.sin(angle), Math.cos(angle)];
  const odd = freedom % 2;
  let term = odd ? cos : 1;
  let sum = freedom === 1 ? 0 : term;
  for (let k = 2 + odd; k < freedom; k += 2) {
    term *= (cos * cos * (k - 1)) / k;
    sum += term;
  }
  const within = odd ? (2 / Math.PI) * (angle + sin * sum) : sin * sum;
  return (1 + within) / 2;
}
