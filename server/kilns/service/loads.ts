import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice, count, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { conflictsAmong } from '../../ware/conflicts.ts';
import { type Firing, firingWords, sameFiring } from '../../ware/firing.ts';
import { gatesFor } from '../../ware/gates.ts';
import {
  enterLoad,
  findPieces,
  leaveLoad,
  listConflicts,
  lockPieces,
  type PieceNow,
  tellOwners,
  wareSettings,
} from '../../ware/service/index.ts';
import { STAGE_WORDS, WAITING } from '../../ware/stage.ts';
import { approvalChecks, type Candidate, type Check, sentence, type Why } from '../approval.ts';
import { levelWord, standing } from '../firing-record.ts';
import type { LevelTick, Shelf } from '../load-fold.ts';
import type { Piece, Problem } from '../packing/problem.ts';
import { packerPieces } from '../queue.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { levelName } from '../witness.ts';
import { type KilnNow, kilnsByIds } from './kilns.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import { loadFaults } from './pack-queue.ts';
import { kilnFacts } from './proposing.ts';
import { kilnSettings } from './settings.ts';

export const MOST = 2 ** 31 - 1;
export const partChoice = () => choice(['full', 'left', 'right']);
export const levelCount = () => count(1, 60);
/** The event of the load that was the newest when its page was made. */
export const version = () => count(1, MOST);
export const approveForm = z.strictObject({ version: version() });
export const cancelForm = z.strictObject({ reason: text(300) });
export type LoadRow = ledgerStore.LoadRow;

export const refused = (path: string, message: string) => new Invalid([{ path, message }]);

export const firingOf = ({ kind, cone, atmosphere }: LoadRow): Firing => ({ kind, cone, atmosphere });

/** A load by its number. @throws NotFound */
export async function rowOf({ tx }: Read, number: number): Promise<LoadRow> {
  const load =
    Number.isInteger(number) && number > 0 && number <= MOST ? await ledgerStore.findLoad(tx, number) : null;
  if (!load) throw new NotFound(`There is no load ${number}.`);
  return load;
}

export async function kilnOf(read: Read, load: LoadRow): Promise<KilnNow> {
  return (await kilnsByIds(read, [load.kilnId])).get(load.kilnId) as KilnNow;
}

/** @throws Conflict, naming who changed the load, where it is not as it was seen */
export async function mustBeSeen({ tx, actor }: Read, load: LoadRow, seen: number): Promise<void> {
  if (load.lastEvent === seen) return;
  const last = await store.lastBy(tx, load.id);
  const who = last?.id === actor.id ? 'You' : (last?.name ?? 'Somebody');
  throw new Conflict(`${who} changed this load a moment ago: look again.`);
}

export const numbersOf = (problem: Problem): number[] => problem.pieces.map(({ id }) => Number(id));

/**
 * What is looked at before a load is approved, as things stand: `pieces` are those of its plan as they are now. Kept
 * by an approved load for what has come to light since.
 */
export async function checksOf(
  read: Read,
  load: LoadRow,
  kiln: KilnNow,
  pieces: readonly PieceNow[],
): Promise<Check[]> {
  const firing = firingOf(load);
  const [settings, rules, asAsked] = await Promise.all([
    wareSettings(read),
    listConflicts(read),
    packerPiecesNow(read, load, pieces),
  ]);
  return approvalChecks({
    kiln: kilnFacts(kiln),
    firing,
    problem: load.problem,
    pieces: pieces.map(
      (piece): Candidate => ({
        number: piece.number,
        trayMm: piece.trayMm,
        gates: gatesFor(piece, firing, settings, read.now),
        notHad: whyNotHad(piece, load),
        asAsked: asAsked.find(({ id }) => id === String(piece.number)) ?? null,
      }),
    ),
    clashes: conflictsAmong(
      pieces.map(({ number, tags }) => ({ number, tags })),
      rules,
    ),
    faults: loadFaults(load.problem, load.plan),
  });
}

/** What is open of these checks now, for what still stands in the load. */
export async function openNow(read: Read, load: LoadRow, kiln: KilnNow): Promise<Check[]> {
  const here = (await piecesHere(read, load)).map((row) => row.number);
  return (await checksOf(read, load, kiln, await findPieces(read, here))).filter(({ ok }) => !ok);
}

/** The pieces that a load's plan holds, but for those that did not go into the kiln. */
export async function piecesHere({ tx }: Read, { id }: Pick<LoadRow, 'id'>): Promise<store.LoadPieceRow[]> {
  return (await store.piecesOf(tx, id)).filter(({ isIn }) => isIn !== false);
}

/** Why a load cannot have a piece; null when it waits for this firing, or is in this load already. */
function whyNotHad({ stage, load: isIn, next }: PieceNow, load: LoadRow): Why | null {
  if (stage === 'in-load')
    return isIn === load.number ? null : { one: `is in load ${isIn}.`, many: `are in load ${isIn}.` };
  if (!WAITING.includes(stage)) {
    const gone = `not wait any more: ${STAGE_WORDS[stage].toLowerCase()}.`;
    return { one: `does ${gone}`, many: `do ${gone}` };
  }
  if (next && sameFiring(next, firingOf(load))) return null;
  const another = `for another firing${next ? `: ${firingWords(next)}` : ''}.`;
  return { one: `waits ${another}`, many: `wait ${another}` };
}

/** The same as a sentence about one piece. */
export function notHad(piece: PieceNow, load: LoadRow): string | null {
  const why = whyNotHad(piece, load);
  return why && `Piece ${piece.number} ${why.one}`;
}

/** Pieces as the packer would be asked for them now, in the load's kind of firing. */
export async function packerPiecesNow(
  read: Read,
  load: LoadRow,
  pieces: readonly PieceNow[],
): Promise<Piece[]> {
  const [settings, timeZone] = await Promise.all([kilnSettings(read), studioTimeZone(read.tx)]);
  return packerPieces(pieces, { kind: load.kind, settings, now: read.now, timeZone });
}

/**
 * Approves a plan: every piece of it is reserved, and nobody else's load can have it. Checked under lock, the load's
 * row first, then the kiln's, then the pieces' by ascending id.
 * @throws Conflict with what is wrong, in words
 */
export async function approve(
  act: Act,
  number: number,
  { version }: z.output<typeof approveForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockLoad(act, number);
  mustBe(load, ['proposed'], 'approved');
  await mustBeSeen(act, load, version);
  await ledgerStore.lockKiln(act.tx, load.kilnId);
  const pieces = await lockPieces(act, numbersOf(load.problem));
  const failing = (await checksOf(act, load, await kilnOf(act, load), pieces)).filter(({ ok }) => !ok);
  if (failing.length > 0) throw new Conflict(failing.map(({ words }) => words).join(' '));
  await enterLoad(act, pieces, number);
  await store.updatePieces(act.tx, load.id, { reserves: true });
  await append(
    act,
    load,
    { kind: 'approved', state: 'approved' },
    { approvedAt: act.now, approvedBy: act.actor.id },
  );
  await tellIn(act, pieces, load);
}

/**
 * Cancels a load that is not fired yet: its pieces wait again, each in the place it had.
 * @throws Conflict once it is firing
 */
export async function cancel(
  act: Act,
  number: number,
  { reason }: z.output<typeof cancelForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'loads.plan');
  const load = await lockLoad(act, number);
  mustBe(load, ['proposed', 'approved', 'loaded'], 'cancelled');
  const held = (await store.piecesOf(act.tx, load.id))
    .filter(({ reserves }) => reserves)
    .map((row) => row.number);
  const pieces = await lockPieces(act, held);
  if (held.length > 0) await leaveLoad(act, held, number);
  await store.updatePieces(act.tx, load.id, { reserves: false });
  await append(act, load, { kind: 'cancelled', state: 'cancelled', note: reason }, { cancelledAt: act.now });
  await tellOwners(
    act,
    pieces,
    'load',
    (...what) =>
      `${sentence(`Load ${number} is cancelled: ${reason}`)} ${are(...what)} waiting again, with the place kept.`,
  );
}

/** 'Piece 3 is' or 'Pieces 3 and 7 are', for `tellOwners`. */
export const are = (what: string, isOne: boolean): string => `${what} ${isOne ? 'is' : 'are'}`;

/** Tells the owners of pieces that these are in a load from now on. */
export const tellIn = (act: Act, pieces: readonly PieceNow[], load: LoadRow): Promise<void> =>
  tellOwners(
    act,
    pieces,
    'load',
    (...what) => `${are(...what)} in load ${load.number}: ${firingWords(firingOf(load))}.`,
  );

/** Tells the owners of pieces that these are not in a load any more. */
export const tellOut = (act: Act, pieces: readonly PieceNow[], load: number): Promise<void> =>
  tellOwners(
    act,
    pieces,
    'load',
    (...what) => `${are(...what)} out of load ${load} and waiting for the next, with the place kept.`,
  );

export const keyOf = ({ part, level }: Shelf): string => `${part} ${level}`;
/** 'Level 2', 'Level 3, left half' */
export const shelfName = (shelf: Shelf): string => levelName(levelWord(shelf));

/** Levels whose tick stands, each with the event that ticked it. */
export async function tickedShelves(
  tx: Read['tx'],
  loadId: number,
): Promise<(LevelTick & { event: number })[]> {
  return standing(await ledgerStore.eventsOf(tx, loadId))
    .filter(({ kind }) => kind === 'level-loaded')
    .map(({ number, payload }) => ({ event: number, ...(payload as LevelTick) }));
}
