import { and, eq, gt, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import type { BucketEvent } from '../ledger.ts';
import { bucketEvents, bucketState } from '../schema.ts';
import type { StoredEvent } from '../store.ts';

const notStruckOut = sql`not exists (select 1 from ${bucketEvents} x where x.bucket_id = ${bucketEvents.bucketId}
  and x.voids in (${bucketEvents.number}, (${bucketEvents.payload} ->> 'pairedWith')::int))`;

/** Pieces and litres dipped out of each bucket since its last reading that counts. */
export async function usedSinceReading(
  db: Executor,
): Promise<Map<number, { pieces: number; litres: number }>> {
  const rows = await db
    .select({
      bucketId: bucketEvents.bucketId,
      litres: sql<number>`sum(${bucketEvents.usedL})`,
      pieces: sql<number>`sum((${bucketEvents.payload} ->> 'pieces')::double precision)`,
    })
    .from(bucketEvents)
    .innerJoin(bucketState, eq(bucketState.bucketId, bucketEvents.bucketId))
    .where(
      and(eq(bucketEvents.kind, 'dipping'), gt(bucketEvents.happenedAt, bucketState.readingAt), notStruckOut),
    )
    .groupBy(bucketEvents.bucketId);
  return new Map(rows.map(({ bucketId, ...used }) => [bucketId, used]));
}

/** The last reading that counts of each bucket. */
export async function lastReadings(db: Executor): Promise<Map<number, StoredEvent>> {
  const { bucketId, number, happenedAt, voids, v, payload } = bucketEvents;
  const rows = await db
    .select({ bucketId, number, happenedAt, voids, v, payload })
    .from(bucketEvents)
    .innerJoin(
      bucketState,
      and(eq(bucketState.bucketId, bucketId), eq(bucketState.readingNumber, bucketEvents.number)),
    );
  return new Map(rows.map(({ bucketId: id, ...event }) => [id, event]));
}

/** Who recorded something of this kind and this very time at a bucket, if anybody did. */
export async function recorderAt(
  db: Executor,
  bucketId: number,
  kind: BucketEvent['kind'],
  at: Instant,
): Promise<string | null> {
  const [row] = await db
    .select({ by: people.name })
    .from(bucketEvents)
    .innerJoin(people, eq(people.id, bucketEvents.by))
    .where(
      and(
        eq(bucketEvents.bucketId, bucketId),
        eq(bucketEvents.kind, kind),
        eq(bucketEvents.happenedAt, at),
        notStruckOut,
      ),
    )
    .limit(1);
  return row?.by ?? null;
}
