import type { Instant } from '../../server/core/clock.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import type { Forecast } from '../../server/kilns/cooling.ts';

const DAY_MS = 86_400_000;

const formats = new Map<string, Intl.DateTimeFormat>();

function format(timeZone: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${timeZone} ${JSON.stringify(options)}`;
  const known = formats.get(key) ?? new Intl.DateTimeFormat('en-GB', { timeZone, ...options });
  formats.set(key, known);
  return known;
}

/** Days from one studio day to another; negative back in time. */
function daysBetween(from: Instant, to: Instant, timeZone: string): number {
  const day = (at: Instant) => Date.parse(toWallTime(at, timeZone).slice(0, 10));
  return Math.round((day(to) - day(from)) / DAY_MS);
}

function dayWords(at: Instant, now: Instant, timeZone: string): string {
  const days = daysBetween(now, at, timeZone);
  if (days === 0) return 'today';
  if (days === 1) return 'tomorrow';
  if (days < 7) return format(timeZone, { weekday: 'long' }).format(at);
  return format(timeZone, { weekday: 'short', day: 'numeric', month: 'short' }).format(at);
}

/** 'Thursday 18:00' for a time to come, 'yesterday 18:00' for one that is past; studio time. */
export function plannedTime(at: Instant, now: Instant, timeZone: string): string {
  if (daysBetween(now, at, timeZone) < 0) return shownTime(at, now, timeZone);
  return `${dayWords(at, now, timeZone)} ${toWallTime(at, timeZone).slice(11)}`;
}

/** 'Saturday 09:30 to 11:30', 'Saturday 22:00 to Sunday 02:00' */
export function plannedSpan(from: Instant, to: Instant, now: Instant, timeZone: string): string {
  const start = plannedTime(from, now, timeZone);
  if (from === to) return start;
  const end = plannedTime(to, now, timeZone);
  return daysBetween(from, to, timeZone) === 0
    ? `${start} to ${toWallTime(to, timeZone).slice(11)}`
    : `${start} to ${end}`;
}

/** 'about Saturday 22:00 to Sunday 02:00', 'perhaps by now': goes on inside a sentence that says it is an estimate. */
export const forecastWords = (
  { from, to, due }: Forecast,
  { now, timeZone }: { now: Instant; timeZone: string },
): string => (due ? 'perhaps by now' : `about ${plannedSpan(from, to, now, timeZone)}`);

/** A share from 0 to 1 as '58 %', with a blank that does not break. */
export const percent = (share: number): string => `${Math.round(100 * share)} %`;

/** '9 h', '9.5 h' */
export const hoursText = (hours: number): string => `${Math.round(hours * 2) / 2} h`;

/** Minor units as money of this currency, such as '£12.40'. */
export function moneyText(minor: number, currency: string): string {
  const money = new Intl.NumberFormat('en-GB', { style: 'currency', currency });
  const digits = money.resolvedOptions().maximumFractionDigits ?? 2;
  return money.format(minor / 10 ** digits);
}

/** 'a, b and c' */
export const listed = (items: readonly (string | number)[]): string =>
  items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;

/** '16 days', 'a day', 'less than a day' */
export function waitedWords(since: Instant, now: Instant): string {
  const days = Math.floor((now - since) / DAY_MS);
  return days < 1 ? 'less than a day' : days === 1 ? 'a day' : `${days} days`;
}
