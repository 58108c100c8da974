import { and, eq, gte, inArray, ne } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import type { Role } from '../../core/policy.ts';
import { people, reminders, studio } from '../../core/schema.ts';
import type { UnitSystem } from '../../core/units.ts';

export interface StaffRow {
  id: number;
  name: string;
  email: string;
  role: Role;
  units: UnitSystem | null;
}

/** Technicians and managers who are here. */
export const activeStaff = (db: Executor): Promise<StaffRow[]> =>
  db
    .select({ id: people.id, name: people.name, email: people.email, role: people.role, units: people.units })
    .from(people)
    .where(and(eq(people.active, true), ne(people.role, 'member')))
    .orderBy(people.id);

/** The studio's clock, units and time of the day's list; null before it is set up. */
export async function dayOf(
  db: Executor,
): Promise<{ digestAt: number; timeZone: string; units: UnitSystem } | null> {
  const [row] = await db
    .select({ digestAt: studio.digestAt, timeZone: studio.timeZone, units: studio.units })
    .from(studio);
  return row ?? null;
}

/** What each of these people was reminded of since then. */
export async function knownSince(
  db: Executor,
  personIds: readonly number[],
  since: Instant,
): Promise<Map<number, Set<string>>> {
  const known = new Map<number, Set<string>>();
  if (personIds.length === 0) return known;
  const rows = await db
    .select({ personId: reminders.personId, key: reminders.key })
    .from(reminders)
    .where(and(inArray(reminders.personId, [...personIds]), gte(reminders.at, since)));
  for (const { personId, key } of rows) known.set(personId, (known.get(personId) ?? new Set()).add(key));
  return known;
}

/** Keeps what a person is told of now; answers whether any of it was not kept yet. */
export async function keep(tx: Tx, personId: number, keys: readonly string[], at: Instant): Promise<boolean> {
  const rows = await tx
    .insert(reminders)
    .values(keys.map((key) => ({ personId, key, at })))
    .onConflictDoNothing()
    .returning({ key: reminders.key });
  return rows.length > 0;
}
