import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { outlookWords, untilWords } from '../../server/buckets/outlook.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';

const LONDON = 'Europe/London';
const at = (text: string) => Date.parse(`${text}Z`);
// A Wednesday; London keeps UTC in winter.
const NOON = at('2026-11-25T12:30');
const said = (until: string, now = NOON, zone = LONDON) => untilWords(at(until), now, zone);

describe('until when, in words', () => {
  it('is the part of the day by the studio’s clock', () => {
    expect(said('2026-11-25T18:00')).toBe('until this evening');
    expect(said('2026-11-26T09:10')).toBe('until tomorrow morning');
    expect(said('2026-11-27T12:00')).toBe('until Friday afternoon');
    expect(said('2026-11-28T21:59')).toBe('until Saturday evening');
    expect(said('2026-12-01T06:00')).toBe('until Tuesday morning');
    expect(said('2026-11-28T21:59', NOON, 'Pacific/Auckland')).toBe('until Sunday morning');
  });

  it('counts the hours after midnight to the evening before', () => {
    expect(said('2026-11-28T05:59')).toBe('until Friday evening');
    expect(said('2026-11-26T03:00')).toBe('until this evening');
    expect(said('2026-11-25T10:00', at('2026-11-25T02:00'))).toBe('until this morning');
    expect(said('2026-11-25T19:00', at('2026-11-25T02:00'))).toBe('until this evening');
    expect(said('2026-11-25T05:00', at('2026-11-25T02:00'))).toBe('for another 3 hours');
  });

  it('is in hours where it ends in the part of the day that it is', () => {
    expect(said('2026-11-25T17:29')).toBe('for another 4 hours');
    expect(said('2026-11-25T14:29')).toBe('for another hour');
    expect(said('2026-11-26T02:00', at('2026-11-25T19:30'))).toBe('for another 6 hours');
  });

  it('names no weekday from a week on', () => {
    expect(said('2026-12-01T23:00')).toBe('until Tuesday evening');
    expect(said('2026-12-02T07:00')).toBe('until next week');
    expect(said('2026-12-07T20:00')).toBe('until next week');
    expect(said('2026-12-08T07:00')).toBe('for nearly two weeks');
  });

  it('keeps to the studio’s clock when the clocks change', () => {
    // On 25 October 2026 London goes back from BST at 01:00 UTC.
    expect(said('2026-10-24T17:00', at('2026-10-23T12:00'))).toBe('until tomorrow evening');
    expect(said('2026-10-25T17:59', at('2026-10-23T12:00'))).toBe('until Sunday afternoon');
  });

  it('never promises more than it was given, nor half a day less', () => {
    const hours = fc.integer({ min: 1, max: 24 * 7 });
    fc.assert(
      fc.property(hours, fc.integer({ min: 0, max: 47 }), (given, later) => {
        const now = NOON + later * HOUR;
        const until = now + given * HOUR;
        const words = untilWords(until, now, LONDON);
        const [, day, part] = /^until (?:this )?(\w+ )??(morning|afternoon|evening)$/.exec(words) ?? [];
        if (part === undefined) return;
        const today = Math.floor(now / DAY) * DAY;
        const named = [1, 2, 3, 4, 5, 6].find((days) => {
          const weekday = new Date(today + days * DAY).toLocaleDateString('en-GB', { weekday: 'long' });
          return day?.trim() === (days === 1 ? 'tomorrow' : weekday);
        });
        const claimed =
          today + (named ?? 0) * DAY + { morning: 6, afternoon: 12, evening: 18 }[part as 'morning'] * HOUR;
        expect(claimed, words).toBeLessThanOrEqual(until);
        expect(claimed, words).toBeGreaterThanOrEqual(until - 12 * HOUR);
      }),
    );
  });
});

describe('the outlook of a bucket', () => {
  const from = NOON - 9 * DAY;
  const reading = (day: number, perDay: number) => ({
    at: from + day * DAY,
    specificGravity: 1.45 + perDay * day + 0.001 * ((day * 3) % 5) - 0.002,
    standardUncertainty: 0.004,
  });
  const bucket = (perDay: number, state: 'ready' | 'stir-first' | 'too-thick' | 'on-test' = 'ready') => ({
    facts: { recent: Array.from({ length: 10 }, (_, day) => reading(day, perDay)) },
    target: { low: 1.44, high: 1.48 },
    verdict: { state },
  });

  it('says until when, how sure, and which way it drifts', () => {
    expect(outlookWords(bucket(0.002), NOON, LONDON)).toMatch(
      /^Likely in range until \w+day (morning|afternoon|evening) \(95 %\), rising by 0\.002 a day\.$/,
    );
    const falling = { ...bucket(-0.002), target: { low: 1.42, high: 1.46 } };
    expect(outlookWords(falling, NOON, LONDON)).toMatch(/, falling by 0\.002 a day\.$/);
    const calm = { ...bucket(0), target: { low: 1.4, high: 1.5 } };
    expect(outlookWords(calm, NOON, LONDON)).toBe(
      'Likely in range for nearly two weeks (95 %), hardly drifting.',
    );
  });

  it('is for a bucket that can be dipped from, and only while it holds', () => {
    expect(outlookWords(bucket(0.002, 'stir-first'), NOON, LONDON)).not.toBeNull();
    expect(outlookWords(bucket(0.002, 'too-thick'), NOON, LONDON)).toBeNull();
    expect(outlookWords(bucket(0.002, 'on-test'), NOON, LONDON)).toBeNull();
    expect(outlookWords(bucket(0.002), NOON + 8 * DAY, LONDON)).toBeNull();
  });

  it('is not said of a few readings', () => {
    const few = bucket(0.002);
    few.facts.recent.splice(0, 5);
    expect(outlookWords(few, NOON, LONDON)).toBeNull();
  });
});
