import { sql } from 'drizzle-orm';
import fc from 'fast-check';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { record } from '../../server/core/audit.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { feeAccounts, feeBooks, feeEntries, tariffs } from '../../server/fees/schema.ts';
import { listEntries } from '../../server/fees/service/entries.ts';
import { examineFees } from '../../server/fees/service/examine.ts';
import { payersFor } from '../../server/fees/service/ledger.ts';
import { litresOf } from '../../server/fees/store/litres.ts';
import { type Item, type Tariff, usualIncome } from '../../server/fees/tariff.ts';
import { addToGroup, makeClass, makeHousehold } from '../../server/ware/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let db: Studio['database']['db'];

const item = (
  code: string,
  kind: Item['kind'],
  unit: string,
  minor: number,
  litres: string | null = null,
) => ({
  code,
  name:
    { clay: 'Buff clay', glaze: 'Clear glaze', shelf: 'Ruined shelf', hour: 'An hour worked' }[code] ?? code,
  kind,
  unit,
  minor,
  litres,
  memberClass: null,
  income: code === 'glaze' ? ('glaze' as const) : usualIncome({ kind, litres }),
});

const LIST: Tariff = {
  v: 1,
  rounding: 'half-up',
  stepMinor: 1,
  minimumMinor: 0,
  tax: { percent: '20', included: true },
  lines: [
    { code: 'all', name: 'Firing', kinds: [], basis: { by: 'volume', minorPer: '120', unit: 'litre' } },
  ],
  factors: [],
  rush: null,
  monthly: [],
  items: [
    item('clay', 'sale', 'bag', 1500, '10'),
    item('glaze', 'sale', 'kg', 650),
    item('shelf', 'damage', 'shelf', 9000),
    item('hour', 'work', 'hour', 1100),
  ],
  lossPercent: '100',
  lossOf: 'this-firing',
};

beforeAll(async () => {
  s = await aStudio();
  db = s.database.db;
  const { id } = s.people.manager;
  const now = s.clock.now();
  await db.insert(tariffs).values({
    number: 1,
    name: 'First',
    validFrom: '2020-01-01',
    value: LIST,
    madeBy: id,
    madeAt: now,
    changedAt: now,
    inForceAt: now,
    inForceBy: id,
  });
  await db
    .insert(feeBooks)
    .values({ lastTariff: 1 })
    .onConflictDoUpdate({ target: feeBooks.id, set: { lastTariff: 1 } });
});

/** Somebody with an account; its number. */
async function aPayer(name?: string): Promise<{ person: Person; number: number; id: number }> {
  const person = await s.aPerson('member', name);
  const [payer] = await s.as(s.people.technician, (act) =>
    payersFor(act, [{ kind: 'person', id: person.id }]),
  );
  if (!payer) throw new Error('no account');
  return { person, number: payer.number, id: payer.id };
}

const submit: Studio['submit'] = (...args) => s.submit(...args);
const act = (who: Person, number: number, what: string, fields: Record<string, string>) =>
  submit(who, `/fees/accounts/${number}/${what}`, fields);
const account = async (number: number) =>
  (await s.api(s.people.technician, 'GET', `/accounts/${number}`)).json();
const balance = async (number: number): Promise<number> => (await account(number)).balanceMinor;
const wholeSum = async () =>
  (
    await db.execute<{ sum: string }>(
      sql`select coalesce(sum(amount_minor), 0)::text as sum from fee_postings`,
    )
  )[0]?.sum;
const sound = async () => {
  expect(await wholeSum()).toBe('0');
  expect(await examineFees({ tx: db })).toEqual([]);
};

describe('at the counter', () => {
  it('clay by the bag: charged with its tax, its litres come with it', async () => {
    const { number, id } = await aPayer();
    const answer = await act(s.people.technician, number, 'charge', { item: 'clay', quantity: '2' });
    expect(answer.statusCode).toBe(303);
    const now = await account(number);
    // 2 bags × 15.00 = 30.00; of it 20 % tax: 30.00 ÷ 1.2 = 25.00 net, 5.00 tax
    expect(now).toMatchObject({
      balanceMinor: 3000,
      entries: [{ words: 'Buff clay, 2 × bag', amountMinor: 3000, netMinor: 2500, taxMinor: 500 }],
    });
    expect(now.open).toMatchObject([{ openMinor: 3000 }]);
    // 2 × 10 L = 20,000 cm³
    expect((await litresOf({ tx: db }, id)).map(({ leftCm3 }) => leftCm3)).toEqual([20_000]);
    await sound();
  });

  it('a struck-out bag takes its litres along', async () => {
    const { number, id } = await aPayer();
    await act(s.people.technician, number, 'charge', { item: 'clay' });
    const [entry] = (await account(number)).entries;
    await submit(s.people.technician, `/fees/entries/${entry.number}/strike-out`, { reason: 'not taken' });
    expect(await balance(number)).toBe(0);
    expect((await litresOf({ tx: db }, id)).reduce((sum, { leftCm3 }) => sum + leftCm3, 0)).toBe(0);
    await sound();
  });

  it('glaze by the kilogram, with a comma', async () => {
    const { number } = await aPayer();
    await act(s.people.technician, number, 'charge', { item: 'glaze', quantity: '1,25' });
    // 1.25 kg × 6.50 = 8.125, half up 8.13
    expect(await balance(number)).toBe(813);
  });

  it('an item earns where the list says, whatever it is called; a part of a bag has its part of the litres', async () => {
    const { number, id } = await aPayer();
    for (const fields of [
      { item: 'glaze', quantity: '1' },
      { item: 'clay', quantity: '0.29' },
    ])
      await act(s.people.technician, number, 'charge', fields);
    const against = (await s.as(s.people.technician, (asked) => listEntries(asked, { accountId: id }))).map(
      ({ payload }) => payload.against,
    );
    expect(against).toEqual(['income:clay', 'income:glaze']);
    // 0.29 × 10 L = 2,900 cm³, though 0.29 × 10,000 is less in binary fractions.
    expect((await litresOf({ tx: db }, id)).map(({ leftCm3 }) => leftCm3)).toEqual([2900]);
  });

  it.each<[string, string, Record<string, string>]>([
    ['an item and an amount', 'charge', { item: 'clay', amountMinor: '3', reason: 'so' }],
    ['a load that is not there', 'charge', { amountMinor: '3', reason: 'so', load: '999999' }],
    ['a piece that is not there', 'charge', { amountMinor: '3', reason: 'so', piece: '999999' }],
    ['hours of goodwill', 'credit', { for: 'goodwill', amountMinor: '3', hours: '1', reason: 'so' }],
    ['hours and an amount', 'credit', { for: 'work', amountMinor: '3', hours: '1', reason: 'so' }],
    ['work of an entry', 'credit', { for: 'work', hours: '1', about: '1', reason: 'so' }],
  ])('refuses %s: nothing that was typed is left out in silence', async (_, what, fields) => {
    const { number } = await aPayer();
    expect((await act(s.people.technician, number, what, fields)).statusCode).toBe(422);
    expect((await account(number)).entries).toEqual([]);
  });

  it('a technician sees when somebody was reminded; they themselves do not', async () => {
    const { number, person } = await aPayer();
    await s.as(s.people.manager, (made) => record(made, 'fees.reminded', `account:${number}`));
    const page = await s.visit(s.people.technician, `/fees/accounts/${number}`);
    expect(page.body).toContain('by Maro');
    expect((await s.visit(person, `/fees/accounts/${number}`)).body).not.toContain('by Maro');
    const list = (who: Person) => s.visit(who, '/fees/accounts').then(({ body }) => body);
    expect(await list(s.people.manager)).toContain('/fees/reminders');
    expect(await list(s.people.technician)).not.toContain('/fees/reminders');
  });

  it('an amount by hand needs its reason', async () => {
    const { number } = await aPayer();
    const without = await act(s.people.technician, number, 'charge', { amountMinor: '4.86' });
    expect(without.statusCode).toBe(422);
    expect(without.body).toContain('Say what it is for');
    const withIt = await act(s.people.technician, number, 'charge', {
      amountMinor: '4.86',
      reason: 'a sponge',
    });
    expect(withIt.statusCode).toBe(303);
    expect(await balance(number)).toBe(486);
  });

  it('a payment is taken from the oldest, and what is over stays as credit', async () => {
    const { number, person } = await aPayer();
    await act(s.people.technician, number, 'charge', { item: 'clay' });
    const paid = await act(s.people.technician, number, 'pay', { amountMinor: '20', how: 'cash' });
    expect(paid.statusCode).toBe(303);
    expect(await account(number)).toMatchObject({ balanceMinor: -500, creditMinor: 500, open: [] });
    const page = await s.visit(person, `/fees/accounts/${number}`);
    expect(page.body).toContain('You have £5.00 in credit');
    await sound();
  });

  it.each(['4111 1111 1111 1111', '5555555555554444'])('never a card number: %s', async (reference) => {
    const { number } = await aPayer();
    const answer = await act(s.people.technician, number, 'pay', {
      amountMinor: '5',
      how: 'card-terminal',
      reference,
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('looks like a card number');
    expect(await balance(number)).toBe(0);
  });

  it('a double tap pays once', async () => {
    const { number } = await aPayer();
    const fields = { amountMinor: '7', how: 'cash', key: 'double-tap-of-seven' };
    const both = await Promise.all([1, 2].map(() => act(s.people.technician, number, 'pay', fields)));
    expect(both.map(({ statusCode }) => statusCode)).toEqual([303, 303]);
    expect(await balance(number)).toBe(-700);
  });

  it('money goes back by a manager only', async () => {
    const { number } = await aPayer();
    await act(s.people.technician, number, 'pay', { amountMinor: '9', how: 'cash' });
    const fields = { amountMinor: '9', how: 'cash' };
    expect((await act(s.people.technician, number, 'give-back', fields)).statusCode).toBe(403);
    expect((await act(s.people.manager, number, 'give-back', fields)).statusCode).toBe(303);
    expect(await balance(number)).toBe(0);
    await sound();
  });

  it.each(['-5', '0', '1e9', '99999999999999', 'NaN', '4.865', '1,000', 'lots', ' '])(
    'an amount of "%s" is refused with the form as it was',
    async (amountMinor) => {
      const { number } = await aPayer();
      const answer = await act(s.people.technician, number, 'pay', {
        amountMinor,
        how: 'cash',
        note: 'kept',
      });
      expect(answer.statusCode).toBe(422);
      expect(answer.body).toContain('kept');
      expect(await balance(number)).toBe(0);
    },
  );

  it.each(['0', '-1', '999999999999', '1e3', '0.0001'])('a quantity of "%s" is refused', async (quantity) => {
    const { number } = await aPayer();
    const answer = await act(s.people.technician, number, 'charge', { item: 'clay', quantity });
    expect(answer.statusCode).toBe(422);
  });

  it('what lies ahead is refused', async () => {
    const { number } = await aPayer();
    const answer = await act(s.people.technician, number, 'pay', {
      amountMinor: '5',
      how: 'cash',
      happenedAt: '2099-01-01T10:00',
    });
    expect(answer.statusCode).toBe(422);
  });

  it('a note is shown as it was typed, never run', async () => {
    const { number, person } = await aPayer();
    const reason = '<script>alert(1)</script> & "quotes"';
    await act(s.people.technician, number, 'charge', { amountMinor: '1', reason });
    const page = await s.visit(person, `/fees/accounts/${number}`);
    expect(page.body).not.toContain('<script>alert');
    expect(page.body).toContain('&lt;script>alert(1)');
  });
});

describe('credits', () => {
  it('hours worked count at the rate of the list, without tax', async () => {
    const { number } = await aPayer();
    const fields = { for: 'work', hours: '1.5', reason: 'kiln shelves scraped' };
    expect((await act(s.people.technician, number, 'credit', fields)).statusCode).toBe(303);
    // 1.5 h × 11.00 = 16.50
    expect(await account(number)).toMatchObject({ balanceMinor: -1650, entries: [{ taxMinor: 0 }] });
  });

  it('of an entry: its tax goes back by the same part, and no more than there was', async () => {
    const { number } = await aPayer();
    await act(s.people.technician, number, 'charge', { item: 'clay' });
    const about = String((await account(number)).entries[0].number);
    const give = (amountMinor: string) =>
      act(s.people.technician, number, 'credit', {
        for: 'goodwill',
        amountMinor,
        about,
        reason: 'dried out',
      });
    expect((await give('6')).statusCode).toBe(303);
    // 6.00 of 15.00, whose tax is 2.50: 6 × 2.50 ÷ 15 = 1.00
    expect((await account(number)).entries[0]).toMatchObject({
      amountMinor: -600,
      netMinor: -500,
      taxMinor: -100,
    });
    // Its tax is at the rate of the list that the entry was charged by.
    const [credit] = await db.execute<{ number: number }>(
      sql`select t.number from fee_entries e join tariffs t on t.id = e.tariff_id
        where e.kind = 'credit' order by e.id desc limit 1`,
    );
    expect(credit?.number).toBe(1);
    expect((await give('9.01')).statusCode).toBe(422);
    const strike = await submit(s.people.technician, `/fees/entries/${about}/strike-out`, { reason: 'slip' });
    expect(strike.statusCode).toBe(409);
    expect(strike.body).toContain('strike that out first');
    await sound();
  });

  it('a technician gives up to the limit a day, beyond it a manager is asked and the asker told', async () => {
    const { number } = await aPayer();
    const give = (who: Person, amountMinor: string) =>
      act(who, number, 'credit', { for: 'goodwill', amountMinor, reason: 'cracked in the kiln' });
    expect((await give(s.people.technician, '12')).headers.location).toContain('done=credited');
    // 12.00 and 9.00 are more than 20.00
    expect((await give(s.people.technician, '9')).headers.location).toContain('done=asked');
    expect(await balance(number)).toBe(-1200);
    const list = await s.visit(s.people.manager, '/fees/requests');
    const request = /\/fees\/requests\/(\d+)/.exec(list.body)?.[1] ?? '';
    const answer = (who: Person, fields: Record<string, string>) =>
      submit(who, `/fees/requests/${request}`, fields);
    expect((await answer(s.people.technician, { decision: 'yes' })).statusCode).toBe(403);
    expect((await answer(s.people.manager, { decision: 'no' })).statusCode).toBe(422);
    const both = await Promise.all([1, 2].map(() => answer(s.people.manager, { decision: 'yes' })));
    expect(both.map(({ statusCode }) => statusCode).sort()).toEqual([303, 409]);
    expect(await balance(number)).toBe(-2100);
    expect((await s.visit(s.people.technician, '/messages')).body).toContain('said yes to the credit');
    // A manager's own is written at once, whatever came before.
    expect((await give(s.people.manager, '90')).headers.location).toContain('done=credited');
    await sound();
  });

  it("a technician's own account is credited by a manager only", async () => {
    const { technician } = s.people;
    const holder = { kind: 'person', id: technician.id } as const;
    const number = await s.as(
      technician,
      async (own) => (await payersFor(own, [holder]))[0]?.number as number,
    );
    const answer = await act(technician, number, 'credit', {
      for: 'goodwill',
      amountMinor: '1',
      reason: 'my bowl',
    });
    expect(answer.headers.location).toContain('done=asked');
    expect(await balance(number)).toBe(0);
    const waiting = (await s.visit(s.people.manager, '/fees/requests')).body;
    const request = /\/fees\/requests\/(\d+)/.exec(waiting)?.[1] ?? '';
    const said = { decision: 'no', word: 'it was not' };
    expect((await submit(s.people.manager, `/fees/requests/${request}`, said)).statusCode).toBe(303);
  });

  it('a yes comes too late for a credit of what was struck out meanwhile', async () => {
    const { number } = await aPayer();
    await act(s.people.technician, number, 'charge', { amountMinor: '50', reason: 'tools' });
    const about = String((await account(number)).entries[0].number);
    const fields = { for: 'goodwill', amountMinor: '40', about, reason: 'never given out' };
    expect((await act(s.people.technician, number, 'credit', fields)).headers.location).toContain(
      'done=asked',
    );
    await submit(s.people.technician, `/fees/entries/${about}/strike-out`, { reason: 'never given out' });
    const list = await s.visit(s.people.manager, '/fees/requests');
    const request = /\/fees\/requests\/(\d+)/.exec(list.body)?.[1] ?? '';
    const late = await submit(s.people.manager, `/fees/requests/${request}`, { decision: 'yes' });
    expect(late.statusCode).toBe(409);
    await submit(s.people.manager, `/fees/requests/${request}`, { decision: 'no', word: 'struck out' });
    expect(await balance(number)).toBe(0);
  });

  it('two technicians at once do not give the limit twice', async () => {
    const { number } = await aPayer();
    const other = await s.aPerson('technician');
    const both = await Promise.all(
      [s.people.technician, other].map((who) =>
        act(who, number, 'credit', { for: 'goodwill', amountMinor: '15', reason: 'sorry' }),
      ),
    );
    expect(both.map(({ headers }) => String(headers.location).split('done=')[1]).sort()).toEqual([
      'asked',
      'credited',
    ]);
    expect(await balance(number)).toBe(-1500);
  });

  it('a ruined shelf waits for a yes; a no leaves the account as it was', async () => {
    const { number } = await aPayer();
    const fields = { item: 'shelf', reason: 'glaze ran over' };
    expect((await act(s.people.technician, number, 'charge', fields)).headers.location).toContain(
      'done=asked',
    );
    expect(await balance(number)).toBe(0);
    const list = await s.visit(s.people.technician, '/fees/requests');
    const request = /\/fees\/requests\/(\d+)/.exec(list.body)?.[1] ?? '';
    // The test number that card networks publish passes the check digit.
    const withCard = { decision: 'no', word: 'pay from 4111 1111 1111 1111' };
    expect((await submit(s.people.manager, `/fees/requests/${request}`, withCard)).statusCode).toBe(422);
    await submit(s.people.manager, `/fees/requests/${request}`, { decision: 'no', word: 'it was old' });
    expect(await balance(number)).toBe(0);
    expect((await s.visit(s.people.technician, `/fees/requests/${request}`)).body).toContain('it was old');
    await act(s.people.manager, number, 'charge', fields);
    expect(await balance(number)).toBe(9000);
  });
});

describe('striking out', () => {
  const charged = async (who: Person = s.people.technician) => {
    const { number } = await aPayer();
    await act(who, number, 'charge', { amountMinor: '10', reason: 'clay tools' });
    return { number, entry: (await account(number)).entries[0].number as number };
  };
  const strike = (who: Person, entry: number, reason = 'a slip') =>
    submit(who, `/fees/entries/${entry}/strike-out`, { reason });

  it('of two at once one does, and a strike-out stays', async () => {
    const { number, entry } = await charged();
    const both = await Promise.all([s.people.technician, s.people.manager].map((who) => strike(who, entry)));
    expect(both.map(({ statusCode }) => statusCode).sort()).toEqual([303, 409]);
    const [strikeOut] = (await account(number)).entries;
    expect(strikeOut).toMatchObject({ kind: 'void', voids: entry, amountMinor: -1000 });
    expect((await strike(s.people.manager, strikeOut.number)).statusCode).toBe(409);
    expect(await balance(number)).toBe(0);
    await sound();
  });

  it("another's, or one older than a day, by a manager", async () => {
    const { entry } = await charged(s.people.manager);
    expect((await strike(s.people.technician, entry)).statusCode).toBe(403);
    const own = await charged();
    s.clock.forward(DAY + HOUR);
    expect((await strike(s.people.technician, own.entry)).statusCode).toBe(403);
    expect((await strike(s.people.manager, own.entry)).statusCode).toBe(303);
    expect((await strike(s.people.member, entry)).statusCode).toBe(403);
  });
});

describe('who sees what', () => {
  it('members their own; others are not there', async () => {
    const { number, person } = await aPayer();
    await act(s.people.technician, number, 'charge', { item: 'clay' });
    const [entry] = (await account(number)).entries;
    for (const url of [`/fees/accounts/${number}`, `/fees/entries/${entry.number}`]) {
      expect((await s.visit(person, url)).statusCode).toBe(200);
      expect((await s.visit(s.people.member, url)).statusCode).toBe(404);
      expect((await s.visit(s.people.technician, url)).statusCode).toBe(200);
      expect((await s.visit(null, url)).statusCode).toBe(303);
    }
    expect((await s.api(person, 'GET', '/accounts/me')).json().balanceMinor).toBe(1500);
    expect((await s.api(s.people.member, 'GET', `/accounts/${person.email}`)).statusCode).toBe(404);
    expect((await s.api(s.people.member, 'GET', '/accounts/me')).statusCode).toBe(404);
    for (const path of ['/fees/accounts', '/fees/requests', `/fees/accounts/${number}/pay`])
      expect((await s.visit(person, path)).statusCode).toBe(403);
    expect((await act(person, number, 'pay', { amountMinor: '5', how: 'cash' })).statusCode).toBe(403);
    expect((await act(person, number, 'class', { memberClass: 'guest' })).statusCode).toBe(403);
  });

  it('a household is everybody’s in it, a class its teacher’s', async () => {
    const [teacher, other] = [await s.aPerson('member'), await s.aPerson('member')];
    const home = await s.as(teacher, (made) => makeHousehold(made, { name: `Lantern Yard ${teacher.id}` }));
    await s.as(teacher, (made) => addToGroup(made, home, { who: other.email }));
    const course = await s.as(s.people.technician, (made) =>
      makeClass(made, { name: `Tuesdays ${teacher.id}`, contact: teacher.email }),
    );
    await s.as(teacher, (made) => addToGroup(made, course, { who: other.email }));
    const seen = async (who: Person, id: number) => {
      const opened = await submit(s.people.technician, '/fees/accounts', { kind: 'group', id: String(id) });
      const url = /^[^?]+/.exec(String(opened.headers.location))?.[0] ?? '';
      return (await s.visit(who, url)).statusCode;
    };
    expect([await seen(teacher, home), await seen(other, home)]).toEqual([200, 200]);
    expect([await seen(teacher, course), await seen(other, course)]).toEqual([200, 404]);
    expect(await seen(s.people.member, home)).toBe(404);
  });

  it('technicians find an account by name, open one, and change its class: audited', async () => {
    const somebody = await s.aPerson('member', 'Quill Thackeray');
    const list = await s.visit(s.people.technician, '/fees/accounts?words=quill');
    expect(list.body).toContain('Open an account for Quill Thackeray');
    const opened = await submit(s.people.technician, '/fees/accounts', {
      kind: 'person',
      id: String(somebody.id),
    });
    const number = Number(/accounts\/(\d+)/.exec(String(opened.headers.location))?.[1]);
    const change = (memberClass: string) => act(s.people.technician, number, 'class', { memberClass });
    expect((await change('emperor')).statusCode).toBe(422);
    expect((await change('guest')).statusCode).toBe(303);
    const audited = await db.execute(sql`select act from audit where subject = ${`account:${number}`}`);
    expect(audited).toEqual([{ act: 'fees.member-class' }]);
    expect((await s.visit(s.people.technician, '/fees/accounts?words=quill')).body).toContain('guest');
    expect(
      (await submit(s.people.technician, '/fees/accounts', { kind: 'group', id: '999' })).statusCode,
    ).toBe(404);
  });

  it.each(['0', '-1', 'abc', '99999999999', '1%00'])('an account "%s" is not there', async (number) => {
    for (const what of ['accounts', 'entries', 'requests'])
      expect([400, 404]).toContain((await s.visit(s.people.manager, `/fees/${what}/${number}`)).statusCode);
  });
});

describe('payments by a program', () => {
  it('are recorded once under one key, for an account or an address', async () => {
    const person = await s.aPerson('member');
    const body = { account: person.email, amountMinor: 486, how: 'transfer', reference: 'T-77' };
    const send = () =>
      s.api(s.people.technician, 'POST', '/payments', body, { 'idempotency-key': 'pay-486' });
    const [first, again] = [await send(), await send()];
    expect([first.statusCode, again.statusCode]).toEqual([201, 201]);
    expect(again.json()).toEqual(first.json());
    expect(first.json().balanceMinor).toBe(-486);
    expect((await s.api(person, 'GET', '/accounts/me')).json().entries).toHaveLength(1);
    expect((await s.api(s.people.member, 'POST', '/payments', body)).statusCode).toBe(403);
    for (const wrong of [
      { amountMinor: 4.5 },
      { amountMinor: -1 },
      { how: 'card' },
      { account: 'nobody' },
      { extra: 1 },
    ])
      expect((await s.api(s.people.technician, 'POST', '/payments', { ...body, ...wrong })).statusCode).toBe(
        422,
      );
    for (const account of [999_999, 'no.such@millrace.example'])
      expect((await s.api(s.people.technician, 'POST', '/payments', { ...body, account })).statusCode).toBe(
        404,
      );
  });
});

describe('an account by a program', () => {
  it('comes a hundred entries a page, and odd pages are refused', async () => {
    const { number, person } = await aPayer();
    await act(s.people.technician, number, 'pay', { amountMinor: '3', how: 'cash' });
    await act(s.people.technician, number, 'pay', { amountMinor: '4', how: 'cash' });
    const [newest] = (await account(number)).entries;
    const older = (await s.api(person, 'GET', `/accounts/me?before=${newest.number}`)).json();
    expect(older).toMatchObject({ balanceMinor: -700, entries: [{ amountMinor: -300 }], next: null });
    for (const before of ['0', '-1', 'x', '1e99'])
      expect((await s.api(person, 'GET', `/accounts/me?before=${before}`)).statusCode).toBe(422);
  });
});

describe('any sequence of acts', () => {
  const one = fc.oneof(
    fc.record({
      what: fc.constant('pay'),
      amountMinor: fc.integer({ min: 1, max: 9999 }),
      how: fc.constantFrom('cash', 'transfer'),
    }),
    fc.record({
      what: fc.constant('charge'),
      amountMinor: fc.integer({ min: 1, max: 9999 }),
      reason: fc.constant('by hand'),
    }),
    fc.record({
      what: fc.constant('charge'),
      item: fc.constantFrom('clay', 'glaze'),
      quantity: fc.constantFrom('1', '0.5', '3'),
    }),
    fc.record({
      what: fc.constant('credit'),
      for: fc.constantFrom('goodwill', 'write-off'),
      amountMinor: fc.integer({ min: 1, max: 9999 }),
      reason: fc.constant('so'),
    }),
    fc.record({
      what: fc.constant('give-back'),
      amountMinor: fc.integer({ min: 1, max: 999 }),
      how: fc.constant('cash'),
    }),
    fc.record({ what: fc.constant('strike'), back: fc.nat(6) }),
  );

  it('the sum over all accounts is nothing, and open less credit is the balance', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(one, { minLength: 2, maxLength: 10 }), async (acts) => {
        const { number } = await aPayer();
        for (const { what, ...fields } of acts) {
          if (what === 'strike') {
            const { entries } = await account(number);
            const entry = entries[(fields as { back: number }).back];
            if (!entry) continue;
            const answer = await submit(s.people.manager, `/fees/entries/${entry.number}/strike-out`, {
              reason: 'x',
            });
            expect([303, 409]).toContain(answer.statusCode);
          } else {
            const typed = Object.fromEntries(
              Object.entries(fields).map(([name, value]) => [
                name,
                name === 'amountMinor' ? (Number(value) / 100).toFixed(2) : String(value),
              ]),
            );
            expect((await act(s.people.manager, number, what, typed)).statusCode).toBe(303);
          }
        }
        const now = await account(number);
        const open = now.open.reduce((sum: number, each: { openMinor: number }) => sum + each.openMinor, 0);
        expect(open - now.creditMinor).toBe(now.balanceMinor);
        await sound();
      }),
      { numRuns: 12 },
    );
  });
});

describe('the database itself', () => {
  it('takes no entry that does not balance, and none in a closed month', async () => {
    const { id } = await aPayer();
    const client = postgres(s.services.config.databaseUrl as string, { max: 1, onnotice: () => {} });
    const insert = (number: number, period: string, postings: [number, string][]) =>
      client.begin(async (tx) => {
        const [row] = await tx`insert into fee_entries
          (number, kind, period, day, happened_at, recorded_at, by, account_id, amount_minor, net_minor, tax_minor, v, payload)
          values (${number}, 'charge', ${period}, ${`${period}-01`}, now(), now(), ${s.people.manager.id}, ${id}, 100, 100, 0, 1, '{}')
          returning id`;
        for (const [i, [accountId, minor]] of postings.entries())
          await tx`insert into fee_postings values (${row?.id}, ${i}, ${accountId}, ${period}, ${minor})`;
      });
    const [own] = await db.select({ id: feeAccounts.id }).from(feeAccounts).where(sql`key = 'other'`);
    const other = own?.id as number;
    await expect(insert(9001, '2026-01', [])).rejects.toThrow(/does not balance/);
    await expect(insert(9001, '2026-01', [[id, '100']])).rejects.toThrow(/does not balance/);
    await expect(
      insert(9001, '2026-01', [
        [id, '100'],
        [other, '-99'],
      ]),
    ).rejects.toThrow(/does not balance/);
    // Balanced, but the payer's side is not its amount.
    await expect(
      insert(9001, '2026-01', [
        [id, '50'],
        [other, '-50'],
      ]),
    ).rejects.toThrow(/does not balance/);
    await db.update(feeBooks).set({ closedThrough: '2026-02' });
    await expect(
      insert(9001, '2026-02', [
        [id, '100'],
        [other, '-100'],
      ]),
    ).rejects.toThrow(/is closed/);
    await expect(client`update fee_entries set amount_minor = 1`).rejects.toThrow(/append-only|permission/);
    await expect(client`delete from fee_postings`).rejects.toThrow(/append-only|permission/);
    await client.end();
    await sound();
  });

  it('what happened in a closed month stands in the first that is open', async () => {
    const { number } = await aPayer();
    await db.update(feeBooks).set({ closedThrough: '2026-02' });
    await act(s.people.technician, number, 'pay', {
      amountMinor: '5',
      how: 'cash',
      happenedAt: '2026-01-20T10:00',
    });
    const [entry] = (await account(number)).entries;
    expect(entry).toMatchObject({ day: '2026-01-20', period: '2026-03' });
    await sound();
  });

  it('the doctor finds what somebody changed as the owner', async () => {
    await sound();
    const [{ last } = { last: 0 }] = await db
      .select({ last: sql<number>`max(${feeEntries.number})`.mapWith(Number) })
      .from(feeEntries);
    await db.update(feeBooks).set({ lastEntry: last + 1 });
    expect(await examineFees({ tx: db })).toHaveLength(1);
    await db.update(feeBooks).set({ lastEntry: last });
    const owner = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
    await owner.unsafe(`alter table fee_postings disable trigger all;
      update fee_postings set amount_minor = amount_minor + 1
        where (entry_id, position) in (select entry_id, position from fee_postings limit 1);
      alter table fee_postings enable trigger all`);
    await owner.end();
    expect((await examineFees({ tx: db })).length).toBeGreaterThan(0);
  });
});
