import { and, asc, between, eq, gt, lte, type SQL, sql } from 'drizzle-orm';
import { alias, type PgColumn } from 'drizzle-orm/pg-core';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { kilns } from '../../kilns/schema.ts';
import { groups, pieces } from '../../ware/schema.ts';
import { feeAccounts, feeBooks, feeEntries, feeNotes, feePostings, tariffs } from '../schema.ts';

/** Entries of these days, or of the months that these days lie in, up to a number of the ledger. */
export interface Span {
  from: string;
  to: string;
  by: 'day' | 'month';
  upTo: number;
}

type Dated = Record<'day' | 'period' | 'number', PgColumn>;

const within = (entry: Dated, { from, to, by, upTo }: Span): SQL | undefined =>
  and(
    by === 'day' ? between(entry.day, from, to) : between(entry.period, from.slice(0, 7), to.slice(0, 7)),
    lte(entry.number, upTo),
  );

/** The number of the newest entry. Numbers have no gaps and later entries only greater ones. */
export async function lastEntry(db: Executor): Promise<number> {
  const [row] = await db.select({ last: feeBooks.lastEntry }).from(feeBooks);
  return row?.last ?? 0;
}

/** The least and greatest number of the span; null where nothing lies in it. */
export async function bounds(db: Executor, span: Span): Promise<{ first: number; last: number } | null> {
  const [row] = await db
    .select({
      first: sql<number | null>`min(${feeEntries.number})`,
      last: sql<number | null>`max(${feeEntries.number})`,
    })
    .from(feeEntries)
    .where(within(feeEntries, span));
  return row?.first == null || row.last == null ? null : { first: row.first, last: row.last };
}

// The limit stands around the days' condition, so that each part is found by number, whatever the planner thinks.
const part = (db: Executor, after: number, size: number) =>
  db
    .select()
    .from(feeEntries)
    .where(and(gt(feeEntries.number, after), lte(feeEntries.number, after + size)))
    .orderBy(asc(feeEntries.number))
    .limit(size)
    .as('e');

const numberOf = (id: unknown) =>
  sql<number | null>`(select o.number from ${feeEntries} o where o.id = ${id})`;
const nameOf = sql<string>`coalesce(${people.name}, ${groups.name})`;

/** Those of the next `size` numbers that lie in the span, by number. */
export async function chargeRows(db: Executor, span: Span, after: number, size: number) {
  const e = part(db, after, size);
  return db
    .select({
      number: e.number,
      day: e.day,
      period: e.period,
      kind: e.kind,
      account: feeAccounts.number,
      name: nameOf,
      memberClass: feeAccounts.memberClass,
      load: e.load,
      kiln: kilns.code,
      piece: pieces.number,
      form: pieces.form,
      firingKind: e.firingKind,
      cone: e.cone,
      widthMm: pieces.widthMm,
      depthMm: pieces.depthMm,
      heightMm: pieces.heightMm,
      cm3: sql<number | null>`case when ${e.kind} = 'firing' then ${e.cm3}
        else (select -o.cm3 from ${feeEntries} o where o.id = ${e.voids} and o.kind = 'firing') end::float8`,
      tariff: tariffs.number,
      line: e.line,
      netMinor: e.netMinor,
      taxMinor: e.taxMinor,
      amountMinor: e.amountMinor,
      corrects: numberOf(sql`coalesce(${e.voids}, ${e.about})`),
      struckOutBy: sql<number | null>`(select v.number from ${feeEntries} v
        where v.voids = ${e.id} and v.number <= ${span.upTo})`,
      note: feeNotes.text,
      payload: e.payload,
    })
    .from(e)
    .innerJoin(feeAccounts, eq(feeAccounts.id, e.accountId))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .leftJoin(kilns, eq(kilns.id, e.kilnId))
    .leftJoin(pieces, eq(pieces.id, e.pieceId))
    .leftJoin(tariffs, eq(tariffs.id, e.tariffId))
    .leftJoin(feeNotes, eq(feeNotes.id, e.noteId))
    .where(within(e, span))
    .orderBy(asc(e.number));
}

/** The sides of those of the next `size` numbers that lie in the span, entry by entry. */
export async function postingRows(db: Executor, span: Span, after: number, size: number) {
  const e = part(db, after, size);
  return db
    .select({
      number: e.number,
      day: e.day,
      period: e.period,
      accountKind: feeAccounts.kind,
      key: feeAccounts.key,
      account: feeAccounts.number,
      name: sql<string | null>`coalesce(${people.name}, ${groups.name})`,
      amountMinor: feePostings.amountMinor,
      kind: e.kind,
      firingKind: e.firingKind,
      cone: e.cone,
      load: e.load,
      piece: pieces.number,
      form: pieces.form,
      voids: numberOf(e.voids),
      about: numberOf(e.about),
      payload: e.payload,
    })
    .from(e)
    .innerJoin(feePostings, eq(feePostings.entryId, e.id))
    .innerJoin(feeAccounts, eq(feeAccounts.id, feePostings.accountId))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .leftJoin(pieces, eq(pieces.id, e.pieceId))
    .where(within(e, span))
    .orderBy(asc(e.number), asc(feePostings.position));
}

const struck = alias(feeEntries, 'struck');
const isPayment = sql`${feeEntries.payload}->>'against' like 'payment:%'`;
const total = (amount: unknown, where?: SQL) =>
  sql<bigint>`coalesce(sum(${amount})${where ? sql` filter (where ${where})` : sql``}, 0)`.mapWith(BigInt);

const sums = {
  entries: sql<number>`count(*)::int`,
  /** Without those struck out. */
  firings: sql<number>`(count(*) filter (where ${feeEntries.kind} = 'firing')
    - count(*) filter (where ${struck.kind} = 'firing'))::int`,
  cm3: sql<number>`(coalesce(sum(${feeEntries.cm3}) filter (where ${feeEntries.kind} = 'firing'), 0)
    - coalesce(sum(${struck.cm3}) filter (where ${struck.kind} = 'firing'), 0))::float8`,
  netMinor: total(feeEntries.netMinor, sql`not ${isPayment}`),
  taxMinor: total(feeEntries.taxMinor, sql`not ${isPayment}`),
  paidMinor: total(feeEntries.amountMinor, isPayment),
};

export interface Sums {
  entries: number;
  firings: number;
  cm3: number;
  netMinor: bigint;
  taxMinor: bigint;
  /** Below zero: received. */
  paidMinor: bigint;
}

export interface SumRow extends Sums {
  code: string | null;
  name: string | null;
}

export async function sumsByMember(db: Executor, span: Span): Promise<SumRow[]> {
  return db
    .select({ code: sql<string>`${feeAccounts.number}::text`, name: nameOf, ...sums })
    .from(feeEntries)
    .leftJoin(struck, eq(struck.id, feeEntries.voids))
    .innerJoin(feeAccounts, eq(feeAccounts.id, feeEntries.accountId))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .where(within(feeEntries, span))
    .groupBy(feeAccounts.number, people.name, groups.name)
    .orderBy(feeAccounts.number);
}

export async function sumsByKiln(db: Executor, span: Span): Promise<SumRow[]> {
  return db
    .select({ code: kilns.code, name: kilns.name, ...sums })
    .from(feeEntries)
    .leftJoin(struck, eq(struck.id, feeEntries.voids))
    .leftJoin(kilns, eq(kilns.id, feeEntries.kilnId))
    .where(within(feeEntries, span))
    .groupBy(kilns.code, kilns.name)
    .orderBy(kilns.code);
}

/** By line or item of a price list; whatever stands on none, by the account it is for. */
export async function sumsByLine(db: Executor, span: Span): Promise<(SumRow & { tariff: number | null })[]> {
  const code = sql<string>`coalesce(${feeEntries.line}, ${feeEntries.payload}->>'against')`;
  return db
    .select({
      tariff: tariffs.number,
      code,
      name: sql<string | null>`case when ${feeEntries.line} is null then null
        else max(${feeEntries.payload}->>'name') end`,
      ...sums,
    })
    .from(feeEntries)
    .leftJoin(struck, eq(struck.id, feeEntries.voids))
    .leftJoin(tariffs, eq(tariffs.id, feeEntries.tariffId))
    .where(within(feeEntries, span))
    .groupBy(tariffs.number, feeEntries.line, code)
    .orderBy(tariffs.number, code);
}

/** The sum of all amounts in the span, entry by entry. */
export async function entryTotal(
  db: Executor,
  span: Span,
): Promise<{ entries: number; amountMinor: bigint }> {
  const [row] = await db
    .select({ entries: sums.entries, amountMinor: total(feeEntries.amountMinor) })
    .from(feeEntries)
    .where(within(feeEntries, span));
  return row ?? { entries: 0, amountMinor: 0n };
}

/** The sides of the span's entries by kind of account, what counts up apart from what counts down. */
export async function postingTotals(db: Executor, span: Span) {
  return db
    .select({
      kind: feeAccounts.kind,
      debitMinor: total(feePostings.amountMinor, sql`${feePostings.amountMinor} > 0`),
      creditMinor: total(sql`-${feePostings.amountMinor}`, sql`${feePostings.amountMinor} < 0`),
    })
    .from(feeEntries)
    .innerJoin(feePostings, eq(feePostings.entryId, feeEntries.id))
    .innerJoin(feeAccounts, eq(feeAccounts.id, feePostings.accountId))
    .where(within(feeEntries, span))
    .groupBy(feeAccounts.kind);
}
