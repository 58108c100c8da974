import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { HOUR, type Instant, MINUTE } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import {
  type MeasuredSettling,
  measuredSettling,
  type Pair,
  pairsToUse,
  proposedInterval,
} from '../settling.ts';
import { settlings } from '../store/settlings.ts';
import * as store from '../store.ts';
import { type BucketNow, bucketNow, factsOf, findRow, lockRow } from './now.ts';
import { type Recorded, recordAct } from './record.ts';

/** A pair as it was seen; those that count towards the proposal are `used`. */
export interface SeenPair extends Pair {
  number: number;
  at: Instant;
  by: string;
  used: boolean;
}

/** The first half of a pair, whose second is still to be taken. */
export interface OpenPair {
  number: number;
  fresh: number;
  at: Instant;
  by: string;
}

export interface Settling {
  bucket: BucketNow;
  open: OpenPair | null;
  /** Newest first. */
  pairs: SeenPair[];
  /** Whether those used were all taken since the composition last changed. */
  sinceChange: boolean;
  found: MeasuredSettling | null;
  /** The stir interval to propose, in minutes. */
  proposed: number | null;
}

const SEEN = 40;
/** Longer ago, nobody is still waiting beside the bucket. */
const OPEN_FOR = 4 * HOUR;

export async function showSettling(read: Read, code: string): Promise<Settling> {
  mustBeAllowed(read.actor, 'buckets.see');
  const row = await findRow(read, code);
  return settlingOf(read, row);
}

/** The second half of a pair that was begun before; without minutes, those between the two. */
export async function completeSettling(
  act: Act,
  code: string,
  second: { first: number; later: number; minutes?: number | undefined },
): Promise<Recorded> {
  const row = await lockRow(act, code);
  const { open } = await settlingOf(act, row);
  if (open?.number !== second.first)
    throw new Conflict(
      'It was stirred since the first of this pair, or the pair is complete already. Begin again.',
    );
  const passed = Math.round((act.now - open.at) / (MINUTE / 2)) / 2;
  const minutes = second.minutes ?? passed;
  if (minutes < 1)
    throw new Invalid([
      { path: 'minutes', message: 'The first is not a minute old: wait, or type how long it really stood.' },
    ]);
  return recordAct(act, code, 'settlings', { fresh: open.fresh, later: second.later, minutes });
}

/** Makes the measured interval the bucket's own. */
export async function adoptStirInterval(act: Act, code: string, minutes: number): Promise<void> {
  mustBeAllowed(act.actor, 'buckets.edit');
  const row = await lockRow(act, code);
  const { found, proposed } = await settlingOf(act, row);
  if (proposed !== minutes)
    throw new Conflict('The measured interval is another one by now. Look at it again.');
  await store.updateBucket(act.tx, row.bucket.id, { stirIntervalMin: minutes });
  await record(act, 'bucket.stir-interval', `bucket:${row.bucket.code}`, {
    from: row.bucket.stirIntervalMin,
    to: minutes,
    pairs: found?.pairs ?? 0,
  });
}

async function settlingOf(read: Read, row: store.BucketRow): Promise<Settling> {
  const facts = factsOf(row.state);
  const bucket = bucketNow(row, facts, read.actor.role, read.now);
  const seen = (await settlings(read.tx, row.bucket.id, SEEN)).flatMap((stored) => {
    const event = fromStored(stored);
    if (event.kind !== 'settling') return [];
    const { number, happenedAt: at, fresh, later, minutes } = event;
    return [{ number, at, by: stored.by, fresh, later, minutes }];
  });
  const complete = seen.flatMap(({ later, ...rest }) => (later === null ? [] : [{ ...rest, later }]));
  const { pairs, sinceChange } = pairsToUse(complete, facts.changedAt);
  const found = measuredSettling(pairs, bucket.target);
  return {
    bucket,
    open: openPair(seen[0], facts.stirredAt, read.now),
    pairs: complete.map((pair) => ({ ...pair, used: pairs.includes(pair) })),
    sinceChange,
    found,
    proposed: proposedInterval(found),
  };
}

/** A pair is open until its second half, the next stir, or somebody forgot about it. */
function openPair(
  newest: (Omit<OpenPair, 'fresh'> & { fresh: number; later: number | null }) | undefined,
  stirredAt: Instant | null,
  now: Instant,
): OpenPair | null {
  if (!newest || newest.later !== null || now - newest.at > OPEN_FOR) return null;
  if (stirredAt !== null && stirredAt > newest.at) return null;
  const { number, fresh, at, by } = newest;
  return { number, fresh, at, by };
}
