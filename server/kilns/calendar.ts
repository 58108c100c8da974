import { DAY, HOUR, type Instant, MINUTE } from '../core/clock.ts';
import { fromWallTime, toWallTime } from '../core/wall-time.ts';
import type { FiringKind } from '../ware/firing.ts';
import {
  type Cooling,
  type CoolingSettings,
  type Forecast,
  forecast,
  halfHourUp,
  mayOpen,
} from './cooling.ts';
import type { Estimate } from './estimate.ts';
import type { LoadState } from './load-fold.ts';
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

/** When somebody is there, and how much power. */
export type House = Pick<KilnSettings, 'staffed' | 'siteKilowatts'>;

/**
 * The times of a load that starts then: it is emptied when somebody is there, on a half hour, not in the night it grows
 * cold.
 */
export function bookingAt(wanted: Wanted, startsAt: Instant, house: House, timeZone: string): Booking {
  const { load, kilnId, kilowatts, heatingHours, coolingHours } = wanted;
  const offAt = startsAt + heatingHours * HOUR;
  const cold = halfHourUp(offAt + coolingHours * HOUR);
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
    const open = nextStaffed(at, house.staffed, timeZone);
    if (open === null) break;
    at = Math.max(at, Math.ceil(open / STEP) * STEP);
    const booking = bookingAt(wanted, at, house, timeZone);
    if (whyNot(booking, others, house, timeZone).length === 0) {
      slots.push(booking);
      // The next one is another opening, not half an hour later.
      at = Math.max(at, nextOpening(booking, house, timeZone) - STEP);
    }
  }
  return slots;
}

/** When somebody is there again on a later day than that on which this booking starts. */
function nextOpening({ startsAt }: Booking, house: House, timeZone: string): Instant {
  const nextNoon = startOfDay(startsAt, timeZone) + 36 * HOUR;
  return nextStaffed(startOfDay(nextNoon, timeZone), house.staffed, timeZone) ?? startsAt + DAY;
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
export const startOfDay = (at: Instant, timeZone: string): Instant =>
  dayStart(dateOf(at, timeZone), timeZone);

/** Minutes after midnight as a clock shows them: '09:30', and '24:00' at the end of a day. */
export const clockText = (minutes: number): string =>
  `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;

/** Monday is 0. */
const weekdayOf = (date: string): number => (new Date(`${date}T00:00Z`).getUTCDay() + 6) % 7;

function wallClock(at: Instant, timeZone: string): { date: string; weekday: number; minutes: number } {
  const wall = toWallTime(at, timeZone);
  const date = wall.slice(0, 10);
  return {
    date,
    weekday: weekdayOf(date),
    minutes: Number(wall.slice(11, 13)) * 60 + Number(wall.slice(14, 16)),
  };
}

/** What a load's own times say of it, and what it is reckoned to take. */
export interface LoadTimes {
  load: number;
  kilnId: number;
  kilowatts: number | null;
  state: LoadState;
  /** By plan. */
  startsAt: Instant | null;
  freeAt: Instant | null;
  startedAt: Instant | null;
  shutOffAt: Instant | null;
  unloadedAt: Instant | null;
  measuredC: number | null;
  measuredAt: Instant | null;
  heatingHours: number;
  coolingHours: number;
}

export interface PlaceSetting {
  house: House;
  timeZone: string;
  handsBelowC: number;
  cooling: Cooling;
  now: Instant;
}

// A firing past its time goes on drawing for as long as anybody knows: common practice, no source.
const GOES_ON = HOUR;

/**
 * Where a load stands on the calendar: by plan until it is started, then by what was done and read, and from there by
 * forecast. A kiln that is not emptied is not free, however long ago it was forecast to be. Null for a load that has
 * no place: cancelled, or never planned.
 */
export function placeOf(load: LoadTimes, setting: PlaceSetting): Booking | null {
  const { house, timeZone, now } = setting;
  const { load: number, kilnId, kilowatts, heatingHours, coolingHours } = load;
  const place = (startsAt: Instant, offAt: Instant, freeAt: Instant): Booking => ({
    load: number,
    kilnId,
    kilowatts,
    startsAt,
    offAt: Math.max(startsAt, Math.min(offAt, freeAt)),
    freeAt: Math.max(startsAt, freeAt),
  });
  const emptied = (cold: Instant): Instant => {
    const at = Math.max(cold, now);
    return nextStaffed(at, house.staffed, timeZone) ?? at;
  };
  const from = load.startedAt ?? load.startsAt;
  const heatedAt = heatedUntil(load, heatingHours, now) ?? now;
  const cold = halfHourUp(heatedAt + coolingHours * HOUR);
  switch (load.state) {
    case 'cancelled':
      return null;
    case 'proposed':
    case 'approved':
    case 'loaded':
      if (load.startsAt === null || load.freeAt === null) return null;
      return place(load.startsAt, heatedAt, load.freeAt);
    case 'firing':
      return place(from ?? now, heatedAt, emptied(cold));
    case 'cooling': {
      const read = coolingRead(load);
      const byReading = read && (forecast(now, read, setting.handsBelowC, setting.cooling)?.to ?? now);
      return place(Math.min(from ?? heatedAt, heatedAt), heatedAt, emptied(byReading ?? cold));
    }
    case 'unloaded': {
      const end = load.unloadedAt ?? load.freeAt;
      if (from === null || end === null) return null;
      return place(from, load.shutOffAt ?? end, end);
    }
  }
}

/** When heating ends: as it was noted, else by plan, for a firing past its time an hour from now; null where nothing says. */
function heatedUntil(
  {
    state,
    startsAt,
    startedAt,
    shutOffAt,
  }: Pick<LoadTimes, 'state' | 'startsAt' | 'startedAt' | 'shutOffAt'>,
  heatingHours: number,
  now: Instant,
): Instant | null {
  switch (state) {
    case 'proposed':
    case 'approved':
    case 'loaded':
      return startsAt === null ? null : startsAt + heatingHours * HOUR;
    case 'firing': {
      const planned = (startedAt ?? startsAt ?? now) + heatingHours * HOUR;
      return planned > now ? planned : now + GOES_ON;
    }
    case 'cooling':
      return shutOffAt ?? now;
    default:
      return null;
  }
}

/**
 * When a load is likely down to what its kiln is opened at, or to what it is emptied at by hand: by the newest reading
 * since it was shut off, before the first by what its schedule takes. Every page asks here, so that all say the same.
 * It tells when to look, and opens nothing. Null without a time or a schedule, and for a load that is done with.
 */
export function downAbout(
  load: Pick<LoadTimes, 'state' | 'startsAt' | 'startedAt' | 'shutOffAt' | 'measuredC' | 'measuredAt'>,
  to: 'open' | 'hands',
  {
    takes,
    settings,
    cooling,
    now,
  }: {
    takes: Pick<Estimate, 'hours' | 'openHours' | 'coolHours'> | null;
    settings: Pick<KilnSettings, 'openBelowC' | 'handsBelowC'>;
    cooling: Cooling;
    now: Instant;
  },
): Forecast | null {
  const read = load.state === 'cooling' ? coolingRead(load) : null;
  if (read) return forecast(now, read, to === 'open' ? settings.openBelowC : settings.handsBelowC, cooling);
  const heatedAt = takes && heatedUntil(load, takes.hours, now);
  if (!takes || heatedAt === null) return null;
  const after = to === 'open' ? takes.openHours : takes.coolHours;
  const [early, late] = [heatedAt + after.from * HOUR, heatedAt + after.to * HOUR];
  return {
    from: halfHourUp(Math.max(early, now)),
    to: halfHourUp(Math.max(late, now)),
    due: load.state === 'cooling' && late <= now,
    rough: true,
  };
}

/** The newest reading that says how far it has cooled: one from before it was shut off says nothing of that. */
export function coolingRead({
  measuredC,
  measuredAt,
  shutOffAt,
}: Pick<LoadTimes, 'measuredC' | 'measuredAt' | 'shutOffAt'>): { c: number; at: Instant } | null {
  if (measuredC === null || measuredAt === null || shutOffAt === null || measuredAt < shutOffAt) return null;
  return { c: measuredC, at: measuredAt };
}

/** Whether the newest reading since it was shut off lets hands in; no forecast does. */
export function letsHandsIn(
  load: Pick<LoadTimes, 'measuredC' | 'measuredAt' | 'shutOffAt'>,
  settings: CoolingSettings,
): boolean {
  const read = coolingRead(load);
  return read !== null && mayOpen(read.c, settings).step === 'unload-with-gloves';
}

/**
 * When a load ought to be out at the latest: the nearest date that a piece of it is wanted by, or the end of the
 * longest wait; null where nothing asks for a time. Dates end at midnight, studio time.
 */
export function dueBy(
  pieces: readonly { wantedBy: string | null; waitingSince: Instant | null }[],
  kind: FiringKind,
  settings: Pick<KilnSettings, 'longestWaitDays' | 'longestWaitBisqueDays'>,
  timeZone: string,
): Instant | null {
  const days = kind === 'bisque' ? settings.longestWaitBisqueDays : settings.longestWaitDays;
  const times = pieces.flatMap(({ wantedBy, waitingSince }) => [
    ...(wantedBy === null ? [] : [dayStart(addDays(wantedBy, 1), timeZone)]),
    ...(waitingSince === null ? [] : [waitingSince + days * DAY]),
  ]);
  return times.length === 0 ? null : Math.min(...times);
}

/** A studio day, from midnight to midnight; 23 or 25 hours where the clocks are changed. */
export interface StudioDay {
  /** '2026-03-07' */
  date: string;
  from: Instant;
  to: Instant;
}

/** So many days from a date on. */
export function daysFrom(date: string, count: number, timeZone: string): StudioDay[] {
  return Array.from({ length: count }, (_, i) => {
    const day = addDays(date, i);
    return { date: day, from: dayStart(day, timeZone), to: dayStart(addDays(day, 1), timeZone) };
  });
}

export const dateOf = (at: Instant, timeZone: string): string => toWallTime(at, timeZone).slice(0, 10);

export const addDays = (date: string, count: number): string =>
  new Date(Date.parse(`${date}T00:00Z`) + count * DAY).toISOString().slice(0, 10);

/** The Monday of a date's week. */
export const mondayOf = (date: string): string => addDays(date, -weekdayOf(date));

/** The whole weeks that a date's month touches: the Monday they begin with, and how many. */
export function weeksOfMonth(date: string): { monday: string; weeks: number } {
  const first = `${date.slice(0, 7)}-01`;
  const monday = mondayOf(first);
  const next = addMonths(first, 1);
  const weeks = Math.ceil((Date.parse(`${next}T00:00Z`) - Date.parse(`${monday}T00:00Z`)) / (7 * DAY));
  return { monday, weeks };
}

/** The first of a month before or after a date's own. */
export function addMonths(date: string, count: number): string {
  const [year, month] = date.split('-').map(Number) as [number, number];
  return new Date(Date.UTC(year, month - 1 + count, 1)).toISOString().slice(0, 10);
}

export const dayStart = (date: string, timeZone: string): Instant =>
  fromWallTime(`${date}T00:00`, timeZone) ??
  fromWallTime(`${date}T01:00`, timeZone) ??
  Date.parse(`${date}T00:00Z`);

/** The hours of a day when somebody is there; null where nobody is. */
export function staffedHours(
  day: StudioDay,
  staffed: KilnSettings['staffed'],
  timeZone: string,
): { from: Instant; to: Instant } | null {
  const hours = staffed[weekdayOf(day.date)];
  if (!hours) return null;
  const at = (minutes: number) =>
    minutes >= 24 * 60 ? day.to : (fromWallTime(`${day.date}T${clockText(minutes)}`, timeZone) ?? day.from);
  return { from: at(hours.from), to: at(hours.to) };
}
