import { and, asc, desc, eq, getTableColumns, gt, gte, inArray, isNull, or, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { kilnFirers, kilns, loads } from '../schema.ts';

export type KilnRow = typeof kilns.$inferSelect;
export type KilnColumns = Omit<KilnRow, 'id' | 'madeAt' | 'retiredAt' | 'service' | 'serviceCause'>;

const byCode = (code: string) => sql`lower(${kilns.code}) = lower(${code})`;

/** By code; the retired ones only where asked for. */
export async function listKilns(db: Executor, { retired }: { retired: boolean }): Promise<KilnRow[]> {
  const which = retired ? undefined : isNull(kilns.retiredAt);
  return db
    .select()
    .from(kilns)
    .where(which)
    .orderBy(asc(sql`lower(${kilns.code})`));
}

export async function findKiln(db: Executor, code: string): Promise<KilnRow | null> {
  const [row] = await db.select().from(kilns).where(byCode(code));
  return row ?? null;
}

export async function kilnsByIds(db: Executor, ids: number[]): Promise<KilnRow[]> {
  return ids.length === 0 ? [] : db.select().from(kilns).where(inArray(kilns.id, ids));
}

export async function lockKiln(tx: Executor, code: string): Promise<KilnRow | null> {
  const [row] = await tx.select().from(kilns).where(byCode(code)).for('no key update');
  return row ?? null;
}

export async function insertKiln(
  tx: Executor,
  row: KilnColumns & Pick<KilnRow, 'madeAt' | 'service' | 'serviceCause'>,
): Promise<number> {
  const [made] = await tx.insert(kilns).values(row).returning({ id: kilns.id });
  return (made as { id: number }).id;
}

export async function updateKiln(
  tx: Executor,
  id: number,
  change: Partial<Omit<KilnRow, 'id'>>,
): Promise<void> {
  await tx.update(kilns).set(change).where(eq(kilns.id, id));
}

export interface Firer {
  kilnId: number;
  id: number;
  name: string;
  email: string;
  inductedAt: Instant;
}

/** Who may fire these kilns: active people whose leave has not ended. */
export async function firersOf(db: Executor, kilnIds: number[], now: Instant): Promise<Firer[]> {
  if (kilnIds.length === 0) return [];
  return db
    .select({
      kilnId: kilnFirers.kilnId,
      id: people.id,
      name: people.name,
      email: people.email,
      inductedAt: kilnFirers.inductedAt,
    })
    .from(kilnFirers)
    .innerJoin(people, eq(people.id, kilnFirers.personId))
    .where(
      and(
        inArray(kilnFirers.kilnId, kilnIds),
        eq(people.active, true),
        or(isNull(kilnFirers.endedAt), gt(kilnFirers.endedAt, now)),
      ),
    )
    .orderBy(asc(sql`lower(${people.name})`), asc(people.id));
}

/** Everybody who might be named as a firer. */
export async function activePeople(db: Executor): Promise<{ id: number; name: string; email: string }[]> {
  return db
    .select({ id: people.id, name: people.name, email: people.email })
    .from(people)
    .where(eq(people.active, true))
    .orderBy(asc(sql`lower(${people.name})`), asc(people.id));
}

/** From now on this person may fire the kiln; an earlier leave that ended is begun anew. */
export async function beginFirer(
  tx: Executor,
  row: { kilnId: number; personId: number; inductedAt: Instant; inductedBy: number },
): Promise<void> {
  const { inductedAt, inductedBy } = row;
  await tx
    .insert(kilnFirers)
    .values(row)
    .onConflictDoUpdate({
      target: [kilnFirers.kilnId, kilnFirers.personId],
      set: { inductedAt, inductedBy, endedAt: null },
    });
}

export async function endFirers(
  tx: Executor,
  kilnId: number,
  personIds: number[],
  now: Instant,
): Promise<void> {
  if (personIds.length === 0) return;
  await tx
    .update(kilnFirers)
    .set({ endedAt: now })
    .where(and(eq(kilnFirers.kilnId, kilnId), inArray(kilnFirers.personId, personIds)));
}

const firedAt = sql<Instant>`coalesce(${loads.startedAt}, ${loads.shutOffAt}, ${loads.unloadedAt}, ${loads.proposedAt})`;

/** When each firing of these kilns began that got as far as cooling, from `since` on. */
export async function firingsSince(
  db: Executor,
  kilnIds: number[],
  since: Instant,
): Promise<{ kilnId: number; at: Instant }[]> {
  return db
    .select({ kilnId: loads.kilnId, at: firedAt.mapWith(loads.proposedAt) })
    .from(loads)
    .where(
      and(
        inArray(loads.kilnId, kilnIds),
        inArray(loads.state, ['cooling', 'unloaded']),
        gte(firedAt, sql`${new Date(since).toISOString()}::timestamptz`),
      ),
    );
}

/** The newest loads of a kiln, at most so many. */
export async function newestLoads(db: Executor, kilnId: number, limit: number) {
  const { number, state, kind, cone, atmosphere, startsAt, startedAt, proposedAt, unloadedAt } =
    getTableColumns(loads);
  return db
    .select({ number, state, kind, cone, atmosphere, startsAt, startedAt, proposedAt, unloadedAt })
    .from(loads)
    .where(eq(loads.kilnId, kilnId))
    .orderBy(desc(loads.number))
    .limit(limit);
}

/** Numbers of the loads of a kiln that are approved, loaded, firing or not emptied yet. */
export async function loadsUnderWay(db: Executor, kilnId: number): Promise<number[]> {
  const rows = await db
    .select({ number: loads.number })
    .from(loads)
    .where(and(eq(loads.kilnId, kilnId), inArray(loads.state, ['approved', 'loaded', 'firing', 'cooling'])))
    .orderBy(asc(loads.number));
  return rows.map(({ number }) => number);
}
