import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { DAY, HOUR, type Instant, MINUTE } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { instant } from '../../core/forms.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { shownTime } from '../../core/wall-time.ts';
import type { Firing } from '../../ware/firing.ts';
import { outOfServiceWords } from '../approval.ts';
import { loadWayWords } from '../board-words.ts';
import {
  type Booking,
  bookingAt,
  downAbout,
  dueBy,
  letsHandsIn,
  nextSlots,
  placeOf,
  type Wanted,
  whyNot,
} from '../calendar.ts';
import { type Cooling, type Forecast, forecast } from '../cooling.ts';
import { type Estimate, estimate } from '../estimate.ts';
import type { LoadState } from '../load-fold.ts';
import type { KilnSettings } from '../settings.ts';
import * as store from '../store/calendar.ts';
import type { LoadRow } from '../store/load-ledger.ts';
import { timesAsked } from '../store/loads.ts';
import { kilnsCooling } from './kiln-history.ts';
import { type KilnNow, kilnsByIds, listKilns } from './kilns.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import { mustBeSeen, rowOf, version } from './loads.ts';
import { schedulesByIds } from './schedules.ts';
import { kilnSettings } from './settings.ts';

/** A load with its place on the calendar, without its plan. */
export interface OnCalendar
  extends Omit<store.BriefRow, 'kilnId' | 'scheduleId' | 'kind' | 'cone' | 'atmosphere'> {
  kiln: KilnNow;
  firing: Firing;
  version: number;
  /** By plan until it is started, then by what was read and by forecast. */
  place: Booking | null;
  /** Null without a schedule. */
  takes: Estimate | null;
  /** By `downAbout`: when it is likely down to what it is opened at; null without a time. */
  opens: Forecast | null;
  /** By the newest reading since it was shut off. */
  letsHandsIn: boolean;
  /** Why it cannot stay where it is, a sentence each: the kiln, the hours or another load changed since. */
  troubles: string[];
}

/** Loads that may be given a place, or another one. */
const PLANNABLE: readonly LoadState[] = ['proposed', 'approved', 'loaded'];
export const isToCome = ({ state }: Pick<OnCalendar, 'state'>): boolean => PLANNABLE.includes(state);

/** For a load that was fired without a schedule: common practice, no source. */
const USUAL_HOURS = 12;
const USUAL_TOP_C = 1200;

interface House {
  settings: KilnSettings;
  timeZone: string;
  /** By the kiln's id. */
  cooling: Map<number, Cooling>;
}

async function houseOf(read: Read, kilnIds: readonly number[]): Promise<House> {
  const [settings, timeZone, cooling] = await Promise.all([
    kilnSettings(read),
    studioTimeZone(read.tx),
    kilnsCooling(read, kilnIds),
  ]);
  return { settings, timeZone, cooling };
}

const drawnBy = ({ power, kilowatts }: KilnNow): number | null => (power === 'electric' ? kilowatts : null);

function hoursOf(
  { takes, kiln }: Pick<OnCalendar, 'takes' | 'kiln'>,
  { settings, cooling }: House,
): Pick<Wanted, 'heatingHours' | 'coolingHours'> {
  if (takes) return { heatingHours: takes.hours, coolingHours: takes.coolHours.to };
  const cools = cooling.get(kiln.id);
  const cold = cools && forecast(0, { c: USUAL_TOP_C, at: 0 }, settings.handsBelowC, cools);
  return { heatingHours: USUAL_HOURS, coolingHours: cold ? cold.to / HOUR : 0 };
}

/** Loads as the calendar sees them. Troubles are looked for among these alone. */
export async function asPlaced(
  read: Read,
  rows: store.BriefRow[],
): Promise<{ loads: OnCalendar[]; house: House }> {
  const [kilns, schedules, house] = await Promise.all([
    kilnsByIds(
      read,
      rows.map(({ kilnId }) => kilnId),
    ),
    schedulesByIds(
      read,
      rows.flatMap(({ scheduleId }) => scheduleId ?? []),
    ),
    houseOf(
      read,
      rows.map(({ kilnId }) => kilnId),
    ),
  ]);
  const { settings, timeZone } = house;
  const loads = rows.map((row): OnCalendar => {
    const { kilnId, scheduleId, kind, cone, atmosphere, ...load } = row;
    const kiln = kilns.get(kilnId) as KilnNow;
    const schedule = scheduleId === null ? undefined : schedules.get(scheduleId);
    const cooling = house.cooling.get(kilnId) as Cooling;
    const takes = schedule ? estimate(kiln, schedule, settings, cooling) : null;
    const times = { ...load, load: load.number, kilnId, kilowatts: drawnBy(kiln) };
    const place = placeOf(
      { ...times, ...hoursOf({ takes, kiln }, house) },
      { house: settings, timeZone, handsBelowC: settings.handsBelowC, cooling, now: read.now },
    );
    return {
      ...load,
      kiln,
      firing: { kind, cone, atmosphere },
      version: load.lastEvent,
      place,
      takes,
      opens: downAbout(load, 'open', { takes, settings, cooling, now: read.now }),
      letsHandsIn: letsHandsIn(load, settings),
      troubles: [],
    };
  });
  const places = placesOf(loads);
  for (const load of loads)
    if (load.place && isToCome(load) && load.place.freeAt > read.now)
      load.troubles = [...kilnTroubles(load.kiln), ...whyNot(load.place, places, settings, timeZone)];
  return { loads, house };
}

const placesOf = (loads: readonly OnCalendar[]): Booking[] => loads.flatMap(({ place }) => place ?? []);

function kilnTroubles(kiln: KilnNow): string[] {
  if (kiln.retiredAt !== null) return [`${kiln.name} is retired.`];
  return kiln.service === 'in-service' ? [] : [outOfServiceWords(kiln)];
}

/** Every load that is not done with, and those emptied since an instant, each with its place. */
export async function loadsOnCalendar(read: Read, since: Instant = read.now): Promise<OnCalendar[]> {
  mustBeAllowed(read.actor, 'loads.see');
  return (await asPlaced(read, await store.loadsSince(read.tx, since))).loads;
}

export interface CalendarPage {
  kilns: KilnNow[];
  /** Loads with a place in the span that was asked for, the earliest first. */
  entries: (OnCalendar & { place: Booking })[];
  /** For technicians: without a place yet, those first that ought to be out first. */
  unplaced: (OnCalendar & { due: Instant | null })[];
  settings: KilnSettings;
}

/** The kilns from one instant to another. */
export async function showCalendar(
  read: Read,
  { from, to }: { from: Instant; to: Instant },
): Promise<CalendarPage> {
  mustBeAllowed(read.actor, 'loads.see');
  const [{ loads, house }, kilns] = await Promise.all([
    store.loadsSince(read.tx, from).then((rows) => asPlaced(read, rows)),
    listKilns(read),
  ]);
  const placed = loads.filter((load): load is OnCalendar & { place: Booking } => load.place !== null);
  const without = may(read.actor.role, 'loads.plan')
    ? loads.filter((load) => isToCome(load) && load.place === null)
    : [];
  const dues = await duesOf(read, without, house);
  const unplaced = without.map((load) => ({ ...load, due: dues.get(load.id) ?? null }));
  return {
    kilns,
    entries: placed
      .filter(({ place }) => place.startsAt < to && from < place.freeAt)
      .sort((a, b) => a.place.startsAt - b.place.startsAt || a.number - b.number),
    unplaced: unplaced.sort((a, b) => (a.due ?? Infinity) - (b.due ?? Infinity) || a.number - b.number),
    settings: house.settings,
  };
}

/** When each of these loads ought to be out, by its id; none for one that nothing asks for. */
async function duesOf(
  read: Read,
  loads: readonly Pick<OnCalendar, 'id' | 'firing'>[],
  { settings, timeZone }: House,
): Promise<Map<number, Instant | null>> {
  const asked = await timesAsked(
    read.tx,
    loads.map(({ id }) => id),
  );
  return new Map(
    loads.map(({ id, firing }) => {
      const times = asked.get(id);
      return [id, dueBy(times ? [times] : [], firing.kind, settings, timeZone)];
    }),
  );
}

export interface PlanPage {
  load: OnCalendar;
  /** When it ought to be out. */
  due: Instant | null;
  /** The next places that work, the soonest first. */
  slots: Booking[];
  /** Why it can have no place at all, as things stand; null when it can. */
  cannot: string | null;
  settings: KilnSettings;
}

const SLOTS = 3;

/** What a technician who places a load has to know. @throws NotFound */
export async function showPlan(read: Read, number: number): Promise<PlanPage> {
  mustBeAllowed(read.actor, 'loads.plan');
  const { id } = await rowOf(read, number);
  const rows = await store.loadsSince(read.tx, read.now);
  const [row] = await store.loadsByNumbers(read.tx, [number]);
  const known = rows.some((one) => one.number === number) || !row ? rows : [...rows, row];
  const { loads, house } = await asPlaced(read, known);
  const load = loads.find((one) => one.id === id) as OnCalendar;
  const cannot = cannotPlan(load);
  return {
    load,
    due: isToCome(load) ? ((await duesOf(read, [load], house)).get(id) ?? null) : null,
    slots: cannot === null ? slotsIn(load, loads, house, read.now) : [],
    cannot,
    settings: house.settings,
  };
}

function slotsIn(load: OnCalendar, loads: readonly OnCalendar[], house: House, now: Instant): Booking[] {
  return nextSlots(wantedOf(load, house), placesOf(loads), house.settings, house.timeZone, now, SLOTS);
}

const wantedOf = (load: OnCalendar, house: House): Wanted => ({
  load: load.number,
  kilnId: load.kiln.id,
  kilowatts: drawnBy(load.kiln),
  ...hoursOf(load, house),
});

function cannotPlan({ number, state, kiln, takes }: OnCalendar): string | null {
  if (!isToCome({ state })) return `Load ${number} is ${state}: it cannot be planned any more.`;
  const [fault] = kilnTroubles(kiln);
  if (fault !== undefined) return fault;
  return takes
    ? null
    : `Load ${number} has no schedule yet: choose one first, it says how long the firing takes.`;
}

export const planForm = z.strictObject({ startsAt: instant(), version: version() });
export const unplanForm = z.strictObject({ version: version() });

const FURTHEST = 366 * DAY;

/**
 * Gives a load its place on the calendar, or another one. Under lock of every kiln, the load's row first: two who plan
 * at once see each other's places.
 * @throws Invalid with every reason beside `startsAt`; Conflict for a load that is being fired or has no schedule
 */
export async function planLoad(
  act: Act,
  number: number,
  { startsAt, version }: z.output<typeof planForm>,
): Promise<Booking> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockLoad(act, number);
  mustBe(load, PLANNABLE, 'planned');
  await mustBeSeen(act, load, version);
  await store.lockKilns(act.tx);
  const { loads, house } = await asPlaced(act, await store.loadsSince(act.tx, act.now));
  const known = loads.find((one) => one.id === load.id) as OnCalendar;
  const cannot = cannotPlan(known);
  if (cannot !== null) throw new Conflict(cannot);
  const refuse = (message: string) => new Invalid([{ path: 'startsAt', message }]);
  if (startsAt < act.now - 5 * MINUTE) throw refuse('This is past.');
  if (startsAt > act.now + FURTHEST) throw refuse('More than a year ahead.');
  const { settings, timeZone } = house;
  const booking = bookingAt(wantedOf(known, house), startsAt, settings, timeZone);
  const reasons = whyNot(booking, placesOf(loads), settings, timeZone);
  if (reasons.length > 0) throw refuse(reasons.join(' '));
  await put(act, load, booking);
  return booking;
}

/**
 * Keeps a locked load where it is on the calendar while it takes another schedule, with the times that follow from
 * that one; nothing for a load without a place.
 * @throws Invalid beside `schedule` where it does not fit there by that one
 */
export async function replan(act: Act, load: LoadRow, scheduleId: number): Promise<void> {
  if (load.startsAt === null) return;
  await store.lockKilns(act.tx);
  const rows = (await store.loadsSince(act.tx, act.now)).map((row) =>
    row.id === load.id ? { ...row, scheduleId } : row,
  );
  const { loads, house } = await asPlaced(act, rows);
  const known = loads.find((one) => one.id === load.id) as OnCalendar;
  const { settings, timeZone } = house;
  const booking = bookingAt(wantedOf(known, house), load.startsAt, settings, timeZone);
  const reasons = whyNot(booking, placesOf(loads), settings, timeZone);
  if (reasons.length > 0)
    throw new Invalid([
      {
        path: 'schedule',
        message: `By that one it does not fit where it is on the calendar: ${reasons.join(' ')} Find another time first.`,
      },
    ]);
  await put(act, load, booking);
}

async function put(act: Act, load: LoadRow, { startsAt, freeAt }: Booking): Promise<void> {
  // Rounded up: never free sooner than it was found to be.
  const times = { startsAt, freeAt: Math.ceil(freeAt) };
  await append(act, load, { kind: 'planned', payload: times }, times);
}

// Earlier or later than this by the clock it is another start than was planned: common practice, no source.
const OFF_SLOT = HOUR;

/**
 * What speaks against starting a locked load then, a sentence each, and the times that follow from it. Whoever asks
 * holds the lock of every kiln.
 */
export async function startAgainst(
  act: Act,
  load: LoadRow,
  startsAt: Instant,
): Promise<{ against: string[]; place: { startsAt: Instant; freeAt: Instant } }> {
  const { loads, house } = await asPlaced(act, await store.loadsSince(act.tx, act.now));
  const known = loads.find((one) => one.id === load.id) as OnCalendar;
  const { settings, timeZone } = house;
  const booking = bookingAt(wantedOf(known, house), startsAt, settings, timeZone);
  const isOff = load.startsAt !== null && Math.abs(startsAt - load.startsAt) > OFF_SLOT;
  return {
    against: [
      ...(isOff ? [`On the calendar it starts ${shownTime(load.startsAt ?? 0, act.now, timeZone)}.`] : []),
      ...whyNot(booking, placesOf(loads), settings, timeZone),
    ],
    place: { startsAt, freeAt: Math.ceil(booking.freeAt) },
  };
}

/** Takes a load off the calendar. @throws Conflict when it is not on it */
export async function unplanLoad(
  act: Act,
  number: number,
  { version }: z.output<typeof unplanForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockLoad(act, number);
  mustBe(load, PLANNABLE, 'taken off the calendar');
  await mustBeSeen(act, load, version);
  if (load.startsAt === null) throw new Conflict(`Load ${number} is not on the calendar.`);
  const times = { startsAt: null, freeAt: null };
  await append(act, load, { kind: 'planned', payload: times }, times);
}

/** Where these loads are, in words that go on inside a sentence. */
export async function loadWay(read: Read, numbers: readonly number[]): Promise<Map<number, string>> {
  const { loads, house } = await asPlaced(read, await store.loadsByNumbers(read.tx, numbers));
  return new Map(loads.map((load) => [load.number, loadWayWords(load, read.now, house.timeZone)]));
}
