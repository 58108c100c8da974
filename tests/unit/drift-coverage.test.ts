import { describe, expect, it } from 'vitest';
import { chanceInBand, drift, horizon, jump, LIKELY, likelyUntil } from '../../server/buckets/drift.ts';
import { DAY } from '../../server/core/clock.ts';

// Whether the stated chances hold on buckets whose true course is known: many seeded runs, judged by the spread
// that the binomial distribution gives such a share.

const RUNS = 1200;
/** Two-sided, a share this many standard deviations off comes about once in a thousand. */
const SD = 3.29;
const spread = (share: number) => SD * Math.sqrt((share * (1 - share)) / RUNS);

interface Bucket {
  /** True gravity at the last reading, true drift a day, scatter of a reading. */
  last: number;
  perDay: number;
  scatter: number;
  readings: number;
}

const BAND = { low: 1.44, high: 1.48 };
const DRIFTS: Bucket[] = [
  { last: 1.455, perDay: 0.004, scatter: 0.0035, readings: 6 },
  { last: 1.455, perDay: 0.004, scatter: 0.006, readings: 9 },
  { last: 1.465, perDay: 0.0015, scatter: 0.0035, readings: 14 },
  { last: 1.47, perDay: -0.003, scatter: 0.005, readings: 12 },
  { last: 1.46, perDay: 0.002, scatter: 0.006, readings: 25 },
  { last: 1.46, perDay: 0, scatter: 0.005, readings: 8 },
  { last: 1.479, perDay: 0.001, scatter: 0.004, readings: 10 },
];
const called = (b: Bucket) =>
  `${b.readings} readings ± ${b.scatter}, ${b.perDay} a day, ${b.last} at the last`;
const cases = DRIFTS.map((b) => [called(b), b] as const);

/** Numbers from 0 to 1 from a fixed seed (Park–Miller). */
function uniformNumbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}

function simulate<T>(bucket: Bucket, look: (recent: ReturnType<typeof readingsOf>) => T): T[] {
  const uniform = uniformNumbers(20261125);
  return Array.from({ length: RUNS }, () => look(readingsOf(bucket, uniform)));
}

/** About one reading a day, at whatever hour somebody comes by. */
function readingsOf({ last, perDay, scatter, readings }: Bucket, uniform: () => number) {
  const normal = () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  const days = Array.from({ length: readings }, (_, i) => i + 0.4 * uniform());
  const end = days.at(-1) as number;
  return days.map((day) => ({
    at: Math.round(day * DAY),
    specificGravity: last + perDay * (day - end) + scatter * normal(),
    standardUncertainty: scatter,
  }));
}

const isIn = (gravity: number) => gravity >= BAND.low && gravity <= BAND.high;

describe('"likely in range until", said at 95 %', () => {
  it.each(cases)('is broken at most once in twenty: %s', (_, bucket) => {
    const broken = simulate(bucket, (recent) => {
      const until = likelyUntil(recent, BAND.low, BAND.high);
      const from = recent.at(-1)?.at as number;
      return until !== null && !isIn(bucket.last + (bucket.perDay * (until - from)) / DAY);
    }).filter(Boolean).length;
    expect(broken / RUNS).toBeLessThanOrEqual(1 - LIKELY + spread(LIKELY));
  });

  it('does not hold back either: drifting to one side it is broken nearly as often as it may be', () => {
    const [bucket] = DRIFTS.slice(1, 2) as [Bucket];
    const kept = simulate(bucket, (recent) => {
      const until = likelyUntil(recent, BAND.low, BAND.high);
      const from = recent.at(-1)?.at as number;
      return until === null || isIn(bucket.last + (bucket.perDay * (until - from)) / DAY);
    }).filter(Boolean).length;
    expect(kept / RUNS).toBeLessThan(LIKELY + 0.025);
  });
});

describe('the chance of still lying in the band', () => {
  it.each(cases.slice(0, 5))('is 80 % at the horizon and 95 % where it says so: %s', (_, bucket) => {
    const held = simulate(bucket, (recent) => {
      const d = drift(recent);
      if (d === null) return null;
      const truth = (days: number) => bucket.last + bucket.perDay * days;
      const at = horizon(0, bucket.last, d, BAND.low, BAND.high);
      let sure = 0;
      while (chanceInBand(bucket.last, d, sure + 0.05, BAND.low, BAND.high) >= 0.95 && sure < 60)
        sure += 0.05;
      return { horizon: isIn(truth((at ?? 60 * DAY) / DAY)), sure: isIn(truth(sure)) };
    });
    const share = (which: 'horizon' | 'sure') => held.filter((run) => run?.[which]).length / RUNS;
    expect(share('horizon')).toBeGreaterThanOrEqual(0.8 - spread(0.8));
    expect(share('sure')).toBeGreaterThanOrEqual(0.95 - spread(0.95));
  });
});

describe('a jump', () => {
  it.each(cases.slice(1))('is called where there is none at most once in 200: %s', (_, bucket) => {
    const called = simulate(bucket, jump).filter((found) => found !== null).length;
    expect(called / RUNS).toBeLessThanOrEqual(1 / 200 + spread(1 / 200));
  });

  it('is called as rarely while there are too few readings for a line, where nothing drifts', () => {
    const bucket = { last: 1.46, perDay: 0, scatter: 0.01, readings: 2 };
    const called = simulate(bucket, jump).filter((found) => found !== null).length;
    expect(called / RUNS).toBeLessThanOrEqual(1 / 200 + spread(1 / 200));
  });

  it('of 0.04 is seen nearly always once there are ten readings', () => {
    const bucket = { last: 1.45, perDay: 0.001, scatter: 0.004, readings: 10 };
    const seen = simulate(bucket, (recent) => {
      const last = recent.at(-1) as (typeof recent)[number];
      return jump([...recent.slice(0, -1), { ...last, specificGravity: last.specificGravity + 0.04 }]);
    }).filter((found) => found !== null).length;
    expect(seen / RUNS).toBeGreaterThan(0.95);
  });
});
