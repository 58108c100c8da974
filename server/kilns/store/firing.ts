import { and, asc, desc, eq, inArray, lte, sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import type { Load } from '../packing/problem.ts';
import { loadEvents, loads } from '../schema.ts';

const columns = {
  loadId: loadEvents.loadId,
  number: loadEvents.number,
  kind: loadEvents.kind,
  happenedAt: loadEvents.happenedAt,
  voids: loadEvents.voids,
  payload: loadEvents.payload,
};

/** The newest emptied loads of each of these kilns, newest first, with the cone they were fired to; no plans. */
export async function emptiedLoads(
  db: Executor,
  kilnIds: readonly number[],
  ofEach: number,
): Promise<{ id: number; kilnId: number; cone: string }[]> {
  if (kilnIds.length === 0) return [];
  const newestFirst = [desc(loads.startedAt), desc(loads.number)];
  const ranked = db
    .select({
      id: loads.id,
      kilnId: loads.kilnId,
      cone: loads.cone,
      place:
        sql<number>`row_number() over (partition by ${loads.kilnId} order by ${sql.join(newestFirst, sql`, `)})`.as(
          'place',
        ),
    })
    .from(loads)
    .where(and(inArray(loads.kilnId, [...new Set(kilnIds)]), eq(loads.state, 'unloaded')))
    .as('ranked');
  return db
    .select({ id: ranked.id, kilnId: ranked.kilnId, cone: ranked.cone })
    .from(ranked)
    .where(lte(ranked.place, ofEach))
    .orderBy(asc(ranked.kilnId), asc(ranked.place));
}

/** The levels of these loads' plans, by the load's id. */
export async function levelsOf(
  db: Executor,
  loadIds: readonly number[],
): Promise<Map<number, Load['levels']>> {
  if (loadIds.length === 0) return new Map();
  const rows = await db
    .select({ id: loads.id, plan: loads.plan })
    .from(loads)
    .where(inArray(loads.id, [...new Set(loadIds)]));
  return new Map(rows.map(({ id, plan }) => [id, plan.levels]));
}

/** Events of these kinds, and what struck any out, of several loads in the order of their numbers. */
export async function eventsOfKinds(db: Executor, loadIds: readonly number[], kinds: readonly string[]) {
  if (loadIds.length === 0) return [];
  return db
    .select(columns)
    .from(loadEvents)
    .where(and(inArray(loadEvents.loadId, [...loadIds]), inArray(loadEvents.kind, [...kinds, 'void'])))
    .orderBy(asc(loadEvents.loadId), asc(loadEvents.number));
}
