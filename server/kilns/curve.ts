import { fitLine } from '../buckets/regression.ts';
import { type Chart, type EquivalentCone, equivalentCone, type HoldEffect, holdEffect } from './cones.ts';
import type { PlannedPoint } from './schedule.ts';

/** A reading of a firing: seconds since its start, °C. */
interface Point {
  atS: number;
  c: number;
}

/**
 * Quartz changes from α to β at 573 °C and back, growing by about 0.45 % in length: a cooling pot may crack there.
 * Source: articles on the quartz inversion, see tests/reference/firing-facts.test.ts.
 */
export const QUARTZ_C = 573;

/** Readings this near the peak count as held there, °C: common practice, no source. */
const HOLD_BAND_C = 5;
/** The heating rate that a cone chart means is that over the last 100 °C. */
const LAST_C = 100;
/** The rate through 573 °C is taken over so much to both sides, °C. */
const QUARTZ_BAND_C = 25;
/** No kiln goes so far up and back within so short a time: a loose thermocouple does. Common practice, no source. */
const SPIKE_C = 30;
const SPIKE_S = 120;

/** Where a curve passes a temperature. */
export interface Passing {
  atS: number;
  /** °C per hour, below zero on the way down; null where too few readings lie near. */
  cPerH: number | null;
}

/** What a firing's curve says. */
export interface CurveFacts {
  peakC: number;
  peakAtS: number;
  /** When it first came within 5 °C of the peak. */
  climbedAtS: number;
  /** Seconds within 5 °C of the peak. */
  nearPeakS: number;
  /** Least squares over the last 100 °C of the climb, °C per hour; null when the log begins above them. */
  lastRateCPerH: number | null;
  quartzUp: Passing | null;
  quartzDown: Passing | null;
  /** By peak and rate alone; null without a rate. */
  equivalent: EquivalentCone | null;
  /** What the time near the peak adds to it: an estimate. */
  hold: HoldEffect;
  /** Readings that stood apart from both their neighbours and were not counted. */
  spikes: number;
}

/**
 * Reads a firing's curve.
 * @param points in their order of time
 * @returns null without two readings at different times
 */
export function curveFacts(points: readonly Point[], chart: Chart): CurveFacts | null {
  const kept = points.filter((_, i) => !isSpike(points, i));
  const [first, end] = [kept[0], kept.at(-1)];
  if (!first || !end || end.atS <= first.atS) return null;
  let peakAt = 0;
  for (let i = 1; i < kept.length; i++) if (at(kept, i).c > at(kept, peakAt).c) peakAt = i;
  const peak = at(kept, peakAt);
  const climbed = kept.findIndex(({ c }) => c >= peak.c - HOLD_BAND_C);
  const climb = climbOf(kept, climbed, peak.c);
  const rate = climb && slopeOf(climb);
  const nearPeakS = secondsAbove(kept, peak.c - HOLD_BAND_C);
  return {
    peakC: peak.c,
    peakAtS: peak.atS,
    climbedAtS: crossing(at(kept, Math.max(climbed - 1, 0)), at(kept, climbed), peak.c - HOLD_BAND_C).atS,
    nearPeakS,
    lastRateCPerH: rate,
    quartzUp: passing(kept.slice(0, peakAt + 1), 'up'),
    quartzDown: passing(kept.slice(peakAt), 'down'),
    equivalent: rate !== null && rate > 0 ? equivalentCone(chart, peak.c, rate) : null,
    hold: holdEffect(nearPeakS / 60),
    spikes: points.length - kept.length,
  };
}

/** How far a curve went from its schedule. */
export interface Comparison {
  /** The most it was below the plan, and the most above: °C, at seconds after the start. Null when it never was. */
  behind: { atS: number; byC: number } | null;
  ahead: { atS: number; byC: number } | null;
  /** Seconds by which the top came later than planned, below zero when earlier. */
  topLateS: number;
}

/**
 * Compares a curve with its schedule while that runs, both counted from the start of the firing.
 * @param planned corners of the plan in their order of time
 * @returns null when either is empty
 */
export function compare(points: readonly Point[], planned: readonly PlannedPoint[]): Comparison | null {
  const kept = points.filter((_, i) => !isSpike(points, i));
  const end = planned.at(-1);
  if (kept.length === 0 || !end) return null;
  let behind: Comparison['behind'] = null;
  let ahead: Comparison['ahead'] = null;
  let corner = 0;
  for (const { atS, c } of kept) {
    if (atS > end.atS) break;
    while (corner < planned.length - 1 && at(planned, corner + 1).atS <= atS) corner++;
    const [from, to] = [at(planned, corner), planned[corner + 1]];
    const wanted = to ? from.c + ((to.c - from.c) * (atS - from.atS)) / (to.atS - from.atS) : from.c;
    const byC = wanted - c;
    if (byC > (behind?.byC ?? 0)) behind = { atS, byC };
    if (-byC > (ahead?.byC ?? 0)) ahead = { atS, byC: -byC };
  }
  return { behind, ahead, topLateS: topAtS(kept) - topAtS(planned) };
}

/** When a curve first came within 5 °C of its top. */
function topAtS(points: readonly Point[]): number {
  const nearTop = points.reduce((most, { c }) => Math.max(most, c), Number.NEGATIVE_INFINITY) - HOLD_BAND_C;
  const i = points.findIndex(({ c }) => c >= nearTop);
  return crossing(at(points, Math.max(i - 1, 0)), at(points, i), nearTop).atS;
}

function isSpike(points: readonly Point[], i: number): boolean {
  const [before, it, after] = [points[i - 1], points[i], points[i + 1]];
  if (!before || !it || !after || after.atS - before.atS > SPIKE_S) return false;
  const [up, down] = [it.c - before.c, it.c - after.c];
  return Math.min(Math.abs(up), Math.abs(down)) > SPIKE_C && up * down > 0;
}

/** The last 100 °C on the way to the peak, without what was held there; null when the log begins inside them. */
function climbOf(points: readonly Point[], climbed: number, peakC: number): Point[] | null {
  let from = climbed - 1;
  while (from >= 0 && at(points, from).c > peakC - LAST_C) from--;
  if (from < 0) return null;
  return [
    crossing(at(points, from), at(points, from + 1), peakC - LAST_C),
    ...points.slice(from + 1, climbed),
    crossing(at(points, climbed - 1), at(points, climbed), peakC - HOLD_BAND_C),
  ];
}

/** °C per hour by least squares; null when all readings have the same time. */
function slopeOf(points: readonly Point[]): number | null {
  const [first, end] = [points[0], points.at(-1)];
  if (!first || !end || end.atS <= first.atS) return null;
  return fitLine(points.map(({ atS, c }) => ({ x: atS / 3600, y: c }))).slope;
}

/** The first time it rises through 573 °C, or the last time it falls through, and how fast. */
function passing(points: readonly Point[], way: 'up' | 'down'): Passing | null {
  const crosses = (c: number, next: number) =>
    way === 'up' ? c < QUARTZ_C && next >= QUARTZ_C : c >= QUARTZ_C && next < QUARTZ_C;
  const all = points.flatMap(({ c }, i) => (i > 0 && crosses(at(points, i - 1).c, c) ? [i] : []));
  const i = way === 'up' ? all[0] : all.at(-1);
  if (i === undefined) return null;
  const near = ({ c }: Point | undefined = { atS: 0, c: 0 }) => Math.abs(c - QUARTZ_C) <= QUARTZ_BAND_C;
  let [from, to] = [i - 1, i];
  while (near(points[from - 1])) from--;
  while (near(points[to + 1])) to++;
  const cPerH = slopeOf(points.slice(from, to + 1));
  return { atS: crossing(at(points, i - 1), at(points, i), QUARTZ_C).atS, cPerH };
}

function secondsAbove(points: readonly Point[], c: number): number {
  let seconds = 0;
  for (let i = 1; i < points.length; i++) {
    const [a, b] = [at(points, i - 1), at(points, i)];
    const [low, high] = a.c < b.c ? [a.c, b.c] : [b.c, a.c];
    if (high < c) continue;
    seconds += (b.atS - a.atS) * (low >= c ? 1 : (high - c) / (high - low));
  }
  return seconds;
}

/** Where the line from `a` to `b` passes `c`; an end of it where it does not. */
function crossing(a: Point, b: Point, c: number): Point {
  const share = a.c === b.c ? 1 : Math.min(Math.max((c - a.c) / (b.c - a.c), 0), 1);
  return { atS: a.atS + share * (b.atS - a.atS), c: a.c + share * (b.c - a.c) };
}

const at = <P>(points: readonly P[], i: number): P => points[i] as P;
