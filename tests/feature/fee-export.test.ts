import { Readable } from 'node:stream';
import { setTimeout } from 'node:timers/promises';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Executor } from '../../server/core/database.ts';
import { chargesCsv, journalCsv, reconcile, summaryCsv } from '../../server/fees/service/export.ts';
import { payersFor, post, strikeOut } from '../../server/fees/service/ledger.ts';
import { entryByNumber } from '../../server/fees/store/ledger.ts';
import { parseCsv } from '../helpers/csv.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let day: string;
const HOSTILE = '=cmd|\' /C calc\'!A0,"x"';
beforeAll(async () => {
  s = await aStudio();
  day = new Date(s.clock.now()).toISOString().slice(0, 10);
  const hostile = await s.aPerson('member', HOSTILE);
  await s.as(s.people.technician, async (act) => {
    const [ida, odd] = await payersFor(
      act,
      [s.people.member, hostile].map(({ id }) => ({ kind: 'person' as const, id })),
    );
    if (!ida || !odd) throw new Error('no payers');
    const happenedAt = act.now;
    await post(act, [
      // 3.50 net and 0.70 tax; 10.00 and 2.00; 0.01 without tax; 12.00 paid.
      {
        kind: 'firing',
        accountId: ida.id,
        against: 'income:firing',
        netMinor: 350n,
        taxMinor: 70n,
        happenedAt,
        line: 'VOL',
        cm3: 1234,
        payload: { name: 'By volume', widthMm: 90, depthMm: 91, heightMm: 151, memberClass: 'student' },
      },
      {
        kind: 'sale',
        accountId: odd.id,
        against: 'income:clay',
        netMinor: 1000n,
        taxMinor: 200n,
        happenedAt,
        note: '+1, "two"',
      },
      { kind: 'charge', accountId: odd.id, against: 'income:other', netMinor: 1n, taxMinor: 0n, happenedAt },
      {
        kind: 'payment',
        accountId: odd.id,
        against: 'payment:cash',
        netMinor: -1200n,
        taxMinor: 0n,
        happenedAt,
      },
      {
        kind: 'firing',
        accountId: ida.id,
        against: 'income:firing',
        netMinor: 100n,
        taxMinor: 20n,
        happenedAt,
        cm3: 500,
      },
      // Of another day and month.
      {
        kind: 'charge',
        accountId: ida.id,
        against: 'income:other',
        netMinor: 5n,
        taxMinor: 0n,
        happenedAt: Date.UTC(2020, 4, 5, 12),
      },
    ]);
    const struck = await entryByNumber(act.tx, 5);
    if (struck) await strikeOut(act, struck, 'Charged twice.');
  });
});

const read = (person: Person = s.people.manager) => ({
  tx: s.database.db,
  actor: person.caller,
  now: s.clock.now(),
});
const span = (from = day, to = day) => ({ from, to, by: 'day' as const });
async function table(lines: AsyncIterable<string>, delimiter = ',') {
  let text = '';
  for await (const part of lines) text += part;
  expect(text.startsWith('\uFEFF')).toBe(true);
  const [header = [], ...rows] = parseCsv(text.slice(1), delimiter);
  for (const row of rows) expect(row).toHaveLength(header.length);
  return rows.map((row) => Object.fromEntries(header.map((name, i) => [name, row[i] ?? ''])));
}
const minor = (text: string | undefined) => BigInt((text ?? '').replace(/[.,]/, '') || '0');
const sum = (rows: Record<string, string>[], column: string) =>
  rows.reduce((all, row) => all + minor(row[column]), 0n);

describe('the fees as a file', () => {
  it('has every entry of the days in order, in major units, and no formula', async () => {
    const rows = await table(await chargesCsv(read(), span()));
    expect(rows.map(({ number }) => number)).toEqual(['1', '2', '3', '4', '5', '7']);
    expect(rows[0]).toMatchObject({
      day,
      month: day.slice(0, 7),
      kind: 'firing',
      name: 'Ida',
      'member class': 'student',
      'width mm': '90',
      'depth mm': '91',
      'height mm': '151',
      line: 'VOL',
      what: 'By volume',
      litres: '1.234',
      net: '3.50',
      tax: '0.70',
      amount: '4.20',
      currency: 'GBP',
    });
    expect(rows[1]).toMatchObject({ name: `'${HOSTILE}`, note: `'+1, "two"` });
    expect(rows[3]?.amount).toBe('-12.00');
    expect(rows[4]?.['struck out by']).toBe('7');
    expect(rows[5]).toMatchObject({ corrects: '5', litres: '-0.5', amount: '-1.20', note: 'Charged twice.' });
    // 4.20 + 12.00 + 0.01 − 12.00 + 1.20 − 1.20 = 4.21
    expect(sum(rows, 'amount')).toBe(421n);
  });

  it.each([
    [';', ',', '-12,00'],
    ['\t', ',', '-12,00'],
    [',', ',', '-12,00'],
    [';', '.', '-12.00'],
  ] as const)(
    'is written with %j between cells and %j before decimals',
    async (delimiter, decimal, amount) => {
      const rows = await table(await chargesCsv(read(), { ...span(), delimiter, decimal }), delimiter);
      expect(rows[3]?.amount).toBe(amount);
      expect(rows[1]?.name).toBe(`'${HOSTILE}`);
    },
  );

  it('goes by the month an entry stands in where that is asked for', async () => {
    const rows = await table(await chargesCsv(read(), { from: '2020-05-31', to: '2020-05-31', by: 'month' }));
    expect(rows.map(({ number }) => number)).toEqual(['6']);
    expect(await table(await chargesCsv(read(), span('2020-05-31', '2020-05-31')))).toEqual([]);
  });
});

it('has an entry whose own month was closed by its day, and by the month it landed in', async () => {
  const late = await aStudio();
  const { manager, member } = late.people;
  const wish = { from: '2020-05-01', to: '2020-05-31' };
  await late.as(manager, async (act) => {
    const [payer] = await payersFor(act, [{ kind: 'person', id: member.id }]);
    await act.tx.execute("update fee_books set closed_through = '2020-05'");
    await post(act, [
      {
        kind: 'charge',
        accountId: payer?.id as number,
        against: 'income:other',
        netMinor: 5n,
        taxMinor: 0n,
        happenedAt: Date.UTC(2020, 4, 5, 12),
      },
    ]);
  });
  const read = { tx: late.database.db, actor: manager.caller, now: late.clock.now() };
  const june = { from: '2020-06-01', to: '2020-06-30' };
  const count = async (of: typeof wish, by: 'day' | 'month') =>
    (await table(await chargesCsv(read, { ...of, by }))).length;
  expect([await count(wish, 'day'), await count(june, 'day')]).toEqual([1, 0]);
  expect([await count(wish, 'month'), await count(june, 'month')]).toEqual([0, 1]);
});

describe('the journal', () => {
  it('has debits that are credits, in every entry and in all, under the studio’s codes', async () => {
    const rows = await table(await journalCsv(read(), span('2020-01-01')));
    expect(sum(rows, 'debit')).toBe(sum(rows, 'credit'));
    for (const entry of new Set(rows.map((row) => row.entry))) {
      const sides = rows.filter((row) => row.entry === entry);
      expect(sum(sides, 'debit'), `entry ${entry}`).toBe(sum(sides, 'credit'));
    }
    expect(rows.filter(({ entry }) => entry === '4')).toMatchObject([
      { 'account code': '1100', name: `'${HOSTILE}`, debit: '', credit: '12.00' },
      { 'account code': '1000', name: '', debit: '12.00', credit: '' },
    ]);
  });
});

describe('the summary', () => {
  it('comes to the ledger’s total in each of its blocks', async () => {
    const rows = await table(await summaryCsv(read(), span()));
    const totals = rows.filter(({ code }) => code === 'total');
    expect(totals.map(({ by }) => by)).toEqual(['member', 'kiln', 'line', 'ledger', 'difference']);
    // Charged 4.20 + 12.00 + 0.01, of it tax 0.70 + 2.00; one firing of 1.234 L is left.
    const whole = { net: '13.51', tax: '2.70', charged: '16.21', paid: '-12.00', change: '4.21' };
    for (const total of totals.slice(0, 4)) expect(total).toMatchObject(whole);
    for (const total of totals.slice(0, 3))
      expect(total).toMatchObject({ entries: '6', firings: '1', litres: '1.234' });
    expect(totals[4]).toMatchObject({
      net: '0.00',
      tax: '0.00',
      charged: '0.00',
      paid: '0.00',
      change: '0.00',
    });
    for (const by of ['member', 'kiln', 'line']) {
      const block = rows.filter((row) => row.by === by && row.code !== 'total');
      expect(sum(block, 'change'), by).toBe(421n);
    }
  });

  it('agrees with the file and the ledger', async () => {
    const found = await reconcile(read(), span('2020-01-01'));
    expect(found).toMatchObject({ entries: 7, entriesMinor: 426n, ledgerMinor: 426n, agrees: true });
    expect(found.summaryMinor).toEqual({ member: 426n, kiln: 426n, line: 426n });
    expect(found.debitMinor).toBe(found.creditMinor);
    expect(sum(await table(await chargesCsv(read(), span('2020-01-01'))), 'amount')).toBe(426n);
    const nothing = await reconcile(read(), span('2019-01-01', '2019-12-31'));
    expect(nothing).toMatchObject({ entries: 0, ledgerMinor: 0n, agrees: true });
  });
});

describe('the page', () => {
  it('shows the three totals, that they agree, and links to the files', async () => {
    const page = await s.visit(s.people.manager, `/fees/export?from=${day}&to=${day}&delimiter=semicolon`);
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('the three totals are the same, over 6 entries');
    expect(page.body).toContain('£4.21');
    const href = /href="(\/fees\/export\/charges\.csv[^"]*)"/.exec(page.body)?.[1]?.replaceAll('&amp;', '&');
    const file = await s.visit(s.people.manager, href as string);
    expect(file.headers['content-type']).toBe('text/csv; charset=utf-8; header=present');
    expect(file.headers['content-disposition']).toBe(`attachment; filename="fees-${day}-${day}.csv"`);
    expect(parseCsv(file.body.slice(1), ';')).toHaveLength(7);
  });

  it('is not for technicians, and refuses periods that are none', async () => {
    expect((await s.visit(s.people.technician, '/fees/export')).statusCode).toBe(403);
    for (const query of [
      'from=2026-02-30&to=2026-03-01',
      'from=2026-03-02&to=2026-03-01',
      `from=${day}&to=${day}&delimiter=x`,
    ]) {
      expect((await s.visit(s.people.manager, `/fees/export?${query}`)).statusCode, query).toBe(422);
      const answer = await s.api(s.people.manager, 'GET', `/fees/export.csv?${query}`);
      expect(answer.statusCode, query).toBe(422);
      expect(answer.headers['content-type']).toContain('application/problem+json');
    }
  });
});

it('comes through the API too', async () => {
  for (const name of ['export', 'summary', 'journal']) {
    const answer = await s.api(s.people.manager, 'GET', `/fees/${name}.csv?from=${day}&to=${day}`);
    expect(answer.statusCode, name).toBe(200);
    expect(answer.headers['content-type']).toBe('text/csv; charset=utf-8; header=present');
    expect(parseCsv(answer.body.slice(1)).length, name).toBeGreaterThan(5);
  }
});

describe('a long export', () => {
  it('reads no further ahead than a few parts, and leaves out what is written meanwhile', async () => {
    const ROWS = 20_000;
    await manyCharges(ROWS);
    let asked = 0;
    const tx = new Proxy(s.database.db, {
      get: (db, name) => {
        if (name === 'select') asked++;
        return Reflect.get(db, name);
      },
    }) as Executor;
    const lines = await chargesCsv({ ...read(), tx }, span('2020-01-01'));
    const before = asked;
    let rows = 0;
    let parts = 0;
    for await (const text of Readable.from(lines)) {
      rows += String(text).split('\r\n').length - 1;
      parts++;
      if (parts === 3) await manyCharges(10);
      if (parts % 5 === 0) await setTimeout(20);
      // Two statements a part (it and its numbers), one of them for where the period begins and ends.
      expect(asked - before).toBeLessThanOrEqual(2 * (parts + 3));
    }
    expect(rows).toBe(1 + 7 + ROWS);
    expect(parts).toBeGreaterThan(ROWS / 1000);
  });

  it('stops asking when nobody listens any more', async () => {
    const lines = await chargesCsv(read(), span('2020-01-01'));
    for await (const _ of Readable.from(lines)) break;
    expect((await reconcile(read(), span('2020-01-01'))).agrees).toBe(true);
  });
});

/** Charges of a penny, written as the service writes them but all at once. */
async function manyCharges(count: number): Promise<void> {
  const sql = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
  await sql.begin(async (tx) => {
    const [books] = await tx`select last_entry from fee_books for update`;
    const [{ payer, income } = {}] = await tx`select
      (select id from fee_accounts where number = 1) as payer,
      (select id from fee_accounts where kind = 'income' and key = 'other') as income`;
    const last = books?.last_entry;
    await tx`insert into fee_entries (number, kind, period, day, happened_at, recorded_at, by, account_id,
        amount_minor, net_minor, tax_minor, v, payload)
      select ${last}::int + i, 'charge', ${day.slice(0, 7)}, ${day}::date, now(), now(), ${s.people.manager.id},
        ${payer}, 1, 1, 0, 1, '{"because":[],"against":"income:other"}'
      from generate_series(1, ${count}::int) i`;
    await tx`insert into fee_postings (entry_id, position, account_id, period, amount_minor)
      select e.id, side.position, side.account_id, e.period, side.amount
      from fee_entries e, (values (0, ${payer}::bigint, 1), (1, ${income}::bigint, -1)) side(position, account_id, amount)
      where e.number > ${last}::int`;
    await tx`update fee_books set last_entry = last_entry + ${count}::int`;
  });
  await sql.end();
}
