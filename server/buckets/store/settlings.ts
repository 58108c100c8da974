import { and, desc, eq, sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { bucketEvents } from '../schema.ts';
import type { StoredEvent } from '../store.ts';

/** What was seen of how a bucket settles, newest first, less what is void, each with the name of who saw it. */
export async function settlings(
  db: Executor,
  bucketId: number,
  limit: number,
): Promise<(StoredEvent & { by: string })[]> {
  const { number, happenedAt, voids, v, payload } = bucketEvents;
  return db
    .select({ number, happenedAt, voids, v, payload, by: people.name })
    .from(bucketEvents)
    .innerJoin(people, eq(people.id, bucketEvents.by))
    .where(
      and(
        eq(bucketEvents.bucketId, bucketId),
        eq(bucketEvents.kind, 'settling'),
        sql`not exists (select 1 from ${bucketEvents} x
          where x.bucket_id = ${bucketEvents.bucketId} and x.voids = ${number})`,
      ),
    )
    .orderBy(desc(happenedAt), desc(number))
    .limit(limit);
}
