import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type EntryKind, monthAfter, type OwnAccount, periodFor } from '../../server/fees/ledger.ts';
import {
  correctsOf,
  differences,
  type MonthTotals,
  partOf,
  payersChanged,
  type StatementEntry,
  statementFrom,
  toStored,
} from '../../server/fees/statement.ts';

const entry = (
  number: number,
  kind: EntryKind,
  against: OwnAccount,
  netMinor: bigint,
  more: Partial<StatementEntry> = {},
): StatementEntry => ({
  number,
  kind,
  netMinor,
  taxMinor: 0n,
  amountMinor: netMinor + (more.taxMinor ?? 0n),
  voids: null,
  about: null,
  tariffId: null,
  line: null,
  payload: { because: [], against },
  ...more,
});

describe('a statement', () => {
  // Worked by hand, in pence:
  //   began with       1240
  //   bowl, glaze       400 + 20 % tax  80 =  480
  //   plate, glaze      250 + 20 % tax  50 =  300
  //   clay, 2 bags      900 +  5 % tax  45 =  945
  //   bowl lost        −400 − 20 % tax  80 = −480
  //   charge of 300 struck out             = −300
  //   paid                                 = −1000
  //   charges 480 + 300 + 945 − 300 = 1425, credits −480, payments −1000
  //   ends with 1240 + 1425 − 480 − 1000   = 1185
  //   tax at 20 %: 80 + 50 − 50 − 80 = 0 on 400 + 250 − 250 − 400 = 0; at 5 %: 45 on 900
  const entries = [
    entry(7, 'payment', 'payment:cash', -1000n),
    entry(1, 'firing', 'income:firing', 400n, { taxMinor: 80n, tariffId: 1 }),
    entry(2, 'firing', 'income:firing', 250n, { taxMinor: 50n, tariffId: 1 }),
    entry(3, 'sale', 'income:clay', 900n, { taxMinor: 45n, tariffId: 2 }),
    entry(5, 'loss-credit', 'relief:loss', -400n, { taxMinor: -80n, tariffId: 1, about: 1 }),
    entry(6, 'void', 'income:firing', -250n, { taxMinor: -50n, tariffId: 1, voids: 2 }),
  ];

  it('adds up as it does by hand', () => {
    const statement = statementFrom(1240n, entries, (id) => (id === 1 ? '20' : '5'));
    expect(statement.totals).toEqual({ charges: 1425n, credits: -480n, payments: -1000n });
    expect(statement.closingMinor).toBe(1185n);
    expect(statement.parts.charges.map(({ number }) => number)).toEqual([1, 2, 3, 6]);
    expect(statement.taxes).toEqual([
      { percent: '5', netMinor: 900n, taxMinor: 45n },
      { percent: '20', netMinor: 0n, taxMinor: 0n },
    ]);
  });

  it('of a month without entries ends as it began', () => {
    expect(statementFrom(-30n, [])).toMatchObject({ openingMinor: -30n, closingMinor: -30n, taxes: [] });
  });

  it('puts a strike-out where what it strikes out stands', () => {
    expect(partOf('payment:cash')).toBe('payments');
    expect(partOf('relief:goodwill')).toBe('credits');
    expect(partOf('income:firing')).toBe('charges');
    expect(partOf('payment:transfer')).toBe('payments');
  });

  it('names what a correction corrects', () => {
    expect(entries.map(correctsOf)).toEqual([null, null, null, null, 1, 2]);
  });

  const acts = fc.array(
    fc.record({
      kind: fc.constantFrom<[EntryKind, OwnAccount]>(
        ['firing', 'income:firing'],
        ['sale', 'income:clay'],
        ['credit', 'relief:goodwill'],
        ['payment', 'payment:cash'],
        ['refund', 'payment:transfer'],
        ['void', 'income:firing'],
      ),
      net: fc.bigInt({ min: -1_000_000n, max: 1_000_000n }),
      tax: fc.bigInt({ min: -200_000n, max: 200_000n }),
      // The month it happened in, and how many months were closed when it was written.
      month: fc.nat({ max: 5 }),
      closed: fc.nat({ max: 5 }),
    }),
    { maxLength: 40 },
  );

  it('ends as the next one begins, late corrections and all', () => {
    fc.assert(
      fc.property(acts, (made) => {
        // Months are closed one after the other: whatever is written later stands in a later month.
        let closedSoFar = 0;
        const placed = made.map(({ kind: [kind, against], net, tax, month, closed }, at) => {
          closedSoFar = Math.max(closedSoFar, closed);
          const closedThrough = closedSoFar === 0 ? null : monthAfter('2026-01', closedSoFar - 1);
          const period = periodFor(`${monthAfter('2026-01', month)}-15`, closedThrough);
          return { period, entry: entry(at + 1, kind, against, net, { taxMinor: tax }) };
        });
        const openingOf = (period: string) =>
          placed.filter((one) => one.period < period).reduce((sum, one) => sum + one.entry.amountMinor, 0n);
        for (let n = 0; n <= 7; n++) {
          const period = monthAfter('2026-01', n);
          const own = placed.filter((one) => one.period === period).map((one) => one.entry);
          const statement = statementFrom(openingOf(period), own);
          expect(statement.closingMinor).toBe(openingOf(monthAfter(period)));
          const { charges, credits, payments } = statement.parts;
          expect(charges.length + credits.length + payments.length).toBe(own.length);
        }
        const all = placed.reduce((sum, one) => sum + one.entry.amountMinor, 0n);
        expect(openingOf(monthAfter('2026-01', 8))).toBe(all);
      }),
    );
  });

  it('does not depend on the order that entries come in', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(entries, { minLength: entries.length }), (shuffled) => {
        expect(statementFrom(0n, shuffled)).toEqual(statementFrom(0n, entries));
      }),
    );
  });
});

describe('what a closing keeps', () => {
  const totals: MonthTotals = {
    period: '2026-03',
    entries: 3,
    openingMinor: 0n,
    parts: { charges: 1425n, credits: -480n, payments: -1000n },
    closingMinor: -55n,
    accounts: { 'income:firing': -1425n },
  };
  const before = toStored(
    totals,
    new Map([
      [1, -100n],
      [2, 45n],
    ]),
  );

  it('is exact beyond what a float holds, and survives JSON', () => {
    const big = toStored({ ...totals, closingMinor: 9_007_199_254_740_993n }, new Map());
    expect(JSON.parse(JSON.stringify(big)).closingMinor).toBe('9007199254740993');
  });

  it('shows what a later one changed, and for whom', () => {
    const after = toStored(
      { ...totals, parts: { ...totals.parts, payments: -1100n }, closingMinor: -155n },
      new Map([
        [1, -100n],
        [2, -55n],
        [3, 10n],
      ]),
    );
    expect(differences(before, after)).toEqual([
      { what: 'payments', beforeMinor: -1000n, afterMinor: -1100n },
      { what: 'closingMinor', beforeMinor: -55n, afterMinor: -155n },
    ]);
    expect(payersChanged(before, after)).toEqual([2, 3]);
    expect(differences(before, before)).toEqual([]);
    expect(payersChanged(null, before)).toEqual([1, 2]);
  });
});
