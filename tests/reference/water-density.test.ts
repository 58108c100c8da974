import { describe, expect, it } from 'vitest';
import { brimfulCup, normaliseTo20, WATER_20, waterDensity } from '../../server/buckets/gravity.ts';
import { gravityOf } from '../../server/buckets/slurry.ts';

const kgPerM3 = (celsius: number) => waterDensity(celsius) * 1000;

describe('density of water, Tanaka et al., Metrologia 38 (2001) 301-309 (CIPM)', () => {
  // Confirmed: printed in the source.
  it.each([
    [0, 999.8428],
    [10, 999.7027],
    [15, 999.1026],
    [20, 998.2067],
    [30, 995.6488],
    [3.983035, 999.97495],
  ])('is as printed at %f °C', (celsius, expected) => {
    expect(Math.abs(kgPerM3(celsius) - expected)).toBeLessThanOrEqual(0.0005);
  });

  // Confirmed, calculated from the source's formula elsewhere.
  it.each([
    [4, 999.9749],
    [5, 999.9668],
    [15.5556, 999.017],
    [18, 998.5984],
    [22, 997.773],
    [25, 997.047],
    [35, 994.0326],
    [40, 992.2152],
  ])('follows the formula at %f °C', (celsius, expected) => {
    expect(Math.abs(kgPerM3(celsius) - expected)).toBeLessThanOrEqual(0.0005);
  });

  it('agrees with an independent weighing of SMOW at 16 °C: 998.9468 (u 0.0006)', () => {
    expect(Math.abs(kgPerM3(16) - 998.9468)).toBeLessThanOrEqual(0.002);
  });

  it('agrees with Kell, J. Chem. Eng. Data 20 (1975) 97, within what the two formulas differ', () => {
    const kell = (t: number) =>
      (999.83952 +
        16.945176 * t -
        7.9870401e-3 * t ** 2 -
        46.170461e-6 * t ** 3 +
        105.56302e-9 * t ** 4 -
        280.54253e-12 * t ** 5) /
      (1 + 16.87985e-3 * t);
    for (let t = 0; t <= 40; t++) expect(Math.abs(kgPerM3(t) - kell(t))).toBeLessThanOrEqual(0.01);
  });

  it('rounds to the constant the product uses', () => {
    expect(Math.abs(waterDensity(20) - WATER_20)).toBeLessThanOrEqual(0.000005);
  });
});

describe('reference temperatures', () => {
  it('turns a density relative to water at 20 °C into one relative to 4 °C (ASTM E100-14 §3.2.3: 0.998232)', () => {
    // The cup compares with its calibration water: three times the water's weight is d(20/20) = 3.
    const { specificGravity } = brimfulCup({ grams: [650], tareG: 50, waterG: 250, calibrationC: 20 });
    // Water at 4 °C is 0.999975 g/cm³, taken as 1.000 throughout.
    expect(Math.abs(specificGravity / 3 - 0.998232)).toBeLessThanOrEqual(0.00003);
  });

  it('takes water of any temperature to the printed density at 20 °C', () => {
    for (const temperatureC of [0, 10, 15, 20, 30]) {
      const m = { specificGravity: waterDensity(temperatureC), standardUncertainty: 0.01 };
      const at20 = normaliseTo20(m, { temperatureC, solidsDensity: 2.6 });
      expect(Math.abs(at20.specificGravity - 0.9982067)).toBeLessThanOrEqual(0.0000005);
    }
  });

  it('gives the gravity that the same kilograms have with water of 20 °C', () => {
    const warm = gravityOf(10, 9, 2.6, waterDensity(32));
    const at20 = normaliseTo20(
      { specificGravity: warm, standardUncertainty: 0.01 },
      { temperatureC: 32, solidsDensity: 2.6 },
    );
    expect(at20.specificGravity).toBeCloseTo(gravityOf(10, 9, 2.6, waterDensity(20)), 12);
    expect(at20.specificGravity).toBeGreaterThan(warm);
    // A stored gravity has no more than three decimals that mean anything; its u must stay what it was.
    expect(at20.standardUncertainty).toBeCloseTo(0.01, 4);
  });
});
