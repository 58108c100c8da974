import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { gatesFor } from '../../ware/gates.ts';
import {
  findPieces,
  listWaiting,
  lockPieces,
  type PieceNow,
  wareSettings,
} from '../../ware/service/index.ts';
import { packInWorker } from '../packing/in-worker.ts';
import { CHANGEABLE, change, lockSeen, whyNot } from './changes.ts';
import { mustBe } from './load-ledger.ts';
import {
  firingOf,
  kilnOf,
  mustBeSeen,
  notHad,
  numbersOf,
  rowOf,
  tellIn,
  tellOut,
  tickedShelves,
  version,
} from './loads.ts';
import { lowered, type PackedLoad, type Packer, packQueue } from './pack-queue.ts';
import { kilnSettings } from './settings.ts';

export const repackForm = z.strictObject({ version: version() });

export interface PreparedRepack {
  version: number;
  packed: PackedLoad;
}

/**
 * Packs a load anew from what it holds and what waits, keeping its pins and what was left out. Takes seconds: call it
 * outside any transaction, and store what it answers with `saveRepack`.
 * @throws Conflict when it cannot keep a pin, or was changed since it was seen
 */
export async function prepareRepack(
  read: Read,
  number: number,
  { version }: z.output<typeof repackForm>,
  packer: Packer = packInWorker,
): Promise<PreparedRepack> {
  mustBeAllowed(read.actor, 'loads.plan');
  const load = await rowOf(read, number);
  mustBe(load, CHANGEABLE, 'packed again');
  await mustBeSeen(read, load, version);
  if ((await tickedShelves(read.tx, load.id)).length > 0)
    throw new Conflict('A level is loaded already: take its tick back before packing again.');
  const firing = firingOf(load);
  const [waiting, own, kiln, settings, gates] = await Promise.all([
    listWaiting(read, firing),
    findPieces(read, numbersOf(load.problem)),
    kilnOf(read, load),
    kilnSettings(read),
    wareSettings(read),
  ]);
  const isOpen = (piece: PieceNow) =>
    notHad(piece, load) === null && gatesFor(piece, firing, gates, read.now).every(({ ok }) => ok);
  const mine = own.filter(isOpen);
  const others = waiting.filter((piece) => piece.isReady && !mine.some((one) => one.number === piece.number));
  const queue = [...mine, ...others].filter((piece) => !load.wishes.leftOut.includes(piece.number));
  const { pins } = load.wishes;
  const timeZone = await studioTimeZone(read.tx);
  const setting = { kind: load.kind, settings, now: read.now, timeZone, pins };
  const { loads, unplaced } = await packQueue(read, { kiln, firing, queue, maxLoads: 1, setting }, packer);
  const [packed] = loads;
  if (!packed) throw new Conflict('Nothing that waits fits: the load stays as it is.');
  const lost = Object.keys(pins).find(
    (pinned) => !packed.pieces.some((piece) => piece.number === Number(pinned)),
  );
  if (lost !== undefined) {
    const why = unplaced.find((one) => one.number === Number(lost))?.reason;
    throw new Conflict(
      `Piece ${lost} cannot be kept on level ${pins[lost]}${why ? `: ${lowered(why)}` : ''}. Unpin it, then pack again.`,
    );
  }
  return { version, packed };
}

/** Stores a load that was packed anew. @throws Conflict when it, or what waits, changed meanwhile */
export async function saveRepack(
  act: Act,
  number: number,
  { version, packed }: PreparedRepack,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockSeen(act, number, version, 'packed again');
  const before = new Set(numbersOf(load.problem));
  const after = new Set(packed.pieces.map((piece) => piece.number));
  const locked = await lockPieces(act, [...new Set([...before, ...after])]);
  const entering = locked.filter((piece) => after.has(piece.number) && !before.has(piece.number));
  const leaving = locked.filter((piece) => before.has(piece.number) && !after.has(piece.number));
  const together = locked.filter((piece) => after.has(piece.number));
  for (const piece of entering) {
    const others = together.filter((one) => one.number !== piece.number);
    const reason = await whyNot(act, load, piece, others);
    if (reason) throw new Conflict(`${reason} Pack again.`);
  }
  const { problem, plan, bound } = packed;
  await change(act, load, { did: 'repack', problem, plan, entering, more: { bound } });
  if (load.state !== 'approved') return;
  await tellIn(act, entering, load);
  await tellOut(act, leaving, number);
}
