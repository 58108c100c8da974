import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Doubtful, NotFound } from '../../core/errors.ts';
import { flag, text } from '../../core/forms.ts';
import { tell } from '../../core/messages.ts';
import { moneyText } from '../../core/money.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay, studioTimeZone, theStudio } from '../../core/session.ts';
import { monthAfter, monthStart } from '../ledger.ts';
import { monthWords } from '../month-words.ts';
import {
  type Difference,
  differences,
  type MonthTotals,
  type PartTotals,
  payersChanged,
  type StoredTotals,
  toStored,
} from '../statement.ts';
import { listPayers } from '../store/accounts.ts';
import { closedThrough, insertNote, lockBooks, updateBooks } from '../store/ledger.ts';
import * as store from '../store/statements.ts';
import { loadsNotCharged, requestsWaiting } from '../store/waiting.ts';
import { readersOfAccount } from './accounts.ts';
import { duesNotCharged } from './dues.ts';

/** Where the books stand. */
export interface MonthState {
  /** The last month that is closed; null for none. */
  closedThrough: string | null;
  /** The month of the studio's calendar. */
  current: string;
  /** The first month that has entries; null before there is any. */
  first: string | null;
  /** The month that may be closed now: the first open one, once it is over. */
  next: string | null;
}

/** Which months are closed and which may be. */
export async function monthState(read: Read): Promise<MonthState> {
  mustBeAllowed(read.actor, 'fees.see-all');
  return stateWith(read, await closedThrough(read.tx));
}

async function stateWith(read: Read, closed: string | null): Promise<MonthState> {
  const [first, today] = await Promise.all([store.firstMonth(read.tx), studioDay(read)]);
  const current = today.slice(0, 7);
  const open = closed === null ? first : monthAfter(closed);
  return { closedThrough: closed, current, first, next: open !== null && open < current ? open : null };
}

/** What a month came to, all payers together: the one place that statements, totals and exports agree with. */
export async function monthTotals(read: Read, period: string): Promise<MonthTotals> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const [moved, { accounts, openingMinor }] = await Promise.all([
    store.movedByPart(read.tx, period),
    store.movedByAccount(read.tx, period),
  ]);
  const parts: PartTotals = { charges: 0n, credits: 0n, payments: 0n };
  for (const { part, sum } of moved) parts[part] += sum;
  return {
    period,
    entries: moved.reduce((sum, { entries }) => sum + entries, 0),
    openingMinor,
    parts,
    closingMinor: openingMinor + parts.charges + parts.credits + parts.payments,
    accounts,
  };
}

export interface MonthListed {
  period: string;
  entries: number;
  parts: PartTotals;
  /** What all payers together stood at when it ended. */
  closingMinor: bigint;
  isClosed: boolean;
  isNext: boolean;
}

/** Every month from the first with entries to this one, newest first. */
export async function listMonths(read: Read): Promise<{ state: MonthState; months: MonthListed[] }> {
  const [state, moved] = await Promise.all([monthState(read), store.movedByPart(read.tx)]);
  const months: MonthListed[] = [];
  const last = [state.current, state.closedThrough ?? '', moved.at(-1)?.period ?? ''].sort().at(-1) as string;
  let closingMinor = 0n;
  for (let period = state.first; period !== null && period <= last; period = monthAfter(period)) {
    const parts: PartTotals = { charges: 0n, credits: 0n, payments: 0n };
    let entries = 0;
    for (const one of moved.filter((each) => each.period === period)) {
      parts[one.part] += one.sum;
      entries += one.entries;
    }
    closingMinor += parts.charges + parts.credits + parts.payments;
    months.unshift({
      period,
      entries,
      parts,
      closingMinor,
      isClosed: state.closedThrough !== null && period <= state.closedThrough,
      isNext: period === state.next,
    });
  }
  return { state, months };
}

/** What is still to be done in a month before it is closed. */
export interface Unfinished {
  /** Numbers of loads that were emptied in it and of which something is not charged. */
  loads: number[];
  /** Who is put down for dues or shelf rent and was not charged. */
  dues: number;
  /** Requests up to its end that wait for a manager's yes or no. */
  requests: number;
}

/** A closing or an opening of a month, with what differs from the closing before it. */
export interface Closing extends Omit<store.ClosingRow, 'id' | 'totals'> {
  totals: StoredTotals;
  differences: Difference[];
  /** Account numbers of payers whose balance is another than at the closing before. */
  payersChanged: number[];
}

export interface MonthPage {
  state: MonthState;
  totals: MonthTotals;
  isClosed: boolean;
  isNext: boolean;
  /** Only the last closed month is opened again. */
  mayReopen: boolean;
  unfinished: Unfinished;
  /** Newest first. */
  closings: Closing[];
  /** Payers who have a statement of it. */
  statements: number;
}

/** One month. Throws NotFound for one before the first entry or after this month. */
export async function showMonth(read: Read, period: string): Promise<MonthPage> {
  mustBeAllowed(read.actor, 'fees.close');
  const state = await monthState(read);
  const totals = await monthTotals(read, period);
  const isKnown =
    state.first !== null && period >= state.first && (period <= state.current || totals.entries > 0);
  if (!isKnown) throw new NotFound('There is nothing of this month.');
  const [unfinished, rows, payers] = await Promise.all([
    unfinishedIn(read, period),
    store.closings(read.tx, period),
    store.payersInMonth(read.tx, period),
  ]);
  return {
    state,
    totals,
    isClosed: state.closedThrough !== null && period <= state.closedThrough,
    isNext: period === state.next,
    mayReopen: period === state.closedThrough,
    unfinished,
    closings: rows.map(({ id, ...row }) => {
      const before = row.act === 'closed' ? lastClosingBefore(rows, id) : null;
      return {
        ...row,
        differences: before ? differences(before.totals, row.totals) : [],
        payersChanged: before ? payersChanged(before.totals, row.totals) : [],
      };
    }),
    statements: payers.length,
  };
}

/** Rows are newest first. */
const lastClosingBefore = (rows: store.ClosingRow[], id: number): store.ClosingRow | null =>
  rows.find((row) => row.act === 'closed' && row.id < id) ?? null;

async function unfinishedIn(read: Read, period: string): Promise<Unfinished> {
  const timeZone = await studioTimeZone(read.tx);
  const until = monthStart(monthAfter(period), timeZone);
  const [loads, dues, requests] = await Promise.all([
    loadsNotCharged(read.tx, { from: monthStart(period, timeZone), until, timeZone }),
    duesNotCharged(read, period),
    requestsWaiting(read.tx, until),
  ]);
  return { loads, dues, requests };
}

export const closeForm = z.strictObject({ confirm: flag().default(false) });
export const reopenForm = z.strictObject({ reason: text(400) });

/**
 * Closes a month: its totals are kept, nothing is written into it any more, and its payers are told that their
 * statement is ready.
 *
 * @throws Conflict for a month whose turn it is not; Doubtful where something in it is unfinished and nobody said yes
 */
export async function closeMonth(
  act: Act,
  period: string,
  { confirm }: Partial<z.output<typeof closeForm>> = {},
): Promise<void> {
  mustBeAllowed(act.actor, 'fees.close');
  const books = await lockBooks(act.tx);
  const state = await stateWith(act, books.closedThrough);
  if (period !== state.next) throw new Conflict(whyNotNow(period, state));
  const unfinished = await unfinishedIn(act, period);
  const isFinished = unfinished.loads.length + unfinished.dues + unfinished.requests === 0;
  if (!isFinished && !confirm)
    throw new Doubtful(
      '',
      `Something in ${monthWords(period)} is unfinished: see the list. Close it all the same?`,
    );
  const [before] = (await store.closings(act.tx, period)).filter((row) => row.act === 'closed');
  const payers = await store.payersInMonth(act.tx, period);
  const totals = toStored(
    await monthTotals(act, period),
    new Map(payers.map(({ number, closingMinor }) => [number, closingMinor])),
  );
  await updateBooks(act.tx, { closedThrough: period });
  await store.insertClosing(act.tx, { period, act: 'closed', at: act.now, by: act.actor.id, totals });
  await record(act, 'fees.month-closed', `month:${period}`, { entries: totals.entries });
  const changed = before ? new Set(payersChanged(before.totals, totals)) : null;
  await tellPayers(
    act,
    period,
    payers.filter(({ number, closingMinor, entries }) =>
      changed ? changed.has(number) : entries > 0 || closingMinor > 0n,
    ),
  );
}

function whyNotNow(period: string, { closedThrough: closed, current, next }: MonthState): string {
  const month = monthWords(period);
  if (closed !== null && period <= closed) return `${month} is closed already.`;
  if (period >= current) return `${month} is not over yet.`;
  return next === null
    ? `There is nothing in ${month} to close.`
    : `Months are closed in their order: ${monthWords(next)} comes first.`;
}

async function tellPayers(
  act: Act,
  period: string,
  rows: { number: number; closingMinor: bigint }[],
): Promise<void> {
  const byNumber = new Map((await listPayers(act.tx, null)).map((payer) => [payer.number, payer]));
  const { currency } = await theStudio(act.tx);
  for (const { number, closingMinor } of rows) {
    const payer = byNumber.get(number);
    if (!payer) continue;
    await tell(act, {
      personIds: await readersOfAccount(act, payer),
      kind: 'statement',
      words: `${payer.personId === null ? `The statement of ${payer.name}` : 'Your statement'} for ${monthWords(period)} is ready: ${standsAt(closingMinor, currency)}.`,
      href: `/fees/statements/${number}/${period}`,
    });
  }
}

const standsAt = (minor: bigint, currency: string): string => {
  if (minor > 0n) return `${moneyText(minor, currency)} to pay`;
  return minor < 0n ? `${moneyText(-minor, currency)} in credit` : 'nothing to pay';
};

/**
 * Opens the last closed month again. What was frozen stays readable beside what it comes to when it is next closed.
 *
 * @throws Conflict for any month but the last one closed
 */
export async function reopenMonth(
  act: Act,
  period: string,
  { reason }: z.output<typeof reopenForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'fees.close');
  const books = await lockBooks(act.tx);
  if (period !== books.closedThrough)
    throw new Conflict(
      books.closedThrough !== null && period < books.closedThrough
        ? `Only the last closed month is opened again: ${monthWords(books.closedThrough)} comes first.`
        : `${monthWords(period)} is not closed.`,
    );
  const [closing] = (await store.closings(act.tx, period)).filter((row) => row.act === 'closed');
  const before = monthAfter(period, -1);
  const isBeforeClosed = (await store.closings(act.tx, before)).length > 0;
  await updateBooks(act.tx, { closedThrough: isBeforeClosed ? before : null });
  await store.insertClosing(act.tx, {
    period,
    act: 'reopened',
    at: act.now,
    by: act.actor.id,
    noteId: await insertNote(act.tx, reason),
    totals: closing?.totals ?? {},
  });
  await record(act, 'fees.month-reopened', `month:${period}`);
}
