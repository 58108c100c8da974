import { and, count, desc, eq, gt, gte, inArray, isNotNull, ne, notExists, type SQL, sql } from 'drizzle-orm';
import { alias, type PgColumn } from 'drizzle-orm/pg-core';
import { buckets } from '../../buckets/schema.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import type { GravityBand } from '../../ware/coat-bands.ts';
import type { FiringKind } from '../../ware/firing.ts';
import { clays, pieceGlazes, pieceOutcomes, pieces } from '../../ware/schema.ts';
import { kilns, loads } from '../schema.ts';

export interface OutcomeFilter {
  /** Unloaded since then. */
  since?: Instant | undefined;
  kind?: FiringKind | undefined;
}

const newer = alias(pieceOutcomes, 'newer');

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

/** Of the loads that are asked for; of all of them nothing is asked. */
function inWanted(db: Executor, load: PgColumn, filter: OutcomeFilter): SQL | undefined {
  const where = wanted(filter);
  return where && inArray(load, db.select({ number: loads.number }).from(loads).where(where));
}

/**
 * The word that counts on each piece and load. Over all time this reads one index in its order, where asking of every
 * row whether there is a newer one took several times as long.
 */
const newestOutcomes = (db: Executor, filter: OutcomeFilter) =>
  db.$with('newest').as(
    db
      .selectDistinctOn([pieceOutcomes.pieceId, pieceOutcomes.load], {
        pieceId: pieceOutcomes.pieceId,
        load: pieceOutcomes.load,
        outcome: pieceOutcomes.outcome,
        level: pieceOutcomes.level,
      })
      .from(pieceOutcomes)
      .where(inWanted(db, pieceOutcomes.load, filter))
      .orderBy(pieceOutcomes.pieceId, pieceOutcomes.load, desc(pieceOutcomes.id)),
  );

/** Outcomes by kiln, level and clay: as fine as any table that asks for no glaze. */
export async function outcomesByPlace(db: Executor, filter: OutcomeFilter) {
  const newest = newestOutcomes(db, filter);
  const counted = db.$with('counted').as(
    db
      .select({
        kilnId: loads.kilnId,
        level: newest.level,
        clayId: pieces.clayId,
        outcome: newest.outcome,
        count: count().as('many'),
      })
      .from(newest)
      .innerJoin(loads, eq(loads.number, newest.load))
      .innerJoin(pieces, eq(pieces.id, newest.pieceId))
      .groupBy(loads.kilnId, newest.level, pieces.clayId, newest.outcome),
  );
  return db
    .with(newest, counted)
    .select({
      code: kilns.code,
      name: kilns.name,
      level: counted.level,
      clay: clays.name,
      outcome: counted.outcome,
      count: counted.count,
    })
    .from(counted)
    .innerJoin(kilns, eq(kilns.id, counted.kilnId))
    .leftJoin(clays, eq(clays.id, counted.clayId));
}

/**
 * By bucket, the batch that was in it and the reading it had. A coat belongs to the load it was fired in: those under it
 * were fired before. A piece counts once for each bucket on it, by its last coat from there.
 */
export async function outcomesByBucket(db: Executor, filter: OutcomeFilter) {
  const { pieceId, load, bucketId, position, batchNumber, reading, gravity } = pieceGlazes;
  const newest = newestOutcomes(db, filter);
  const coats = db.$with('coats').as(
    db
      .selectDistinctOn([pieceId, load, bucketId], { pieceId, load, bucketId, batchNumber, reading, gravity })
      .from(pieceGlazes)
      .where(and(isNotNull(load), isNotNull(bucketId), inWanted(db, load, filter)))
      .orderBy(pieceId, load, bucketId, desc(position)),
  );
  const counted = db.$with('counted').as(
    db
      .select({
        bucketId: coats.bucketId,
        batch: coats.batchNumber,
        reading: coats.reading,
        gravity: coats.gravity,
        outcome: newest.outcome,
        count: count().as('many'),
      })
      .from(newest)
      .innerJoin(coats, and(eq(coats.pieceId, newest.pieceId), eq(coats.load, newest.load)))
      .groupBy(coats.bucketId, coats.batchNumber, coats.reading, coats.gravity, newest.outcome),
  );
  return db
    .with(newest, coats, counted)
    .select({
      code: buckets.code,
      name: buckets.name,
      batch: counted.batch,
      reading: counted.reading,
      gravity: counted.gravity,
      outcome: counted.outcome,
      count: counted.count,
    })
    .from(counted)
    .innerJoin(buckets, eq(buckets.id, counted.bucketId));
}

/**
 * By what lies on the outside of a piece when a load fires it: how thick all its coats there are together in hundredths
 * of a millimetre (a pin's word before an estimate), the whole counts that the last of them was dipped for, and where
 * its gravity lay against the band that its bucket has now. Each row is of one of the three, the others are null there; a
 * piece of which nobody knows it is left out of that one.
 */
export async function outcomesByCoat(db: Executor, filter: OutcomeFilter) {
  const { pieceId, load, position, face, way, seconds, gravity, coatMm, scratchMm } = pieceGlazes;
  const newest = newestOutcomes(db, filter);
  const all = sql`over (partition by ${pieceId}, ${load})`;
  // A limit belongs to the band, as in the bucket's verdict.
  const side = sql<GravityBand | null>`case
    when ${gravity} > ${buckets.sgHigh} + 1e-9 then 'over'
    when ${gravity} < ${buckets.sgLow} - 1e-9 then 'under'
    when ${gravity} is not null and ${buckets.id} is not null then 'in' end`;
  const coats = db.$with('coats').as(
    db
      .selectDistinctOn([pieceId, load], {
        pieceId,
        load,
        hundredths: sql<number | null>`case when bool_and(num_nonnulls(${scratchMm}, ${coatMm}) > 0) ${all}
          then round(100 * sum(coalesce(${scratchMm}, ${coatMm})) ${all})::int end`.as('hundredths'),
        counts: sql<number | null>`case when ${way} = 'dip' then floor(${seconds} + 0.5)::int end`.as(
          'counts',
        ),
        side: side.as('side'),
      })
      .from(pieceGlazes)
      .leftJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
      .where(and(isNotNull(load), inArray(face, ['outside', 'all']), inWanted(db, load, filter)))
      .orderBy(pieceId, load, desc(position)),
  );
  const { hundredths, counts, side: band } = coats;
  return db
    .with(newest, coats)
    .select({ hundredths, counts, band, outcome: newest.outcome, count: count() })
    .from(newest)
    .innerJoin(coats, and(eq(coats.pieceId, newest.pieceId), eq(coats.load, newest.load)))
    .groupBy(newest.outcome, sql`grouping sets ((${hundredths}), (${counts}), (${band}))`);
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
      position: pieceGlazes.position,
      code: buckets.code,
      name: buckets.name,
      batch: pieceGlazes.batchNumber,
      reading: pieceGlazes.reading,
      gravity: pieceGlazes.gravity,
      face: pieceGlazes.face,
      seconds: pieceGlazes.seconds,
      coatMm: sql<number | null>`coalesce(${pieceGlazes.scratchMm}, ${pieceGlazes.coatMm})`,
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
