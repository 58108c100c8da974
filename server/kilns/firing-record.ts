import { type Instant, MINUTE } from '../core/clock.ts';
import { coneOrder } from '../ware/cone.ts';
import type { Check } from './approval.ts';
import { CONES } from './cones.ts';
import type { OpeningStep } from './cooling.ts';
import type { Shelf, StartedPlace } from './load-fold.ts';
import type { LevelCones, LevelJudgement, Witness } from './witness.ts';

/** What is looked at before a kiln is lit, as it is read aloud there. Common practice, no source. */
export const CHECK_WORDS = {
  posts: 'Posts stand in line, each above the one below',
  washed: 'Shelves are kiln-washed',
  cones: 'Cones are seen through every spy hole',
  lid: 'Lid or door is shut, its seal clear',
  clear: 'Nothing stands within 45 cm',
  vent: 'The vent is on',
  schedule: 'The right schedule is set, read aloud step by step',
  onCall: 'Somebody is on call, and knows it',
  coAlarm: 'The CO alarm was tested',
  watch: 'Somebody watches it, from the first burner to the last',
  latestShutOff: 'It is agreed when the burners go off at the latest',
} as const;
export type CheckKey = keyof typeof CHECK_WORDS;

const EVERY_KILN: readonly CheckKey[] = [
  'posts',
  'washed',
  'cones',
  'lid',
  'clear',
  'vent',
  'schedule',
  'onCall',
];
const WITH_BURNERS: readonly CheckKey[] = ['coAlarm', 'watch', 'latestShutOff'];

/** The checks of a kiln in their order. */
export const checksFor = (power: 'electric' | 'gas'): CheckKey[] =>
  power === 'gas' ? [...EVERY_KILN, ...WITH_BURNERS] : [...EVERY_KILN];

/** Somebody's turn at a kiln with burners; who, by inside id. */
export interface WatchTurn {
  person: number;
  from: Instant;
  to: Instant;
}

/** Of a `checked` event. Who is on call stands in the load's row: names are in no ledger. */
export interface Checked {
  ticks: CheckKey[];
  watch?: WatchTurn[];
  latestShutOff?: Instant;
}

/** What of the list before firing is still open, all of it where nobody went through it. */
export const openChecks = (power: 'electric' | 'gas', checked: Checked | null): CheckKey[] =>
  checksFor(power).filter((key) => !checked?.ticks.includes(key));

const BURNER_DOUBTS: Partial<Record<CheckKey, string>> = {
  coAlarm: 'The CO alarm was not tested.',
  watch: 'Nobody is down to watch it from the first burner to the last.',
  latestShutOff: 'It is not agreed when the burners go off at the latest.',
};

/** What of the list nobody leaves open where burners are lit: whole sentences; empty of an electric kiln. */
export function burnerDoubts(open: readonly CheckKey[]): string[] {
  const doubts = open.flatMap((key) => BURNER_DOUBTS[key] ?? []);
  return doubts.length === 0 ? [] : ['Never unattended with burners lit.', ...doubts];
}

/**
 * Gaps in a watch, and its end before the burners go off: whole sentences. Empty too where there are no turns at all;
 * for its beginning see `watchDoubts`.
 */
export function watchFaults(watch: readonly WatchTurn[], latestShutOff: Instant | null): string[] {
  const turns = [...watch].sort((a, b) => a.from - b.from);
  const [first] = turns;
  if (!first) return [];
  let until = first.to;
  const faults: string[] = [];
  for (const turn of turns.slice(1)) {
    if (turn.from > until)
      faults.push('There is a gap between two turns: never unattended with burners lit.');
    until = Math.max(until, turn.to);
  }
  if (latestShutOff !== null && until < latestShutOff)
    faults.push('The last turn ends before the latest shut-off.');
  return [...new Set(faults)];
}

/**
 * What of an agreed watch does not hold for burners lit then: whole sentences. A turn that begins, or a shut-off that is
 * due, within a minute counts as at that time: their fields tell no seconds.
 */
export function watchDoubts({ watch = [], latestShutOff }: Checked, litAt: Instant): string[] {
  const begins = Math.min(...watch.map(({ from }) => from));
  return [
    ...(watch.length > 0 && begins > litAt + MINUTE ? ['The first turn begins after it is lit.'] : []),
    ...(latestShutOff !== undefined && latestShutOff < litAt - MINUTE
      ? ['The latest shut-off is past already.']
      : []),
  ];
}

/** A line of the hand log is due this long after the one before: common practice, no source. */
export const HAND_LOG_EVERY = 30 * MINUTE;

/** kPa in each unit that gauges at burners show. Source: NIST SP 811, appendix B (from memory). */
export const PRESSURE_KPA = { mbar: 0.1, kPa: 1, psi: 6.894757, inH2O: 0.249_082 } as const;
export type PressureUnit = keyof typeof PRESSURE_KPA;

/** Of a `gas-reading` event: a line of the hand log. */
export interface GasLine {
  topC: number;
  bottomC?: number;
  pressureKPa?: number;
  /** The unit it was read in, to be shown in. */
  pressureUnit?: PressureUnit;
  /** Per cent open. */
  damper?: number;
  /** Reduction begins or ends with this line. */
  reduction?: 'begins' | 'ends';
  /** Per cent of the flue gas. */
  oxygen?: number;
  /** Cones that are down by then. */
  down?: string[];
}

/** Of a `started` event: what of the list was open, and what spoke against the start, a sentence each. */
export interface Started extends StartedPlace {
  open: CheckKey[];
  /** Checks of the load that were open then; none in what was written before they were looked at. */
  found?: Check['check'][];
  against: string[];
}

/** Of an `opened` event: what was typed, how far it was opened, and what that reading allowed. */
export interface Opened {
  celsius: number;
  how: 'cracked' | 'opened';
  allowed: OpeningStep;
}

/** Of a `witness` event: the cones that were read, by level. */
export interface ConesRead {
  levels: (Shelf & { cones: Witness[] })[];
}

/** An event of a load as it is read here; the payload is whatever its kind wrote. */
export interface RecordEvent {
  number: number;
  kind: string;
  happenedAt: Instant;
  voids: number | null;
  payload: unknown;
}

/** The numbers of the events that were struck out. */
export const struckIn = (events: readonly Pick<RecordEvent, 'voids'>[]): Set<number> =>
  new Set(events.flatMap(({ voids }) => voids ?? []));

/** The events that were not struck out, in the order of their numbers. */
export function standing<E extends Pick<RecordEvent, 'number' | 'voids' | 'kind'>>(
  events: readonly E[],
): E[] {
  const struck = struckIn(events);
  return events.filter(({ number, kind }) => kind !== 'void' && !struck.has(number));
}

/** A temperature that somebody typed. */
export interface Reading {
  at: Instant;
  c: number;
}

/** °C of an event that carries a typed temperature, the hotter one of two; else null. */
export function celsiusOf({ kind, payload }: Pick<RecordEvent, 'kind' | 'payload'>): number | null {
  const { celsius, topC, bottomC } = Object(payload) as {
    celsius?: unknown;
    topC?: unknown;
    bottomC?: unknown;
  };
  if (kind === 'gas-reading' && typeof topC === 'number')
    return typeof bottomC === 'number' ? Math.max(topC, bottomC) : topC;
  return typeof celsius === 'number' ? celsius : null;
}

/** Every typed temperature that stands, in the order of its time, then of its number. */
export const readingsOf = (events: readonly RecordEvent[]): (Reading & { number: number })[] =>
  standing(events)
    .flatMap((event) => {
      const c = celsiusOf(event);
      return c === null ? [] : [{ number: event.number, at: event.happenedAt, c }];
    })
    .sort((a, b) => a.at - b.at || a.number - b.number);

/** The newest typed temperature; null before the first. */
export const newestReading = (events: readonly RecordEvent[]): Reading | null => {
  const last = readingsOf(events).at(-1);
  return last ? { at: last.at, c: last.c } : null;
};

/** The list before firing that counts, the last one since the kiln was filled last; null where none was gone through. */
export function checkedSince<E extends RecordEvent>(events: readonly E[]): E | null {
  const valid = standing(events);
  const filled = valid.findLastIndex(({ kind }) => kind === 'loaded');
  return valid.slice(filled + 1).findLast(({ kind }) => kind === 'checked') ?? null;
}

/** What that list says; null where none was gone through. */
export const lastChecked = (events: readonly RecordEvent[]): Checked | null =>
  (checkedSince(events)?.payload as Checked | undefined) ?? null;

/** Spans of reduction by the hand log, the last one open while it lasts. */
export function reductionsOf(lines: readonly { at: Instant; reduction?: 'begins' | 'ends' | undefined }[]) {
  const spans: { from: Instant; to: Instant | null }[] = [];
  for (const { at, reduction } of [...lines].sort((a, b) => a.at - b.at)) {
    const last = spans.at(-1);
    if (reduction === 'begins' && (!last || last.to !== null)) spans.push({ from: at, to: null });
    if (reduction === 'ends' && last && last.to === null) last.to = at;
  }
  return spans;
}

const sameShelf = (a: Shelf, b: Shelf): boolean => a.part === b.part && a.level === b.level;

/** The cones of each level as they were read last, from the floor up. */
export function conesOf(events: readonly RecordEvent[]): ConesRead['levels'] {
  const levels: ConesRead['levels'] = [];
  for (const { kind, payload } of standing(events)) {
    if (kind !== 'witness') continue;
    for (const read of (payload as ConesRead).levels) {
      const at = levels.findIndex((one) => sameShelf(one, read));
      if (at === -1) levels.push(read);
      else levels[at] = read;
    }
  }
  return levels.filter(({ cones }) => cones.length > 0).sort((a, b) => a.level - b.level);
}

/** How a level is called where its cones are judged: '2', or for a half shelf '2, left half'. */
export const levelWord = ({ part, level }: Shelf): string =>
  part === 'full' ? String(level) : `${level}, ${part} half`;

/** Cones by level as `judge` takes them. */
export const levelCones = (levels: ConesRead['levels']): LevelCones[] =>
  levels.map((one) => ({ level: levelWord(one), cones: one.cones }));

/** Where a level stands in its load: levels of different loads are only comparable by that. */
export function placeIn(shelf: Shelf, shelves: readonly Shelf[]): 'top' | 'middle' | 'bottom' {
  const side = shelves.filter(({ part }) => part === 'full' || shelf.part === 'full' || part === shelf.part);
  if (!side.some(({ level }) => level < shelf.level)) return 'bottom';
  return side.some(({ level }) => level > shelf.level) ? 'middle' : 'top';
}

/** How far a firing was off at the top, in the middle and at the bottom, in cones: the mean of the levels there. */
export function offsByPlace(
  judged: readonly Pick<LevelJudgement, 'level' | 'off'>[],
  shelves: readonly Shelf[],
): { level: string; off: number | null }[] {
  return (['top', 'middle', 'bottom'] as const).flatMap((level) => {
    const here = judged.filter((one) => {
      const shelf = shelves.find((s) => levelWord(s) === one.level);
      return shelf !== undefined && placeIn(shelf, shelves) === level;
    });
    const offs = here.flatMap(({ off }) => (off === null ? [] : [off]));
    if (here.length === 0) return [];
    return [{ level, off: offs.length === 0 ? null : offs.reduce((sum, off) => sum + off, 0) / offs.length }];
  });
}

/** The cones that usually stand on a level: the one before, the one that is wanted, and the one after. */
export function conesAround(wanted: string): string[] {
  const aim = coneOrder(wanted);
  const before = CONES.findLast((cone) => coneOrder(cone) <= aim - 1);
  const after = CONES.find((cone) => coneOrder(cone) >= aim + 1);
  return [before, wanted, after].filter((cone): cone is string => cone !== undefined);
}
