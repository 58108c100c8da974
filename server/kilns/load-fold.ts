import type { Instant } from '../core/clock.ts';
import { struckIn } from './firing-record.ts';
import type { Level, Load } from './packing/problem.ts';

/** A load's states, in the order in which it goes through them. */
export const LOAD_STATES = [
  'proposed',
  'approved',
  'loaded',
  'firing',
  'cooling',
  'unloaded',
  'cancelled',
] as const;
export type LoadState = (typeof LOAD_STATES)[number];

/** One shelf of a load; `level` is counted from 1 at the floor on its side, and a full one counts for both sides. */
export interface Shelf {
  part: Level['part'];
  level: number;
}

/** Where a piece of a load stands by plan. */
export interface Spot extends Shelf {
  number: number;
}

/** The shelves of a plan, in its own order. */
export function shelvesOf({ levels }: Pick<Load, 'levels'>): Shelf[] {
  const count = { full: 0, left: 0, right: 0 };
  return levels.map(({ part }) => {
    count[part] += 1;
    return { part, level: part === 'full' ? count.full : count.full + count[part] };
  });
}

/** Where each piece of a plan stands, in the plan's order. */
export function spotsOf(load: Pick<Load, 'levels'>): Spot[] {
  const shelves = shelvesOf(load);
  return load.levels.flatMap(({ pieces }, index) => {
    const shelf = shelves[index] as Shelf;
    return pieces.map(({ id }) => ({ number: Number(id), ...shelf }));
  });
}

/** Whether `lower` carries `upper`, directly or not. */
export const isBelow = (lower: Shelf, upper: Shelf): boolean =>
  lower.level < upper.level && (lower.part === 'full' || lower.part === upper.part);

/** An event of a load as the fold needs it; the payload is whatever its kind wrote. */
export interface Folded {
  number: number;
  kind: string;
  happenedAt: Instant;
  by: number;
  state: LoadState | null;
  voids: number | null;
  payload: unknown;
}

/** What a change of a plan did, as it is kept in `proposed` and `changed` events. */
export interface PlanChange {
  /** Pieces that came in or stand on another level. */
  placed: Spot[];
  removed: number[];
  /** Wishes as they are after it. */
  pins?: Record<string, number>;
  leftOut?: number[];
}

/** What a tick of a level says, as it is kept in `level-loaded` events. */
export interface LevelTick extends Shelf {
  notIn: number[];
}

/** Of a `started` event: the place a planned load takes by its start; struck out, the one before counts again. */
export interface StartedPlace {
  place?: { startsAt: Instant; freeAt: Instant };
}

/** What the events of a load add up to. */
export interface LoadFacts {
  state: LoadState;
  lastEvent: number;
  pieces: Map<number, Spot & { reserves: boolean; isIn: boolean | null }>;
  pins: Record<string, number>;
  leftOut: number[];
  startsAt: Instant | null;
  freeAt: Instant | null;
  approvedAt: Instant | null;
  approvedBy: number | null;
  loadedAt: Instant | null;
  startedAt: Instant | null;
  startedBy: number | null;
  shutOffAt: Instant | null;
  openedAt: Instant | null;
  unloadedAt: Instant | null;
  cancelledAt: Instant | null;
}

const TIMES = {
  approved: 'approvedAt',
  loaded: 'loadedAt',
  started: 'startedAt',
  'shut-off': 'shutOffAt',
  opened: 'openedAt',
  unloaded: 'unloadedAt',
  cancelled: 'cancelledAt',
} as const;

/** States in which a load holds its pieces. */
const HOLDING: readonly LoadState[] = ['approved', 'loaded', 'firing', 'cooling'];

/**
 * The state of a load from its events in order of their numbers; a struck-out event counts for nothing, the state that
 * striking it out led to does. Total: what cannot be, such as a tick of a level nobody stands on, changes nothing.
 */
export function foldLoad(events: readonly Folded[]): LoadFacts {
  const struck = struckIn(events);
  const facts: LoadFacts = {
    state: 'proposed',
    lastEvent: 0,
    pieces: new Map(),
    pins: {},
    leftOut: [],
    startsAt: null,
    freeAt: null,
    approvedAt: null,
    approvedBy: null,
    loadedAt: null,
    startedAt: null,
    startedBy: null,
    shutOffAt: null,
    openedAt: null,
    unloadedAt: null,
    cancelledAt: null,
  };
  for (const event of events) {
    facts.lastEvent = event.number;
    if (!struck.has(event.number)) step(facts, event);
  }
  for (const piece of facts.pieces.values())
    piece.reserves = HOLDING.includes(facts.state) && piece.isIn !== false;
  return facts;
}

function step(facts: LoadFacts, event: Folded): void {
  if (event.state !== null) facts.state = event.state;
  const time = TIMES[event.kind as keyof typeof TIMES];
  // A cracked lid lets nobody in: only an opened one counts.
  const isCracked = event.kind === 'opened' && (event.payload as { how?: unknown }).how === 'cracked';
  if (time && !isCracked) facts[time] = event.happenedAt;
  if (event.kind === 'approved') facts.approvedBy = event.by;
  if (event.kind === 'started') facts.startedBy = event.by;
  if (event.kind === 'proposed' || event.kind === 'changed')
    change(facts, event.payload as Partial<PlanChange>);
  if (event.kind === 'planned') {
    const { startsAt, freeAt } = event.payload as Pick<LoadFacts, 'startsAt' | 'freeAt'>;
    Object.assign(facts, { startsAt, freeAt });
  }
  if (event.kind === 'started') Object.assign(facts, (event.payload as StartedPlace).place);
  if (event.kind === 'level-loaded') tick(facts, event.payload as LevelTick);
  // Back to filling it: what was said when it was full no longer holds.
  if (event.kind === 'void' && event.state === 'approved') facts.loadedAt = null;
}

function change(facts: LoadFacts, { placed = [], removed = [], pins, leftOut }: Partial<PlanChange>): void {
  for (const number of removed) facts.pieces.delete(number);
  for (const { number, part, level } of placed)
    facts.pieces.set(number, { number, part, level, reserves: false, isIn: null });
  if (pins) facts.pins = pins;
  if (leftOut) facts.leftOut = leftOut;
}

function tick(facts: LoadFacts, { part, level, notIn }: LevelTick): void {
  for (const piece of facts.pieces.values())
    if (piece.part === part && piece.level === level) piece.isIn = !notIn.includes(piece.number);
}

/** The difference between two arrangements, for the event that records it. */
export function changeBetween(
  before: readonly Spot[],
  after: readonly Spot[],
): Pick<PlanChange, 'placed' | 'removed'> {
  const was = new Map(before.map((spot) => [spot.number, spot]));
  const is = new Set(after.map(({ number }) => number));
  return {
    placed: after.filter(({ number, part, level }) => {
      const old = was.get(number);
      return !old || old.part !== part || old.level !== level;
    }),
    removed: before.filter(({ number }) => !is.has(number)).map(({ number }) => number),
  };
}
