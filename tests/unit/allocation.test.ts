import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Allocated, agedBy, allocate, dueOn, overdueSince } from '../../server/fees/allocation.ts';
import { holdsCardNumber } from '../../server/fees/card-number.ts';

const entry = (number: number, amountMinor: bigint, more: Partial<Allocated> = {}): Allocated => ({
  number,
  day: '2026-03-01',
  period: '2026-03',
  amountMinor,
  voids: null,
  about: null,
  ...more,
});

const openOf = (entries: Allocated[]) => {
  const { open, creditMinor } = allocate(entries);
  return { open: open.map(({ number, openMinor }) => [number, openMinor]), creditMinor };
};

describe('what pays for what', () => {
  it('a payment goes to the oldest charge first, then on', () => {
    // 5.00 and 7.00 owed, 6.00 paid: the 5.00 is paid, 1.00 of the 7.00; 6.00 open
    expect(openOf([entry(1, 500n), entry(2, 700n), entry(3, -600n)])).toEqual({
      open: [[2, 600n]],
      creditMinor: 0n,
    });
  });

  it('the oldest is the one that happened first, not the one that was written first', () => {
    const late = entry(2, 700n, { day: '2026-02-11', period: '2026-02' });
    expect(openOf([entry(1, 500n), late, entry(3, -700n)]).open).toEqual([[1, 500n]]);
  });

  it('a credit of an entry goes to that entry, and what is over to the oldest', () => {
    // 3.00 back of the second, of 2.00: 1.00 is over and goes to the first
    const credit = entry(3, -300n, { about: 2 });
    expect(openOf([entry(1, 500n), entry(2, 200n), credit])).toEqual({ open: [[1, 400n]], creditMinor: 0n });
  });

  it('a payment beyond all that is owed stays as credit', () => {
    expect(openOf([entry(1, 500n), entry(2, -800n)])).toEqual({ open: [], creditMinor: 300n });
  });

  it('what was struck out takes no part, nor does its strike-out', () => {
    const all = [entry(1, 500n), entry(2, -500n), entry(3, 500n, { voids: 2 })];
    expect(openOf(all)).toEqual({ open: [[1, 500n]], creditMinor: 0n });
  });

  it('a credit of an entry that was struck out goes to the others', () => {
    const all = [
      entry(1, 500n),
      entry(2, 300n),
      entry(3, -300n, { voids: 2 }),
      entry(4, -100n, { about: 2 }),
    ];
    expect(openOf(all)).toEqual({ open: [[1, 400n]], creditMinor: 0n });
  });

  it('whatever is charged, credited, paid and struck out: open less credit is the balance', () => {
    const one = fc.record({
      amount: fc.bigInt(-100_000n, 100_000n),
      day: fc.integer({ min: 1, max: 28 }),
      voids: fc.option(fc.nat(40)),
      about: fc.option(fc.nat(40)),
    });
    fc.assert(
      fc.property(fc.array(one, { maxLength: 40 }), (typed) => {
        const entries: Allocated[] = [];
        for (const [i, { amount, day, voids, about }] of typed.entries()) {
          const struck = voids === null ? undefined : entries[voids];
          const mayStrike =
            struck && struck.voids === null && !entries.some((other) => other.voids === struck.number);
          entries.push(
            entry(i + 1, mayStrike ? -struck.amountMinor : amount, {
              day: `2026-03-${String(day).padStart(2, '0')}`,
              voids: mayStrike ? struck.number : null,
              about: !mayStrike && about !== null && about < i ? about + 1 : null,
            }),
          );
        }
        const { open, creditMinor } = allocate(entries);
        const balance = entries.reduce((sum, { amountMinor }) => sum + amountMinor, 0n);
        expect(open.reduce((sum, { openMinor }) => sum + openMinor, -creditMinor)).toBe(balance);
        expect(creditMinor >= 0n && open.every(({ openMinor }) => openMinor > 0n)).toBe(true);
        expect(creditMinor === 0n || open.length === 0).toBe(true);
        for (const { number, openMinor } of open)
          expect(openMinor <= (entries[number - 1] as Allocated).amountMinor).toBe(true);
      }),
    );
  });

  it('says the same whatever the order it is told in', () => {
    const amounts = fc.array(fc.bigInt(-500n, 500n), { maxLength: 12 });
    fc.assert(
      fc.property(amounts, (list) => {
        const entries = list.map((amount, i) => entry(i + 1, amount));
        expect(allocate([...entries].reverse())).toEqual(allocate(entries));
      }),
    );
  });
});

describe('how long it is overdue', () => {
  it('is due so many days after the end of its month', () => {
    expect(dueOn('2026-02', 14)).toBe('2026-03-14');
    expect(dueOn('2028-02', 1)).toBe('2028-03-01');
    expect(dueOn('2026-12', 0)).toBe('2026-12-31');
  });

  const open = [
    { number: 1, day: '2026-01-09', period: '2026-01', openMinor: 100n },
    { number: 2, day: '2026-03-09', period: '2026-03', openMinor: 20n },
  ];

  it('is overdue the day after', () => {
    expect(overdueSince(open, '2026-02-14', 14)).toBeNull();
    expect(overdueSince(open, '2026-02-15', 14)).toBe('2026-02-15');
  });

  it('sorts by age, and nothing is left out', () => {
    // On 15 March, January's has been overdue since 14 February: 29 days.
    expect(agedBy(open, '2026-03-15', 14).map(({ openMinor }) => openMinor)).toEqual([20n, 100n, 0n, 0n, 0n]);
    // On 16 May: 91 days, and March's (due 14 April) 32.
    expect(agedBy(open, '2026-05-16', 14).map(({ openMinor }) => openMinor)).toEqual([0n, 0n, 20n, 0n, 100n]);
    fc.assert(
      fc.property(fc.integer({ min: -400, max: 400 }), (days) => {
        const today = new Date(Date.UTC(2026, 2, 15) + days * 86_400_000).toISOString().slice(0, 10);
        expect(agedBy(open, today, 14).reduce((sum, age) => sum + age.openMinor, 0n)).toBe(120n);
      }),
    );
  });
});

describe('a card number in a reference', () => {
  // The numbers that card schemes give for trying, from memory; each passes the formula of Luhn.
  it.each([
    '4111111111111111',
    '4111 1111 1111 1111',
    'card 5555-5555-5555-4444 thanks',
    '378282246310005',
    '4111 1111 1111 1111 12/29',
    '４１１１１１１１１１１１１１１１',
  ])('%s is one', (words) => expect(holdsCardNumber(words)).toBe(true));

  it.each(['4111111111111112', 'TERM 000123 / 4711', '', 'invoice 2026-03-07', '123456789012'])(
    '%s is none',
    (words) => expect(holdsCardNumber(words)).toBe(false),
  );

  it('one wrong digit is always noticed', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 15 }), fc.integer({ min: 1, max: 9 }), (at, more) => {
        const digits = [...'4111111111111111'].map(Number);
        digits[at] = ((digits[at] as number) + more) % 10;
        expect(holdsCardNumber(digits.join(''))).toBe(false);
      }),
    );
  });
});
