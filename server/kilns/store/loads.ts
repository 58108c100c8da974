import {
  and,
  asc,
  desc,
  eq,
  getTableColumns,
  gt,
  inArray,
  isNotNull,
  lt,
  min,
  ne,
  or,
  sql,
} from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import type { Atmosphere, FiringKind } from '../../ware/firing.ts';
import { pieces } from '../../ware/schema.ts';
import type { LoadState } from '../load-fold.ts';
import { loadEvents, loadPieces, loads } from '../schema.ts';
import type { LoadRow } from './load-ledger.ts';

export type LoadPieceRow = Omit<typeof loadPieces.$inferSelect, 'loadId'> & { number: number };

export interface LoadFilter {
  states?: readonly LoadState[] | undefined;
  kilnId?: number | undefined;
  /** Numbers below this one. */
  before?: number | undefined;
  limit?: number | undefined;
}

/** Newest first, without the plans: those are what is large about a load. */
export async function listLoads(db: Executor, { states, kilnId, before, limit }: LoadFilter) {
  const { problem: _, plan, wishes: __, ...columns } = getTableColumns(loads);
  return db
    .select({
      ...columns,
      use: sql<{ area: number; volume: number }>`${plan} -> 'use'`,
      pieceCount: sql<number>`(select count(*)::int from ${loadPieces} where ${loadPieces.loadId} = ${loads.id})`,
    })
    .from(loads)
    .where(
      and(
        states && inArray(loads.state, [...states]),
        kilnId === undefined ? undefined : eq(loads.kilnId, kilnId),
        before === undefined ? undefined : lt(loads.number, before),
      ),
    )
    .orderBy(desc(loads.number))
    .limit(limit ?? 1000);
}

const pieceColumns = {
  pieceId: loadPieces.pieceId,
  number: pieces.number,
  part: loadPieces.part,
  level: loadPieces.level,
  reserves: loadPieces.reserves,
  isIn: loadPieces.isIn,
};

const selectPieces = (db: Executor) =>
  db.select(pieceColumns).from(loadPieces).innerJoin(pieces, eq(pieces.id, loadPieces.pieceId));

/** The pieces of a load by their numbers. */
export async function piecesOf(db: Executor, loadId: number): Promise<LoadPieceRow[]> {
  return selectPieces(db).where(eq(loadPieces.loadId, loadId)).orderBy(asc(pieces.number));
}

/** The nearest date that a piece of each of these loads is wanted by, and since when the first of them waits, by the load's id. */
export async function timesAsked(
  db: Executor,
  loadIds: readonly number[],
): Promise<Map<number, { wantedBy: string | null; waitingSince: Instant | null }>> {
  if (loadIds.length === 0) return new Map();
  const rows = await db
    .select({
      loadId: loadPieces.loadId,
      wantedBy: min(pieces.wantedBy),
      waitingSince: min(pieces.waitingSince),
    })
    .from(loadPieces)
    .innerJoin(pieces, eq(pieces.id, loadPieces.pieceId))
    .where(inArray(loadPieces.loadId, [...loadIds]))
    .groupBy(loadPieces.loadId);
  return new Map(rows.map(({ loadId, ...times }) => [loadId, times]));
}

/** Numbers of live proposals and, for each, the pieces it would take. */
export async function proposedPieces(
  db: Executor,
): Promise<
  { load: number; kilnId: number; kind: FiringKind; cone: string; atmosphere: Atmosphere; piece: number }[]
> {
  const { kilnId, kind, cone, atmosphere } = getTableColumns(loads);
  return db
    .select({ load: loads.number, kilnId, kind, cone, atmosphere, piece: pieces.number })
    .from(loads)
    .innerJoin(loadPieces, eq(loadPieces.loadId, loads.id))
    .innerJoin(pieces, eq(pieces.id, loadPieces.pieceId))
    .where(eq(loads.state, 'proposed'));
}

/** In ascending order of pieces, as they are locked. */
export async function insertPieces(
  tx: Executor,
  loadId: number,
  rows: Omit<typeof loadPieces.$inferInsert, 'loadId'>[],
): Promise<void> {
  if (rows.length === 0) return;
  const inOrder = [...rows].sort((a, b) => a.pieceId - b.pieceId);
  await tx.insert(loadPieces).values(inOrder.map((row) => ({ loadId, ...row })));
}

export async function deletePieces(tx: Executor, loadId: number, pieceIds: number[]): Promise<void> {
  if (pieceIds.length === 0) return;
  await tx
    .delete(loadPieces)
    .where(and(eq(loadPieces.loadId, loadId), inArray(loadPieces.pieceId, pieceIds)));
}

/** Changes the rows of these pieces, or of all pieces of the load. */
export async function updatePieces(
  tx: Executor,
  loadId: number,
  change: Partial<Pick<LoadPieceRow, 'part' | 'level' | 'reserves' | 'isIn'>>,
  pieceIds?: number[],
): Promise<void> {
  if (pieceIds?.length === 0) return;
  await tx
    .update(loadPieces)
    .set(change)
    .where(and(eq(loadPieces.loadId, loadId), pieceIds && inArray(loadPieces.pieceId, pieceIds)));
}

/** The load that a kiln holds, from its first ticked level until it is emptied, other than this one; null when it is free. */
export async function standsIn(
  db: Executor,
  kilnId: number,
  except: number,
): Promise<{ number: number; state: LoadState } | null> {
  const isTicked = sql`exists (select 1 from ${loadEvents} e
    where e.load_id = ${loads.id} and e.kind = 'level-loaded' and not exists (
      select 1 from ${loadEvents} v where v.load_id = e.load_id and v.voids = e.number))`;
  const [row] = await db
    .select({ number: loads.number, state: loads.state })
    .from(loads)
    .where(
      and(
        eq(loads.kilnId, kilnId),
        ne(loads.number, except),
        or(inArray(loads.state, ['loaded', 'firing', 'cooling']), and(eq(loads.state, 'approved'), isTicked)),
      ),
    )
    .orderBy(asc(loads.number))
    .limit(1);
  return row ?? null;
}

/** Shares of the chamber's space of a kiln's emptied loads of each kind, newest first. */
export async function sharesUsed(
  db: Executor,
): Promise<{ kilnId: number; kind: FiringKind; share: number }[]> {
  return db
    .select({
      kilnId: loads.kilnId,
      kind: loads.kind,
      share: sql<number>`(${loads.plan} -> 'use' ->> 'volume')::double precision`,
    })
    .from(loads)
    .where(eq(loads.state, 'unloaded'))
    .orderBy(desc(loads.unloadedAt), desc(loads.id))
    .limit(400);
}

/** Who did the newest thing with a load. */
export async function lastBy(db: Executor, loadId: number): Promise<{ id: number; name: string } | null> {
  const [row] = await db
    .select({ id: people.id, name: people.name })
    .from(loadEvents)
    .innerJoin(people, eq(people.id, loadEvents.by))
    .where(eq(loadEvents.loadId, loadId))
    .orderBy(desc(loadEvents.number))
    .limit(1);
  return row ?? null;
}

/** Photos of a load's events by the event's number. */
export async function photosOf(db: Executor, loadId: number): Promise<Map<number, string>> {
  const rows = await db
    .select({ number: loadEvents.number, sha256: files.sha256 })
    .from(loadEvents)
    .innerJoin(files, eq(files.id, loadEvents.fileId))
    .where(eq(loadEvents.loadId, loadId));
  return new Map(rows.map(({ number, sha256 }) => [number, sha256]));
}

/** So many loads with numbers above this one, oldest first. */
export async function loadsAfter(db: Executor, number: number, limit: number): Promise<LoadRow[]> {
  return db.select().from(loads).where(gt(loads.number, number)).orderBy(asc(loads.number)).limit(limit);
}

/** The pieces of these loads, by load and by number. */
export async function piecesOfAll(
  db: Executor,
  loadIds: readonly number[],
): Promise<(LoadPieceRow & { loadId: number })[]> {
  if (loadIds.length === 0) return [];
  return db
    .select({ ...pieceColumns, loadId: loadPieces.loadId })
    .from(loadPieces)
    .innerJoin(pieces, eq(pieces.id, loadPieces.pieceId))
    .where(inArray(loadPieces.loadId, [...loadIds]))
    .orderBy(asc(loadPieces.loadId), asc(pieces.number));
}

/** Piece and load of every reservation, as the loads say and as the pieces say. */
export async function reservations(db: Executor): Promise<{ byLoads: string[]; byPieces: string[] }> {
  const [held, isIn] = await Promise.all([
    db
      .select({ piece: pieces.number, load: loads.number })
      .from(loadPieces)
      .innerJoin(loads, eq(loads.id, loadPieces.loadId))
      .innerJoin(pieces, eq(pieces.id, loadPieces.pieceId))
      .where(eq(loadPieces.reserves, true)),
    db.select({ piece: pieces.number, load: pieces.load }).from(pieces).where(isNotNull(pieces.load)),
  ]);
  const words = (rows: { piece: number; load: number | null }[]) =>
    rows.map(({ piece, load }) => `piece ${piece} in load ${load}`).sort();
  return { byLoads: words(held), byPieces: words(isIn) };
}
