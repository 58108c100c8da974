import { describe, expect, it } from 'vitest';
import { absorptionOf, wrongWith } from '../../server/ware/absorption.ts';

describe('ASTM C373, dry, saturated and suspended mass', () => {
  // No worked example of the standard was found: an invented specimen, computed by hand from its formulas
  // (7 to 12, as in ASTM C373-88; those of porosity and absorption also as in notes on refractories).
  it('gives the figures of D 100, S 60, M 112', () => {
    const found = absorptionOf({ dryGrams: 100, saturatedGrams: 112, suspendedGrams: 60 });
    expect(found.absorptionPercent).toBeCloseTo(12, 10);
    expect(found.apparentPorosityPercent).toBeCloseTo(23.0769, 4);
    expect(found.apparentSpecificGravity).toBeCloseTo(2.5, 10);
    expect(found.bulkDensity).toBeCloseTo(1.92308, 5);
  });

  // A web note prints "porosity 200 %" for these three masses.
  it('refuses W 14, D 10, S 12, which would be 200 % of pores', () => {
    const nonsense = { dryGrams: 10, saturatedGrams: 14, suspendedGrams: 12 };
    expect((100 * (14 - 10)) / (14 - 12)).toBe(200);
    expect(wrongWith(nonsense)?.field).toBe('suspendedGrams');
    expect(() => absorptionOf(nonsense)).toThrow(RangeError);
  });
});
