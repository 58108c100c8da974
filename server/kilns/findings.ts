import type { Instant } from '../core/clock.ts';
import { MINUTE } from '../core/clock.ts';
import { CHARTS, type Chart, type ChartCode } from './cones.ts';
import { type CoolingFit, fitCooling } from './cooling.ts';
import { type Comparison, type CurveFacts, compare, curveFacts } from './curve.ts';
import type { LogGap } from './firing-log.ts';
import { plan, type Segment } from './schedule.ts';

/** What a curve says of its firing, as it is kept with the log it was computed from. */
export interface Findings {
  v: 1;
  /** The figures of cones are worth something only together with their chart. */
  chart: ChartCode;
  coneType: string;
  edition: string;
  facts: CurveFacts;
  /** Against the schedule; null without one. */
  comparison: Comparison | null;
  /** Seconds after the curve's first reading at which the schedule is taken to begin. */
  planFromS: number;
  /** How it cooled below 400 °C; null where the curve does not reach that far. */
  cooling: CoolingFit | null;
  gaps: LogGap[];
  gapCount: number;
  /** Lines of the log that could not be read. */
  problemCount: number;
}

export const USUAL_CHART: ChartCode = 'self-supporting-2016';

/** A log that begins within this of the start begins with it; people tap a little late: common practice, no source. */
const NEAR = 30 * MINUTE;

/** That a log has its top well after the kiln was shut off, in words: one of the two times is wrong. Null else. */
export function topAfterOff(
  startsAt: Instant,
  { peakAtS }: Pick<CurveFacts, 'peakAtS'>,
  shutOffAt: Instant | null,
): string | null {
  if (shutOffAt === null || startsAt + peakAtS * 1000 <= shutOffAt + NEAR) return null;
  return 'By this log it was hottest after it was shut off: its clock, its beginning or the shut-off is wrong.';
}

/** Seconds after a log's first reading at which the firing began, as far as the two clocks agree on it. */
export function planStartS(startsAt: Instant, startedAt: Instant | null, lastS: number): number {
  if (startedAt === null || Math.abs(startedAt - startsAt) <= NEAR) return 0;
  const after = (startedAt - startsAt) / 1000;
  return after > 0 && after < lastS ? after : 0;
}

/**
 * All that is computed from a curve: °C at seconds after its first reading.
 * @param segments of the load's schedule; null without one
 * @returns null without two readings at different times
 */
export function findingsOf(
  points: readonly { atS: number; c: number }[],
  {
    startsAt,
    startedAt,
    segments,
    chart,
    lidShutAboveC,
  }: {
    startsAt: Instant;
    startedAt: Instant | null;
    segments: Segment[] | null;
    chart: ChartCode;
    lidShutAboveC: number;
  },
): Omit<Findings, 'gaps' | 'gapCount' | 'problemCount'> | null {
  const { code, type, edition }: Chart = CHARTS[chart];
  const facts = curveFacts(points, CHARTS[chart]);
  if (!facts) return null;
  const planFromS = planStartS(startsAt, startedAt, points.at(-1)?.atS ?? 0);
  return {
    v: 1,
    chart: code,
    coneType: type,
    edition,
    facts,
    comparison:
      segments &&
      compare(
        points.flatMap(({ atS, c }) => (atS < planFromS ? [] : [{ atS: atS - planFromS, c }])),
        plan(segments).points,
      ),
    planFromS,
    cooling: fitCooling(points, undefined, lidShutAboveC),
  };
}
