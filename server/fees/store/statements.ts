import { and, asc, desc, eq, inArray, lt, lte, sql } from 'drizzle-orm';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { feeAccounts, feeClosings, feeEntries, feeNotes, feePostings, tariffs } from '../schema.ts';
import type { Part, StoredTotals } from '../statement.ts';

const isPayer = eq(feeAccounts.kind, 'payer');

/** What an account stood at when a month began: by the month that entries stand in, whatever day they were written. */
export async function openingOf(db: Executor, accountId: number, period: string): Promise<bigint> {
  const [row] = await db
    .select({ sum: sql<string>`coalesce(sum(${feePostings.amountMinor}), 0)` })
    .from(feePostings)
    .where(and(eq(feePostings.accountId, accountId), lt(feePostings.period, period)));
  return BigInt(row?.sum ?? 0);
}

/** What an account moved by in each month that has entries of it, oldest first. */
export async function movedByMonth(db: Executor, accountId: number) {
  const rows = await db
    .select({
      period: feeEntries.period,
      entries: sql<number>`count(*)::int`,
      sum: sql<string>`sum(${feeEntries.amountMinor})`,
    })
    .from(feeEntries)
    .where(eq(feeEntries.accountId, accountId))
    .groupBy(feeEntries.period)
    .orderBy(asc(feeEntries.period));
  return rows.map(({ period, entries, sum }) => ({ period, entries, movedMinor: BigInt(sum) }));
}

/** Payers who have entries in a month or a balance at its end, by account number. */
export async function payersInMonth(db: Executor, period: string) {
  const rows = await db
    .select({
      accountId: feeAccounts.id,
      number: sql<number>`${feeAccounts.number}`,
      closing: sql<string>`sum(${feeEntries.amountMinor})`,
      entries: sql<number>`(count(*) filter (where ${feeEntries.period} = ${period}))::int`,
    })
    .from(feeAccounts)
    // An entry's amount is its payer's side: the database checks it, and there are fewer of them.
    .innerJoin(feeEntries, eq(feeEntries.accountId, feeAccounts.id))
    .where(and(isPayer, lte(feeEntries.period, period)))
    .groupBy(feeAccounts.id)
    .orderBy(asc(feeAccounts.number));
  return rows
    .map(({ closing, ...row }) => ({ ...row, closingMinor: BigInt(closing) }))
    .filter(({ closingMinor, entries }) => closingMinor !== 0n || entries > 0);
}

/** In the words of `partOf`. */
const part = sql<Part>`case when ${feeEntries.payload} ->> 'against' like 'payment:%' then 'payments'
  when ${feeEntries.payload} ->> 'against' like 'relief:%' then 'credits'
  else 'charges' end`;

/** What every month moved all payers' accounts by, part by part; one month, or all of them. */
export async function movedByPart(db: Executor, period?: string) {
  const rows = await db
    .select({
      period: feeEntries.period,
      part,
      entries: sql<number>`count(*)::int`,
      sum: sql<string>`sum(${feeEntries.amountMinor})`,
    })
    .from(feeEntries)
    .where(period === undefined ? undefined : eq(feeEntries.period, period))
    // By their places: the part is an expression with parameters of its own.
    .groupBy(sql`1, 2`)
    .orderBy(asc(feeEntries.period));
  return rows.map((row) => ({ ...row, sum: BigInt(row.sum) }));
}

/** What a month moved on the studio's own accounts, and what payers stood at when it began. */
export async function movedByAccount(db: Executor, period: string) {
  const name = sql<string>`${feeAccounts.kind} || ':' || ${feeAccounts.key}`;
  const [accounts, [opening]] = await Promise.all([
    db
      .select({ name, sum: sql<string>`sum(${feePostings.amountMinor})` })
      .from(feePostings)
      .innerJoin(feeAccounts, eq(feeAccounts.id, feePostings.accountId))
      .where(and(eq(feePostings.period, period), sql`${feeAccounts.kind} <> 'payer'`))
      .groupBy(feeAccounts.kind, feeAccounts.key)
      .orderBy(asc(feeAccounts.kind), asc(feeAccounts.key)),
    db
      .select({ sum: sql<string>`coalesce(sum(${feePostings.amountMinor}), 0)` })
      .from(feePostings)
      .innerJoin(feeAccounts, and(eq(feeAccounts.id, feePostings.accountId), isPayer))
      .where(lt(feePostings.period, period)),
  ]);
  return {
    accounts: Object.fromEntries(accounts.map(({ name, sum }) => [name, BigInt(sum)])),
    openingMinor: BigInt(opening?.sum ?? 0),
  };
}

/** The first month that has entries; null before there is any. */
export async function firstMonth(db: Executor): Promise<string | null> {
  const [row] = await db
    .select({ period: feeEntries.period })
    .from(feeEntries)
    .orderBy(asc(feeEntries.period))
    .limit(1);
  return row?.period ?? null;
}

/** Closings and openings of a month, or of all, newest first. */
export async function closings(db: Executor, period?: string) {
  const rows = await db
    .select({
      id: feeClosings.id,
      period: feeClosings.period,
      act: feeClosings.act,
      at: feeClosings.at,
      by: people.name,
      note: feeNotes.text,
      totals: feeClosings.totals,
    })
    .from(feeClosings)
    .innerJoin(people, eq(people.id, feeClosings.by))
    .leftJoin(feeNotes, eq(feeNotes.id, feeClosings.noteId))
    .where(period === undefined ? undefined : eq(feeClosings.period, period))
    .orderBy(desc(feeClosings.id));
  return rows.map((row) => ({ ...row, totals: row.totals as StoredTotals }));
}

export type ClosingRow = Awaited<ReturnType<typeof closings>>[number];

export async function insertClosing(tx: Tx, row: typeof feeClosings.$inferInsert): Promise<void> {
  await tx.insert(feeClosings).values(row);
}

/** The tax rates of these price lists, decimal texts; a list without tax is left out. */
export async function taxPercents(db: Executor, tariffIds: readonly number[]): Promise<Map<number, string>> {
  if (tariffIds.length === 0) return new Map();
  const rows = await db
    .select({ id: tariffs.id, percent: sql<string | null>`${tariffs.value} #>> '{tax,percent}'` })
    .from(tariffs)
    .where(inArray(tariffs.id, [...tariffIds]));
  return new Map(rows.flatMap(({ id, percent }) => (percent === null ? [] : [[id, percent] as const])));
}

/** When and where entries stand that others correct. */
export async function entriesNamed(db: Executor, numbers: readonly number[]) {
  if (numbers.length === 0) return [];
  return db
    .select({ number: feeEntries.number, period: feeEntries.period })
    .from(feeEntries)
    .where(inArray(feeEntries.number, [...numbers]));
}

/**
 * Two who remind at once come one after the other, and the second finds everybody reminded. Not by the books: whoever
 * takes a payment meanwhile need not wait.
 */
export async function lockReminders(tx: Tx): Promise<void> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtext('fees.remind'))`);
}
