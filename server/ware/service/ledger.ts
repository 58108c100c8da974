import type { Act, Read } from '../../core/actor.ts';
import { Conflict } from '../../core/errors.ts';
import { tell } from '../../core/messages.ts';
import { coatsOf, type LedgerCoat } from '../coats.ts';
import { fromStored } from '../events.ts';
import { fold, type PieceEvent, type PieceEventPayload, type Standing, step } from '../fold.ts';
import { groupBy } from '../group.ts';
import { piecesWords } from '../presets.ts';
import { type Route, routeOf } from '../route.ts';
import type { Stage } from '../stage.ts';
import * as store from '../store/pieces.ts';
import { upper } from '../words.ts';
import { groupReaders } from './groups.ts';
import type { PieceNow } from './now.ts';

/** What is appended to a piece, and what of its row changes with it beyond where it stands. */
export interface Entry {
  kind: PieceEvent['kind'];
  stage?: Stage | undefined;
  load?: number | undefined;
  payload?: PieceEventPayload | undefined;
  noteId?: number | null | undefined;
  fileId?: number | null | undefined;
  change?: Partial<store.PieceColumns> | undefined;
  /** Its raw coats of glaze from now on. */
  glazes?: Parameters<typeof store.setGlazes>[3] | undefined;
  /** One more raw coat. */
  coat?: Parameters<typeof store.addGlaze>[2] | undefined;
  /** How thick a coat is, by its position. */
  thickness?: { position: number; change: Parameters<typeof store.changeGlaze>[3] } | undefined;
}

/** The columns of a piece that follow from its events. */
export const standingColumns = (standing: Standing) => {
  const { stage, stageSince, load, waitingSince, dryAt, dryBy, footAt, yesAt, yesBy, trayMm } = standing;
  return { stage, stageSince, load, waitingSince, dryAt, dryBy, footAt, yesAt, yesBy, trayMm };
};

const eventOf = ({ kind, at, by, stage, load, payload }: store.StoredEvent): PieceEvent => ({
  kind,
  at,
  by,
  stage,
  load,
  payload: fromStored(payload),
});

/** An event as it was stored, with its number. */
export const numberedEvent = (event: store.StoredEvent): PieceEvent & { number: number } => ({
  ...eventOf(event),
  number: event.number,
});

/** An event of whoever acts, now. */
export const newEvent = ({ actor, now }: Act, { kind, stage, load, payload }: Entry): PieceEvent => ({
  kind,
  at: now,
  by: actor.id,
  stage: stage ?? null,
  load: load ?? null,
  payload: payload ?? {},
});

/** The event as a row of the ledger. */
export const eventRow = (
  { actor, now }: Act,
  pieceId: number,
  number: number,
  { kind, stage, load, payload, noteId, fileId }: Entry,
): store.EventColumns => ({
  pieceId,
  number,
  kind,
  happenedAt: now,
  recordedAt: now,
  by: actor.id,
  tokenId: actor.tokenId,
  stage: stage ?? null,
  load: load ?? null,
  noteId: noteId ?? null,
  fileId: fileId ?? null,
  v: 1,
  payload: payload ?? {},
});

/** Where each of these pieces stands, by its events. */
async function standings(
  read: Pick<Read, 'tx'>,
  pieceIds: readonly number[],
): Promise<Map<number, Standing>> {
  const ledgers = groupBy(await store.ledgersOf(read.tx, pieceIds), ({ pieceId }) => pieceId);
  const all = new Map<number, Standing>();
  for (const [id, events] of ledgers) {
    const standing = fold(events.map(eventOf));
    if (standing) all.set(id, standing);
  }
  return all;
}

/** Where each piece of these ledgers is on its way at the bench. */
export const routesIn = (ledgers: readonly store.StoredEvent[]): Map<number, Route> =>
  new Map(
    [...groupBy(ledgers, ({ pieceId }) => pieceId)].map(([id, events]) => [
      id,
      routeOf(events.map(numberedEvent)),
    ]),
  );

/** Where each of these pieces is on its way at the bench, by its id. */
export const routesOf = async (
  { tx }: Pick<Read, 'tx'>,
  ids: readonly number[],
): Promise<Map<number, Route>> => routesIn(await store.ledgersOf(tx, ids));

/** The route of one of them; there is none without events, and every piece has some. */
export function routeFor(routes: Map<number, Route>, { id, number }: Pick<PieceNow, 'id' | 'number'>): Route {
  const route = routes.get(id);
  if (!route) throw new Error(`Piece ${number} has no events.`);
  return route;
}

/** Appends one event to each of these pieces, which are locked, and stores where each stands then. */
export async function append(
  act: Act,
  pieces: readonly Pick<PieceNow, 'id' | 'number' | 'lastEvent'>[],
  entryFor: (piece: { id: number; number: number; standing: Standing }) => Entry,
): Promise<void> {
  const before = await standings(
    act,
    pieces.map(({ id }) => id),
  );
  const rows: store.EventColumns[] = [];
  for (const { id, number, lastEvent } of pieces) {
    const standing = before.get(id);
    if (!standing) throw new Error(`Piece ${number} has no events.`);
    const entry = entryFor({ id, number, standing });
    const after = step(standing, newEvent(act, entry));
    if (after === standing) throw new Conflict(`Piece ${number} has moved meanwhile: look again.`);
    rows.push(eventRow(act, id, lastEvent + 1, entry));
    await store.updatePiece(act.tx, id, {
      ...entry.change,
      ...standingColumns(after),
      lastEvent: lastEvent + 1,
    });
    if (entry.glazes) await store.setGlazes(act.tx, id, act.now, entry.glazes);
    if (entry.coat) await store.addGlaze(act.tx, id, entry.coat);
    if (entry.thickness)
      await store.changeGlaze(act.tx, id, entry.thickness.position, entry.thickness.change);
  }
  await store.appendEvents(act.tx, rows);
}

/** The id of a new note of whoever acts, about a kiln or a load too; null where there are no words. */
export const keepNote = ({ tx }: Pick<Act, 'tx'>, words: string | undefined): Promise<number | null> =>
  store.insertNote(tx, words);

/** Tells the owners of these pieces, each once for all of theirs: 'Pieces 12 to 17 are fired.' */
export async function tellOwners(
  act: Act,
  pieces: readonly Pick<PieceNow, 'number' | 'owner'>[],
  kind: string,
  words: (what: string, isOne: boolean) => string,
): Promise<void> {
  const owned = pieces.filter(({ owner }) => owner !== null);
  for (const theirs of groupBy(owned, ({ owner }) => `${owner?.kind} ${owner?.id}`).values()) {
    const [{ owner, number }] = theirs;
    if (!owner) continue;
    const personIds = owner.kind === 'person' ? [owner.id] : await groupReaders(act, owner.id);
    const what = piecesWords(theirs.map((piece) => piece.number));
    await tell(act, {
      personIds,
      kind,
      words: words(upper(what), theirs.length === 1),
      href: theirs.length === 1 ? `/ware/${number}` : '/ware',
    });
  }
}

/** A piece whose row does not say what its events say. */
export interface PieceDisagreement {
  number: number;
  stored: Record<string, unknown>;
  computed: Record<string, unknown>;
}

/** With so many pieces at a time memory stays small, and no statement is too long. */
const SLICE = 2000;

/** Compares every piece's row with what its events come to, slice by slice; none is as it should be. */
export async function examinePieces(read: Pick<Read, 'tx'>, slice = SLICE): Promise<PieceDisagreement[]> {
  const found: PieceDisagreement[] = [];
  let before: number | undefined;
  do {
    const rows = await store.listPieces(read.tx, { limit: slice, ...(before !== undefined && { before }) });
    const ids = rows.map(({ piece }) => piece.id);
    const ledgers = groupBy(await store.ledgersOf(read.tx, ids), ({ pieceId }) => pieceId);
    const coats = groupBy(await store.coatsEver(read.tx, ids), ({ pieceId }) => pieceId);
    found.push(
      ...rows.flatMap((row) => {
        const { id } = row.piece;
        return disagreement(row, coats.get(id) ?? [], (ledgers.get(id) ?? []).map(numberedEvent)) ?? [];
      }),
    );
    before = rows.length < slice ? undefined : rows.at(-1)?.piece.number;
  } while (before !== undefined);
  return found;
}

function disagreement(
  { piece, isBisqued, isOnce }: store.PieceRow,
  coats: readonly (LedgerCoat & { pieceId: number })[],
  events: readonly ReturnType<typeof numberedEvent>[],
): PieceDisagreement | null {
  const standing = fold(events);
  if (!standing) return { number: piece.number, stored: piece, computed: {} };
  const columns = {
    ...standingColumns(standing),
    isFlagged: standing.isFlagged,
    isBisqued: standing.isBisqued,
    isOnce: standing.isOnce,
    ...coatColumns(coatsOf(events)),
  };
  const stored: Record<string, unknown> = {
    ...piece,
    isFlagged: piece.flag !== null,
    isBisqued,
    isOnce,
    ...coatColumns(coats),
  };
  const wrong = Object.entries(columns).filter(([name, value]) => stored[name] !== value);
  if (wrong.length === 0) return null;
  return {
    number: piece.number,
    stored: Object.fromEntries(wrong.map(([name]) => [name, stored[name]])),
    computed: Object.fromEntries(wrong),
  };
}

/**
 * Coats as one line of text each, so that they are compared like any other value. Ledgers of old have the codes of
 * buckets as they were typed.
 */
const coatColumns = (coats: readonly LedgerCoat[]): { coats: string } => ({
  coats: coats
    .map(({ glaze, face, way, seconds, coatMm, coatFrom, scratchMm, gravity, load, isEnded }) =>
      JSON.stringify([
        glaze.toLowerCase(),
        face,
        way,
        seconds,
        coatMm,
        coatFrom,
        scratchMm,
        gravity,
        load,
        isEnded,
      ]),
    )
    .join('\n'),
});
