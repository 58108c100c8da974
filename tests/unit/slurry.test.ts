import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import {
  dryToThicken,
  gravityOf,
  litresOf,
  slurryToBlend,
  solidsKg,
  solidsMassFraction,
  waterKg,
  waterToTakeOff,
  waterToThin,
} from '../../server/buckets/slurry.ts';

const litres = fc.double({ min: 0.1, max: 200, noNaN: true });
const sg = fc.double({ min: 1.01, max: 2.2, noNaN: true });
const density = fc.double({ min: 2.3, max: 4.5, noNaN: true });

describe('litres and gravity, solids and water', () => {
  it('go there and back', () => {
    fc.assert(
      fc.property(litres, sg, density, (v, g, s) => {
        const solids = solidsKg(v, g, s);
        const water = waterKg(v, g, s);
        expect(litresOf(solids, water, s)).toBeCloseTo(v, 8);
        expect(gravityOf(solids, water, s)).toBeCloseTo(g, 8);
        expect(solidsMassFraction(g, s)).toBeCloseTo(solids / (solids + water), 10);
      }),
    );
  });

  it('know plain water and bare solids', () => {
    expect(solidsKg(10, WATER_20, 2.6)).toBe(0);
    expect(waterKg(10, WATER_20, 2.6)).toBeCloseTo(9.9821, 12);
    expect(waterKg(10, 2.6, 2.6)).toBeCloseTo(0, 12);
    expect(solidsMassFraction(2.6, 2.6)).toBeCloseTo(1, 12);
  });
});

describe('each correction, weighed out, lands on the target', () => {
  /** Thinner first: the pair of a bucket's gravity and its target, or the other way round. */
  const pairs = fc.tuple(sg, sg).filter(([a, b]) => Math.abs(a - b) > 0.001);

  it('adds water, or takes it off', () => {
    fc.assert(
      fc.property(litres, pairs, density, (v, [g, target], s) => {
        const water =
          g > target
            ? waterToThin({ litres: v, sg: g, target })
            : -waterToTakeOff({ litres: v, sg: g, target });
        const after = gravityOf(solidsKg(v, g, s), waterKg(v, g, s) + water * WATER_20, s);
        expect(after).toBeCloseTo(target, 8);
      }),
    );
  });

  it('adds dry glaze', () => {
    fc.assert(
      fc.property(litres, pairs, density, (v, [a, b], s) => {
        const [g, target] = [Math.min(a, b), Math.max(a, b)];
        const dry = dryToThicken({ litres: v, sg: g, target, solidsDensity: s });
        expect(dry).toBeGreaterThan(0);
        expect(gravityOf(solidsKg(v, g, s) + dry, waterKg(v, g, s), s)).toBeCloseTo(target, 8);
      }),
    );
  });

  it('blends another slurry in', () => {
    fc.assert(
      fc.property(
        litres,
        pairs,
        density,
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        (v, [g, blend], s, part) => {
          const target = g + part * (blend - g);
          const x = slurryToBlend({ litres: v, sg: g, target, blend });
          const solids = solidsKg(v, g, s) + solidsKg(x, blend, s);
          const water = waterKg(v, g, s) + waterKg(x, blend, s);
          expect(x).toBeGreaterThan(0);
          expect(gravityOf(solids, water, s)).toBeCloseTo(target, 8);
        },
      ),
    );
  });
});
