import { and, asc, eq, sql } from 'drizzle-orm';
import { databaseError, type Executor, type Tx } from '../../core/database.ts';
import { Conflict } from '../../core/errors.ts';
import { people, secondFactors } from '../../core/schema.ts';

export type Person = typeof people.$inferSelect;

export async function insertPerson(
  tx: Tx,
  values: Pick<Person, 'name' | 'email' | 'role' | 'passwordHash' | 'joinedAt'>,
): Promise<number> {
  try {
    const [row] = await tx.insert(people).values(values).returning({ id: people.id });
    return (row as { id: number }).id;
  } catch (error) {
    if (databaseError(error)?.constraint === 'people_email')
      throw new Conflict('Somebody with this e-mail address is here already.');
    throw error;
  }
}

export async function findPerson(db: Executor, email: string): Promise<Person | null> {
  const [row] = await db.select().from(people).where(eq(people.email, email));
  return row ?? null;
}

/** The person with their row locked until the end of the transaction. */
export async function lockPerson(tx: Tx, who: { id: number } | { email: string }): Promise<Person | null> {
  const [row] = await tx
    .select()
    .from(people)
    .where('id' in who ? eq(people.id, who.id) : eq(people.email, who.email))
    .for('update');
  return row ?? null;
}

/** The ids of all active managers, who cannot change until the end of the transaction. */
export async function lockManagers(tx: Tx): Promise<number[]> {
  const rows = await tx
    .select({ id: people.id })
    .from(people)
    .where(and(eq(people.role, 'manager'), eq(people.active, true)))
    .orderBy(asc(people.id))
    .for('update');
  return rows.map(({ id }) => id);
}

export type ListedPerson = Omit<
  Person,
  'passwordHash' | 'pinHash' | 'cardHash' | 'quietFrom' | 'quietUntil'
> & { hasFactor: boolean };

export async function allPeople(db: Executor): Promise<ListedPerson[]> {
  const { id, name, email, role, units, active, joinedAt } = people;
  const hasFactor = sql<boolean>`${secondFactors.confirmedAt} is not null`;
  return db
    .select({ id, name, email, role, units, active, joinedAt, hasFactor })
    .from(people)
    .leftJoin(secondFactors, eq(secondFactors.personId, people.id));
}

export async function updatePerson(
  tx: Tx,
  id: number,
  change: Partial<
    Pick<Person, 'name' | 'units' | 'role' | 'active' | 'passwordHash' | 'pinHash' | 'cardHash'>
  >,
): Promise<void> {
  await tx.update(people).set(change).where(eq(people.id, id));
}

export type Nameable = Pick<Person, 'id' | 'name' | 'email' | 'role' | 'joinedAt' | 'pinHash'>;

const nameable = (db: Executor) => {
  const { id, name, email, role, joinedAt, pinHash } = people;
  return db.select({ id, name, email, role, joinedAt, pinHash }).from(people);
};

export async function activePeople(db: Executor): Promise<Nameable[]> {
  return nameable(db).where(eq(people.active, true));
}

export async function findByCard(db: Executor, hash: string): Promise<Nameable | null> {
  const [row] = await nameable(db).where(and(eq(people.cardHash, hash), eq(people.active, true)));
  return row ?? null;
}
