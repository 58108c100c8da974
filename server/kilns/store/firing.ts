import { and, asc, desc, eq, inArray, ne } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { loadEvents, loads } from '../schema.ts';

/** The load that a kiln holds from its start until it is emptied, other than this one; null when it is free. */
export async function firingIn(
  db: Executor,
  kilnId: number,
  except: number,
): Promise<{ number: number; state: string } | null> {
  const [row] = await db
    .select({ number: loads.number, state: loads.state })
    .from(loads)
    .where(
      and(eq(loads.kilnId, kilnId), inArray(loads.state, ['firing', 'cooling']), ne(loads.number, except)),
    )
    .limit(1);
  return row ?? null;
}

const columns = {
  loadId: loadEvents.loadId,
  number: loadEvents.number,
  kind: loadEvents.kind,
  happenedAt: loadEvents.happenedAt,
  voids: loadEvents.voids,
  payload: loadEvents.payload,
};

/** The newest emptied loads of a kiln, newest first, each with its wanted cone and its plan. */
export async function emptiedLoads(db: Executor, kilnId: number, limit: number) {
  return db
    .select({
      id: loads.id,
      number: loads.number,
      cone: loads.cone,
      plan: loads.plan,
      startedAt: loads.startedAt,
    })
    .from(loads)
    .where(and(eq(loads.kilnId, kilnId), eq(loads.state, 'unloaded')))
    .orderBy(desc(loads.startedAt), desc(loads.number))
    .limit(limit);
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
