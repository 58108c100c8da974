import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MOST_NUMBERS, numbersIn } from '../../server/ware/numbers.ts';

describe('numbers of pieces as somebody types them', () => {
  it.each([
    ['12', [12]],
    ['12, 14', [12, 14]],
    ['14-17', [14, 15, 16, 17]],
    ['14 – 16; 9', [14, 15, 16, 9]],
    ['14 to 16', [14, 15, 16]],
    ['12,12, 11-13', [12, 11, 13]],
    [' ,, ', []],
  ])('%s', (typed, numbers) => {
    expect(numbersIn(typed)).toEqual(numbers);
  });

  it.each([
    '0',
    '-3',
    '3-',
    '17-14',
    '1.5',
    'twelve',
    '12a',
    '1-999999999',
    '9999999999',
    '0x10',
    '1e3',
    '١٢',
  ])('refuses %s', (typed) => {
    expect(numbersIn(typed)).toBeNull();
  });

  it('takes as many as anybody prints, and not one more', () => {
    expect(numbersIn(`1-${MOST_NUMBERS}`)).toHaveLength(MOST_NUMBERS);
    expect(numbersIn(`1-${MOST_NUMBERS + 1}`)).toBeNull();
    expect(numbersIn(`1-${MOST_NUMBERS}, ${MOST_NUMBERS + 5}`)).toBeNull();
  });

  it('never throws, and gives whole numbers, each once, whatever is typed', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.stringMatching(/^[\d ,;–-]{0,40}$/)), (typed) => {
        const numbers = numbersIn(typed) ?? [];
        expect(new Set(numbers).size).toBe(numbers.length);
        expect(numbers.every((n) => Number.isSafeInteger(n) && n > 0 && n < 2 ** 31)).toBe(true);
        expect(numbers.length).toBeLessThanOrEqual(MOST_NUMBERS);
      }),
    );
  });

  it('reads back whatever list it is given', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 1, max: 99_999 }), { maxLength: MOST_NUMBERS }),
        (numbers) => {
          expect(numbersIn(numbers.join(', '))).toEqual(numbers);
        },
      ),
    );
  });
});
