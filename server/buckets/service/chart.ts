import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type ControlChart, controlChart, FEWEST_POINTS } from '../control-chart.ts';
import * as store from '../store.ts';
import { type BucketNow, bucketNow, factsOf, findRow, mustBeCode } from './now.ts';
import { type TrendEvent, toTrendEvent } from './page.ts';

export interface BucketChart {
  bucket: BucketNow;
  /** The set-up or change of recipe that the chart begins with; null when that is too long ago to matter. */
  since: { at: Instant; what: 'setup' | 'recipe' } | null;
  /** Readings that count, oldest first. */
  readings: { number: number; at: Instant; value: number }[];
  /** What changed the bucket between them. */
  changes: TrendEvent[];
  /** Null with too few readings. */
  chart: ControlChart | null;
}

const NEWEST_READINGS = 60;
/** Enough to hold that many readings with what went in between them. */
const NEWEST_EVENTS = 400;

/** How a bucket usually reads, and what stands out: its newest readings since it was set up or changed its recipe. */
export async function showChart(read: Read, code: string): Promise<BucketChart> {
  mustBeAllowed(read.actor, 'buckets.edit');
  mustBeCode(code);
  const [row, stored] = await Promise.all([
    findRow(read, code),
    store.trend(read.tx, code, 0, NEWEST_EVENTS),
  ]);
  const events = stored.map(toTrendEvent);
  const start = events.findLastIndex(({ entry }) => entry.kind === 'setup' || entry.kind === 'recipe');
  const ofThisGlaze = events.slice(start + 1);
  const readings = ofThisGlaze.flatMap(({ number, at, counts, entry }) =>
    entry.kind === 'reading' && counts ? [{ number, at, value: entry.specificGravity }] : [],
  );
  const shown = readings.slice(-NEWEST_READINGS);
  const [first] = shown;
  return {
    bucket: bucketNow(row, factsOf(row.state), read.actor.role, read.now),
    since: sinceOf(events[start]),
    readings: shown,
    changes: ofThisGlaze.filter(({ at, entry }) => entry.kind !== 'reading' && first && at >= first.at),
    chart: shown.length < FEWEST_POINTS ? null : controlChart(shown.map(({ value }) => value)),
  };
}

function sinceOf(start: TrendEvent | undefined): BucketChart['since'] {
  const what = start?.entry.kind;
  return start && (what === 'setup' || what === 'recipe') ? { at: start.at, what } : null;
}
