import { and, asc, between, eq, lt, sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { kilns } from '../../kilns/schema.ts';
import { groups } from '../../ware/schema.ts';
import { feeAccounts, feeBooks, feeEntries, feePostings, tariffs } from '../schema.ts';

/** Net income from firings and what was given back for losses, by month and kiln; strike-outs count against both. */
export async function earnedByKiln(db: Executor, from: string, to: string) {
  const sumOf = (kind: string, key: string, sign: 1 | -1) =>
    sql<string>`coalesce(sum(${feePostings.amountMinor}) filter (where ${feeAccounts.kind} = ${kind}
      and ${feeAccounts.key} = ${key}), 0) * ${sql.raw(String(sign))}`;
  const rows = await db
    .select({
      period: feeEntries.period,
      kilnCode: kilns.code,
      kilnName: kilns.name,
      income: sumOf('income', 'firing', -1),
      credit: sumOf('relief', 'loss', 1),
    })
    .from(feeEntries)
    .innerJoin(feePostings, eq(feePostings.entryId, feeEntries.id))
    .innerJoin(feeAccounts, eq(feeAccounts.id, feePostings.accountId))
    .innerJoin(kilns, eq(kilns.id, feeEntries.kilnId))
    .where(between(feeEntries.period, from, to))
    .groupBy(feeEntries.period, kilns.code, kilns.name);
  return rows.map(({ income, credit, ...row }) => ({
    ...row,
    incomeMinor: BigInt(income),
    creditMinor: BigInt(credit),
  }));
}

/** What every account of the studio and all payers together moved by in these months: 'income:firing' → minor units. */
export async function movedByAccount(db: Executor, from: string, to: string) {
  const name = sql<string>`case when ${feeAccounts.kind} = 'payer' then 'payers'
    else ${feeAccounts.kind} || ':' || ${feeAccounts.key} end`;
  const rows = await db
    .select({ name, sum: sql<string>`sum(${feePostings.amountMinor})` })
    .from(feePostings)
    .innerJoin(feeAccounts, eq(feeAccounts.id, feePostings.accountId))
    .where(between(feePostings.period, from, to))
    .groupBy(name);
  return new Map(rows.map((row) => [row.name, BigInt(row.sum)]));
}

/** Payers who owe something, and how much. */
export async function debtors(db: Executor) {
  const balance = sql<string>`sum(${feePostings.amountMinor})`;
  const rows = await db
    .select({
      id: feeAccounts.id,
      number: sql<number>`${feeAccounts.number}`,
      name: sql<string>`coalesce(${people.name}, ${groups.name})`,
      balance,
    })
    .from(feePostings)
    .innerJoin(feeAccounts, and(eq(feeAccounts.id, feePostings.accountId), eq(feeAccounts.kind, 'payer')))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .groupBy(feeAccounts.id, people.name, groups.name)
    .having(sql`sum(${feePostings.amountMinor}) > 0`);
  return rows.map(({ balance: sum, ...row }) => ({ ...row, balanceMinor: BigInt(sum) }));
}

/**
 * The last month that is closed, the first month before `period` in which something was written, and whether there is
 * a price list at all: a studio that charges nothing has none.
 */
export async function booksBehind(db: Executor, period: string) {
  const [[books], lists, [first]] = await Promise.all([
    db.select({ closedThrough: feeBooks.closedThrough }).from(feeBooks),
    db.select({ id: tariffs.id }).from(tariffs).limit(1),
    db
      .select({ period: feeEntries.period })
      .from(feeEntries)
      .where(lt(feeEntries.period, period))
      .orderBy(asc(feeEntries.period))
      .limit(1),
  ]);
  return {
    closedThrough: books?.closedThrough ?? null,
    firstPeriod: first?.period ?? null,
    hasLists: lists.length > 0,
  };
}
