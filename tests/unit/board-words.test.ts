import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { boardState, loadWayWords, whoOpens } from '../../server/kilns/board-words.ts';

const SETTINGS = { lidShutAboveC: 120, openBelowC: 90, handsBelowC: 50 };
const inService = { service: 'in-service' } as const;
const out = { service: 'out-of-service' } as const;
const cooling = { state: 'cooling' } as const;
const read = (c: number) => ({ c, at: 0 });

describe('what a kiln says', () => {
  it('goes by the typed reading while it cools, a limit counting as above it', () => {
    const says = (c: number | null) => boardState(inService, cooling, c === null ? null : read(c), SETTINGS);
    expect([null, 900, 120, 119.9, 50, 49.9].map(says)).toEqual([
      'hot',
      'hot',
      'hot',
      'cooling',
      'cooling',
      'cold',
    ]);
    expect(says(Number.NaN)).toBe('hot');
  });

  it('is what stands in it, else whether it may be used', () => {
    expect(boardState(inService, null, null, SETTINGS)).toBe('empty');
    expect(boardState(inService, { state: 'loaded' }, null, SETTINGS)).toBe('loaded');
    expect(boardState(out, null, null, SETTINGS)).toBe('out-of-service');
    expect(boardState(out, { state: 'loaded' }, null, SETTINGS)).toBe('out-of-service');
  });

  it('is never less than hot without a reading, in service or not', () => {
    fc.assert(
      fc.property(fc.constantFrom(inService, out), fc.constantFrom('firing', 'cooling'), (kiln, state) => {
        expect(['firing', 'hot']).toContain(boardState(kiln, { state }, null, SETTINGS));
      }),
    );
  });
});

describe('who opens it', () => {
  const says = (c: number | null, names: string[]) =>
    whoOpens(cooling, c === null ? null : read(c), SETTINGS, names);

  it('is nobody above the limit, who fires it below, a technician too when it may be opened', () => {
    expect(says(null, ['Wren'])).toBe('Nobody opens it above 120 °C. Read the pyrometer first.');
    expect(says(300, ['Wren'])).toBe(says(null, ['Wren']));
    expect(says(100, ['Wren', 'Ida'])).toBe(
      'May be cracked by Wren or Ida. Otherwise shut until 90 °C. Read the pyrometer first.',
    );
    expect(says(80, ['Wren', 'Ida'])).toBe('Opened by Wren, Ida or a technician. Read the pyrometer first.');
    expect(says(80, [])).toBe('Opened by a technician. Read the pyrometer first.');
    expect(says(100, [])).toBe(
      'May be cracked by whoever fires this kiln. Otherwise shut until 90 °C. Read the pyrometer first.',
    );
    expect(whoOpens({ state: 'firing' }, read(20), SETTINGS, ['Wren'])).toBe(
      'Nobody opens it while it fires.',
    );
  });
});

it('tells where a load is, inside a sentence', () => {
  const now = Date.UTC(2026, 2, 6, 12);
  const place = { startsAt: now + 6 * HOUR, freeAt: now + 2 * DAY };
  const says = (state: Parameters<typeof loadWayWords>[0]['state'], at: typeof place | null = place) =>
    loadWayWords({ state, place: at }, now, 'Europe/London');
  expect(says('proposed', null)).toBe('not on the calendar yet');
  expect(says('approved')).toBe('fires today 18:00');
  expect(says('loaded')).toBe('in the kiln, fires today 18:00');
  expect(says('approved', { ...place, startsAt: now - DAY })).toBe('to be fired soon');
  expect(says('firing')).toBe('firing now, out about Sunday 12:00');
  expect(says('cooling')).toBe('cooling, out about Sunday 12:00');
  expect(says('cancelled', null)).toBe('cancelled');
});
