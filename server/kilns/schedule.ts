import type { FiringKind } from '../ware/firing.ts';
import { type Chart, endPoint } from './cones.ts';

/** One step of a schedule: a ramp up or down to a temperature, and how long it is held there. */
export interface Segment {
  /** °C per hour, always above zero; 'full' is as fast as the kiln goes, or cools by itself. */
  rateCPerH: number | 'full';
  toC: number;
  holdMin: number;
}

/** Temperature planned for a time after the start. */
export interface PlannedPoint {
  atS: number;
  c: number;
}

/** When a segment happens. */
export interface PlannedSegment {
  fromC: number;
  toC: number;
  startsAtS: number;
  rampS: number;
  holdS: number;
  /** Its ramp is 'full', so its time is a guess. */
  guessed: boolean;
}

export interface Plan {
  /** Corners of the curve, joined by straight lines. */
  points: PlannedPoint[];
  segments: PlannedSegment[];
  durationS: number;
  topC: number;
}

/** Something wrong with a schedule: the field it is about, and why. */
export interface ScheduleFault {
  path: string;
  message: string;
}

export const MOST_SEGMENTS = 30;
export const SLOWEST_C_PER_H = 1;
export const FASTEST_C_PER_H = 600;
const LEAST_C = 20;
const MOST_HOLD_MIN = 48 * 60;
const LONGEST_S = 7 * 24 * 3600;

// How fast 'full' is where nobody measured: common practice, no source.
const FULL_UP_C_PER_H = 200;
const FULL_DOWN_C_PER_H = 100;

/** Where a firing starts when nobody says otherwise, °C. */
export const ROOM_C = 20;

/**
 * The curve of a schedule over time.
 * @param startC °C in the kiln at the start
 * @param fullUpCPerH what 'full' is taken for on the way up, °C per hour
 */
export function plan(segments: Segment[], startC = ROOM_C, fullUpCPerH = FULL_UP_C_PER_H): Plan {
  const points: PlannedPoint[] = [{ atS: 0, c: startC }];
  const planned: PlannedSegment[] = [];
  let [atS, c, topC] = [0, startC, startC];
  for (const { rateCPerH, toC, holdMin } of segments) {
    const full = toC >= c ? fullUpCPerH : FULL_DOWN_C_PER_H;
    const rate = rateCPerH === 'full' ? full : rateCPerH;
    const rampS = (Math.abs(toC - c) / rate) * 3600;
    const holdS = holdMin * 60;
    planned.push({ fromC: c, toC, startsAtS: atS, rampS, holdS, guessed: rateCPerH === 'full' && toC !== c });
    if (rampS > 0) points.push({ atS: atS + rampS, c: toC });
    if (holdS > 0) points.push({ atS: atS + rampS + holdS, c: toC });
    [atS, c, topC] = [atS + rampS + holdS, toC, Math.max(topC, toC)];
  }
  return { points, segments: planned, durationS: atS, topC };
}

/**
 * What is wrong with a schedule, in words, each with its path ('segments.2.toC'); empty when it can be fired.
 * @param maxC the hottest the kiln may become, °C
 */
export function scheduleFaults(segments: Segment[], maxC: number): ScheduleFault[] {
  if (segments.length === 0) return [{ path: 'segments', message: 'A schedule needs at least one step.' }];
  if (segments.length > MOST_SEGMENTS)
    return [{ path: 'segments', message: `At most ${MOST_SEGMENTS} steps.` }];
  const faults = segments.flatMap((segment, i) =>
    segmentFaults(segment, segments[i - 1], maxC).map(({ path, message }) => ({
      path: `segments.${i}.${path}`,
      message,
    })),
  );
  if (faults.length === 0 && plan(segments).durationS > LONGEST_S)
    return [{ path: 'segments', message: 'This would take longer than 7 days.' }];
  return faults;
}

function segmentFaults(
  { rateCPerH, toC, holdMin }: Segment,
  before: Segment | undefined,
  maxC: number,
): ScheduleFault[] {
  const faults: ScheduleFault[] = [];
  if (rateCPerH !== 'full' && !(rateCPerH >= SLOWEST_C_PER_H && rateCPerH <= FASTEST_C_PER_H))
    faults.push({
      path: 'rateCPerH',
      message: `Between ${SLOWEST_C_PER_H} and ${FASTEST_C_PER_H} °C an hour, or as fast as it goes.`,
    });
  if (!(toC >= LEAST_C)) faults.push({ path: 'toC', message: `At least ${LEAST_C} °C.` });
  else if (!(toC <= maxC))
    faults.push({ path: 'toC', message: `This kiln takes ${shown(maxC)} °C at most.` });
  if (!(holdMin >= 0 && holdMin <= MOST_HOLD_MIN))
    faults.push({ path: 'holdMin', message: `A hold of 0 to ${MOST_HOLD_MIN / 60} hours.` });
  else if (before && before.toC === toC && holdMin === 0)
    faults.push({ path: 'toC', message: 'This step does nothing: the kiln is there already.' });
  return faults;
}

// Every figure of the seeds below is common practice, no source.
const DRYING_C = 90;
const DRYING_RATE = 60;
const DRYING_MIN = 2 * 60;
const DRYING_THICK_MIN = 8 * 60;
const LAST_C = 100;
const LAST_RATE = 60;
const GLAZE_HOLD_MIN = 10;
// The oil of lustres and the cover coat of decals burn off below this, lid ajar or vent on.
const BURNT_OFF_C = 400;

/**
 * A schedule to start from, by kind and cone, as studios commonly fire it. Its top is the chart's end point at the rate
 * of its own last 100 °C.
 * @param thick ware that has to dry for a night instead of two hours (bisque only)
 * @returns null where the chart has no figure for the cone
 * @throws RangeError when it is no cone
 */
export function seedSchedule(
  kind: FiringKind,
  cone: string,
  chart: Chart,
  { thick = false }: { thick?: boolean } = {},
): Segment[] | null {
  const top = endPoint(chart, cone, LAST_RATE);
  if (!top) return null;
  const topC = Math.round(top.c);
  const climb: Segment[] = climbOf(kind, thick);
  const lastFrom = topC - LAST_C;
  const segments: Segment[] = [];
  for (const segment of climb) {
    const toC = Math.min(segment.toC, lastFrom);
    if (toC > (segments.at(-1)?.toC ?? ROOM_C)) segments.push({ ...segment, toC });
  }
  const holdMin = kind === 'bisque' ? 0 : GLAZE_HOLD_MIN;
  return [...segments, { rateCPerH: LAST_RATE, toC: topC, holdMin }];
}

/** Up to where the last 100 °C begin; whatever lies above that is cut off. */
function climbOf(kind: FiringKind, thick: boolean): Segment[] {
  const rest: Segment = { rateCPerH: 150, toC: Number.POSITIVE_INFINITY, holdMin: 0 };
  if (kind === 'bisque')
    return [
      { rateCPerH: DRYING_RATE, toC: DRYING_C, holdMin: thick ? DRYING_THICK_MIN : DRYING_MIN },
      { rateCPerH: 60, toC: 220, holdMin: 0 },
      { rateCPerH: 110, toC: 600, holdMin: 0 },
      rest,
    ];
  if (kind === 'lustre') return [{ rateCPerH: 80, toC: BURNT_OFF_C, holdMin: 0 }, rest];
  return [rest];
}

/** A step as it is read aloud: '60 °C an hour to 220 °C', 'As fast as it goes to 1122 °C, hold 15 min'. */
export function segmentWords({ rateCPerH, toC, holdMin }: Segment): string {
  const ramp = rateCPerH === 'full' ? 'As fast as it goes' : `${shown(rateCPerH)} °C an hour`;
  return `${ramp} to ${shown(toC)} °C${holdMin > 0 ? `, hold ${durationWords(holdMin * 60)}` : ''}`;
}

/** '7 h 30 min', '2 h', '15 min': seconds in whole minutes. */
export function durationWords(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  const [h, min] = [Math.floor(minutes / 60), minutes % 60];
  if (h === 0) return `${min} min`;
  return min === 0 ? `${h} h` : `${h} h ${min} min`;
}

const shown = (value: number): string => String(Math.round(value * 10) / 10);
