import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { feeEntries } from '../../server/fees/schema.ts';
import { previewTariff } from '../../server/fees/service/preview.ts';
import {
  beginTariff,
  changeTariff,
  findTariff,
  listTariffs,
  putInForce,
  tariffOn,
} from '../../server/fees/service/tariffs.ts';
import { emptied } from '../helpers/firing.ts';
import { aClay, GLAZE, readAs, readyPieces } from '../helpers/loads.ts';
import { loadedWith } from '../helpers/price-lists.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let maro: Person;
let ida: Person;
let wren: Person;
beforeAll(async () => {
  s = await aStudio();
  ({ manager: maro, member: ida, technician: wren } = s.people);
});

const today = (days = 0) =>
  new Intl.DateTimeFormat('sv-SE', { timeZone: 'Europe/London' }).format(s.clock.now() + days * DAY);
const draft = (from: string, until: string | null = null, start: 'volume' | 'size' | 'cost' = 'volume') =>
  s.as(maro, async (act) => {
    const number = await beginTariff(act, 'Prices', start);
    await changeTariff(act, number, () => ({ validFrom: from, validUntil: until }));
    return number;
  });
const inForce = async (...days: Parameters<typeof draft>) => {
  const number = await draft(...days);
  await s.as(maro, (act) => putInForce(act, number));
  return number;
};
const counting = async (day: string) => (await tariffOn(readAs(s, ida), day))?.number ?? null;

describe('price lists in force', () => {
  it('the first may begin earlier; later ones from today on, and never with a gap', async () => {
    expect((await s.visit(ida, '/fees/prices')).body).toContain('No price list is in force');
    const first = await inForce(today(-100));
    expect(await counting(today(-101))).toBeNull();
    expect(await counting(today(-100))).toBe(first);
    expect(await counting(today())).toBe(first);

    const past = await draft(today(-1));
    await expect(s.as(maro, (act) => putInForce(act, past))).rejects.toMatchObject({
      status: 422,
      errors: [{ path: 'validFrom' }],
    });
    // The first has no last day, so that it counts again after a summer list.
    const summer = await inForce(today(10), today(20));
    expect(await counting(today(20))).toBe(summer);
    expect(await counting(today(21))).toBe(first);
    const newer = await inForce(today(10), today(20));
    expect(await counting(today(15))).toBe(newer);
    // Put in force once.
    await expect(s.as(maro, (act) => putInForce(act, first))).rejects.toMatchObject({ status: 409 });
  });

  it('a list with an end and nothing after it is refused', async () => {
    const other = await aStudio();
    const boss = other.people.manager;
    const make = (from: string, until: string | null) =>
      other.as(boss, async (act) => {
        const number = await beginTariff(act, 'Prices', 'size');
        await changeTariff(act, number, () => ({ validFrom: from, validUntil: until }));
        await putInForce(act, number);
      });
    await expect(make(today(), today(30))).rejects.toMatchObject({
      status: 422,
      errors: [{ path: 'validUntil' }],
    });
    await expect(make(today(), today(-1))).rejects.toMatchObject({ status: 422 });
    await make(today(), null);
    expect(await listTariffs(readAs(other, boss))).toHaveLength(1);
  });

  it('never change again, in the app or by SQL as its role', async () => {
    const number = await inForce(today(30));
    await expect(
      s.as(maro, (act) => changeTariff(act, number, () => ({ name: 'Other' }))),
    ).rejects.toMatchObject({ status: 409 });
    for (const part of ['', '/lines', '/factors', '/items'])
      expect((await s.visit(maro, `/fees/prices/${number}/edit${part}`)).statusCode).toBe(409);
    const sql = postgres(s.services.config.databaseUrl as string, { max: 1, onnotice: () => {} });
    try {
      for (const attempt of [
        `update tariffs set value = '{}' where number = ${number}`,
        `update tariffs set valid_until = '2000-01-01' where number = ${number}`,
        `update tariffs set in_force_at = null where number = ${number}`,
        `delete from tariffs where number = ${number}`,
      ])
        await expect(sql.unsafe(attempt)).rejects.toThrow(/in force|permission/);
    } finally {
      await sql.end();
    }
    expect((await findTariff(readAs(s, ida), number)).name).toBe('Prices');
  });
});

describe('two managers at once', () => {
  it('nobody writes over a draft that the other changed, or puts in force what they did not look at', async () => {
    const made = await s.submit(maro, '/fees/prices/new', { name: 'Two at once', start: 'volume' });
    const at = String(made.headers.location).split('?')[0] as string;
    const seenOn = async (url: string) =>
      /name="seen" value="([^"]+)"/.exec((await s.visit(maro, url)).body)?.[1] ?? '';
    const factor = (times: string) => ({ name1: 'Reduction', factor1: times });
    const [seen, looked] = [await seenOn(`${at}/edit/factors`), await seenOn(`${at}/in-force`)];
    const send = (times: string, shown: string) =>
      s.submit(maro, `${at}/edit/factors`, { ...factor(times), seen: shown });
    expect((await send('1.25', seen)).statusCode).toBe(303);
    const late = await send('2', seen);
    expect(late.statusCode).toBe(409);
    expect(late.body).toContain('Somebody changed this draft');
    expect(late.body).toContain('value="2"');
    const put = await s.submit(maro, `${at}/in-force`, { sure: 'yes', seen: looked });
    expect(put.statusCode).toBe(409);
    const number = Number(at.split('/').at(-1));
    expect(await findTariff(readAs(s, maro), number)).toMatchObject({
      isInForce: false,
      value: { factors: [{ factor: '1.25' }] },
    });
    const again = /name="seen" value="([^"]+)"/.exec(late.body)?.[1] ?? '';
    expect((await send('2', again)).statusCode).toBe(303);
  });
});

describe('the pages', () => {
  it('a manager makes a list without scripts, part by part, and puts it in force', async () => {
    const made = await s.submit(maro, '/fees/prices/new', { name: 'Autumn', start: 'size' });
    const at = String(made.headers.location).split('?')[0] as string;
    const lines = {
      name1: 'Glaze firing',
      code1: 'GLAZE',
      way1: 'volume:litre',
      rate1: '3,60',
      name2: 'Rest',
      code2: 'REST',
      way2: 'included',
    };
    const more = await s.submit(maro, `${at}/edit/lines`, { ...lines, way2: 'shelf', more: 'yes' });
    expect(more.statusCode).toBe(200);
    expect(more.body).toContain('name="half2"');
    expect((await s.submit(maro, `${at}/edit/lines`, lines)).statusCode).toBe(303);
    expect(
      (
        await s.submit(maro, `${at}/edit/items`, {
          name1: 'Clay',
          code1: 'CLAY',
          kind1: 'sale',
          unit1: 'bag',
          minor1: '12.50',
          litres1: '10',
        })
      ).statusCode,
    ).toBe(303);
    expect(
      (
        await s.submit(maro, `${at}/edit/factors`, {
          name1: 'Reduction',
          factor1: '1.25',
          atmosphere1: 'reduction',
        })
      ).statusCode,
    ).toBe(303);
    const rules = {
      name: 'Autumn prices',
      validFrom: today(40),
      rounding: 'half-up',
      step: '0.05',
      minimum: '0.50',
      tax: 'included',
      taxPercent: '20',
      lossPercent: '100',
      lossOf: 'every-firing',
      free2: '5',
    };
    expect((await s.submit(maro, `${at}/edit`, rules)).statusCode).toBe(303);
    const number = Number(at.split('/').at(-1));
    const { value, name } = await findTariff(readAs(s, maro), number);
    expect(name).toBe('Autumn prices');
    expect(value).toMatchObject({
      stepMinor: 5,
      minimumMinor: 50,
      tax: { percent: '20', included: true },
      monthly: [{ memberClass: 'student', litres: '5' }],
      lines: [{ basis: { by: 'volume', minorPer: '360', unit: 'litre' } }, { basis: { by: 'included' } }],
      items: [{ code: 'CLAY', minor: 1250, litres: '10' }],
      factors: [{ factor: '1.25', atmosphere: 'reduction' }],
    });
    // A draft is nobody's but the managers'.
    expect((await s.visit(ida, at)).statusCode).toBe(404);
    for (const part of ['', '/edit', '/edit/lines', '/edit/items', '/edit/factors', '/preview', '/in-force'])
      expect((await s.visit(maro, at + part)).statusCode).toBe(200);
    expect((await s.submit(maro, `${at}/in-force`, {})).statusCode).toBe(422);
    expect((await s.submit(maro, `${at}/in-force`, { sure: 'yes' })).statusCode).toBe(303);
    const seen = await s.visit(ida, at);
    expect(seen.statusCode).toBe(200);
    expect(seen.body).toContain('£3.60 a litre');
    expect(seen.body).toContain('£12.50 a bag, with 10 litres of firing');
    expect((await s.visit(ida, '/fees/prices/all')).body).toContain('Autumn prices');
  });

  it('a draft can be thrown away', async () => {
    const number = await draft(today(50));
    const gone = await s.submit(maro, `/fees/prices/${number}/drop`, {});
    expect(gone.headers.location).toBe('/fees/prices/all?done=dropped');
    expect((await s.visit(maro, `/fees/prices/${number}`)).statusCode).toBe(404);
  });

  it.each([
    '/fees/prices/new',
    '/fees/prices/1/edit',
    '/fees/prices/1/edit/lines',
    '/fees/prices/1/edit/items',
    '/fees/prices/1/edit/factors',
    '/fees/prices/1/in-force',
    '/fees/prices/1/drop',
  ])('neither members nor technicians may: %s', async (address) => {
    for (const person of [ida, wren])
      expect((await s.submit(person, address, { name: 'Mine', start: 'size' })).statusCode).toBe(403);
    expect((await s.visit(ida, '/fees/prices/1/preview')).statusCode).toBe(403);
  });

  it.each<[string, string, Record<string, string>, number]>([
    ['no name', 'new', { start: 'size' }, 422],
    ['a start there is not', 'new', { name: 'X', start: 'moon' }, 422],
    ['a version there is not', 'new', { name: 'X', start: '99999' }, 404],
    ['nothing in it', 'lines', {}, 422],
    ['a price below nothing', 'lines', { name1: 'A', code1: 'A', way1: 'volume:litre', rate1: '-1' }, 422],
    ['a price of nothing', 'lines', { name1: 'A', code1: 'A', way1: 'volume:litre', rate1: '0' }, 422],
    [
      'an absurd price',
      'lines',
      { name1: 'A', code1: 'A', way1: 'volume:litre', rate1: '9'.repeat(40) },
      422,
    ],
    ['words for a price', 'lines', { name1: 'A', code1: 'A', way1: 'weight:kg', rate1: 'cheap' }, 422],
    ['a NUL', 'lines', { name1: 'A\0', code1: 'A', way1: 'included' }, 422],
    [
      'one code twice',
      'lines',
      { name1: 'A', code1: 'A', way1: 'included', name2: 'B', code2: 'a', way2: 'included' },
      422,
    ],
    [
      'a last size with a limit',
      'lines',
      { name1: 'A', code1: 'A', way1: 'size', bandname1x1: 'S', bandto1x1: '5', bandprice1x1: '1' },
      422,
    ],
    ['half a penny', 'items', { name1: 'A', code1: 'X1', kind1: 'sale', unit1: 'kg', minor1: '0.005' }, 422],
    ['a factor of nothing', 'factors', { name1: 'A', factor1: '0' }, 422],
    ['cones the wrong way', 'factors', { name1: 'A', factor1: '2', coneFrom1: '6', coneTo1: '06' }, 422],
    ['a class nobody knows', 'factors', { name1: 'A', factor1: '2', memberClass1: 'ghost' }, 422],
    ['no such day', '', { name: 'A', validFrom: '2026-02-30' }, 422],
  ])('bad input comes back with its reason: %s', async (_, part, fields, status) => {
    const number = await draft(today(60));
    const address = part === 'new' ? '/fees/prices/new' : `/fees/prices/${number}/edit${part && `/${part}`}`;
    const answer = await s.submit(maro, address, fields);
    expect(answer.statusCode).toBe(status);
    if (status === 422) expect(answer.body).toContain('class="error"');
  });

  it.each(['0', '-1', '1e3', 'x', '99999999999', '1%00'])('no such list: %s', async (number) => {
    expect([400, 404]).toContain((await s.visit(maro, `/fees/prices/${number}`)).statusCode);
  });

  it('the API gives members what counts today, and managers every version', async () => {
    const mine = (await s.api(ida, 'GET', '/tariffs')).json();
    expect(mine.tariffs).toHaveLength(1);
    expect(mine.tariffs[0]).toMatchObject({ number: 1, isToday: true, isInForce: true });
    const all = (await s.api(maro, 'GET', '/tariffs')).json();
    expect(all.tariffs.length).toBeGreaterThan(3);
    expect((await s.api(null, 'GET', '/tariffs')).statusCode).toBe(401);
  });
});

describe('a draft on real pieces', () => {
  it('totals are what charging by that list makes them; nothing that was charged changes', async () => {
    const clay = await aClay(s);
    const bowls = (howMany: number) =>
      readyPieces(s, ida, { for: 'glaze', clay, widthMm: 120, heightMm: 90, measured: 'bisque', howMany });
    await bowls(4);
    const before = await loadedWith(s, GLAZE);
    await emptied(s, before);
    const charged = () => s.database.db.select().from(feeEntries).orderBy(feeEntries.number);
    const rows = await charged();
    expect(rows).toHaveLength(4);

    const cost = await draft(today(1), null, 'cost');
    const period = rows[0]?.period as string;
    const looked = await previewTariff(readAs(s, maro), cost, period);
    expect(looked.total.beforeMinor).toBe(rows.reduce((sum, { amountMinor }) => sum + amountMinor, 0n));
    expect(await charged()).toEqual(rows);
    const shown = await s.visit(maro, `/fees/prices/${cost}/preview?month=${period}`);
    expect(shown.statusCode).toBe(200);
    expect(shown.body).toContain('Nothing is charged by looking');

    await s.as(maro, (act) => putInForce(act, cost));
    expect(await charged()).toEqual(rows);
    s.clock.forward(2 * DAY);
    await bowls(4);
    const after = await loadedWith(s, GLAZE);
    await emptied(s, after);
    const anew = (await charged()).filter(({ load }) => load === after);
    expect(anew).toHaveLength(4);
    const sum = anew.reduce((total, { amountMinor }) => total + amountMinor, 0n);
    expect(looked.total.afterMinor).toBe(sum);
    expect((await charged()).filter(({ load }) => load === before)).toEqual(rows);
  });

  it('asks for a month that there is', async () => {
    for (const month of ['2026-13', 'x', '', '1999-01'])
      expect((await s.visit(maro, `/fees/prices/1/preview?month=${month}`)).statusCode).toBe(404);
    expect((await s.visit(maro, '/fees/prices/1/preview?month=2001-01&page=zz')).statusCode).toBe(200);
  });
});
