import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { Invalid } from '../../server/core/errors.ts';
import { decimal, money, parse, readForm } from '../../server/core/forms.ts';
import {
  decimalParts,
  divide,
  exponentOf,
  moneyText,
  plainMoney,
  ROUNDINGS,
  rateText,
  roundTo,
  shares,
  times,
  typedMoney,
} from '../../server/core/money.ts';

const CURRENCIES = ['JPY', 'GBP', 'HUF', 'KWD', 'CLF'];
const currency = fc.constantFrom(...CURRENCIES);
const rounding = fc.constantFrom(...ROUNDINGS);
const amount = fc.bigInt({ min: -(10n ** 15n), max: 10n ** 15n });
const magnitude = (value: bigint) => (value < 0n ? -value : value);

describe('amounts in words', () => {
  it.each([
    [486n, 'GBP', '£4.86'],
    [-486n, 'GBP', '−£4.86'],
    [0n, 'GBP', '£0.00'],
    [5n, 'GBP', '£0.05'],
    [120_400n, 'EUR', '€1,204.00'],
    [486n, 'JPY', 'JP¥486'],
    [9_007_199_254_740_993_01n, 'GBP', '£9,007,199,254,740,993.01'],
  ])('%s of %s is %s', (minor, code, text) => {
    expect(moneyText(minor, code)).toBe(text);
  });

  it('keep their decimals in a file, with either mark', () => {
    expect(plainMoney(-5n, 'GBP')).toBe('-0.05');
    expect(plainMoney(123_456n, 'GBP', ',')).toBe('1234,56');
    expect(plainMoney(7n, 'CLF')).toBe('0.0007');
  });

  it.each([
    ['350', '£3.50'],
    ['0.35', '£0.0035'],
    ['28.5', '£0.285'],
    ['100000', '£1,000.00'],
  ])('a rate of %s pence is %s', (rate, text) => {
    expect(rateText(rate, 'GBP')).toBe(text);
  });

  it.each(['', 'gbp', 'GB', 'POUND', 'XXX'])('%j is no currency', (code) => {
    expect(() => exponentOf(code)).toThrow(RangeError);
  });
});

describe('amounts that are typed', () => {
  it.each([
    ['4.86', 'GBP', 486n],
    ['4,86', 'GBP', 486n],
    [' £4.86 ', 'GBP', 486n],
    ['4.86 GBP', 'GBP', 486n],
    ['gbp 4.86', 'GBP', 486n],
    ['4', 'GBP', 400n],
    ['4.8', 'GBP', 480n],
    ['4.', 'GBP', 400n],
    ['.5', 'GBP', 50n],
    ['0', 'GBP', 0n],
    ['-4.86', 'GBP', -486n],
    ['−£4.86', 'GBP', -486n],
    ['£-4.86', 'GBP', -486n],
    ['1234.5', 'GBP', 123_450n],
    ['1,234.50', 'GBP', 123_450n],
    ['1.234,50', 'EUR', 123_450n],
    ['1 234,50', 'EUR', 123_450n],
    ['1\u202f234.50', 'EUR', 123_450n],
    ['1 234', 'EUR', 123_400n],
    ["1'234.50", 'CHF', 123_450n],
    ['1’234', 'CHF', 123_400n],
    ['1,234,567', 'GBP', 123_456_700n],
    ['1,234', 'JPY', 1234n],
    ['1.234', 'ISK', 1234n],
    ['1.234', 'KWD', 1234n],
    ['0,234', 'KWD', 234n],
    ['1,23', 'KWD', 1230n],
    ['1234,567', 'KWD', 1_234_567n],
  ])('%j of %s', (text, code, minor) => {
    expect(typedMoney(text, code)).toBe(minor);
  });

  it.each([
    ['1,234', 'GBP', 'a thousand, or one and a bit'],
    ['1.234', 'GBP', 'the same'],
    ['1,234', 'KWD', 'the same'],
    ['4.865', 'GBP', 'more decimals than pennies'],
    ['4.5', 'JPY', 'decimals of yen'],
    ['1,23,456', 'GBP', 'groups of two'],
    ['12 34', 'GBP', 'groups of two'],
    ['0,123,456', 'GBP', 'a group of nothing'],
    ['1,234.567.89', 'GBP', 'marks in a muddle'],
    ['1.2.3', 'GBP', 'marks in a muddle'],
    ['€4.86', 'GBP', 'money of somebody else'],
    ['4.86 USD', 'GBP', 'the same'],
    ['£4.86 GBP', 'GBP', 'a name too many'],
    ['--4', 'GBP', 'a sign too many'],
    ['4-', 'GBP', 'a sign behind'],
    ['1e3', 'GBP', 'a power'],
    ['0x10', 'GBP', 'sixteen'],
    ['Infinity', 'GBP', 'no amount'],
    ['NaN', 'GBP', 'no amount'],
    ['', 'GBP', 'nothing'],
    ['.', 'GBP', 'nothing'],
    ['٤', 'GBP', 'a digit of another script'],
    ['9'.repeat(21), 'GBP', 'more than there is'],
  ])('%j of %s is refused: %s', (text, code) => {
    expect(typedMoney(text, code)).toBeNull();
  });

  it('are read as they are written, whatever the amount and the currency', () => {
    fc.assert(
      fc.property(amount, currency, (minor, code) => {
        expect(typedMoney(moneyText(minor, code), code)).toBe(minor);
        const plain = plainMoney(minor, code);
        expect(typedMoney(plain, code)).toBe(minor);
        expect(typedMoney(plainMoney(minor, code, ','), code)).toBe(isEither(plain) ? null : minor);
      }),
    );
  });

  /** With a comma it could be thousands: '1.234'. */
  const isEither = (plain: string) => /^-?[1-9]\d{0,2}\.\d{3}$/.test(plain);

  it('are never anything but an amount or a refusal', () => {
    fc.assert(
      fc.property(fc.string(), currency, (text, code) => {
        expect(['bigint', 'object']).toContain(typeof typedMoney(text, code));
      }),
    );
  });
});

describe('money in a form', () => {
  const schema = z.strictObject({
    amount: money(1, 100_000),
    parts: z.array(money(0, 100)).optional(),
    rate: decimal(4).optional(),
  });
  const setting = { units: 'metric', timeZone: 'UTC', currency: 'GBP' } as const;
  const messages = (typed: Record<string, string | string[]>): string[] => {
    try {
      readForm(schema, typed, setting);
    } catch (error) {
      if (error instanceof Invalid) return error.errors.map(({ path, message }) => `${path}: ${message}`);
      throw error;
    }
    return [];
  };

  it('is typed as people write it, and is minor units from then on', () => {
    expect(readForm(schema, { amount: '£4,86', parts: ['0.5', '1'], rate: '03,50' }, setting)).toEqual({
      amount: 486,
      parts: [50, 100],
      rate: '3.5',
    });
    expect(readForm(schema, { amount: '486' }, { ...setting, currency: 'JPY' })).toEqual({ amount: 486 });
    expect(parse(schema, { amount: 486 })).toEqual({ amount: 486 });
  });

  it('is refused in the words of its currency', () => {
    const hint = 'An amount such as 4.86. Leave out the comma of thousands.';
    expect(messages({ amount: '1,234' })).toEqual([`amount: ${hint}`]);
    expect(messages({ amount: 'five' })).toEqual([`amount: ${hint}`]);
    expect(messages({ amount: '0' })).toEqual(['amount: Between £0.01 and £1,000.00.']);
    expect(messages({ amount: '1', parts: ['2'] })).toEqual(['parts.0: Between £0.00 and £1.00.']);
    expect(messages({ amount: '9'.repeat(17) })).toHaveLength(1);
  });

  it('is whole minor units in JSON', () => {
    for (const amount of [4.86, '486', null, Number.NaN, 2 ** 53, 0, 100_001])
      expect(() => parse(schema, { amount })).toThrow(Invalid);
  });

  it.each([
    ['3.5', '3.5'],
    ['3,5', '3.5'],
    ['0,125', '0.125'],
    ['007.10', '7.1'],
    ['10', '10'],
    ['0.0', '0'],
  ])('a decimal %s is kept as %s', (typed, kept) => {
    expect(parse(decimal(4), typed)).toBe(kept);
  });

  it.each(['1,234', '-1', '1.23456', '1e5', '', '.', '1.', 'x', '1 000', '1.2.3', '9'.repeat(13)])(
    'a decimal %j is refused',
    (typed) => {
      expect(() => parse(decimal(4), typed)).toThrow(Invalid);
    },
  );

  it('a whole decimal has no mark', () => {
    expect(parse(decimal(0), '12')).toBe('12');
    expect(() => parse(decimal(0), '12.0')).toThrow(Invalid);
  });
});

describe('rounding', () => {
  //                      2.5 → half-up 3, half-even 2; 3.5 → 4 both; 2.1, 2.9; and the same below zero
  it.each([
    [5n, 2n, 3n, 2n, 3n, 2n],
    [7n, 2n, 4n, 4n, 4n, 3n],
    [21n, 10n, 2n, 2n, 3n, 2n],
    [29n, 10n, 3n, 3n, 3n, 2n],
    [-5n, 2n, -3n, -2n, -3n, -2n],
    [5n, -2n, -3n, -2n, -3n, -2n],
    [-29n, 10n, -3n, -3n, -3n, -2n],
    [4n, 2n, 2n, 2n, 2n, 2n],
    [1n, 2n, 1n, 0n, 1n, 0n],
    [0n, 3n, 0n, 0n, 0n, 0n],
  ])('%s ÷ %s: half-up %s, half-even %s, up %s, down %s', (over, under, ...expected) => {
    expect(ROUNDINGS.map((one) => divide(over, under, one))).toEqual(expected);
  });

  it('is off by less than one, and by a half at most where it goes to the nearest', () => {
    fc.assert(
      fc.property(amount, fc.bigInt({ min: 1n, max: 10n ** 6n }), rounding, (over, under, mode) => {
        const off = magnitude(divide(over, under, mode) * under - over);
        expect(off < under).toBe(true);
        if (mode.startsWith('half')) expect(2n * off <= under).toBe(true);
        expect(divide(-over, under, mode)).toBe(-divide(over, under, mode));
      }),
    );
  });

  it('to a step gives a multiple of it', () => {
    expect(roundTo(487n, 5n, 'half-up')).toBe(485n);
    expect(roundTo(487n, 5n, 'up')).toBe(490n);
    expect(roundTo(-488n, 5n, 'half-up')).toBe(-490n);
    fc.assert(
      fc.property(amount, fc.bigInt({ min: 1n, max: 1000n }), rounding, (minor, step, mode) => {
        expect(roundTo(minor, step, mode) % step).toBe(0n);
      }),
    );
  });

  it('happens once, however many factors there are: 372 × 1.25 × 0.8 = 372', () => {
    expect(times(372n, ['1.25', '0.8'], 'up')).toBe(372n);
    expect(times(1n, ['0.5', '0.5', '2'], 'half-up')).toBe(1n);
    expect(times(100n, [], 'down')).toBe(100n);
  });

  it('is never asked of nonsense', () => {
    expect(() => divide(1n, 0n, 'up')).toThrow(RangeError);
    expect(() => roundTo(1n, 0n, 'up')).toThrow(RangeError);
    expect(() => roundTo(1n, -5n, 'up')).toThrow(RangeError);
    for (const text of ['', '1,5', '1e3', '.5', 'x', 'Infinity'])
      expect(() => decimalParts(text)).toThrow(RangeError);
  });
});

describe('shares', () => {
  it('of a negative total mirror those of its positive: -100 in three is -34, -33, -33', () => {
    expect(shares(-100n, [1n, 1n, 1n])).toEqual([-34n, -33n, -33n]);
  });

  it('give nothing to a weight of zero, unless all are', () => {
    expect(shares(10n, [0n, 3n, 0n])).toEqual([0n, 10n, 0n]);
    expect(shares(10n, [0n, 0n, 0n])).toEqual([4n, 3n, 3n]);
  });

  it('of nothing among nobody are none; of something, a mistake', () => {
    expect(shares(0n, [])).toEqual([]);
    expect(() => shares(1n, [])).toThrow(RangeError);
    expect(() => shares(1n, [1n, -1n])).toThrow(RangeError);
  });

  it('sum to the total, each within one unit of its quota, the heavier never less', () => {
    const weights = fc.array(fc.bigInt({ min: 0n, max: 10n ** 12n }), { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(amount, weights, (total, given) => {
        const parts = shares(total, given);
        const sum = given.reduce((all, weight) => all + weight, 0n);
        expect(parts.reduce((all, part) => all + part, 0n)).toBe(total);
        parts.forEach((part, i) => {
          const weight = given[i] ?? 0n;
          if (sum > 0n) expect(magnitude(part * sum - total * weight) < sum).toBe(true);
          if (weight === 0n && sum > 0n) expect(part).toBe(0n);
          given.forEach((other, j) => {
            if (weight > other && sum > 0n) expect(magnitude(part) >= magnitude(parts[j] ?? 0n)).toBe(true);
          });
        });
      }),
    );
  });
});
