import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  absorptionOf,
  absorptionTest,
  bisqueAgainst,
  isOutOf,
  twoMinuteSoakShare,
} from '../../server/ware/absorption.ts';

const specimen = fc
  .record({
    dryGrams: fc.double({ min: 1, max: 500, noNaN: true }),
    sinks: fc.double({ min: 0, max: 0.9, noNaN: true }),
    drinks: fc.double({ min: 0, max: 1, noNaN: true }),
  })
  .map(({ dryGrams, sinks, drinks }) => ({
    dryGrams,
    suspendedGrams: dryGrams * sinks,
    saturatedGrams: dryGrams * (1 + drinks),
  }));

describe('one specimen', () => {
  it('is of one piece: P = A·B and 1 − P = B/T, with water as 1 g/cm³', () => {
    fc.assert(
      fc.property(specimen, (s) => {
        const { absorptionPercent: a, apparentPorosityPercent: p, ...rest } = absorptionOf(s);
        expect(p).toBeCloseTo(a * rest.bulkDensity, 8);
        expect(1 - p / 100).toBeCloseTo(rest.bulkDensity / rest.apparentSpecificGravity, 9);
        expect(p).toBeGreaterThanOrEqual(0);
        expect(p).toBeLessThanOrEqual(100);
      }),
    );
  });

  it('keeps its figures in any unit of mass', () => {
    fc.assert(
      fc.property(specimen, (s) => {
        const ounces = {
          dryGrams: s.dryGrams / 28.35,
          saturatedGrams: s.saturatedGrams / 28.35,
          suspendedGrams: s.suspendedGrams / 28.35,
        };
        expect(absorptionOf(ounces).bulkDensity).toBeCloseTo(absorptionOf(s).bulkDensity, 9);
        expect(absorptionOf(ounces).absorptionPercent).toBeCloseTo(absorptionOf(s).absorptionPercent, 8);
      }),
    );
  });

  it('is impervious where it takes up nothing', () => {
    const tight = absorptionOf({ dryGrams: 100, saturatedGrams: 100, suspendedGrams: 58 });
    expect(tight.absorptionPercent).toBe(0);
    expect(tight.apparentPorosityPercent).toBe(0);
    expect(tight.bulkDensity).toBeCloseTo(tight.apparentSpecificGravity, 12);
  });

  it.each([
    ['no mass', 0, 10, 0],
    ['lighter when soaked', 100, 99.9, 60],
    ['in water as heavy as in air', 100, 112, 100],
    ['in water heavier than in air', 100, 112, 101],
    ['lifted by the water', 100, 112, -1],
    ['no number', Number.NaN, 112, 60],
    ['no number when soaked', 100, Number.NaN, 60],
    ['no number in water', 100, 112, Number.NaN],
    ['without end', 100, Number.POSITIVE_INFINITY, 60],
  ])('refuses what cannot be: %s', (_, dryGrams, saturatedGrams, suspendedGrams) => {
    expect(() => absorptionOf({ dryGrams, saturatedGrams, suspendedGrams })).toThrow(RangeError);
  });
});

describe('several specimens', () => {
  const three = [
    { dryGrams: 100, saturatedGrams: 110, suspendedGrams: 60 },
    { dryGrams: 100, saturatedGrams: 112, suspendedGrams: 60 },
    { dryGrams: 100, saturatedGrams: 114, suspendedGrams: 60 },
  ];

  it('have a mean and a sample spread: 10, 12, 14 % are 12 ± 2 %', () => {
    const { mean, spread, specimens } = absorptionTest(three);
    expect(specimens).toHaveLength(3);
    expect(mean.absorptionPercent).toBeCloseTo(12, 10);
    expect(spread?.absorptionPercent).toBeCloseTo(2, 10);
    expect(mean.bulkDensity).toBeCloseTo((100 / 50 + 100 / 52 + 100 / 54) / 3, 12);
  });

  it('alone has no spread, none at all no mean', () => {
    expect(absorptionTest(three.slice(0, 1)).spread).toBeNull();
    expect(() => absorptionTest([])).toThrow(RangeError);
  });
});

describe('the quick soak', () => {
  it('is the share of the dry mass', () => {
    expect(twoMinuteSoakShare({ dryGrams: 250, soakedGrams: 275 })).toBeCloseTo(0.1, 12);
    expect(twoMinuteSoakShare({ dryGrams: 250, soakedGrams: 250 })).toBe(0);
  });

  it.each([
    [250, 249],
    [0, 10],
    [Number.NaN, 10],
    [250, Number.POSITIVE_INFINITY],
  ])('refuses %d g dry and %d g soaked', (dryGrams, soakedGrams) => {
    expect(() => twoMinuteSoakShare({ dryGrams, soakedGrams })).toThrow(RangeError);
  });
});

describe('a band', () => {
  // Common practice, no source.
  const band = { low: 9, high: 13 };
  it.each([
    [8.9, 'over-fired', true],
    [9, 'in', false],
    [13, 'in', false],
    [13.1, 'under-fired', true],
  ] as const)('%d %% of 9 to 13 %% is %s', (percent, word, out) => {
    expect(bisqueAgainst(band, percent)).toBe(word);
    expect(isOutOf(band, percent)).toBe(out);
  });
});
