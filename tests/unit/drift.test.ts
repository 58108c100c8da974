import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chanceInBand, drift, horizon, jump } from '../../server/buckets/drift.ts';
import { DAY, MINUTE } from '../../server/core/clock.ts';

const read = (day: number, specificGravity: number, standardUncertainty = 0.01) => ({
  at: day * DAY,
  specificGravity,
  standardUncertainty,
});

/** One reading a day along a line, off by the given misses. */
const daily = (start: number, perDay: number, misses: number[]) =>
  misses.map((miss, day) => read(day, start + perDay * day + miss));

/** Normally distributed numbers from a fixed seed (Park–Miller, Box–Muller). */
function normalNumbers(seed: number): () => number {
  let state = seed;
  const uniform = () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

const none = [0, 0, 0, 0, 0, 0, 0];

describe('drift', () => {
  it('finds the slope of a line exactly', () => {
    const found = drift(daily(1.44, 0.004, none));
    expect(found?.perDay).toBeCloseTo(0.004, 9);
    expect(found?.perDayU).toBeCloseTo(0, 9);
  });

  it('is not moved by one odd reading', () => {
    const found = drift(daily(1.44, 0.004, [0, 0, 0, 0.2, 0, 0, 0]));
    expect(found?.perDay).toBeCloseTo(0.004, 9);
  });

  it('knows its slope worse the more the readings scatter', () => {
    const misses = [1, -2, 2, -1, 1, -2, 2];
    const calm = drift(
      daily(
        1.44,
        0,
        misses.map((m) => m * 0.001),
      ),
    );
    const rough = drift(
      daily(
        1.44,
        0,
        misses.map((m) => m * 0.003),
      ),
    );
    expect(calm?.perDayU).toBeGreaterThan(0);
    expect(rough?.perDayU).toBeCloseTo(3 * (calm?.perDayU ?? 0), 9);
  });

  it('covers the true slope about as often as its error says', () => {
    const normal = normalNumbers(7);
    const errors = Array.from({ length: 1000 }, () => {
      const misses = Array.from({ length: 20 }, () => 0.005 * normal());
      const found = drift(daily(1.45, 0.002, misses));
      return found ? (found.perDay - 0.002) / found.perDayU : Number.NaN;
    });
    const within = errors.filter((error) => Math.abs(error) <= 1).length / errors.length;
    // One standard error covers 68 %; the scatter of 20 readings is itself only known to a fifth.
    expect(within).toBeGreaterThan(0.6);
    expect(within).toBeLessThan(0.75);
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
  it('is that of a normal distribution (standard tables: 0.6827, 0.9500, 0.5000)', () => {
    const d = { perDay: 0, perDayU: 0.01 };
    expect(chanceInBand(1.46, d, 2, 1.44, 1.48)).toBeCloseTo(0.6827, 4);
    expect(chanceInBand(1.46, d, 1, 1.46 - 0.0195996, 1.46 + 0.0195996)).toBeCloseTo(0.95, 4);
    expect(chanceInBand(1.48, d, 0.001, 1.44, 1.48)).toBeCloseTo(0.5, 6);
  });

  it('follows the slope', () => {
    const d = { perDay: 0.01, perDayU: 0.001 };
    expect(chanceInBand(1.46, d, 1, 1.44, 1.48)).toBeCloseTo(1, 6);
    expect(chanceInBand(1.46, d, 3, 1.44, 1.48)).toBeLessThan(0.001);
  });

  it('is certain either way without scatter; limits belong to the band', () => {
    const d = { perDay: 0.01, perDayU: 0 };
    expect(chanceInBand(1.46, d, 1, 1.44, 1.48)).toBe(1);
    expect(chanceInBand(1.46, d, 3, 1.44, 1.48)).toBe(0);
    expect(chanceInBand(1.48, { perDay: 0, perDayU: 0 }, 5, 1.44, 1.48)).toBe(1);
  });

  it('only falls with time, so the horizon parts sure from unsure', () => {
    const slope = fc.double({ min: -0.03, max: 0.03, noNaN: true });
    const u = fc.double({ min: 0.0001, max: 0.03, noNaN: true });
    const inside = fc.double({ min: 1.445, max: 1.475, noNaN: true });
    fc.assert(
      fc.property(inside, slope, u, (gravity, perDay, perDayU) => {
        const d = { perDay, perDayU };
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
    expect(horizon(0, 1.46, { perDay: 0, perDayU: 0.0001 }, 1.44, 1.48)).toBeNull();
  });

  it('ends when the slope leaves the band', () => {
    const until = horizon(0, 1.46, { perDay: 0.01, perDayU: 0 }, 1.44, 1.48);
    expect(Math.abs((until ?? 0) - 2 * DAY)).toBeLessThanOrEqual(2 * MINUTE);
  });
});

describe('a jump', () => {
  const calm = daily(1.46, 0, [0.002, -0.003, 0.001, -0.002, 0.003, -0.001, 0]);

  it('is named when the scatter of the earlier readings does not explain it', () => {
    expect(jump([...calm, read(7, 1.5)])).toEqual({ by: 0.04, days: 1 });
    expect(jump([...calm, read(9, 1.41)])).toEqual({ by: -0.05, days: 3 });
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
