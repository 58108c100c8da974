import { and, count, desc, eq, gte, lte, ne, type SQL, sql } from 'drizzle-orm';
import { buckets } from '../../buckets/schema.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import type { FiringKind } from '../../ware/firing.ts';
import { clays, pieceGlazes, pieceOutcomes, pieces } from '../../ware/schema.ts';
import { kilns, loads } from '../schema.ts';

export interface OutcomeFilter {
  /** Unloaded since then. */
  since?: Instant | undefined;
  kind?: FiringKind | undefined;
}

/** How each piece came out of each load: the newest row of the two counts. */
const newest = (db: Executor) =>
  db
    .selectDistinctOn([pieceOutcomes.pieceId, pieceOutcomes.load], {
      pieceId: pieceOutcomes.pieceId,
      load: pieceOutcomes.load,
      outcome: pieceOutcomes.outcome,
      level: pieceOutcomes.level,
    })
    .from(pieceOutcomes)
    .orderBy(pieceOutcomes.pieceId, pieceOutcomes.load, desc(pieceOutcomes.id))
    .as('newest');

function wanted({ since, kind }: OutcomeFilter): SQL | undefined {
  return and(
    since === undefined ? undefined : gte(loads.unloadedAt, since),
    kind === undefined ? undefined : eq(loads.kind, kind),
  );
}

/** Glazes that were on a piece when it was fired: a bisque has none, and a coat put on since is of the next firing. */
const wasOn = (pieceId: typeof pieces.id) =>
  and(eq(pieceGlazes.pieceId, pieceId), ne(loads.kind, 'bisque'), lte(pieceGlazes.at, loads.unloadedAt));

/** Outcomes counted over everything. */
export async function outcomesAll(db: Executor, filter: OutcomeFilter) {
  const one = newest(db);
  return db
    .select({ outcome: one.outcome, count: count() })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .where(wanted(filter))
    .groupBy(one.outcome);
}

export async function outcomesByKiln(db: Executor, filter: OutcomeFilter) {
  const one = newest(db);
  return db
    .select({ code: kilns.code, name: kilns.name, outcome: one.outcome, count: count() })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .innerJoin(kilns, eq(kilns.id, loads.kilnId))
    .where(wanted(filter))
    .groupBy(kilns.code, kilns.name, one.outcome);
}

/** By kiln too: the third level of one is not that of another. */
export async function outcomesByLevel(db: Executor, filter: OutcomeFilter) {
  const one = newest(db);
  return db
    .select({ code: kilns.code, name: kilns.name, level: one.level, outcome: one.outcome, count: count() })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .innerJoin(kilns, eq(kilns.id, loads.kilnId))
    .where(wanted(filter))
    .groupBy(kilns.code, kilns.name, one.level, one.outcome);
}

export async function outcomesByClay(db: Executor, filter: OutcomeFilter) {
  const one = newest(db);
  return db
    .select({ name: clays.name, outcome: one.outcome, count: count() })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .innerJoin(pieces, eq(pieces.id, one.pieceId))
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .where(wanted(filter))
    .groupBy(clays.name, one.outcome);
}

/** By bucket, the batch that was in it and the reading it had; a piece counts once for each bucket on it. */
export async function outcomesByBucket(db: Executor, filter: OutcomeFilter) {
  const one = newest(db);
  return db
    .select({
      code: buckets.code,
      name: buckets.name,
      batch: pieceGlazes.batchNumber,
      reading: pieceGlazes.reading,
      gravity: pieceGlazes.gravity,
      outcome: one.outcome,
      // Two coats of one bucket are one piece.
      count: sql<number>`count(distinct (${one.pieceId}, ${one.load}))::int`,
    })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .innerJoin(pieces, eq(pieces.id, one.pieceId))
    .innerJoin(pieceGlazes, wasOn(pieces.id))
    .innerJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
    .where(wanted(filter))
    .groupBy(
      buckets.code,
      buckets.name,
      pieceGlazes.batchNumber,
      pieceGlazes.reading,
      pieceGlazes.gravity,
      one.outcome,
    );
}

/** The pieces that did not come out as they should, of one outcome or of all, newest load first. */
export async function faultyPieces(
  db: Executor,
  filter: OutcomeFilter & { outcome?: string | undefined; limit: number },
) {
  const one = newest(db);
  return db
    .select({
      number: pieces.number,
      form: pieces.form,
      outcome: one.outcome,
      level: one.level,
      load: loads.number,
      kind: loads.kind,
      kilnCode: kilns.code,
      kilnName: kilns.name,
      clay: clays.name,
      pieceId: pieces.id,
      unloadedAt: loads.unloadedAt,
    })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .innerJoin(kilns, eq(kilns.id, loads.kilnId))
    .innerJoin(pieces, eq(pieces.id, one.pieceId))
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .where(
      and(
        wanted(filter),
        filter.outcome === undefined ? ne(one.outcome, 'good') : eq(one.outcome, filter.outcome),
      ),
    )
    .orderBy(desc(loads.number), pieces.number)
    .limit(filter.limit);
}

/** The buckets whose glaze was on these pieces in these loads. */
export async function glazesThen(db: Executor, loadNumbers: readonly number[]) {
  if (loadNumbers.length === 0) return [];
  const one = newest(db);
  return db
    .select({
      load: loads.number,
      pieceId: pieces.id,
      code: buckets.code,
      name: buckets.name,
      batch: pieceGlazes.batchNumber,
      reading: pieceGlazes.reading,
      gravity: pieceGlazes.gravity,
    })
    .from(one)
    .innerJoin(loads, eq(loads.number, one.load))
    .innerJoin(pieces, eq(pieces.id, one.pieceId))
    .innerJoin(pieceGlazes, wasOn(pieces.id))
    .innerJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
    .where(
      and(
        ne(one.outcome, 'good'),
        gte(loads.number, Math.min(...loadNumbers)),
        lte(loads.number, Math.max(...loadNumbers)),
      ),
    )
    .orderBy(pieceGlazes.pieceId, pieceGlazes.position);
}

/** How the pieces of one load came out, as it counts. */
export async function outcomesOfLoad(db: Executor, load: number) {
  const one = newest(db);
  return db
    .select({ number: pieces.number, form: pieces.form, outcome: one.outcome, level: one.level })
    .from(one)
    .innerJoin(pieces, eq(pieces.id, one.pieceId))
    .where(eq(one.load, load))
    .orderBy(pieces.number);
}
