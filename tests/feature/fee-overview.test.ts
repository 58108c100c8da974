import { expect, test } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { moneyText } from '../../server/core/money.ts';
import { feesDue } from '../../server/fees/service/due.ts';
import { type NewEntry, payersFor, post } from '../../server/fees/service/ledger.ts';
import { feeOverview } from '../../server/fees/service/overview.ts';
import { aKiln } from '../helpers/kilns.ts';
import { readAs } from '../helpers/loads.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const setting = async () => {
  const s = await aStudio();
  const kiln = await aKiln(s);
  const { manager, member } = s.people;
  const charge = (who: Person, netMinor: bigint, more: Partial<NewEntry> = {}) =>
    s.as(manager, async (act) => {
      const [payer] = await payersFor(act, [{ kind: 'person', id: who.id }]);
      const [posted] = await post(act, [
        {
          kind: 'charge',
          accountId: payer?.id as number,
          against: 'income:firing',
          netMinor,
          taxMinor: 0n,
          happenedAt: act.now,
          kilnId: kiln.id,
          ...more,
        },
      ]);
      return posted as { id: number; number: number; period: string };
    });
  return { ...s, kiln, charge, manager, member };
};

test('income, credits and what is unpaid agree with the ledger, strike-outs taken off', async () => {
  const s = await setting();
  const { charge, kiln, manager, member } = s;
  const first = await charge(member, 1250n);
  await charge(member, 300n, { taxMinor: 60n });
  const wrong = await charge(member, 999n);
  await charge(member, -999n, { kind: 'void', voids: wrong.id });
  await charge(member, -500n, { kind: 'loss-credit', against: 'relief:loss', about: first.id });
  await charge(member, -200n, { kind: 'payment', against: 'payment:cash', kilnId: undefined });

  const { period } = first;
  const read = readAs(s, manager);
  const found = await feeOverview(read, period, period);
  expect(found.rows).toMatchObject([
    { period, kiln: { code: kiln.code }, incomeMinor: 1550n, creditMinor: 500n, loads: 0 },
  ]);
  expect([...found.moved.values()].reduce((sum, one) => sum + one, 0n)).toBe(0n);
  // 12.50 + 3.60 − 5.00 − 2.00
  expect(found.moved.get('payers')).toBe(910n);
  expect(found.unpaid).toMatchObject([{ balanceMinor: 910n }]);
  expect(found.unpaid[0]?.ages.reduce((sum, { openMinor }) => sum + openMinor, 0n)).toBe(910n);

  const page = await s.visit(manager, '/fees/overview');
  expect(page.statusCode).toBe(200);
  expect(page.body).toContain(moneyText(1550n, 'GBP'));
  expect(page.body).toContain(moneyText(910n, 'GBP'));
});

test('months that are none, or too many, are said beside their field', async () => {
  const s = await setting();
  const { manager } = s;
  for (const [query, words] of [
    ['from=2026-13&to=2026-14', 'A month such as 2026-03.'],
    ['from=2026-05&to=2026-04', 'This lies before the first month.'],
    ['from=2001-01&to=2026-04', 'At most 36 months at once.'],
    ['from=%00&to=<script>', 'A month such as 2026-03.'],
  ]) {
    const answer = await s.visit(manager, `/fees/overview?${query}`);
    expect(answer.statusCode, query).toBe(422);
    expect(answer.body).toContain(words);
    expect(answer.body).not.toContain('<script>');
  }
});

test('the overview of everybody is for managers; a member sees what is theirs and no more', async () => {
  const s = await setting();
  const { charge, member, people } = s;
  const other = await s.aPerson('member', 'Odile Farrow');
  await charge(member, 1240n, { payload: { because: ['1.24 L × £10.00 = £12.40'] } });
  await charge(other, 777n);
  expect((await s.visit(member, '/fees/overview')).statusCode).toBe(403);
  expect((await s.visit(people.technician, '/fees/overview')).statusCode).toBe(403);

  const { body } = await s.visit(member, '/fees');
  expect(body).toContain('You owe £12.40');
  expect(body).toContain('1.24 L × £10.00 = £12.40');
  expect(body).not.toContain('Odile Farrow');
  expect(body).not.toContain('£7.77');
  expect(body).not.toContain('/fees/months');
  expect((await s.visit(people.technician, '/fees')).body).toContain('/fees/accounts');
  expect((await s.visit(people.manager, '/fees')).body).toContain('/fees/months');
});

test('a studio that charges nothing is told so, and nothing of fees waits for anybody', async () => {
  const s = await aStudio();
  const { body } = await s.visit(s.people.member, '/fees');
  expect(body).toContain('Nothing to pay');
  expect(body).toContain('No price list is in force');
  expect(await feesDue(readAs(s, s.people.manager))).toEqual([]);
});

test('a month that is over waits for a manager until it is closed', async () => {
  const s = await setting();
  const { charge, member, manager, people } = s;
  const { period } = await charge(member, 100n);
  expect(await feesDue(readAs(s, manager))).toEqual([]);
  s.clock.forward(32 * DAY);
  expect((await feesDue(readAs(s, manager))).map(({ act }) => act.href)).toEqual([`/fees/months/${period}`]);
  expect(await feesDue(readAs(s, people.technician))).toEqual([]);
});
