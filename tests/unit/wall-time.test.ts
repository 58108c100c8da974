import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fromWallTime, isTimeZone, shownTime, toWallTime } from '../../server/core/wall-time.ts';

const ZONES = [
  'Europe/London',
  'America/New_York',
  'Asia/Kathmandu',
  'Australia/Lord_Howe',
  'Pacific/Apia',
  'UTC',
];

describe('the clock on the studio wall', () => {
  it('goes round by the minute, in every zone, the second of a double hour apart', () => {
    const minute = fc.integer({ min: Date.UTC(2015, 0, 1) / 60_000, max: Date.UTC(2035, 0, 1) / 60_000 });
    fc.assert(
      fc.property(minute, fc.constantFrom(...ZONES), (m, zone) => {
        const at = m * 60_000;
        const back = fromWallTime(toWallTime(at, zone), zone) as number;
        // an ambiguous hour takes its first passing
        expect(back <= at && toWallTime(back, zone) === toWallTime(at, zone)).toBe(true);
        expect(at - back).toBeLessThanOrEqual(3_600_000);
      }),
    );
  });

  it('takes the first of an hour that happens twice', () => {
    expect(fromWallTime('2026-10-25T01:30', 'Europe/London')).toBe(Date.UTC(2026, 9, 25, 0, 30));
  });

  it.each(['2026-03-29T01:30', '2026-02-30T10:00', '2026-13-01T10:00', '2026-01-01T24:00', 'soon', ''])(
    'knows no %s',
    (text) => {
      expect(fromWallTime(text, 'Europe/London')).toBeNull();
    },
  );

  it('knows zones', () => {
    expect(isTimeZone('Europe/London')).toBe(true);
    expect(isTimeZone('Europe/Millrace')).toBe(false);
  });

  it('says days as people do', () => {
    const now = Date.UTC(2026, 5, 10, 12, 0);
    const say = (at: number) => shownTime(at, now, 'Europe/London');
    expect(say(Date.UTC(2026, 5, 10, 8, 5))).toBe('today 09:05');
    expect(say(Date.UTC(2026, 5, 9, 22, 30))).toBe('yesterday 23:30');
    expect(say(Date.UTC(2026, 5, 9, 23, 30))).toBe('today 00:30');
    expect(say(Date.UTC(2026, 5, 6, 10, 0))).toBe('Sat 11:00');
    expect(say(Date.UTC(2026, 4, 1, 10, 0))).toBe('1 May 2026, 11:00');
    expect(say(Date.UTC(2026, 5, 11, 17, 0))).toBe('tomorrow 18:00');
    expect(say(Date.UTC(2026, 5, 13, 17, 0))).toBe('Saturday 18:00');
    expect(say(Date.UTC(2026, 5, 16, 17, 0))).toBe('Tuesday 18:00');
    expect(say(Date.UTC(2026, 5, 17, 17, 0))).toBe('17 Jun 2026, 18:00');
  });
});
