import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import { findingsOf, planStartS, USUAL_CHART } from '../../server/kilns/findings.ts';
import { firingActs } from '../../server/kilns/firing-acts.ts';
import {
  checksFor,
  conesAround,
  conesOf,
  lastChecked,
  levelWord,
  newestReading,
  offsByPlace,
  openChecks,
  placeIn,
  type RecordEvent,
  readingsOf,
  reductionsOf,
  standing,
  watchDoubts,
  watchFaults,
} from '../../server/kilns/firing-record.ts';
import { foldLoad } from '../../server/kilns/load-fold.ts';
import type { Segment } from '../../server/kilns/schedule.ts';

const event = (
  number: number,
  kind: string,
  payload: object,
  more: Partial<RecordEvent> = {},
): RecordEvent => ({
  number,
  kind,
  happenedAt: number * MINUTE,
  voids: null,
  payload,
  ...more,
});

test('the list before firing counts from the newest filling on', () => {
  const first = { ticks: checksFor('electric') };
  const second = { ticks: [] };
  const events = [event(1, 'loaded', {}), event(2, 'checked', first), event(3, 'void', {}, { voids: 9 })];
  expect(lastChecked(events)).toEqual(first);
  expect(lastChecked([...events, event(4, 'checked', second)])).toEqual(second);
  const refilled = [...events, event(4, 'loaded', {})];
  expect(lastChecked(refilled)).toBeNull();
  expect(lastChecked([...refilled, event(5, 'checked', second)])).toEqual(second);
  expect(
    lastChecked([...refilled, event(5, 'checked', second), event(6, 'void', {}, { voids: 5 })]),
  ).toBeNull();
});

describe('typed readings', () => {
  it('come from every kind of event that carries one; of two probes the hotter counts', () => {
    const events = [
      event(1, 'reading', { celsius: 100 }),
      event(2, 'gas-reading', { topC: 200, bottomC: 210 }),
      event(3, 'gas-reading', { topC: 300 }),
      event(4, 'shut-off', { celsius: 1220 }),
      event(5, 'shut-off', {}),
      event(6, 'opened', { celsius: 80, how: 'opened' }),
      event(7, 'unloaded', { celsius: 30 }),
      event(8, 'log', { points: 400 }),
    ];
    expect(readingsOf(events).map(({ c }) => c)).toEqual([100, 210, 300, 1220, 80, 30]);
  });

  it('the newest is that of the latest time, not of the highest number; what is struck out counts for nothing', () => {
    const events = [
      event(1, 'reading', { celsius: 100 }, { happenedAt: 50 }),
      event(2, 'reading', { celsius: 200 }, { happenedAt: 10 }),
    ];
    expect(newestReading(events)).toEqual({ c: 100, at: 50 });
    expect(newestReading([...events, event(3, 'void', {}, { voids: 1 })])).toEqual({ c: 200, at: 10 });
    expect(newestReading([])).toBeNull();
  });

  test('property: never a struck-out one, and always the latest of the rest', () => {
    const anEvent = fc.record({
      c: fc.integer({ min: 0, max: 1300 }),
      at: fc.integer({ min: 0, max: 100 }),
      strikes: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(anEvent, { maxLength: 20 }), (typed) => {
        const events = typed.flatMap(({ c, at, strikes }, i) => {
          const reading = event(2 * i + 1, 'reading', { celsius: c }, { happenedAt: at });
          return strikes ? [reading, event(2 * i + 2, 'void', {}, { voids: 2 * i + 1 })] : [reading];
        });
        const left = typed.filter(({ strikes }) => !strikes);
        const newest = newestReading(events);
        expect(standing(events)).toHaveLength(left.length);
        expect(newest?.at ?? null).toBe(left.length === 0 ? null : Math.max(...left.map(({ at }) => at)));
      }),
    );
  });
});

describe('the list before firing', () => {
  it('has three more lines for burners, and all of it is open before anybody goes through it', () => {
    expect(checksFor('gas')).toHaveLength(checksFor('electric').length + 3);
    expect(openChecks('gas', null)).toEqual(checksFor('gas'));
    expect(openChecks('electric', { ticks: checksFor('electric') })).toEqual([]);
    expect(openChecks('gas', { ticks: checksFor('electric') })).toEqual([
      'coAlarm',
      'watch',
      'latestShutOff',
    ]);
  });

  it.each([
    [
      [
        [0, 6],
        [6, 12],
      ],
      12,
      [],
    ],
    [
      [
        [6, 12],
        [0, 6],
      ],
      12,
      [],
    ],
    [
      [
        [0, 7],
        [6, 12],
      ],
      12,
      [],
    ],
    [
      [
        [0, 12],
        [3, 4],
        [12, 14],
      ],
      14,
      [],
    ],
    [
      [
        [0, 6],
        [7, 12],
      ],
      12,
      ['gap'],
    ],
    [[[0, 6]], 12, ['last turn']],
    [
      [
        [0, 2],
        [3, 4],
        [5, 6],
      ],
      12,
      ['gap', 'last turn'],
    ],
    [[], 12, []],
    [[[0, 6]], null, []],
  ] as const)('a watch of %j until %s: %j', (turns, until, faults) => {
    const found = watchFaults(
      turns.map(([from, to]) => ({ person: 1, from: from * HOUR, to: to * HOUR })),
      until === null ? null : until * HOUR,
    );
    expect(found).toHaveLength(faults.length);
    for (const [i, words] of faults.entries()) expect(found[i]).toContain(words);
  });
});

test('an agreed watch and shut-off are for burners lit in between, to the minute', () => {
  const turn = (from: number, to: number) => ({ person: 1, from: from * HOUR, to: to * HOUR });
  const agreed = { ticks: checksFor('gas'), watch: [turn(6, 12), turn(1, 6)], latestShutOff: 12 * HOUR };
  expect(watchDoubts(agreed, HOUR)).toEqual([]);
  expect(watchDoubts(agreed, HOUR - MINUTE)).toEqual([]);
  expect(watchDoubts(agreed, HOUR - MINUTE - 1)).toEqual(['The first turn begins after it is lit.']);
  expect(watchDoubts(agreed, 12 * HOUR + MINUTE)).toEqual([]);
  expect(watchDoubts(agreed, 12 * HOUR + MINUTE + 1)).toEqual(['The latest shut-off is past already.']);
  expect(watchDoubts({ ticks: [] }, HOUR)).toEqual([]);
});

test('reduction runs from the line that begins it to the one that ends it', () => {
  const line = (at: number, reduction?: 'begins' | 'ends') => ({ at, reduction });
  expect(reductionsOf([line(1), line(2, 'begins'), line(3), line(4, 'ends'), line(6, 'begins')])).toEqual([
    { from: 2, to: 4 },
    { from: 6, to: null },
  ]);
  expect(reductionsOf([line(4, 'ends'), line(2, 'begins'), line(3, 'begins')])).toEqual([{ from: 2, to: 4 }]);
  expect(reductionsOf([line(1, 'ends')])).toEqual([]);
});

describe('witness cones', () => {
  const full = (level: number) => ({ part: 'full' as const, level });
  const read = (level: number, cone: string, reading: string) => ({
    ...full(level),
    cones: [{ cone, reading }],
  });

  it('of each level as they were read last', () => {
    const events = [
      event(1, 'witness', { levels: [read(1, '6', '3'), read(2, '6', '4')] }),
      event(2, 'witness', { levels: [read(2, '6', 'down')] }),
      event(3, 'witness', { levels: [read(1, '6', 'flat')] }),
      event(4, 'void', {}, { voids: 3 }),
    ];
    expect(conesOf(events)).toEqual([read(1, '6', '3'), read(2, '6', 'down')]);
  });

  it('levels of different loads compare by their place', () => {
    const shelves = [full(1), full(2), full(3)];
    expect(shelves.map((one) => placeIn(one, shelves))).toEqual(['bottom', 'middle', 'top']);
    const halves = [
      full(1),
      { part: 'left' as const, level: 2 },
      { part: 'right' as const, level: 2 },
      { part: 'right' as const, level: 3 },
    ];
    expect(halves.map((one) => placeIn(one, halves))).toEqual(['bottom', 'top', 'middle', 'top']);
    expect(placeIn(full(1), [full(1)])).toBe('bottom');
    const judged = [
      { level: '1', off: 0 },
      { level: levelWord(halves[1] as (typeof halves)[1]), off: -0.5 },
      { level: levelWord(halves[3] as (typeof halves)[1]), off: -1 },
    ];
    expect(offsByPlace(judged, halves)).toEqual([
      { level: 'top', off: -0.75 },
      { level: 'bottom', off: 0 },
    ]);
    expect(offsByPlace([{ level: '1', off: null }], shelves)).toEqual([{ level: 'bottom', off: null }]);
  });

  it.each([
    ['6', ['5', '6', '7']],
    ['06', ['07', '06', '05']],
    ['1', ['01', '1', '2']],
    ['14', ['13', '14']],
    ['022', ['022', '021']],
  ])('around cone %s stand %j', (wanted, cones) => expect(conesAround(wanted)).toEqual(cones));
});

describe('a lid', () => {
  const entry = (number: number, how: string, voids: number | null = null) => ({
    ...event(number, voids === null ? 'opened' : 'void', { celsius: 100, how }, { voids }),
    by: 1,
    state: null,
  });

  it('that was cracked is not open; the last opening that stands counts', () => {
    const openedAt = (...events: ReturnType<typeof entry>[]) => foldLoad(events).openedAt;
    expect(openedAt(entry(1, 'cracked'))).toBeNull();
    expect(openedAt(entry(1, 'cracked'), entry(2, 'opened'), entry(3, 'cracked'))).toBe(2 * MINUTE);
    expect(openedAt(entry(1, 'cracked'), entry(2, 'opened'), entry(3, '', 2))).toBeNull();
  });
});

describe('the next act', () => {
  const load = (state: string, more: object = {}) =>
    ({
      number: 7,
      state,
      openedAt: null,
      letsHandsIn: false,
      kiln: { power: 'electric', mayFire: true, ...more },
    }) as Parameters<typeof firingActs>[0];
  const hrefs = (...args: Parameters<typeof firingActs>) =>
    firingActs(...args).map(({ href }) => href.replace('/kilns/loads/7/', ''));

  it('leads on state by state', () => {
    const technician = { mayLoad: true };
    expect(hrefs(load('approved'), technician)).toEqual([]);
    expect(hrefs(load('loaded'), technician)).toEqual(['check', 'start']);
    expect(hrefs(load('loaded', { mayFire: false }), technician)).toEqual(['check']);
    expect(hrefs(load('firing'), technician)).toEqual(['readings', 'shut-off', 'curve', 'log']);
    expect(hrefs(load('firing', { power: 'gas' }), technician)[0]).toBe('gas');
    expect(hrefs(load('unloaded'), technician)).toEqual([
      'curve',
      'outcomes',
      '/fees/loads/7',
      'cones',
      'log',
    ]);
  });

  it('of a kiln that cools is a reading, until it is open and read as cool enough for hands', () => {
    const technician = { mayLoad: true };
    const cooling = (more: object) => hrefs({ ...load('cooling'), ...more }, technician);
    expect(cooling({})).toEqual(['readings', 'open', 'curve', 'log']);
    expect(cooling({ letsHandsIn: true })).toEqual(['readings', 'open', 'curve', 'log']);
    const open = ['readings', 'open', 'unload', 'cones', 'curve', 'log'];
    expect(cooling({ openedAt: 1 })).toEqual(open);
    expect(cooling({ openedAt: 1, letsHandsIn: true })).toEqual([
      'unload',
      'readings',
      'open',
      'cones',
      'curve',
      'log',
    ]);
  });

  it('is no act of whoever only looks', () => {
    const member = { mayLoad: false };
    const seen = (state: string) => hrefs(load(state, { mayFire: false }), member);
    expect(['loaded', 'firing', 'cooling', 'unloaded'].map(seen)).toEqual([
      [],
      ['curve'],
      ['open', 'curve'],
      ['curve'],
    ]);
    const opened = { ...load('cooling', { mayFire: false }), openedAt: 1, letsHandsIn: true };
    expect(hrefs(opened, member)).toEqual(['open', 'curve']);
  });
});

describe('what a curve comes to', () => {
  const segments: Segment[] = [{ rateCPerH: 100, toC: 1020, holdMin: 0 }];
  const climb = (fromS: number) =>
    Array.from({ length: 601 }, (_, i) => ({
      atS: i * 60,
      c: Math.max(20, 20 + ((i * 60 - fromS) / 3600) * 100),
    }));
  const setting = {
    startsAt: 0,
    startedAt: 0 as number | null,
    segments,
    chart: USUAL_CHART,
    lidShutAboveC: 120,
  };

  it('a log that began well before the fire was lit is compared from there', () => {
    expect(planStartS(0, 2 * HOUR, 36_000)).toBe(7200);
    expect(planStartS(0, 10 * MINUTE, 36_000)).toBe(0);
    expect(planStartS(2 * HOUR, 0, 36_000)).toBe(0);
    expect(planStartS(0, 20 * HOUR, 36_000)).toBe(0);
    expect(planStartS(0, null, 36_000)).toBe(0);
    const late = findingsOf(climb(7200), { ...setting, startedAt: 2 * HOUR });
    expect(late?.planFromS).toBe(7200);
    expect(late?.comparison?.behind?.byC ?? 0).toBeLessThan(1);
    expect(findingsOf(climb(7200), setting)?.comparison?.behind?.byC).toBeGreaterThan(150);
  });

  it('names the chart of its cones; without a schedule it is compared with nothing', () => {
    const found = findingsOf(climb(0), { ...setting, segments: null });
    expect(found).toMatchObject({ chart: USUAL_CHART, comparison: null, cooling: null });
    expect(found?.edition).toContain('2016');
    expect(findingsOf([], setting)).toBeNull();
    expect(findingsOf([{ atS: 0, c: 20 }], setting)).toBeNull();
  });
});
