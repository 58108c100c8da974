import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  brimfulCup,
  combine,
  from100mlGrams,
  fromBaume,
  fromImperialPintOz,
  fromTwaddell,
  fromUsPintOz,
  hydrometer,
  normaliseTo20,
  per100mlGrams,
  perImperialPintOz,
  perUsPintOz,
  toBaume,
  toTwaddell,
  waterDensity,
  weighed,
} from '../../server/buckets/gravity.ts';

const gravity = fc.double({ min: 1, max: 2.5, noNaN: true });

describe('scales', () => {
  it.each([
    ['Twaddell', toTwaddell, fromTwaddell],
    ['Baumé', toBaume, fromBaume],
    ['imperial pint', perImperialPintOz, fromImperialPintOz],
    ['US pint', perUsPintOz, fromUsPintOz],
    ['100 ml', per100mlGrams, from100mlGrams],
  ])('%s goes there and back', (_name, to, from) => {
    fc.assert(
      fc.property(gravity, (sg) => {
        expect(from(to(sg))).toBeCloseTo(sg, 10);
      }),
    );
  });

  it('keeps the two pints apart: an imperial one is a fifth larger', () => {
    expect(perImperialPintOz(1.5) / perUsPintOz(1.5)).toBeCloseTo(1.2009, 4);
  });

  it('refuses what no scale has', () => {
    expect(() => fromBaume(145)).toThrow(RangeError);
    expect(() => fromBaume(Number.NaN)).toThrow(RangeError);
    expect(() => toBaume(0)).toThrow(RangeError);
  });
});

describe('water', () => {
  it('is refused outside 0 to 40 °C', () => {
    for (const celsius of [-0.1, 40.1, Number.NaN]) expect(() => waterDensity(celsius)).toThrow(RangeError);
    expect(waterDensity(0)).toBeLessThan(1);
    expect(waterDensity(40)).toBeLessThan(waterDensity(0));
  });
});

describe('a weighed volume', () => {
  it('is grams over millilitres, with a scale to 1 g and a vessel to ±1 ml unless said otherwise', () => {
    const m = weighed({ grams: [152], millilitres: 100 });
    expect(m.specificGravity).toBe(1.52);
    expect(m.standardUncertainty).toBeCloseTo(
      Math.hypot(1 / Math.sqrt(12) / 100, 1.52 / Math.sqrt(3) / 100),
      12,
    );
  });

  it('averages replicates; resolution shrinks with them, the tolerance of the vessel does not', () => {
    const four = weighed({ grams: [150, 150, 150, 150], millilitres: 100, toleranceMl: 0 });
    const one = weighed({ grams: [150], millilitres: 100, toleranceMl: 0 });
    expect(four.standardUncertainty).toBeCloseTo(one.standardUncertainty / 2, 12);

    const vessel = { millilitres: 100, resolutionG: 0 };
    expect(weighed({ grams: [150, 150, 150, 150], ...vessel })).toEqual(weighed({ grams: [150], ...vessel }));
  });

  it.each([
    [{ grams: [], millilitres: 100 }, /grams/],
    [{ grams: [-150], millilitres: 100 }, /more than zero grams/],
    [{ grams: [Number.NaN], millilitres: 100 }, /grams/],
    [{ grams: [150], millilitres: 0 }, /millilitres/],
    [{ grams: [150], millilitres: Number.POSITIVE_INFINITY }, /millilitres/],
    [{ grams: [150], millilitres: 100, resolutionG: -1 }, /scale/],
    [{ grams: [150], millilitres: 100, toleranceMl: Number.NaN }, /vessel/],
    [{ grams: [99], millilitres: 100 }, /lighter than water/],
  ])('refuses %j with a sentence', (input, sentence) => {
    expect(() => weighed(input)).toThrow(RangeError);
    expect(() => weighed(input)).toThrow(sentence);
  });

  it('takes a gravity of exactly 1', () => {
    expect(weighed({ grams: [100], millilitres: 100 }).specificGravity).toBe(1);
  });
});

describe('a brim-full cup', () => {
  it('compares with the water it was calibrated with, at the density of that water', () => {
    const m = brimfulCup({ grams: [350], tareG: 50, waterG: 250, calibrationC: 20 });
    expect(m.specificGravity).toBeCloseTo(1.5 * waterDensity(20), 12);
    const warm = brimfulCup({ grams: [350], tareG: 50, waterG: 250, calibrationC: 30 });
    expect(warm.specificGravity).toBeCloseTo(1.5 * waterDensity(30), 12);
  });

  it('agrees with the weighed volume of the same cup', () => {
    const millilitres = 200 / waterDensity(20);
    const cup = brimfulCup({ grams: [354], tareG: 50, waterG: 250 });
    expect(cup.specificGravity).toBeCloseTo(weighed({ grams: [304], millilitres }).specificGravity, 12);
  });

  it('keeps the uncertainty of its calibration, however often the glaze is weighed', () => {
    const cup = { tareG: 50, waterG: 250 };
    const once = brimfulCup({ grams: [350], ...cup }).standardUncertainty;
    const often = brimfulCup({ grams: Array(100).fill(350), ...cup }).standardUncertainty;
    const each = 1 / Math.sqrt(12) / 200;
    const rho = waterDensity(20);
    expect(once).toBeCloseTo(rho * each * Math.hypot(1, 1.5, 0.5), 12);
    expect(often).toBeCloseTo(rho * each * Math.hypot(0.1, 1.5, 0.5), 12);
  });

  it.each([
    [{ grams: [350], tareG: -1, waterG: 250 }, /empty cup/],
    [{ grams: [350], tareG: 250, waterG: 250 }, /full of water/],
    [{ grams: [40], tareG: 50, waterG: 250 }, /full of glaze/],
    [{ grams: [], tareG: 50, waterG: 250 }, /full of glaze/],
    [{ grams: [240], tareG: 50, waterG: 250 }, /lighter than water/],
    [{ grams: [350], tareG: 50, waterG: 250, calibrationC: 60 }, /temperature/],
    [{ grams: [350], tareG: 50, waterG: 250, resolutionG: -1 }, /scale/],
  ])('refuses %j with a sentence', (input, sentence) => {
    expect(() => brimfulCup(input)).toThrow(sentence);
  });
});

describe('a hydrometer', () => {
  it('reads the same gravity on each of its scales', () => {
    for (const [scale, value] of [
      ['sg', 1.45],
      ['twaddell', 90],
      ['baume', 45],
    ] as const) {
      const m = hydrometer({ scale, values: [value] });
      expect(m.specificGravity).toBeCloseTo(1.45, 12);
      expect(m.standardUncertainty).toBe(0.01);
    }
  });

  it('is never better than 0.01, and worse when half a division is more', () => {
    const u = (scale: 'sg' | 'twaddell' | 'baume', value: number, division: number) =>
      hydrometer({ scale, values: [value], division }).standardUncertainty;
    expect(u('sg', 1.45, 0.002)).toBe(0.01);
    expect(u('sg', 1.45, 0.05)).toBeCloseTo(0.025, 12);
    expect(u('twaddell', 90, 10)).toBeCloseTo(0.025, 12);
    expect(u('baume', 45, 2)).toBeCloseTo(1.45 ** 2 / 145, 12);
  });

  it('adds the spread of replicates', () => {
    const m = hydrometer({ scale: 'sg', values: [1.44, 1.46] });
    expect(m.specificGravity).toBeCloseTo(1.45, 12);
    expect(m.standardUncertainty).toBeCloseTo(Math.hypot(0.01, 0.01), 12);
  });

  it.each([
    [{ scale: 'sg', values: [] }, /hydrometer/],
    [{ scale: 'sg', values: [0.9] }, /lighter than water/],
    [{ scale: 'twaddell', values: [-5] }, /lighter than water/],
    [{ scale: 'baume', values: [150] }, /145/],
    [{ scale: 'sg', values: [1.4], temperatureC: 80 }, /temperature/],
    [{ scale: 'sg', values: [1.4], division: -0.1 }, /division/],
  ] as const)('refuses %j with a sentence', (input, sentence) => {
    expect(() => hydrometer({ ...input, values: [...input.values] })).toThrow(sentence);
  });
});

describe('normalising to 20 °C', () => {
  const m = { specificGravity: 1.5, standardUncertainty: 0.01 };

  it('changes nothing at 20 °C', () => {
    const at20 = normaliseTo20(m, { temperatureC: 20, solidsDensity: 2.6 });
    expect(at20.specificGravity).toBeCloseTo(1.5, 12);
    expect(at20.standardUncertainty).toBeCloseTo(0.01, 12);
  });

  it('raises what was warmer, lowers what was colder, never by more than the water itself', () => {
    fc.assert(
      fc.property(gravity, fc.double({ min: 0, max: 40, noNaN: true }), (specificGravity, temperatureC) => {
        const at20 = normaliseTo20(
          { specificGravity, standardUncertainty: 0.01 },
          { temperatureC, solidsDensity: 2.6 },
        );
        const change = at20.specificGravity / specificGravity;
        const ofWater = waterDensity(20) / waterDensity(temperatureC);
        expect(change).toBeGreaterThanOrEqual(Math.min(1, ofWater) - 1e-12);
        expect(change).toBeLessThanOrEqual(Math.max(1, ofWater) + 1e-12);
      }),
    );
  });

  it('refuses a slurry as heavy as its solids, and a temperature water has no formula for', () => {
    expect(() => normaliseTo20(m, { temperatureC: 20, solidsDensity: 1.5 })).toThrow(/dry solids/);
    expect(() => normaliseTo20(m, { temperatureC: 41, solidsDensity: 2.6 })).toThrow(/temperature/);
  });
});

describe('combining uncertainties', () => {
  it('is at least the largest share and at most their sum', () => {
    const shares = fc.array(fc.double({ min: 0, max: 10, noNaN: true }), { minLength: 1, maxLength: 6 });
    fc.assert(
      fc.property(shares, (us) => {
        const u = combine(...us);
        expect(u).toBeGreaterThanOrEqual(Math.max(...us) * (1 - 1e-12));
        expect(u).toBeLessThanOrEqual(us.reduce((a, b) => a + b, 0) * (1 + 1e-12));
      }),
    );
  });

  it('is nothing for nothing', () => {
    expect(combine()).toBe(0);
  });
});
