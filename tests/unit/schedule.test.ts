import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { CHARTS, CONES } from '../../server/kilns/cones.ts';
import {
  durationWords,
  MOST_SEGMENTS,
  plan,
  type Segment,
  scheduleFaults,
  seedSchedule,
  segmentWords,
} from '../../server/kilns/schedule.ts';
import { FIRING_KINDS } from '../../server/ware/firing.ts';

const CHART = CHARTS['self-supporting-2016'];
const segment: fc.Arbitrary<Segment> = fc.record({
  rateCPerH: fc.oneof(fc.integer({ min: 1, max: 600 }), fc.constant('full' as const)),
  toC: fc.integer({ min: 20, max: 1300 }),
  holdMin: fc.integer({ min: 0, max: 600 }),
});

describe('the plan of a schedule', () => {
  it('adds ramps and holds', () => {
    const { points, durationS, topC, segments } = plan([
      { rateCPerH: 100, toC: 220, holdMin: 60 },
      { rateCPerH: 200, toC: 1220, holdMin: 15 },
    ]);
    expect(points).toEqual([
      { atS: 0, c: 20 },
      { atS: 7200, c: 220 },
      { atS: 10800, c: 220 },
      { atS: 28800, c: 1220 },
      { atS: 29700, c: 1220 },
    ]);
    expect([durationS, topC]).toEqual([29700, 1220]);
    expect(segments[1]).toEqual({
      fromC: 220,
      toC: 1220,
      startsAtS: 10800,
      rampS: 18000,
      holdS: 900,
      guessed: false,
    });
  });

  it('goes down as well, at the rate given', () => {
    const { durationS, topC } = plan([{ rateCPerH: 50, toC: 500, holdMin: 0 }], 600);
    expect([durationS, topC]).toEqual([7200, 600]);
  });

  it('marks what it only guesses', () => {
    const { segments } = plan([
      { rateCPerH: 'full', toC: 600, holdMin: 0 },
      { rateCPerH: 'full', toC: 600, holdMin: 10 },
      { rateCPerH: 60, toC: 700, holdMin: 0 },
    ]);
    expect(segments.map(({ guessed }) => guessed)).toEqual([true, false, false]);
  });

  test('is finite, its times only rise, and its segments follow each other without a gap', () => {
    fc.assert(
      fc.property(fc.array(segment, { minLength: 1, maxLength: 12 }), (segments) => {
        const made = plan(segments);
        for (let i = 1; i < made.points.length; i++)
          expect(made.points[i]?.atS as number).toBeGreaterThan(made.points[i - 1]?.atS as number);
        const total = made.segments.reduce((sum, { rampS, holdS }) => sum + rampS + holdS, 0);
        expect(made.durationS).toBeCloseTo(total, 3);
        expect(made.topC).toBe(Math.max(20, ...segments.map(({ toC }) => toC)));
      }),
    );
  });
});

describe('what is wrong with a schedule', () => {
  const faults = (...segments: Segment[]) => scheduleFaults(segments, 1280);
  const good: Segment = { rateCPerH: 100, toC: 1222, holdMin: 10 };

  it('nothing, for a good one', () => {
    expect(faults(good)).toEqual([]);
    expect(faults({ ...good, rateCPerH: 'full' })).toEqual([]);
  });

  it.each([
    ['segments.0.rateCPerH', { rateCPerH: 0 }],
    ['segments.0.rateCPerH', { rateCPerH: 601 }],
    ['segments.0.rateCPerH', { rateCPerH: Number.NaN }],
    ['segments.0.toC', { toC: 1281 }],
    ['segments.0.toC', { toC: 5 }],
    ['segments.0.toC', { toC: Number.NaN }],
    ['segments.0.toC', { toC: Number.POSITIVE_INFINITY }],
    ['segments.0.holdMin', { holdMin: -1 }],
    ['segments.0.holdMin', { holdMin: Number.POSITIVE_INFINITY }],
    ['segments.0.holdMin', { holdMin: Number.NaN }],
  ])('%s of %o', (path, wrong) => {
    expect(faults({ ...good, ...wrong }).map((fault) => fault.path)).toEqual([path]);
  });

  it('a step that does nothing, none at all, too many, and one that never ends', () => {
    expect(faults(good, { ...good, holdMin: 0 })[0]?.path).toBe('segments.1.toC');
    expect(faults()[0]?.path).toBe('segments');
    expect(scheduleFaults(Array(MOST_SEGMENTS + 1).fill(good), 1280)[0]?.message).toContain('At most');
    expect(faults({ rateCPerH: 1, toC: 1200, holdMin: 0 })[0]?.message).toContain('7 days');
  });

  it('names the kiln, not the rule', () => {
    expect(faults({ ...good, toC: 1300 })[0]?.message).toBe('This kiln takes 1280 °C at most.');
  });
});

test('every seed of every cone can be fired as it is, rises, and ends with 60 °C/h over its last 100 °C', () => {
  for (const kind of FIRING_KINDS)
    for (const cone of CHART.rows.keys())
      for (const thick of [false, true]) {
        const segments = seedSchedule(kind, cone, CHART, { thick }) as Segment[];
        expect(scheduleFaults(segments, 1400)).toEqual([]);
        const tops = segments.map(({ toC }) => toC);
        expect(tops).toEqual([...new Set(tops)].sort((a, b) => a - b));
        const last = plan(segments).segments.at(-1);
        expect((last?.toC as number) - (last?.fromC as number)).toBe(100);
        expect(segments.at(-1)?.rateCPerH).toBe(60);
      }
});

test('no seed where the chart has no figure', () => {
  expect(CONES).toContain('6');
  expect(seedSchedule('glaze', '6', CHARTS['small-2016'])).toBeNull();
  expect(() => seedSchedule('glaze', '66', CHART)).toThrow(RangeError);
});

test.each([
  [{ rateCPerH: 60, toC: 220, holdMin: 0 }, '60 °C an hour to 220 °C'],
  [{ rateCPerH: 60, toC: 90, holdMin: 120 }, '60 °C an hour to 90 °C, hold 2 h'],
  [{ rateCPerH: 'full', toC: 1122, holdMin: 15 }, 'As fast as it goes to 1122 °C, hold 15 min'],
] as [Segment, string][])('%o is read as %s', (step, words) => {
  expect(segmentWords(step)).toBe(words);
});

test('durations in hours and minutes', () => {
  expect([0, 59 * 60, 3600, 27_000, 359_999].map(durationWords)).toEqual([
    '0 min',
    '59 min',
    '1 h',
    '7 h 30 min',
    '100 h',
  ]);
});
