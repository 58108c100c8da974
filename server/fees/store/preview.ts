import { and, eq, inArray, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Executor } from '../../core/database.ts';
import { pieces } from '../../ware/schema.ts';
import { feeAccounts, feeEntries } from '../schema.ts';

const columns = {
  number: pieces.number,
  form: pieces.form,
  footprint: pieces.footprint,
  widthMm: pieces.widthMm,
  depthMm: pieces.depthMm,
  heightMm: pieces.heightMm,
  kg: pieces.kg,
  wantedBy: pieces.wantedBy,
  registeredAt: pieces.registeredAt,
};

/** Every firing that was charged in a month and stands, with its piece. */
export async function firingsOf(db: Executor, period: string) {
  const strike = alias(feeEntries, 'strike');
  return db
    .select({
      ...columns,
      load: sql<number>`${feeEntries.load}`,
      amountMinor: feeEntries.amountMinor,
      payload: feeEntries.payload,
      accountId: feeEntries.accountId,
      memberClass: feeAccounts.memberClass,
    })
    .from(feeEntries)
    .innerJoin(pieces, eq(pieces.id, feeEntries.pieceId))
    .innerJoin(feeAccounts, eq(feeAccounts.id, feeEntries.accountId))
    .leftJoin(strike, eq(strike.voids, feeEntries.id))
    .where(
      and(
        eq(feeEntries.kind, 'firing'),
        eq(feeEntries.period, period),
        sql`${feeEntries.load} is not null and ${strike.id} is null`,
      ),
    )
    .orderBy(feeEntries.load, pieces.number);
}

/** Pieces that shared a load with those, by their numbers. */
export const piecesByNumber = async (db: Executor, numbers: readonly number[]) =>
  db
    .select({
      ...columns,
      payerId: pieces.payerId,
      payerGroupId: pieces.payerGroupId,
      ownerId: pieces.ownerId,
      ownerGroupId: pieces.ownerGroupId,
    })
    .from(pieces)
    .where(inArray(pieces.number, [...numbers]));

/** Months in which firings were charged, the newest first. */
export async function monthsWithFirings(db: Executor): Promise<string[]> {
  const rows = await db
    .selectDistinct({ period: feeEntries.period })
    .from(feeEntries)
    .where(eq(feeEntries.kind, 'firing'))
    .orderBy(sql`${feeEntries.period} desc`)
    .limit(12);
  return rows.map(({ period }) => period);
}

/** What of a piece its price depends on. */
export type PieceRow = Pick<typeof pieces.$inferSelect, keyof typeof columns>;
