import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { people } from '../../server/core/schema.ts';
import { monthAfter } from '../../server/fees/ledger.ts';
import { feeBooks, feeEntries } from '../../server/fees/schema.ts';
import { strikeOutEntry } from '../../server/fees/service/by-hand.ts';
import { chargeDues, endStanding, listStanding, putDown } from '../../server/fees/service/dues.ts';
import { payersFor } from '../../server/fees/service/ledger.ts';
import { beginTariff, changeTariff, putInForce } from '../../server/fees/service/tariffs.ts';
import type { Item } from '../../server/fees/tariff.ts';
import { readAs } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let maro: Person;
let wren: Person;
let ida: Person;
let account: number;
let month: string;

const dues = (code: string, minor: number, memberClass: string | null = null): Item => ({
  code,
  name: `The ${code}`,
  kind: 'dues',
  unit: 'month',
  minor,
  litres: null,
  memberClass,
  income: 'dues',
});
const charge = (period: string) => s.as(maro, (act) => chargeDues(act, period));
const entries = (period: string) =>
  s.database.db
    .select()
    .from(feeEntries)
    .where(eq(feeEntries.period, period))
    .orderBy(feeEntries.number)
    .then((rows) => rows.filter(({ kind }) => kind === 'dues'));
const inForce = (items: Item[]) =>
  s.as(maro, async (act) => {
    const number = await beginTariff(act, 'Prices', 'volume');
    const day = new Date(s.clock.now()).toISOString().slice(0, 10);
    await changeTariff(act, number, ({ value }) => ({
      validFrom: day,
      value: { ...value, items, tax: { percent: '20', included: true } },
    }));
    await putInForce(act, number);
  });

beforeAll(async () => {
  s = await aStudio();
  ({ manager: maro, technician: wren, member: ida } = s.people);
  month = new Date(s.clock.now()).toISOString().slice(0, 7);
  const [payer] = await s.as(wren, (act) => payersFor(act, [{ kind: 'person', id: ida.id }]));
  account = payer?.number ?? 0;
});

describe('dues', () => {
  it('need a price list', async () => {
    await expect(charge(month)).rejects.toMatchObject({ status: 409 });
  });

  it('are charged once an account, item and month, however often it is asked for', async () => {
    await inForce([dues('SHELF', 600)]);
    const down = { account: String(account), item: 'SHELF', fromPeriod: month };
    expect((await s.submit(wren, '/fees/dues', down)).headers.location).toBe('/fees/dues?done=down');
    expect((await s.submit(wren, '/fees/dues', down)).statusCode).toBe(409);
    expect(await charge(month)).toEqual({ charged: 1, already: 0, missing: [] });
    expect(await charge(month)).toEqual({ charged: 0, already: 1, missing: [] });
    const both = await Promise.all([charge(monthAfter(month)), charge(monthAfter(month))]);
    expect(both.map(({ charged }) => charged).sort()).toEqual([0, 1]);
    // £6.00 with 20 % in it: 600 ÷ 1.2 = 500 net, 100 tax.
    expect(await entries(month)).toMatchObject([
      { amountMinor: 600n, netMinor: 500n, taxMinor: 100n, line: 'SHELF', period: month },
    ]);
    const answer = await s.submit(maro, '/fees/dues/charge', { period: month });
    expect(answer.headers.location).toBe('/fees/dues?done=charged&charged=0&already=1');
    expect((await s.visit(maro, String(answer.headers.location))).body).toContain('0 new.');
  });

  it('of a class are charged to every active person of it, who has an account from then on', async () => {
    const gone = await s.aPerson();
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, gone.id));
    await inForce([dues('SHELF', 600), dues('CLUB', 2500, 'member'), dues('GUEST', 900, 'guest')]);
    // Ida, Wren and Maro are in the first class, since nobody put them in another. The list is today's; where today
    // is not the first of the month the one before counts for it, so next month but one is looked at from there.
    const period = monthAfter(month);
    const done = await charge(period);
    expect(done).toEqual({ charged: 3, already: 1, missing: [] });
    expect((await entries(period)).filter(({ line }) => line === 'CLUB')).toHaveLength(3);
    expect((await entries(period)).some(({ line }) => line === 'GUEST')).toBe(false);
  });

  it('end with a month; what was charged stays', async () => {
    const [standing] = await listStanding(readAs(s, wren));
    const id = standing?.id ?? 0;
    await expect(s.as(wren, (act) => endStanding(act, id, monthAfter(month, -2)))).rejects.toMatchObject({
      status: 422,
    });
    const ended = await s.submit(wren, `/fees/dues/${id}/end`, { untilPeriod: month });
    expect(ended.headers.location).toBe('/fees/dues?done=ended');
    const before = await entries(monthAfter(month));
    await charge(monthAfter(month));
    expect(await entries(monthAfter(month))).toEqual(before);
    // From the month after on it may be put down again.
    await s.as(wren, (act) => putDown(act, { account, item: 'SHELF', fromPeriod: monthAfter(month) }));
  });

  it('say what the list does not have any more', async () => {
    s.clock.forward(40 * 86_400_000);
    await inForce([dues('CLUB', 2500, 'member')]);
    const now = new Date(s.clock.now()).toISOString().slice(0, 7);
    const { missing } = await charge(monthAfter(now));
    expect(missing).toEqual(['SHELF']);
  });

  it('put down for months ahead can be taken back', async () => {
    const fromPeriod = monthAfter(month, 6);
    await s.as(wren, (act) => putDown(act, { account, item: 'CLUB', fromPeriod }));
    const [standing] = await listStanding(readAs(s, wren));
    const page = (await s.visit(wren, '/fees/dues')).body;
    const form = page.slice(page.indexOf(`action="/fees/dues/${standing?.id}/end"`));
    expect(form).toContain('Take it back');
    const untilPeriod = /name="untilPeriod" value="([^"]+)"/.exec(form)?.[1] ?? '';
    const ended = await s.submit(wren, `/fees/dues/${standing?.id}/end`, { untilPeriod });
    expect(ended.headers.location).toBe('/fees/dues?done=ended');
  });

  it('struck out before their month has begun, go back in that month', async () => {
    const ahead = monthAfter(new Date(s.clock.now()).toISOString().slice(0, 7));
    const [one] = (await entries(ahead)).filter(({ line }) => line === 'CLUB');
    const posted = await s.as(maro, (act) => strikeOutEntry(act, one?.number ?? 0, { reason: 'away' }));
    expect(posted.period).toBe(ahead);
  });

  it('are not charged for a month that is closed, nor for one far ahead or before there was a price list', async () => {
    const now = new Date(s.clock.now()).toISOString().slice(0, 7);
    await expect(charge(monthAfter(month, -1))).rejects.toMatchObject({ status: 422 });
    await expect(charge(monthAfter(now, 2))).rejects.toMatchObject({ status: 422 });
    await s.database.db.update(feeBooks).set({ closedThrough: now });
    await expect(charge(now)).rejects.toMatchObject({ status: 409 });
    await s.database.db.update(feeBooks).set({ closedThrough: null });
  });

  it('are no member’s to see, and only a manager’s to charge', async () => {
    expect((await s.visit(ida, '/fees/dues')).statusCode).toBe(403);
    expect((await s.submit(ida, '/fees/dues', {})).statusCode).toBe(403);
    expect((await s.submit(wren, '/fees/dues/charge', { period: month })).statusCode).toBe(403);
    expect((await s.visit(wren, '/fees/dues')).statusCode).toBe(200);
  });

  it.each<[string, string, Record<string, string>, number]>([
    ['no such account', '/fees/dues', { account: '9999', item: 'CLUB', fromPeriod: '2026-01' }, 404],
    ['an account below nothing', '/fees/dues', { account: '-1', item: 'CLUB', fromPeriod: '2026-01' }, 422],
    ['no such item', '/fees/dues', { account: '1', item: 'MOON', fromPeriod: '2026-01' }, 422],
    ['no such month', '/fees/dues', { account: '1', item: 'CLUB', fromPeriod: '2026-13' }, 422],
    ['a month of words', '/fees/dues/charge', { period: 'May' }, 422],
    ['nothing', '/fees/dues/charge', {}, 422],
    ['no such standing charge', '/fees/dues/99999/end', { untilPeriod: '2026-01' }, 404],
    ['a number that is none', '/fees/dues/x/end', { untilPeriod: '2026-01' }, 404],
  ])('bad input: %s', async (_, address, fields, status) => {
    expect((await s.submit(maro, address, fields)).statusCode).toBe(status);
  });
});
