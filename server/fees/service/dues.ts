import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay, theStudio } from '../../core/session.ts';
import { monthAfter } from '../ledger.ts';
import { itemPrice } from '../price.ts';
import * as store from '../store/dues.ts';
import { lockBooks } from '../store/ledger.ts';
import type { Item } from '../tariff.ts';
import { findAccount } from './accounts.ts';
import { findPayers, type NewEntry, type Payer, payersFor, post } from './ledger.ts';
import { feeSettings } from './settings.ts';
import { firstMonth, type TariffNow, tariffOn } from './tariffs.ts';

/** Somebody who is charged an item every month until it is ended. */
export interface StandingCharge {
  id: number;
  account: Payer;
  item: string;
  /** First and last month, 'YYYY-MM'. */
  fromPeriod: string;
  untilPeriod: string | null;
}

/** Who is put down for what, those that ended too, the newest first. */
export async function listStanding(read: Read): Promise<StandingCharge[]> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const rows = await store.allStanding(read.tx);
  const payers = await store.payersById(
    read.tx,
    rows.map(({ accountId }) => accountId),
  );
  const byId = new Map(payers.map((payer) => [payer.id, payer]));
  return rows.flatMap(({ id, accountId, item, fromPeriod, untilPeriod }) => {
    const account = byId.get(accountId);
    return account ? [{ id, account, item, fromPeriod, untilPeriod }] : [];
  });
}

/** Every account that may be put down. */
export async function payersToPutDown(read: Read): Promise<Payer[]> {
  mustBeAllowed(read.actor, 'fees.charge');
  return store.allPayers(read.tx);
}

/** Dues of the last months: how many and how much, the newest first. */
export async function lastDues(read: Read): Promise<{ period: string; count: number; totalMinor: bigint }[]> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const rows = await store.lastDues(read.tx, 6);
  return rows.map(({ totalMinor, ...row }) => ({ ...row, totalMinor: BigInt(totalMinor) }));
}

/**
 * Puts an account down for an item of the price list, every month from one on.
 * @throws NotFound for no such account; Invalid for what the list does not have as dues; Conflict where it is down already
 */
export async function putDown(
  act: Act,
  { account, item, fromPeriod }: { account: number; item: string; fromPeriod: string },
): Promise<void> {
  mustBeAllowed(act.actor, 'fees.charge');
  await lockBooks(act.tx);
  const payer = await findAccount(act, account);
  const items = duesItems(await tariffOn(act, await studioDay(act)));
  if (!items.some(({ code }) => code === item))
    throw new Invalid([{ path: 'item', message: 'The price list of today has no such dues.' }]);
  const isDown = (await store.allStanding(act.tx)).some(
    (one) =>
      one.accountId === payer.id &&
      one.item === item &&
      (one.untilPeriod === null || one.untilPeriod >= fromPeriod),
  );
  if (isDown) throw new Conflict(`${payer.name} is put down for this already.`, 'account');
  await store.insertStanding(act.tx, {
    accountId: payer.id,
    item,
    fromPeriod,
    madeBy: act.actor.id,
    madeAt: act.now,
  });
  await record(act, 'fees.standing', `account:${account}`, { item, from: fromPeriod });
}

/**
 * Ends a standing charge with a month; what was charged stays.
 * @throws NotFound; Invalid for a month before the one it began with
 */
export async function endStanding(act: Act, id: number, untilPeriod: string): Promise<void> {
  mustBeAllowed(act.actor, 'fees.charge');
  const row = await store.lockStanding(act.tx, id);
  if (!row) throw new NotFound('There is no such standing charge.');
  // The month before its first: it never counts.
  if (untilPeriod < monthAfter(row.fromPeriod, -1))
    throw new Invalid([{ path: 'untilPeriod', message: `It began with ${row.fromPeriod}.` }]);
  await store.endStanding(act.tx, id, untilPeriod);
  await record(act, 'fees.standing-end', `standing:${id}`, { item: row.item, until: untilPeriod });
}

export const duesItems = (list: TariffNow | null): Item[] =>
  (list?.value.items ?? []).filter(({ kind }) => kind === 'dues');

interface DuesDone {
  /** New entries. */
  charged: number;
  /** Charged for this month before. */
  already: number;
  /** Items that somebody is put down for and the list does not have. */
  missing: string[];
}

/**
 * Charges the dues of a month, each account and item once however often it is asked for: whoever is put down for an
 * item, and where an item names a class every active person of that class. By the price list that counts on the
 * month's first day, or on the day it is charged where there was none yet.
 * @param period 'YYYY-MM', next month at the latest
 * @throws Conflict for a month that is closed, or with no price list; Invalid for a month too far ahead, or before the
 *   first price list began
 */
export async function chargeDues(act: Act, period: string): Promise<DuesDone> {
  mustBeAllowed(act.actor, 'fees.close');
  const books = await lockBooks(act.tx);
  if (books.closedThrough !== null && period <= books.closedThrough)
    throw new Conflict(`${period} is closed: open it again first, or choose a later month.`, 'period');
  const today = await studioDay(act);
  if (period > monthAfter(today.slice(0, 7)))
    throw new Invalid([{ path: 'period', message: 'Next month at the latest.' }]);
  const list = await listFor(act, period);
  if (!list) throw new Conflict('No price list is in force.');
  const first = await firstMonth(act);
  if (first !== null && period < first)
    throw new Invalid([{ path: 'period', message: `The first price list began in ${first}.` }]);
  const items = duesItems(list);
  const { due, missing } = await whoOwes(act, items, period);
  const charged = new Set((await store.duesOf(act.tx, period)).map((one) => `${one.accountId} ${one.item}`));
  const fresh = due.filter(({ accountId, item }) => !charged.has(`${accountId} ${item.code}`));
  const { currency } = await theStudio(act.tx);
  await post(
    act,
    fresh.map(({ accountId, item }): NewEntry => {
      const { netMinor, taxMinor, because } = itemPrice(list.value, currency, item, '1');
      return {
        kind: 'dues',
        accountId,
        against: `income:${item.income}`,
        netMinor,
        taxMinor,
        happenedAt: act.now,
        period,
        tariffId: list.id,
        line: item.code,
        payload: { name: item.name, quantity: '1', unit: item.unit, because },
      };
    }),
  );
  const done = { charged: fresh.length, already: due.length - fresh.length, missing };
  await record(act, 'fees.dues', period, {
    charged: done.charged,
    already: done.already,
    missing: missing.join(', '),
  });
  return done;
}

/** What is due of everybody in a class; who was never put into one is in the first. */
const itemsOfClass = (items: readonly Item[], memberClass: string | null, classes: readonly string[]) =>
  items.filter((one) => one.memberClass !== null && one.memberClass === (memberClass ?? classes[0]));

/**
 * How many dues of a month are not charged: what `chargeDues` would charge, and what somebody is put down for that the
 * list does not have. None where nothing could be charged: without a list, and before the first one began.
 */
export async function duesNotCharged(read: Read, period: string): Promise<number> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const [list, first] = await Promise.all([listFor(read, period), firstMonth(read)]);
  if (!list || (first !== null && period < first)) return 0;
  const [standing, done, people, { classes }] = await Promise.all([
    store.standingIn(read.tx, period),
    store.duesOf(read.tx, period),
    store.activePeople(read.tx),
    feeSettings(read),
  ]);
  const payers = await findPayers(
    read,
    people.map(({ id }) => ({ kind: 'person', id })),
  );
  const byPerson = new Map(payers.map((payer) => [payer.personId, payer]));
  const due = new Set(standing.map(({ accountId, item }) => `${accountId} ${item}`));
  for (const { id } of people) {
    const payer = byPerson.get(id);
    for (const { code } of itemsOfClass(duesItems(list), payer?.memberClass ?? null, classes))
      due.add(payer ? `${payer.id} ${code}` : `nobody's yet, of person ${id}, ${code}`);
  }
  for (const { accountId, item } of done) due.delete(`${accountId} ${item}`);
  return due.size;
}

/** The list that the dues of a month go by: of its first day, or today's where there was none yet. */
const listFor = async (read: Read, period: string): Promise<TariffNow | null> =>
  (await tariffOn(read, `${period}-01`)) ?? (await tariffOn(read, await studioDay(read)));

async function whoOwes(act: Act, items: Item[], period: string) {
  const due = new Map<string, { accountId: number; item: Item }>();
  const missing = new Set<string>();
  for (const row of await store.standingIn(act.tx, period)) {
    const item = items.find(({ code }) => code === row.item);
    if (item) due.set(`${row.accountId} ${item.code}`, { accountId: row.accountId, item });
    else missing.add(row.item);
  }
  const forClass = items.filter(({ memberClass }) => memberClass !== null);
  if (forClass.length > 0) {
    const { classes } = await feeSettings(act);
    const people = await store.activePeople(act.tx);
    const payers = await payersFor(
      act,
      people.map(({ id }) => ({ kind: 'person', id })),
    );
    for (const { id: accountId, memberClass } of payers)
      for (const item of itemsOfClass(forClass, memberClass, classes))
        due.set(`${accountId} ${item.code}`, { accountId, item });
  }
  return { due: [...due.values()], missing: [...missing] };
}
