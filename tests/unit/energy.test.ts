import fc from 'fast-check';
import { expect, test } from 'vitest';
import { costMinor, plannedKwh } from '../../server/kilns/energy.ts';
import { plan } from '../../server/kilns/schedule.ts';

test('cost is exact where a float would not be, halves go up', () => {
  expect(costMinor(0.5, '1')).toBe(1n);
  expect(costMinor(0.499, '1')).toBe(0n);
  // 1.005 × 100 is 100.49999 in floating point.
  expect(costMinor(1.005, '100')).toBe(101n);
  expect(costMinor(1e9, '999999999.999999')).toBe(999_999_999_999_999_000n);
  expect(costMinor(0, '27.35')).toBe(0n);
});

test('more energy or a higher price never costs less', () => {
  const kwh = fc.double({ min: 0, max: 1e6, noNaN: true });
  const price = fc.integer({ min: 0, max: 99_999_999 });
  fc.assert(
    fc.property(kwh, kwh, price, price, (a, b, p, q) => {
      const [low, high] = [Math.min(p, q), Math.max(p, q)].map(
        (n) => `${Math.floor(n / 100)}.${String(n % 100).padStart(2, '0')}`,
      );
      const [less, more] = [
        costMinor(Math.min(a, b), low as string),
        costMinor(Math.max(a, b), high as string),
      ];
      expect(less <= more).toBe(true);
    }),
  );
});

test.each(['', '-1', '1e3', '1,5', '.5', '1.1234567', '9999999999', 'free'])('%j is no price', (price) => {
  expect(() => costMinor(1, price)).toThrow(RangeError);
});

test.each([-1, Number.NaN, Number.POSITIVE_INFINITY, 1e10])('%f kWh is no energy', (kwh) => {
  expect(() => costMinor(kwh, '10')).toThrow(RangeError);
});

test('the slow start counts as preheat, cooling for nothing, a hold on the way down for its time', () => {
  const start = plan([{ rateCPerH: 100, toC: 220, holdMin: 0 }]);
  expect(plannedKwh(start, 'glaze', 10)).toBeCloseTo(2 * 10 * 0.15, 9);
  const up = [{ rateCPerH: 100, toC: 1220, holdMin: 0 }];
  expect(plannedKwh(plan(up), 'glaze', 10)).toBeCloseTo(12 * 10 * 0.65, 9);
  const down = [...up, { rateCPerH: 50, toC: 1020, holdMin: 60 }];
  expect(plannedKwh(plan(down), 'glaze', 10)).toBeCloseTo(13 * 10 * 0.65, 9);
  expect(plannedKwh(plan(up), 'lustre', 10)).toBe(plannedKwh(plan(up), 'bisque', 10));
});
