import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict, NotFound } from '../../core/errors.ts';
import { count, flag, quantity } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { conflictsAmong } from '../../ware/conflicts.ts';
import { gatesFor } from '../../ware/gates.ts';
import {
  enterLoad,
  findPieces,
  leaveLoad,
  listConflicts,
  lockPieces,
  type PieceNow,
  wareSettings,
} from '../../ware/service/index.ts';
import { listed, sentence } from '../approval.ts';
import { changeBetween, type Shelf, type Spot, shelvesOf, spotsOf } from '../load-fold.ts';
import { addPiece, freeSpots, type MoveResult, removePiece, tryMove } from '../packing/moves.ts';
import type { Level, Load, Piece, Problem } from '../packing/problem.ts';
import { pinFault } from '../queue.ts';
import * as store from '../store/loads.ts';
import { replan } from './calendar.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import {
  firingOf,
  keyOf,
  type LoadRow,
  levelCount,
  MOST,
  mustBeSeen,
  notHad,
  numbersOf,
  packerPiecesNow,
  partChoice,
  refused,
  rowOf,
  shelfName,
  tellIn,
  tellOut,
  tickedShelves,
  version,
} from './loads.ts';
import { mustBeBuildable } from './pack-queue.ts';
import { findSchedule } from './schedules.ts';

const pieceNumber = () => count(1, MOST);
/** Positions on a shelf; the origin is that of the packer's problem. */
const place = () => quantity(-5000, 5000, 'mm');

export const moveForm = z.strictObject({
  piece: pieceNumber(),
  part: partChoice(),
  level: levelCount(),
  xMm: place(),
  yMm: place(),
  turned: flag().optional(),
  version: version(),
});
export const putInForm = z.strictObject({
  piece: pieceNumber(),
  part: partChoice().optional(),
  level: levelCount().optional(),
  xMm: place().optional(),
  yMm: place().optional(),
  turned: flag().optional(),
  version: version(),
});
export const pieceForm = z.strictObject({ piece: pieceNumber(), version: version() });
export const pinForm = z.strictObject({ piece: pieceNumber(), level: levelCount(), version: version() });
export const scheduleForm = z.strictObject({ schedule: count(1, MOST), version: version() });

/** A place on a level of a load; `level` is counted from 1 at the floor on its side. */
export interface Place {
  part: Level['part'];
  level: number;
  xMm: number;
  yMm: number;
  turned: boolean;
}

export const CHANGEABLE = ['proposed', 'approved'] as const;

/** Locks a load as somebody saw it. @throws Conflict, naming who changed it, when it is not so any more */
export async function lockSeen(act: Act, number: number, seen: number, what: string): Promise<LoadRow> {
  const load = await lockLoad(act, number);
  mustBe(load, CHANGEABLE, what);
  await mustBeSeen(act, load, seen);
  return load;
}

/** What a change of a plan does, in the event's words. */
type Did = 'move' | 'put-in' | 'take-out' | 'leave-out' | 'pin' | 'unpin' | 'repack' | 'schedule';

interface NewPlan {
  did: Did;
  piece?: number;
  problem?: Problem;
  plan?: Load;
  wishes?: LoadRow['wishes'];
  /** Pieces that come in, as they are now and locked. */
  entering?: readonly PieceNow[];
  /** What is taken out is in no load any more, or in another. */
  isGone?: boolean;
  more?: Partial<LoadRow>;
}

/** Stores a changed plan, checked by the independent checker, with what an approved load reserves in step. */
export async function change(act: Act, load: LoadRow, made: NewPlan): Promise<void> {
  const { did, piece, problem = load.problem, plan = load.plan, wishes = load.wishes, entering = [] } = made;
  const before = spotsOf(load.plan);
  const { placed, removed } = changeBetween(before, spotsOf(plan));
  if (placed.length + removed.length > 0 || made.plan) mustBeBuildable(problem, plan);
  const reserves = load.state === 'approved';
  const touched = new Set([
    ...placed.map(({ number }) => number),
    ...removed,
    ...(made.plan && piece ? [piece] : []),
  ]);
  await mustNotBeTicked(
    act,
    load,
    [...before, ...spotsOf(plan)].filter(({ number }) => touched.has(number)),
  );
  const rows = await store.piecesOf(act.tx, load.id);
  const ids = new Map([
    ...rows.map((row) => [row.number, row.pieceId] as const),
    ...entering.map((one) => [one.number, one.id] as const),
  ]);
  if (reserves && removed.length > 0 && !made.isGone) await leaveLoad(act, removed, load.number);
  await store.deletePieces(
    act.tx,
    load.id,
    removed.map((number) => ids.get(number) as number),
  );
  if (reserves && entering.length > 0) await enterLoad(act, [...entering], load.number);
  const isHere = ({ number }: Spot) => rows.some((row) => row.number === number);
  const idOf = ({ number }: Spot) => ids.get(number) as number;
  for (const spot of placed.filter(isHere)) {
    const { part, level } = spot;
    await store.updatePieces(act.tx, load.id, { part, level }, [idOf(spot)]);
  }
  await store.insertPieces(
    act.tx,
    load.id,
    placed
      .filter((spot) => !isHere(spot))
      .map((spot) => ({ pieceId: idOf(spot), part: spot.part, level: spot.level, reserves, isIn: null })),
  );
  const { pins, leftOut } = wishes;
  await append(
    act,
    load,
    {
      kind: 'changed',
      payload: { did, ...(piece !== undefined && { piece }), placed, removed, pins, leftOut },
    },
    { problem, plan, wishes, ...made.more },
  );
}

/** A level that was ticked is closed: its shelf carries the next one. */
async function mustNotBeTicked({ tx }: Act, load: LoadRow, touched: readonly Spot[]): Promise<void> {
  if (load.state !== 'approved') return;
  const ticked = (await tickedShelves(tx, load.id)).map(keyOf);
  const closed = touched.find((spot) => ticked.includes(keyOf(spot)));
  if (closed) throw new Conflict(`${shelfName(closed)} is loaded already: take its tick back first.`);
}

/** Moves a piece, with what stands on it, to another place. @throws Invalid with the reason beside the field */
export async function movePiece(act: Act, number: number, command: z.output<typeof moveForm>): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockSeen(act, number, command.version, 'changed');
  const { piece, part, level, xMm, yMm, turned = false } = command;
  mustHold(load, piece);
  const pin = load.wishes.pins[piece];
  if (pin !== undefined && pin !== level)
    throw refused('level', `Piece ${piece} is pinned to level ${pin}: unpin it first.`);
  const to = { levelIndex: indexOf(load, { part, level }), xMm, yMm, turned };
  const plan = taken(tryMove(load.problem, load.plan, String(piece), to), 'piece');
  await change(act, load, { did: 'move', piece, plan });
}

/** Takes a piece out; nothing keeps the packer from putting it back. @throws Conflict for the last one */
export const takeOut = (act: Act, number: number, command: z.output<typeof pieceForm>): Promise<void> =>
  without(act, number, command, 'take-out');

/** Takes a piece out and keeps it out: packed again, the load is made without it. */
export const leaveOut = (act: Act, number: number, command: z.output<typeof pieceForm>): Promise<void> =>
  without(act, number, command, 'leave-out');

async function without(
  act: Act,
  number: number,
  { piece, version }: z.output<typeof pieceForm>,
  did: 'take-out' | 'leave-out',
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockSeen(act, number, version, 'changed');
  const isHere = numbersOf(load.problem).includes(piece);
  if (did === 'take-out' || isHere) mustHold(load, piece);
  else if ((await findPieces(act, [piece])).length === 0)
    throw refused('piece', `There is no piece ${piece}.`);
  if (isHere && load.problem.pieces.length === 1)
    throw new Conflict('It is the last piece of this load: cancel the load instead.');
  const [gone] = await lockPieces(act, [piece]);
  const { [piece]: _, ...pins } = load.wishes.pins;
  const leftOut = did === 'leave-out' ? [...new Set([...load.wishes.leftOut, piece])] : load.wishes.leftOut;
  await change(act, load, {
    did,
    piece,
    ...(isHere && {
      plan: removePiece(load.problem, load.plan, String(piece)),
      problem: { ...load.problem, pieces: load.problem.pieces.filter(({ id }) => id !== String(piece)) },
    }),
    wishes: { pins, leftOut },
  });
  if (gone && isHere && load.state === 'approved') await tellOut(act, [gone], number);
}

/** Puts a waiting piece in, at a place, on a level, or wherever there is room. @throws Invalid with the reason */
export async function putIn(act: Act, number: number, command: z.output<typeof putInForm>): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockSeen(act, number, command.version, 'changed');
  const { piece } = command;
  if (numbersOf(load.problem).includes(piece))
    throw refused('piece', `Piece ${piece} is in this load already.`);
  const [found] = await lockPieces(
    act,
    (await findPieces(act, [piece])).map((one) => one.number),
  );
  if (!found) throw refused('piece', `There is no piece ${piece}.`);
  const reason = await whyNot(act, load, found, await findPieces(act, numbersOf(load.problem)));
  if (reason) throw refused('piece', reason);
  const [asked] = await packerPiecesNow(act, load, [found]);
  const problem = { ...load.problem, pieces: [...load.problem.pieces, asked as Piece] };
  const to = spotFor(load, problem, asked as Piece, command);
  const plan = taken(addPiece(problem, load.plan, String(piece), to), 'piece');
  const wishes = { ...load.wishes, leftOut: load.wishes.leftOut.filter((one) => one !== piece) };
  await change(act, load, { did: 'put-in', piece, problem, plan, wishes, entering: [found] });
  if (load.state === 'approved') await tellIn(act, [found], load);
}

function spotFor(load: LoadRow, problem: Problem, piece: Piece, command: z.output<typeof putInForm>) {
  const { part, level, xMm, yMm, turned = false } = command;
  if (part === undefined || level === undefined) {
    if (part !== undefined || level !== undefined || xMm !== undefined || yMm !== undefined)
      throw refused('level', 'Say both the shelf and its level, or neither.');
    return undefined;
  }
  const levelIndex = indexOf(load, { part, level });
  if (xMm !== undefined && yMm !== undefined) return { levelIndex, xMm, yMm, turned };
  const [best] = freeSpots(problem, load.plan, piece, levelIndex);
  if (!best) throw refused('level', `${shelfName({ part, level })} has no room for it.`);
  return best;
}

/** Why a piece cannot go into a load beside these others as things stand: every check but that of the plan. */
export async function whyNot(
  act: Act,
  load: LoadRow,
  piece: PieceNow,
  others: readonly PieceNow[],
): Promise<string | null> {
  const reason = notHad(piece, load);
  if (reason) return reason;
  const [settings, rules] = await Promise.all([wareSettings(act), listConflicts(act)]);
  const open = gatesFor(piece, firingOf(load), settings, act.now).find(({ ok }) => !ok);
  if (open) return sentence(`Piece ${piece.number}: ${open.words}`);
  const clash = conflictsAmong([...others, piece], rules).find(({ numbers }) =>
    numbers.includes(piece.number),
  );
  return clash ? sentence(`Pieces ${listed(clash.numbers)}: ${clash.why}`) : null;
}

/** Pins a piece of the load to a level: packing again keeps it there, and it is moved only on that level. */
export async function pin(
  act: Act,
  number: number,
  { piece, level, version }: z.output<typeof pinForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockSeen(act, number, version, 'changed');
  mustHold(load, piece);
  const asked = load.problem.pieces.find(({ id }) => id === String(piece)) as Piece;
  const fault = pinFault(load.problem, asked, level);
  if (fault) throw refused('level', fault);
  const wishes = { ...load.wishes, pins: { ...load.wishes.pins, [piece]: level } };
  await change(act, load, { did: 'pin', piece, wishes });
}

/** Takes the pin off a piece: it may be moved to any level, and packed onto any. */
export async function unpin(
  act: Act,
  number: number,
  { piece, version }: z.output<typeof pieceForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockSeen(act, number, version, 'changed');
  const { [piece]: pinned, ...pins } = load.wishes.pins;
  if (pinned === undefined) throw refused('piece', `Piece ${piece} is not pinned.`);
  await change(act, load, { did: 'unpin', piece, wishes: { ...load.wishes, pins } });
}

/** Another schedule for a load, of its own kind of firing and cone. */
export async function chooseSchedule(
  act: Act,
  number: number,
  { schedule, version }: z.output<typeof scheduleForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockLoad(act, number);
  mustBe(load, ['proposed', 'approved', 'loaded'], 'changed');
  await mustBeSeen(act, load, version);
  const chosen = await findSchedule(act, schedule).catch((error) => {
    throw error instanceof NotFound ? refused('schedule', error.message) : error;
  });
  if (chosen.retiredAt !== null || chosen.kind !== load.kind || chosen.cone !== load.cone)
    throw refused('schedule', `Choose one for ${load.kind} to cone ${load.cone} that is in use.`);
  await replan(act, load, chosen.id);
  await change(act, load, { did: 'schedule', more: { scheduleId: chosen.id } });
}

/** A few legal places for a piece, best first; its own place does not stand in its way. Empty when there is none. */
export async function freeSpotsFor(read: Read, number: number, piece: number): Promise<Place[]> {
  mustBeAllowed(read.actor, 'loads.plan');
  const load = await rowOf(read, number);
  const known = load.problem.pieces.find(({ id }) => id === String(piece));
  const asked = known ?? (await packerPiecesNow(read, load, await findPieces(read, [piece])))[0];
  if (!asked) throw new NotFound(`There is no piece ${piece}.`);
  const problem = known ? load.problem : { ...load.problem, pieces: [...load.problem.pieces, asked] };
  const shelves = shelvesOf(load.plan);
  const level = load.wishes.pins[piece];
  return freeSpots(problem, load.plan, asked).flatMap(({ levelIndex, ...at }) => {
    const shelf = shelves[levelIndex];
    return shelf && (level === undefined || shelf.level === level) ? [{ ...shelf, ...at }] : [];
  });
}

function mustHold(load: LoadRow, piece: number): void {
  if (!numbersOf(load.problem).includes(piece))
    throw refused('piece', `Piece ${piece} is not in load ${load.number}.`);
}

function indexOf(load: LoadRow, { part, level }: Shelf): number {
  const index = shelvesOf(load.plan).findIndex((shelf) => shelf.part === part && shelf.level === level);
  if (index < 0) throw refused('level', 'This load has no such level.');
  return index;
}

function taken(result: MoveResult, path: string): Load {
  if ('refused' in result) throw refused(path, `${result.refused}.`);
  return result.load;
}
