import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, NotFound } from '../../core/errors.ts';
import { text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import * as store from '../store/pieces.ts';
import { append } from './ledger.ts';
import { findPieces, listNameless, type PieceNow } from './now.ts';

export const claimForm = z.strictObject({ note: text(500).optional() });

/** Says that a piece on the shelf without names is one's own; a technician hands it over. */
export async function claimPiece(act: Act, number: number, body: z.output<typeof claimForm>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.own');
  await store.lockPieces(act.tx, [number]);
  const [piece] = await findPieces(act, [number]);
  if (piece?.stage !== 'no-name')
    throw new NotFound(`There is no piece ${number} on the shelf without names.`);
  const claims = await store.claimsOn(act.tx, [piece.id]);
  if (claims.some(({ id }) => id === act.actor.id))
    throw new Conflict('You said so already: a technician hands it over.');
  const noteId = await store.insertNote(act.tx, body.note);
  await append(act, [piece], () => ({ kind: 'claimed', noteId }));
}

/** A piece on the shelf without names, as anybody may see it. */
export interface ShelfPiece extends Pick<PieceNow, 'number' | 'form' | 'photo' | 'looks' | 'mark' | 'place'> {
  since: Instant;
  /** By whoever asks. */
  isClaimed: boolean;
}

const ON_A_PAGE = 60;

/**
 * The shelf without names, newest first: those numbered under `before`, a page of them. `next` is what to ask for after
 * it, null at the end. Who says that a piece is theirs is not shown to others.
 */
export async function namelessShelf(
  read: Read,
  before?: number,
): Promise<{ shelf: ShelfPiece[]; next: number | null }> {
  mustBeAllowed(read.actor, 'ware.own');
  const found = await listNameless(read, { limit: ON_A_PAGE + 1, ...(before !== undefined && { before }) });
  const shown = found.slice(0, ON_A_PAGE);
  const claims = await store.claimsOn(
    read.tx,
    shown.map(({ id }) => id),
  );
  const shelf = shown.map(({ id, number, form, photo, looks, mark, place, stageSince }) => ({
    number,
    form,
    photo,
    looks,
    mark,
    place,
    since: stageSince,
    isClaimed: claims.some((claim) => claim.pieceId === id && claim.id === read.actor.id),
  }));
  return { shelf, next: found.length > ON_A_PAGE ? (shelf.at(-1)?.number ?? null) : null };
}
