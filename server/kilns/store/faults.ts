import { and, count, desc, eq, gt, gte, inArray, ne, notExists, type SQL } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
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

const newer = alias(pieceOutcomes, 'newer');
const above = alias(pieceGlazes, 'above');

/** How a piece came out of a load is put right by a newer row: the newest of the two counts. */
const isNewest = (db: Executor): SQL =>
  notExists(
    db
      .select({ id: newer.id })
      .from(newer)
      .where(
        and(
          eq(newer.pieceId, pieceOutcomes.pieceId),
          eq(newer.load, pieceOutcomes.load),
          gt(newer.id, pieceOutcomes.id),
        ),
      ),
  );

function wanted({ since, kind }: OutcomeFilter): SQL | undefined {
  return and(
    since === undefined ? undefined : gte(loads.unloadedAt, since),
    kind === undefined ? undefined : eq(loads.kind, kind),
  );
}

/** Outcomes by kiln, level and clay: as fine as any table that asks for no glaze. */
export async function outcomesByPlace(db: Executor, filter: OutcomeFilter) {
  return db
    .select({
      code: kilns.code,
      name: kilns.name,
      level: pieceOutcomes.level,
      clay: clays.name,
      outcome: pieceOutcomes.outcome,
      count: count(),
    })
    .from(pieceOutcomes)
    .innerJoin(loads, eq(loads.number, pieceOutcomes.load))
    .innerJoin(kilns, eq(kilns.id, loads.kilnId))
    .innerJoin(pieces, eq(pieces.id, pieceOutcomes.pieceId))
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .where(and(isNewest(db), wanted(filter)))
    .groupBy(kilns.code, kilns.name, pieceOutcomes.level, clays.name, pieceOutcomes.outcome);
}

/**
 * By bucket, the batch that was in it and the reading it had. A coat belongs to the load it was fired in: those under it
 * were fired before. A piece counts once for each bucket on it, by its last coat from there.
 */
export async function outcomesByBucket(db: Executor, filter: OutcomeFilter) {
  const isLastCoat = notExists(
    db
      .select({ position: above.position })
      .from(above)
      .where(
        and(
          eq(above.pieceId, pieceGlazes.pieceId),
          eq(above.load, pieceGlazes.load),
          eq(above.bucketId, pieceGlazes.bucketId),
          gt(above.position, pieceGlazes.position),
        ),
      ),
  );
  return db
    .select({
      code: buckets.code,
      name: buckets.name,
      batch: pieceGlazes.batchNumber,
      reading: pieceGlazes.reading,
      gravity: pieceGlazes.gravity,
      outcome: pieceOutcomes.outcome,
      count: count(),
    })
    .from(pieceOutcomes)
    .innerJoin(loads, eq(loads.number, pieceOutcomes.load))
    .innerJoin(
      pieceGlazes,
      and(eq(pieceGlazes.pieceId, pieceOutcomes.pieceId), eq(pieceGlazes.load, pieceOutcomes.load)),
    )
    .innerJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
    .where(and(isNewest(db), isLastCoat, wanted(filter)))
    .groupBy(
      buckets.code,
      buckets.name,
      pieceGlazes.batchNumber,
      pieceGlazes.reading,
      pieceGlazes.gravity,
      pieceOutcomes.outcome,
    );
}

/** The pieces that did not come out as they should, of one outcome or of all, newest load first. */
export async function faultyPieces(
  db: Executor,
  filter: OutcomeFilter & { outcome?: string | undefined; limit: number },
) {
  return db
    .select({
      number: pieces.number,
      form: pieces.form,
      outcome: pieceOutcomes.outcome,
      level: pieceOutcomes.level,
      load: loads.number,
      kind: loads.kind,
      kilnCode: kilns.code,
      kilnName: kilns.name,
      clay: clays.name,
      pieceId: pieces.id,
      unloadedAt: loads.unloadedAt,
    })
    .from(pieceOutcomes)
    .innerJoin(loads, eq(loads.number, pieceOutcomes.load))
    .innerJoin(kilns, eq(kilns.id, loads.kilnId))
    .innerJoin(pieces, eq(pieces.id, pieceOutcomes.pieceId))
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .where(
      and(
        isNewest(db),
        wanted(filter),
        filter.outcome === undefined
          ? ne(pieceOutcomes.outcome, 'good')
          : eq(pieceOutcomes.outcome, filter.outcome),
      ),
    )
    .orderBy(desc(loads.number), pieces.number)
    .limit(filter.limit);
}

/** The coats from buckets that these pieces had when any of these loads fired them, each with its load. */
export async function glazesThen(db: Executor, pieceIds: readonly number[], loadNumbers: readonly number[]) {
  if (pieceIds.length === 0) return [];
  return db
    .select({
      load: pieceGlazes.load,
      pieceId: pieceGlazes.pieceId,
      code: buckets.code,
      name: buckets.name,
      batch: pieceGlazes.batchNumber,
      reading: pieceGlazes.reading,
      gravity: pieceGlazes.gravity,
    })
    .from(pieceGlazes)
    .innerJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
    .where(and(inArray(pieceGlazes.pieceId, [...pieceIds]), inArray(pieceGlazes.load, [...loadNumbers])))
    .orderBy(pieceGlazes.pieceId, pieceGlazes.position);
}

/** How the pieces of one load came out, as it counts. */
export async function outcomesOfLoad(db: Executor, load: number) {
  return db
    .select({
      number: pieces.number,
      form: pieces.form,
      outcome: pieceOutcomes.outcome,
      level: pieceOutcomes.level,
    })
    .from(pieceOutcomes)
    .innerJoin(pieces, eq(pieces.id, pieceOutcomes.pieceId))
    .where(and(eq(pieceOutcomes.load, load), isNewest(db)))
    .orderBy(pieces.number);
}
