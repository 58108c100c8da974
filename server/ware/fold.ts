import type { Instant } from '../core/clock.ts';
import type { CoatPut, DryHow, Plan, WeighingMoment } from './route.ts';
import { type Stage, WAITING } from './stage.ts';

/** What is done to a piece, one word each. */
export const PIECE_EVENTS = [
  'registered',
  'drying',
  'asked-dry',
  'dry',
  'hole',
  'glazed',
  'handed-in',
  'another-firing',
  'entered-load',
  'left-load',
  'came-out',
  'outcome',
  'picked-up',
  'here-again',
  'returned',
  'yes',
  'flagged',
  'unflagged',
  'refire',
  'left-behind',
  'lost',
  'claimed',
  'assigned',
  'measured',
  'edited',
  'planned',
  'waxed',
  'coated',
  'weighed',
  'weighing-struck',
  'inside-dry',
  'scratched',
] as const;
export type PieceEventKind = (typeof PIECE_EVENTS)[number];

/** What an event says beyond its kind: only words of ours, numbers and ids. */
export interface PieceEventPayload {
  /** registered: glazed raw and fired once. */
  once?: boolean | undefined;
  /** registered without a name: what it looks like. */
  looks?: 'greenware' | 'bisque' | 'fired' | undefined;
  /** returned, lost: why. */
  reason?: string | undefined;
  /** yes: the tray that goes with it, mm. */
  trayMm?: number | undefined;
  /** handed-in: foot wiped and glaze held back. */
  heldBack?: boolean | undefined;
  /** glazed, coated, scratched, edited, another-firing: a yes given before does not hold for what it is now. */
  endsYes?: boolean | undefined;
  /** came-out, outcome. */
  outcome?: string | undefined;
  /** assigned: to whom. */
  person?: number | undefined;
  group?: number | undefined;
  /** edited, another-firing: what changed, as 'before → after'. */
  changed?: Record<string, string> | undefined;
  /** glazed: codes of buckets; a glaze from outside is 'own'. */
  glazes?: string[] | undefined;
  /** glazed: what each of these held then, in the same order; nothing is known of a glaze from outside. */
  held?: { gravity: number | null; reading: number | null; batch: number | null }[] | undefined;
  /** planned: what goes where. */
  plan?: Plan | undefined;
  /** coated: one coat, as it went on. */
  coat?: CoatPut | undefined;
  /** weighed: g, and when in its life; just glazed, the dry thickness in mm that follows for its last coat. */
  weighing?: { grams: number; moment: WeighingMoment; mm?: number | undefined } | undefined;
  /** weighing-struck: the number of the event that does not count. */
  voids?: number | undefined;
  /** inside-dry: how it was told. */
  how?: DryHow | undefined;
  /** coated: the wall was still wet; inside-dry: the scale had found it wet. */
  onWet?: boolean | undefined;
  /** scratched: dry thickness of the coat in this position, mm. */
  scratch?: { position: number; mm: number } | undefined;
}

export interface PieceEvent {
  kind: PieceEventKind;
  at: Instant;
  by: number;
  /** The stage it led to, where it changed it. */
  stage: Stage | null;
  /** Of the load that is entered, left or come out of. */
  load: number | null;
  payload: PieceEventPayload;
}

/** Where a piece stands by its events; the row of `pieces` keeps a copy of most of it. */
export interface Standing {
  stage: Stage;
  stageSince: Instant;
  load: number | null;
  /** Since it asks to be checked or waits for a firing; a load that is cancelled gives the place back. */
  waitingSince: Instant | null;
  dryAt: Instant | null;
  dryBy: number | null;
  footAt: Instant | null;
  yesAt: Instant | null;
  yesBy: number | null;
  trayMm: number;
  isFlagged: boolean;
  isBisqued: boolean;
  isOnce: boolean;
  /** Where it was before it went into its load, was taken away or was lost. */
  before: Stage | null;
  /** The load it came out of, while nothing has moved it since. */
  outOf: number | null;
}

/** Stages of ware that is not here. */
const AWAY: readonly Stage[] = ['picked-up', 'left-behind', 'lost'];

const unborn: Standing = {
  stage: 'made',
  stageSince: 0,
  load: null,
  waitingSince: null,
  dryAt: null,
  dryBy: null,
  footAt: null,
  yesAt: null,
  yesBy: null,
  trayMm: 0,
  isFlagged: false,
  isBisqued: false,
  isOnce: false,
  before: null,
  outOf: null,
};

/**
 * Where a piece stands after its events, in the order of their numbers; null for none. Total: what cannot be, such
 * as leaving a load it is not in, changes nothing.
 */
export const fold = (events: readonly PieceEvent[]): Standing | null =>
  events.length === 0 ? null : events.reduce(step, unborn);

/** One event later. */
export function step(before: Standing, event: PieceEvent): Standing {
  if (!isPossible(before, event)) return before;
  const after = { ...moved(before, event), ...factsAfter(before, event) };
  return { ...after, waitingSince: waitingAfter(before, after.stage, event) };
}

function isPossible({ stage, load }: Standing, { kind, load: named }: PieceEvent): boolean {
  switch (kind) {
    case 'entered-load':
      return WAITING.includes(stage) && named !== null;
    case 'left-load':
    case 'came-out':
      return stage === 'in-load' && load === named;
    default:
      return stage !== 'in-load' || ['flagged', 'unflagged', 'measured', 'outcome'].includes(kind);
  }
}

function moved(before: Standing, { kind, at, stage, load }: PieceEvent): Standing {
  if (stage === null) return before;
  const remembers = stage === 'in-load' || (AWAY.includes(stage) && !AWAY.includes(before.stage));
  return {
    ...before,
    stage,
    stageSince: at,
    load: stage === 'in-load' ? load : null,
    isBisqued: before.isBisqued || stage === 'bisqued' || stage === 'fired',
    before: remembers ? before.stage : AWAY.includes(stage) ? before.before : null,
    outOf: kind === 'came-out' || kind === 'outcome' ? load : null,
  };
}

function factsAfter(before: Standing, { kind, at, by, payload }: PieceEvent): Partial<Standing> {
  const noYes = payload.endsYes ? { yesAt: null, yesBy: null, trayMm: 0 } : {};
  switch (kind) {
    case 'registered':
      return { isOnce: payload.once ?? false };
    case 'asked-dry':
      // Mended with water, or merely said again: it is felt anew.
      return { dryAt: null, dryBy: null };
    case 'dry':
      return { dryAt: at, dryBy: by };
    case 'glazed':
      // Raw ware drinks the water of its glaze: it is felt anew.
      return { footAt: null, ...noYes, ...(!before.isBisqued && { dryAt: null, dryBy: null }) };
    case 'coated':
      return {
        footAt: payload.heldBack ? at : null,
        ...noYes,
        ...(!before.isBisqued && { dryAt: null, dryBy: null }),
      };
    case 'handed-in':
      return payload.heldBack ? { footAt: at } : {};
    case 'returned':
      if (payload.reason === 'not-dry') return { dryAt: null, dryBy: null };
      return payload.reason === 'foot' ? { footAt: null } : {};
    case 'yes':
      return { yesAt: at, yesBy: by, trayMm: payload.trayMm ?? before.trayMm };
    case 'flagged':
      return { isFlagged: true };
    case 'unflagged':
      return { isFlagged: false };
    case 'came-out':
      // A yes was to one firing: what is hotter is asked anew.
      return { yesAt: null, yesBy: null, trayMm: 0 };
    case 'edited':
    case 'scratched':
    case 'another-firing':
      return noYes;
    default:
      return {};
  }
}

function waitingAfter({ waitingSince }: Standing, stage: Stage, { kind, at }: PieceEvent): Instant | null {
  if (kind === 'asked-dry') return waitingSince ?? at;
  if (kind === 'handed-in' || kind === 'refire') return at;
  if (stage === 'in-load' || kind === 'left-load') return waitingSince;
  if (WAITING.includes(stage)) return waitingSince ?? at;
  return stage === 'drying' ? waitingSince : null;
}
