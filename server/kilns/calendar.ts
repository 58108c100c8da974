import { DAY, HOUR, type Instant, MINUTE } from '../core/clock.ts';
import { fromWallTime, toWallTime } from '../core/wall-time.ts';
import type { Hours, KilnSettings } from './settings.ts';

/** A load on the calendar of its kiln. */
export interface Booking {
  load: number;
  kilnId: number;
  startsAt: Instant;
  /** When heating ends and its power is free for another kiln. */
  offAt: Instant;
  /** When it is cold enough to be emptied. */
  freeAt: Instant;
  /** Null for a kiln that takes no power worth counting, such as one with burners. */
  kilowatts: number | null;
}

/** A load that wants a place: how long it heats and, at the longest, cools. */
export interface Wanted {
  load: number;
  kilnId: number;
  heatingHours: number;
  coolingHours: number;
  kilowatts: number | null;
}

type House = Pick<KilnSettings, 'staffed' | 'siteKilowatts'>;

/** The times of a load that starts then: it is emptied when somebody is there, not in the night it grows cold. */
export function bookingAt(wanted: Wanted, startsAt: Instant, house: House, timeZone: string): Booking {
  const { load, kilnId, kilowatts, heatingHours, coolingHours } = wanted;
  const offAt = startsAt + heatingHours * HOUR;
  const cold = offAt + coolingHours * HOUR;
  const freeAt = nextStaffed(cold, house.staffed, timeZone) ?? cold;
  return { load, kilnId, startsAt, offAt, freeAt, kilowatts };
}

/**
 * Why a load cannot stand there, a sentence each; empty where it can. It shares its kiln with nobody from start to
 * empty, starts when somebody is there, and the kilns that heat together stay within the site's kW.
 */
export function whyNot(booking: Booking, others: Booking[], house: House, timeZone: string): string[] {
  const reasons: string[] = [];
  const rest = others.filter(({ load }) => load !== booking.load);
  for (const other of rest)
    if (other.kilnId === booking.kilnId && overlap(booking, other))
      reasons.push(`Load ${other.load} has this kiln then.`);
  if (!isStaffed(booking.startsAt, house.staffed, timeZone))
    reasons.push('Nobody is in the studio at that time to load and start it.');
  const most = house.siteKilowatts;
  if (most !== null && booking.kilowatts !== null) {
    const peak = booking.kilowatts + mostDrawn(booking, rest);
    if (peak > most + 1e-9)
      reasons.push(
        `With the kilns that heat at that time it is ${tidy(peak)} kW; the studio has ${tidy(most)}.`,
      );
  }
  return reasons;
}

const tidy = (kilowatts: number) => Math.round(10 * kilowatts) / 10;

const overlap = (a: Booking, b: Booking) => a.startsAt < b.freeAt && b.startsAt < a.freeAt;

/** The most kW that others draw at one moment while this one heats: it can only rise where one of them starts. */
function mostDrawn(booking: Booking, others: Booking[]): number {
  const heating = others.filter(
    (o) => o.kilowatts !== null && o.startsAt < booking.offAt && booking.startsAt < o.offAt,
  );
  const moments = [booking.startsAt, ...heating.map((o) => o.startsAt).filter((at) => at > booking.startsAt)];
  return Math.max(
    0,
    ...moments.map((at) =>
      heating
        .filter((o) => o.startsAt <= at && at < o.offAt)
        .reduce((sum, o) => sum + (o.kilowatts as number), 0),
    ),
  );
}

const STEP = 30 * MINUTE;
const LOOK_AHEAD = 42 * DAY;

/** The next times at which a load could start, on the half hour, soonest first. */
export function nextSlots(
  wanted: Wanted,
  others: Booking[],
  house: House,
  timeZone: string,
  now: Instant,
  count = 3,
): Booking[] {
  const slots: Booking[] = [];
  const first = Math.ceil(now / STEP) * STEP;
  for (let at = first; at < now + LOOK_AHEAD && slots.length < count; at += STEP) {
    const booking = bookingAt(wanted, at, house, timeZone);
    if (whyNot(booking, others, house, timeZone).length === 0) {
      slots.push(booking);
      // The next one is another opening, not half an hour later.
      at = Math.max(at, nextChange(booking, house, timeZone) - STEP);
    }
  }
  return slots;
}

/** When the day's next staffed stretch begins, after the one this booking starts in. */
function nextChange({ startsAt }: Booking, house: House, timeZone: string): Instant {
  const midnight = startOfDay(startsAt, timeZone) + 36 * HOUR;
  return nextStaffed(startOfDay(midnight, timeZone), house.staffed, timeZone) ?? startsAt + DAY;
}

/** Whether somebody is in the studio then. */
export function isStaffed(at: Instant, staffed: KilnSettings['staffed'], timeZone: string): boolean {
  const { weekday, minutes } = wallClock(at, timeZone);
  const hours = staffed[weekday];
  return !!hours && hours.from <= minutes && minutes < hours.to;
}

/** The first moment not before `at` when somebody is there; null where nobody ever is. */
export function nextStaffed(at: Instant, staffed: KilnSettings['staffed'], timeZone: string): Instant | null {
  if (isStaffed(at, staffed, timeZone)) return at;
  for (let day = 0; day <= 7; day++) {
    const within = startOfDay(at, timeZone) + day * DAY + 12 * HOUR;
    const { weekday, date } = wallClock(within, timeZone);
    const hours: Hours | null | undefined = staffed[weekday];
    if (!hours) continue;
    const opens = fromWallTime(`${date}T${clockText(hours.from)}`, timeZone);
    if (opens !== null && opens >= at) return opens;
  }
  return null;
}

/** Midnight, or the first moment of a day that has none. */
export function startOfDay(at: Instant, timeZone: string): Instant {
  const { date } = wallClock(at, timeZone);
  return fromWallTime(`${date}T00:00`, timeZone) ?? fromWallTime(`${date}T01:00`, timeZone) ?? at;
}

export const clockText = (minutes: number): string =>
  `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;

/** Monday is 0. */
function wallClock(at: Instant, timeZone: string): { date: string; weekday: number; minutes: number } {
  const wall = toWallTime(at, timeZone);
  const date = wall.slice(0, 10);
  const weekday = (new Date(`${date}T00:00Z`).getUTCDay() + 6) % 7;
  return { date, weekday, minutes: Number(wall.slice(11, 13)) * 60 + Number(wall.slice(14, 16)) };
}
