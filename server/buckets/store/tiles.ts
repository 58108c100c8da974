import { and, desc, eq, isNull, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Executor } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import { statement } from '../../core/statement.ts';
import { bucketNotes, buckets, firedTiles } from '../schema.ts';

const over = alias(buckets, 'over_bucket');

const columns = {
  number: firedTiles.number,
  photo: files.sha256,
  clay: firedTiles.clay,
  cone: firedTiles.cone,
  overCode: over.code,
  overName: over.name,
  note: bucketNotes.text,
  accepted: firedTiles.accepted,
  batch: firedTiles.batch,
  madeBy: people.name,
  madeAt: firedTiles.madeAt,
  withdrawnAt: firedTiles.withdrawnAt,
};

const selectTiles = (db: Executor) =>
  db
    .select(columns)
    .from(firedTiles)
    .innerJoin(buckets, eq(buckets.id, firedTiles.bucketId))
    .innerJoin(people, eq(people.id, firedTiles.madeBy))
    .leftJoin(files, eq(files.id, firedTiles.fileId))
    .leftJoin(over, eq(over.id, firedTiles.overBucketId))
    .leftJoin(bucketNotes, eq(bucketNotes.id, firedTiles.noteId));

export type TileRow = Awaited<ReturnType<typeof selectTiles>>[number];

const listStatement = statement('tiles_list', (db) =>
  selectTiles(db)
    .where(
      sql`lower(${buckets.code}) = lower(${sql.placeholder('code')}) and ${firedTiles.withdrawnAt} is null`,
    )
    .orderBy(desc(firedTiles.number))
    .limit(sql.placeholder('limit')),
);

/** Newest first, less what was withdrawn. */
export const list = (db: Executor, code: string, limit: number): Promise<TileRow[]> =>
  listStatement(db, { code, limit });

/** Names of clays, as the studio writes them. */
export async function clays(db: Executor): Promise<string[]> {
  const rows = await db.selectDistinct({ clay: firedTiles.clay }).from(firedTiles).orderBy(firedTiles.clay);
  return rows.map(({ clay }) => clay);
}

export async function find(db: Executor, bucketId: number, number: number): Promise<TileRow | null> {
  const [row] = await selectTiles(db).where(
    and(eq(firedTiles.bucketId, bucketId), eq(firedTiles.number, number)),
  );
  return row ?? null;
}

/** The next tile of a bucket; its row lock keeps the numbers apart. */
export async function insert(
  tx: Executor,
  row: Omit<typeof firedTiles.$inferInsert, 'number'>,
): Promise<number> {
  const next = sql`(select coalesce(max(${firedTiles.number}), 0) + 1 from ${firedTiles}
    where ${firedTiles.bucketId} = ${row.bucketId})`;
  const [made] = await tx
    .insert(firedTiles)
    .values({ ...row, number: next })
    .returning({ number: firedTiles.number });
  return (made as { number: number }).number;
}

export async function update(
  tx: Executor,
  bucketId: number,
  number: number,
  row: Partial<typeof firedTiles.$inferInsert>,
): Promise<void> {
  await tx
    .update(firedTiles)
    .set(row)
    .where(and(eq(firedTiles.bucketId, bucketId), eq(firedTiles.number, number)));
}

/** Whether the glaze of a batch was accepted by a tile that stands. */
export async function isAccepted(db: Executor, bucketId: number, batch: number): Promise<boolean> {
  const [row] = await db
    .select({ number: firedTiles.number })
    .from(firedTiles)
    .where(
      and(
        eq(firedTiles.bucketId, bucketId),
        eq(firedTiles.batch, batch),
        eq(firedTiles.accepted, true),
        isNull(firedTiles.withdrawnAt),
      ),
    )
    .limit(1);
  return row !== undefined;
}
