import { and, eq, getTableColumns, inArray, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { groups, pieces } from '../../ware/schema.ts';
import { feeAccounts, feeEntries, feeQuotes, tariffs } from '../schema.ts';
import type { EntryRow } from './ledger.ts';

/** A charge for a firing, or what was given back of one, with the entry that struck it out. */
export interface ChargeRow extends EntryRow {
  struckBy: number | null;
  tariffNumber: number | null;
  pieceNumber: number | null;
  accountNumber: number;
  accountName: string;
}

const selectCharges = (db: Executor) => {
  const strike = alias(feeEntries, 'strike');
  return db
    .select({
      ...getTableColumns(feeEntries),
      struckBy: strike.number,
      tariffNumber: tariffs.number,
      pieceNumber: pieces.number,
      accountNumber: sql<number>`${feeAccounts.number}`,
      accountName: sql<string>`coalesce(${people.name}, ${groups.name})`,
    })
    .from(feeEntries)
    .innerJoin(feeAccounts, eq(feeAccounts.id, feeEntries.accountId))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .leftJoin(strike, eq(strike.voids, feeEntries.id))
    .leftJoin(tariffs, eq(tariffs.id, feeEntries.tariffId))
    .leftJoin(pieces, eq(pieces.id, feeEntries.pieceId))
    .orderBy(feeEntries.number)
    .$dynamic();
};

/** Every firing that was charged of a load, struck out or not. */
export const chargesOfLoad = (db: Executor, load: number): Promise<ChargeRow[]> =>
  selectCharges(db).where(and(eq(feeEntries.kind, 'firing'), eq(feeEntries.load, load)));

/** Every firing that these pieces were charged. */
export const chargesOfPieces = async (db: Executor, pieceIds: readonly number[]): Promise<ChargeRow[]> =>
  pieceIds.length === 0
    ? []
    : selectCharges(db).where(and(eq(feeEntries.kind, 'firing'), inArray(feeEntries.pieceId, [...pieceIds])));

/** What was given back of these charges and still stands. */
export async function creditsOf(db: Executor, chargeIds: readonly number[]): Promise<ChargeRow[]> {
  if (chargeIds.length === 0) return [];
  const rows = await selectCharges(db).where(
    and(inArray(feeEntries.kind, ['loss-credit', 'credit']), inArray(feeEntries.about, [...chargeIds])),
  );
  return rows.filter(({ struckBy }) => struckBy === null);
}

export async function insertQuotes(db: Executor, rows: (typeof feeQuotes.$inferInsert)[]): Promise<void> {
  if (rows.length > 0) await db.insert(feeQuotes).values(rows);
}

/** What a piece was said to cost, newest first, with the number of the price list. */
export async function quotesOf(db: Executor, pieceId: number) {
  return db
    .select({ ...getTableColumns(feeQuotes), tariffNumber: tariffs.number })
    .from(feeQuotes)
    .innerJoin(tariffs, eq(tariffs.id, feeQuotes.tariffId))
    .where(eq(feeQuotes.pieceId, pieceId))
    .orderBy(sql`${feeQuotes.id} desc`);
}
