import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { count, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type Firing, firingWords, sameFiring } from '../firing.ts';
import { MOST_TICKS } from '../numbers.ts';
import { formWords } from '../presets.ts';
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

/** How long ware may wait before somebody looks why: common practice, no source. */
const LONG_WAIT = 14 * DAY;
const RETURNED_LONG = 7 * DAY;

/** Everything on the desk at this moment. */
export async function lookAtDesk(read: Read): Promise<Desk> {
  mustBeAllowed(read.actor, 'ware.see-all');
  const [all, { uncollectedDays }] = await Promise.all([
    listDesk(read, { stages: ON_DESK }),
    wareSettings(read),
  ]);
  const byStage = [...all].sort((a, b) => a.stageSince - b.stageSince || a.number - b.number);
  const byWait = [...all].sort((a, b) => since(a) - since(b) || a.number - b.number);
  const at = (stage: Stage) => byStage.filter((piece) => piece.stage === stage);
  const fired = at('fired');
  const isOverdue = ({ stageSince }: PieceNow) => read.now - stageSince > uncollectedDays * DAY;
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

const isOpen = (gates: PieceNow['gates'], gate: PieceNow['gates'][number]['gate']): boolean =>
  gates.some((one) => one.gate === gate && !one.ok);

function queuesOf(waiting: PieceNow[]): Queue[] {
  const queues: Queue[] = [];
  for (const piece of waiting) {
    const { next } = piece;
    if (next === null) continue;
    let queue = queues.find(({ firing }) => sameFiring(firing, next));
    if (!queue) {
      queue = { firing: next, ready: [], kept: [], oldest: since(piece) };
      queues.push(queue);
    }
    (piece.isReady ? queue.ready : queue.kept).push(piece);
  }
  return queues;
}

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

/** Something about ware that needs somebody, with words for a list of what is to be done. */
export interface WareDue {
  why: 'feel-dry' | 'claims' | 'yes-asked' | 'not-fetched' | 'long-wait' | 'returned';
  /** How many pieces. */
  count: number;
  /** Since when the first of them. */
  oldest: Instant;
  title: string;
  what: string;
  act: { href: string; label: string };
}

/** What needs somebody on the desk, the most pressing first; what needs nobody is left out. */
export async function due(read: Read): Promise<WareDue[]> {
  mustBeAllowed(read.actor, 'today.see');
  const desk = await lookAtDesk(read);
  const claimed = desk.noName.filter(({ claims }) => claims.length > 0).map(({ piece }) => piece);
  const late = ({ oldest }: { oldest: Instant }, most: number) => read.now - oldest > most;
  const pieces = (count: number) => formWords('other', count);
  const all: (WareDue | null)[] = [
    thing('feel-dry', desk.toFeel, since, (count) => ({
      title: 'Feel what is dry',
      what: `${pieces(count)} on the drying rack, said to be dry.`,
      act: { href: '/ware/desk/dry', label: 'Dry rack' },
    })),
    thing('claims', claimed, stageSince, (count) => ({
      title: 'Whose is it',
      what: `${pieces(count)} of the shelf without names ${count === 1 ? 'was' : 'were'} claimed.`,
      act: { href: '/ware/desk/no-name', label: 'Shelf without names' },
    })),
    thing('yes-asked', desk.yesAsked, since, (count) => ({
      title: 'A yes is asked',
      what: `${pieces(count)} of a clay or with a glaze nobody here knows.`,
      act: { href: '/ware/desk/yes', label: 'Look at them' },
    })),
    ...desk.queues.map(({ firing, ready }) =>
      thing('long-wait', ready, since, (count, oldest) =>
        late({ oldest }, LONG_WAIT)
          ? {
              title: 'Waits for a kiln',
              what: `${pieces(count)} ready for ${firingWords(firing)}, the first for ${days(read.now - oldest)}.`,
              act: { href: '/ware/desk', label: 'The desk' },
            }
          : null,
      ),
    ),
    thing('not-fetched', desk.overdue, stageSince, (count) => ({
      title: 'Not fetched',
      what: `${pieces(count)} fired more than ${desk.uncollectedDays} days ago.`,
      act: { href: '/ware/desk/fetch', label: 'Put them away' },
    })),
    thing('returned', desk.returned, stageSince, (count, oldest) =>
      late({ oldest }, RETURNED_LONG)
        ? {
            title: 'Returned and left',
            what: `${pieces(count)} given back, the first ${days(read.now - oldest)} ago.`,
            act: { href: '/ware/desk', label: 'The desk' },
          }
        : null,
    ),
  ];
  return all.filter((one) => one !== null);
}

const stageSince = (piece: PieceNow): Instant => piece.stageSince;

function thing(
  why: WareDue['why'],
  pieces: readonly PieceNow[],
  sinceOf: (piece: PieceNow) => Instant,
  say: (count: number, oldest: Instant) => Pick<WareDue, 'title' | 'what' | 'act'> | null,
): WareDue | null {
  const count = pieces.length;
  if (count === 0) return null;
  const oldest = Math.min(...pieces.map(sinceOf));
  const words = say(count, oldest);
  return words && { why, count, oldest, ...words };
}

const days = (ms: number): string => {
  const whole = Math.floor(ms / DAY);
  return `${whole} ${whole === 1 ? 'day' : 'days'}`;
};
