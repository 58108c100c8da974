import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { groupReaders } from '../../ware/service/groups.ts';
import { type Allocation, allocate, overdueSince } from '../allocation.ts';
import * as store from '../store/accounts.ts';
import { toAllocate } from '../store/entries.ts';
import { lockBooks } from '../store/ledger.ts';
import { openByMonth } from '../store/open-charges.ts';
import { reach } from './entries.ts';
import { type Holder, type Payer, payersFor } from './ledger.ts';
import { feeSettings } from './settings.ts';

const NO_ACCOUNT = 'There is no such account.';

/** The accounts of whoever asks: their own, their households', the classes' they teach; by number. */
export async function ownAccounts(read: Read): Promise<Payer[]> {
  mustBeAllowed(read.actor, 'fees.own');
  return store.listPayers(read.tx, read.actor.id);
}

/**
 * An account by its number, 'me' or a person's e-mail address.
 *
 * @throws NotFound for one that does not concern whoever asks, or that was never opened
 */
export async function findAccount(read: Read, who: number | string): Promise<Payer> {
  mustBeAllowed(read.actor, 'fees.own');
  const more = await wanted(read, String(who));
  const [payer] = more ? await store.listPayers(read.tx, reach(read), more) : [];
  if (!payer) throw new NotFound(NO_ACCOUNT);
  return payer;
}

async function wanted(
  { tx, actor }: Read,
  who: string,
): Promise<{ number: number } | { personId: number } | null> {
  if (who === 'me') return { personId: actor.id };
  if (/^[1-9]\d{0,8}$/.test(who)) return { number: Number(who) };
  if (!who.includes('@')) return null;
  const person = await store.personByEmail(tx, who);
  return person && { personId: person.id };
}

/** As `findAccount`, for who takes money: somebody's account is opened with the first entry. */
export async function openAccount(act: Act, who: number | string): Promise<Payer> {
  mustBeAllowed(act.actor, 'fees.charge');
  const more = await wanted(act, String(who));
  if (!more) throw new NotFound(NO_ACCOUNT);
  if ('number' in more) return findAccount(act, more.number);
  const [payer] = await payersFor(act, [{ kind: 'person', id: more.personId }]);
  return payer as Payer;
}

/** Opens the account of a person or a group who has none; answers it. Throws NotFound for nobody in use. */
export async function openAccountOf(act: Act, holder: Holder): Promise<Payer> {
  mustBeAllowed(act.actor, 'fees.charge');
  if (!(await store.isHolder(act.tx, holder))) throw new NotFound('There is nobody like that here.');
  const [payer] = await payersFor(act, [holder]);
  return payer as Payer;
}

/** What these payers owe, above zero, or have in credit; for technicians all, for others what concerns them. */
export async function balances(read: Read): Promise<{ account: Payer; balanceMinor: bigint }[]> {
  mustBeAllowed(read.actor, 'fees.own');
  const [payers, sums] = await Promise.all([
    store.listPayers(read.tx, reach(read)),
    store.balances(read.tx, { personId: reach(read) }),
  ]);
  const byId = new Map(sums.map(({ accountId, balanceMinor }) => [accountId, balanceMinor]));
  return payers.map((account) => ({ account, balanceMinor: byId.get(account.id) ?? 0n }));
}

/** What a payer's account stands at: the balance, what is open oldest first, and since when something is overdue. */
export interface Standing extends Allocation {
  balanceMinor: bigint;
  overdueSince: string | null;
}

/** The standing of an account that was found for whoever asks. */
export async function standingOf(read: Read, { id }: Pick<Payer, 'id'>): Promise<Standing> {
  const [entries, { dueDays, today }] = await Promise.all([toAllocate(read.tx, id), dueBy(read)]);
  const allocation = allocate(entries);
  return {
    ...allocation,
    balanceMinor: entries.reduce((sum, { amountMinor }) => sum + amountMinor, 0n),
    overdueSince: overdueSince(allocation.open, today, dueDays),
  };
}

/** By what something is overdue today. */
async function dueBy(read: Read): Promise<{ dueDays: number; today: string }> {
  const [{ dueDays }, today] = await Promise.all([feeSettings(read), studioDay(read)]);
  return { dueDays, today };
}

/** Whom to tell about an account: its person, everybody of a household, who teaches a class. */
export const readersOfAccount = async (
  read: Read,
  { personId, groupId }: Pick<Payer, 'personId' | 'groupId'>,
): Promise<number[]> =>
  personId !== null ? [personId] : groupId === null ? [] : groupReaders(read, groupId);

/** How many accounts a page of them shows. */
const PAGE = 50;

export interface ListedAccount {
  account: Payer;
  balanceMinor: bigint;
  overdueSince: string | null;
}

export interface AccountPage {
  rows: ListedAccount[];
  /** Accounts that fit, all pages together. */
  count: number;
  pages: number;
  /** Who has no account yet and is called so; only where somebody was looked for. */
  without: { kind: Holder['kind']; id: number; name: string }[];
}

/** All payers by name, fifty a page, for technicians. */
export async function listAccounts(
  read: Read,
  { words, onlyOwing, page }: { words: string; onlyOwing: boolean; page: number },
): Promise<AccountPage> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const wanted = words.toLowerCase();
  const { compare } = new Intl.Collator('en', { numeric: true });
  const found = (await balances(read))
    .filter(({ account }) => account.name.toLowerCase().includes(wanted))
    .filter(({ balanceMinor }) => !onlyOwing || balanceMinor > 0n)
    .sort((a, b) => compare(a.account.name, b.account.name) || a.account.number - b.account.number);
  const shown = found.slice((page - 1) * PAGE, page * PAGE);
  const owing = shown.filter(({ balanceMinor }) => balanceMinor > 0n).map(({ account }) => account.id);
  const [{ dueDays, today }, open] = await Promise.all([dueBy(read), openByMonth(read.tx, owing)]);
  const rows = shown.map((one) => ({
    ...one,
    overdueSince: overdueSince(open.get(one.account.id) ?? [], today, dueDays),
  }));
  const others = words === '' ? null : await store.holdersWithout(read.tx, words, 10);
  return {
    rows,
    count: found.length,
    pages: Math.max(1, Math.ceil(found.length / PAGE)),
    without: [
      ...(others?.persons ?? []).map((one) => ({ kind: 'person' as const, ...one })),
      ...(others?.groups ?? []).map((one) => ({ kind: 'group' as const, ...one })),
    ],
  };
}

/** Puts a payer in another class of the price lists. Charges made before stay as they are. */
export async function changeMemberClass(act: Act, number: number, memberClass: string): Promise<void> {
  mustBeAllowed(act.actor, 'fees.charge');
  const payer = await findAccount(act, number);
  // The class does not go while somebody is put in it.
  await lockBooks(act.tx);
  const { classes } = await feeSettings(act);
  if (!classes.includes(memberClass))
    throw new Invalid([{ path: 'memberClass', message: `One of ${classes.join(', ')}.` }]);
  await store.updateMemberClass(act.tx, payer.id, memberClass);
  await record(act, 'fees.member-class', `account:${number}`, { from: payer.memberClass, to: memberClass });
}
