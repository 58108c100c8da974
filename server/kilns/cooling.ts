import { fitLine } from '../buckets/regression.ts';
import { HOUR, type Instant, MINUTE } from '../core/clock.ts';

/** °C at which a kiln may be touched in one way or another. A studio's settings. */
export interface CoolingSettings {
  /** Above this the lid stays shut. */
  lidShutAboveC: number;
  /** Below this it is opened; between the two only cracked, by somebody who may fire the kiln. */
  openBelowC: number;
  /** Below this it is unloaded by hand, with gloves. */
  handsBelowC: number;
}

/** Common practice, no source: published figures go from 50 to 200 °C. */
export const COOLING_DEFAULTS: CoolingSettings = { lidShutAboveC: 120, openBelowC: 90, handsBelowC: 50 };

export const COOLING_CAUTION =
  'Estimate. Check the pyrometer. Shelves and pots in the middle are hotter than the probe.';

export type OpeningStep = 'shut' | 'crack-by-firer' | 'open' | 'unload-with-gloves';

/** What is wrong with the settings, by field; empty when they stand in their order. */
export function coolingFaults({
  lidShutAboveC,
  openBelowC,
  handsBelowC,
}: CoolingSettings): { path: string; message: string }[] {
  const faults: { path: string; message: string }[] = [];
  if (!(handsBelowC <= openBelowC))
    faults.push({ path: 'handsBelowC', message: 'Hands go in at or below what the kiln is opened at.' });
  if (!(openBelowC <= lidShutAboveC))
    faults.push({ path: 'openBelowC', message: 'It is opened at or below what the lid may be cracked at.' });
  return faults;
}

/**
 * What may be done at a temperature somebody has read from the pyrometer. A reading on a limit counts as above it, and
 * what is no number as hot.
 * @param readC °C as read and typed, never a forecast
 */
export function mayOpen(
  readC: number,
  settings: CoolingSettings = COOLING_DEFAULTS,
): { step: OpeningStep; words: string } {
  const { lidShutAboveC, openBelowC, handsBelowC } = settings;
  if (!(readC < lidShutAboveC))
    return { step: 'shut', words: `Keep it shut. Too hot above ${lidShutAboveC} °C.` };
  if (!(readC < openBelowC))
    return {
      step: 'crack-by-firer',
      words: `May be cracked by someone who fires this kiln. Nobody else opens it above ${openBelowC} °C.`,
    };
  if (!(readC < handsBelowC))
    return { step: 'open', words: `May be opened. Hands stay out above ${handsBelowC} °C.` };
  return { step: 'unload-with-gloves', words: 'May be unloaded, with gloves. The middle is hotter.' };
}

/** How one log cooled: T = room + (T0 − room)·e^(−k·t), t in hours. */
export interface CoolingFit {
  kPerH: number;
  /** Readings it was fitted to, and their reach in °C. */
  count: number;
  fromC: number;
  toC: number;
  /** Standard deviation of the readings about the curve, °C. */
  sdC: number;
}

// Above it a kiln loses heat mostly by radiation and through bricks that still take heat up: no exponential.
const FITTED_BELOW_C = 400;
// Nearer to the room the logarithm is mostly noise.
const ABOVE_ROOM_C = 15;
const FEWEST_POINTS = 4;
const LEAST_FALL_C = 50;
const STEPS = 20;

/**
 * Fits the cooling of one log by least squares on its temperatures (Gauss–Newton from the straight line through their
 * logarithms), only where it is below 400 °C after the peak and while the lid is shut: an open lid cools faster.
 * @param points in their order of time, seconds and °C
 * @param roomC °C of the room it cools towards
 * @returns null with fewer than four readings there, less than 50 °C between them, or no fall
 */
export function fitCooling(
  points: readonly { atS: number; c: number }[],
  roomC = 20,
  lidShutAboveC = COOLING_DEFAULTS.lidShutAboveC,
): CoolingFit | null {
  let peak = 0;
  points.forEach(({ c }, i) => {
    if (c >= (points[peak]?.c ?? 0)) peak = i;
  });
  const least = Math.max(lidShutAboveC, roomC + ABOVE_ROOM_C);
  const after = points.slice(peak);
  const opened = after.findIndex(({ c }) => c < least);
  const used = (opened === -1 ? after : after.slice(0, opened)).filter(({ c }) => c < FITTED_BELOW_C);
  const [first, last] = [used[0], used.at(-1)];
  if (!first || !last || used.length < FEWEST_POINTS || last.atS <= first.atS) return null;
  if (first.c - last.c < LEAST_FALL_C) return null;
  const data = used.map(({ atS, c }) => ({ t: (atS - first.atS) / 3600, over: c - roomC }));
  const line = fitLine(data.map(({ t, over }) => ({ x: t, y: Math.log(over) })));
  const { k, height } = refined(data, -line.slope, Math.exp(line.intercept));
  if (!(k > 0) || !Number.isFinite(k)) return null;
  const left = data.reduce((sum, { t, over }) => sum + (over - height * Math.exp(-k * t)) ** 2, 0);
  const sdC = Math.sqrt(left / (data.length - 2));
  return { kPerH: k, count: used.length, fromC: first.c, toC: last.c, sdC };
}

/** Gauss–Newton on over = height·e^(−k·t). */
function refined(
  data: { t: number; over: number }[],
  startK: number,
  startHeight: number,
): { k: number; height: number } {
  let [k, height] = [startK, startHeight];
  for (let step = 0; step < STEPS; step++) {
    let [hh, hk, kk, gh, gk] = [0, 0, 0, 0, 0];
    for (const { t, over } of data) {
      const e = Math.exp(-k * t);
      const [byHeight, byK] = [e, -height * t * e];
      const left = over - height * e;
      hh += byHeight * byHeight;
      hk += byHeight * byK;
      kk += byK * byK;
      gh += byHeight * left;
      gk += byK * left;
    }
    const determinant = hh * kk - hk * hk;
    if (!(determinant > 0)) break;
    const change = (hh * gk - hk * gh) / determinant;
    height += (kk * gh - hk * gk) / determinant;
    k += change;
    if (Math.abs(change) < 1e-12) break;
  }
  return { k, height };
}

/** How fast a kiln cools below 400 °C, as a range. */
export interface Cooling {
  /** Per hour: the middle, the slowest and the fastest to reckon with. */
  kPerH: number;
  slowest: number;
  fastest: number;
  /** How many logs it rests on; 0 is the default. */
  logs: number;
}

export const FEWEST_LOGS = 3;

/** Until a kiln has three logs, common practice, no source: 400 to 100 °C in about 5 to 16 h. */
export const COOLING_UNTIL_KNOWN: Cooling = { kPerH: 0.17, slowest: 0.1, fastest: 0.3, logs: 0 };

// Loads differ more than three logs of a kiln may show: common practice, no source.
const LEAST_SPREAD = 1.15;

/**
 * A kiln's cooling by its logs: the geometric mean of their k, and two standard deviations of its logarithm to both
 * sides, 15 % at least. With fewer than three logs the stated default.
 */
export function coolingOf(fits: Pick<CoolingFit, 'kPerH'>[]): Cooling {
  const logs = fits.map(({ kPerH }) => Math.log(kPerH));
  if (logs.length < FEWEST_LOGS) return COOLING_UNTIL_KNOWN;
  const mean = logs.reduce((sum, value) => sum + value, 0) / logs.length;
  const sd = Math.sqrt(logs.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (logs.length - 1));
  const spread = Math.max(Math.exp(2 * sd), LEAST_SPREAD);
  const kPerH = Math.exp(mean);
  return { kPerH, slowest: kPerH / spread, fastest: kPerH * spread, logs: logs.length };
}

/** When a kiln is likely to be down to a temperature. It tells people when to come and look; it opens nothing. */
export interface Forecast {
  /** Both on a half hour, never before now. */
  from: Instant;
  to: Instant;
  /** Even the slow end lies behind us: somebody should read the pyrometer. */
  due: boolean;
  /** Counted from above 400 °C, where nothing was fitted. */
  rough: boolean;
}

const HALF_HOUR = 30 * MINUTE;

/**
 * When the kiln will be down to `toC`, as a range rounded up to half hours. A forecast never unlocks anything: for that
 * see `mayOpen`.
 * @param read the last reading of the pyrometer: °C, and when
 * @returns null when the room is not that cool, or a figure is none
 */
export function forecast(
  now: Instant,
  read: { c: number; at: Instant },
  toC: number,
  { slowest, fastest }: Cooling,
  roomC = 20,
): Forecast | null {
  if (!(toC > roomC) || !Number.isFinite(read.c) || !Number.isFinite(read.at)) return null;
  const times = read.c <= toC ? 0 : Math.log((read.c - roomC) / (toC - roomC));
  const [early, late] = [read.at + (times / fastest) * HOUR, read.at + (times / slowest) * HOUR];
  return {
    from: halfHourUp(Math.max(early, now)),
    to: halfHourUp(Math.max(late, now)),
    due: late <= now,
    rough: read.c > FITTED_BELOW_C,
  };
}

// What floating point adds must not cost half an hour.
export const halfHourUp = (at: Instant): Instant => Math.ceil((at - 1) / HALF_HOUR) * HALF_HOUR;
