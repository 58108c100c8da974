import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ewma, individuals, signals } from '../../server/buckets/control-chart.ts';

const limits = { low: 1.44, centre: 1.46, high: 1.48 };
const above = Array.from({ length: 8 }, (_, i) => 1.461 + i / 1000);

describe('limits of single values', () => {
  it('need two values', () => {
    expect(() => individuals([1.46])).toThrow(RangeError);
    expect(individuals([1.46, 1.46])).toMatchObject({ low: 1.46, centre: 1.46, high: 1.46, highRange: 0 });
  });

  it('never come nearer than the least reach', () => {
    const chart = individuals([1.46, 1.46, 1.46, 1.46], 0.01);
    expect(chart.high).toBeCloseTo(1.47, 9);
    expect(chart.low).toBeCloseTo(1.45, 9);
    expect(chart.sd).toBeCloseTo(0.01 / 3, 9);
    expect(individuals([1.4, 1.5], 0.01).high).toBeCloseTo(1.45 + 0.266, 9);
  });

  it('move with the values and stretch with their scatter', () => {
    const value = fc.double({ min: 1, max: 2, noNaN: true });
    fc.assert(
      fc.property(fc.array(value, { minLength: 2, maxLength: 30 }), value, (values, by) => {
        const [chart, moved] = [individuals(values), individuals(values.map((v) => 3 * v + by))];
        expect(moved.centre).toBeCloseTo(3 * chart.centre + by, 9);
        expect(moved.high - moved.centre).toBeCloseTo(3 * (chart.high - chart.centre), 9);
        expect(chart.centre - chart.low).toBeCloseTo(chart.high - chart.centre, 9);
      }),
    );
  });
});

describe('a point', () => {
  it('exactly on a limit is in, whatever floating point adds', () => {
    expect(signals([1.48, 1.44, 1.48 + 1e-12, 1.44 - 1e-12], limits)).toEqual([]);
    expect(signals([1.4801, 1.4399], limits)).toEqual([
      { what: 'out', at: 0, side: 'above' },
      { what: 'out', at: 1, side: 'below' },
    ]);
  });

  it('is not out where all are the same', () => {
    const same = Array.from({ length: 20 }, () => 0.1 + 0.2);
    expect(signals(same, individuals(same))).toEqual([]);
  });
});

describe('a run', () => {
  it('is eight in a row on one side; seven are none', () => {
    expect(signals(above, limits)).toEqual([{ what: 'run', from: 0, to: 7, side: 'above' }]);
    expect(signals(above.slice(1), limits)).toEqual([]);
    expect(
      signals(
        above.map((v) => 2.92 - v),
        limits,
      ),
    ).toEqual([{ what: 'run', from: 0, to: 7, side: 'below' }]);
  });

  it('is ended by a point on the centre and by one on the other side', () => {
    for (const between of [1.46, 1.46 + 1e-12, 1.459])
      expect(signals([...above.slice(0, 4), between, ...above.slice(0, 7)], limits)).toEqual([]);
    expect(
      signals(
        Array.from({ length: 12 }, () => 1.46),
        limits,
      ),
    ).toEqual([]);
  });

  it('is told once, in its whole length, and once more after a break', () => {
    expect(signals([1.45, ...above, 1.462, 1.462, 1.45, ...above], limits)).toEqual([
      { what: 'run', from: 1, to: 10, side: 'above' },
      { what: 'run', from: 12, to: 19, side: 'above' },
    ]);
  });

  it('may hold a point that is out', () => {
    expect(signals([...above, 1.49], limits)).toEqual([
      { what: 'out', at: 8, side: 'above' },
      { what: 'run', from: 0, to: 8, side: 'above' },
    ]);
  });
});

describe('the smoothed value', () => {
  it('starts at the centre and keeps a fifth of each new value', () => {
    const [first, second] = ewma([1.48, 1.48], { centre: 1.46, sd: 0.005 });
    expect(first?.value).toBeCloseTo(1.464, 9);
    expect(second?.value).toBeCloseTo(1.4672, 9);
    expect(first?.high).toBeCloseTo(1.46 + 3 * 0.005 * 0.2, 9);
  });

  it('has limits that widen to L·σ·√(λ/(2 − λ)), a third of those of single values', () => {
    const chart = ewma(
      Array.from({ length: 60 }, () => 1.46),
      { centre: 1.46, sd: 0.005 },
    );
    const widths = chart.map(({ high, low }) => high - low);
    for (const [i, width] of widths.slice(1).entries())
      expect(width).toBeGreaterThanOrEqual(widths[i] as number);
    expect(widths.at(-1)).toBeCloseTo((2 * 3 * 0.005) / 3, 6);
    expect(chart.every(({ value }) => value === 1.46 || Math.abs(value - 1.46) < 1e-12)).toBe(true);
  });
});
