import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { type CoatBand, coatBand, coatBandWords, countBand, mmFigure } from '../../server/ware/coat-bands.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';

const usual = WARE_DEFAULTS;

describe('the band of a coat', () => {
  it.each<[mm: number, CoatBand]>([
    [0, 'under'],
    [0.39, 'under'],
    [0.394, 'under'],
    [0.395, 'usual'],
    [0.4, 'usual'],
    [0.6, 'usual'],
    // What three tenths and three tenths come to in binary lies above six tenths.
    [0.1 + 0.2 + 0.3, 'usual'],
    [0.604, 'usual'],
    [0.61, 'over'],
    [1.5, 'over'],
    [1.51, 'beyond'],
    [40, 'beyond'],
  ])('of %s mm is %s', (mm, band) => {
    expect(coatBand(mm, usual)).toBe(band);
  });

  it('has nothing between usual and too much where one coat is all that a wall may carry', () => {
    const tight = { usualCoatLowMm: 0.3, usualCoatHighMm: 0.5, mostCoatMm: 0.5 };
    expect([0.29, 0.3, 0.5, 0.51].map((mm) => coatBand(mm, tight))).toEqual([
      'under',
      'usual',
      'usual',
      'beyond',
    ]);
  });

  test('property: a thicker coat is never in a lower band, and every band says its own words', () => {
    const order: CoatBand[] = ['under', 'usual', 'over', 'beyond'];
    const place = (mm: number) => order.indexOf(coatBand(mm, usual));
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 5, noNaN: true }),
        fc.double({ min: 0, max: 5, noNaN: true }),
        (a, b) => {
          expect(place(Math.min(a, b))).toBeLessThanOrEqual(place(Math.max(a, b)));
        },
      ),
    );
    expect(order.map((band) => coatBandWords(band, usual))).toEqual([
      'under 0.4 mm',
      '0.4 to 0.6 mm, as usual',
      'over 0.6, up to 1.5 mm',
      'over 1.5 mm',
    ]);
  });
});

describe('the band of a count', () => {
  it.each([
    [0, 'count 2 or less'],
    [2.4, 'count 2 or less'],
    [2.5, 'count 3'],
    [3.49, 'count 3'],
    [4, 'count 4'],
    [4.5, 'count 5 to 6'],
    [6.4, 'count 5 to 6'],
    [6.5, 'count 7 or more'],
    [3600, 'count 7 or more'],
  ])('of %s s is %s', (seconds, words) => {
    expect(countBand(seconds)).toBe(words);
  });
});

it('a thickness has two figures at most', () => {
  expect([0.4, 0.45, 0.456, 1, 1.5].map(mmFigure)).toEqual(['0.4', '0.45', '0.46', '1', '1.5']);
});
