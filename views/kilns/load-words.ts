import { DAY, type Instant } from '../../server/core/clock.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import { dateOf } from '../../server/kilns/calendar.ts';
import type { Forecast } from '../../server/kilns/cooling.ts';
import type { LoadState } from '../../server/kilns/load-fold.ts';

/** 'Saturday 09:30 to 11:30', 'Saturday 22:00 to Sunday 02:00' */
function spanWords(from: Instant, to: Instant, now: Instant, timeZone: string): string {
  const start = shownTime(from, now, timeZone);
  if (from === to) return start;
  return dateOf(from, timeZone) === dateOf(to, timeZone)
    ? `${start} to ${toWallTime(to, timeZone).slice(11)}`
    : `${start} to ${shownTime(to, now, timeZone)}`;
}

/** 'about Saturday 22:00 to Sunday 02:00', 'perhaps by now': goes on inside a sentence that says it is an estimate. */
export const forecastWords = (
  { from, to, due }: Forecast,
  { now, timeZone }: { now: Instant; timeZone: string },
): string => (due ? 'perhaps by now' : `about ${spanWords(from, to, now, timeZone)}`);

/** A share from 0 to 1 as '58 %', with a blank that does not break. */
export const percent = (share: number): string => `${Math.round(100 * share)} %`;

/** '9 h', '9.5 h' */
export const hoursText = (hours: number): string => `${Math.round(hours * 2) / 2} h`;

export const upper = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

/** 'a, b and c' */
export const listed = (items: readonly (string | number)[]): string =>
  items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;

/** Whether it may still be planned, fired by another schedule, or cancelled. */
export const isToCome = ({ state }: { state: LoadState }): boolean =>
  state === 'proposed' || state === 'approved' || state === 'loaded';

/** '16 days', 'a day', 'less than a day' */
export function waitedWords(since: Instant, now: Instant): string {
  const days = Math.floor((now - since) / DAY);
  return days < 1 ? 'less than a day' : days === 1 ? 'a day' : `${days} days`;
}
