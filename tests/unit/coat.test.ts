import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  capacityOf,
  coatOfThickness,
  dryCoatGrams,
  gravityFromTile,
  saturation,
  solidsVolumeFraction,
  suction,
  type Tile,
  thicknessMm,
  waterPerCoat,
  wrongWithSlurry,
} from '../../server/ware/coat.ts';
import {
  type CoatFit,
  coatAfter,
  fitCoat,
  type NoFit,
  poolOf,
  secondCoat,
} from '../../server/ware/coat-fit.ts';
import { dwellFor } from '../../server/ware/dwell.ts';

const SOLIDS = 2.6;
const slurry = { specificGravity: 1.46, solidsDensity: SOLIDS };
const truth = { intercept: 0.01, uptake: 0.02, critical: 0.55 };
type Truth = typeof truth;

const trueCoat = (seconds: number, specificGravity = 1.46, t: Truth = truth) =>
  t.intercept +
  t.uptake *
    suction(solidsVolumeFraction({ specificGravity, solidsDensity: SOLIDS }), t.critical) *
    Math.sqrt(seconds);

const exact = (seconds: number, specificGravity = 1.46, t: Truth = truth): Tile => ({
  seconds,
  specificGravity,
  solidsDensity: SOLIDS,
  areaCm2: 100,
  dryCoatGrams: 100 * trueCoat(seconds, specificGravity, t),
});

function dice(seed: number) {
  let state = seed;
  const unit = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  return { unit, normal: () => Math.sqrt(-2 * Math.log(unit())) * Math.cos(2 * Math.PI * unit()) };
}

/** A tile with the stated scatter: 0.1 g of weighing and 5 % of dipping. */
function scattered(tile: Tile, normal: () => number): Tile {
  return { ...tile, dryCoatGrams: tile.dryCoatGrams + Math.hypot(0.1, 0.05 * tile.dryCoatGrams) * normal() };
}

function fitted(fit: CoatFit | NoFit): CoatFit {
  if (fit.basis === 'none') throw new Error(`no fit: ${fit.reason}`);
  return fit;
}

const FIVE = [1, 2, 3, 5, 8];

describe('a slurry and what it leaves', () => {
  it.each([
    [{ specificGravity: 1, solidsDensity: 2.6 }, 'specificGravity'],
    [{ specificGravity: Number.NaN, solidsDensity: 2.6 }, 'specificGravity'],
    [{ specificGravity: 1.5, solidsDensity: 1.5 }, 'solidsDensity'],
    [{ specificGravity: 1.5, solidsDensity: Number.NaN }, 'solidsDensity'],
    [{ specificGravity: 1.9, solidsDensity: 2.6 }, 'specificGravity'],
  ])('%o cannot be dipped into: %s', (wrong, field) => {
    expect(wrongWithSlurry(wrong)?.field).toBe(field);
    expect(() => fitCoat([{ ...exact(3), ...wrong }])).toThrow(RangeError);
  });

  it('refuses tiles that cannot be', () => {
    for (const wrong of [
      { seconds: -1 },
      { seconds: Number.NaN },
      { areaCm2: 0 },
      { areaCm2: Number.NaN },
      { dryCoatGrams: 0 },
      { dryCoatGrams: -2 },
      { dryCoatGrams: Number.POSITIVE_INFINITY },
    ])
      expect(() => fitCoat([exact(1), { ...exact(3), ...wrong }]), JSON.stringify(wrong)).toThrow(RangeError);
    expect(() => dryCoatGrams(0, slurry)).toThrow(RangeError);
    expect(() => dryCoatGrams(Number.NaN, slurry)).toThrow(RangeError);
    expect(() => gravityFromTile({ wetGainGrams: 5, dryCoatGrams: 5, solidsDensity: 2.6 })).toThrow(
      RangeError,
    );
  });

  it('thickness and mass per area are each other back', () => {
    expect(coatOfThickness(thicknessMm(0.05, 1.3), 1.3)).toBeCloseTo(0.05, 12);
  });
});

describe('the law from tiles', () => {
  it('is found again from exact tiles, with weights and all', () => {
    fc.assert(
      fc.property(
        fc.record({
          intercept: fc.double({ min: 0, max: 0.03, noNaN: true }),
          uptake: fc.double({ min: 0.005, max: 0.06, noNaN: true }),
        }),
        ({ intercept, uptake }) => {
          const found = fitted(fitCoat(FIVE.map((s) => exact(s, 1.46, { ...truth, intercept, uptake }))));
          expect(found.intercept).toBeCloseTo(intercept, 8);
          expect(found.uptake).toBeCloseTo(uptake, 8);
          expect(found.leftOut).toEqual([]);
          expect(found.fullFrom).toBeNull();
          expect(found.basis).toBe('own');
        },
      ),
    );
  });

  it('does not ask in which order the tiles came', () => {
    const { normal } = dice(5);
    const tiles = [...FIVE, ...FIVE].map((s, i) => scattered(exact(s, 1.4 + 0.01 * i), normal));
    const first = fitted(fitCoat(tiles));
    fc.assert(
      fc.property(fc.shuffledSubarray(tiles, { minLength: tiles.length }), (shuffled) => {
        const { leftOut: _, ...again } = fitted(fitCoat(shuffled));
        const { leftOut: __, ...before } = first;
        expect(again).toEqual(before);
      }),
    );
  });

  it('does not ask for the unit of area', () => {
    const big = FIVE.map((s) => ({ ...exact(s), areaCm2: 400, dryCoatGrams: 4 * exact(s).dryCoatGrams }));
    expect(fitted(fitCoat(big)).uptake).toBeCloseTo(truth.uptake, 8);
  });

  it('finds the packing of the coat from tiles at three gravities, keeps the usual one from two', () => {
    const other = { ...truth, critical: 0.62 };
    const at = (...gravities: number[]) =>
      fitted(fitCoat(gravities.flatMap((g) => [1, 3, 6].map((s) => exact(s, g, other)))));
    const three = at(1.36, 1.44, 1.52);
    expect(three.isCriticalFitted).toBe(true);
    expect(three.criticalFraction).toBeCloseTo(0.62, 3);
    expect(three.uptake).toBeCloseTo(truth.uptake, 3);
    expect(at(1.36, 1.52).criticalFraction).toBe(0.55);
    expect(at(1.36, 1.361, 1.52).criticalFraction).toBe(0.55);
  });

  it('leaves out one bad tile of five or more and says which', () => {
    const { normal } = dice(11);
    const want = trueCoat(3);
    for (const dwells of [FIVE, [1, 2, 3, 4, 5, 6, 8]]) {
      let found = 0;
      let near = 0;
      for (let i = 0; i < 400; i++) {
        const bad = i % dwells.length;
        const tiles = dwells.map((s) => scattered(exact(s), normal));
        (tiles[bad] as Tile).dryCoatGrams *= i % 2 ? 2 : 0.4;
        const fit = fitted(fitCoat(tiles));
        if (fit.leftOut.length === 1 && fit.leftOut[0] === bad) found++;
        const best = dwellFor(fit, want, slurry).seconds?.best ?? 0;
        if (Math.abs(best / 3 - 1) < 0.25) near++;
      }
      expect(found / 400).toBeGreaterThan(0.96);
      expect(near / 400).toBeGreaterThan(0.97);
    }
  });

  it('seldom takes a good tile for bad', () => {
    const { normal } = dice(12);
    let lost = 0;
    for (let i = 0; i < 500; i++)
      if (fitted(fitCoat(FIVE.map((s) => scattered(exact(s), normal)))).leftOut.length > 0) lost++;
    expect(lost / 500).toBeLessThan(0.03);
  });

  it.each([
    ['three tiles', [2, 3, 5], 0.8, 0.92],
    ['five tiles', FIVE, 0.78, 0.88],
    ['twenty tiles', [...FIVE, ...FIVE, ...FIVE, ...FIVE], 0.775, 0.84],
  ])('its band holds four dips in five: %s', (_, dwells, least, most) => {
    const { normal, unit } = dice(2026);
    let held = 0;
    for (let i = 0; i < 2000; i++) {
      const fit = fitted(fitCoat(dwells.map((s) => scattered(exact(s), normal))));
      const seconds = 1 + 6 * unit();
      const next = scattered(exact(seconds), normal).dryCoatGrams / 100;
      const { low, high } = coatAfter(fit, seconds, slurry).prediction;
      if (low <= next && next <= high) held++;
    }
    expect(held / 2000).toBeGreaterThan(least);
    expect(held / 2000).toBeLessThan(most);
  });

  it('the band of the mean lies within that of one dip, around the best', () => {
    const { normal } = dice(3);
    const fit = fitted(fitCoat(FIVE.map((s) => scattered(exact(s), normal))));
    for (const seconds of [0.5, 2, 4, 9]) {
      const { gramsPerCm2, confidence, prediction } = coatAfter(fit, seconds, slurry);
      expect(prediction.low).toBeLessThan(confidence.low);
      expect(confidence.low).toBeLessThan(gramsPerCm2);
      expect(gramsPerCm2).toBeLessThan(confidence.high);
      expect(confidence.high).toBeLessThan(prediction.high);
    }
  });

  it('sees where walls were full, and that no hold gives more', () => {
    const dwells = [1, 2, 3, 4, 6, 9, 12, 16, 20, 25];
    const tiles = dwells.map((seconds) => ({ ...exact(Math.min(seconds, 6)), seconds }));
    const fit = fitted(fitCoat(tiles));
    expect(fit.leftOut).toEqual([]);
    expect(coatAfter(fit, 25, slurry).gramsPerCm2).toBeCloseTo(trueCoat(6), 6);
    const dwell = dwellFor(fit, 1.5 * trueCoat(6), slurry);
    expect(dwell.saturated).toBe(true);
    expect(dwell.seconds?.best).toBeCloseTo(6, 5);
    expect(dwellFor(fit, trueCoat(3), slurry).saturated).toBe(false);
  });
});

describe('few tiles', () => {
  const pairs = [0.8, 1, 1.1, 1.2].map((m) =>
    FIVE.map((s) => exact(s, 1.46, { ...truth, uptake: m * 0.02 })),
  );
  const pool = poolOf(pairs);
  const mine = (dwells: number[]) => dwells.map((s) => exact(s, 1.46, { ...truth, uptake: 0.04 }));

  it('says whose they are', () => {
    expect(fitCoat([]).basis).toBe('none');
    expect(fitCoat([exact(3)]).basis).toBe('none');
    expect(fitCoat([exact(3), exact(3), exact(3), exact(3), exact(3)]).basis).toBe('none');
    expect(fitCoat([exact(2), exact(5)]).basis).toBe('own');
    expect(fitCoat([], pool).basis).toBe('others only');
    for (const dwells of [[3], [2, 5], [1, 2, 3], [1, 2, 3, 5], [3, 3, 3, 3, 3]])
      expect(fitCoat(mine(dwells), pool).basis).toBe('leans on others');
    expect(fitCoat(mine(FIVE), pool)).toEqual(fitCoat(mine(FIVE)));
  });

  it('without any, the studio speaks; each tile draws the law to its own pair', () => {
    const off = [[], [3], [2, 5], [1, 3, 6], [1, 2, 4, 8]].map((dwells) =>
      Math.abs(fitted(fitCoat(mine(dwells), pool)).uptake - 0.04),
    );
    expect(fitted(fitCoat([], pool)).uptake).toBeCloseTo(0.02 * 1.025, 6);
    for (const [i, distance] of off.entries()) if (i > 0) expect(distance).toBeLessThan(off[i - 1] ?? 0);
  });

  it('five tiles make the range narrower than two, and two than none', () => {
    const ratio = (dwells: number[]) => {
      const seconds = dwellFor(
        fitCoat(
          dwells.map((s) => exact(s)),
          pool,
        ),
        trueCoat(3),
        slurry,
      ).seconds;
      return (seconds?.high ?? Number.POSITIVE_INFINITY) / (seconds?.low ?? 1);
    };
    expect(ratio(FIVE)).toBeLessThan(ratio([2, 5]));
    expect(ratio([2, 5])).toBeLessThan(ratio([]));
  });

  it('nobody speaks where no pair has three tiles', () => {
    expect(poolOf([])).toBeNull();
    expect(
      poolOf([
        [exact(1), exact(3)],
        [exact(3), exact(3), exact(3)],
      ]),
    ).toBeNull();
  });
});

describe('how long to hold', () => {
  const fit = fitCoat(FIVE.map((s) => exact(s)));

  it('is the dwell of the wanted coat, in a range of whole counts', () => {
    const dwell = dwellFor(fit, trueCoat(3.6), slurry);
    expect(dwell.seconds?.best).toBeCloseTo(3.6, 6);
    expect(dwell.seconds?.low).toBeLessThan(3.6);
    expect(dwell.seconds?.high).toBeGreaterThan(3.6);
    expect(dwell.counts).toEqual({ from: 3, to: 4 });
    expect(dwell.words).toMatch(/^Count 3 to 4\. From 5 tiles/);
  });

  it('its ends are where the wanted coat leaves the band of one dip', () => {
    const { normal } = dice(8);
    const rough = fitted(fitCoat(FIVE.map((s) => scattered(exact(s), normal))));
    const want = trueCoat(3);
    const seconds = dwellFor(rough, want, slurry).seconds;
    expect(coatAfter(rough, seconds?.low ?? 0, slurry).prediction.high).toBeCloseTo(want, 9);
    expect(coatAfter(rough, seconds?.high ?? 0, slurry).prediction.low).toBeCloseTo(want, 9);
  });

  it('falls as gravity rises, and with a thirstier bisque; grows with the wanted coat', () => {
    const best = (uptake: number, want: number, specificGravity: number) =>
      dwellFor(fitCoat(FIVE.map((s) => exact(s, 1.46, { ...truth, uptake }))), want, { specificGravity })
        .seconds?.best ?? Number.NaN;
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 0.03, noNaN: true }),
        fc.double({ min: 0.04, max: 0.08, noNaN: true }),
        fc.double({ min: 1.3, max: 1.55, noNaN: true }),
        fc.double({ min: 0.01, max: 0.1, noNaN: true }),
        (uptake, want, gravity, step) => {
          const here = best(uptake, want, gravity);
          const isShortest = (value: number) => value === 0.5;
          const heavier = best(uptake, want, gravity + step);
          const thirstier = best(uptake * (1 + step), want, gravity);
          expect(heavier < here || isShortest(heavier)).toBe(true);
          expect(thirstier < here || isShortest(thirstier)).toBe(true);
          expect(best(uptake, want * (1 + step), gravity) > here || isShortest(here)).toBe(true);
        },
      ),
    );
  });

  it('is never under half a second, and says when the shortest dip is too much', () => {
    const dwell = dwellFor(fit, 0.005, slurry);
    expect(dwell.seconds).toEqual({ low: 0.5, best: 0.5, high: 0.5 });
    expect(dwell.words).toContain('thin the glaze first');
  });

  it('promises nothing without tiles: three, as most do, and words', () => {
    const band = { low: 1.44, high: 1.48 };
    const thick = dwellFor(fitCoat([]), 0.05, { specificGravity: 1.52, band });
    expect(thick).toMatchObject({ seconds: { best: 3 }, counts: { from: 3, to: 3 }, basis: 'none' });
    expect(thick.words).toContain('thicker than wanted');
    expect(dwellFor(fitCoat([]), 0.05, { specificGravity: 1.46, band }).words).not.toContain('than wanted');
    expect(dwellFor(fitCoat([]), 0.05, { specificGravity: 1.4, band }).words).toContain(
      'thinner than wanted',
    );
  });

  it('speaks against tiles that got thinner with the hold', () => {
    const falling = FIVE.map((s, i) => ({ ...exact(s), dryCoatGrams: 6 - 0.5 * i }));
    const dwell = dwellFor(fitCoat(falling), 0.05, slurry);
    expect(dwell.seconds).toBeNull();
    expect(dwell.words).toContain('do not show');
  });

  it('counts by nothing where two rough tiles set no end', () => {
    const rough = fitCoat([exact(3), { ...exact(3.5), dryCoatGrams: exact(3).dryCoatGrams * 1.01 }]);
    const dwell = dwellFor(rough, trueCoat(5), slurry);
    expect(dwell.seconds?.high).toBeNull();
    expect(dwell.counts).toBeNull();
    expect(dwell.words).toContain('guess');
  });

  it('says when no tile was held so long', () => {
    expect(dwellFor(fit, trueCoat(30), slurry).words).toContain('No tile had such a count');
  });

  it('refuses a coat of nothing and a slurry that packs closer than the coat', () => {
    expect(() => dwellFor(fit, 0, slurry)).toThrow(RangeError);
    expect(() => dwellFor(fit, Number.NaN, slurry)).toThrow(RangeError);
    expect(() => dwellFor(fit, 0.05, { specificGravity: 1.85 })).toThrow(RangeError);
    expect(() => dwellFor(fit, 0.05, { specificGravity: 0.9 })).toThrow(RangeError);
  });
});

describe('what a wall can drink', () => {
  const wall = { soakShare: 0.1, bulkDensity: 1.9, thicknessMm: 4, glazedFaces: 2 } as const;

  it('is the soak of half of it where both faces are glazed: 0.1 × 1.9 × 0.2 cm', () => {
    expect(capacityOf(wall)).toBeCloseTo(0.038, 12);
    expect(capacityOf({ ...wall, glazedFaces: 1 })).toBeCloseTo(0.076, 12);
  });

  it('a slurry as dense as its coat has no water to give', () => {
    const phi = 0.549999;
    const dense = { solidsDensity: 2.6, specificGravity: 0.99821 + phi * (2.6 - 0.99821) };
    expect(waterPerCoat(dense)).toBeCloseTo(0, 4);
    expect(waterPerCoat(slurry)).toBeGreaterThan(waterPerCoat({ ...slurry, specificGravity: 1.5 }));
  });

  it('limits the coat, and the dwell is told for what it takes', () => {
    const thin = { ...wall, thicknessMm: 2 };
    const { mostCoat } = saturation(0.1, slurry, thin);
    expect(saturation(mostCoat * 1.01, slurry, thin).isSaturated).toBe(true);
    expect(saturation(mostCoat * 0.99, slurry, thin).isSaturated).toBe(false);
    const fit = fitCoat(FIVE.map((s) => exact(s)));
    const dwell = dwellFor(fit, 2 * mostCoat, { ...slurry, wall: thin });
    expect(dwell.saturated).toBe(true);
    expect(dwell.words).toContain('drinks no more');
    expect(dwell.seconds?.best).toBeCloseTo(dwellFor(fit, mostCoat, slurry).seconds?.best ?? 0, 9);
  });

  it('a second coat is as the first on a dried wall, and less the more it still holds', () => {
    const fit = fitted(fitCoat(FIVE.map((s) => exact(s))));
    const added = (heldGramsPerCm2: number) => secondCoat(fit, { heldGramsPerCm2, seconds: 3, slurry, wall });
    expect(secondCoat(fit, { heldGramsPerCm2: 0, seconds: 3, slurry })).toBeCloseTo(trueCoat(3), 9);
    expect(added(0.01)).toBeGreaterThan(added(0.02));
    expect(added(0.02)).toBeGreaterThan(added(0.03));
    // Full: what clings, no more.
    expect(added(0.038)).toBeCloseTo(0.01, 8);
    expect(added(0.06)).toBeCloseTo(0.01, 8);
  });

  it('tiles that are all alike ask for a count that nobody counts to, and it is said so', () => {
    const alike = [2, 3, 5].map((seconds) => ({ ...exact(seconds), dryCoatGrams: 5 + 1e-12 * seconds }));
    const { words, counts } = dwellFor(fitCoat(alike), 0.07, slurry);
    expect(counts).toBeNull();
    expect(words).not.toMatch(/\de\+|\d{4}/);
  });

  it('tiles whose line begins below nothing do not let a full wall give glaze back', () => {
    const below = { intercept: -0.01, uptake: 0.03, critical: 0.55 };
    const fit = fitted(fitCoat(FIVE.map((s) => exact(s, 1.46, below))));
    expect(fit.intercept).toBeCloseTo(-0.01, 9);
    const added = (heldGramsPerCm2: number) => secondCoat(fit, { heldGramsPerCm2, seconds: 3, slurry, wall });
    expect(added(0.06)).toBe(0);
    expect(added(0.03)).toBeGreaterThan(0);
  });
});

describe('whatever was typed', () => {
  it('a fit and its dwell are finite, or refused as what cannot be', () => {
    const tile = fc.record({
      seconds: fc.oneof(fc.constantFrom(0, 1, 3, 3600), fc.double({ min: 0, max: 3600, noNaN: true })),
      specificGravity: fc.double({ min: 1.001, max: 1.7, noNaN: true }),
      solidsDensity: fc.double({ min: 2.4, max: 10, noNaN: true }),
      areaCm2: fc.double({ min: 0.01, max: 1e5, noNaN: true }),
      dryCoatGrams: fc.double({ min: 0.001, max: 1e6, noNaN: true }),
    });
    fc.assert(
      fc.property(
        fc.array(tile, { maxLength: 14 }),
        fc.double({ min: 1e-4, max: 10, noNaN: true }),
        (tiles, want) => {
          const fit = fitCoat(tiles);
          let dwell: ReturnType<typeof dwellFor>;
          try {
            dwell = dwellFor(fit, want, slurry);
          } catch (error) {
            expect(error).toBeInstanceOf(RangeError);
            return;
          }
          if (fit.basis !== 'none')
            for (const value of [fit.intercept, fit.uptake, fit.scale2, ...fit.covariance.flat()])
              expect(Number.isFinite(value)).toBe(true);
          if (!dwell.seconds) return;
          const { low, best, high } = dwell.seconds;
          expect(Number.isFinite(best)).toBe(true);
          expect(low).toBeGreaterThanOrEqual(0.5);
          expect(low).toBeLessThanOrEqual(best);
          if (high !== null) expect(high).toBeGreaterThanOrEqual(best);
        },
      ),
      { numRuns: 400 },
    );
  });
});
