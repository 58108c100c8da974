import { desc, eq, getTableColumns, inArray } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { people, studio } from '../../core/schema.ts';
import { pieceNotes } from '../../ware/schema.ts';
import { kilns, loadEvents, loads } from '../schema.ts';

export type LoadRow = typeof loads.$inferSelect;
export type NewLoad = Omit<typeof loads.$inferInsert, 'number' | 'lastEvent'>;
type EventRow = typeof loadEvents.$inferSelect;

/** A load with the next number. Numbers have no gaps: the studio's row is locked for it. */
export async function insertLoad(tx: Executor, row: NewLoad): Promise<LoadRow> {
  await tx.select({ id: studio.id }).from(studio).for('update');
  const [last] = await tx.select({ number: loads.number }).from(loads).orderBy(desc(loads.number)).limit(1);
  const [made] = await tx
    .insert(loads)
    .values({ ...row, number: (last?.number ?? 0) + 1, lastEvent: 0 })
    .returning();
  return made as LoadRow;
}

export async function findLoad(db: Executor, number: number): Promise<LoadRow | null> {
  const [row] = await db.select().from(loads).where(eq(loads.number, number));
  return row ?? null;
}

export async function lockLoad(tx: Executor, number: number): Promise<LoadRow | null> {
  const [row] = await tx.select().from(loads).where(eq(loads.number, number)).for('no key update');
  return row ?? null;
}

export async function updateLoad(tx: Executor, id: number, change: Partial<LoadRow>): Promise<void> {
  await tx.update(loads).set(change).where(eq(loads.id, id));
}

export async function insertEvent(tx: Executor, row: typeof loadEvents.$inferInsert): Promise<void> {
  await tx.insert(loadEvents).values(row);
}

/** A load's events from the first, each with who did it and what they wrote. */
export async function eventsOf(
  db: Executor,
  loadId: number,
): Promise<(EventRow & { byName: string; note: string | null })[]> {
  return db
    .select({ ...getTableColumns(loadEvents), byName: people.name, note: pieceNotes.text })
    .from(loadEvents)
    .innerJoin(people, eq(people.id, loadEvents.by))
    .leftJoin(pieceNotes, eq(pieceNotes.id, loadEvents.noteId))
    .where(eq(loadEvents.loadId, loadId))
    .orderBy(loadEvents.number);
}

/** The events of these loads, each load's from the first, without the names and words that go with them. */
export async function ledgersOf(db: Executor, loadIds: readonly number[]): Promise<EventRow[]> {
  if (loadIds.length === 0) return [];
  return db
    .select()
    .from(loadEvents)
    .where(inArray(loadEvents.loadId, [...loadIds]))
    .orderBy(loadEvents.loadId, loadEvents.number);
}

/** The kiln's row, locked: what is decided by it and its other loads, such as which one stands in it, is decided singly. */
export async function lockKiln(tx: Executor, kilnId: number): Promise<void> {
  await tx.select({ id: kilns.id }).from(kilns).where(eq(kilns.id, kilnId)).for('no key update');
}
