import { beforeAll, describe, expect, it } from 'vitest';
import { NotFound } from '../../server/core/errors.ts';
import { people } from '../../server/core/schema.ts';
import { type Holder, type NewEntry, type Payer, payersFor, post } from '../../server/fees/service/ledger.ts';
import { closeMonth } from '../../server/fees/service/months.ts';
import { changeFeeSettings, feeSettings } from '../../server/fees/service/settings.ts';
import { listStatements, statementOf, statementsOfMonth } from '../../server/fees/service/statements.ts';
import { addToGroup, findPieces, makeClass, makeHousehold } from '../../server/ware/service/index.ts';
import { aClay, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

const at = (month: number, day = 15): number => Date.UTC(2026, month - 1, day, 12);

let s: Studio;
let ida: Person;
let maro: Person;
let wren: Person;
let stranger: Person;
let account: Payer;

const payerOf = async (holder: Holder): Promise<Payer> =>
  (await s.as(maro, (act) => payersFor(act, [holder])))[0] as Payer;

const write = (accountId: number, more: Partial<NewEntry>[]) =>
  s.as(maro, (act) =>
    post(
      act,
      more.map((one) => ({
        kind: 'charge',
        accountId,
        against: 'income:other',
        netMinor: 100n,
        taxMinor: 0n,
        happenedAt: at(3),
        ...one,
      })),
    ),
  );

beforeAll(async () => {
  s = await aStudio();
  ({ member: ida, manager: maro, technician: wren } = s.people);
  stranger = await s.aPerson();
  const clay = await aClay(s);
  const [number] = await readyPieces(s, ida, { for: 'bisque', clay, form: 'cup' });
  const [piece] = await findPieces(readAs(s, wren), [number as number]);
  s.clock.forward(at(5, 10) - s.clock.now());
  await s.as(maro, async (act) =>
    changeFeeSettings(act, { ...(await feeSettings(act)), payWords: 'By bank transfer.\nSay your number.' }),
  );
  account = await payerOf({ kind: 'person', id: ida.id });
  // Began with 5.00. A cup 4.05 + 20 % 0.81 = 4.86, clay 9.00, of which 2.00 let off; paid 10.00:
  // 5.00 + 4.86 + 9.00 − 2.00 − 10.00 = 6.86.
  await write(account.id, [
    { netMinor: 500n, happenedAt: at(2) },
    {
      kind: 'firing',
      against: 'income:firing',
      netMinor: 405n,
      taxMinor: 81n,
      pieceId: piece?.id,
      load: 7,
      firingKind: 'bisque',
      cone: '06',
      cm3: 1234,
      payload: { because: ['1,234 cm³ × £0.0033 = £4.05'] },
    },
    { kind: 'sale', against: 'income:clay', netMinor: 900n, payload: { name: 'Buff clay' } },
    { kind: 'credit', against: 'relief:goodwill', netMinor: -200n, note: 'Bag was torn' },
    { kind: 'payment', against: 'payment:transfer', netMinor: -1000n },
  ]);
});

describe('a statement', () => {
  it('adds up', async () => {
    const { statement, dueOn } = await statementOf(readAs(s, ida), account.number, '2026-03');
    expect(statement).toMatchObject({
      openingMinor: 500n,
      totals: { charges: 1386n, credits: -200n, payments: -1000n },
      closingMinor: 686n,
      taxes: [{ percent: null, netMinor: 405n, taxMinor: 81n }],
    });
    expect(dueOn).toBe('2026-04-14');
  });

  it('says all of it on one page that can be printed', async () => {
    const { body, statusCode } = await s.visit(ida, `/fees/statements/${account.number}/2026-03`);
    expect(statusCode).toBe(200);
    for (const words of [
      'Millrace Clay Commons',
      'Statement for March 2026',
      `S${account.number}-2026-03`,
      'Ida',
      'Cup, piece',
      'bisque, cone 06',
      'load 7',
      '1,234 cm³',
      '1,234 cm³ × £0.0033 = £4.05',
      'Buff clay',
      'Bag was torn',
      'Payment, bank transfer',
      '£5.00',
      '£4.86',
      '−£10.00',
      'Tax',
      '£0.81 on £4.05',
      'You owe £6.86',
      'due by 14 Apr 2026',
      'Say your number.',
      'Open month: it may still change.',
      'data-print',
    ])
      expect(body).toContain(words);
  });

  it('is theirs, and a technician’s and a manager’s to see, and nobody else’s', async () => {
    const address = `/fees/statements/${account.number}/2026-03`;
    const codes = async (url: string) =>
      Promise.all([ida, wren, maro, stranger].map(async (one) => (await s.visit(one, url)).statusCode));
    expect(await codes(address)).toEqual([200, 200, 200, 404]);
    expect(await codes(`/fees/statements/${account.number}`)).toEqual([200, 200, 200, 404]);
    expect(await codes('/fees/months')).toEqual([403, 403, 200, 403]);
    expect(await codes('/fees/months/2026-03/statements')).toEqual([403, 403, 200, 403]);
  });

  it('of a household is its people’s, of a class its teacher’s', async () => {
    const house = await s.as(ida, (act) => makeHousehold(act, { name: 'Quay Street' }));
    await s.as(ida, (act) => addToGroup(act, house, { who: stranger.email }));
    const course = await s.as(wren, (act) => makeClass(act, { name: 'Monday', contact: ida.email }));
    const [ofHouse, ofClass] = await Promise.all([house, course].map((id) => payerOf({ kind: 'group', id })));
    for (const one of [ofHouse, ofClass]) await write((one as Payer).id, [{}]);
    const sees = (who: Person, one?: Payer) =>
      statementOf(readAs(s, who), one?.number ?? 0, '2026-03').then(
        () => true,
        (error) => {
          expect(error).toBeInstanceOf(NotFound);
          return false;
        },
      );
    expect([await sees(ida, ofHouse), await sees(stranger, ofHouse)]).toEqual([true, true]);
    expect([await sees(ida, ofClass), await sees(stranger, ofClass)]).toEqual([true, false]);
  });

  it('is there from the first entry to this month, and nothing else is an error', async () => {
    const { months } = await listStatements(readAs(s, ida), account.number);
    expect(months.map(({ period, closingMinor }) => [period, closingMinor])).toEqual([
      ['2026-05', 686n],
      ['2026-04', 686n],
      ['2026-03', 686n],
      ['2026-02', 500n],
    ]);
    for (const wrong of [
      '2026-01',
      '2026-06',
      '2026-13',
      '2026-3',
      'x',
      '2026-03%00',
      '9999-12',
      "2026-03'",
    ]) {
      expect((await s.visit(maro, `/fees/statements/${account.number}/${wrong}`)).statusCode).toBe(404);
      expect((await s.visit(maro, `/fees/months/${wrong}`)).statusCode).toBe(404);
    }
    for (const wrong of ['0', '99999', 'me', '1e3', '-1', '999999999999'])
      expect((await s.visit(maro, `/fees/statements/${wrong}/2026-03`)).statusCode).toBe(404);
  });

  it('begins as the one before ended, month after month', async () => {
    const { months } = await listStatements(readAs(s, ida), account.number);
    for (const [at, { period }] of months.slice(0, -1).entries()) {
      const { statement } = await statementOf(readAs(s, ida), account.number, period);
      expect(statement.openingMinor).toBe(months[at + 1]?.closingMinor);
      expect(statement.closingMinor).toBe(months[at]?.closingMinor);
    }
  });
});

describe('all statements of a month', () => {
  it('are the same ones, each on a page of its own', async () => {
    const { statements, count } = await statementsOfMonth(readAs(s, maro), '2026-03', 1);
    expect(statements).toHaveLength(count);
    for (const one of statements)
      expect(one).toEqual(await statementOf(readAs(s, maro), one.account.number, '2026-03'));
    const { body } = await s.visit(maro, '/fees/months/2026-03/statements');
    expect(body.match(/<article class="statement"/g)).toHaveLength(count);
  });

  it('come a hundred at a time', async () => {
    const busy = await s.aPerson('member', 'Busy');
    const payer = await payerOf({ kind: 'person', id: busy.id });
    await write(
      payer.id,
      Array.from({ length: 3000 }, () => ({ happenedAt: at(4), netMinor: 1n })),
    );
    const { statement } = await statementOf(readAs(s, busy), payer.number, '2026-04');
    expect(statement.parts.charges).toHaveLength(3000);
    expect(statement.closingMinor).toBe(3000n);
    expect((await s.visit(busy, `/fees/statements/${payer.number}/2026-04`)).statusCode).toBe(200);
    const made = await s.database.db
      .insert(people)
      .values(
        Array.from({ length: 120 }, (_, i) => ({
          name: `Payer ${i}`,
          email: `payer-${i}@millrace.example`,
          role: 'member' as const,
          passwordHash: '-',
          joinedAt: at(1),
        })),
      )
      .returning({ id: people.id });
    const payers = await s.as(maro, (act) =>
      payersFor(
        act,
        made.map(({ id }) => ({ kind: 'person', id })),
      ),
    );
    await s.as(maro, (act) =>
      post(
        act,
        payers.map(({ id: accountId }) => ({
          kind: 'charge',
          accountId,
          against: 'income:other',
          netMinor: 100n,
          taxMinor: 0n,
          happenedAt: at(5, 2),
        })),
      ),
    );
    const [first, second, third] = await Promise.all(
      [1, 2, 3].map((page) => statementsOfMonth(readAs(s, maro), '2026-05', page)),
    );
    expect([first?.statements.length, first?.pages, third?.statements]).toEqual([100, 2, []]);
    const numbers = [first, second].flatMap((one) => one?.statements.map(({ account }) => account.number));
    expect(new Set(numbers).size).toBe(first?.count);
    const { body } = await s.visit(maro, '/fees/months/2026-05/statements?page=2');
    expect(body).toContain('/fees/months/2026-05/statements?page=1');
  });

  it('say that they are closed once they are', async () => {
    for (const period of ['2026-02', '2026-03']) await s.as(maro, (act) => closeMonth(act, period));
    const { isClosed } = await statementOf(readAs(s, ida), account.number, '2026-03');
    expect(isClosed).toBe(true);
    const { body } = await s.visit(ida, `/fees/statements/${account.number}/2026-03`);
    expect(body).not.toContain('may still change');
    expect((await s.visit(ida, `/fees/statements/${account.number}`)).body).toContain('closed');
  });
});
