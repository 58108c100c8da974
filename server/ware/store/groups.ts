import { and, asc, eq, inArray, isNull, or, sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { groupPeople, groups } from '../schema.ts';

const selectGroups = (db: Executor) =>
  db
    .select({
      id: groups.id,
      kind: groups.kind,
      name: groups.name,
      contact: { id: people.id, name: people.name },
      madeAt: groups.madeAt,
      retiredAt: groups.retiredAt,
    })
    .from(groups)
    .innerJoin(people, eq(people.id, groups.contactId));

export type GroupRow = Awaited<ReturnType<typeof selectGroups>>[number];

/** Contact of it, or in it. */
const concerns = (personId: number) =>
  or(
    eq(groups.contactId, personId),
    sql`exists (select 1 from ${groupPeople}
      where ${groupPeople.groupId} = ${groups.id} and ${groupPeople.personId} = ${personId})`,
  );

/** Groups in use by name; those that concern one person, or all of them. */
export async function listGroups(db: Executor, personId: number | null): Promise<GroupRow[]> {
  return selectGroups(db)
    .where(and(isNull(groups.retiredAt), personId === null ? undefined : concerns(personId)))
    .orderBy(asc(sql`lower(${groups.name})`));
}

/** A group, retired or not, if it concerns this person; null: whomever it concerns. */
export async function findGroup(db: Executor, id: number, personId: number | null): Promise<GroupRow | null> {
  const [row] = await selectGroups(db).where(
    and(eq(groups.id, id), personId === null ? undefined : concerns(personId)),
  );
  return row ?? null;
}

/** Locks a group's row until the end of the transaction, if there is one. */
export async function lockGroup(tx: Executor, id: number): Promise<void> {
  await tx.select({ id: groups.id }).from(groups).where(eq(groups.id, id)).for('update');
}

/** Who is in these groups besides the contact, by name. */
export async function peopleIn(
  db: Executor,
  groupIds: number[],
): Promise<{ groupId: number; id: number; name: string }[]> {
  if (groupIds.length === 0) return [];
  return db
    .select({ groupId: groupPeople.groupId, id: people.id, name: people.name })
    .from(groupPeople)
    .innerJoin(people, eq(people.id, groupPeople.personId))
    .where(inArray(groupPeople.groupId, groupIds))
    .orderBy(asc(people.name), asc(people.id));
}

export async function insertGroup(tx: Executor, values: typeof groups.$inferInsert): Promise<number> {
  const [row] = await tx.insert(groups).values(values).returning({ id: groups.id });
  return (row as { id: number }).id;
}

export async function updateGroup(
  tx: Executor,
  id: number,
  values: Partial<typeof groups.$inferInsert>,
): Promise<void> {
  await tx.update(groups).set(values).where(eq(groups.id, id));
}

export async function insertGroupPerson(tx: Executor, groupId: number, personId: number): Promise<void> {
  await tx.insert(groupPeople).values({ groupId, personId });
}

/** False where the person was not in it. */
export async function deleteGroupPerson(tx: Executor, groupId: number, personId: number): Promise<boolean> {
  const gone = await tx
    .delete(groupPeople)
    .where(and(eq(groupPeople.groupId, groupId), eq(groupPeople.personId, personId)))
    .returning({ personId: groupPeople.personId });
  return gone.length > 0;
}

/** Active people with this e-mail address, or with this name whatever its case; at most two. */
export async function findPeople(db: Executor, who: string): Promise<{ id: number; name: string }[]> {
  return db
    .select({ id: people.id, name: people.name })
    .from(people)
    .where(
      and(
        eq(people.active, true),
        who.includes('@') ? eq(people.email, who.toLowerCase()) : sql`lower(${people.name}) = lower(${who})`,
      ),
    )
    .limit(2);
}

/** Names of active people, for a list to choose from. */
export async function namesOfPeople(db: Executor): Promise<string[]> {
  const rows = await db
    .selectDistinct({ name: people.name })
    .from(people)
    .where(eq(people.active, true))
    .orderBy(asc(people.name));
  return rows.map(({ name }) => name);
}
