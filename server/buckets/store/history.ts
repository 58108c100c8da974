import { and, asc, desc, eq, gte, lt, type SQL, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import type { BucketEvent } from '../ledger.ts';
import { bucketEvents, bucketNotes, buckets } from '../schema.ts';

export interface HistoryFilter {
  /** A bucket's code. */
  bucket: string | null;
  /** A person's name, whole. */
  person: string | null;
  kind: BucketEvent['kind'] | null;
  from: Instant | null;
  /** The first instant that is too late. */
  until: Instant | null;
}

/** Where a page of the history ends: the next begins behind it. */
export interface Cursor {
  happenedAt: Instant;
  bucketId: number;
  number: number;
}

export interface HistoryRow extends Cursor {
  code: string;
  bucketName: string;
  kind: BucketEvent['kind'];
  recordedAt: Instant;
  by: string;
  byToken: boolean;
  atTablet: boolean;
  note: string | null;
  payload: unknown;
  voidedBy: number | null;
  /** What a void strikes out. */
  struck: { number: number; payload: unknown } | null;
}

const strikes = alias(bucketEvents, 'strikes');
const struck = alias(bucketEvents, 'struck');

/** Events of every bucket, newest first, those behind `after`. */
export async function history(
  db: Executor,
  filter: HistoryFilter,
  limit: number,
  after: Cursor | null,
): Promise<HistoryRow[]> {
  const rows = await db
    .select({
      bucketId: bucketEvents.bucketId,
      code: buckets.code,
      bucketName: buckets.name,
      number: bucketEvents.number,
      kind: bucketEvents.kind,
      happenedAt: bucketEvents.happenedAt,
      recordedAt: bucketEvents.recordedAt,
      by: people.name,
      byToken: sql<boolean>`${bucketEvents.tokenId} is not null`,
      atTablet: sql<boolean>`${bucketEvents.deviceId} is not null`,
      note: bucketNotes.text,
      payload: bucketEvents.payload,
      voidedBy: sql<number | null>`(select min(${strikes.number}) from ${bucketEvents} ${sql.raw('strikes')}
        where strikes.bucket_id = ${bucketEvents.bucketId}
        and strikes.voids in (${bucketEvents.number}, (${bucketEvents.payload} ->> 'pairedWith')::int))`,
      struckNumber: struck.number,
      struckPayload: struck.payload,
    })
    .from(bucketEvents)
    .innerJoin(buckets, eq(buckets.id, bucketEvents.bucketId))
    .innerJoin(people, eq(people.id, bucketEvents.by))
    .leftJoin(bucketNotes, eq(bucketNotes.id, bucketEvents.noteId))
    .leftJoin(struck, and(eq(struck.bucketId, bucketEvents.bucketId), eq(struck.number, bucketEvents.voids)))
    .where(and(...wanted(filter), after === null ? undefined : isBehind(after)))
    .orderBy(desc(bucketEvents.happenedAt), desc(bucketEvents.bucketId), desc(bucketEvents.number))
    .limit(limit);
  return rows.map(({ struckNumber, struckPayload, ...row }) => ({
    ...row,
    struck: struckNumber === null ? null : { number: struckNumber, payload: struckPayload },
  }));
}

function wanted({ bucket, person, kind, from, until }: HistoryFilter): (SQL | undefined)[] {
  return [
    bucket === null ? undefined : sql`lower(${buckets.code}) = lower(${bucket})`,
    person === null ? undefined : eq(people.name, person),
    // A stir recorded with a reading stands in the reading's row.
    kind === null
      ? sql`not (${bucketEvents.kind} = 'stir' and ${bucketEvents.payload} ? 'pairedWith')`
      : eq(bucketEvents.kind, kind),
    from === null ? undefined : gte(bucketEvents.happenedAt, from),
    until === null ? undefined : lt(bucketEvents.happenedAt, until),
  ];
}

const isBehind = ({ happenedAt, bucketId, number }: Cursor): SQL =>
  sql`(${bucketEvents.happenedAt}, ${bucketEvents.bucketId}, ${bucketEvents.number})
    < (${new Date(happenedAt).toISOString()}::timestamptz, ${bucketId}::bigint, ${number}::int)`;

/** Every bucket there ever was, and everybody who ever recorded something. */
export async function choices(
  db: Executor,
): Promise<{ buckets: { id: number; code: string; name: string }[]; people: string[] }> {
  const [all, who] = await Promise.all([
    db
      .select({ id: buckets.id, code: buckets.code, name: buckets.name })
      .from(buckets)
      .orderBy(asc(sql`lower(${buckets.name})`)),
    db
      .selectDistinct({ name: people.name })
      .from(people)
      .where(sql`${people.id} in (select distinct ${bucketEvents.by} from ${bucketEvents})`),
  ]);
  return { buckets: all, people: who.map(({ name }) => name) };
}
