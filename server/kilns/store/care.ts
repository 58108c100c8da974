import { aliasedTable, and, desc, eq, getTableColumns, inArray, lt, max } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { pieceNotes } from '../../ware/schema.ts';
import { kilnCare } from '../schema.ts';

export type CareRow = typeof kilnCare.$inferSelect & {
  byName: string;
  note: string | null;
  /** The number of the entry that struck this one out. */
  voidedBy: number | null;
};

const strikes = aliasedTable(kilnCare, 'strikes');

const select = (db: Executor) =>
  db
    .select({
      ...getTableColumns(kilnCare),
      byName: people.name,
      note: pieceNotes.text,
      voidedBy: strikes.number,
    })
    .from(kilnCare)
    .innerJoin(people, eq(people.id, kilnCare.by))
    .leftJoin(pieceNotes, eq(pieceNotes.id, kilnCare.noteId))
    .leftJoin(strikes, and(eq(strikes.kilnId, kilnCare.kilnId), eq(strikes.voids, kilnCare.number)));

/** The newest entries by number, at most so many, those before `before` only. */
export async function listCare(
  db: Executor,
  kilnId: number,
  { limit, before }: { limit: number; before?: number },
): Promise<CareRow[]> {
  const which = and(
    eq(kilnCare.kilnId, kilnId),
    before === undefined ? undefined : lt(kilnCare.number, before),
  );
  return select(db).where(which).orderBy(desc(kilnCare.number)).limit(limit);
}

export async function findCare(db: Executor, kilnId: number, number: number): Promise<CareRow | null> {
  const [row] = await select(db).where(and(eq(kilnCare.kilnId, kilnId), eq(kilnCare.number, number)));
  return row ?? null;
}

/** Every entry of these kinds, the latest to happen first. */
export async function careOfKinds(db: Executor, kilnIds: number[], kinds: string[]): Promise<CareRow[]> {
  if (kilnIds.length === 0) return [];
  return select(db)
    .where(and(inArray(kilnCare.kilnId, kilnIds), inArray(kilnCare.kind, kinds)))
    .orderBy(desc(kilnCare.happenedAt), desc(kilnCare.number));
}

/** The number of the newest entry, 0 without one. Locked kiln only. */
export async function lastNumber(tx: Executor, kilnId: number): Promise<number> {
  const [row] = await tx
    .select({ last: max(kilnCare.number) })
    .from(kilnCare)
    .where(eq(kilnCare.kilnId, kilnId));
  return row?.last ?? 0;
}

export async function insertCare(tx: Executor, row: typeof kilnCare.$inferInsert): Promise<void> {
  await tx.insert(kilnCare).values(row);
}
