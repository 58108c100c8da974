import { and, asc, desc, eq, inArray, isNotNull, isNull, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people, studio } from '../../core/schema.ts';
import { materials, recipeLines, recipes, recipeVersions } from '../../materials/schema.ts';
import type { BatchMark } from '../batch.ts';
import { batches, batchLines, bucketEvents, bucketState, buckets } from '../schema.ts';

const maker = alias(people, 'maker');
const checker = alias(people, 'checker');
const strike = alias(bucketEvents, 'strike');

/** Set-ups and additions that name a batch, less what was struck out. */
const namedIn = (number: typeof batches.number) => sql`exists (
  select 1 from ${bucketEvents} e
  where e.kind in ('setup', 'addition') and (e.payload ->> 'batch')::int = ${number}
    and not exists (select 1 from ${bucketEvents} x where x.bucket_id = e.bucket_id and x.voids = e.number))`;

const columns = {
  id: batches.id,
  number: batches.number,
  recipeId: batches.recipeId,
  recipeVersion: batches.recipeVersion,
  recipeName: recipes.name,
  solidsDensity: recipeVersions.solidsDensityGCm3,
  hasSolubles: recipeVersions.hasSolubles,
  litres: batches.litres,
  aimSg: batches.aimSg,
  dryKg: batches.dryKg,
  waterL: batches.waterL,
  heldBackL: batches.heldBackL,
  bucketCode: buckets.code,
  bucketName: buckets.name,
  sieveMesh: buckets.sieveMesh,
  madeBy: maker.name,
  madeAt: batches.madeAt,
  checkedBy: checker.name,
  checkedAt: batches.checkedAt,
  abandonedAt: batches.abandonedAt,
  isWeighed: sql<boolean>`not exists (select 1 from ${batchLines} l
    where l.batch_id = ${batches.id} and l.weighed_at is null)`,
  isUsed: sql<boolean>`${namedIn(batches.number)}`,
};

const selectBatches = (db: Executor) =>
  db
    .select(columns)
    .from(batches)
    .innerJoin(recipes, eq(recipes.id, batches.recipeId))
    .innerJoin(
      recipeVersions,
      and(eq(recipeVersions.recipeId, batches.recipeId), eq(recipeVersions.version, batches.recipeVersion)),
    )
    .innerJoin(maker, eq(maker.id, batches.madeBy))
    .leftJoin(checker, eq(checker.id, batches.checkedBy))
    .leftJoin(buckets, eq(buckets.id, batches.forBucketId));

export type BatchRow = Awaited<ReturnType<typeof selectBatches>>[number];

/** Newest first: those numbered under `before`. */
export async function list(db: Executor, limit: number, before: number): Promise<BatchRow[]> {
  return selectBatches(db)
    .where(sql`${batches.number} < ${before}`)
    .orderBy(desc(batches.number))
    .limit(limit);
}

export async function find(db: Executor, number: number): Promise<BatchRow | null> {
  const [row] = await selectBatches(db).where(eq(batches.number, number));
  return row ?? null;
}

/** The batch as it is once it is locked, until the transaction ends. */
export async function lock(tx: Executor, number: number): Promise<BatchRow | null> {
  await tx.select({ id: batches.id }).from(batches).where(eq(batches.number, number)).for('update');
  return find(tx, number);
}

export interface LineRow {
  position: number;
  materialId: number;
  material: string;
  grams: number;
  lot: string;
  weighedBy: string | null;
  weighedById: number | null;
  weighedAt: Instant | null;
}

export async function linesOf(db: Executor, batchId: number): Promise<LineRow[]> {
  return db
    .select({
      position: batchLines.position,
      materialId: batchLines.materialId,
      material: materials.name,
      grams: batchLines.grams,
      lot: batchLines.lot,
      weighedBy: people.name,
      weighedById: batchLines.weighedBy,
      weighedAt: batchLines.weighedAt,
    })
    .from(batchLines)
    .innerJoin(materials, eq(materials.id, batchLines.materialId))
    .leftJoin(people, eq(people.id, batchLines.weighedBy))
    .where(eq(batchLines.batchId, batchId))
    .orderBy(asc(batchLines.position));
}

/** A batch with the next number, its lines those of its recipe in the same order. Numbers have no gaps. */
export async function insert(
  tx: Executor,
  row: Omit<typeof batches.$inferInsert, 'number'>,
  grams: number[],
): Promise<number> {
  await tx.select({ id: studio.id }).from(studio).for('update');
  const next = sql`(select coalesce(max(${batches.number}), 0) + 1 from ${batches})`;
  const [made] = await tx
    .insert(batches)
    .values({ ...row, number: next })
    .returning({ id: batches.id, number: batches.number });
  const { id, number } = made as { id: number; number: number };
  const lines = await tx
    .select({ position: recipeLines.position, materialId: recipeLines.materialId })
    .from(recipeLines)
    .where(and(eq(recipeLines.recipeId, row.recipeId), eq(recipeLines.version, row.recipeVersion)))
    .orderBy(asc(recipeLines.position));
  await tx
    .insert(batchLines)
    .values(lines.map((line, at) => ({ batchId: id, ...line, grams: grams[at] as number })));
  return number;
}

/** Whether the line was still to be weighed. */
export async function tick(
  tx: Executor,
  batchId: number,
  position: number,
  by: { lot: string; weighedBy: number; weighedAt: Instant },
): Promise<boolean> {
  const rows = await tx
    .update(batchLines)
    .set(by)
    .where(
      and(eq(batchLines.batchId, batchId), eq(batchLines.position, position), isNull(batchLines.weighedAt)),
    )
    .returning({ position: batchLines.position });
  return rows.length > 0;
}

export async function untick(tx: Executor, batchId: number, position: number): Promise<void> {
  await tx
    .update(batchLines)
    .set({ lot: '', weighedBy: null, weighedAt: null })
    .where(and(eq(batchLines.batchId, batchId), eq(batchLines.position, position)));
}

export async function update(
  tx: Executor,
  id: number,
  row: Partial<typeof batches.$inferInsert>,
): Promise<void> {
  await tx.update(batches).set(row).where(eq(batches.id, id));
}

/** The buckets and events that batches went into, struck out or not, oldest first. */
export async function usesOf(db: Executor, numbers: number[]) {
  const batch = sql<number>`(${bucketEvents.payload} ->> 'batch')::int`;
  return db
    .select({
      batch,
      bucketId: bucketEvents.bucketId,
      code: buckets.code,
      name: buckets.name,
      colour: buckets.colour,
      number: bucketEvents.number,
      happenedAt: bucketEvents.happenedAt,
      by: people.name,
      payload: bucketEvents.payload,
      voidedBy: strike.number,
      isRetired: sql<boolean>`${bucketState.service} = 'retired'`,
    })
    .from(bucketEvents)
    .innerJoin(buckets, eq(buckets.id, bucketEvents.bucketId))
    .innerJoin(bucketState, eq(bucketState.bucketId, bucketEvents.bucketId))
    .innerJoin(people, eq(people.id, bucketEvents.by))
    .leftJoin(strike, and(eq(strike.bucketId, bucketEvents.bucketId), eq(strike.voids, bucketEvents.number)))
    .where(and(inArray(bucketEvents.kind, ['setup', 'addition']), inArray(batch, numbers)))
    .orderBy(asc(bucketEvents.happenedAt), asc(bucketEvents.bucketId), asc(bucketEvents.number));
}

export type BatchUseRow = Awaited<ReturnType<typeof usesOf>>[number];

/** How many events a bucket has had after one of its own. */
export async function eventsSince(
  db: Executor,
  bucketId: number,
  event: { number: number; happenedAt: Instant },
): Promise<number> {
  const [row] = await db
    .select({ count: sql<number>`count(*)::int` })
    .from(bucketEvents)
    .where(
      and(
        eq(bucketEvents.bucketId, bucketId),
        sql`(${bucketEvents.happenedAt}, ${bucketEvents.number}) >
          (${new Date(event.happenedAt).toISOString()}::timestamptz, ${event.number}::int)`,
      ),
    );
  return row?.count ?? 0;
}

/** Set-ups of a bucket and what names a batch in it, less what was struck out. */
export async function marksOf(db: Executor, bucketId: number): Promise<BatchMark[]> {
  const rows = await db
    .select({
      number: bucketEvents.number,
      happenedAt: bucketEvents.happenedAt,
      kind: bucketEvents.kind,
      batch: sql<number | null>`(${bucketEvents.payload} ->> 'batch')::int`,
    })
    .from(bucketEvents)
    .leftJoin(strike, and(eq(strike.bucketId, bucketEvents.bucketId), eq(strike.voids, bucketEvents.number)))
    .where(
      and(
        eq(bucketEvents.bucketId, bucketId),
        inArray(bucketEvents.kind, ['setup', 'addition']),
        sql`(${bucketEvents.kind} = 'setup' or ${bucketEvents.payload} ? 'batch')`,
        isNull(strike.number),
      ),
    );
  return rows as BatchMark[];
}

/** The batches into which something of a lot was weighed, oldest first; a lot's name is the same in either case. */
export async function weighedFrom(db: Executor, { materialId, lot }: { materialId: number; lot: string }) {
  return db
    .select({
      number: batches.number,
      recipe: recipes.name,
      grams: batchLines.grams,
      weighedAt: batchLines.weighedAt,
      abandonedAt: batches.abandonedAt,
    })
    .from(batchLines)
    .innerJoin(batches, eq(batches.id, batchLines.batchId))
    .innerJoin(recipes, eq(recipes.id, batches.recipeId))
    .where(
      and(
        eq(batchLines.materialId, materialId),
        sql`lower(${batchLines.lot}) = lower(${lot})`,
        isNotNull(batchLines.weighedAt),
      ),
    )
    .orderBy(asc(batches.number), asc(batchLines.position));
}

/** What was weighed into each of these batches, in the order of its lines. */
export async function linesOfBatches(db: Executor, numbers: number[]) {
  if (numbers.length === 0) return [];
  return db
    .select({
      batch: batches.number,
      materialId: batchLines.materialId,
      material: materials.name,
      grams: batchLines.grams,
      lot: batchLines.lot,
    })
    .from(batchLines)
    .innerJoin(batches, eq(batches.id, batchLines.batchId))
    .innerJoin(materials, eq(materials.id, batchLines.materialId))
    .where(inArray(batches.number, numbers))
    .orderBy(asc(batches.number), asc(batchLines.position));
}
