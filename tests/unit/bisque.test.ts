import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bisqueAgainst } from '../../server/ware/absorption.ts';
import { bisqueWarning, oddAbout, percentWords, wrongWithSoaked } from '../../server/ware/bisque.ts';

const BAND = { low: 9, high: 14 };

describe('a share in percent', () => {
  it('has one decimal, and more only where one would put it on the wrong side of its band', () => {
    expect(percentWords(16.23)).toBe('16.2 %');
    expect(percentWords(16.23, BAND)).toBe('16.2 %');
    expect(percentWords(14.04, BAND)).toBe('14.04 %');
    expect(percentWords(8.96, BAND)).toBe('8.96 %');
    expect(percentWords(13.96, BAND)).toBe('14.0 %');
  });

  it('never reads as what it is not', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 40, noNaN: true }), (percent) => {
        const shown = Number(percentWords(percent, BAND).replace(' %', ''));
        expect(bisqueAgainst(BAND, shown)).toBe(bisqueAgainst(BAND, percent));
      }),
    );
  });
});

describe('what a bisque did', () => {
  it('is said with what to do about it, and nothing of what lies in its band', () => {
    expect(bisqueWarning(12, 16.2, BAND)).toBe(
      'Bisque of load 12 absorbed 16.2 %, above its 9 to 14 %: fired too little. It drinks more: count shorter, and it may crack easier.',
    );
    expect(bisqueWarning(12, 5, BAND)).toContain('below its 9 to 14 %: fired too far. It drinks less');
    for (const limit of [9, 14]) expect(bisqueWarning(12, limit, BAND)).toBeNull();
  });
});

describe('masses', () => {
  it('of a soak that cannot be name their field', () => {
    expect(wrongWithSoaked({ dryGrams: 100, soakedGrams: 109 })).toBeNull();
    for (const soakedGrams of [100, 99, Number.NaN, Number.POSITIVE_INFINITY])
      expect(wrongWithSoaked({ dryGrams: 100, soakedGrams })?.field).toBe('soakedGrams');
    for (const dryGrams of [0, -1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(wrongWithSoaked({ dryGrams, soakedGrams: 109 })?.field).toBe('dryGrams');
  });

  it('that are possible but odd are asked about', () => {
    const usual = { dryGrams: 100, saturatedGrams: 112, suspendedGrams: 60 };
    expect(oddAbout(usual)).toBeNull();
    expect(oddAbout({ ...usual, saturatedGrams: 131 })?.field).toBe('saturatedGrams');
    expect(oddAbout({ ...usual, suspendedGrams: 40 })?.field).toBe('suspendedGrams');
    expect(oddAbout({ ...usual, suspendedGrams: 75 })?.field).toBe('suspendedGrams');
    expect(oddAbout({ dryGrams: 100, soakedGrams: 131 })?.field).toBe('soakedGrams');
  });
});
