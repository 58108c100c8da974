import type { Instant } from '../core/clock.ts';
import { shownTime } from '../core/wall-time.ts';

/** Mean moving range of two to standard deviation (ASTM, n = 2). */
const D2 = 1.128;
/** Mean moving range to the reach of its own limit. */
const D4 = 3.267;
/** Mean moving range to the reach of the limits of single values: 3 / d2. */
const E2 = 2.66;
const LAMBDA = 0.2;
const EWMA_REACH = 3;
const RUN = 8;
/** Limits of a bucket's chart are never nearer to the centre: readings are rounded to 0.01 by the coarsest gear. */
const LEAST_REACH = 0.01;

/** Fewer readings say nothing about what is usual. */
export const FEWEST_POINTS = 8;

interface Individuals {
  centre: number;
  low: number;
  high: number;
  /** Each value's distance from the one before: one fewer than there are values. */
  ranges: number[];
  meanRange: number;
  highRange: number;
  /** Standard deviation as the limits take it. */
  sd: number;
}

/**
 * Chart of single values with limits by their moving range (d2 = 1.128, D4 = 3.267, E2 = 2.660; ASTM Manual on
 * Presentation of Data and Control Chart Analysis; Montgomery & Runger, ch. 16): mean ± 2.660 × mean moving range.
 * @param leastReach limits never come nearer to the centre than this: so much is rounding
 * @throws RangeError under two values
 */
export function individuals(values: number[], leastReach = 0): Individuals {
  if (values.length < 2) throw new RangeError('A control chart needs two values or more.');
  const centre = mean(values);
  const ranges = values.slice(1).map((value, i) => Math.abs(value - (values[i] as number)));
  const meanRange = mean(ranges);
  const reach = Math.max(E2 * meanRange, leastReach);
  return {
    centre,
    low: centre - reach,
    high: centre + reach,
    ranges,
    meanRange,
    highRange: D4 * meanRange,
    sd: Math.max(meanRange / D2, leastReach / 3),
  };
}

interface Smoothed {
  value: number;
  low: number;
  high: number;
}

/**
 * Exponentially weighted moving average, which shows a small lasting shift sooner than single values do:
 * zᵢ = λ·xᵢ + (1 − λ)·zᵢ₋₁ from the centre on, limits centre ± L·σ·√(λ/(2 − λ)·(1 − (1 − λ)²ⁱ)).
 *
 * Source: S. W. Roberts, Technometrics 1 (1959) 239-250; Montgomery, Introduction to Statistical Quality Control.
 */
export function ewma(
  values: number[],
  o: { centre: number; sd: number; lambda?: number; reach?: number },
): Smoothed[] {
  const { centre, sd, lambda = LAMBDA, reach = EWMA_REACH } = o;
  let value = centre;
  return values.map((x, i) => {
    value = lambda * x + (1 - lambda) * value;
    const half = reach * sd * Math.sqrt((lambda / (2 - lambda)) * (1 - (1 - lambda) ** (2 * (i + 1))));
    return { value, low: centre - half, high: centre + half };
  });
}

/** What stands out, by places in the list of values. */
export type Signal =
  | { what: 'out'; at: number; side: 'above' | 'below' }
  /** The whole run, eight or longer. */
  | { what: 'run'; from: number; to: number; side: 'above' | 'below' };

/**
 * One point out, and eight in a row on one side of the centre (rules 1 and 4 of the Western Electric handbook of
 * 1956). A point on a limit is in; a point on the centre ends a run.
 *
 * The other usual rules are left out on purpose: all four together cry wolf once in 92 points of plain scatter,
 * which for forty buckets read daily is every second day. These two do so once in 153 points.
 * @returns in the order in which they end
 */
export function signals(values: number[], limits: { low: number; centre: number; high: number }): Signal[] {
  const found: Signal[] = [];
  let from = 0;
  for (const [at, value] of values.entries()) {
    if (exceeds(value, limits.high)) found.push({ what: 'out', at, side: 'above' });
    if (exceeds(limits.low, value)) found.push({ what: 'out', at, side: 'below' });
    const side = sideOf(value, limits.centre);
    if (side !== sideOf(values[from] as number, limits.centre)) from = at;
    const last = at === values.length - 1 || side !== sideOf(values[at + 1] as number, limits.centre);
    if (side !== null && last && at - from + 1 >= RUN) found.push({ what: 'run', from, to: at, side });
  }
  return found;
}

export interface ControlChart extends Individuals {
  smoothed: Smoothed[];
  signals: Signal[];
}

/** The whole chart of a bucket's readings, oldest first. */
export function controlChart(values: number[]): ControlChart {
  const single = individuals(values, LEAST_REACH);
  return { ...single, smoothed: ewma(values, single), signals: signals(values, single) };
}

/** A signal in words: 'One point out: SG 1.492, today 14:05, lies above the upper limit, 1.481.' */
export function signalWords(
  signal: Signal,
  readings: { at: Instant; value: number }[],
  { low, centre, high }: Pick<Individuals, 'low' | 'centre' | 'high'>,
  o: { now: Instant; timeZone: string },
): string {
  const shown = (at: number) => shownTime((readings[at] as { at: Instant }).at, o.now, o.timeZone);
  if (signal.what === 'out') {
    const limit = signal.side === 'above' ? `upper limit, ${sg(high)}` : `lower limit, ${sg(low)}`;
    const value = sg((readings[signal.at] as { value: number }).value);
    return `One point out: SG ${value}, ${shown(signal.at)}, lies ${signal.side} the ${limit}.`;
  }
  const count = signal.to - signal.from + 1;
  return (
    `${count === RUN ? 'Eight' : count} in a row on one side: from ${shown(signal.from)} to ${shown(signal.to)} ` +
    `all lie ${signal.side} the centre line, ${sg(centre)}.`
  );
}

/** A gravity as a chart needs it, a decimal finer than it is written elsewhere. */
export const sg = (value: number) => value.toFixed(3);

function sideOf(value: number, centre: number): 'above' | 'below' | null {
  if (exceeds(value, centre)) return 'above';
  return exceeds(centre, value) ? 'below' : null;
}

/** a > b, blind to what floating point adds. */
const exceeds = (a: number, b: number) => Math.round(a * 1e9) > Math.round(b * 1e9);

const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
