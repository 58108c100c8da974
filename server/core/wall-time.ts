import type { Instant } from './clock.ts';

const STYLES = {
  // Swedish is written as a datetime-local field wants it, but for a blank in the middle.
  wall: ['sv-SE', { dateStyle: 'short', timeStyle: 'short' }],
  date: ['en-GB', { day: 'numeric', month: 'short', year: 'numeric' }],
  weekday: ['en-GB', { weekday: 'short' }],
  wholeWeekday: ['en-GB', { weekday: 'long' }],
} as const satisfies Record<string, [locale: string, options: Intl.DateTimeFormatOptions]>;

const formatters = new Map<string, Intl.DateTimeFormat>();

/** Kept once made: making one takes a hundred times as long as using it. */
function formatter(style: keyof typeof STYLES, timeZone: string): Intl.DateTimeFormat {
  const key = `${style} ${timeZone}`;
  let known = formatters.get(key);
  if (!known) {
    const [locale, options] = STYLES[style];
    known = new Intl.DateTimeFormat(locale, { timeZone, ...options });
    formatters.set(key, known);
  }
  return known;
}

/** `2026-03-07T14:05` as the clock on the studio's wall shows it (the value of a datetime-local field). */
export function toWallTime(at: Instant, timeZone: string): string {
  return formatter('wall', timeZone).format(at).replace(' ', 'T');
}

const WALL_TIME = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2})(?::\d{2}(?:\.\d+)?)?$/;

/**
 * The instant at which the studio's clock showed `text`; null when it is no time or the clock skipped it.
 * An hour that happened twice is taken as the first.
 */
export function fromWallTime(text: string, timeZone: string): Instant | null {
  const match = WALL_TIME.exec(text);
  if (!match) return null;
  const [year, month, day, hour, minute] = match.slice(1).map(Number) as [
    number,
    number,
    number,
    number,
    number,
  ];
  const asUtc = Date.UTC(year, month - 1, day, hour, minute);
  // A zone is never more than a day from UTC and its offset is whole minutes, so the answer is near; both
  // offsets around a change of clocks are tried, the earlier instant first.
  const offsets = [asUtc - 86_400_000, asUtc + 86_400_000].map((at) => wallAsUtc(at, timeZone) - at);
  const candidates = [...new Set(offsets)].map((offset) => asUtc - offset).sort((a, b) => a - b);
  const wanted = text.slice(0, 16);
  return candidates.find((at) => toWallTime(at, timeZone) === wanted) ?? null;
}

const wallAsUtc = (at: Instant, timeZone: string): number => Date.parse(`${toWallTime(at, timeZone)}Z`);

/** A day of the calendar, YYYY-MM-DD, as it is said: `7 Mar 2026`; '' where there is none. */
export const shownDay = (day: string | null): string =>
  day === null ? '' : formatter('date', 'UTC').format(Date.parse(`${day}T12:00:00Z`));

export function isTimeZone(name: string): boolean {
  try {
    formatter('wall', name);
    return true;
  } catch {
    return false;
  }
}

/**
 * `today 14:05`, `yesterday 09:30`, `Mon 14:05` in the week that was, `tomorrow 18:00` and `Thursday 18:00` in the
 * one to come, else `3 Mar 2026, 14:05`.
 */
export function shownTime(at: Instant, now: Instant, timeZone: string): string {
  const wall = toWallTime(at, timeZone);
  const days = Math.round(
    (Date.parse(toWallTime(now, timeZone).slice(0, 10)) - Date.parse(wall.slice(0, 10))) / 86_400_000,
  );
  const time = wall.slice(11);
  if (days === 0) return `today ${time}`;
  if (days === 1) return `yesterday ${time}`;
  if (days === -1) return `tomorrow ${time}`;
  if (days < 0 && days >= -6) return `${formatter('wholeWeekday', timeZone).format(at)} ${time}`;
  if (days < 0 || days > 6) return `${formatter('date', timeZone).format(at)}, ${time}`;
  return `${formatter('weekday', timeZone).format(at)} ${time}`;
}
