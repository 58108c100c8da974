import { and, asc, desc, eq, inArray, isNotNull, isNull, lt, or, type SQL, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import type { BisqueMethod } from '../bisque.ts';
import { bisqueTestStrikes, bisqueTests, clays, pieceNotes, pieceOutcomes, pieces } from '../schema.ts';
import { isOnce } from './pieces.ts';

const striker = alias(people, 'striker');
const strikeNote = alias(pieceNotes, 'strike_note');

const listed = (db: Executor) =>
  db
    .select({
      id: bisqueTests.id,
      method: bisqueTests.method,
      load: bisqueTests.load,
      specimens: bisqueTests.specimens,
      at: bisqueTests.at,
      by: people.name,
      note: pieceNotes.text,
      struckAt: bisqueTestStrikes.at,
      struckBy: striker.name,
      reason: strikeNote.text,
    })
    .from(bisqueTests)
    .innerJoin(people, eq(people.id, bisqueTests.by))
    .leftJoin(pieceNotes, eq(pieceNotes.id, bisqueTests.noteId))
    .leftJoin(bisqueTestStrikes, eq(bisqueTestStrikes.testId, bisqueTests.id))
    .leftJoin(striker, eq(striker.id, bisqueTestStrikes.by))
    .leftJoin(strikeNote, eq(strikeNote.id, bisqueTestStrikes.noteId));

export type TestRow = Awaited<ReturnType<typeof listed>>[number];

/** Tests of a clay, the newest first: struck out ones too, with why. */
export async function listTests(
  db: Executor,
  clayId: number,
  { before, limit }: { before: number | null; limit: number },
): Promise<TestRow[]> {
  return listed(db)
    .where(and(eq(bisqueTests.clayId, clayId), before === null ? undefined : lt(bisqueTests.id, before)))
    .orderBy(desc(bisqueTests.id))
    .limit(limit);
}

/** One test, if it is one of this clay. */
export async function findTest(db: Executor, clayId: number, id: number): Promise<TestRow | null> {
  const [row] = await listed(db).where(and(eq(bisqueTests.clayId, clayId), eq(bisqueTests.id, id)));
  return row ?? null;
}

export async function insertTest(tx: Executor, row: typeof bisqueTests.$inferInsert): Promise<number> {
  const [made] = await tx.insert(bisqueTests).values(row).returning({ id: bisqueTests.id });
  return (made as { id: number }).id;
}

/** Strikes one out; a second strike of the same test breaks the primary key. */
export async function insertStrike(tx: Executor, row: typeof bisqueTestStrikes.$inferInsert): Promise<void> {
  await tx.insert(bisqueTestStrikes).values(row);
}

/** The newest test by this method that counts, of each clay that has one. */
export async function newestCounting(
  db: Executor,
  method: BisqueMethod,
  clayId?: number,
): Promise<{ clayId: number; absorptionPercent: number; bulkDensity: number | null; at: Instant }[]> {
  return db
    .selectDistinctOn([bisqueTests.clayId], {
      clayId: bisqueTests.clayId,
      absorptionPercent: bisqueTests.absorptionPercent,
      bulkDensity: bisqueTests.bulkDensity,
      at: bisqueTests.at,
    })
    .from(bisqueTests)
    .leftJoin(bisqueTestStrikes, eq(bisqueTestStrikes.testId, bisqueTests.id))
    .where(
      and(
        eq(bisqueTests.method, method),
        isNull(bisqueTestStrikes.testId),
        clayId === undefined ? undefined : eq(bisqueTests.clayId, clayId),
      ),
    )
    .orderBy(asc(bisqueTests.clayId), desc(bisqueTests.id));
}

/** How many pieces came out of a load, how many of them of this clay, and of how many of those it was a bisque. */
export async function firedIn(
  db: Executor,
  load: number,
  clayId: number,
): Promise<{ all: number; ofClay: number; bisqued: number }> {
  // A first firing, unless it was glazed raw; or of ware that is wanted bisqued, perhaps for a second time.
  const isBisque = sql`exists (select 1 from piece_events e
    where e.piece_id = ${pieces.id} and e.kind = 'came-out' and e.load = ${load} and (
      e.stage = 'bisqued' or ${pieces.kind} = 'bisque' or (not ${isOnce} and not exists (
        select 1 from piece_events f
        where f.piece_id = e.piece_id and f.number < e.number and f.stage in ('bisqued', 'fired')))))`;
  const [row] = await db
    .select({
      all: sql<number>`count(distinct ${pieces.id})::int`,
      ofClay: sql<number>`(count(distinct ${pieces.id}) filter (where ${pieces.clayId} = ${clayId}))::int`,
      bisqued: sql<number>`(count(distinct ${pieces.id}) filter (where ${pieces.clayId} = ${clayId} and ${isBisque}))::int`,
    })
    .from(pieceOutcomes)
    .innerJoin(pieces, eq(pieces.id, pieceOutcomes.pieceId))
    .where(eq(pieceOutcomes.load, load));
  return row ?? { all: 0, ofClay: 0, bisqued: 0 };
}

/**
 * The newest boiled test that counts, of a piece's clay and of the newest load it came out of that has one: a load whose
 * bisque was boiled is a bisque, whatever kilns call it.
 */
const testOfPiece = sql`(select t.id from piece_events e
  join bisque_tests t on t.load = e.load
  where e.piece_id = ${pieces.id} and e.kind = 'came-out' and t.clay_id = ${pieces.clayId} and t.method = 'boiled'
    and not exists (select 1 from bisque_test_strikes s where s.test_id = t.id)
  order by e.number desc, t.id desc limit 1)`;

const isOff = and(
  isNotNull(bisqueTests.load),
  or(
    lt(bisqueTests.absorptionPercent, clays.absorptionLow),
    sql`${bisqueTests.absorptionPercent} > ${clays.absorptionHigh}`,
  ),
);

const figures = {
  load: sql<number>`${bisqueTests.load}`,
  percent: bisqueTests.absorptionPercent,
  low: sql<number>`${clays.absorptionLow}`,
  high: sql<number>`${clays.absorptionHigh}`,
};

/** Those of these pieces whose bisque lies outside the band of their clay, with the test that says so. */
export async function offBand(db: Executor, pieceIds: readonly number[]) {
  if (pieceIds.length === 0) return [];
  return db
    .select({ pieceId: pieces.id, ...figures })
    .from(pieces)
    .innerJoin(clays, eq(clays.id, pieces.clayId))
    .innerJoin(bisqueTests, eq(bisqueTests.id, testOfPiece))
    .where(and(inArray(pieces.id, [...pieceIds]), isOff));
}

/** Pieces that are bisqued and not glazed yet, whose bisque lies outside its band: counted by the test that says so. */
export async function offBandToGlaze(db: Executor) {
  const isOfATestedClay: SQL = inArray(
    pieces.clayId,
    db
      .select({ clayId: bisqueTests.clayId })
      .from(bisqueTests)
      .where(and(eq(bisqueTests.method, 'boiled'), isNotNull(bisqueTests.load))),
  );
  return db
    .select({
      clay: { id: clays.id, name: clays.name },
      ...figures,
      at: bisqueTests.at,
      count: sql<number>`count(*)::int`,
    })
    .from(pieces)
    .innerJoin(clays, eq(clays.id, pieces.clayId))
    .innerJoin(bisqueTests, eq(bisqueTests.id, testOfPiece))
    .where(and(eq(pieces.stage, 'bisqued'), isOfATestedClay, isOff))
    .groupBy(clays.id, bisqueTests.id)
    .orderBy(asc(bisqueTests.at), asc(bisqueTests.id));
}
