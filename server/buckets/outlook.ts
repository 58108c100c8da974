import { DAY, HOUR, type Instant } from '../core/clock.ts';
import { toWallTime } from '../core/wall-time.ts';
import { drift, likelyUntil } from './drift.ts';
import type { Facts } from './ledger.ts';
import type { Verdict } from './verdict.ts';

interface Looked {
  facts: Pick<Facts, 'recent'>;
  target: { low: number; high: number };
  verdict: Pick<Verdict, 'state'>;
}

const SOME_DRIFT = 0.0005;

/**
 * How long the water in a bucket likely stays right, and how it drifts: 'Likely in range until Saturday evening
 * (95 %), rising by 0.002 a day.' Never later than it is sure of: a time of day means its beginning.
 * @returns null when nothing should be said, or it is no use saying
 */
export function outlookWords(b: Looked, now: Instant, timeZone: string): string | null {
  if (b.verdict.state !== 'ready' && b.verdict.state !== 'stir-first') return null;
  const until = likelyUntil(b.facts.recent, b.target.low, b.target.high);
  const d = drift(b.facts.recent);
  if (until === null || d === null || until - now < HOUR) return null;
  const size = Math.abs(d.perDay);
  const how =
    size < SOME_DRIFT
      ? 'hardly drifting'
      : `${d.perDay > 0 ? 'rising' : 'falling'} by ${size.toFixed(3)} a day`;
  return `Likely in range ${untilWords(until, now, timeZone)} (95 %), ${how}.`;
}

/** From the day on which Instants begin. */
const WEEKDAYS = ['Thursday', 'Friday', 'Saturday', 'Sunday', 'Monday', 'Tuesday', 'Wednesday'];

/** 'for another 3 hours', 'until this evening', 'until tomorrow morning', 'until Saturday evening', 'until next week'. */
export function untilWords(until: Instant, now: Instant, timeZone: string): string {
  const then = placeOf(until, timeZone);
  const today = placeOf(now, timeZone);
  const days = then.day - today.date;
  if (days > 12) return 'for nearly two weeks';
  if (days > 6) return 'until next week';
  if (days > 1) return `until ${WEEKDAYS[then.day % 7]} ${then.part}`;
  if (days === 1) return `until tomorrow ${then.part}`;
  if (days === 0 && (today.day < today.date || then.part !== today.part)) return `until this ${then.part}`;
  const hours = Math.floor((until - now) / HOUR);
  return hours === 1 ? 'for another hour' : `for another ${hours} hours`;
}

/** Date and part of the day by the studio's clock; the hours after midnight still are the evening before. */
function placeOf(at: Instant, timeZone: string): { date: number; day: number; part: string } {
  const wall = toWallTime(at, timeZone);
  const date = Math.floor(Date.parse(`${wall}Z`) / DAY);
  const hour = Number(wall.slice(11, 13));
  if (hour < 6) return { date, day: date - 1, part: 'evening' };
  return { date, day: date, part: hour < 12 ? 'morning' : hour < 18 ? 'afternoon' : 'evening' };
}
