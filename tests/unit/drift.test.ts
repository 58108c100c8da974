import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chanceInBand, drift, horizon, jump, likelyUntil } from '../../server/buckets/drift.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';

const read = (day: number, specificGravity: number, standardUncertainty = 0.01) => ({
  at: day * DAY,
  specificGravity,
  standardUncertainty,
});

/** One reading a day along a line, off by the given misses. */
const daily = (start: number, perDay: number, misses: number[]) =>
  misses.map((miss, day) => read(day, start + perDay * day + miss));

const none = [0, 0, 0, 0, 0, 0, 0];

describe('drift', () => {
  it('finds the slope of a line exactly', () => {
    const found = drift(daily(1.44, 0.004, none));
    expect(found?.perDay).toBeCloseTo(0.004, 9);
  });

  it('never thinks itself surer than rounding to 0.01 lets it be', () => {
    // √(π/3) · 0.01/√12 over the root of the sum of squares of −3 … 3 days
    expect(drift(daily(1.44, 0, none))?.perDayU).toBeCloseTo((1.02333 * 0.00288675) / Math.sqrt(28), 6);
  });

  it('is not moved by one odd reading, but less sure', () => {
    const found = drift(daily(1.44, 0.004, [0, 0, 0, 0.2, 0, 0, 0]));
    expect(found?.perDay).toBeCloseTo(0.004, 9);
    expect(found?.perDayU).toBeGreaterThan(0.01);
  });

  it('knows its slope worse the more the readings scatter', () => {
    const misses = [1, -2, 2, -1, 1, -2, 2];
    const calm = drift(
      daily(
        1.44,
        0,
        misses.map((m) => m * 0.01),
      ),
    );
    const rough = drift(
      daily(
        1.44,
        0,
        misses.map((m) => m * 0.03),
      ),
    );
    expect(calm?.perDayU).toBeGreaterThan(0);
    expect(rough?.perDayU).toBeCloseTo(3 * (calm?.perDayU ?? 0), 9);
  });

  it('says nothing under six readings or three days', () => {
    expect(drift([])).toBeNull();
    expect(drift(daily(1.44, 0.004, none).slice(0, 5))).toBeNull();
    expect(drift(daily(1.44, 0.004, none).slice(0, 6))).not.toBeNull();
    const hours = (apart: number) => Array.from({ length: 6 }, (_, i) => read((i * apart) / 24, 1.45));
    expect(drift(hours(14))).toBeNull();
    expect(drift(hours(14.4))).not.toBeNull();
  });

  it('does not take replicates of one minute for a slope', () => {
    const twice = daily(1.44, 0.004, none).flatMap((r) => [
      r,
      { ...r, at: r.at + MINUTE, specificGravity: r.specificGravity + 0.01 },
    ]);
    expect(drift(twice)?.perDay).toBeCloseTo(0.004, 3);
  });
});

describe('the chance of still lying in the band', () => {
  it("is Student's t (tables: 0.95 within 2.228 of it for 10 degrees of freedom, 0.6827 within 1.0526)", () => {
    const d = { perDay: 0, perDayU: 0.01, freedom: 10 };
    expect(chanceInBand(1.46, d, 1, 1.46 - 0.02228, 1.46 + 0.02228)).toBeCloseTo(0.95, 4);
    expect(chanceInBand(1.46, d, 2, 1.46 - 0.021052, 1.46 + 0.021052)).toBeCloseTo(0.6827, 4);
    expect(chanceInBand(1.48, d, 0.001, 1.44, 1.48)).toBeCloseTo(0.5, 6);
  });

  it('follows the slope', () => {
    const d = { perDay: 0.01, perDayU: 0.001, freedom: 20 };
    expect(chanceInBand(1.46, d, 1, 1.44, 1.48)).toBeCloseTo(1, 6);
    expect(chanceInBand(1.46, d, 3, 1.44, 1.48)).toBeLessThan(0.01);
  });

  it('is certain either way without scatter; limits belong to the band', () => {
    const d = { perDay: 0.01, perDayU: 0, freedom: 4 };
    expect(chanceInBand(1.46, d, 1, 1.44, 1.48)).toBe(1);
    expect(chanceInBand(1.46, d, 3, 1.44, 1.48)).toBe(0);
    expect(chanceInBand(1.48, { perDay: 0, perDayU: 0, freedom: 4 }, 5, 1.44, 1.48)).toBe(1);
  });

  it('only falls with time, so the horizon parts sure from unsure', () => {
    const slope = fc.double({ min: -0.03, max: 0.03, noNaN: true });
    const u = fc.double({ min: 0.0001, max: 0.03, noNaN: true });
    const inside = fc.double({ min: 1.445, max: 1.475, noNaN: true });
    fc.assert(
      fc.property(inside, slope, u, fc.integer({ min: 4, max: 38 }), (gravity, perDay, perDayU, freedom) => {
        const d = { perDay, perDayU, freedom };
        const until = horizon(1000, gravity, d, 1.44, 1.48);
        const chanceAt = (at: number) => chanceInBand(gravity, d, (at - 1000) / DAY, 1.44, 1.48);
        if (until === null) {
          expect(chanceAt(1000 + 60 * DAY)).toBeGreaterThanOrEqual(0.8);
          return;
        }
        expect(chanceAt(until)).toBeLessThan(0.8);
        expect(chanceAt(until + 5 * DAY)).toBeLessThan(0.8);
        if (until > 1000 + MINUTE) expect(chanceAt(until - MINUTE)).toBeGreaterThanOrEqual(0.8);
      }),
    );
  });

  it('is never doubtful within 60 days when nothing drifts', () => {
    expect(horizon(0, 1.46, { perDay: 0, perDayU: 0.0001, freedom: 4 }, 1.44, 1.48)).toBeNull();
  });

  it('ends when the slope leaves the band', () => {
    const until = horizon(0, 1.46, { perDay: 0.01, perDayU: 0, freedom: 4 }, 1.44, 1.48);
    expect(Math.abs((until ?? 0) - 2 * DAY)).toBeLessThanOrEqual(2 * MINUTE);
  });
});

describe('"likely in range until"', () => {
  const misses = [2, -3, 1, -2, 3, -1, 0].map((m) => m * 0.001);
  const rising = daily(1.44, 0.004, misses);
  const lastAt = 6 * DAY;

  it('lies before the line leaves the band, the more so the more readings scatter', () => {
    // The line passes 1.48 ten days after the first reading, four after the last.
    const calm = likelyUntil(rising, 1.42, 1.48) as number;
    expect(calm).toBeGreaterThan(lastAt + DAY);
    expect(calm).toBeLessThan(lastAt + 3.5 * DAY);
    const rough = likelyUntil(
      daily(
        1.44,
        0.004,
        misses.map((m) => 1.5 * m),
      ),
      1.42,
      1.48,
    ) as number;
    expect(rough).toBeLessThan(calm);
    expect((calm - lastAt) % HOUR).toBe(0);
  });

  it('is two weeks at most, however calm the bucket', () => {
    const calm = Array.from({ length: 20 }, (_, day) => read(day, 1.46 + 0.0001 * (day % 3)));
    expect(likelyUntil(calm, 1.4, 1.52)).toBe(33 * DAY);
  });

  it('falls to both sides alike', () => {
    const falling = rising.map((r) => ({ ...r, specificGravity: 2.9 - r.specificGravity }));
    expect(likelyUntil(falling, 1.42, 1.48)).toBe(likelyUntil(rising, 1.42, 1.48));
  });

  it('is not said under six readings or three days', () => {
    expect(likelyUntil(rising.slice(2), 1.42, 1.5)).toBeNull();
    expect(likelyUntil(rising.slice(1), 1.42, 1.5)).not.toBeNull();
    expect(
      likelyUntil(
        rising.map((r) => ({ ...r, at: r.at * 0.49 })),
        1.42,
        1.5,
      ),
    ).toBeNull();
  });

  it('is not said of a reading outside the band, nor where it may be out already', () => {
    expect(likelyUntil(rising, 1.42, 1.463)).toBeNull();
    expect(likelyUntil(rising, 1.42, 1.465)).toBeNull();
  });

  it('is not said after a jump, nor when the last reading left the line', () => {
    const calm = daily(1.45, 0, misses);
    expect(likelyUntil([...calm, read(7, 1.45)], 1.42, 1.5)).not.toBeNull();
    expect(likelyUntil([...calm, read(7, 1.48)], 1.42, 1.5)).toBeNull();
    const strayed = [...calm, read(7, 1.463)];
    expect(jump(strayed)).toBeNull();
    expect(likelyUntil(strayed, 1.42, 1.5)).toBeNull();
  });
});

describe('a jump', () => {
  const calm = daily(1.46, 0, [0.002, -0.003, 0.001, -0.002, 0.003, -0.001, 0]);

  it('is named when the scatter of the earlier readings does not explain it', () => {
    expect(jump([...calm, read(7, 1.5)])).toEqual({ by: 0.04, days: 1 });
    expect(jump([...calm, read(9, 1.41)])).toEqual({ by: -0.05, days: 3 });
  });

  it('is not the way back from an odd reading, nor a second time at the new level', () => {
    const odd = [...calm, read(7, 1.43)];
    expect(jump(odd)).toEqual({ by: -0.03, days: 1 });
    expect(jump([...odd, read(8, 1.46)])).toBeNull();
    expect(jump([...calm, read(7, 1.5), read(8, 1.501)])).toBeNull();
  });

  it('is not scatter, and not the drift it had all along', () => {
    expect(jump([...calm, read(7, 1.465)])).toBeNull();
    expect(jump([...daily(1.4, 0.02, none), read(7, 1.54)])).toBeNull();
  });

  it('must pass the uncertainty of both readings while there are too few others', () => {
    expect(jump([read(0, 1.46), read(0.5, 1.48)])).toBeNull();
    expect(jump([read(0, 1.46), read(0.5, 1.5)])).toEqual({ by: 0.04, days: 1 });
    expect(jump([read(0, 1.46)])).toBeNull();
    expect(jump([])).toBeNull();
  });

  it('is at least a hundredth, however well the readings agree', () => {
    expect(jump([...daily(1.46, 0, none), read(7, 1.468)])).toBeNull();
  });
});
