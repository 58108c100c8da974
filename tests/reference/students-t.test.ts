import { describe, expect, it } from 'vitest';
import { studentBelow } from '../../server/buckets/drift.ts';

// Tables of Student's t: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2 (from memory). Columns: the
// value that t stays below with a chance of 0.90, 0.95, 0.975, 0.99 and 0.995.
const CHANCES = [0.9, 0.95, 0.975, 0.99, 0.995];
const TABLE: [freedom: number, ...values: number[]][] = [
  [1, 3.078, 6.314, 12.706, 31.821, 63.657],
  [2, 1.886, 2.92, 4.303, 6.965, 9.925],
  [3, 1.638, 2.353, 3.182, 4.541, 5.841],
  [4, 1.533, 2.132, 2.776, 3.747, 4.604],
  [5, 1.476, 2.015, 2.571, 3.365, 4.032],
  [10, 1.372, 1.812, 2.228, 2.764, 3.169],
  [15, 1.341, 1.753, 2.131, 2.602, 2.947],
  [30, 1.31, 1.697, 2.042, 2.457, 2.75],
];

describe("Student's t", () => {
  it.each(TABLE)('is as tabulated for %d degrees of freedom', (freedom, ...values) => {
    for (const [i, t] of values.entries()) {
      const chance = CHANCES[i] as number;
      expect(Math.abs(studentBelow(t, freedom) - chance), `${t}`).toBeLessThan(1e-4);
      expect(studentBelow(-t, freedom)).toBeCloseTo(1 - studentBelow(t, freedom), 12);
    }
  });

  it('lies evenly about zero', () => {
    for (const freedom of [1, 2, 7, 38]) expect(studentBelow(0, freedom)).toBe(0.5);
  });
});
