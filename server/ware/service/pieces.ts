import type { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict } from '../../core/errors.ts';
import { findOwnPicture, keepPicture, type Picture } from '../../core/files.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { sameFiring } from '../firing.ts';
import { fold } from '../fold.ts';
import { PRESETS } from '../presets.ts';
import { extentOf } from '../size.ts';
import * as store from '../store/pieces.ts';
import {
  type Columns,
  type changeForm,
  columnsOf,
  formColumns,
  type foundForm,
  type registerForm,
  sizeColumns,
} from './describing.ts';
import { append, type Entry, eventRow, newEvent, standingColumns } from './ledger.ts';
import { refuse } from './move-entries.ts';
import { findOwn, findPiece, lockOwn, type PieceNow } from './now.ts';
import { keepPrices } from './quotes.ts';
import { wareSettings } from './settings.ts';

/** A photo before its piece or mark: a form that is refused for something else need not bring it again. */
export async function keepPhoto(act: Act, picture: Picture): Promise<void> {
  mustBeAllowed(act.actor, 'ware.own');
  await keepPicture(act, picture);
}

/**
 * The id of the photo that a form brought, or else of the one that was kept for it; null for neither. Throws Invalid
 * where none was kept for whoever acts.
 */
export async function photoOf(
  act: Act,
  picture: Picture | null,
  kept: string | undefined,
): Promise<number | null> {
  if (picture) return keepPicture(act, picture);
  if (kept === undefined) return null;
  const id = await findOwnPicture(act, kept);
  if (id === null) throw refuse('photo', 'Choose the photo again.');
  return id;
}

/** Registers one piece, or several that are alike, each with a number of its own. */
export async function registerPieces(
  act: Act,
  command: z.output<typeof registerForm>,
  picture: Picture | null = null,
): Promise<{ numbers: number[] }> {
  mustBeAllowed(act.actor, 'ware.own');
  const { begins, howMany } = command;
  if (command.once && begins === 'bisqued')
    throw refuse('once', 'It is bisqued already: it is not fired once.');
  if (command.once && command.kind === 'bisque')
    throw refuse('once', 'Bisque is all that is wanted: there is nothing to leave out.');
  const columns = await columnsOf(act, command, begins, []);
  const entry: Entry = {
    kind: 'registered',
    stage: begins === 'wet' ? 'made' : begins,
    payload: { once: command.once ?? false },
  };
  const made = await insert(act, entry, columns, {
    count: howMany,
    fileId: await photoOf(act, picture, command.kept),
    noteId: await store.insertNote(act.tx, command.note),
  });
  await keepPrices(act, made.numbers);
  return made;
}

/** A piece that nobody knows whose it is goes on the shelf without names, by its photo. */
export async function registerFound(
  act: Act,
  command: z.output<typeof foundForm>,
  picture: Picture | null,
): Promise<{ numbers: number[] }> {
  mustBeAllowed(act.actor, 'ware.decide');
  const { form, looks, mark, place, note } = command;
  const fileId = await photoOf(act, picture, command.kept);
  if (fileId === null) throw refuse('photo', 'Take a photo: its owner knows it by that.');
  const { bisqueCone } = await wareSettings(act);
  const preset = PRESETS[form];
  const columns = {
    ...formColumns(command),
    ...sizeColumns({ form }),
    measured: looks === 'greenware' ? ('dry' as const) : ('bisque' as const),
    measuredByTechnician: false,
    kg: null,
    thickestMm: preset.thickestMm,
    isClosed: false,
    hasHole: false,
    clayId: null,
    ownClay: null,
    // The coolest firing, until its owner says what it is for.
    kind: 'bisque' as const,
    cone: bisqueCone,
    atmosphere: 'oxidation' as const,
    wantedBy: null,
    mark: mark ?? '',
    place: place ?? '',
    ownerId: null,
    ownerGroupId: null,
    payerId: null,
    payerGroupId: null,
  };
  const noteId = await store.insertNote(act.tx, note);
  const entry: Entry = { kind: 'registered', stage: 'no-name', payload: { looks } };
  return insert(act, entry, columns, { count: 1, fileId, noteId });
}

async function insert(
  act: Act,
  entry: Entry,
  columns: Columns,
  { count: howMany, fileId, noteId }: { count: number; fileId: number | null; noteId: number | null },
): Promise<{ numbers: number[] }> {
  const standing = fold([newEvent(act, entry)]);
  if (!standing) throw new Error('A registration is an event.');
  const row = {
    ...columns,
    ...standingColumns(standing),
    fileId,
    noteId,
    registeredBy: act.actor.id,
    registeredAt: act.now,
  };
  const made = await store.insertPieces(
    act.tx,
    Array.from({ length: howMany }, () => row),
  );
  await store.appendEvents(
    act.tx,
    made.map(({ id }) => eventRow(act, id, 1, entry)),
  );
  return { numbers: made.map(({ number }) => number) };
}

/** What of a piece may not be put right: it is in a load, or not here any more. */
export function changeRefusal({
  number,
  stage,
  load,
}: Pick<PieceNow, 'number' | 'stage' | 'load'>): string | null {
  if (load !== null) return `Piece ${number} is in load ${load}: a technician takes it out first.`;
  if (stage === 'picked-up' || stage === 'lost') return `Piece ${number} is not here any more.`;
  return stage === 'no-name' ? `Piece ${number} has no owner yet: give it one first.` : null;
}

/**
 * Puts right what is known of a piece, and of others of its batch. A technician's yes does not outlive another clay
 * or firing, nor a technician's measure another size by its owner.
 */
export async function changePieces(
  act: Act,
  number: number,
  command: z.output<typeof changeForm>,
  picture: Picture | null = null,
): Promise<void> {
  mustBeAllowed(act.actor, 'ware.own');
  const { batch } = await findPiece(act, number);
  const numbers = [...new Set([number, ...command.also])];
  const pieces = await lockOwn(act, numbers);
  if (pieces.some((piece) => piece.batch !== batch)) throw refuse('also', 'Only pieces of the same batch.');
  for (const piece of pieces) {
    const refusal = changeRefusal(piece);
    if (refusal) throw new Conflict(refusal);
  }
  const hasPicture = picture !== null || command.kept !== undefined;
  const newPicture = await photoOf(act, picture, command.kept);
  const newNote = await store.insertNote(act.tx, command.note);
  const byNumber = new Map<number, { columns: Columns; piece: PieceNow }>();
  for (const piece of pieces) {
    const begins = piece.isBisqued ? 'bisqued' : piece.measured.when === 'wet' ? 'wet' : 'drying';
    byNumber.set(piece.number, { columns: await columnsOf(act, command, begins, [piece]), piece });
  }
  await append(act, pieces, ({ number: one }) => {
    const { columns, piece } = byNumber.get(one) as { columns: Columns; piece: PieceNow };
    return {
      kind: 'edited',
      payload: { endsYes: isStranger(piece, columns), changed: changes(piece, columns) },
      change: {
        ...columns,
        noteId: newNote,
        ...(hasPicture && { fileId: newPicture }),
      },
    };
  });
  await keepPrices(act, numbers);
}

const isStranger = (before: PieceNow, after: Columns): boolean =>
  (before.clay?.id ?? null) !== after.clayId ||
  before.ownClay !== after.ownClay ||
  !sameFiring(before.final, after);

/** Figures and firings that changed, for the ledger: no names and no words of anybody's. */
function changes({ final, measured, thickestMm }: PieceNow, after: Columns): Record<string, string> {
  const before = { ...final, ...extentOf(measured.footprint), heightMm: measured.heightMm, thickestMm };
  const now: Record<string, unknown> = after;
  return Object.fromEntries(
    Object.entries(before)
      .filter(([name, value]) => now[name] !== value)
      .map(([name, value]) => [name, `${value} → ${now[name]}`]),
  );
}

/** Where a registration starts from for whoever asks: what their newest piece was made of and is for. */
export async function usualFor(read: Read) {
  mustBeAllowed(read.actor, 'ware.own');
  return store.newestBy(read.tx, read.actor.id);
}

/** What was done to a piece, newest first. */
export async function pieceHistory(read: Read, number: number) {
  const { id } = await findPiece(read, number);
  return store.historyOf(read.tx, id);
}

/** The other pieces of its batch that are where it is, in ascending order. */
export async function siblings(read: Read, piece: PieceNow): Promise<PieceNow[]> {
  const batch = await store.listPieces(read.tx, { batch: piece.batch });
  const others = batch.filter((row) => row.piece.number !== piece.number && row.piece.stage === piece.stage);
  const own = await store.ownAmong(
    read.tx,
    read.actor.id,
    others.map((row) => row.piece.id),
  );
  const seen = others.filter((row) => own.has(row.piece.id) === piece.isMine);
  return findOwn(
    read,
    seen.map((row) => row.piece.number),
  );
}
