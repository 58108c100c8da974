import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { count, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { byFiring, type Firing } from '../firing.ts';
import { isOpen } from '../gates.ts';
import { isUncollected } from '../mine.ts';
import { MOST_TICKS } from '../numbers.ts';
import { type Stage, WAITING } from '../stage.ts';
import { addressOf } from '../store/desk.ts';
import { claimsOn } from '../store/pieces.ts';
import { MOVES, movePieces } from './moves.ts';
import { findPiece, listDesk, type PieceNow } from './now.ts';
import { wareSettings } from './settings.ts';

/** Somebody who says that a piece is theirs. */
export interface Claim {
  id: number;
  name: string;
  at: Instant;
  note: string | null;
}

/** What waits for one firing. */
export interface Queue {
  firing: Firing;
  ready: PieceNow[];
  /** Something keeps each of these out. */
  kept: PieceNow[];
  oldest: Instant;
}

/** All that a technician looks after, each list with the longest there first. */
export interface Desk {
  /** Their owners think they are dry: to be felt by hand. */
  toFeel: PieceNow[];
  /** Drying, and nobody asked yet. */
  drying: PieceNow[];
  queues: Queue[];
  /** Nobody here knows their clay or glaze: a technician's yes is asked. */
  yesAsked: PieceNow[];
  flagged: PieceNow[];
  returned: PieceNow[];
  refire: PieceNow[];
  /** Fired and not fetched: still in time, and longer than the studio keeps ware out. */
  fired: PieceNow[];
  overdue: PieceNow[];
  noName: { piece: PieceNow; claims: Claim[] }[];
  /** How long fired ware may stand, days. */
  uncollectedDays: number;
}

const ON_DESK: readonly Stage[] = ['drying', ...WAITING, 'returned', 'fired', 'no-name'];

/** Everything on the desk at this moment, or only what is in these stages. */
export async function lookAtDesk(read: Read, stages = ON_DESK): Promise<Desk> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const [all, { uncollectedDays }] = await Promise.all([listDesk(read, { stages }), wareSettings(read)]);
  const byStage = [...all].sort((a, b) => a.stageSince - b.stageSince || a.number - b.number);
  const byWait = [...all].sort((a, b) => since(a) - since(b) || a.number - b.number);
  const at = (stage: Stage) => byStage.filter((piece) => piece.stage === stage);
  const fired = at('fired');
  const isOverdue = (piece: PieceNow) => isUncollected(piece, { uncollectedDays }, read.now);
  const damp = byWait.filter(({ dryAt, isBisqued }) => dryAt === null && !isBisqued);
  return {
    // What is glazed raw is handed in for its one firing, and felt then.
    toFeel: damp.filter(({ isAsked, stage }) => isAsked || WAITING.includes(stage)),
    drying: damp.filter(({ isAsked, stage }) => stage === 'drying' && !isAsked),
    queues: queuesOf(byWait.filter(({ stage }) => WAITING.includes(stage))),
    yesAsked: byWait.filter(({ stage, gates }) => WAITING.includes(stage) && isOpen(gates, 'unknown')),
    flagged: byWait.filter(({ flag }) => flag !== null),
    returned: at('returned'),
    refire: at('refire'),
    fired: fired.filter((piece) => !isOverdue(piece)),
    overdue: fired.filter(isOverdue),
    noName: await withClaims(read, at('no-name')),
    uncollectedDays,
  };
}

const since = ({ waitingSince, stageSince }: PieceNow): Instant => waitingSince ?? stageSince;

const queuesOf = (waiting: PieceNow[]): Queue[] =>
  byFiring(waiting).map(({ firing, items }) => ({
    firing,
    ready: items.filter(({ isReady }) => isReady),
    kept: items.filter(({ isReady }) => !isReady),
    oldest: since(items[0]),
  }));

async function withClaims(read: Read, shelf: PieceNow[]): Promise<Desk['noName']> {
  const claims = await claimsOn(
    read.tx,
    shelf.map(({ id }) => id),
  );
  return shelf.map((piece) => ({
    piece,
    claims: claims.flatMap(({ pieceId, ...claim }) => (pieceId === piece.id ? [claim] : [])),
  }));
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

/** Says yes to one piece of a clay or with a glaze nobody here knows. */
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
  const address = claims.some((c) => c.id === claim) ? await addressOf(act.tx, claim) : null;
  if (address === null) throw new Conflict(`Nobody here by that name says that piece ${one} is theirs.`);
  await movePieces(act, 'assign', [one], { who: address });
}
