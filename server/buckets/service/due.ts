import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { PROBLEMS } from '../problems.ts';
import * as store from '../store.ts';
import { type BucketNow, bucketNow, factsOf } from './now.ts';

/** Something at a bucket that needs somebody. */
export interface Due {
  bucket: BucketNow;
  why:
    | 'tag'
    | 'do-not-use'
    | 'problem'
    | 'too-thick'
    | 'too-thin'
    | 'ask-technician'
    | 'check'
    | 'low'
    | 'on-test';
  /** For a problem: what was reported and when. */
  problem?: { words: string; at: Instant; number: number };
  /** For a low bucket: how long it lasts at the rate of the last two weeks; null when nobody dips from it. */
  daysLeft?: number | null;
}

const WORST_FIRST: Due['why'][] = [
  'tag',
  'do-not-use',
  'problem',
  'too-thick',
  'too-thin',
  'ask-technician',
  'check',
  'low',
  'on-test',
];
const USE_SPAN_DAYS = 14;

/** How long a bucket in use may stand before it is hard to stir up again: common practice, no source. */
const STANDS_FOR = 3 * DAY;

/** A bucket in use that nobody looked after for long, and since when. */
export interface Neglected {
  id: number;
  code: string;
  name: string;
  /** The last time that somebody did; null: never. */
  since: Instant | null;
}

/** Buckets in service that were dipped from lately and that nobody stirred for days, or whose reading is overdue. */
export async function neglected(read: Read): Promise<{ stir: Neglected[]; reading: Neglected[] }> {
  mustBeAllowed(read.actor, 'today.see');
  const { tx, now, actor } = read;
  const [rows, used] = await Promise.all([store.list(tx), store.usedSince(tx, now - USE_SPAN_DAYS * DAY)]);
  const inUse = rows
    .map((row) => bucketNow(row, factsOf(row.state), actor.role, now))
    .filter(({ id, facts }) => facts.service === 'in-service' && used.has(id));
  const at = ({ id, code, name }: BucketNow, since: Instant | null): Neglected => ({ id, code, name, since });
  return {
    stir: inUse
      .filter(({ facts }) => facts.stirredAt === null || facts.stirredAt < now - STANDS_FOR)
      .map((bucket) => at(bucket, bucket.facts.stirredAt)),
    reading: inUse
      .filter(({ verdict }) => verdict.state === 'needs-reading')
      .map((bucket) => at(bucket, bucket.facts.readingAt)),
  };
}

/** What needs somebody at the buckets, worst first. */
export async function due(read: Read): Promise<Due[]> {
  mustBeAllowed(read.actor, 'today.see');
  const { tx, now, actor } = read;
  const [rows, used, problems] = await Promise.all([
    store.list(tx),
    store.usedSince(tx, now - USE_SPAN_DAYS * DAY),
    store.openProblems(tx),
  ]);
  const all = rows.flatMap((row): Due[] => {
    const bucket = bucketNow(row, factsOf(row.state), actor.role, now);
    const open = problems
      .filter((p) => p.bucketId === bucket.id)
      .map(
        ({ problem, at, number }): Due => ({
          bucket,
          why: 'problem',
          problem: { words: PROBLEMS[problem], at, number },
        }),
      );
    return [...stateDue(bucket), ...open, ...lowDue(bucket, used.get(bucket.id), now)];
  });
  return all.sort((a, b) => WORST_FIRST.indexOf(a.why) - WORST_FIRST.indexOf(b.why));
}

function stateDue(bucket: BucketNow): Due[] {
  switch (bucket.verdict.state) {
    case 'do-not-use':
      return [{ bucket, why: bucket.facts.tagHungAt === null ? 'tag' : 'do-not-use' }];
    case 'on-test':
      return [{ bucket, why: 'on-test' }];
    case 'too-thick':
    case 'too-thin':
    case 'ask-technician':
      return [{ bucket, why: bucket.verdict.state }];
    case 'needs-reading':
      return [{ bucket, why: 'check' }];
    default:
      return [];
  }
}

function lowDue(
  bucket: BucketNow,
  used: { litres: number; first: Instant } | undefined,
  now: Instant,
): Due[] {
  const { litres } = bucket.facts;
  if (litres === null || litres > bucket.mixMoreFraction * bucket.capacityLitres) return [];
  if (used === undefined || used.litres === 0) return [{ bucket, why: 'low', daysLeft: null }];
  // Not over two weeks of which it was used on the last two days only.
  const perDay = used.litres / Math.max(1, (now - used.first) / DAY);
  return [{ bucket, why: 'low', daysLeft: litres / perDay }];
}
