import { describe, expect, it } from 'vitest';
import { dryingTime } from '../../server/ware/drying.ts';

// No published series of a drying glazed piece was found. The law, from memory (W. K. Lewis 1921, the falling-rate period as
// a first-order process): 1/e = 0.367879 of the water is left after one time constant, a quarter after ln 4
// = 1.386294, a twentieth after ln 20 = 2.995732.
describe('first-order drying', () => {
  it.each([
    [0.25, 1.386294],
    [0.367879, 1],
    [0.05, 2.995732],
    [0.01, 4.60517],
  ])('leaves %d of the water after %d time constants', (share, constants) => {
    // Halved every hour; all weighings before half of it is gone.
    const halves = [0, 0.25, 0.5, 0.9].map((hours) => ({ hours, grams: 1000 + 160 * 2 ** -hours }));
    const found = dryingTime(halves, 1000, share);
    expect((found.readyAtHours ?? 0) * Math.log(2)).toBeCloseTo(constants, 4);
  });
});
