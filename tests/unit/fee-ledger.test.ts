import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { monthAfter, OWN_ACCOUNTS, type OwnAccount, periodFor, sidesOf } from '../../server/fees/ledger.ts';
import { entryWords } from '../../server/fees/words.ts';

const accounts = Object.entries(OWN_ACCOUNTS).flatMap(([kind, keys]) =>
  keys.map((key) => `${kind}:${key}` as OwnAccount),
);
const minor = fc.bigInt(-(10n ** 12n), 10n ** 12n);

describe('the sides of an entry', () => {
  it('sum to nothing, and the payer owes net and tax', () => {
    fc.assert(
      fc.property(fc.constantFrom(...accounts), minor, minor, (against, net, tax) => {
        const sides = sidesOf(against, net, tax);
        expect(sides.reduce((sum, { amountMinor }) => sum + amountMinor, 0n)).toBe(0n);
        const payer = sides.filter(({ account }) => account === 'payer');
        expect(payer.reduce((sum, { amountMinor }) => sum + amountMinor, 0n)).toBe(net + tax);
        expect(sides.every(({ amountMinor }) => amountMinor !== 0n)).toBe(true);
      }),
    );
  });

  it('a payment counts up where the money arrived', () => {
    expect(sidesOf('payment:cash', -1200n, 0n)).toEqual([
      { account: 'payer', amountMinor: -1200n },
      { account: 'payment:cash', amountMinor: 1200n },
    ]);
  });
});

describe('the month of an entry', () => {
  const period = fc
    .tuple(fc.integer({ min: 2000, max: 2100 }), fc.integer({ min: 1, max: 12 }))
    .map(([year, month]) => `${year}-${String(month).padStart(2, '0')}`);

  it('is never one that is closed, and its own wherever that is open', () => {
    fc.assert(
      fc.property(period, fc.option(period), (month, closed) => {
        const stands = periodFor(`${month}-15`, closed);
        expect(closed === null || stands > closed).toBe(true);
        if (closed === null || month > closed) expect(stands).toBe(month);
        else expect(stands).toBe(monthAfter(closed));
      }),
    );
  });

  it('follows over the end of a year, both ways', () => {
    expect(monthAfter('2026-12')).toBe('2027-01');
    expect(monthAfter('2026-01', -1)).toBe('2025-12');
  });
});

describe('what an entry is called', () => {
  const none = { piece: null, firingKind: null, cone: null, load: null, about: null, voids: null };
  const payload = { because: [], against: 'income:firing' };

  it.each([
    [
      { kind: 'firing', piece: { id: 1, number: 128, form: 'cup' }, firingKind: 'bisque', cone: '06' },
      'Cup, piece 128: bisque, cone 06',
    ],
    [
      { kind: 'sale', payload: { ...payload, name: 'Clear glaze', quantity: '1.2', unit: 'kg' } },
      'Clear glaze, 1.2 kg',
    ],
    [{ kind: 'sale', payload: { ...payload, name: 'Buff clay', quantity: '1', unit: 'bag' } }, 'Buff clay'],
    [
      { kind: 'sale', payload: { ...payload, name: 'Buff clay', quantity: '2', unit: 'bag' } },
      'Buff clay, 2 × bag',
    ],
    [{ kind: 'payment', payload: { ...payload, against: 'payment:transfer' } }, 'Payment, bank transfer'],
    [{ kind: 'void', voids: 12 }, 'Entry 12 struck out'],
    [{ kind: 'credit', about: 7 }, 'Credit for entry 7'],
    [{ kind: 'work-credit', payload: { ...payload, quantity: '3' } }, 'Work done, 3 h'],
  ] as const)('%#', (entry, words) => {
    expect(entryWords({ ...none, payload, ...entry } as Parameters<typeof entryWords>[0])).toBe(words);
  });
});
