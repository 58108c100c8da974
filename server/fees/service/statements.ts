import type { Read } from '../../core/actor.ts';
import { NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { groupBy } from '../../ware/group.ts';
import { dueOn } from '../allocation.ts';
import { monthAfter } from '../ledger.ts';
import { correctsOf, type Statement, statementFrom } from '../statement.ts';
import { listPayers } from '../store/accounts.ts';
import { closedThrough } from '../store/ledger.ts';
import * as store from '../store/statements.ts';
import type { Entry } from '../words.ts';
import { findAccount } from './accounts.ts';
import { listEntries } from './entries.ts';
import type { Payer } from './ledger.ts';
import { feeSettings } from './settings.ts';

/** A payer's month as it is shown and printed. */
export interface StatementPage {
  /** Of the account and the month: 'S12-2026-03'. */
  code: string;
  account: Payer;
  period: string;
  /** False: it may still change. */
  isClosed: boolean;
  statement: Statement<Entry>;
  /** The months that corrected entries stand in, by their numbers; those of this month are left out. */
  earlier: ReadonlyMap<number, string>;
  /** Last day to pay, 'YYYY-MM-DD'. */
  dueOn: string;
  /** How to pay, as the studio words it. */
  payWords: string;
}

const NO_MONTH = 'There is no statement for this month.';

/**
 * The statement of an account for a month, 'YYYY-MM'.
 *
 * @throws NotFound for an account that does not concern whoever asks, and for a month that has not begun
 */
export async function statementOf(read: Read, accountNumber: number, period: string): Promise<StatementPage> {
  mustBeAllowed(read.actor, 'fees.own');
  const account = await findAccount(read, accountNumber);
  const [moved, today] = await Promise.all([store.movedByMonth(read.tx, account.id), studioDay(read)]);
  const first = moved[0]?.period;
  const last = moved.at(-1)?.period ?? '';
  const isKnown = first !== undefined && period >= first && period <= latest(last, today.slice(0, 7));
  if (!isKnown) throw new NotFound(NO_MONTH);
  return statementOfAccount(read, account, period);
}

const latest = (a: string, b: string): string => (a > b ? a : b);

async function statementOfAccount(read: Read, account: Payer, period: string): Promise<StatementPage> {
  const [openingMinor, entries] = await Promise.all([
    store.openingOf(read.tx, account.id, period),
    listEntries(read, { accountId: account.id, period }),
  ]);
  const [page] = await pagesOf(read, period, [{ account, openingMinor, entries }]);
  return page as StatementPage;
}

/** How many statements are made at once for printing. */
const AT_ONCE = 100;

/** All statements of a month, a hundred at a time, by account number; for who closes months. */
export async function statementsOfMonth(
  read: Read,
  period: string,
  page: number,
): Promise<{ statements: StatementPage[]; count: number; pages: number }> {
  mustBeAllowed(read.actor, 'fees.close');
  const payers = await store.payersInMonth(read.tx, period);
  const wanted = payers.slice((page - 1) * AT_ONCE, page * AT_ONCE);
  const [accounts, entries] = await Promise.all([
    wanted.length === 0 ? [] : listPayers(read.tx, null),
    wanted.length === 0 ? [] : listEntries(read, { period }),
  ]);
  const byNumber = new Map(accounts.map((account) => [account.number, account]));
  const byAccount = groupBy(entries, ({ account }) => account.id);
  const sheets = wanted.map(({ accountId, number, closingMinor }) => {
    const own = byAccount.get(accountId) ?? [];
    const moved = own.reduce((sum, { amountMinor }) => sum + amountMinor, 0n);
    return { account: byNumber.get(number) as Payer, openingMinor: closingMinor - moved, entries: own };
  });
  return {
    statements: await pagesOf(read, period, sheets),
    count: payers.length,
    pages: Math.max(1, Math.ceil(payers.length / AT_ONCE)),
  };
}

async function pagesOf(
  read: Read,
  period: string,
  sheets: { account: Payer; openingMinor: bigint; entries: Entry[] }[],
): Promise<StatementPage[]> {
  const all = sheets.flatMap(({ entries }) => entries);
  const here = new Set(all.map(({ number }) => number));
  const corrected = all.flatMap((entry) => correctsOf(entry) ?? []).filter((number) => !here.has(number));
  const [closed, { dueDays, payWords }, percents, named] = await Promise.all([
    closedThrough(read.tx),
    feeSettings(read),
    store.taxPercents(read.tx, [...new Set(all.flatMap(({ tariffId }) => tariffId ?? []))]),
    store.entriesNamed(read.tx, [...new Set(corrected)]),
  ]);
  const earlier = new Map(named.map((one) => [one.number, one.period]));
  return sheets.map(({ account, openingMinor, entries }) => ({
    code: `S${account.number}-${period}`,
    account,
    period,
    isClosed: closed !== null && period <= closed,
    statement: statementFrom(openingMinor, entries, (id) => percents.get(id) ?? null),
    earlier,
    dueOn: dueOn(period, dueDays),
    payWords,
  }));
}

/** A month of an account among its statements. */
export interface StatementListed {
  period: string;
  entries: number;
  closingMinor: bigint;
  isClosed: boolean;
}

/** An account's months, newest first, from its first entry to this month. Throws NotFound as `findAccount` does. */
export async function listStatements(
  read: Read,
  accountNumber: number,
): Promise<{ account: Payer; months: StatementListed[] }> {
  mustBeAllowed(read.actor, 'fees.own');
  const account = await findAccount(read, accountNumber);
  const [moved, closed, today] = await Promise.all([
    store.movedByMonth(read.tx, account.id),
    closedThrough(read.tx),
    studioDay(read),
  ]);
  const byPeriod = new Map(moved.map((one) => [one.period, one]));
  const months: StatementListed[] = [];
  const last = latest(moved.at(-1)?.period ?? '', today.slice(0, 7));
  let closingMinor = 0n;
  for (let period = moved[0]?.period; period !== undefined && period <= last; period = monthAfter(period)) {
    const one = byPeriod.get(period);
    closingMinor += one?.movedMinor ?? 0n;
    const isClosed = closed !== null && period <= closed;
    months.unshift({ period, entries: one?.entries ?? 0, closingMinor, isClosed });
  }
  return { account, months };
}
