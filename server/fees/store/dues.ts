import { and, eq, gte, inArray, isNull, lte, or, sql } from 'drizzle-orm';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { feeAccounts, feeEntries, standingCharges } from '../schema.ts';
import { selectPayers } from './ledger.ts';

export type StandingRow = typeof standingCharges.$inferSelect;

/** Standing charges, those that ended too, the newest first. */
export const allStanding = (db: Executor): Promise<StandingRow[]> =>
  db.select().from(standingCharges).orderBy(sql`${standingCharges.id} desc`);

/** Those that count in a month. */
export const standingIn = (db: Executor, period: string): Promise<StandingRow[]> =>
  db
    .select()
    .from(standingCharges)
    .where(
      and(
        lte(standingCharges.fromPeriod, period),
        or(isNull(standingCharges.untilPeriod), gte(standingCharges.untilPeriod, period)),
      ),
    )
    .orderBy(standingCharges.id);

export async function lockStanding(tx: Tx, id: number): Promise<StandingRow | null> {
  const [row] = await tx.select().from(standingCharges).where(eq(standingCharges.id, id)).for('update');
  return row ?? null;
}

export async function insertStanding(tx: Tx, row: typeof standingCharges.$inferInsert): Promise<void> {
  await tx.insert(standingCharges).values(row);
}

export async function endStanding(tx: Tx, id: number, untilPeriod: string): Promise<void> {
  await tx.update(standingCharges).set({ untilPeriod }).where(eq(standingCharges.id, id));
}

/** Accounts by their ids. */
export const payersById = async (db: Executor, ids: readonly number[]) =>
  ids.length === 0 ? [] : selectPayers(db).where(inArray(feeAccounts.id, [...ids]));

/** Every payer's account. */
export const allPayers = (db: Executor) =>
  selectPayers(db).where(eq(feeAccounts.kind, 'payer')).orderBy(feeAccounts.number);

/** Whoever may sign in. */
export const activePeople = (db: Executor) =>
  db.select({ id: people.id }).from(people).where(eq(people.active, true)).orderBy(people.id);

/** Accounts and items that were charged dues for a month. */
export const duesOf = (db: Executor, period: string) =>
  db
    .select({ accountId: feeEntries.accountId, item: feeEntries.line })
    .from(feeEntries)
    .where(and(eq(feeEntries.kind, 'dues'), eq(feeEntries.period, period)));

export async function lastDues(db: Executor, limit: number) {
  return db
    .select({
      period: feeEntries.period,
      count: sql<number>`count(*)::int`,
      totalMinor: sql<string>`sum(${feeEntries.amountMinor})::text`,
    })
    .from(feeEntries)
    .where(eq(feeEntries.kind, 'dues'))
    .groupBy(feeEntries.period)
    .orderBy(sql`${feeEntries.period} desc`)
    .limit(limit);
}
