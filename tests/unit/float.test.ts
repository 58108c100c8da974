import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  calibrate,
  fromMark,
  isCoarse,
  lineAt,
  type Mark,
  markFor,
  missOf,
  mmPerHundredth,
  residualSg,
  warnings,
} from '../../server/buckets/float.ts';

const mark = (millimetres: number, specificGravity: number): Mark => ({ millimetres, specificGravity });

/** A float whose 1/SG rises by `perMm` for each mm, from 0.55 at its zero. */
const law =
  (perMm: number, intercept = 0.55) =>
  (millimetres: number) =>
    mark(millimetres, 1 / (intercept + perMm * millimetres));
const PER_MM = 0.0012;
const exact = law(PER_MM);
const three = calibrate([40, 90, 130].map(exact));

const sd = (values: number[]) => {
  const mean = values.reduce((a, b) => a + b) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1));
};

describe('calibration', () => {
  it('by exact pairs gives them back, whatever the float', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.3, max: 0.6, noNaN: true }),
        fc.double({ min: 0.0003, max: 0.003, noNaN: true }),
        fc.uniqueArray(fc.integer({ min: 10, max: 150 }), { minLength: 2, maxLength: 8 }),
        (intercept, perMm, mms) => {
          const points = mms.map(law(perMm, intercept)).filter((p) => p.specificGravity >= 1);
          fc.pre(points.length >= 2);
          const float = calibrate(points);
          for (const { millimetres, specificGravity } of points) {
            expect(fromMark(float, [millimetres]).specificGravity).toBeCloseTo(specificGravity, 9);
            expect(markFor(float, specificGravity)).toBeCloseTo(millimetres, 6);
          }
          if (points.length > 2) expect(residualSg(float)).toBeLessThan(1e-9);
        },
      ),
    );
  });

  it('takes two pairs, with a warning and no residual', () => {
    const float = calibrate([exact(40), exact(130)]);
    expect(float.residual).toBeNull();
    expect(residualSg(float)).toBeNull();
    expect(warnings(float)).toEqual([expect.stringMatching(/^Two pairs always lie on a line/)]);
  });

  it('shows a residual from three on, and how far each pair lies off', () => {
    const off = calibrate([exact(40), mark(90, exact(90).specificGravity + 0.006), exact(130)]);
    expect(off.residual).toBeGreaterThan(0);
    expect(missOf(off, off.points[1] as Mark)).toBeGreaterThan(0);
    expect(missOf(off, off.points[0] as Mark)).toBeLessThan(0);
    expect(warnings(off)).toEqual([]);
    const wild = calibrate([exact(40), mark(90, exact(90).specificGravity + 0.04), exact(130)]);
    expect(warnings(wild)).toEqual([expect.stringMatching(/SG off their line/)]);
  });

  it.each([
    ['one pair', [mark(50, 1.4)], /at least two pairs/],
    ['none', [], /at least two pairs/],
    ['equal marks', [mark(50, 1.4), mark(50, 1.5)], /same mark, 50 mm/],
    ['two equal marks among three', [mark(50, 1.4), mark(30, 1.5), mark(50, 1.4)], /same mark/],
    ['negative mm', [mark(-1, 1.5), mark(50, 1.4)], /below zero/],
    ['no number', [mark(Number.NaN, 1.5), mark(50, 1.4)], /below zero/],
    ['endless mm', [mark(Number.POSITIVE_INFINITY, 1.2), mark(50, 1.4)], /below zero/],
    ['lighter than water', [mark(60, 0.9), mark(50, 1.4)], /between 1, which is water, and 4/],
    ['heavier than rock', [mark(10, 4.1), mark(50, 1.4)], /between 1, which is water, and 4/],
    ['no gravity', [mark(10, Number.NaN), mark(50, 1.4)], /between 1/],
    ['equal gravities', [mark(50, 1.4), mark(60, 1.4)], /say otherwise/],
    ['marks the wrong way round', [mark(50, 1.4), mark(60, 1.5)], /heavier glaze less of a float/],
  ])('refuses %s in words', (_what, points, words) => {
    expect(() => calibrate(points)).toThrow(RangeError);
    expect(() => calibrate(points)).toThrow(words);
  });

  it('warns of pairs that lie close together, and of a thick neck', () => {
    expect(warnings(calibrate([mark(80, 1.44), mark(50, 1.46), mark(65, 1.4499)]))).toEqual([
      expect.stringMatching(/only 0\.020 SG apart/),
    ]);
    const thick = calibrate([30, 50, 70].map(law(0.003)));
    expect(warnings(thick)).toEqual([expect.stringMatching(/use a weighted bottle with a thin neck/)]);
  });

  it('calls a float coarse under 3 mm for 0.01 SG, and no sooner', () => {
    const perMm = (mm: number) => 0.01 / mm / 1.5 ** 2;
    const float = (mm: number) => ({ points: [], intercept: 0, slopePerMm: perMm(mm), residual: null });
    expect(mmPerHundredth(float(3.001), 1.5)).toBeCloseTo(3.001, 9);
    expect(isCoarse(float(3.001), 1.5)).toBe(false);
    expect(isCoarse(float(2.999), 1.5)).toBe(true);
  });
});

describe('a mark', () => {
  it('counts by its mean; rising and sinking apart make it less sure', () => {
    const once = fromMark(three, [80]);
    const near = fromMark(three, [80.5, 79.5]);
    const far = fromMark(three, [84, 76]);
    expect(near.specificGravity).toBeCloseTo(once.specificGravity, 12);
    expect(far.specificGravity).toBeCloseTo(once.specificGravity, 12);
    expect(far.standardUncertainty).toBeGreaterThan(near.standardUncertainty);
    // Spread of two: half their distance, 4 mm; by the slope and SG² it dominates.
    const spread = once.specificGravity ** 2 * PER_MM * 4;
    expect(far.standardUncertainty).toBeGreaterThan(spread);
    expect(far.standardUncertainty).toBeLessThan(1.2 * spread);
  });

  it('is never surer than reading the scale to 1 mm allows', () => {
    const many = calibrate(Array.from({ length: 20 }, (_, i) => exact(40 + 5 * i)));
    const { specificGravity, standardUncertainty } = fromMark(many, [80]);
    expect(standardUncertainty).toBeGreaterThan((specificGravity ** 2 * PER_MM) / Math.sqrt(12));
    expect(standardUncertainty).toBeLessThan(0.01);
  });

  it('is less sure by two pairs than by ten, and at the end of them than in the middle', () => {
    const two = calibrate([40, 130].map(exact));
    const ten = calibrate(Array.from({ length: 10 }, (_, i) => exact(40 + 10 * i)));
    const u = (float: typeof two, mm: number) => fromMark(float, [mm]).standardUncertainty;
    expect(u(two, 85)).toBeGreaterThan(u(ten, 85));
    expect(u(two, 40)).toBeGreaterThan(
      u(two, 85) * (exact(40).specificGravity / exact(85).specificGravity) ** 2,
    );
  });

  it('says as much doubt as simulated calibrations and readings scatter', () => {
    const random = uniform(7);
    const gauss = () => Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random());
    const toMm = (mm: number) => Math.round(mm);
    const found = Array.from({ length: 1500 }, () => {
      const points = [40.3, 84.8, 129.6].map((mm) => {
        const shifted = mm + random() - 0.5;
        return mark(toMm(shifted), exact(shifted).specificGravity + 0.005 * gauss());
      });
      return fromMark(calibrate(points), [toMm(100 + random() - 0.5)]).specificGravity;
    });
    const told = fromMark(three, [100]).standardUncertainty;
    expect(sd(found) / told).toBeGreaterThan(0.75);
    expect(sd(found) / told).toBeLessThan(1.25);
  });

  it('is refused more than 0.05 SG outside the calibrated range, not sooner', () => {
    const float = calibrate([mark(130, 1.35), mark(50, 1.55)]);
    const at = (sg: number) => (1 / sg - float.intercept) / float.slopePerMm;
    expect(fromMark(float, [at(1.3)]).specificGravity).toBeCloseTo(1.3, 9);
    expect(fromMark(float, [at(1.6)]).specificGravity).toBeCloseTo(1.6, 9);
    for (const sg of [1.2999, 1.6001, 3]) {
      const mm = at(sg);
      if (mm >= 0) expect(() => fromMark(float, [mm])).toThrow(/more than 0\.05 outside.*1\.35 to 1\.55/);
      expect(markFor(float, sg)).toBeNull();
    }
    expect(() => fromMark(float, [-1])).toThrow(/below zero/);
    expect(() => fromMark(float, [50, Number.NaN])).toThrow(RangeError);
  });

  it('whatever it is, gives a gravity within reach of the calibration or a sentence', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -10, max: 2000 }), { minLength: 1, maxLength: 4 }), (marks) => {
        try {
          const { specificGravity, standardUncertainty } = fromMark(three, marks);
          expect(specificGravity).toBeGreaterThan(1);
          expect(standardUncertainty).toBeGreaterThan(0);
          expect(Number.isFinite(standardUncertainty)).toBe(true);
        } catch (error) {
          expect(error).toBeInstanceOf(RangeError);
        }
      }),
    );
  });
});

describe('a line to draw', () => {
  it('is told to the half millimetre', () => {
    expect(lineAt(three, exact(84.3).specificGravity)).toBe('84.5 mm');
    expect(lineAt(three, exact(84.2).specificGravity)).toBe('84 mm');
  });

  it('is not told where the float was not calibrated, or has no scale', () => {
    expect(lineAt(three, exact(130).specificGravity - 0.06)).toBe('not calibrated there');
    const short = calibrate([exact(2), exact(60), exact(100)]);
    expect(lineAt(short, exact(0).specificGravity + 0.01)).toBe('below its scale');
  });
});

/** Park–Miller, from a fixed seed. */
function uniform(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}
