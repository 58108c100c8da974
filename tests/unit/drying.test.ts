import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  dryingTime,
  hasStoppedDrying,
  isDryEnough,
  shareOfWaterGone,
  type Weighing,
} from '../../server/ware/drying.ts';

const curve = (dry: number, water: number, tau: number, hours: number[]): Weighing[] =>
  hours.map((h) => ({ hours: h, grams: dry + water * Math.exp(-h / tau) }));

function seeded(seed: number) {
  let state = seed;
  const unit = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(unit())) * Math.cos(2 * Math.PI * unit());
}

describe('water that has gone', () => {
  const wet = { justGlazedGrams: 560, wetGainGrams: 60, solidsFraction: 0.5 };

  it('is what was lost over what came with the slurry: 27 of 30 g are nine tenths', () => {
    expect(shareOfWaterGone({ ...wet, nowGrams: 533 })).toBeCloseTo(0.9, 12);
    expect(shareOfWaterGone({ ...wet, nowGrams: 560 })).toBe(0);
  });

  it.each([
    { wetGainGrams: 0 },
    { wetGainGrams: -3 },
    { wetGainGrams: Number.NaN },
    { solidsFraction: 0 },
    { solidsFraction: 1 },
  ])('refuses %o', (wrong) => {
    expect(() => shareOfWaterGone({ ...wet, nowGrams: 540, ...wrong })).toThrow(RangeError);
  });

  it('lets a piece go on at nine tenths, not before', () => {
    expect(isDryEnough([{ hours: 8, grams: 533 }], wet)).toBe(true);
    expect(isDryEnough([{ hours: 8, grams: 533.1 }], wet)).toBe(false);
    expect(isDryEnough([], wet)).toBe(false);
  });

  it('takes nine tenths to the gram for nine tenths, whatever binary makes of it', () => {
    // 14.4 g of 16 g: the quotient comes out a hair below 0.9.
    const coat = { justGlazedGrams: 450, wetGainGrams: 40, solidsFraction: 0.6 };
    expect(shareOfWaterGone({ ...coat, nowGrams: 435.6 })).toBeLessThan(0.9);
    expect(isDryEnough([{ hours: 8, grams: 435.6 }], coat)).toBe(true);
  });

  it('or when two weighings half an hour apart agree within a gram', () => {
    const at = (hours: number, grams: number) => ({ hours, grams });
    expect(hasStoppedDrying([at(5, 541), at(5.5, 540)])).toBe(true);
    expect(hasStoppedDrying([at(5.5, 540), at(5, 541)])).toBe(true);
    expect(hasStoppedDrying([at(5, 541), at(5.4, 540)])).toBe(false);
    expect(hasStoppedDrying([at(5, 541.1), at(5.5, 540)])).toBe(false);
    expect(hasStoppedDrying([at(5, 540)])).toBe(false);
    expect(isDryEnough([at(5, 541), at(5.5, 540)], wet)).toBe(true);
    expect(isDryEnough([at(5, 541), at(5.5, 540)], null)).toBe(true);
    // It agreed once, and has been rained on since.
    expect(hasStoppedDrying([at(5, 540.5), at(5.5, 540), at(6, 545)])).toBe(false);
  });
});

describe('when it will be ready', () => {
  it('finds the time of an exact curve from two weighings, on the clock of the weighings', () => {
    const found = dryingTime(
      curve(500, 60, 4, [0, 3]).map((w) => ({ ...w, hours: w.hours + 9 })),
      500,
    );
    expect(found.reason).toBeNull();
    if (found.reason !== null) return;
    expect(found.timeConstantHours).toBeCloseTo(4, 9);
    expect(found.readyAtHours).toBeCloseTo(9 + 4 * Math.log(10), 9);
    expect(found.range.low).toBeLessThan(found.readyAtHours);
    expect(found.range.high).toBeGreaterThan(found.readyAtHours);
  });

  it('any exact curve, share and order of weighings', () => {
    fc.assert(
      fc.property(
        fc.record({
          dry: fc.double({ min: 100, max: 5000, noNaN: true }),
          water: fc.double({ min: 60, max: 600, noNaN: true }),
          tau: fc.double({ min: 0.5, max: 40, noNaN: true }),
          share: fc.double({ min: 0.02, max: 0.3, noNaN: true }),
        }),
        ({ dry, water, tau, share }) => {
          const weighings = curve(dry, water, tau, [0, 0.3 * tau, 0.6 * tau, 0.9 * tau]);
          const found = dryingTime(weighings, dry, share);
          expect(found.readyAtHours).not.toBeNull();
          expect((found.readyAtHours ?? 0) / (-tau * Math.log(share))).toBeCloseTo(1, 7);
          expect(dryingTime(weighings.toReversed(), dry, share)).toEqual(found);
        },
      ),
    );
  });

  it('waits longer for less water left', () => {
    const weighings = curve(500, 60, 4, [0, 1, 2, 3]);
    const at = (share: number) => dryingTime(weighings, 500, share).readyAtHours ?? 0;
    expect(at(0.05)).toBeGreaterThan(at(0.1));
    expect(at(0.1)).toBeGreaterThan(at(0.2));
  });

  it('is surer with more weighings', () => {
    const width = (hours: number[]) => {
      const found = dryingTime(curve(500, 60, 4, hours), 500);
      return found.reason === null ? found.range.high - found.range.low : Number.NaN;
    };
    expect(width([0, 1, 2, 3])).toBeLessThan(width([0, 3]));
  });

  it('its range holds the true time in four of five pieces, or more', () => {
    const normal = seeded(20);
    const truth = -4 * Math.log(0.1);
    let held = 0;
    let told = 0;
    for (let i = 0; i < 2000; i++) {
      // The scale's half gram, on a first weighing that is known well: the share is of what it showed.
      const weighings = curve(500, 80, 4, [0, 1, 2, 3, 4]).map((w, j) => ({
        ...w,
        grams: w.grams + (j === 0 ? 0 : 0.5 * normal()),
      }));
      const found = dryingTime(weighings, 500);
      if (found.reason !== null) continue;
      told++;
      if (found.range.low <= truth && truth <= found.range.high) held++;
    }
    expect(told).toBeGreaterThan(1980);
    expect(held / told).toBeGreaterThan(0.78);
    expect(held / told).toBeLessThan(0.95);
  });
});

describe('the range of two weighings', () => {
  // By hand: t = 2·ln(100/10)/ln(100/50), its slopes by the two masses −0.066997 and 0.191701 h/g, each known to 0.5 g;
  // Student's t of two degrees of freedom 1.8856.
  it('is that of the time by both masses together', () => {
    const weighings = [
      { hours: 0, grams: 600 },
      { hours: 2, grams: 550 },
    ];
    const found = dryingTime(weighings, 500);
    if (found.readyAtHours === null) throw new Error('no time');
    expect(found.readyAtHours).toBeCloseTo(6.64386, 4);
    expect(found.range.high - found.readyAtHours).toBeCloseTo(0.19146, 4);
  });
});

describe('why nobody can say', () => {
  it.each([
    ['too-few', [{ hours: 0, grams: 560 }]],
    [
      'too-few',
      [
        { hours: 1, grams: 560 },
        { hours: 1, grams: 550 },
      ],
    ],
    [
      'below-dry',
      [
        { hours: 0, grams: 560 },
        { hours: 3, grams: 499 },
      ],
    ],
    [
      'already-dry',
      [
        { hours: 0, grams: 560 },
        { hours: 3, grams: 506 },
      ],
    ],
    ['already-dry', [{ hours: 0, grams: 500 }]],
    [
      'rising',
      [
        { hours: 0, grams: 550 },
        { hours: 3, grams: 551 },
      ],
    ],
    [
      'rising',
      [
        { hours: 0, grams: 560 },
        { hours: 1, grams: 540 },
        { hours: 2, grams: 545 },
      ],
    ],
    [
      'equal',
      [
        { hours: 0, grams: 550 },
        { hours: 3, grams: 550 },
        { hours: 4, grams: 550 },
      ],
    ],
    // A fiftieth of the water gone says nothing of the last tenth.
    [
      'no-fit',
      [
        { hours: 0, grams: 600 },
        { hours: 1, grams: 598 },
      ],
    ],
    // Water that the scale can hardly see.
    [
      'no-fit',
      [
        { hours: 0, grams: 501.5 },
        { hours: 1, grams: 501 },
      ],
    ],
    // The same grams every hour: nothing that ends in a tail.
    ['no-fit', [0, 1, 2, 3, 4].map((hours) => ({ hours, grams: 620 - 24 * hours }))],
  ] as const)('%s: %o', (reason, weighings) => {
    expect(dryingTime(weighings, 500)).toEqual({ readyAtHours: null, reason });
  });

  it.each([
    [500, 0],
    [500, 1],
    [500, Number.NaN],
    [0, 0.1],
    [Number.NaN, 0.1],
  ])('refuses %d g dry with a share of %d left', (dry, share) => {
    expect(() => dryingTime(curve(500, 60, 4, [0, 3]), dry, share)).toThrow(RangeError);
  });

  it('refuses weighings that are no numbers', () => {
    expect(() => dryingTime([{ hours: Number.NaN, grams: 560 }], 500)).toThrow(RangeError);
  });

  it('says that no curve fits where it would be over before the second weighing', () => {
    const weighings = [
      { hours: 274, grams: 8172 },
      { hours: 21, grams: 70555 },
      { hours: 28, grams: 20990 },
    ];
    expect(dryingTime(weighings, 399).reason).toBe('no-fit');
  });

  it('never answers with anything but finite numbers, whatever was weighed', () => {
    const weighing = fc.record({
      hours: fc.double({ min: 0, max: 1e5, noNaN: true }),
      grams: fc.double({ min: 0.001, max: 1e6, noNaN: true }),
    });
    fc.assert(
      fc.property(
        fc.array(weighing, { maxLength: 12 }),
        fc.double({ min: 0.001, max: 1e6, noNaN: true }),
        (weighings, dry) => {
          const found = dryingTime(weighings, dry);
          if (found.reason !== null) return;
          for (const value of [
            found.readyAtHours,
            found.timeConstantHours,
            found.range.low,
            found.range.high,
          ])
            expect(Number.isFinite(value)).toBe(true);
          expect(found.range.low).toBeLessThanOrEqual(found.readyAtHours);
          expect(found.range.high).toBeGreaterThanOrEqual(found.readyAtHours);
        },
      ),
      { endOnFailure: true, numRuns: 500 },
    );
  });
});
