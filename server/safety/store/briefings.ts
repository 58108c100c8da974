import { aliasedTable, count, desc, eq, lt, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { briefingStrikes, briefings, safetyNotes } from '../schema.ts';

const striker = aliasedTable(people, 'striker');

const columns = {
  id: briefings.id,
  number: briefings.number,
  className: briefings.className,
  heads: briefings.heads,
  hasChildren: briefings.hasChildren,
  heldOn: briefings.heldOn,
  bucketCodes: briefings.bucketCodes,
  byId: briefings.by,
  by: people.name,
  at: briefings.at,
  struckBy: striker.name,
  reason: safetyNotes.text,
};

const listed = (db: Executor) =>
  db
    .select(columns)
    .from(briefings)
    .innerJoin(people, eq(people.id, briefings.by))
    .leftJoin(briefingStrikes, eq(briefingStrikes.briefingId, briefings.id))
    .leftJoin(striker, eq(striker.id, briefingStrikes.by))
    .leftJoin(safetyNotes, eq(safetyNotes.id, briefingStrikes.noteId));

/** A briefing without the names of its class. */
export interface BriefingRow {
  id: number;
  number: number;
  className: string;
  heads: number;
  hasChildren: boolean;
  heldOn: string;
  bucketCodes: string[];
  byId: number;
  by: string;
  at: Instant;
  /** Who struck it out, and why; null while it stands. */
  struckBy: string | null;
  reason: string | null;
}

/** The latest first: struck out ones too, with why. */
export async function listBriefings(
  db: Executor,
  { before, limit }: { before: number | null; limit: number },
): Promise<BriefingRow[]> {
  return listed(db)
    .where(before === null ? undefined : lt(briefings.number, before))
    .orderBy(desc(briefings.number))
    .limit(limit);
}

export async function findBriefing(db: Executor, number: number): Promise<BriefingRow | null> {
  const [row] = await listed(db).where(eq(briefings.number, number));
  return row ?? null;
}

/** The names of a class, one a line; null for no such briefing. */
export async function rosterOf(db: Executor, number: number): Promise<string | null> {
  const [row] = await db
    .select({ text: safetyNotes.text })
    .from(briefings)
    .innerJoin(safetyNotes, eq(safetyNotes.id, briefings.rosterId))
    .where(eq(briefings.number, number));
  return row?.text ?? null;
}

/** Appends one; they take turns, so that their numbers have no gap. @returns its number */
export async function insertBriefing(
  tx: Tx,
  row: Omit<typeof briefings.$inferInsert, 'number' | 'id'>,
): Promise<number> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended('briefings', 0))`);
  const [held] = await tx.select({ held: count() }).from(briefings);
  const number = (held?.held ?? 0) + 1;
  await tx.insert(briefings).values({ ...row, number });
  return number;
}

/** Strikes one out; a second strike of the same briefing breaks the primary key. */
export async function insertStrike(tx: Tx, row: typeof briefingStrikes.$inferInsert): Promise<void> {
  await tx.insert(briefingStrikes).values(row);
}
