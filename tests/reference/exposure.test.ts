import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  average8h,
  exposure,
  KNOWN_LIMITS,
  leadLimit,
  mixtureSum,
  together,
  UNMEASURED,
} from '../../server/safety/exposure.ts';

const task = (hours: number, concentration: number | null, isMeasured = true) => ({
  hours,
  concentration,
  isMeasured,
});
const SILICA = KNOWN_LIMITS.silica;

describe('29 CFR 1910.1000(d), worked examples', () => {
  it('two hours at 150, two at 75 and four at 50 ppm average 81.25', () => {
    const tasks = [task(2, 150), task(2, 75), task(4, 50)];
    expect(average8h(tasks as { hours: number; concentration: number }[])).toBe(81.25);
    const judged = exposure(tasks, { value: 100, actionLevel: null }, 'ppm');
    expect(judged).toMatchObject({ average: 81.25, share: 0.8125, state: 'below' });
  });

  it('500 of 1000, 45 of 200 and 40 of 200 ppm sum to 0.925', () => {
    expect(
      mixtureSum([
        { average: 500, limit: 1000 },
        { average: 45, limit: 200 },
        { average: 40, limit: 200 },
      ]),
    ).toBeCloseTo(0.925, 12);
    const air = [
      [500, 1000],
      [45, 200],
      [40, 200],
    ].map(([c = 0, l = 0]) => exposure([task(8, c)], { value: l, actionLevel: null }, 'ppm'));
    expect(together(air)).toMatchObject({ state: 'below' });
    expect(together(air).sum).toBeCloseTo(0.925, 12);
  });

  it('a sum of just 1 is not over, anything beyond is', () => {
    const at = (share: number) =>
      together([
        exposure([task(8, share * 10)], { value: 10, actionLevel: null }),
        exposure([task(8, 5)], { value: 10, actionLevel: null }),
      ]).state;
    expect(at(0.5)).toBe('below');
    expect(at(0.501)).toBe('over');
  });
});

it('lead may average 400 over the hours of a long shift (29 CFR 1910.1025(c)(2))', () => {
  expect([leadLimit(8), leadLimit(10), leadLimit(4)]).toEqual([50, 40, 50]);
  expect(() => leadLimit(0)).toThrow(RangeError);
  expect(() => leadLimit(25)).toThrow(RangeError);
});

describe('respirable silica, 29 CFR 1910.1053', () => {
  it('has a limit of 50 and an action level of 25 µg/m³', () =>
    expect([SILICA.value, SILICA.actionLevel]).toEqual([50, 25]));

  it('1.6 h at 100 µg/m³ average 20: below the action level', () => {
    const judged = exposure([task(1.6, 100)], SILICA);
    expect(judged.average).toBeCloseTo(20, 12);
    expect(judged.state).toBe('below');
    expect(judged.words).toContain('20 µg/m³ over eight hours, 40 % of the limit of 50: below the limit');
  });

  it.each([
    [24.99, 'below'],
    [25, 'action-level'],
    [50, 'action-level'],
    [50.01, 'over'],
  ])('%d µg/m³ all day: %s', (c, state) => expect(exposure([task(8, c)], SILICA).state).toBe(state));
});

it('limits of table Z-1 and of the standards by substance, µg/m³', () => {
  const values = Object.fromEntries(
    Object.entries(KNOWN_LIMITS).map(([key, { value, actionLevel }]) => [key, [value, actionLevel]]),
  );
  expect(values).toEqual({
    silica: [50, 25], // 29 CFR 1910.1053
    lead: [50, 30], // 1910.1025
    cadmium: [5, 2.5], // 1910.1027, action level from memory
    'chromium-vi': [5, 2.5], // 1910.1026
    'chromium-iii': [500, null], // Z-1
    cobalt: [100, null], // Z-1
    nickel: [1000, null], // Z-1
    barium: [500, null], // Z-1
    copper: [1000, null], // Z-1, from memory
  });
});

describe('what was not measured', () => {
  it('is unknown', () => {
    expect(exposure([task(1, null)], SILICA)).toMatchObject({
      average: null,
      state: 'unknown',
      words: UNMEASURED,
    });
    expect(exposure([task(1, 3), task(1, null)], SILICA).state).toBe('unknown');
    expect(UNMEASURED).toBe('Not measured: unknown. Respirator and wet methods.');
  });

  it('does not hide that the measured tasks alone are over', () =>
    expect(exposure([task(8, 60), task(1, null)], SILICA).state).toBe('over'));

  it('nothing assumed or unmeasured ever reads as below the limit', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            hours: fc.double({ min: 0.1, max: 3, noNaN: true }),
            concentration: fc.option(fc.double({ min: 0, max: 1000, noNaN: true })),
            isMeasured: fc.boolean(),
          }),
          { minLength: 1, maxLength: 8 },
        ),
        (tasks) => {
          const isAllMeasured = tasks.every((one) => one.isMeasured && one.concentration !== null);
          const judged = exposure(tasks, SILICA);
          if (!isAllMeasured) {
            expect(['below', 'action-level']).not.toContain(judged.state);
            expect(judged.words).not.toMatch(/below|not above/);
            expect(together([judged]).words).not.toMatch(/below|not above/);
          }
        },
      ),
    );
  });
});

it.each([
  ['a day of 25 hours', [task(25, 1)], 50],
  ['no time at all', [task(0, 1)], 50],
  ['a limit of 0', [task(1, 1)], 0],
])('refuses %s', (_, tasks, value) =>
  expect(() => exposure(tasks, { value, actionLevel: null })).toThrow(RangeError),
);
