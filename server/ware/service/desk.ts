import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { count, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { byFiring, type Firing } from '../firing.ts';
import { MOST_TICKS } from '../numbers.ts';
import * as store from '../store/desk.ts';
import type { Alike } from '../store/due.ts';
import { claimsOn } from '../store/pieces.ts';
import { MOVES, movePieces } from './moves.ts';
import { findPiece, listDesk, type PieceNow } from './now.ts';
import { wareSettings } from './settings.ts';
import { asksForYes, waitingNow } from './waiting.ts';

/** Somebody who says that a piece is theirs. */
export interface Claim {
  id: number;
  name: string;
  at: Instant;
  note: string | null;
}

/** A list of pieces: how many there are, and the first of them. */
export interface Listed<P = PieceNow> {
  count: number;
  first: P[];
}

/** What waits for one firing. */
export interface Queue {
  firing: Firing;
  ready: Listed<number>;
  /** Something keeps each of these out. */
  kept: Listed;
  oldest: Instant;
}

/** A piece that nobody knows, with those who say it is theirs. */
export interface Nameless {
  piece: PieceNow;
  claims: Claim[];
}

/** All that a technician looks after, each list with the longest there first, as many as fit a glance. */
export interface Desk {
  /** Their owners think they are dry: to be felt by hand. */
  toFeel: Listed;
  /** Drying, and nobody asked yet: how many. */
  drying: number;
  queues: Queue[];
  /** Nobody here knows their clay or glaze, or their coats may run: a technician's yes is asked. */
  yesAsked: Listed;
  flagged: Listed;
  returned: Listed;
  refire: Listed;
  /** Fired and not fetched, still in time: how many. */
  fired: number;
  /** The same, longer than the studio keeps ware out. */
  overdue: Listed;
  noName: Listed<Nameless>;
  /** How long fired ware may stand, days. */
  uncollectedDays: number;
}

/** What dries. */
export interface DryRack {
  toFeel: Listed;
  drying: Listed;
}

export interface Overdue extends Pick<Desk, 'uncollectedDays'> {
  overdue: Listed;
}

/** A page of what nobody knows. */
export interface Shelf extends Listed<Nameless> {
  /** Its last piece where more come after it; null on the last page. */
  next: number | null;
}

/** As many of a list as fit a glance. */
const GLANCE = 8;
/** Of a queue: numbers alone are read fast. */
const READY_SHOWN = 60;
const KEPT_SHOWN = 20;
/** As many as fit a page where each has a form of its own. */
const A_PAGE = 60;

/** Everything on the desk at this moment: counts, and the pieces that are shown. */
export async function lookAtDesk(read: Read): Promise<Desk> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const { tx, now } = read;
  const settings = await wareSettings(read);
  const { uncollectedDays } = settings;
  const { LISTS, sinceStage, sinceWait, longest } = store;
  const glance = { limit: GLANCE };
  const [waiting, toFeel, drying, flagged, returned, refire, fired, overdue, noName] = await Promise.all([
    waitingNow(read, settings, READY_SHOWN),
    longest(tx, LISTS.toFeel, sinceWait, glance),
    longest(tx, LISTS.drying, sinceWait, { limit: 0 }),
    longest(tx, LISTS.flagged, sinceWait, glance),
    longest(tx, LISTS.returned, sinceStage, glance),
    longest(tx, LISTS.refire, sinceStage, glance),
    longest(tx, LISTS.fired, sinceStage, { limit: 0 }),
    longest(tx, store.firedBefore(now - uncollectedDays * DAY), sinceStage, glance),
    longest(tx, LISTS.noName, sinceStage, glance),
  ]);
  const yesAsked = firstOf(waiting.filter(asksForYes), GLANCE);
  const queues = byFiring(waiting).map(({ firing, items }) => ({
    firing,
    ready: firstOf(
      items.filter(({ open }) => open.length === 0),
      READY_SHOWN,
    ),
    kept: firstOf(
      items.filter(({ open }) => open.length > 0),
      KEPT_SHOWN,
    ),
    oldest: Math.min(...items.map(({ oldest }) => oldest)),
  }));
  const lists = [
    toFeel,
    yesAsked,
    flagged,
    returned,
    refire,
    overdue,
    noName,
    ...queues.map(({ kept }) => kept),
  ];
  const shown = await piecesOf(read, lists);
  return {
    toFeel: shown(toFeel),
    drying: drying.count,
    queues: queues.map((queue) => ({
      ...queue,
      ready: { count: queue.ready.count, first: queue.ready.numbers },
      kept: shown(queue.kept),
    })),
    yesAsked: shown(yesAsked),
    flagged: shown(flagged),
    returned: shown(returned),
    refire: shown(refire),
    fired: fired.count - overdue.count,
    overdue: shown(overdue),
    noName: await withClaims(read, shown(noName)),
    uncollectedDays,
  };
}

/** What is to be felt by hand, as many of each list as one form moves. */
export async function lookAtDryRack(read: Read): Promise<DryRack> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const { LISTS, sinceWait, longest } = store;
  const [toFeel, drying] = await Promise.all([
    longest(read.tx, LISTS.toFeel, sinceWait, { limit: MOST_TICKS }),
    longest(read.tx, LISTS.drying, sinceWait, { limit: MOST_TICKS }),
  ]);
  const shown = await piecesOf(read, [toFeel, drying]);
  return { toFeel: shown(toFeel), drying: shown(drying) };
}

/** What a technician's yes is asked for, a page of it. */
export async function lookAtStrangers(read: Read): Promise<Listed> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const waiting = await waitingNow(read, await wareSettings(read), A_PAGE);
  const asked = firstOf(waiting.filter(asksForYes), A_PAGE);
  return (await piecesOf(read, [asked]))(asked);
}

/** Fired ware that nobody fetched in time, as much as one form moves. */
export async function lookAtOverdue(read: Read): Promise<Overdue> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const { uncollectedDays } = await wareSettings(read);
  const late = store.firedBefore(read.now - uncollectedDays * DAY);
  const overdue = await store.longest(read.tx, late, store.sinceStage, { limit: MOST_TICKS });
  return { overdue: (await piecesOf(read, [overdue]))(overdue), uncollectedDays };
}

/**
 * The shelf without names, a page of it.
 * @param after the last piece of the page before
 */
export async function lookAtShelf(read: Read, after?: number): Promise<Shelf> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const found = await store.longest(read.tx, store.LISTS.noName, store.sinceStage, {
    limit: A_PAGE + 1,
    after,
  });
  const here = { ...found, numbers: found.numbers.slice(0, A_PAGE) };
  const shelf = await withClaims(read, (await piecesOf(read, [here]))(here));
  const next = found.numbers.length > A_PAGE ? (here.numbers.at(-1) ?? null) : null;
  return { ...shelf, next };
}

/** The pieces of these lists, read at once: answers how to look a list up among them. */
async function piecesOf(
  read: Read,
  lists: readonly store.Counted[],
): Promise<(list: store.Counted) => Listed> {
  const numbers = [...new Set(lists.flatMap((list) => list.numbers))];
  const found = new Map((await listDesk(read, { numbers })).map((piece) => [piece.number, piece]));
  return (list) => ({ count: list.count, first: list.numbers.flatMap((one) => found.get(one) ?? []) });
}

/** Those of some groups that have waited longest, and how many there are. */
function firstOf(groups: readonly Alike[], limit: number): store.Counted {
  const named = groups.flatMap((group) => group.named);
  return {
    count: groups.reduce((sum, group) => sum + group.count, 0),
    numbers: named
      .sort((a, b) => a.since - b.since || a.number - b.number)
      .slice(0, limit)
      .map(({ number }) => number),
  };
}

async function withClaims(read: Read, { count, first }: Listed): Promise<Listed<Nameless>> {
  const claims = await claimsOn(
    read.tx,
    first.map(({ id }) => id),
  );
  return {
    count,
    first: first.map((piece) => ({
      piece,
      claims: claims.flatMap(({ pieceId, ...claim }) => (pieceId === piece.id ? [claim] : [])),
    })),
  };
}

const number = () => count(1, 2 ** 31 - 1);
const numbers = () => z.array(number()).max(MOST_TICKS, `At most ${MOST_TICKS} at once.`).default([]);

export const dryForm = z.strictObject({
  /** What the page listed as asked, less what was ticked, is dry. */
  shown: numbers(),
  not: numbers(),
  /** Nobody asked, but it is dry too. */
  also: numbers(),
});

/**
 * Bone dry by a technician's hand: all that the page showed but the ticked ones, and those ticked besides; all of
 * them or none. Answers their numbers. Throws Invalid where none is left, Conflict where one has moved meanwhile.
 */
export async function confirmDry(
  act: Act,
  { shown, not, also }: z.output<typeof dryForm>,
): Promise<number[]> {
  mustBeAllowed(act.actor, 'ware.decide');
  const dry = [...shown.filter((one) => !not.includes(one)), ...also];
  if (dry.length === 0) throw new Invalid('None of them is dry by this: nothing was confirmed.');
  return movePieces(act, 'dry', dry, {});
}

export const putAwayForm = z.strictObject({ piece: numbers() });

/** Puts fired ware that nobody fetched with what was left behind. Answers the numbers. */
export async function putAway(act: Act, { piece }: z.output<typeof putAwayForm>): Promise<number[]> {
  mustBeAllowed(act.actor, 'ware.decide');
  if (piece.length === 0) throw new Invalid('Tick what you put away.');
  return movePieces(act, 'left-behind', piece, {});
}

export const yesForm = z.strictObject({ piece: number(), trayMm: MOVES.yes.body.shape.trayMm });

/** Says yes to one piece of a clay or with a glaze nobody here knows, or with coats that may run. */
export async function sayYes(act: Act, { piece, trayMm }: z.output<typeof yesForm>): Promise<void> {
  await movePieces(act, 'yes', [piece], { trayMm });
}

export const ownerForm = z.strictObject({
  piece: number(),
  /** Who claimed it. */
  claim: number().optional(),
  /** Somebody else, by name or e-mail address. */
  who: text(254).optional(),
});

/** Gives a piece from the shelf without names to one who claimed it, or to somebody else. */
export async function handOver(
  act: Act,
  { piece: one, claim, who }: z.output<typeof ownerForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'ware.decide');
  if (claim === undefined) {
    if (who === undefined) throw new Invalid([{ path: 'who', message: 'Say whose it is.' }]);
    await movePieces(act, 'assign', [one], { who });
    return;
  }
  const { id } = await findPiece(act, one);
  const claims = await claimsOn(act.tx, [id]);
  const address = claims.some((c) => c.id === claim) ? await store.addressOf(act.tx, claim) : null;
  if (address === null) throw new Conflict(`Nobody here by that name says that piece ${one} is theirs.`);
  await movePieces(act, 'assign', [one], { who: address });
}
