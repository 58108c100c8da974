import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type AdviceInput, openTo, type Way, ways } from '../../server/buckets/advice.ts';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import { gravityOf, litresOf, solidsKg, waterKg } from '../../server/buckets/slurry.ts';

const thick: AdviceInput = {
  litres: 18,
  specificGravity: 1.52,
  standardUncertainty: 0.012,
  target: 1.46,
  solidsDensity: 2.6,
  capacityLitres: 25,
};
const thin: AdviceInput = { ...thick, specificGravity: 1.4 };

const amountOf = (way: Way) => (way.kind === 'add-dry' ? way.kilograms : way.litres);
const kinds = (i: AdviceInput) => ways(i).map((way) => way.kind);

/** Does what the way says, by weight, and returns the litres and the gravity that are there then. */
function follow(way: Way, i: AdviceInput): { litres: number; sg: number } {
  const { solidsDensity: s } = i;
  const kept = i.litres - (way.takeOutFirst ?? 0);
  let solids = solidsKg(kept, i.specificGravity, s);
  let water = waterKg(kept, i.specificGravity, s);
  if (way.kind === 'add-dry') solids += way.kilograms;
  if (way.kind === 'add-water') water += way.litres * WATER_20;
  if (way.kind === 'take-water-off') water -= way.litres * WATER_20;
  if (way.kind === 'blend') {
    solids += solidsKg(way.litres, way.specificGravity ?? 0, s);
    water += waterKg(way.litres, way.specificGravity ?? 0, s);
  }
  return { litres: litresOf(solids, water, s), sg: gravityOf(solids, water, s) };
}

describe('advice for a thick bucket', () => {
  it('is the sketch: 18 L at 1.52 wants 2.34 L of water for 1.46, 1.75 L of it first', () => {
    const [best] = ways(thick);
    expect(best).toMatchObject({ kind: 'add-water', litres: 2.34, first: 1.75 });
    expect(best?.takeOutFirst).toBeUndefined();
  });

  it('shows what ± at 95 % leaves open, never below nothing', () => {
    const off = 1.96 * 0.012;
    const water = (sg: number) => (18 * (sg - 1.46)) / (1.46 - WATER_20);
    const [best] = ways(thick);
    expect(best?.range.low).toBeCloseTo(water(1.52 - off), 1.9);
    expect(best?.range.high).toBeCloseTo(water(1.52 + off), 1.9);
    const [unsure] = ways({ ...thick, standardUncertainty: 0.05 });
    expect(unsure?.range.low).toBe(0);
    const [sure] = ways({ ...thick, standardUncertainty: 0 });
    expect(sure?.range).toEqual({ low: 2.34, high: 2.34 });
  });

  it('offers thinner slurry after water, but none that is not below the aim', () => {
    expect(kinds({ ...thick, blendSpecificGravity: 1.3 })).toEqual(['add-water', 'blend']);
    expect(kinds({ ...thick, blendSpecificGravity: 1.46 })).toEqual(['add-water']);
    expect(kinds({ ...thick, blendSpecificGravity: 1.6 })).toEqual(['add-water']);
  });

  it('takes slurry out first when the bucket cannot hold it all', () => {
    const full = { ...thick, litres: 24 };
    const [best] = ways(full);
    // Whole: 24 + 3.118 L. What fits 25 L is 22.12 L with 2.87 L of water.
    expect(best).toMatchObject({ kind: 'add-water', litres: 2.87, takeOutFirst: 1.88 });
    expect(best && follow(best, full).litres).toBeLessThanOrEqual(25);
  });
});

describe('advice for a thin bucket', () => {
  it('offers, in order, heavier slurry, clear water off, dry glaze', () => {
    expect(kinds({ ...thin, blendSpecificGravity: 1.6 })).toEqual(['blend', 'take-water-off', 'add-dry']);
    expect(kinds({ ...thin, blendSpecificGravity: 1.46 })).toEqual(['take-water-off', 'add-dry']);
    expect(kinds(thin)).toEqual(['take-water-off', 'add-dry']);
  });

  it('gives the amounts of the formulas', () => {
    const [blend, off, dry] = ways({ ...thin, blendSpecificGravity: 1.6 });
    // 18·0.06/0.14 = 7.714 L would make 25.714: 17.5 of the 18 L may stay, and a hundredth for the rounding.
    expect(blend).toMatchObject({ litres: 7.5, takeOutFirst: 0.51, specificGravity: 1.6 });
    expect(off).toMatchObject({ litres: 2.34, first: 1.75 });
    // 18·0.06/(1 − 1.46/2.6) = 2.463 kg
    expect(dry).toMatchObject({ kilograms: 2.46, first: 1.85 });
  });

  it('never needs room to take water off', () => {
    const [off] = ways({ ...thin, litres: 25 });
    expect(off?.kind).toBe('take-water-off');
    expect(off?.takeOutFirst).toBeUndefined();
  });
});

describe('the first stage', () => {
  // Litres at 1.52 for 1.46, and what three quarters of the water comes to.
  it.each([
    [18, 2.34, 1.75],
    [30, 3.9, 3],
    [12, 1.56, 1.25],
    [11.5, 1.49, 1.1],
    [10, 1.3, 1],
    [7, 0.91, 0.7],
    [5, 0.65, 0.49],
    [1, 0.13, 0.098],
    [0.5, 0.065, 0.049],
    [0.01, 0.001, 0.001],
  ])('of %f L that want %f L is %f L', (litres, whole, first) => {
    const [best] = ways({ ...thick, litres, capacityLitres: 100 });
    expect(best).toMatchObject({ litres: whole, first });
  });
});

describe('no advice', () => {
  it('is needed at the aim, nor when no amount a person can measure is left, nor for an empty bucket', () => {
    expect(ways({ ...thick, specificGravity: 1.46 })).toEqual([]);
    expect(ways({ ...thick, specificGravity: 1.46 + 1e-12 })).toEqual([]);
    expect(ways({ ...thick, specificGravity: 1.46 + 1e-7 })).toEqual([]);
    expect(ways({ ...thick, litres: 0 })).toEqual([]);
  });

  it.each([
    [{ litres: -1 }, /litres/],
    [{ litres: Number.NaN }, /litres/],
    [{ litres: 26 }, /more litres/],
    [{ specificGravity: 0.9 }, /below that of water/],
    [{ specificGravity: 2.7 }, /dry solids/],
    [{ specificGravity: Number.NaN }, /gravity/],
    [{ target: 0.99 }, /above that of water/],
    [{ target: 2.6 }, /dry solids/],
    [{ solidsDensity: 0.9 }, /heavier than water/],
    [{ standardUncertainty: -0.1 }, /uncertainty/],
    [{ capacityLitres: 0 }, /hold/],
    [{ blendSpecificGravity: 0.5 }, /blend/],
    [{ blendSpecificGravity: 3 }, /blend/],
  ])('is given for %j: it is refused with a sentence', (wrong, sentence) => {
    expect(() => ways({ ...thick, ...wrong })).toThrow(RangeError);
    expect(() => ways({ ...thick, ...wrong })).toThrow(sentence);
  });
});

describe('what is open to whom', () => {
  const forThin = ways({ ...thin, blendSpecificGravity: 1.6 });
  const forThick = ways({ ...thick, blendSpecificGravity: 1.3 });
  const kindsOf = (all: Way[]) => all.map((way) => way.kind);

  it('a member adds water and nothing else', () => {
    expect(kindsOf(openTo('member', forThick, { hasSolubles: false }))).toEqual(['add-water']);
    expect(openTo('member', forThin, { hasSolubles: false })).toEqual([]);
  });

  it('a technician does all, but takes no water off a recipe with solubles', () => {
    expect(openTo('technician', forThin, { hasSolubles: false })).toEqual(forThin);
    expect(kindsOf(openTo('technician', forThin, { hasSolubles: true }))).toEqual(['blend', 'add-dry']);
    expect(openTo('technician', forThick, { hasSolubles: true })).toEqual(forThick);
  });
});

describe('following advice', () => {
  const inputs: fc.Arbitrary<AdviceInput> = fc
    .record({
      capacityLitres: fc.double({ min: 5, max: 200, noNaN: true }),
      fill: fc.double({ min: 0.1, max: 1, noNaN: true }),
      specificGravity: fc.double({ min: 1.05, max: 2, noNaN: true }),
      standardUncertainty: fc.double({ min: 0, max: 0.05, noNaN: true }),
      target: fc.double({ min: 1.1, max: 1.9, noNaN: true }),
      solidsDensity: fc.double({ min: 2.2, max: 4, noNaN: true }),
      blendSpecificGravity: fc.option(fc.double({ min: 1, max: 2, noNaN: true }), { nil: undefined }),
    })
    .map(({ fill, ...rest }) => ({ ...rest, litres: fill * rest.capacityLitres }));

  /** How much SG half a rounding step of the amount is worth in what is there afterwards. */
  function rounding(way: Way, i: AdviceInput, after: { litres: number }): number {
    const half = amountOf(way) < 0.1 ? 0.0005 : 0.005;
    if (way.kind === 'add-dry') return (half * (1 - i.target / i.solidsDensity)) / after.litres;
    const other = way.specificGravity ?? WATER_20;
    return (half * Math.abs(other - i.target)) / after.litres;
  }

  it('brings the bucket to its aim within the rounding, and never over its capacity', () => {
    fc.assert(
      fc.property(inputs, (i) => {
        for (const way of ways(i)) {
          const after = follow(way, i);
          expect(after.litres).toBeLessThanOrEqual((i.capacityLitres ?? 0) + 1e-9);
          expect(Math.abs(after.sg - i.target)).toBeLessThanOrEqual(1.01 * rounding(way, i, after) + 1e-9);
        }
      }),
      { numRuns: 1000 },
    );
  });

  it('starts with a stage not above the whole, and the whole lies in its range', () => {
    fc.assert(
      fc.property(inputs, (i) => {
        for (const way of ways(i)) {
          const whole = amountOf(way);
          expect(way.first).toBeGreaterThan(0);
          expect(way.first).toBeLessThanOrEqual(whole);
          if (whole >= 0.2) expect(way.first / whole).toBeCloseTo(0.75, 0.6);
          expect(way.range.low).toBeGreaterThanOrEqual(0);
          expect(way.range.low).toBeLessThanOrEqual(whole);
          expect(way.range.high).toBeGreaterThanOrEqual(whole);
        }
      }),
      { numRuns: 1000 },
    );
  });
});
