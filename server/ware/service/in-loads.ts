import type { Act, Read } from '../../core/actor.ts';
import { Conflict } from '../../core/errors.ts';
import { keepPicture, type Picture } from '../../core/files.ts';
import type { Firing } from '../firing.ts';
import { groupBy } from '../group.ts';
import { OUTCOME_WORDS, type Outcome, stageAfter } from '../outcome.ts';
import { piecesWords } from '../presets.ts';
import { WAITING } from '../stage.ts';
import * as store from '../store/pieces.ts';
import { upper } from '../words.ts';
import { append, tellOwners } from './ledger.ts';
import { findPieces, type PieceNow } from './now.ts';

// For whoever plans, loads and unloads kilns; their use cases have asked who may.

/** The pieces with their rows locked until the end of the transaction, in ascending order; unknown ones left out. */
export async function lockPieces(act: Act, numbers: readonly number[]): Promise<PieceNow[]> {
  await store.lockPieces(act.tx, numbers);
  return findPieces(act, numbers);
}

const numbersOf = (pieces: readonly { number: number }[]) => pieces.map(({ number }) => number);

/** Throws Conflict where one of these numbers is not among the pieces. */
function mustHaveAll(pieces: readonly PieceNow[], numbers: readonly number[]): void {
  const missing = numbers.filter((number) => !pieces.some((piece) => piece.number === number));
  if (missing.length > 0) throw new Conflict(`There is no ${piecesWords(missing)}.`);
}

/** Puts pieces that wait into a load. Throws Conflict naming those that do not wait any more. */
export async function enterLoad(
  act: Act,
  pieces: readonly Pick<PieceNow, 'number'>[],
  load: number,
): Promise<void> {
  const numbers = numbersOf(pieces);
  const locked = await lockPieces(act, numbers);
  mustHaveAll(locked, numbers);
  const gone = locked.filter(({ stage }) => !WAITING.includes(stage));
  if (gone.length > 0) {
    const verb = gone.length === 1 ? 'does' : 'do';
    throw new Conflict(
      `${upper(piecesWords(numbersOf(gone)))} ${verb} not wait any more: take them out of the plan.`,
    );
  }
  await append(act, locked, () => ({ kind: 'entered-load', stage: 'in-load', load }));
}

/** Takes pieces out of a load, back to the queue with the place they had. Throws Conflict for what is not in it. */
export async function leaveLoad(act: Act, numbers: readonly number[], load: number): Promise<void> {
  const locked = await lockPieces(act, numbers);
  mustHaveAll(locked, numbers);
  mustBeIn(locked, load);
  await append(act, locked, ({ standing }) => ({
    kind: 'left-load',
    stage: standing.before ?? 'waiting-glaze',
    load,
  }));
}

function mustBeIn(pieces: readonly PieceNow[], load: number): void {
  const elsewhere = pieces.filter((piece) => piece.load !== load);
  if (elsewhere.length > 0)
    throw new Conflict(
      `${upper(piecesWords(numbersOf(elsewhere)))} ${elsewhere.length === 1 ? 'is' : 'are'} not in load ${load}.`,
    );
}

/** How one piece came out of the kiln. */
export interface CameOut {
  number: number;
  outcome: Outcome;
  /** Counted from 1 at the floor; null: not known. */
  level: number | null;
  note?: string | undefined;
  picture?: Picture | null | undefined;
  /** Not to be glazed any more, though it came out of a bisque. */
  isBeyondUse?: boolean | undefined;
}

/**
 * Records how pieces came out of a load, and moves those that are still in it on. Said again of a piece that is out
 * already it corrects: the newest outcome counts, and a piece that nothing was done with since goes where that leads.
 * Owners are told. Throws Conflict for a piece that never was in this load.
 */
export async function comeOut(
  act: Act,
  load: number,
  firing: Firing,
  items: readonly CameOut[],
): Promise<void> {
  const byNumber = new Map(items.map((item) => [item.number, item]));
  const locked = await lockPieces(act, [...byNumber.keys()]);
  mustHaveAll(locked, [...byNumber.keys()]);
  const out = await store.outcomesOf(act.tx, load);
  mustBeIn(
    locked.filter(({ number }) => !out.has(number)),
    load,
  );
  const kept = new Map<number, { noteId: number | null; fileId: number | null }>();
  for (const { number, note, picture } of byNumber.values())
    kept.set(number, {
      noteId: await store.insertNote(act.tx, note),
      fileId: picture ? await keepPicture(act, picture) : null,
    });
  const results = locked.map((piece) => {
    const item = byNumber.get(piece.number) as CameOut;
    const stage = stageAfter(firing.kind, piece.final, item.outcome, item.isBeyondUse);
    return { piece, item, stage };
  });
  await append(act, locked, ({ number, standing }) => {
    const { stage, item } = results.find(({ piece }) => piece.number === number) as (typeof results)[number];
    const isIn = standing.load === load;
    const isJustOut = standing.outOf === load && standing.stage !== stage;
    return {
      kind: isIn ? 'came-out' : 'outcome',
      stage: isIn || isJustOut ? stage : undefined,
      load,
      payload: { outcome: item.outcome },
      ...kept.get(number),
    };
  });
  await store.fireGlazes(
    act.tx,
    locked.flatMap((piece) => (piece.load === load ? [piece.id] : [])),
    load,
  );
  await store.insertOutcomes(
    act.tx,
    results.map(({ piece, item }) => ({
      pieceId: piece.id,
      load,
      outcome: item.outcome,
      level: item.level,
      by: act.actor.id,
      at: act.now,
      ...kept.get(piece.number),
    })),
  );
  await tellHow(
    act,
    results.filter(({ item }) => out.get(item.number) !== item.outcome),
  );
}

async function tellHow(
  act: Act,
  results: readonly { piece: PieceNow; item: CameOut; stage: 'bisqued' | 'fired' }[],
): Promise<void> {
  for (const same of groupBy(results, ({ item, stage }) => `${item.outcome} ${stage}`).values()) {
    const [{ item, stage }] = same;
    const then = stage === 'bisqued' ? 'bisqued: glaze next' : 'fired: ready to pick up';
    const outcome = OUTCOME_WORDS[item.outcome].toLowerCase();
    await tellOwners(
      act,
      same.map(({ piece }) => piece),
      'came-out',
      (what, isOne) =>
        item.outcome === 'good'
          ? `${what} ${isOne ? 'is' : 'are'} ${then}.`
          : `${what} came out of the kiln: ${outcome}. Have a look.`,
    );
  }
}

/** Where loads are and when they are expected out, by their numbers, in words: 'firing now, out Saturday 09:30'. */
export type LoadWords = (read: Read, loads: readonly number[]) => Promise<Map<number, string>>;

let words: LoadWords = async () => new Map();

/** The kilns, which ware knows nothing of, say where loads are. Set once, where the app is put together. */
export function fillLoadWords(gate: LoadWords): void {
  words = gate;
}

/** Words for these loads; none for a load of which nothing is known. */
export const loadWords: LoadWords = async (read, loads) =>
  loads.length === 0 ? new Map() : words(read, [...new Set(loads)]);
