import { aliasedTable, and, asc, desc, eq, isNull, lt, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import type { Role } from '../../core/policy.ts';
import { people, studio } from '../../core/schema.ts';
import { statement } from '../../core/statement.ts';
import { inductions, safetyNotes, safetySettings } from '../schema.ts';
import type { Verb } from '../settings.ts';

const strikes = aliasedTable(inductions, 'strikes');

/** Neither a void nor voided. */
const stands = (row: typeof inductions) =>
  and(
    isNull(row.voids),
    sql`not exists (select from ${inductions} as "struck" where "struck"."voids" = ${row.id})`,
  );

const newestOf = (verb: string) =>
  sql<string | null>`(select max(${inductions.givenOn}) from ${inductions}
    where ${inductions.personId} = ${sql.placeholder('personId')}
      and ${inductions.verb} = ${sql.placeholder(verb)} and ${stands(inductions)})`;

const findGate = statement('induction_gate', (db) =>
  db
    .select({
      timeZone: studio.timeZone,
      settings: safetySettings.value,
      own: newestOf('verb'),
      common: newestOf('common'),
    })
    .from(studio)
    .leftJoin(safetySettings, sql`true`),
);

/** All that decides whether somebody may do a thing, in one question: null before the studio is set up. */
export async function gateOf(db: Executor, personId: number, verb: Verb) {
  const [row] = await findGate(db, { personId, verb, common: 'common' satisfies Verb });
  return row ?? null;
}

export interface PersonRow {
  id: number;
  name: string;
  email: string;
  role: Role;
}

/** Everybody who is here, by name. */
export async function activePeople(db: Executor): Promise<PersonRow[]> {
  return db
    .select({ id: people.id, name: people.name, email: people.email, role: people.role })
    .from(people)
    .where(eq(people.active, true))
    .orderBy(asc(sql`lower(${people.name})`), asc(people.id));
}

export interface NewestRow {
  personId: number;
  verb: Verb;
  givenOn: string;
  by: string;
}

/** The newest induction that stands, by person and verb. */
export async function newestInductions(db: Executor, personId: number | null = null): Promise<NewestRow[]> {
  return db
    .selectDistinctOn([inductions.personId, inductions.verb], {
      personId: inductions.personId,
      verb: sql<Verb>`${inductions.verb}`,
      givenOn: inductions.givenOn,
      by: people.name,
    })
    .from(inductions)
    .innerJoin(people, eq(people.id, inductions.by))
    .where(and(stands(inductions), personId === null ? undefined : eq(inductions.personId, personId)))
    .orderBy(inductions.personId, inductions.verb, desc(inductions.givenOn), desc(inductions.id));
}

const person = aliasedTable(people, 'person');
const giver = aliasedTable(people, 'giver');
const striker = aliasedTable(people, 'striker');

const listed = (db: Executor) =>
  db
    .select({
      id: inductions.id,
      person: person.name,
      verb: sql<Verb>`${inductions.verb}`,
      givenOn: inductions.givenOn,
      by: giver.name,
      struckBy: striker.name,
      reason: safetyNotes.text,
    })
    .from(inductions)
    .innerJoin(person, eq(person.id, inductions.personId))
    .innerJoin(giver, eq(giver.id, inductions.by))
    .leftJoin(strikes, eq(strikes.voids, inductions.id))
    .leftJoin(striker, eq(striker.id, strikes.by))
    .leftJoin(safetyNotes, eq(safetyNotes.id, strikes.noteId));

export interface ListedInduction {
  id: number;
  person: string;
  verb: Verb;
  givenOn: string;
  by: string;
  /** Who struck it out, and why; null while it stands. */
  struckBy: string | null;
  reason: string | null;
}

/** As they were written, the latest first: struck out ones too, with why. */
export async function listInductions(
  db: Executor,
  { before, limit, personId }: { before: number | null; limit: number; personId: number | null },
): Promise<ListedInduction[]> {
  return listed(db)
    .where(
      and(
        isNull(inductions.voids),
        before === null ? undefined : lt(inductions.id, before),
        personId === null ? undefined : eq(inductions.personId, personId),
      ),
    )
    .orderBy(desc(inductions.id))
    .limit(limit);
}

export async function findInduction(db: Executor, id: number): Promise<ListedInduction | null> {
  const [row] = await listed(db).where(and(isNull(inductions.voids), eq(inductions.id, id)));
  return row ?? null;
}

export async function insertInductions(
  tx: Tx,
  rows: Pick<typeof inductions.$inferInsert, 'personId' | 'verb' | 'givenOn' | 'by' | 'at'>[],
): Promise<void> {
  await tx.insert(inductions).values(rows);
}

/** A row that strikes out another; a second one for the same row breaks its unique index. */
export async function insertVoid(
  tx: Tx,
  { id, by, at, noteId }: { id: number; by: number; at: Instant; noteId: number },
): Promise<void> {
  const [row] = await tx.select().from(inductions).where(eq(inductions.id, id));
  if (!row) return;
  const { personId, verb, givenOn } = row;
  await tx.insert(inductions).values({ personId, verb, givenOn, by, at, voids: id, noteId });
}
