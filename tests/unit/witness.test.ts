import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { CONES } from '../../server/kilns/cones.ts';
import {
  bend,
  type ConeReading,
  judge,
  READINGS,
  reachedBy,
  trend,
  type Witness,
} from '../../server/kilns/witness.ts';
import { coneOrder } from '../../server/ware/cone.ts';

/** 'guide firing guard' around cone 6: '5 down, 6 3, 7 standing'. */
function cones(words: string): Witness[] {
  return words.split(', ').map((word) => {
    const [cone, reading] = word.split(' ') as [string, ConeReading];
    return { cone, reading };
  });
}
const level = (words: string) => judge([{ level: 'top', cones: cones(words) }], null, '6').levels[0];

test('by the clock: a sixth of the way each hour, never back', () => {
  expect(READINGS.map(bend)).toEqual([0, 1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6, 1, 1]);
});

describe('the cone a level has reached', () => {
  it.each([
    ['5 flat, 6 3, 7 standing', 5.5],
    ['5 flat, 6 down, 7 standing', 6],
    ['5 flat, 6 flat, 7 standing', 6],
    ['5 flat, 6 flat, 7 3', 6.5],
    ['5 3, 6 standing, 7 standing', 4.5],
    ['5 down, 6 standing, 7 standing', 5],
    ['5 flat, 6 standing, 7 standing', 5],
  ])('%s: %f', (words, order) => {
    expect(reachedBy(cones(words))).toMatchObject({ order, direct: true, doubt: null });
  });

  it('between limits when no cone says it itself', () => {
    expect(reachedBy(cones('5 flat, 7 standing'))).toMatchObject({ low: 5, high: 6, direct: false });
    expect(reachedBy(cones('6 flat'))).toMatchObject({ low: 6, high: null, direct: false });
    expect(reachedBy(cones('6 standing'))).toMatchObject({ low: null, high: 5, direct: false });
    expect(reachedBy([])).toBeNull();
  });

  it('doubts a hotter cone that bent more', () => {
    expect(reachedBy(cones('5 standing, 6 3'))?.doubt).toBe('Cone 6 has bent more than cone 5. Look again.');
    expect(reachedBy(cones('5 standing, 6 flat'))?.doubt).not.toBeNull();
    expect(reachedBy(cones('5 2, 6 2'))?.doubt).toBe('Cone 6 has bent as much as cone 5. Look again.');
    for (const fine of ['5 standing, 6 standing', '5 down, 6 flat', '5 flat, 6 down', '5 3, 6 2'])
      expect(reachedBy(cones(fine))?.doubt, fine).toBeNull();
  });

  test('a reading further down is never a cooler level; limits hold the figure', () => {
    const index = fc.integer({ min: 0, max: READINGS.length - 1 });
    fc.assert(
      fc.property(fc.constantFrom(...CONES), index, index, (cone, a, b) => {
        const order = (i: number) =>
          reachedBy([{ cone, reading: READINGS[i] as ConeReading }])?.order as number;
        expect(order(Math.min(a, b))).toBeLessThanOrEqual(order(Math.max(a, b)));
        const { low, high, ...rest } = reachedBy([
          { cone, reading: READINGS[a] as ConeReading },
        ]) as NonNullable<ReturnType<typeof reachedBy>>;
        expect(rest.order).toBeGreaterThanOrEqual(low ?? Number.NEGATIVE_INFINITY);
        expect(rest.order).toBeLessThanOrEqual(high ?? Number.POSITIVE_INFINITY);
      }),
    );
  });
});

describe('the judgement of a level', () => {
  it.each([
    ['5 flat, 6 down, 7 standing', 'Top level: as wanted.', false],
    ['5 flat, 6 5, 7 standing', 'Top level: a quarter of a cone cool.', false],
    ['5 flat, 6 4, 7 standing', 'Top level: a third of a cone cool.', false],
    ['5 flat, 6 3, 7 standing', 'Top level: half a cone cool.', true],
    ['5 flat, 6 flat, 7 3', 'Top level: half a cone hot.', true],
    ['5 flat, 6 standing, 7 standing', 'Top level: a cone cool.', true],
    ['5 flat, 6 flat, 7 flat', 'Top level: a cone hot or more.', true],
    ['5 standing, 6 standing', 'Top level: 2 cones cool or more.', true],
    ['6 standing', 'Top level: a cone cool or more.', true],
    ['6 flat', 'Top level: as wanted or hotter.', false],
    ['7 standing', 'Top level: as wanted or cooler.', false],
    ['5 flat', 'Top level: at most a cone cool.', false],
    ['8 standing', 'Top level: at most a cone hot.', false],
    ['5 flat, 7 standing', 'Top level: at most a cone cool.', false],
    ['6 flat, 8 standing', 'Top level: at most a cone hot.', false],
    ['5 flat, 8 standing', 'Top level: between a cone cool and a cone hot.', false],
  ])('%s: %s', (words, said, flagged) => {
    expect(level(words)).toMatchObject({ words: said, flagged });
  });

  it('what is unclear is not called as wanted, and has no figure', () => {
    expect(level('6 flat')).toMatchObject({ side: 'unclear', off: null });
  });
});

describe('the judgement of a firing', () => {
  const good = { level: '1', cones: cones('5 flat, 6 down, 7 standing') };
  const cool = { level: '2', cones: cones('5 flat, 6 3, 7 standing') };
  const none = { level: '3', cones: [] };

  it('half a cone by the cones, a whole one by the log', () => {
    expect(judge([good], null, '6').flagged).toBe(false);
    expect(judge([good, cool], null, '6').flagged).toBe(true);
    expect(judge([], 6.9, '6')).toMatchObject({ by: 'log', flagged: false });
    expect(judge([], 7, '6')).toMatchObject({ by: 'log', flagged: true });
    expect(judge([], 5, '6')).toMatchObject({ by: 'log', flagged: true });
    expect(judge([], null, '6')).toEqual({
      by: 'nothing',
      flagged: false,
      levels: [],
      log: null,
      spread: null,
    });
  });

  it('the cones are the truth: a log a cone off is shown beside them and flags nothing', () => {
    const { by, flagged, log } = judge([good], 7.5, '6');
    expect([by, flagged, log?.flagged, log?.words]).toEqual([
      'cones',
      false,
      true,
      'By the log: a cone and a half hot.',
    ]);
    expect(judge([cool], 6, '6')).toMatchObject({
      by: 'cones',
      flagged: true,
      log: { words: 'By the log: as wanted.' },
    });
  });

  it('levels without cones are not judged; the spread is that of the clear ones', () => {
    const { levels, spread } = judge([good, cool, none], null, '6');
    expect(levels.map(({ words }) => words)).toEqual(['Level 1: as wanted.', 'Level 2: half a cone cool.']);
    expect(spread).toBeCloseTo(0.5, 12);
    expect(judge([good, none], null, '6').spread).toBeNull();
  });

  test('one is the same as another shifted along the series', () => {
    const whole = CONES.filter((cone) => !cone.endsWith('½')).slice(1, -1);
    const reading = fc.constantFrom(...READINGS);
    const around = (i: number, readings: ConeReading[]) => ({
      level: 'top',
      cones: readings.map((r, j) => ({ cone: whole[i + j - 1] as string, reading: r })),
    });
    const middle = fc.integer({ min: 1, max: whole.length - 2 });
    fc.assert(
      fc.property(fc.tuple(reading, reading, reading), middle, middle, (readings, a, b) => {
        const words = (i: number) => judge([around(i, readings)], null, whole[i] as string).levels[0]?.words;
        expect(words(a)).toBe(words(b));
      }),
    );
  });

  it('takes no word for a cone', () => {
    expect(() => judge([], null, 'six')).toThrow(RangeError);
    expect(coneOrder('6')).toBe(6);
  });
});

describe('the trend of a kiln', () => {
  const firing = (top: number | null, bottom = 0) => [
    { level: 'top', off: top },
    { level: 'bottom', off: bottom },
  ];
  const words = (...tops: (number | null)[]) => trend(tops.map((top) => firing(top))).map((t) => t.words);

  it('names a level that stays off to one side', () => {
    expect(words(-0.5, -0.5, -0.5, -0.5, -0.5)).toEqual([
      'Top level half a cone cool, five firings running.',
    ]);
    expect(words(0, -0.5, 0.4, 0.5, 0.6)).toEqual(['Top level half a cone hot, three firings running.']);
    expect(words(...Array(14).fill(1))).toEqual(['Top level a cone hot, 14 firings running.']);
  });

  it('keeps quiet after two, after a good one, and when the side changes', () => {
    expect(words(-0.5, -0.5)).toEqual([]);
    expect(words(-0.5, -0.5, -0.5, 0)).toEqual([]);
    expect(words(-0.5, -0.5, 0.5)).toEqual([]);
    expect(words(-0.5, 0.5, -0.5, -0.5)).toEqual([]);
    expect(words()).toEqual([]);
  });

  it('passes over firings whose cones said nothing clear', () => {
    expect(words(-0.5, null, -0.5, null, -0.5)).toEqual([
      'Top level half a cone cool, three firings running.',
    ]);
  });

  it('the longest run comes first', () => {
    const firings = [firing(0, 0.5), firing(-0.5, 0.5), firing(-0.5, 0.5), firing(-0.5, 0.5)];
    expect(trend(firings).map((t) => [t.level, t.firings])).toEqual([
      ['bottom', 4],
      ['top', 3],
    ]);
  });
});
