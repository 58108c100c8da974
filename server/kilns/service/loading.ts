import { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import { Conflict } from '../../core/errors.ts';
import { findOwnPicture, keepPicture, type Picture } from '../../core/files.ts';
import { count, sha256, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { piecesWords } from '../../ware/presets.ts';
import { enterLoad, findPieces, leaveLoad, lockPieces, type PieceNow } from '../../ware/service/index.ts';
import { upper } from '../../ware/words.ts';
import { isBelow, shelvesOf } from '../load-fold.ts';
import { removePiece } from '../packing/moves.ts';
import type { LoadRow } from '../store/load-ledger.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { change, whyNot } from './changes.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import {
  keyOf,
  kilnOf,
  levelCount,
  MOST,
  openNow,
  partChoice,
  refused,
  shelfName,
  tellOut,
  tickedShelves,
} from './loads.ts';
import { lowered } from './pack-queue.ts';
import { mustBeShown } from './safety-gate.ts';

export const levelForm = z.strictObject({
  part: partChoice(),
  level: levelCount(),
  /** Pieces of the level that do not stand in the kiln: everything else does. */
  notIn: z.array(count(1, MOST)).max(500, 'At most 500.').optional(),
  /** Why there is no photo. */
  why: text(300).optional(),
  /** A photo that came before, by its hash. */
  kept: sha256('Choose the photo again.').optional(),
});

export const finishForm = z.strictObject({
  /** Why it is loaded so, where a check is open. */
  note: text(500).optional(),
});
export const reopenForm = z.strictObject({ part: partChoice(), level: levelCount() });

/** A photo of a level before it is ticked: a form that is refused for something else need not bring it again. */
export async function keepForLevel(act: Act, picture: Picture): Promise<void> {
  mustBeAllowed(act.actor, 'loads.load');
  await keepPicture(act, picture);
}

/**
 * Ticks a level of an approved load: all of it stands in the kiln but what is named in `notIn`, which waits again with
 * its place kept. Levels go in from the floor up. One photo a level, or in words why there is none.
 * @throws Conflict for a level that is ticked already or stands on one that is not, and while the kiln holds another load;
 * Forbidden for whoever was not shown how, where the studio asks for it
 */
export async function loadLevel(
  act: Act,
  number: number,
  command: z.output<typeof levelForm> & { picture?: Picture | null },
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.load');
  await mustBeShown(act, 'load');
  const { part, level, notIn = [], why, kept, picture } = command;
  const load = await lockLoad(act, number);
  mustBe(load, ['approved'], 'filled');
  await kilnMustBeFree(act, load);
  const shelf = { part, level };
  const shelves = shelvesOf(load.plan);
  if (!shelves.some((one) => keyOf(one) === keyOf(shelf)))
    throw refused('level', 'This load has no such level.');
  const ticked = new Set((await tickedShelves(act.tx, load.id)).map(keyOf));
  if (ticked.has(keyOf(shelf))) throw new Conflict(`${shelfName(shelf)} is loaded already.`);
  const open = shelves.find((one) => isBelow(one, shelf) && !ticked.has(keyOf(one)));
  if (open) throw new Conflict(`${shelfName(open)} comes first: levels go in from the floor up.`);
  const here = (await store.piecesOf(act.tx, load.id)).filter((row) => keyOf(row) === keyOf(shelf));
  const strangers = notIn.filter((one) => !here.some((row) => row.number === one));
  if (strangers.length > 0)
    throw refused('notIn', `${upper(piecesWords(strangers))}: not on ${lowered(shelfName(shelf))}.`);
  const fileId = picture ? await keepPicture(act, picture) : kept ? await findOwnPicture(act, kept) : null;
  if (fileId === null && why === undefined)
    throw refused(
      'photo',
      'Take a photo of this level before the next shelf goes on, or say why there is none.',
    );
  const out = here.filter((row) => notIn.includes(row.number));
  const left = out.map((row) => row.number);
  const pieces = await lockPieces(act, left);
  if (left.length > 0) await leaveLoad(act, left, number);
  await store.updatePieces(
    act.tx,
    load.id,
    { isIn: true },
    here.filter((row) => !out.includes(row)).map((row) => row.pieceId),
  );
  await store.updatePieces(
    act.tx,
    load.id,
    { isIn: false, reserves: false },
    out.map((row) => row.pieceId),
  );
  await append(act, load, {
    kind: 'level-loaded',
    payload: { part, level, notIn: left },
    fileId,
    ...(why !== undefined && { note: why }),
  });
  await tellOut(act, pieces, number);
}

/** Locks the kiln of a locked load. @throws Conflict while another load is in it */
async function kilnMustBeFree(act: Act, load: LoadRow): Promise<void> {
  await ledgerStore.lockKiln(act.tx, load.kilnId);
  const other = await store.standsIn(act.tx, load.kilnId, load.number);
  if (!other) return;
  const { name } = await kilnOf(act, load);
  throw new Conflict(
    other.state === 'approved'
      ? `Load ${other.number} is being filled into ${name}: finish it, or take its ticks back first.`
      : `Load ${other.number} is still in ${name}: it is ${other.state}.`,
  );
}

/**
 * Takes the tick of a level back, the topmost of its side first; a load that was full is being filled again. What was
 * left out of it is in the load again where it still waits and may go in, and out of the plan where not.
 */
export async function reopenLevel(
  act: Act,
  number: number,
  shelf: z.output<typeof reopenForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.load');
  const load = await lockLoad(act, number);
  mustBe(load, ['approved', 'loaded'], 'filled again');
  const ticked = await tickedShelves(act.tx, load.id);
  const tick = ticked.find((one) => keyOf(one) === keyOf(shelf));
  if (!tick) throw new Conflict(`${shelfName(shelf)} is not ticked.`);
  const above = ticked.find((one) => isBelow(shelf, one));
  if (above) throw new Conflict(`${shelfName(above)} stands on it: take that tick back first.`);
  const rows = await store.piecesOf(act.tx, load.id);
  const here = rows.filter((row) => keyOf(row) === keyOf(shelf));
  const out = await lockPieces(act, tick.notIn);
  const others = await findPieces(
    act,
    rows.flatMap((row) => (row.isIn === false ? [] : [row.number])),
  );
  const back: PieceNow[] = [];
  for (const piece of out)
    if ((await whyNot(act, load, piece, [...others, ...back])) === null) back.push(piece);
  if (back.length > 0) await enterLoad(act, back, number);
  const gone = out.filter((one) => !back.includes(one)).map((piece) => piece.number);
  const ids = here.filter((row) => !gone.includes(row.number)).map((row) => row.pieceId);
  await store.updatePieces(act.tx, load.id, { isIn: null, reserves: true }, ids);
  await append(act, load, { kind: 'void', voids: tick.event, state: 'approved' }, { loadedAt: null });
  for (const piece of gone) await dropped(act, load, piece);
}

/** Takes a piece that went elsewhere out of the plan; its row of the load holds nothing any more. */
async function dropped(act: Act, load: LoadRow, piece: number): Promise<void> {
  const { problem, plan } = load;
  await change(act, load, {
    did: 'take-out',
    piece,
    isGone: true,
    plan: removePiece(problem, plan, String(piece)),
    problem: { ...problem, pieces: problem.pieces.filter(({ id }) => id !== String(piece)) },
  });
}

/**
 * Every level is ticked: the kiln is full, and what comes next is the list before firing. What has come to light since
 * it was approved must be explained in a note.
 * @throws Conflict while a level is open, nothing stands in the kiln, or another load does
 */
export async function finishLoading(
  act: Act,
  number: number,
  { note }: z.output<typeof finishForm> = {},
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.load');
  const load = await lockLoad(act, number);
  mustBe(load, ['approved'], 'finished');
  await kilnMustBeFree(act, load);
  const ticked = new Set((await tickedShelves(act.tx, load.id)).map(keyOf));
  const open = shelvesOf(load.plan).find((one) => !ticked.has(keyOf(one)));
  if (open) throw new Conflict(`${shelfName(open)} is not ticked yet.`);
  const isEmpty = (await store.piecesOf(act.tx, load.id)).every(({ isIn }) => isIn !== true);
  if (isEmpty) throw new Conflict('Nothing stands in the kiln: cancel the load instead.');
  const found = await openNow(act, load, await kilnOf(act, load));
  if (found.length > 0 && note === undefined)
    throw refused('note', `${found.map(({ words }) => words).join(' ')} Say why it is loaded all the same.`);
  const payload = found.length > 0 ? { found: found.map(({ check }) => check) } : {};
  await append(act, load, { kind: 'loaded', state: 'loaded', payload, note }, { loadedAt: act.now });
}
