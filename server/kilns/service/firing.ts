import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { FUTURE, type Instant, MINUTE } from '../../core/clock.ts';
import { Conflict, Doubtful, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { choice, count, flag, instant, quantity, text } from '../../core/forms.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { writtenCone } from '../../ware/service/index.ts';
import { outOfServiceWords } from '../approval.ts';
import { mayOpen } from '../cooling.ts';
import {
  burnerDoubts,
  type Checked,
  type CheckKey,
  checksFor,
  lastChecked,
  newestReading,
  openChecks,
  PRESSURE_KPA,
  type PressureUnit,
  type Started,
  standing,
  type WatchTurn,
  watchDoubts,
  watchFaults,
} from '../firing-record.ts';
import type { LoadState } from '../load-fold.ts';
import { foldLoad } from '../load-fold.ts';
import { lockKilns } from '../store/calendar.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import { standsIn } from '../store/loads.ts';
import { startAgainst } from './calendar.ts';
import type { KilnNow } from './kilns.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import { kilnOf, MOST, openNow } from './loads.ts';
import { mustBeShown } from './safety-gate.ts';
import { kilnSettings } from './settings.ts';

type LoadRow = ledgerStore.LoadRow;

/** °C as a pyrometer shows them. */
const celsius = () => quantity(-30, 1500, '°C');
const common = { happenedAt: instant().optional(), note: text(500).optional() };

const watchRow = z.strictObject({
  /** The name of somebody who may fire this kiln. */
  name: text(80),
  from: instant(),
  to: instant(),
});
export const MOST_TURNS = 12;

const tick = () => flag().default(false);

export const checkForm = z.strictObject({
  posts: tick(),
  washed: tick(),
  cones: tick(),
  lid: tick(),
  clear: tick(),
  vent: tick(),
  schedule: tick(),
  /** Who is on call, and how they are reached. */
  onCall: text(120).optional(),
  /** Only of a kiln with burners. */
  coAlarm: tick(),
  latestShutOff: instant().optional(),
  watch: z.array(watchRow).max(MOST_TURNS, `At most ${MOST_TURNS} turns.`).default([]),
  note: text(500).optional(),
});

/** The fields of the list but for the turns of the watch. */
export const checkFields = checkForm.omit({ watch: true });
export { watchRow };

export const startForm = z.strictObject({
  /** It is started although something speaks against it: the calendar, the hours, or what is open where burners are lit. */
  confirm: flag().optional(),
  ...common,
});
export const readingForm = z.strictObject({ celsius: celsius(), ...common });
export const shutOffForm = z.strictObject({ celsius: celsius().optional(), ...common });
export const gasForm = z.strictObject({
  topC: celsius(),
  bottomC: celsius().optional(),
  pressure: quantity(0, 10_000).optional(),
  pressureUnit: choice(Object.keys(PRESSURE_KPA) as [PressureUnit, ...PressureUnit[]]).default('mbar'),
  /** Per cent open. */
  damper: quantity(0, 100).optional(),
  reduction: choice(['begins', 'ends']).optional(),
  /** Per cent. */
  oxygen: quantity(0, 25).optional(),
  down: z.array(writtenCone()).max(9, 'At most 9.').default([]),
  ...common,
});
export const openForm = z.strictObject({
  celsius: celsius(),
  how: choice(['cracked', 'opened']),
  /** It was done although it is too hot by the settings. */
  confirm: flag().optional(),
  ...common,
});
export const strikeOutForm = z.strictObject({ event: count(1, MOST), reason: text(300) });

/**
 * When something was done: now, or a time that somebody typed, not in the future nor before `since`.
 * @throws Invalid beside the field
 */
export function timeOf(
  { now }: Act,
  typed: Instant | undefined,
  since: Instant | null,
  what: string,
): Instant {
  if (typed === undefined) return now;
  const refuse = (message: string) => new Invalid([{ path: 'happenedAt', message }]);
  if (typed > now + FUTURE) throw refuse('This lies in the future.');
  // A minute is all that a form's field tells.
  if (since !== null && typed < since - MINUTE) throw refuse(`It was not ${what} yet.`);
  return typed;
}

const names = ({ firers }: KilnNow): string =>
  firers.length === 0 ? 'a technician names who may' : `ask ${firers.map(({ name }) => name).join(' or ')}`;

/** Only who may fire this kiln. @throws Forbidden, saying whom to ask */
export function mustFire(kiln: KilnNow): void {
  if (!kiln.mayFire) throw new Forbidden(`You are not named as one who fires ${kiln.name}: ${names(kiln)}.`);
}

/** Who fires this kiln, or a technician. @throws Forbidden, saying whom to ask */
export function mustBeThere({ actor }: Read, kiln: KilnNow): void {
  if (!kiln.mayFire && !may(actor.role, 'firings.record'))
    throw new Forbidden(`This is written by whoever fires ${kiln.name}, or a technician: ${names(kiln)}.`);
}

/** The list before firing, ticked; what is left open needs a word at the start, and stops nobody. */
export async function checkBeforeFiring(
  act: Act,
  number: number,
  command: z.output<typeof checkForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  const kiln = await kilnOf(act, load);
  mustBeThere(act, kiln);
  mustBe(load, ['loaded'], 'checked');
  const { note, onCall, latestShutOff, watch: turns, ...flags } = command;
  const watch = kiln.power === 'gas' ? turns.map((turn, i) => watchTurn(kiln, turn, i)) : [];
  if (latestShutOff !== undefined && latestShutOff < act.now)
    throw new Invalid([{ path: 'latestShutOff', message: 'This is past already.' }]);
  const ticked: Record<CheckKey, boolean> = {
    ...flags,
    onCall: onCall !== undefined,
    watch: watch.length > 0 && watchFaults(watch, latestShutOff ?? null).length === 0,
    latestShutOff: latestShutOff !== undefined,
  };
  const payload: Checked = {
    ticks: checksFor(kiln.power).filter((key) => ticked[key]),
    ...(watch.length > 0 && { watch }),
    ...(kiln.power === 'gas' && latestShutOff !== undefined && { latestShutOff }),
  };
  await append(act, load, { kind: 'checked', payload, note }, { onCall: onCall ?? '' });
}

function watchTurn(kiln: KilnNow, { name, from, to }: z.output<typeof watchRow>, index: number): WatchTurn {
  const refuse = (field: string, message: string) =>
    new Invalid([{ path: `watch.${index}.${field}`, message }]);
  const known = kiln.firers.filter((one) => one.name.toLowerCase() === name.toLowerCase());
  const [firer] = known;
  if (!firer || known.length > 1)
    throw refuse('name', firer ? 'Two people have this name.' : `Nobody of this name may fire ${kiln.name}.`);
  if (to <= from) throw refuse('to', 'The turn ends after it begins.');
  return { person: firer.id, from, to };
}

/**
 * Starts a firing; its place on the calendar moves with it. What of the list is open, or came to light since the load
 * was approved, must be explained in a note.
 * @throws Forbidden for whoever may not fire this kiln or was not shown how, Conflict while another load is in it or it is out of service,
 * Doubtful where burners would be lit without alarm, watch or latest shut-off, or before or after what was agreed, or
 * the calendar, the hours or the kW speak against it; confirmed, it is recorded with what spoke against it
 */
export async function startFiring(
  act: Act,
  number: number,
  command: z.output<typeof startForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  // Of every kiln: two who start at once see each other's kW.
  await lockKilns(act.tx);
  const kiln = await kilnOf(act, load);
  mustFire(kiln);
  await mustBeShown(act, kiln.power === 'gas' ? 'fire-gas' : 'fire-electric');
  mustBe(load, ['loaded'], 'started');
  if (kiln.service === 'out-of-service') throw new Conflict(outOfServiceWords(kiln));
  const other = await standsIn(act.tx, load.kilnId, load.number);
  if (other) throw new Conflict(`Load ${other.number} is still in ${kiln.name}: it is ${other.state}.`);
  const checked = lastChecked(await ledgerStore.eventsOf(act.tx, load.id));
  const open = openChecks(kiln.power, checked);
  const startedAt = timeOf(act, command.happenedAt, load.loadedAt, 'loaded');
  const { against: byCalendar, place } = await startAgainst(act, load, startedAt);
  const against = [...burnerDoubts(open), ...(checked ? watchDoubts(checked, startedAt) : []), ...byCalendar];
  const found = await openNow(act, load, kiln);
  const wantsNote = open.length > 0 || found.length > 0;
  if (against.length > 0 && !command.confirm)
    throw new Doubtful(
      wantsNote ? 'note' : '',
      `${against.join(' ')} Is it started all the same?${wantsNote ? ' Say why.' : ''}`,
    );
  if (wantsNote && command.note === undefined) {
    const list = `${open.length === 1 ? '1 line' : `${open.length} lines`} of the list before firing ${open.length === 1 ? 'is' : 'are'} not ticked.`;
    const why = [...(open.length > 0 ? [list] : []), ...found.map(({ words }) => words)];
    throw new Invalid([{ path: 'note', message: `${why.join(' ')} Say why it is started all the same.` }]);
  }
  // A load without a place stands on the calendar by its start alone.
  const moved = load.startsAt !== null && place;
  await append(
    act,
    load,
    {
      kind: 'started',
      state: 'firing',
      payload: {
        open,
        found: found.map(({ check }) => check),
        against,
        ...(moved && { place: moved }),
      } satisfies Started,
      happenedAt: startedAt,
      note: command.note,
    },
    { startedAt, startedBy: act.actor.id, ...moved },
  );
}

/** What an event with a typed temperature changes of its load's row: only the newest is shown. */
export const measured = (
  { measuredAt }: Pick<LoadRow, 'measuredAt'>,
  measuredC: number | undefined,
  at: Instant,
): Partial<LoadRow> =>
  measuredC === undefined || (measuredAt !== null && measuredAt > at) ? {} : { measuredC, measuredAt: at };

/** A temperature read from the pyrometer and typed. */
export async function noteReading(
  act: Act,
  number: number,
  command: z.output<typeof readingForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  mustBeThere(act, await kilnOf(act, load));
  mustBe(load, ['firing', 'cooling'], 'read');
  const { celsius: c, happenedAt, note } = command;
  const at = timeOf(act, happenedAt, load.startedAt, 'started');
  await append(
    act,
    load,
    { kind: 'reading', payload: { celsius: c }, happenedAt: at, note },
    measured(load, c, at),
  );
}

/** A line of the hand log of a kiln with burners. */
export async function noteGasLine(
  act: Act,
  number: number,
  command: z.output<typeof gasForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  const kiln = await kilnOf(act, load);
  mustBeThere(act, kiln);
  if (kiln.power !== 'gas') throw new Conflict(`${kiln.name} has no burners: type a reading instead.`);
  mustBe(load, ['firing', 'cooling'], 'read');
  const { happenedAt, note, pressure, pressureUnit, down, ...line } = command;
  const at = timeOf(act, happenedAt, load.startedAt, 'started');
  const payload = {
    ...line,
    ...(pressure !== undefined && { pressureKPa: pressure * PRESSURE_KPA[pressureUnit], pressureUnit }),
    ...(down.length > 0 && { down }),
  };
  await append(
    act,
    load,
    { kind: 'gas-reading', payload, happenedAt: at, note },
    measured(load, Math.max(line.topC, line.bottomC ?? line.topC), at),
  );
}

/** The burners or the power are off: from now on it cools. */
export async function shutOff(
  act: Act,
  number: number,
  command: z.output<typeof shutOffForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  mustBeThere(act, await kilnOf(act, load));
  mustBe(load, ['firing'], 'shut off');
  const { celsius: c, happenedAt, note } = command;
  const at = timeOf(act, happenedAt, load.startedAt, 'started');
  await append(
    act,
    load,
    {
      kind: 'shut-off',
      state: 'cooling',
      payload: c === undefined ? {} : { celsius: c },
      happenedAt: at,
      note,
    },
    { shutOffAt: at, ...measured(load, c, at) },
  );
}

/**
 * A kiln that cools is cracked or opened, with what its pyrometer says, typed. Nothing that was reckoned counts here.
 * @throws Doubtful where the reading is above what the studio opens at; confirmed, it is recorded as it was done.
 * Forbidden for whoever was not shown how, where the studio asks for it
 */
export async function openKiln(act: Act, number: number, command: z.output<typeof openForm>): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  const kiln = await kilnOf(act, load);
  mustBeThere(act, kiln);
  await mustBeShown(act, 'open-kiln');
  mustBe(load, ['cooling'], 'opened');
  const { celsius: c, how, confirm, happenedAt, note } = command;
  const { step, words } = mayOpen(c, await kilnSettings(act));
  const isFine =
    step === 'open' ||
    step === 'unload-with-gloves' ||
    (step === 'crack-by-firer' && how === 'cracked' && kiln.mayFire);
  if (!isFine && !confirm) {
    const who = step === 'crack-by-firer' && !kiln.mayFire ? ` You are not named: ${names(kiln)}.` : '';
    const [lead, why] = step === 'shut' ? ['Shut it. Do not reach in. ', ' Say why.'] : ['', ''];
    throw new Doubtful('celsius', `${lead}At ${c} °C: ${words}${who} Was it ${how} all the same?${why}`);
  }
  if (step === 'shut' && note === undefined)
    throw new Invalid([{ path: 'note', message: `Say why it was ${how} at ${c} °C.` }]);
  const at = timeOf(act, happenedAt, load.shutOffAt, 'shut off');
  await append(
    act,
    load,
    { kind: 'opened', payload: { celsius: c, how, allowed: step }, happenedAt: at, note },
    { ...(how === 'opened' && { openedAt: at }), ...measured(load, c, at) },
  );
}

/** What may be struck out, and the state a load goes back to by it. */
const STRIKABLE: Record<string, LoadState | null> = {
  reading: null,
  'gas-reading': null,
  witness: null,
  opened: null,
  started: 'loaded',
  'shut-off': 'firing',
};

/**
 * Strikes out what was written wrongly or tapped by mistake: who wrote it, or a technician. A start or a shut-off only
 * while nothing has been done on it.
 * @throws Forbidden for somebody else's, Conflict where it cannot be taken back
 */
export async function strikeOutEvent(
  act: Act,
  number: number,
  { event: wanted, reason }: z.output<typeof strikeOutForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.fire');
  const load = await lockLoad(act, number);
  const kiln = await kilnOf(act, load);
  mustBeThere(act, kiln);
  const events = await ledgerStore.eventsOf(act.tx, load.id);
  const event = events.find((one) => one.number === wanted);
  if (!event) throw new NotFound(`Load ${number} has no entry ${wanted}.`);
  if (event.by !== act.actor.id && !may(act.actor.role, 'firings.record'))
    throw new Forbidden('Only whoever wrote it strikes it out, or a technician.');
  const back = STRIKABLE[event.kind];
  if (back === undefined) throw new Conflict('This cannot be struck out.');
  if (events.some(({ voids }) => voids === wanted)) throw new Conflict('This is struck out already.');
  if (back !== null) mustBe(load, [back === 'loaded' ? 'firing' : 'cooling'], 'taken back');
  else
    mustBe(
      load,
      event.kind === 'witness' ? ['cooling', 'unloaded'] : ['loaded', 'firing', 'cooling'],
      'changed',
    );
  const since = standing(events).filter((one) => one.number > wanted);
  if (event.kind === 'started' && since.some(({ kind }) => kind !== 'log'))
    throw new Conflict('It was read since it was started: strike that out first.');
  if (event.kind === 'shut-off' && since.some(({ kind }) => kind === 'opened' || kind === 'witness'))
    throw new Conflict('It was opened since: strike that out first.');
  const after = [
    ...events,
    { ...event, number: load.lastEvent + 1, kind: 'void', voids: wanted, state: back, payload: {} },
  ];
  const { startsAt, freeAt, startedAt, startedBy, shutOffAt, openedAt } = foldLoad(after);
  const newest = newestReading(after);
  await append(
    act,
    load,
    { kind: 'void', voids: wanted, note: reason, ...(back !== null && { state: back }) },
    {
      startsAt,
      freeAt,
      startedAt,
      startedBy,
      shutOffAt,
      openedAt,
      measuredC: newest?.c ?? null,
      measuredAt: newest?.at ?? null,
    },
  );
}
