import type { Instant } from './clock.ts';

const formatters = new Map<string, Intl.DateTimeFormat>();

function formatter(timeZone: string): Intl.DateTimeFormat {
  let known = formatters.get(timeZone);
  if (!known) {
    known = new Intl.DateTimeFormat('en-GB', {
      timeZone,
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
      second: '2-digit',
      hourCycle: 'h23',
    });
    formatters.set(timeZone, known);
  }
  return known;
}

/** `2026-03-07T14:05` as the clock on the studio's wall shows it (the value of a datetime-local field). */
export function toWallTime(at: Instant, timeZone: string): string {
  const part: Record<string, string> = {};
  for (const { type, value } of formatter(timeZone).formatToParts(at)) part[type] = value;
  return `${part.year}-${part.month}-${part.day}T${part.hour}:${part.minute}`;
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

export function isTimeZone(name: string): boolean {
  try {
    formatter(name);
    return true;
  } catch {
    return false;
  }
}

/** `today 14:05`, `yesterday 09:30`, `Mon 14:05` within the week, else `3 Mar 2026`. */
export function shownTime(at: Instant, now: Instant, timeZone: string): string {
  const wall = toWallTime(at, timeZone);
  const days = Math.round(
    (Date.parse(toWallTime(now, timeZone).slice(0, 10)) - Date.parse(wall.slice(0, 10))) / 86_400_000,
  );
  const time = wall.slice(11);
  if (days === 0) return `today ${time}`;
  if (days === 1) return `yesterday ${time}`;
  const date = new Intl.DateTimeFormat('en-GB', {
    timeZone,
    day: 'numeric',
    month: 'short',
    year: 'numeric',
  }).format(at);
  if (days < 0 || days > 6) return `${date}, ${time}`;
  return `${new Intl.DateTimeFormat('en-GB', { timeZone, weekday: 'short' }).format(at)} ${time}`;
}
