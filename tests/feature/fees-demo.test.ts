import { describe, expect, test } from 'vitest';
import { seedDemo } from '../../seed/millrace.ts';
import type { Read } from '../../server/core/actor.ts';
import { listAccounts } from '../../server/fees/service/accounts.ts';
import { listEntries } from '../../server/fees/service/entries.ts';
import { examineFees } from '../../server/fees/service/examine.ts';
import { monthState, showMonth } from '../../server/fees/service/months.ts';
import { previewTariff } from '../../server/fees/service/preview.ts';
import { listRequests } from '../../server/fees/service/requests.ts';
import { listTariffs } from '../../server/fees/service/tariffs.ts';
import { anApp } from '../helpers/studio.ts';

/** The demo as it is when it is started at this hour. */
async function startedAt(iso: string) {
  const { services, clock, database } = await anApp();
  clock.forward(Date.parse(iso) - clock.now());
  await seedDemo(services);
  const maro = {
    id: 0,
    name: 'Maro',
    email: '',
    role: 'manager',
    units: 'metric',
    tokenId: null,
    deviceId: null,
  } as const;
  const read: Read = { tx: database.db, actor: maro, now: clock.now() };
  return read;
}

describe.for([
  ['on the first of a month, at night', '2027-03-01T00:20:00Z', '2027-01', '2027-02'],
  ['on the last of a long month', '2027-01-31T23:30:00Z', '2026-11', '2026-12'],
  ['in the middle of one, while the clocks change', '2027-03-28T01:30:00Z', '2027-01', '2027-02'],
])('the books of the demo, started %s', ([, iso = '', closed = '', last = '']) => {
  test('have a month that is closed and one that waits for the treasurer, with ware in both', async () => {
    const read = await startedAt(iso);
    expect(await examineFees(read)).toEqual([]);
    expect(await monthState(read)).toMatchObject({ closedThrough: closed, next: last, first: closed });
    const firings = (await listEntries(read, { limit: 500 })).filter(({ kind }) => kind === 'firing');
    for (const period of [closed, last])
      expect(firings.filter((one) => one.period === period).length, period).toBeGreaterThan(20);

    const { unfinished, totals } = await showMonth(read, last);
    expect(unfinished).toMatchObject({ loads: [], dues: 0 });
    expect(totals.parts.credits).toBeLessThan(0n);
    expect(totals.parts.payments).toBeLessThan(0n);

    // What a member, a manager and a treasurer come for.
    const { rows } = await listAccounts(read, { words: '', onlyOwing: false, page: 1 });
    expect(rows.some(({ overdueSince }) => overdueSince !== null)).toBe(true);
    expect(rows.some(({ balanceMinor }) => balanceMinor < 0n)).toBe(true);
    expect((await listRequests(read)).waiting.map(({ kind }) => kind)).toEqual(['damage']);
    const [draft, list] = await listTariffs(read);
    expect([draft?.isInForce, list?.isToday]).toEqual([false, true]);
    const { rows: priced, total } = await previewTariff(read, draft?.number ?? 0, last);
    expect(priced.length).toBeGreaterThan(20);
    expect(total.afterMinor).toBeGreaterThan(total.beforeMinor);
  }, 120_000);
});
