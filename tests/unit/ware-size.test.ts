import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { asPacked, dryFromWet, type Size } from '../../server/ware/size.ts';

const cup: Size = { footprint: { shape: 'rectangle', widthMm: 125, depthMm: 85 }, heightMm: 100 };
const bowl: Size = { footprint: { shape: 'circle', diameterMm: 150 }, heightMm: 75 };

describe('the size of greenware in a kiln', () => {
  it('is its wet size less what its clay shrinks in drying, in every direction', () => {
    expect(dryFromWet(cup, 6)).toEqual({
      footprint: { shape: 'rectangle', widthMm: 117.5, depthMm: expect.closeTo(79.9, 9) },
      heightMm: 94,
    });
    expect(dryFromWet(bowl, 0)).toEqual(bowl);
  });

  it.each([-1, 51, Number.NaN, Number.POSITIVE_INFINITY])('is not known for a shrinkage of %s', (percent) => {
    expect(() => dryFromWet(bowl, percent)).toThrow(RangeError);
  });

  it('is taken as measured when it was measured dry or bisqued, or its clay is not known', () => {
    const clay = { dryShrinkPercent: 6 };
    expect(asPacked(bowl, 'dry', clay)).toEqual(bowl);
    expect(asPacked(bowl, 'bisque', clay)).toEqual(bowl);
    expect(asPacked(bowl, 'wet', null)).toEqual(bowl);
    expect(asPacked(bowl, 'wet', clay).heightMm).toBeCloseTo(70.5, 9);
  });

  it('never grows, and keeps its proportions', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 2000, noNaN: true }),
        fc.double({ min: 1, max: 2000, noNaN: true }),
        fc.double({ min: 0, max: 20, noNaN: true }),
        fc.constantFrom('wet' as const, 'dry' as const, 'bisque' as const),
        (diameterMm, heightMm, dryShrinkPercent, when) => {
          const size: Size = { footprint: { shape: 'circle', diameterMm }, heightMm };
          const packed = asPacked(size, when, { dryShrinkPercent });
          if (packed.footprint.shape !== 'circle') throw new Error('A circle stays one.');
          expect(packed.heightMm).toBeLessThanOrEqual(heightMm);
          expect(packed.heightMm).toBeGreaterThan(0);
          expect(packed.footprint.diameterMm / diameterMm).toBeCloseTo(packed.heightMm / heightMm, 9);
        },
      ),
    );
  });
});
