import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import type { Entry } from '../kinds.ts';
import * as store from '../store.ts';
import { type BucketNow, bucketNow, factsOf, findRow, mustBeCode } from './now.ts';
import { type LedgerEvent, toLedgerEvent } from './record.ts';

export interface TrendEvent {
  number: number;
  at: Instant;
  entry: Entry;
}

export interface BucketPage {
  bucket: BucketNow;
  trend: { from: Instant; events: TrendEvent[] };
  ledger: { events: LedgerEvent[]; next: number | null };
}

const TREND_SPAN = 21 * DAY;
const TREND_EVENTS = 200;
const LEDGER_ROWS = 12;

/** Everything a bucket's page shows: the bucket, three weeks of its readings, its newest events. */
export async function showBucket(read: Read, code: string): Promise<BucketPage> {
  mustBeAllowed(read.actor, 'buckets.see');
  mustBeCode(code);
  const from = read.now - TREND_SPAN;
  const [row, trend, events] = await Promise.all([
    findRow(read, code),
    store.trend(read.tx, code, from, TREND_EVENTS),
    store.events(read.tx, code, LEDGER_ROWS + 1, 2 ** 31 - 1),
  ]);
  const shown = events.slice(0, LEDGER_ROWS).map(toLedgerEvent);
  return {
    bucket: bucketNow(row, factsOf(row.state), read.actor.role, read.now),
    trend: {
      from,
      events: trend.map((stored) => {
        const { number, happenedAt, ...entry } = fromStored(stored);
        return { number, at: happenedAt, entry };
      }),
    },
    ledger: { events: shown, next: events.length > LEDGER_ROWS ? (shown.at(-1)?.number ?? null) : null },
  };
}
