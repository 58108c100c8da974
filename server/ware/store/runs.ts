import { and, asc, eq, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import { buckets } from '../../buckets/schema.ts';
import type { Executor } from '../../core/database.ts';
import { glazeRuns } from '../schema.ts';

type RunRow = typeof glazeRuns.$inferSelect;

const other = alias(buckets, 'other');

/** By the names of both, retired buckets too: what was glazed from them may still go over something else. */
export async function listRuns(db: Executor) {
  return db
    .select({
      a: { code: buckets.code, name: buckets.name },
      b: { code: other.code, name: other.name },
      why: glazeRuns.why,
    })
    .from(glazeRuns)
    .innerJoin(buckets, eq(buckets.id, glazeRuns.bucketA))
    .innerJoin(other, eq(other.id, glazeRuns.bucketB))
    .orderBy(
      asc(sql`lower(${buckets.name})`),
      asc(sql`lower(${other.name})`),
      asc(buckets.id),
      asc(other.id),
    );
}

/** False where these two are listed already. */
export async function insertRun(tx: Executor, run: RunRow): Promise<boolean> {
  const made = await tx
    .insert(glazeRuns)
    .values(run)
    .onConflictDoNothing()
    .returning({ a: glazeRuns.bucketA });
  return made.length > 0;
}

/** False where these two were not listed. */
export async function deleteRun(
  tx: Executor,
  { bucketA, bucketB }: Pick<RunRow, 'bucketA' | 'bucketB'>,
): Promise<boolean> {
  const gone = await tx
    .delete(glazeRuns)
    .where(and(eq(glazeRuns.bucketA, bucketA), eq(glazeRuns.bucketB, bucketB)))
    .returning({ a: glazeRuns.bucketA });
  return gone.length > 0;
}
