import { describe, expect, it } from 'vitest';
import { combine, hydrometer, weighed } from '../../server/buckets/gravity.ts';

const hundred = { grams: [150], millilitres: 100 };

describe('Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008; examples from memory)', () => {
  it('combines by root sum of squares (5.1.2)', () => {
    expect(combine(3, 4)).toBe(5);
    expect(combine(2, 3, 6)).toBe(7);
  });

  it('combines the shares of the end gauge to 32 nm, its comparison to 9.7 nm (H.1)', () => {
    expect(Math.abs(combine(25, 9.7, 2.9, 16.6) - 32)).toBeLessThanOrEqual(0.5);
    expect(Math.abs(combine(5.8, 3.9, 6.7) - 9.7)).toBeLessThanOrEqual(0.05);
  });

  it('counts a resolution of one division as 0.29 of it (F.2.2.1)', () => {
    const { standardUncertainty } = weighed({ ...hundred, resolutionG: 1, toleranceMl: 0 });
    expect(Math.abs(standardUncertainty * 100 - 0.29)).toBeLessThanOrEqual(0.005);
  });

  it('counts limits of ± 0.40 as 0.23 (4.3.7)', () => {
    const { specificGravity, standardUncertainty } = weighed({
      ...hundred,
      resolutionG: 0,
      toleranceMl: 0.4,
    });
    expect(Math.abs((standardUncertainty / specificGravity) * 100 - 0.23)).toBeLessThanOrEqual(0.005);
  });

  it('takes the spread of replicates as s/√n (4.2.3)', () => {
    // 148, 150, 152 g: s = 2 g, standard error 2/√3 g.
    const { standardUncertainty } = weighed({
      grams: [148, 150, 152],
      millilitres: 100,
      resolutionG: 0,
      toleranceMl: 0,
    });
    expect(standardUncertainty).toBeCloseTo(0.02 / Math.sqrt(3), 12);
  });

  it('takes the expansion of a glass hydrometer as 25·10⁻⁶ per °C (ISO 649, from memory)', () => {
    const at = (temperatureC: number) =>
      hydrometer({ scale: 'sg', values: [1.5], temperatureC }).specificGravity;
    expect(at(20)).toBe(1.5);
    expect(at(30)).toBeCloseTo(1.5 * (1 - 250e-6), 12);
  });
});
