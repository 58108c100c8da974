import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import type { Entry } from '../kinds.ts';
import * as tiles from '../store/tiles.ts';
import * as store from '../store.ts';
import { type BucketNow, bucketNow, factsOf, findRow, gatedOf, mustBeCode } from './now.ts';
import { type LedgerEvent, toLedgerEvent } from './record.ts';
import { type BucketSafety, bucketGate } from './safety-gate.ts';

export interface TrendEvent {
  number: number;
  at: Instant;
  /** False for a reading of an unstirred bucket. */
  counts: boolean;
  entry: Entry;
}

export interface BucketPage {
  bucket: BucketNow;
  trend: { from: Instant; events: TrendEvent[] };
  ledger: { events: LedgerEvent[]; next: number | null };
  /** The newest few. */
  tiles: tiles.TileRow[];
}

const TREND_SPAN = 21 * DAY;
const TREND_EVENTS = 200;
const LEDGER_ROWS = 12;
const TILES = 4;

/** Everything a bucket's page shows: the bucket, three weeks of its readings, its newest events and tiles. */
export async function showBucket(read: Read, code: string): Promise<BucketPage> {
  mustBeAllowed(read.actor, 'buckets.see');
  mustBeCode(code);
  return contents(read, code, findRow(read, code));
}

/** The same with the notices that hang there; `reader` is whoever has read them or not, if it is another. */
export async function showBucketSafely(
  read: Read,
  code: string,
  reader = read,
): Promise<BucketPage & { safety: BucketSafety }> {
  mustBeAllowed(read.actor, 'buckets.see');
  mustBeCode(code);
  const row = findRow(read, code);
  const [shown, safety] = await Promise.all([
    contents(read, code, row),
    bucketGate().shown(reader, code, row.then(gatedOf)),
  ]);
  return { ...shown, safety };
}

async function contents(read: Read, code: string, found: ReturnType<typeof findRow>): Promise<BucketPage> {
  const from = read.now - TREND_SPAN;
  const [row, trend, events, shownTiles] = await Promise.all([
    found,
    store.trend(read.tx, code, from, TREND_EVENTS),
    store.events(read.tx, code, LEDGER_ROWS + 1, 2 ** 31 - 1),
    tiles.list(read.tx, code, TILES),
  ]);
  const shown = events.slice(0, LEDGER_ROWS).map(toLedgerEvent);
  return {
    bucket: bucketNow(row, factsOf(row.state), read.actor.role, read.now),
    trend: {
      from,
      events: trend.map(toTrendEvent),
    },
    ledger: { events: shown, next: events.length > LEDGER_ROWS ? (shown.at(-1)?.number ?? null) : null },
    tiles: shownTiles,
  };
}

export function toTrendEvent({ counts, ...stored }: store.StoredEvent & { counts: boolean }): TrendEvent {
  const { number, happenedAt, ...entry } = fromStored(stored);
  return { number, at: happenedAt, counts, entry };
}
