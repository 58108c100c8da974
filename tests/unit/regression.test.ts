import fc from 'fast-check';
import { expect, test } from 'vitest';
import { fitLine, leverage } from '../../server/buckets/regression.ts';

const finite = (min: number, max: number) => fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

test('two points: the line through them, and nothing known of its error', () => {
  expect(
    fitLine([
      { x: 1, y: 3 },
      { x: 3, y: 7 },
    ]),
  ).toEqual({ intercept: 1, slope: 2, residualSd: null, interceptU: null, slopeU: null });
});

test('three points by hand: (0,0) (1,1) (2,1): slope ½, residual √(1/6)', () => {
  const line = fitLine([
    { x: 0, y: 0 },
    { x: 1, y: 1 },
    { x: 2, y: 1 },
  ]);
  expect(line.slope).toBeCloseTo(0.5, 12);
  expect(line.intercept).toBeCloseTo(1 / 6, 12);
  expect(line.residualSd).toBeCloseTo(Math.sqrt(1 / 6), 12);
  expect(line.slopeU).toBeCloseTo(Math.sqrt(1 / 6 / 2), 12);
  expect(line.interceptU).toBeCloseTo(Math.sqrt((1 / 6) * (1 / 3 + 1 / 2)), 12);
});

test('a line is found again from any points on it', () => {
  fc.assert(
    fc.property(
      finite(-100, 100),
      finite(-100, 100),
      fc.uniqueArray(fc.integer({ min: -1000, max: 1000 }), { minLength: 2, maxLength: 20 }),
      (intercept, slope, xs) => {
        const line = fitLine(xs.map((x) => ({ x, y: intercept + slope * x })));
        expect(Math.abs(line.slope - slope)).toBeLessThan(1e-9);
        expect(Math.abs(line.intercept - intercept)).toBeLessThan(1e-6);
      },
    ),
  );
});

test('no line without two points apart', () => {
  expect(() => fitLine([])).toThrow(RangeError);
  expect(() => fitLine([{ x: 1, y: 1 }])).toThrow(RangeError);
  expect(() =>
    fitLine([
      { x: 1, y: 1 },
      { x: 1, y: 2 },
    ]),
  ).toThrow(RangeError);
});

test('a line knows its height best in the middle of its points', () => {
  expect(leverage([0, 10], 5)).toBeCloseTo(Math.sqrt(1 / 2), 12);
  expect(leverage([0, 10], 10)).toBeCloseTo(1, 12);
  expect(leverage([0, 10], 20)).toBeCloseTo(Math.sqrt(1 / 2 + 225 / 50), 12);
});
