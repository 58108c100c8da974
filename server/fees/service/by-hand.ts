import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { DAY, FUTURE, type Instant } from '../../core/clock.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { choice, count, decimal, instant, money, text } from '../../core/forms.ts';
import { divide, times } from '../../core/money.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioDay, theStudio } from '../../core/session.ts';
import { rowOf } from '../../kilns/service/index.ts';
import { findPiece } from '../../ware/service/index.ts';
import { cardlessText } from '../card-number.ts';
import { OWN_ACCOUNTS } from '../ledger.ts';
import { cm3OfLitres } from '../litres.ts';
import { itemPrice, splitTax } from '../price.ts';
import { creditedSince, leftOf } from '../store/entries.ts';
import * as store from '../store/ledger.ts';
import { grantLitres, returnLitres } from '../store/litres.ts';
import type { Item } from '../tariff.ts';
import type { Entry } from '../words.ts';
import { findAccount } from './accounts.ts';
import { findEntry, listEntries } from './entries.ts';
import { type NewEntry, type Payer, type Posted, post, strikeOut } from './ledger.ts';
import { ask } from './requests.ts';
import { feeSettings } from './settings.ts';
import { type TariffNow, tariffOn } from './tariffs.ts';

/** The most that anybody charges, credits or takes at once: a slip of the finger, beyond it. Common practice, no source. */
const MOST_MINOR = 1_000_000_000;
const amount = () => money(1, MOST_MINOR);
const reason = () => cardlessText(300);
const entryNumber = () => count(1, 999_999_999);

export const paymentForm = z.strictObject({
  amountMinor: amount(),
  how: choice(OWN_ACCOUNTS.payment),
  reference: cardlessText(60).optional(),
  happenedAt: instant().optional(),
  note: reason().optional(),
});

export const chargeForm = z.strictObject({
  item: text(40).optional(),
  quantity: decimal(3).optional(),
  amountMinor: amount().optional(),
  reason: reason().optional(),
  happenedAt: instant().optional(),
  load: entryNumber().optional(),
  piece: entryNumber().optional(),
});

const CREDIT_FOR = ['goodwill', 'work', 'write-off'] as const;
export const creditForm = z.strictObject({
  for: choice(CREDIT_FOR),
  amountMinor: amount().optional(),
  hours: decimal(2).optional(),
  reason: reason(),
  about: entryNumber().optional(),
});

export const strikeForm = z.strictObject({ reason: reason() });

/** Money that came in, or that a manager gives back. Answers the entry. */
export async function recordPayment(
  act: Act,
  account: number,
  typed: z.output<typeof paymentForm>,
  way: 'payment' | 'refund' = 'payment',
): Promise<Posted> {
  mustBeAllowed(act.actor, way === 'refund' ? 'fees.decide' : 'fees.pay');
  const payer = await findAccount(act, account);
  const { amountMinor, how, reference, note } = typed;
  const net = BigInt(amountMinor);
  return one(
    await post(act, [
      {
        kind: way,
        accountId: payer.id,
        against: `payment:${how}`,
        netMinor: way === 'refund' ? net : -net,
        taxMinor: 0n,
        happenedAt: whenOf(act, typed.happenedAt),
        note,
        payload: { reference },
      },
    ]),
  );
}

/** What came of a charge or credit: it stands, or it waits for a manager's yes. */
export type Written = { entry: Posted } | { request: number };

/** An item of the price list, or an amount by hand with its reason; a ruined shelf waits for a manager's yes. */
export async function chargeByHand(
  act: Act,
  account: number,
  typed: z.output<typeof chargeForm>,
): Promise<Written> {
  mustBeAllowed(act.actor, 'fees.charge');
  const payer = await findAccount(act, account);
  const happenedAt = whenOf(act, typed.happenedAt);
  const list = await listOf(act, happenedAt);
  const pieceId = typed.piece === undefined ? undefined : await pieceOf(act, typed.piece);
  if (typed.load !== undefined) await mustBeLoad(act, typed.load);
  const common = { accountId: payer.id, happenedAt, load: typed.load, pieceId, note: typed.reason };
  if (typed.item === undefined) {
    if (typed.amountMinor === undefined)
      throw new Invalid([{ path: 'amountMinor', message: 'Choose an item, or type an amount.' }]);
    if (typed.reason === undefined)
      throw new Invalid([{ path: 'reason', message: 'Say what it is for: the payer reads it.' }]);
    const { netMinor, taxMinor } = withTax(list, BigInt(typed.amountMinor));
    const posted = await post(act, [
      { ...common, kind: 'charge', against: 'income:other', netMinor, taxMinor, tariffId: list?.id },
    ]);
    return { entry: one(posted) };
  }
  if (typed.amountMinor !== undefined)
    throw new Invalid([
      { path: 'amountMinor', message: 'An item has its price already: leave this empty, or choose no item.' },
    ]);
  const { entry, item, quantity } = await itemEntry(act, list, typed.item, typed.quantity ?? '1');
  const charge: NewEntry = { ...common, ...entry };
  if (item.kind === 'damage') {
    if (typed.reason === undefined)
      throw new Invalid([{ path: 'reason', message: 'Say what was ruined, and how.' }]);
    if (!may(act.actor.role, 'fees.decide')) return { request: await ask(act, payer, 'damage', charge) };
  }
  const posted = one(await post(act, [charge]));
  if (item.litres !== null)
    await grantLitres(act, {
      accountId: payer.id,
      source: item.kind === 'card' ? 'card' : 'clay',
      cm3: Number(times(BigInt(cm3OfLitres(item.litres)), [quantity], 'down')),
      entryId: posted.id,
    });
  return { entry: posted };
}

/**
 * Something given back with its reason: goodwill, hours worked at the price list's rate, or written off. A technician
 * gives up to the studio's limit, and no more than that to one account within a day; beyond it a manager is asked.
 */
export async function creditByHand(
  act: Act,
  account: number,
  typed: z.output<typeof creditForm>,
): Promise<Written> {
  mustBeAllowed(act.actor, 'fees.credit');
  const payer = await findAccount(act, account);
  // Whoever credits the same account meanwhile is counted.
  await store.lockBooks(act.tx);
  const credit = typed.for === 'work' ? await workEntry(act, typed) : await reliefEntry(act, payer, typed);
  const entry: NewEntry = { ...credit, accountId: payer.id, happenedAt: act.now, note: typed.reason };
  if (!may(act.actor.role, 'fees.decide')) {
    const { creditLimitMinor } = await feeSettings(act);
    const before = await creditedSince(act.tx, payer.id, act.now - DAY);
    const isBeyond = before - entry.netMinor - entry.taxMinor > BigInt(creditLimitMinor);
    // Nobody but a manager lets themselves off.
    if (isBeyond || payer.personId === act.actor.id)
      return { request: await ask(act, payer, 'credit', entry) };
  }
  return { entry: one(await post(act, [entry])) };
}

type Bare = Omit<NewEntry, 'accountId' | 'happenedAt'>;

async function workEntry(act: Act, typed: z.output<typeof creditForm>): Promise<Bare> {
  const against = 'relief:work';
  if (typed.about !== undefined)
    throw new Invalid([{ path: 'about', message: 'Work is credited to the account: leave this empty.' }]);
  if (typed.hours !== undefined && typed.amountMinor !== undefined)
    throw new Invalid([{ path: 'hours', message: 'Hours, or an amount: not both.' }]);
  if (typed.hours === undefined) {
    if (typed.amountMinor === undefined)
      throw new Invalid([{ path: 'hours', message: 'Type the hours, or an amount.' }]);
    return { kind: 'work-credit', against, netMinor: -BigInt(typed.amountMinor), taxMinor: 0n };
  }
  const list = await listOf(act, act.now);
  const rate = list?.value.items.find(({ kind }) => kind === 'work');
  if (!list || !rate)
    throw new Invalid([
      { path: 'hours', message: 'The price list has no rate for an hour: type an amount instead.' },
    ]);
  // An hour worked is worth its rate as it is: no tax is taken off what was never charged.
  const { netMinor, because } = itemPrice(
    { ...list.value, tax: null },
    await currencyOf(act),
    rate,
    typed.hours,
  );
  inBounds(netMinor, 'hours');
  return {
    kind: 'work-credit',
    against,
    netMinor: -netMinor,
    taxMinor: 0n,
    tariffId: list.id,
    line: rate.code,
    payload: { name: rate.name, quantity: typed.hours, unit: rate.unit, because },
  };
}

async function reliefEntry(
  act: Act,
  payer: Payer,
  { for: why, amountMinor, hours, about }: z.output<typeof creditForm>,
): Promise<Bare> {
  if (hours !== undefined)
    throw new Invalid([{ path: 'hours', message: 'Hours are for work: type an amount instead.' }]);
  if (amountMinor === undefined) throw new Invalid([{ path: 'amountMinor', message: 'Type an amount.' }]);
  const minor = BigInt(amountMinor);
  const against = why === 'write-off' ? ('relief:write-off' as const) : ('relief:goodwill' as const);
  if (about === undefined) return { kind: 'credit', against, netMinor: -minor, taxMinor: 0n };
  const entry = await entryAbout(act, payer, about);
  const left = await leftOf(act.tx, entry.id);
  if (minor > left)
    throw new Invalid([
      { path: 'amountMinor', message: `More than is left of entry ${about} to give back.` },
    ]);
  // Its tax goes back by the same part.
  const taxMinor = divide(minor * entry.taxMinor, entry.amountMinor, 'half-up');
  return {
    kind: 'credit',
    against,
    netMinor: taxMinor - minor,
    taxMinor: -taxMinor,
    about: entry.id,
    // Whose tax it is.
    tariffId: entry.tariffId ?? undefined,
  };
}

async function entryAbout(act: Act, payer: Payer, number: number): Promise<Entry> {
  const [entry] = await listEntries(act, { numbers: [number], accountId: payer.id });
  if (!entry) throw new Invalid([{ path: 'about', message: `No entry ${number} on this account.` }]);
  if (entry.amountMinor <= 0n || entry.voids !== null || entry.voidedBy !== null || entry.kind === 'refund')
    throw new Invalid([{ path: 'about', message: `Entry ${number} is no charge that stands.` }]);
  return entry;
}

/** Why an entry cannot be struck out by whoever asks; null where it can. */
export function strikeRefusal(read: Read, entry: Entry): string | null {
  if (entry.kind === 'void') return 'A strike-out stays. Write the entry anew instead.';
  if (entry.voidedBy !== null) return `It was struck out by entry ${entry.voidedBy}.`;
  if (may(read.actor.role, 'fees.decide')) return null;
  if (!may(read.actor.role, 'fees.charge')) return 'A technician strikes out entries.';
  if (entry.by.id !== read.actor.id) return `${entry.by.name} wrote it: a manager strikes it out.`;
  return read.now - entry.recordedAt > DAY ? 'It is older than a day: a manager strikes it out.' : null;
}

/**
 * Strikes an entry out in full, in the month that is open; litres that it granted or used go back.
 *
 * @throws Forbidden for another's entry or one older than a day, by who is no manager; Conflict for one that was struck
 *   out, or that a credit still stands on
 */
export async function strikeOutEntry(
  act: Act,
  number: number,
  { reason }: z.output<typeof strikeForm>,
): Promise<Posted> {
  mustBeAllowed(act.actor, 'fees.charge');
  // Whoever strikes it out meanwhile is seen.
  await store.lockBooks(act.tx);
  const entry = await findEntry(act, number);
  const refusal = strikeRefusal(act, entry);
  if (refusal !== null)
    throw entry.kind === 'void' || entry.voidedBy !== null ? new Conflict(refusal) : new Forbidden(refusal);
  const [credit] = (await listEntries(act, { about: [entry.id] })).filter(
    (one) => one.voidedBy === null && one.kind !== 'void',
  );
  if (credit) throw new Conflict(`Entry ${credit.number} gives some of it back: strike that out first.`);
  const row = await store.entryByNumber(act.tx, number);
  if (!row) throw new NotFound('There is no such entry.');
  const posted = await strikeOut(act, row, reason);
  await returnLitres(act, entry.id);
  return posted;
}

/** The items that can be charged by hand today, with the list they stand on. */
export async function itemsToCharge(read: Read): Promise<Item[]> {
  const list = await listOf(read, read.now);
  return list?.value.items.filter(({ kind }) => kind !== 'work') ?? [];
}

/** What an hour of work is worth today; null where the price list does not say. */
export async function hourlyRate(read: Read): Promise<Item | null> {
  const list = await listOf(read, read.now);
  return list?.value.items.find(({ kind }) => kind === 'work') ?? null;
}

async function itemEntry(act: Act, list: TariffNow | null, code: string, quantity: string) {
  const item = list?.value.items.find((one) => one.code === code && one.kind !== 'work');
  if (!list || !item)
    throw new Invalid([{ path: 'item', message: 'The price list of that day has nothing by this name.' }]);
  const { netMinor, taxMinor, amountMinor, because } = itemPrice(
    list.value,
    await currencyOf(act),
    item,
    quantity,
  );
  inBounds(amountMinor, 'quantity');
  const entry: Bare = {
    kind: KIND_OF[item.kind],
    against: `income:${item.income}`,
    netMinor,
    taxMinor,
    tariffId: list.id,
    line: item.code,
    payload: { name: item.name, quantity, unit: item.unit, because },
  };
  return { entry, item, quantity };
}

// What is due every month is charged once a month by itself; by hand it is a charge like another.
const KIND_OF = {
  sale: 'sale',
  card: 'sale',
  hire: 'charge',
  dues: 'charge',
  damage: 'damage',
  work: 'charge',
} as const satisfies Record<Item['kind'], NewEntry['kind']>;

function inBounds(minor: bigint, path: string): void {
  if (minor <= 0n) throw new Invalid([{ path, message: 'That comes to nothing.' }]);
  if (minor > BigInt(MOST_MINOR))
    throw new Invalid([{ path, message: 'That comes to more than can be charged at once.' }]);
}

/** An amount by hand is what the payer owes, so tax is in it. */
function withTax(list: TariffNow | null, amountMinor: bigint) {
  const tax = list?.value.tax ?? null;
  return splitTax(
    { rounding: list?.value.rounding ?? 'half-up', tax: tax && { ...tax, included: true } },
    amountMinor,
  );
}

async function listOf(read: Read, at: Instant): Promise<TariffNow | null> {
  return tariffOn(read, await studioDay({ tx: read.tx, now: at }));
}

const currencyOf = async ({ tx }: Read): Promise<string> => (await theStudio(tx)).currency;

const pieceOf = async (act: Act, number: number): Promise<number> =>
  (await foundFor('piece', findPiece(act, number))).id;

const mustBeLoad = (act: Act, number: number) => foundFor('load', rowOf(act, number));

/** What is not there is said beside its field. */
async function foundFor<T>(path: 'piece' | 'load', found: Promise<T>): Promise<T> {
  try {
    return await found;
  } catch (error) {
    if (error instanceof NotFound) throw new Invalid([{ path, message: `There is no such ${path}.` }]);
    throw error;
  }
}

function whenOf({ now }: Act, happenedAt: Instant | undefined): Instant {
  if (happenedAt === undefined) return now;
  if (happenedAt > now + FUTURE)
    throw new Invalid([{ path: 'happenedAt', message: 'That lies ahead. Say when it happened.' }]);
  return happenedAt;
}

const one = ([posted]: Posted[]): Posted => posted as Posted;
