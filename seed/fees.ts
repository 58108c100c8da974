import type { z } from 'zod';
import { DAY, HOUR, type Instant } from '../server/core/clock.ts';
import { fromWallTime, toWallTime } from '../server/core/wall-time.ts';
import { monthAfter } from '../server/fees/ledger.ts';
import {
  changeMemberClass,
  findAccount,
  openAccount,
  openAccountOf,
  ownAccounts,
  standingOf,
} from '../server/fees/service/accounts.ts';
import {
  chargeByHand,
  chargeForm,
  creditByHand,
  creditForm,
  paymentForm,
  recordPayment,
} from '../server/fees/service/by-hand.ts';
import { chargeDues, putDown } from '../server/fees/service/dues.ts';
import type { Payer } from '../server/fees/service/ledger.ts';
import { closeMonth } from '../server/fees/service/months.ts';
import { changeFeeSettings, feeSettings } from '../server/fees/service/settings.ts';
import { beginTariff, changeTariff, putInForce } from '../server/fees/service/tariffs.ts';
import { type Item, type Tariff, usualIncome } from '../server/fees/tariff.ts';
import { openKiln, unloadForm, unloadKiln } from '../server/kilns/service/index.ts';
import { listGroups, movePieces } from '../server/ware/service/index.ts';
import { BISQUE, type Fired, fire, GLAZE } from './kilns.ts';
import { DEMO_PEOPLE, type DemoName } from './people.ts';
import { type By, type Lot, registerLot } from './ware.ts';

/** Where the demo's months lie, whatever day it is started: two behind it are over, and the later one is still open. */
export interface Books {
  /** The first of the month before last: the price list begins there, and the studio with it. */
  founded: Instant;
  /** The month before last, last month, this one: 'YYYY-MM'. */
  closed: string;
  last: string;
  current: string;
  /** An hour of a day of such a month. */
  on(period: string, day: number, hour: number): Instant;
}

export function booksOf(now: Instant, timeZone: string): Books {
  const two = (n: number) => String(n).padStart(2, '0');
  const on = (period: string, day: number, hour: number) =>
    fromWallTime(`${period}-${two(day)}T${two(hour)}:00`, timeZone) ?? now;
  const current = toWallTime(now, timeZone).slice(0, 7);
  const closed = monthAfter(current, -2);
  return { founded: on(closed, 1, 9), closed, last: monthAfter(current, -1), current, on };
}

const item = (
  code: string,
  kind: Item['kind'],
  name: string,
  unit: string,
  minor: number,
  more: Partial<Item> = {},
): Item => {
  const rest = { litres: null, memberClass: null, ...more };
  return { code, kind, name, unit, minor, income: usualIncome({ kind, ...rest }), ...rest };
};

/** What Millrace asks for. Every figure is made up. */
const PRICES: Tariff = {
  v: 1,
  rounding: 'half-up',
  stepMinor: 5,
  minimumMinor: 60,
  tax: { percent: '20', included: true },
  lines: [
    {
      code: 'BISQUE',
      name: 'Bisque firing',
      kinds: ['bisque'],
      basis: { by: 'volume', minorPer: '120', unit: 'litre' },
    },
    {
      code: 'GLAZE',
      name: 'Glaze firing',
      kinds: [],
      basis: { by: 'volume', minorPer: '190', unit: 'litre' },
    },
  ],
  factors: [
    factor({ name: 'Reduction', factor: '1.25', atmosphere: 'reduction' }),
    factor({ name: 'Student', factor: '0.8', memberClass: 'student' }),
  ],
  rush: { withinDays: 7, percent: '30' },
  monthly: [{ memberClass: 'member', litres: '1' }],
  items: [
    item('CLAY', 'sale', 'Buff clay', 'bag', 1950, { litres: '6' }),
    item('POWDER', 'sale', 'Glaze, dry', 'kg', 1450, { income: 'glaze' }),
    item('CARD', 'card', 'Firing card', 'card', 3200, { litres: '20' }),
    item('MEMBER', 'dues', 'Membership', 'month', 1800, { memberClass: 'member' }),
    item('STUDENT', 'dues', 'Membership, students', 'month', 1200, { memberClass: 'student' }),
    item('RENT', 'dues', 'A shelf of one’s own', 'month', 600),
    item('HIRE', 'hire', 'Brook for an evening', 'firing', 6500),
    item('RUINED', 'damage', 'A ruined kiln shelf', 'shelf', 4800),
    item('HOUR', 'work', 'An hour’s work for the studio', 'hour', 1150),
  ],
  lossPercent: '100',
  lossOf: 'every-firing',
};

function factor(more: Partial<Tariff['factors'][number]> & { name: string; factor: string }) {
  return { kinds: [], coneFrom: null, coneTo: null, atmosphere: null, memberClass: null, ...more };
}

const HOUSEHOLD = 'Weir Cottage';
const CLASS = 'Class Tuesday 07';

/** Bisqued in the month before last, glazed in the last. */
const EARLIER: Lot[] = [
  { who: 'Ida', piece: { form: 'cup', howMany: 4 }, made: 13, dry: 4 },
  { who: 'Ida', piece: { form: 'bowl', howMany: 2 }, made: 12, dry: 4 },
  { who: 'Tomas', piece: { form: 'beaker', howMany: 4 }, made: 12, dry: 4 },
  { who: 'Petra', piece: { form: 'bowl', howMany: 4, payer: HOUSEHOLD }, made: 11, dry: 4 },
  { who: 'Lowell', piece: { form: 'cup', howMany: 2 }, made: 11, dry: 3 },
  { who: 'Noor', piece: { form: 'vase', howMany: 2 }, made: 12, dry: 3 },
  { who: 'Jory', piece: { form: 'cup', howMany: 3 }, made: 10, dry: 3 },
  { who: 'Wren', piece: { form: 'cup', howMany: 6, group: CLASS }, made: 10, dry: 3 },
];

/** Went along, and stands glazed by nobody ever since. */
const STILL_BISQUE: Lot = {
  who: 'Lowell',
  piece: { form: 'beaker', howMany: 2, widthMm: 60, heightMm: 70, clay: 'White stoneware' },
  made: 11,
  dry: 4,
};

/** A glaze that the studio’s buckets did not hold yet. */
const OWN_GLAZE = { own: 'Oat, from the old crock', coneFrom: '5', coneTo: '7' } as const;

const emailOf = (name: DemoName): string => DEMO_PEOPLE.find((one) => one.name === name)?.email ?? '';

/** The first price list, what the studio chose about its fees, and who is no ordinary member. */
export async function openBooks(by: By, { founded, closed }: Books): Promise<void> {
  const maro = by('Maro', founded);
  await changeFeeSettings(maro, {
    ...(await feeSettings(maro)),
    classes: ['member', 'student', 'guest', 'staff'],
    creditLimitMinor: 2000,
    payWords:
      'At the counter in cash or at the card terminal, or by transfer with the code of the statement.',
    wearMinor: { A: 450, B: 300, G: 700 },
  });
  await beginTariff(maro, 'From the beginning', 'volume');
  await changeTariff(maro, 1, () => ({ validFrom: `${closed}-01`, value: PRICES }));
  await putInForce(maro, 1);
  const classes = { Maro: 'staff', Wren: 'staff', Jory: 'student' } as const;
  for (const who of ['Ida', 'Tomas', 'Petra', 'Lowell', 'Noor', 'Jory', 'Wren', 'Maro'] as const) {
    const { number } = await openAccount(maro, emailOf(who));
    if (who in classes) await changeMemberClass(maro, number, classes[who as keyof typeof classes]);
  }
  const group = (await listGroups(maro)).find(({ name }) => name === CLASS);
  if (group) {
    const { number } = await openAccountOf(maro, { kind: 'group', id: group.id });
    await changeMemberClass(maro, number, 'guest');
  }
  await putDown(maro, {
    account: await numberOf(maro, 'Lowell'),
    item: 'RENT',
    fromPeriod: closed,
  });
}

/** The month before last with its bisque firing, closed; and the last one with its glaze firing, over and still open. */
export async function keepBooks(by: By, now: Instant, books: Books): Promise<void> {
  const { closed, last, current, on } = books;
  await chargeDues(by('Maro', on(closed, 2, 10)), closed);
  const numbers = new Map<DemoName, number[]>();
  const bisqueAt = on(closed, 17, 18);
  for (const lot of EARLIER)
    numbers.set(lot.who, [...(numbers.get(lot.who) ?? []), ...(await registerLot(by, lot, bisqueAt))]);
  await registerLot(by, STILL_BISQUE, bisqueAt);
  await charge(by, 'Lowell', on(closed, 9, 15), { item: 'CLAY', quantity: '1' });
  const bisqued = await fire(by, {
    kiln: 'B',
    firing: BISQUE,
    startsAt: bisqueAt,
    peak: 'cone 06',
    isLongAgo: true,
  });
  await empty(by, bisqued);
  await payAll(by, 'Petra', on(closed, 25, 17), 'cash');
  await charge(by, 'Jory', on(closed, 26, 12), { item: 'POWDER', quantity: '0.4' });
  await closeMonth(by('Maro', on(last, 2, 20)), closed);

  await chargeDues(by('Maro', on(last, 2, 21)), last);
  for (const [who, own] of numbers) {
    await movePieces(by(who, on(last, 3, 16)), 'glazes', own, { glazes: [OWN_GLAZE] });
    await movePieces(by(who, on(last, 4, 16)), 'hand-in', own, { heldBack: true });
    await movePieces(by('Wren', on(last, 4, 17)), 'yes', own, { trayMm: 5 });
  }
  await payAll(by, 'Ida', on(last, 5, 18), 'transfer', 'Ida, bisque and dues');
  await charge(by, 'Noor', on(last, 6, 11), { item: 'CARD', quantity: '1' });
  await payAll(by, 'Noor', on(last, 6, 11), 'card-terminal', 'Slip 0412');
  await payAll(by, 'Jory', on(last, 8, 19), 'cash');
  await credit(by, 'Jory', on(last, 9, 18), {
    for: 'work',
    hours: '1.5',
    reason: 'Washed the shelves and the floor of the kiln room.',
  });
  const glazed = await fire(by, {
    kiln: 'A',
    firing: GLAZE,
    startsAt: on(last, 13, 18),
    peak: 'cone 6',
    isLongAgo: true,
  });
  const [, , , , bowl = 0] = numbers.get('Ida') ?? [];
  await empty(by, glazed, {
    piece: bowl,
    outcome: 'bloat',
    note: 'Kiln wash fell into it from the shelf above.',
    studiosFault: true,
  });
  for (const [who, own] of numbers)
    await movePieces(
      by(who, on(last, 16, 17)),
      'pick-up',
      own.filter((number) => number !== bowl),
      {},
    );
  await pay(by, 'Lowell', on(last, 18, 18), {
    amountMinor: 11_500,
    how: 'transfer',
    reference: 'Lowell, a bit ahead',
  });
  await payClass(by, on(last, 19, 12));
  await credit(by, 'Noor', on(last, 20, 12), {
    for: 'goodwill',
    amountMinor: 250,
    reason: 'Her vases waited a firing longer than they should have.',
  });
  await payAll(by, 'Ida', on(last, 23, 18), 'transfer', 'Ida, glaze and dues');
  await payAll(by, 'Petra', on(last, 24, 17), 'transfer', 'Weir Cottage');
  await chargeDues(by('Maro', Math.min(on(current, 1, 8), now - HOUR)), current);
}

/** What happened this week: money at the counter, a shelf that waits for a manager's yes, and the next price list. */
export async function keepBooksLately(by: By, now: Instant, { current, on }: Books): Promise<void> {
  const paid = await owing(by('Wren', now - 3 * DAY), 'Jory');
  if (paid > 500n)
    await pay(by, 'Jory', now - 3 * DAY, { amountMinor: 500, how: 'cash', note: 'The rest next week.' });
  await charge(by, 'Tomas', now - 2 * DAY, {
    item: 'RUINED',
    quantity: '1',
    reason: 'His vase ran past its tray and took a half shelf of Anvil with it.',
  });
  const maro = by('Maro', now - DAY);
  const number = await beginTariff(maro, 'Dearer power', 1);
  await changeTariff(maro, number, ({ value }) => ({
    validFrom: toWallTime(on(monthAfter(current), 1, 9), 'UTC').slice(0, 10),
    value: {
      ...value,
      minimumMinor: 90,
      lines: value.lines.map((line) =>
        line.basis.by === 'volume'
          ? { ...line, basis: { ...line.basis, minorPer: line.code === 'BISQUE' ? '129.6' : '205.2' } }
          : line,
      ),
    },
  }));
}

type Reading = ReturnType<By>;

const numberOf = async (read: Reading, who: DemoName): Promise<number> =>
  (await findAccount(read, emailOf(who))).number;

const owing = async (read: Reading, who: DemoName): Promise<bigint> =>
  (await standingOf(read, await findAccount(read, emailOf(who)))).balanceMinor;

/** Things sold or ruined, written down by Wren. */
async function charge(by: By, who: DemoName, at: Instant, item: z.input<typeof chargeForm>): Promise<void> {
  const wren = by('Wren', at);
  await chargeByHand(wren, await numberOf(wren, who), chargeForm.parse(item));
}

async function credit(by: By, who: DemoName, at: Instant, given: z.input<typeof creditForm>): Promise<void> {
  const wren = by('Wren', at);
  await creditByHand(wren, await numberOf(wren, who), creditForm.parse(given));
}

async function pay(by: By, who: DemoName, at: Instant, paid: z.input<typeof paymentForm>): Promise<void> {
  const wren = by('Wren', at);
  await recordPayment(wren, await numberOf(wren, who), paymentForm.parse(paid));
}

type How = z.input<typeof paymentForm>['how'];

/** All that somebody owes, and a household of theirs. */
async function payAll(by: By, who: DemoName, at: Instant, how: How, reference?: string): Promise<void> {
  const wren = by('Wren', at);
  for (const account of await ownAccounts(by(who, at))) await settle(wren, account, how, reference);
}

async function payClass(by: By, at: Instant): Promise<void> {
  const wren = by('Wren', at);
  for (const account of (await ownAccounts(wren)).filter(({ name }) => name === CLASS))
    await settle(wren, account, 'transfer', CLASS);
}

async function settle(act: Reading, account: Payer, how: How, reference?: string): Promise<void> {
  const { balanceMinor } = await standingOf(act, account);
  if (balanceMinor > 0n)
    await recordPayment(
      act,
      account.number,
      paymentForm.parse({ amountMinor: Number(balanceMinor), how, reference }),
    );
}

/** A load comes out well, but for what is said of one piece. */
async function empty(
  by: By,
  { load, offAt }: Fired,
  exception?: NonNullable<z.input<typeof unloadForm>['exceptions']>[number],
): Promise<void> {
  const wren = by('Wren', offAt + 36 * HOUR);
  await openKiln(wren, load, { celsius: 58, how: 'opened' });
  await unloadKiln(wren, load, unloadForm.parse({ celsius: 40, exceptions: exception ? [exception] : [] }));
}
