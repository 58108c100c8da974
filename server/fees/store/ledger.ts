import { and, eq, inArray, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { groups } from '../../ware/schema.ts';
import { feeAccounts, feeBooks, feeEntries, feeNotes, feePostings } from '../schema.ts';

export type Books = Omit<typeof feeBooks.$inferSelect, 'id'>;

/** The books, locked until the transaction ends: whoever writes into them comes one after the other. */
export async function lockBooks(tx: Tx): Promise<Books> {
  await tx.insert(feeBooks).values({}).onConflictDoNothing();
  const [row] = await tx.select().from(feeBooks).for('update');
  if (!row) throw new Error('The books have just been opened.');
  return row;
}

/** The last month that is closed; null for none. */
export async function closedThrough(db: Executor): Promise<string | null> {
  const [row] = await db.select({ closedThrough: feeBooks.closedThrough }).from(feeBooks);
  return row?.closedThrough ?? null;
}

export async function updateBooks(tx: Tx, values: Partial<Books>): Promise<void> {
  await tx.update(feeBooks).set(values);
}

const accountColumns = {
  id: feeAccounts.id,
  number: sql<number>`${feeAccounts.number}`,
  personId: feeAccounts.personId,
  groupId: feeAccounts.groupId,
  memberClass: feeAccounts.memberClass,
  name: sql<string>`coalesce(${people.name}, ${groups.name})`,
};

export const selectPayers = (db: Executor) =>
  db
    .select(accountColumns)
    .from(feeAccounts)
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .$dynamic();

export type PayerRow = Awaited<ReturnType<typeof selectPayers>>[number];

export async function payersOf(
  db: Executor,
  holders: { personIds: number[]; groupIds: number[] },
): Promise<PayerRow[]> {
  const { personIds, groupIds } = holders;
  return selectPayers(db).where(
    sql`${inArray(feeAccounts.personId, personIds)} or ${inArray(feeAccounts.groupId, groupIds)}`,
  );
}

export async function insertPayer(
  tx: Tx,
  row: { number: number; personId: number | null; groupId: number | null; madeAt: Instant },
): Promise<void> {
  await tx.insert(feeAccounts).values({ kind: 'payer', ...row });
}

/** The ids of the studio's own accounts by 'income:firing' and the like. */
export async function ownAccounts(db: Executor): Promise<Map<string, number>> {
  const rows = await db
    .select({ id: feeAccounts.id, kind: feeAccounts.kind, key: feeAccounts.key })
    .from(feeAccounts)
    .where(sql`${feeAccounts.kind} <> 'payer'`);
  return new Map(rows.map(({ id, kind, key }) => [`${kind}:${key}`, id]));
}

export async function insertOwnAccounts(tx: Tx, names: readonly string[], madeAt: Instant): Promise<void> {
  const rows = names.map((name) => {
    const [kind, key] = name.split(':') as [typeof feeAccounts.$inferInsert.kind, string];
    return { kind, key, madeAt };
  });
  if (rows.length > 0) await tx.insert(feeAccounts).values(rows);
}

export type NewEntryRow = typeof feeEntries.$inferInsert;

/** The ids of the rows, in their order. */
export async function insertEntries(tx: Tx, rows: NewEntryRow[]): Promise<number[]> {
  if (rows.length === 0) return [];
  const made = await tx
    .insert(feeEntries)
    .values(rows)
    .returning({ id: feeEntries.id, number: feeEntries.number });
  const byNumber = new Map(made.map(({ id, number }) => [number, id]));
  return rows.map(({ number }) => byNumber.get(number) as number);
}

export async function insertPostings(tx: Tx, rows: (typeof feePostings.$inferInsert)[]): Promise<void> {
  if (rows.length > 0) await tx.insert(feePostings).values(rows);
}

export async function insertNote(tx: Tx, words: string | undefined): Promise<number | null> {
  if (words === undefined) return null;
  const [row] = await tx.insert(feeNotes).values({ text: words }).returning({ id: feeNotes.id });
  return row?.id ?? null;
}

export type EntryRow = typeof feeEntries.$inferSelect;

export async function entryByNumber(db: Executor, number: number): Promise<EntryRow | null> {
  const [row] = await db.select().from(feeEntries).where(eq(feeEntries.number, number));
  return row ?? null;
}

/** The sides of these entries. */
export async function postingsOf(db: Executor, entryIds: number[]) {
  return db
    .select({
      entryId: feePostings.entryId,
      accountId: feePostings.accountId,
      kind: feeAccounts.kind,
      key: feeAccounts.key,
      amountMinor: feePostings.amountMinor,
    })
    .from(feePostings)
    .innerJoin(feeAccounts, and(eq(feeAccounts.id, feePostings.accountId)))
    .where(inArray(feePostings.entryId, entryIds));
}
