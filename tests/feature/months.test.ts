import { eq, sql } from 'drizzle-orm';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { Conflict, Doubtful, Forbidden } from '../../server/core/errors.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { feeAccounts, feeBooks, standingCharges, tariffs } from '../../server/fees/schema.ts';
import { balances } from '../../server/fees/service/accounts.ts';
import { creditByHand } from '../../server/fees/service/by-hand.ts';
import { findEntry } from '../../server/fees/service/entries.ts';
import {
  type NewEntry,
  type Payer,
  type Posted,
  payersFor,
  post,
  strikeOut,
} from '../../server/fees/service/ledger.ts';
import {
  closeMonth,
  listMonths,
  monthState,
  monthTotals,
  reopenMonth,
  showMonth,
} from '../../server/fees/service/months.ts';
import { lastReminder, listOverdue, remind } from '../../server/fees/service/reminders.ts';
import { statementOf, statementsOfMonth } from '../../server/fees/service/statements.ts';
import { entryByNumber } from '../../server/fees/store/ledger.ts';
import { usualTariff } from '../../server/fees/tariff-form.ts';
import { loads } from '../../server/kilns/schema.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, ownGroup, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

/** The clock of a test stands on 10 June 2026, noon. */
const TODAY = Date.UTC(2026, 5, 10, 12);
const at = (month: number, day = 15): number => Date.UTC(2026, month - 1, day, 12);

const setting = async () => {
  const s = await aStudio();
  s.clock.forward(TODAY - s.clock.now());
  const { manager, member, technician } = s.people;
  const payerOf = async (person: Person): Promise<Payer> =>
    (await s.as(manager, (act) => payersFor(act, [{ kind: 'person', id: person.id }])))[0] as Payer;
  const entry = async (person: Person, netMinor: bigint, more: Partial<NewEntry> = {}): Promise<Posted> => {
    const { id: accountId } = await payerOf(person);
    return s.as(manager, async (act) => {
      const [posted] = await post(act, [
        {
          kind: netMinor < 0n ? 'payment' : 'charge',
          accountId,
          against: netMinor < 0n ? 'payment:cash' : 'income:other',
          netMinor,
          taxMinor: 0n,
          happenedAt: at(3),
          ...more,
        },
      ]);
      return posted as Posted;
    });
  };
  const close = (period: string, confirm = false, who = manager) =>
    s.as(who, (act) => closeMonth(act, period, { confirm }));
  const reopen = (period: string, reason = 'A charge is wrong') =>
    s.as(manager, (act) => reopenMonth(act, period, { reason }));
  return { ...s, manager, member, technician, payerOf, entry, close, reopen, read: readAs(s, manager) };
};

type Setting = Awaited<ReturnType<typeof setting>>;

describe('closing a month', () => {
  let s: Setting;
  let ada: Person;
  let ben: Person;
  let wrong: Posted;
  beforeAll(async () => {
    s = await setting();
    ada = await s.aPerson('member', 'Ada');
    ben = await s.aPerson('member', 'Ben');
    await s.entry(ada, 1240n);
    wrong = await s.entry(ada, 300n, { taxMinor: 60n, against: 'income:firing' });
    await s.entry(ben, 500n);
    await s.entry(ben, -500n);
    await s.entry(ada, -1000n, { happenedAt: at(4) });
  });

  it('goes in order, and only for months that are over', async () => {
    expect(await monthState(s.read)).toEqual({
      closedThrough: null,
      current: '2026-06',
      first: '2026-03',
      next: '2026-03',
    });
    await expect(s.close('2026-04')).rejects.toThrow('March 2026 comes first');
    await expect(s.close('2026-06')).rejects.toThrow('not over yet');
    await expect(s.close('2026-02')).rejects.toThrow(Conflict);
    await expect(s.close('2026-03', false, s.technician)).rejects.toThrow(Forbidden);
  });

  it('keeps the totals that it had, and tells whoever had anything in it', async () => {
    await s.close('2026-03');
    const [closing] = (await showMonth(s.read, '2026-03')).closings;
    // Ada 1240 + 360, Ben 500 − 500.
    expect(closing).toMatchObject({
      act: 'closed',
      by: 'Maro',
      totals: {
        entries: 4,
        openingMinor: '0',
        charges: '2100',
        credits: '0',
        payments: '-500',
        closingMinor: '1600',
        accounts: {
          'income:other': '-1740',
          'income:firing': '-300',
          'tax:tax': '-60',
          'payment:cash': '500',
        },
        payers: { 1: '1600', 2: '0' },
      },
    });
    const words = async (who: Person) => (await ownMessages(readAs(s, who))).map(({ words }) => words);
    expect(await words(ada)).toEqual(['Your statement for March 2026 is ready: £16.00 to pay.']);
    expect(await words(ben)).toEqual(['Your statement for March 2026 is ready: nothing to pay.']);
    expect(await words(s.member)).toEqual([]);
  });

  it('is refused a second time', () => expect(s.close('2026-03')).rejects.toThrow('closed already'));

  it('freezes it: the database itself lets nothing in', async () => {
    const db = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
    const insert =
      db.unsafe(`insert into fee_entries (number, kind, period, day, happened_at, recorded_at, by,
      account_id, amount_minor, net_minor, tax_minor, v, payload)
      select 9999, 'charge', '2026-03', '2026-03-20', now(), now(), by, account_id, 0, 0, 0, 1, payload
      from fee_entries limit 1`);
    await expect(insert).rejects.toMatchObject({ constraint_name: 'fee_entries_open_month' });
    await db.end();
  });

  it('sends a late correction to the open month, with a link back', async () => {
    const struck = await s.as(s.manager, async (act) => {
      const row = await entryByNumber(act.tx, wrong.number);
      return strikeOut(act, row as NonNullable<typeof row>, 'Was not hers');
    });
    expect(struck.period).toBe('2026-06');
    const late = await s.entry(ada, 90n, { about: wrong.id });
    expect(late.period).toBe('2026-04');
    expect(await findEntry(s.read, late.number)).toMatchObject({ about: wrong.number, day: '2026-03-15' });
    const april = await statementOf(readAs(s, ada), 1, '2026-04');
    expect(april.statement).toMatchObject({ openingMinor: 1600n, closingMinor: 690n });
    expect(april.earlier).toEqual(new Map([[wrong.number, '2026-03']]));
    const june = await statementOf(readAs(s, ada), 1, '2026-06');
    expect(june.statement.parts.charges).toMatchObject([{ kind: 'void', amountMinor: -360n }]);
    expect(june.earlier).toEqual(new Map([[wrong.number, '2026-03']]));
    const page = await s.visit(ada, '/fees/statements/1/2026-06');
    expect(page.body).toContain('/fees/statements/1/2026-03');
    expect((await monthTotals(s.read, '2026-03')).closingMinor).toBe(1600n);
  });

  it('agrees with every statement, and the last one with what all payers owe', async () => {
    for (const { period, parts, closingMinor } of (await listMonths(s.read)).months) {
      const totals = await monthTotals(s.read, period);
      expect(totals).toMatchObject({ parts, closingMinor });
      const { statements } = await statementsOfMonth(s.read, period, 1);
      const sum = (of: (one: (typeof statements)[number]['statement']) => bigint) =>
        statements.reduce((all, { statement }) => all + of(statement), 0n);
      expect(sum(({ closingMinor }) => closingMinor)).toBe(closingMinor);
      expect(sum(({ totals }) => totals.charges)).toBe(parts.charges);
      expect(sum(({ totals }) => totals.payments)).toBe(parts.payments);
      const moved = Object.values(totals.accounts).reduce((all, minor) => all + minor, 0n);
      expect(moved + parts.charges + parts.credits + parts.payments).toBe(0n);
    }
    const owed = (await balances(s.read)).reduce((all, { balanceMinor }) => all + balanceMinor, 0n);
    expect((await monthTotals(s.read, '2026-06')).closingMinor).toBe(owed);
  });
});

describe('opening a month again', () => {
  let s: Setting;
  let ada: Person;
  let ben: Person;
  beforeAll(async () => {
    s = await setting();
    ada = await s.aPerson('member', 'Ada');
    ben = await s.aPerson('member', 'Ben');
    await s.entry(ada, 1000n);
    await s.entry(ben, 200n);
    await s.close('2026-03');
    await s.close('2026-04');
  });

  it('is for the last closed one only', async () => {
    await expect(s.reopen('2026-03')).rejects.toThrow('April 2026 comes first');
    await expect(s.reopen('2026-05')).rejects.toThrow('is not closed');
    const asTechnician = s.as(s.technician, (act) => reopenMonth(act, '2026-04', { reason: 'x' }));
    await expect(asTechnician).rejects.toThrow(Forbidden);
  });

  it('leaves a trace, and shows what is otherwise when it is closed again', async () => {
    await s.reopen('2026-04');
    await s.reopen('2026-03');
    expect((await monthState(s.read)).closedThrough).toBeNull();
    await s.entry(ada, -400n);
    s.clock.forward(1000);
    await s.close('2026-03');
    const { closings } = await showMonth(s.read, '2026-03');
    expect(closings.map(({ act, note }) => [act, note])).toEqual([
      ['closed', null],
      ['reopened', 'A charge is wrong'],
      ['closed', null],
    ]);
    expect(closings[0]).toMatchObject({
      payersChanged: [1],
      differences: [
        { what: 'payments', beforeMinor: 0n, afterMinor: -400n },
        { what: 'closingMinor', beforeMinor: 1200n, afterMinor: 800n },
      ],
    });
    // Only whose balance changed hears of it a second time.
    const told = async (who: Person) =>
      (await ownMessages(readAs(s, who))).filter(({ href }) => href.endsWith('/2026-03')).length;
    expect([await told(ada), await told(ben)]).toEqual([2, 1]);
    const page = await s.visit(s.manager, '/fees/months/2026-03');
    expect(page.body).toContain('A charge is wrong');
    expect(page.body).toContain('£12.00');
  });

  it('needs a reason', async () => {
    const page = await s.submit(s.manager, '/fees/months/2026-03/reopen', { reason: ' ' });
    expect(page.statusCode).toBe(422);
    expect(page.body).toContain('Write something here.');
  });
});

describe('at the same moment', () => {
  it('two who close the same month close it once', async () => {
    const s = await setting();
    await s.entry(s.member, 100n);
    const all = await Promise.allSettled([s.close('2026-03'), s.close('2026-03')]);
    expect(all.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    expect(all.find((one) => one.status === 'rejected')?.reason).toBeInstanceOf(Conflict);
    expect((await showMonth(s.read, '2026-03')).closings).toHaveLength(1);
  });

  it('a payment that has the books first is in the month, and the closing counts it', async () => {
    const s = await setting();
    await s.entry(s.member, 100n);
    const { id: accountId } = await s.payerOf(s.member);
    const payment: NewEntry = {
      kind: 'payment',
      accountId,
      against: 'payment:cash',
      netMinor: -30n,
      taxMinor: 0n,
      happenedAt: at(3, 31),
    };
    let closing: Promise<void> | undefined;
    const [paid] = await s.as(s.manager, async (act) => {
      const posted = await post(act, [payment]);
      closing = s.close('2026-03');
      await waitsForLock(s);
      return posted;
    });
    await closing;
    expect(paid?.period).toBe('2026-03');
    expect((await showMonth(s.read, '2026-03')).closings[0]?.totals.closingMinor).toBe('70');
  });

  it('a closing that has the books first sends the payment to the month after', async () => {
    const s = await setting();
    await s.entry(s.member, 100n);
    let paying: Promise<Posted> | undefined;
    await s.payerOf(s.member);
    await s.as(s.manager, async (act) => {
      await closeMonth(act, '2026-03');
      paying = s.entry(s.member, -30n, { happenedAt: at(3, 31) });
      await waitsForLock(s);
    });
    expect((await paying)?.period).toBe('2026-04');
    expect((await showMonth(s.read, '2026-03')).closings[0]?.totals.closingMinor).toBe('100');
    expect((await monthTotals(s.read, '2026-03')).closingMinor).toBe(100n);
  });

  it('whatever the order, the frozen totals are what the month comes to', async () => {
    const s = await setting();
    await s.entry(s.member, 100n);
    await Promise.all([
      ...Array.from({ length: 6 }, () => s.entry(s.member, -5n, { happenedAt: at(3, 31) })),
      s.close('2026-03'),
    ]);
    const { closings, totals } = await showMonth(s.read, '2026-03');
    expect(closings[0]?.totals.closingMinor).toBe(String(totals.closingMinor));
    expect((await monthTotals(s.read, '2026-04')).closingMinor).toBe(70n);
  });
});

/** Until another transaction really waits for the books. */
async function waitsForLock({ database }: Setting): Promise<void> {
  for (let tries = 0; tries < 500; tries++) {
    const [row] = await database.db.execute<{ waiting: number }>(
      sql`select count(*)::int as waiting from pg_stat_activity
        where datname = current_database() and wait_event_type = 'Lock'`,
    );
    if ((row?.waiting ?? 0) > 0) return;
    await new Promise((done) => setTimeout(done, 10));
  }
  throw new Error('Nobody waits for the books.');
}

/** A load that was emptied at an instant and never charged; answers its number. */
async function aLoadEmptied(s: Setting, unloadedAt: number): Promise<number> {
  const kiln = await aKiln(s);
  const firing = ownGroup();
  await readyPieces(s, s.member, { for: 'glaze', clay: await aClay(s), cone: firing.cone });
  const number = await aProposal(s, { kiln: kiln.code, firing });
  await s.database.db.update(loads).set({ state: 'unloaded', unloadedAt }).where(eq(loads.number, number));
  return number;
}

describe('what is unfinished', () => {
  it('is listed, and is closed over only by whoever says so', async () => {
    const s = await setting();
    await s.entry(s.member, 100n);
    const { id: accountId } = await s.payerOf(s.member);
    await s.database.db.insert(standingCharges).values({
      accountId,
      item: 'shelf',
      fromPeriod: '2026-03',
      madeBy: s.manager.id,
      madeAt: at(3),
    });
    // Ida was charged her membership by hand; nobody else was theirs.
    const item = {
      code: 'member',
      name: 'Membership',
      kind: 'dues' as const,
      unit: 'month',
      minor: 3000,
      income: 'dues' as const,
    };
    await s.aPerson();
    const student = await s.payerOf(await s.aPerson());
    await s.database.db
      .update(feeAccounts)
      .set({ memberClass: 'student' })
      .where(eq(feeAccounts.id, student.id));
    // Down for what is due of the whole class anyway: charged once, missing once.
    await s.database.db.insert(standingCharges).values({
      accountId: student.id,
      item: 'student',
      fromPeriod: '2026-03',
      madeBy: s.manager.id,
      madeAt: at(3),
    });
    await s.database.db.insert(tariffs).values({
      number: 1,
      name: 'First',
      validFrom: '2026-01-01',
      value: {
        ...usualTariff('volume'),
        items: [
          { ...item, litres: null, memberClass: 'member' },
          { ...item, code: 'student', litres: null, memberClass: 'student' },
        ],
      },
      madeBy: s.manager.id,
      madeAt: at(1),
      changedAt: at(1),
      inForceAt: at(1),
      inForceBy: s.manager.id,
    });
    await s.entry(s.member, 3000n, { kind: 'dues', line: 'member', period: '2026-03' });
    // Emptied half an hour into April by the studio's clock, which is summer time: not of March.
    const [load, later] = await Promise.all([
      aLoadEmptied(s, at(3)),
      aLoadEmptied(s, Date.UTC(2026, 2, 31, 23, 30)),
    ]);
    const { unfinished } = await showMonth(s.read, '2026-03');
    // One shelf; Wren, Maro and the newcomer; the student.
    expect(unfinished).toEqual({ loads: [load], dues: 1 + 3 + 1, requests: 0 });
    expect((await showMonth(s.read, '2026-04')).unfinished.loads).toEqual([later]);
    // What is asked for in June keeps no earlier month open.
    await s.as(s.technician, (act) =>
      creditByHand(act, 1, { for: 'goodwill', amountMinor: 900_000, reason: 'The kiln was late' }),
    );
    expect((await showMonth(s.read, '2026-03')).unfinished.requests).toBe(0);
    expect((await showMonth(s.read, '2026-06')).unfinished.requests).toBe(1);
    const { body } = await s.visit(s.manager, '/fees/months/2026-03');
    expect(body).toContain(`/fees/loads/${load}`);
    await expect(s.close('2026-03')).rejects.toThrow(Doubtful);
    const refused = await s.submit(s.manager, '/fees/months/2026-03/close', {});
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toContain('Close it all the same');
    const done = await s.submit(s.manager, '/fees/months/2026-03/close', { confirm: 'yes' });
    expect([done.statusCode, done.headers.location]).toEqual([303, '/fees/months/2026-03?done=closed']);
    const [books] = await s.database.db.select().from(feeBooks);
    expect(books?.closedThrough).toBe('2026-03');
  });
});

describe('reminders', () => {
  let s: Setting;
  let ada: Person;
  beforeAll(async () => {
    s = await setting();
    ada = await s.aPerson('member', 'Ada');
    await s.entry(ada, 1240n);
    await s.entry(ada, 100n, { happenedAt: at(6, 1) });
    await s.entry(s.member, 500n, { happenedAt: at(6, 1) });
  });

  it('go to who is overdue, for what is overdue', async () => {
    const [one, ...others] = await listOverdue(s.read);
    expect(others).toEqual([]);
    // Due on the 14th day after the end of March, and overdue from the day after it.
    expect(one).toMatchObject({
      account: { name: 'Ada' },
      balanceMinor: 1340n,
      overdueMinor: 1240n,
      since: '2026-04-15',
    });
    expect(await s.as(s.manager, (act) => remind(act, {}))).toBe(1);
    expect((await ownMessages(readAs(s, ada)))[0]?.words).toContain('£12.40 is overdue');
  });

  it('come at most once in seven days, and leave a trace', async () => {
    await expect(s.as(s.manager, (act) => remind(act, { account: 1 }))).rejects.toThrow(Conflict);
    expect(await lastReminder(s.read, 1)).toMatchObject({ by: 'Maro', at: s.clock.now() });
    const page = await s.visit(s.manager, '/fees/reminders');
    expect(page.body).toContain('by Maro');
    s.clock.forward(7 * DAY);
    const sent = await s.submit(s.manager, '/fees/reminders', { account: '1' });
    expect(sent.statusCode).toBe(303);
    const twice = await Promise.allSettled(
      [1, 2].map(() => s.as(s.manager, (act) => remind(act, { account: 1 }))),
    );
    expect(twice.map(({ status }) => status)).toEqual(['rejected', 'rejected']);
    expect((await ownMessages(readAs(s, ada))).length).toBe(2);
  });

  it('are for managers', async () => {
    expect((await s.visit(s.technician, '/fees/reminders')).statusCode).toBe(403);
  });
});
