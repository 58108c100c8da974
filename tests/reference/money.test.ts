import { describe, expect, it } from 'vitest';
import { currencies, exponentOf, moneyText, plainMoney, shares, times } from '../../server/core/money.ts';

// ISO 4217 list one, published 1 February 2026.
const EXPONENTS: [number, string][] = [
  [0, 'BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF'],
  [2, 'USD EUR GBP CAD AUD NOK CHF HUF MRU MGA'],
  [3, 'BHD IQD JOD KWD LYD OMR TND'],
  [4, 'CLF UYW'],
];

describe('minor units of ISO 4217', () => {
  it.each(EXPONENTS)('%i decimals: %s', (exponent, codes) => {
    for (const code of codes.split(' ')) expect([code, exponentOf(code)]).toEqual([code, exponent]);
  });

  it.each(['XAU', 'XAG', 'XPT', 'XPD', 'XDR', 'XTS', 'XXX'])('%s has none ("N.A.")', (code) => {
    expect(() => exponentOf(code)).toThrow(RangeError);
    expect(currencies()).not.toContain(code);
  });

  it('are what 4.86 USD, 486 JPY and 1.234 KWD are counted in', () => {
    expect(plainMoney(486n, 'USD')).toBe('4.86');
    expect(plainMoney(486n, 'JPY')).toBe('486');
    expect(plainMoney(1234n, 'KWD')).toBe('1.234');
  });

  it('are shown where common usage, which Intl follows, leaves them out: HUF, MGA and IQD', () => {
    expect(moneyText(123456n, 'HUF')).toContain('1,234.56');
    expect(moneyText(123456n, 'MGA')).toContain('1,234.56');
    expect(moneyText(123456n, 'IQD')).toContain('123.456');
  });
});

describe("a firing's energy at its price", () => {
  it("10.8 kW for 5 h at $0.09 a kWh, a kiln maker's note: 54 kWh, $4.86", () => {
    expect(times(9n, ['10.8', '5'], 'half-up')).toBe(486n);
  });

  it("8 kW for 9 h at half power and Rs 8 a kWh, a ceramics school's note: Rs 288", () => {
    expect(times(800n, ['8', '9', '0.5'], 'half-up')).toBe(28_800n);
  });

  it('3 kW for 4 h at 11 p: 12 × 11 = 132 p, where the note prints £1.31 by a slip', () => {
    expect(times(11n, ['3', '4'], 'half-up')).toBe(132n);
  });
});

describe('the method of largest remainders as it is defined', () => {
  it('shares 486 by 1.5, 2.5 and 4.0 L: quotas 91.125, 151.875, 243 → 91, 152, 243', () => {
    expect(shares(486n, [15n, 25n, 40n])).toEqual([91n, 152n, 243n]);
  });

  it('shares 100 in three: quotas 33⅓ each, 1 left, equal remainders → the earlier: 34, 33, 33', () => {
    expect(shares(100n, [1n, 1n, 1n])).toEqual([34n, 33n, 33n]);
  });

  // The textbook example of Hamilton's method, from memory: 100,000 voters, 10 seats.
  it('10 seats by 47, 16, 15.8, 12, 6.1 and 3.1 thousand votes: 5, 2, 1, 1, 1, 0', () => {
    // Quotas 4.70, 1.60, 1.58, 1.20, 0.61, 0.31: floors 4, 1, 1, 1, 0, 0; 3 left, to .70, .61 and .60.
    expect(shares(10n, [47_000n, 16_000n, 15_800n, 12_000n, 6_100n, 3_100n])).toEqual([
      5n,
      2n,
      1n,
      1n,
      1n,
      0n,
    ]);
  });
});
