import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import { eventWords } from '../../server/buckets/sentences.ts';
import {
  lossPerMinute,
  measuredSettling,
  type Pair,
  pairsToUse,
  proposedInterval,
  settlingText,
} from '../../server/buckets/settling.ts';

const BAND = { low: 1.44, aim: 1.46, high: 1.48 };

/** What is left at the top of a bucket that loses `k` a minute. */
const pairOf = (fresh: number, k: number, minutes: number): Pair => ({
  fresh,
  later: WATER_20 + (fresh - WATER_20) * Math.exp(-k * minutes),
  minutes,
});

const gravities = fc.double({ min: 1.2, max: 1.9, noNaN: true });
const rates = fc.double({ min: 1e-4, max: 0.1, noNaN: true });
const spans = fc.double({ min: 1, max: 60, noNaN: true });

describe('the rate of one pair', () => {
  it('is that of the exponential it came from', () => {
    fc.assert(
      fc.property(gravities, rates, spans, (fresh, k, minutes) => {
        expect(lossPerMinute(pairOf(fresh, k, minutes))).toBeCloseTo(k, 9);
      }),
    );
  });

  it('does not hang on how long it stood', () => {
    expect(lossPerMinute(pairOf(1.46, 0.01, 5))).toBeCloseTo(lossPerMinute(pairOf(1.46, 0.01, 40)), 12);
  });

  it('half of the gravity over that of water lost in ten minutes: ln 2 / 10', () => {
    expect(lossPerMinute({ fresh: 2, later: 1.5, minutes: 10 }, 1)).toBeCloseTo(0.0693147, 7);
  });

  it('is nothing where it did not settle, or where nothing can be said', () => {
    expect(lossPerMinute({ fresh: 1.46, later: 1.46, minutes: 10 })).toBe(0);
    expect(lossPerMinute({ fresh: 1.46, later: 1.49, minutes: 10 })).toBe(0);
    expect(lossPerMinute({ fresh: WATER_20, later: 0.9, minutes: 10 })).toBe(0);
    expect(lossPerMinute({ fresh: 1.46, later: 1.4, minutes: 0 })).toBe(0);
  });

  it('is a finite number whatever was typed', () => {
    const any = fc.double({ min: 0, max: 5, noNaN: true });
    fc.assert(
      fc.property(any, any, fc.double({ min: 0, max: 300, noNaN: true }), (fresh, later, minutes) => {
        const rate = lossPerMinute({ fresh, later, minutes });
        expect(rate).toBeGreaterThanOrEqual(0);
        expect(Number.isFinite(rate) || minutes < 1e-300).toBe(true);
      }),
    );
  });
});

describe('a bucket’s settling', () => {
  it('gives the time in which a quarter of the band is lost', () => {
    fc.assert(
      fc.property(rates, fc.array(spans, { minLength: 1, maxLength: 8 }), (k, minutes) => {
        const found = measuredSettling(
          minutes.map((m) => pairOf(1.46, k, m)),
          BAND,
        );
        const lost = BAND.aim - pairOf(BAND.aim, k, found?.minutes as number).later;
        expect(lost).toBeCloseTo((BAND.high - BAND.low) / 4, 9);
        expect(found).toMatchObject({ pairs: minutes.length, stood: 0 });
      }),
    );
  });

  it('is not moved by one bad pair of three', () => {
    const good = [pairOf(1.46, 0.004, 10), pairOf(1.455, 0.0042, 10)];
    const wild = measuredSettling([...good, pairOf(1.46, 0.09, 10)], BAND);
    const flat = measuredSettling([...good, { fresh: 1.46, later: 1.5, minutes: 10 }], BAND);
    expect(wild?.perMinute).toBeCloseTo(0.0042, 9);
    expect(flat?.perMinute).toBeCloseTo(0.004, 9);
    expect(flat?.stood).toBe(1);
  });

  it('takes the mean of the middle two of an even number', () => {
    const rates = [0.002, 0.004, 0.006, 0.05];
    expect(
      measuredSettling(
        rates.map((k) => pairOf(1.46, k, 10)),
        BAND,
      )?.perMinute,
    ).toBeCloseTo(0.005, 9);
  });

  it('names the fastest and slowest that settled', () => {
    const found = measuredSettling(
      [pairOf(1.46, 0.004, 10), pairOf(1.46, 0.002, 10), { fresh: 1.46, later: 1.47, minutes: 10 }],
      BAND,
    );
    const alone = (k: number) => measuredSettling([pairOf(1.46, k, 10)], BAND)?.minutes as number;
    expect(found?.range?.low).toBeCloseTo(alone(0.004), 9);
    expect(found?.range?.high).toBeCloseTo(alone(0.002), 9);
  });

  it('is unknown without pairs, and never ends where most did not settle', () => {
    expect(measuredSettling([], BAND)).toBeNull();
    const still = { fresh: 1.46, later: 1.47, minutes: 10 };
    expect(measuredSettling([still, still, pairOf(1.46, 0.004, 10)], BAND)).toMatchObject({
      pairs: 3,
      stood: 2,
      perMinute: 0,
      minutes: null,
    });
    expect(measuredSettling([still], BAND)?.range).toBeNull();
  });
});

it('says a number of minutes even for a band wider than the glaze has over water', () => {
  const found = measuredSettling([pairOf(1.2, 0.01, 10)], { low: 1.0, aim: 1.01, high: 1.9 });
  expect(found?.minutes).toBeCloseTo(-Math.log(0.01) / 0.01, 6);
});

describe('the interval proposed', () => {
  const found = (minutes: number | null, pairs = 3) => ({
    pairs,
    stood: 0,
    perMinute: 0.01,
    minutes,
    range: { low: 1, high: 9 },
  });

  it.each([
    [0.4, 1],
    [1.9, 1],
    [4.999, 4],
    [5, 5],
    [9.99, 9],
    [10, 10],
    [14.9, 10],
    [59.9, 55],
    [60, 60],
    [74, 60],
    [3000, 1440],
    [Number.POSITIVE_INFINITY, 1440],
  ])('%s min is rounded down to %s', (minutes, proposed) => {
    expect(proposedInterval(found(minutes))).toBe(proposed);
  });

  it('needs three pairs and a bucket that settles', () => {
    expect(proposedInterval(null)).toBeNull();
    expect(proposedInterval(found(5, 2))).toBeNull();
    expect(proposedInterval(found(null))).toBeNull();
  });
});

describe('which pairs count', () => {
  const at = (...times: number[]) => times.map((t) => ({ at: t }));

  it('those since the last change, where there are three', () => {
    expect(pairsToUse(at(9, 8, 7, 3), 7)).toEqual({ pairs: at(9, 8, 7), sinceChange: true });
  });

  it('else the newest twelve, whenever they were', () => {
    expect(pairsToUse(at(9, 8, 3, 2), 7)).toEqual({ pairs: at(9, 8, 3, 2), sinceChange: false });
    expect(pairsToUse(at(...Array.from({ length: 20 }, (_, i) => 20 - i)), 30).pairs).toHaveLength(12);
    expect(pairsToUse(at(3, 2, 1), null).sinceChange).toBe(true);
  });
});

describe('in words', () => {
  it('with its evidence', () => {
    const found = { pairs: 4, stood: 0, perMinute: 0.004, minutes: 4.63, range: { low: 3.9, high: 11.8 } };
    expect(settlingText(found)).toBe(
      'A quarter of the band is lost at dipping depth in 4.6 min: the middle of 4 pairs, which give 3.9 to 12 min.',
    );
    expect(settlingText({ ...found, range: { low: 9.94, high: 9.96 } })).toMatch(/give 9\.9 to 10 min\.$/);
    expect(settlingText({ ...found, stood: 1 })).toMatch(/ 1 of them did not settle\.$/);
    expect(settlingText({ ...found, pairs: 1 })).toMatch(/ in 4\.6 min, by one pair\.$/);
  });

  it('when it stays up', () => {
    const still = { pairs: 3, stood: 2, perMinute: 0, minutes: null, range: { low: 5, high: 5 } };
    expect(settlingText(still)).toBe(
      'It hardly settles: 2 of 3 pairs did not settle in the time they were given.',
    );
    expect(settlingText({ ...still, pairs: 1, stood: 1, range: null })).toBe(
      'It hardly settles: its one pair did not settle in the time it was given.',
    );
  });

  it('in the ledger', () => {
    const words = (later: number | null) =>
      eventWords({ kind: 'settling', fresh: 1.46, later, minutes: 10 }, 'metric');
    expect(words(1.435)).toBe('Settled from 1.46 to 1.435 at the top in 10 min');
    expect(words(1.46)).toBe('Did not settle in 10 min: 1.46, then 1.46 at the top');
    expect(words(null)).toBe('Settling begun: SG 1.46 at the top');
  });
});
