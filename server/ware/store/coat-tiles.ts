import { and, desc, eq, isNull, lt, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import { buckets } from '../../buckets/schema.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { clays, coatTileStrikes, coatTiles, pieceNotes } from '../schema.ts';

export type TileRow = Awaited<ReturnType<typeof listTiles>>[number];

/** What a fit needs of a tile. */
export interface FitRow {
  id: number;
  clayId: number;
  bucketId: number;
  seconds: number;
  specificGravity: number;
  solidsDensity: number;
  areaCm2: number;
  dryCoatGrams: number;
}

export interface TileFilter {
  clayId?: number | undefined;
  bucketId?: number | undefined;
  id?: number | undefined;
  before?: number | undefined;
}

const striker = alias(people, 'striker');
const why = alias(pieceNotes, 'why');

/** Tiles, struck out or not, newest first. */
export async function listTiles(db: Executor, { clayId, bucketId, id, before }: TileFilter, limit: number) {
  return db
    .select({
      tile: coatTiles,
      by: { id: people.id, name: people.name },
      clay: clays.name,
      bucket: buckets.code,
      note: pieceNotes.text,
      struckBy: striker.name,
      struckAt: coatTileStrikes.at,
      struckWhy: why.text,
    })
    .from(coatTiles)
    .innerJoin(people, eq(people.id, coatTiles.by))
    .innerJoin(clays, eq(clays.id, coatTiles.clayId))
    .innerJoin(buckets, eq(buckets.id, coatTiles.bucketId))
    .leftJoin(pieceNotes, eq(pieceNotes.id, coatTiles.noteId))
    .leftJoin(coatTileStrikes, eq(coatTileStrikes.tileId, coatTiles.id))
    .leftJoin(striker, eq(striker.id, coatTileStrikes.by))
    .leftJoin(why, eq(why.id, coatTileStrikes.noteId))
    .where(
      and(
        clayId === undefined ? undefined : eq(coatTiles.clayId, clayId),
        bucketId === undefined ? undefined : eq(coatTiles.bucketId, bucketId),
        id === undefined ? undefined : eq(coatTiles.id, id),
        before === undefined ? undefined : lt(coatTiles.id, before),
      ),
    )
    .orderBy(desc(coatTiles.id))
    .limit(limit);
}

/** The newest tiles of a pair that count, newest first. */
export async function countingTiles(
  db: Executor,
  pair: { clayId: number; bucketId: number },
  most: number,
): Promise<FitRow[]> {
  return db
    .select(forFit)
    .from(coatTiles)
    .leftJoin(coatTileStrikes, eq(coatTileStrikes.tileId, coatTiles.id))
    .where(
      and(
        isNull(coatTileStrikes.tileId),
        eq(coatTiles.clayId, pair.clayId),
        eq(coatTiles.bucketId, pair.bucketId),
      ),
    )
    .orderBy(desc(coatTiles.id))
    .limit(most);
}

const forFit = {
  id: coatTiles.id,
  clayId: coatTiles.clayId,
  bucketId: coatTiles.bucketId,
  seconds: coatTiles.seconds,
  specificGravity: coatTiles.specificGravity,
  solidsDensity: coatTiles.solidsDensity,
  areaCm2: coatTiles.areaCm2,
  dryCoatGrams: coatTiles.dryCoatGrams,
};

/** Tiles of the pairs that were tried last, the newest few of each, that count. */
export async function tilesOfPairs(
  db: Executor,
  { mostPairs, mostEach }: { mostPairs: number; mostEach: number },
): Promise<FitRow[]> {
  const ranked = db
    .select({
      ...forFit,
      rank: sql<number>`row_number() over (partition by ${coatTiles.clayId}, ${coatTiles.bucketId} order by ${coatTiles.id} desc)`.as(
        'rank',
      ),
      newest:
        sql<number>`max(${coatTiles.id}) over (partition by ${coatTiles.clayId}, ${coatTiles.bucketId})`.as(
          'newest',
        ),
    })
    .from(coatTiles)
    .leftJoin(coatTileStrikes, eq(coatTileStrikes.tileId, coatTiles.id))
    .where(isNull(coatTileStrikes.tileId))
    .as('ranked');
  const { rank, newest, id, clayId, bucketId, seconds, specificGravity, solidsDensity, areaCm2 } = ranked;
  return db
    .select({
      id,
      clayId,
      bucketId,
      seconds,
      specificGravity,
      solidsDensity,
      areaCm2,
      dryCoatGrams: ranked.dryCoatGrams,
    })
    .from(ranked)
    .where(sql`${rank} <= ${mostEach}`)
    .orderBy(desc(newest), desc(id))
    .limit(mostPairs * mostEach);
}

/** Pairs of clay and bucket with how many tiles of each count, most tiles first. */
export async function listPairs(
  db: Executor,
): Promise<{ clayId: number; clay: string; code: string; bucket: string; tiles: number }[]> {
  const tiles = sql<number>`count(*)::int`;
  return db
    .select({ clayId: clays.id, clay: clays.name, code: buckets.code, bucket: buckets.name, tiles })
    .from(coatTiles)
    .innerJoin(clays, eq(clays.id, coatTiles.clayId))
    .innerJoin(buckets, eq(buckets.id, coatTiles.bucketId))
    .leftJoin(coatTileStrikes, eq(coatTileStrikes.tileId, coatTiles.id))
    .where(isNull(coatTileStrikes.tileId))
    .groupBy(clays.id, clays.name, buckets.code, buckets.name)
    .orderBy(desc(tiles), clays.name, buckets.code);
}

export async function insertTile(
  tx: Executor,
  values: Omit<typeof coatTiles.$inferInsert, 'id'>,
): Promise<number> {
  const [row] = await tx.insert(coatTiles).values(values).returning({ id: coatTiles.id });
  return (row as { id: number }).id;
}

/** False where it is struck out already. */
export async function strikeTile(
  tx: Executor,
  strike: typeof coatTileStrikes.$inferInsert,
): Promise<boolean> {
  const made = await tx
    .insert(coatTileStrikes)
    .values(strike)
    .onConflictDoNothing()
    .returning({ id: coatTileStrikes.tileId });
  return made.length > 0;
}
