import { DAY, type Instant } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { monthAfter } from '../../server/fees/ledger.ts';
import { changeMemberClass, openAccount, openAccountOf } from '../../server/fees/service/accounts.ts';
import {
  chargeByHand,
  chargeForm,
  creditByHand,
  creditForm,
  paymentForm,
  recordPayment,
  strikeOutEntry,
} from '../../server/fees/service/by-hand.ts';
import { chargeDues, endStanding, listStanding, putDown } from '../../server/fees/service/dues.ts';
import { listEntries } from '../../server/fees/service/entries.ts';
import { closeMonth, reopenMonth } from '../../server/fees/service/months.ts';
import { remind } from '../../server/fees/service/reminders.ts';
import { decideRequest, decisionForm } from '../../server/fees/service/requests.ts';
import { changeFeeSettings, feeSettings } from '../../server/fees/service/settings.ts';
import { beginTariff, changeTariff, putInForce } from '../../server/fees/service/tariffs.ts';
import type { Item, Line, Tariff } from '../../server/fees/tariff.ts';
import type { Studio } from '../helpers/studio.ts';
import { past } from './full-ware.ts';

/** What stands for a parameter in the address of a page about fees. */
export interface FeeThings {
  /** Numbers of price lists: one in force, one of every way of pricing, two drafts. */
  lists: Record<'inForce' | 'later' | 'odd' | 'plain', number>;
  /** Accounts by how they stand. */
  accounts: Record<'owing' | 'credit' | 'household' | 'nothing', number>;
  entries: Record<'charge' | 'struck' | 'strike' | 'payment' | 'credit' | 'dues' | 'firing', number>;
  requests: Record<'damage' | 'credit' | 'yes' | 'no', number>;
  /** Months: one that was closed, opened and closed again, one that is to be closed, and this one. */
  months: Record<'closed' | 'last' | 'current', string>;
  standing: number;
}

const dayOf = (at: Instant): string => toWallTime(at, 'Europe/London').slice(0, 10);

const item = (code: string, kind: Item['kind'], name: string, more: Partial<Item> = {}): Item => ({
  ...{
    code,
    kind,
    name,
    unit: 'piece',
    minor: 123_456,
    litres: null,
    memberClass: null,
    income: 'other' as const,
  },
  ...more,
});

const line = (code: string, name: string, kinds: Line['kinds'], basis: Line['basis']): Line => ({
  code,
  name,
  kinds,
  basis,
});

const everyItem = (name: string): Item[] => [
  item('CLAY', 'sale', name, { unit: 'bag', litres: '12.5' }),
  item('CARD', 'card', `Card ${name}`, { litres: '20' }),
  item('DUES', 'dues', name, { memberClass: 'member', unit: 'month' }),
  item('RENT', 'dues', `Rent ${name}`, { unit: 'month' }),
  item('HIRE', 'hire', name),
  item('SHELF', 'damage', name, { minor: 4500 }),
  item('HOUR', 'work', name, { unit: 'hour', minor: 1100 }),
];

const everyFactor = (name: string): Tariff['factors'] => [
  {
    name,
    factor: '1.25',
    kinds: ['glaze'],
    coneFrom: '1',
    coneTo: '10',
    atmosphere: 'reduction',
    memberClass: 'student',
  },
  { name: 'Hot', factor: '1.1', kinds: [], coneFrom: '9', coneTo: null, atmosphere: null, memberClass: null },
];

/** Every rule there is; the lines are the ways of pricing. */
const fullList = (name: string, lines: Line[]): Tariff => ({
  v: 1,
  rounding: 'half-even',
  stepMinor: 5,
  minimumMinor: 50,
  tax: { percent: '20', included: true },
  lines,
  factors: everyFactor(name),
  rush: { withinDays: 5, percent: '25' },
  monthly: [{ memberClass: 'student', litres: '1.5' }],
  items: everyItem(name),
  lossPercent: '50',
  lossOf: 'every-firing',
});

const sizes = (name: string): Line['basis'] => ({
  by: 'size',
  bands: [
    { name: 'Small', upToCm3: 900, minor: 100 },
    { name: name.slice(0, 40), upToCm3: 4000, minor: 1_000_000 },
    { name: 'Large', upToCm3: null, minor: 999_999_999 },
  ],
});
const VOLUME: Line['basis'] = { by: 'volume', minorPer: '312.5', unit: 'litre' };
const SHELF: Line['basis'] = {
  by: 'shelf',
  halfMinor: 600,
  shelfMinor: 1000,
  loadMinor: 5000,
  halfShelfCm2: 1200,
  halvesALoad: 8,
};
const COST: Line['basis'] = {
  by: 'cost',
  minorPerKwh: '28.5',
  wearMinor: 700,
  fuelMinor: 3000,
  usualKwh: 70,
  usualLitres: 90,
};

/** Long before anything is fired: a price list, so that whatever is fired is charged, and what a studio chooses. */
export async function somePrices(studio: Studio, name: string): Promise<void> {
  const then = past(studio, 80 * DAY);
  await then.as(studio.people.manager, async (act) => {
    await changeFeeSettings(act, {
      ...(await feeSettings(act)),
      classes: ['member', 'student', name.slice(0, 30)],
      payWords: `To the account of ${name}, with the code of the statement.`,
      wearMinor: { ROUND: 400 },
    });
    const number = await beginTariff(act, name, 'volume');
    await changeTariff(act, number, () => ({
      validFrom: dayOf(act.now),
      value: fullList(name, [
        line('BISQUE', name, ['bisque'], { by: 'volume', minorPer: '120', unit: 'litre' }),
        line('GLAZE', `Glaze ${name}`, [], VOLUME),
      ]),
    }));
    await putInForce(act, number);
  });
}

/** What a studio's fees consist of; `name` is the longest that a name may be and has no blank. */
export async function someFees(studio: Studio, name: string, household: number): Promise<FeeThings> {
  const { manager, technician, member } = studio.people;
  const at = (days: number) => past(studio, days * DAY);
  const current = dayOf(studio.clock.now()).slice(0, 7);
  const last = monthAfter(current, -1);
  const closed = monthAfter(current, -2);
  /** Days since the tenth of a month, or of none that lies ahead. */
  const since = (period: string): number =>
    Math.max(0.5, Math.floor((studio.clock.now() - Date.parse(`${period}-10T12:00:00Z`)) / DAY));

  const accounts = await studio.as(manager, async (act) => ({
    owing: (await openAccount(act, member.email)).number,
    credit: (await openAccount(act, technician.email)).number,
    household: (await openAccountOf(act, { kind: 'group', id: household })).number,
    nothing: (await openAccount(act, manager.email)).number,
  }));
  await studio.as(manager, async (act) => {
    await changeMemberClass(act, accounts.credit, 'student');
    await putDown(act, { account: accounts.household, item: 'RENT', fromPeriod: closed });
    await putDown(act, { account: accounts.owing, item: 'RENT', fromPeriod: closed });
  });
  const standing = (await studio.as(manager, (act) => listStanding(act)))[0]?.id ?? 0;

  const write = (days: number, account: number, charge: object, who = technician) =>
    at(days).as(who, async (act) => {
      const written = await chargeByHand(act, account, chargeForm.parse(charge));
      return 'entry' in written ? written.entry.number : written.request;
    });
  const pay = (days: number, account: number, amountMinor: number) =>
    at(days).as(technician, async (act) => {
      const paid = { amountMinor, how: 'transfer', reference: name, note: name };
      return (await recordPayment(act, account, paymentForm.parse(paid))).number;
    });
  const give = (days: number, account: number, credit: object, who = technician) =>
    at(days).as(who, async (act) => {
      const written = await creditByHand(act, account, creditForm.parse({ reason: name, ...credit }));
      return 'entry' in written ? written.entry.number : written.request;
    });

  const charge = await write(since(closed), accounts.owing, { amountMinor: 1_234_567, reason: name });
  await write(since(closed), accounts.household, { item: 'CLAY', quantity: '3' });
  const payment = await pay(since(closed), accounts.credit, 9_000_000);
  await studio.as(manager, async (act) => {
    await chargeDues(act, closed);
    await closeMonth(act, closed, { confirm: true });
    await reopenMonth(act, closed, { reason: name });
  });
  await write(since(closed), accounts.household, { item: 'CARD', quantity: '1', reason: name });
  await studio.as(manager, (act) => closeMonth(act, closed, { confirm: true }));

  const struck = await write(since(last), accounts.owing, { amountMinor: 500, reason: name });
  const strike = await studio.as(
    manager,
    async (act) => (await strikeOutEntry(act, struck, { reason: name })).number,
  );
  const credit = await give(since(last), accounts.owing, {
    for: 'goodwill',
    amountMinor: 100,
    about: charge,
  });
  await give(since(last), accounts.credit, { for: 'work', hours: '1.5' });
  await studio.as(manager, (act) => chargeDues(act, last));
  const dues = await studio.as(manager, async (act) => {
    const written = await listEntries(act, { period: last, limit: 500 });
    return written.find(({ kind }) => kind === 'dues')?.number ?? 0;
  });
  const firing = await studio.as(manager, async (act) => {
    const written = await listEntries(act, { limit: 500 });
    return written.find(({ kind }) => kind === 'firing')?.number ?? 0;
  });

  const asks = (reason = name) => write(1, accounts.owing, { item: 'SHELF', quantity: '1', reason });
  const requests = {
    damage: await asks(),
    credit: await give(1, accounts.household, { for: 'write-off', amountMinor: 999_999 }),
    yes: await asks(),
    no: await asks(),
  };
  await studio.as(manager, async (act) => {
    await decideRequest(act, requests.yes, decisionForm.parse({ decision: 'yes', word: name }));
    await decideRequest(act, requests.no, decisionForm.parse({ decision: 'no', word: name }));
    await remind(act, { account: accounts.owing });
  });
  const [ended] = await studio.as(manager, (act) => listStanding(act));
  await studio.as(manager, (act) => endStanding(act, ended?.id ?? standing, current));
  const entries = { charge, struck, strike, payment, credit, dues, firing };
  const months = { closed, last, current };
  return { lists: await someLists(studio, name), accounts, entries, requests, months, standing };
}

async function someLists(studio: Studio, name: string): Promise<FeeThings['lists']> {
  return studio.as(studio.people.manager, async (act) => {
    const begin = async (days: number, lines: Line[]) => {
      const number = await beginTariff(act, name, 1);
      await changeTariff(act, number, () => ({
        validFrom: dayOf(act.now + days * DAY),
        value: fullList(name, lines),
      }));
      return number;
    };
    const odd = await begin(200, [
      line('SIZE', name, ['glaze'], sizes(name)),
      line('HALF', name, ['bisque'], SHELF),
      line('COST', name, ['lustre'], COST),
      line('KILO', name, ['other'], { by: 'weight', minorPer: '950', unit: 'kg' }),
    ]);
    const plain = await begin(-3, [
      line('AREA', name, ['glaze'], { by: 'area', minorPer: '2.5', unit: 'cm2' }),
      line('FREE', name, ['bisque'], { by: 'included' }),
    ]);
    const later = await begin(100, [line('LATER', name, [], VOLUME)]);
    await putInForce(act, later);
    return { inForce: 1, later, odd, plain };
  });
}
