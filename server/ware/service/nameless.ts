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

/** The shelf without names, newest first. Who says that a piece is theirs is not shown to others. */
export async function namelessShelf(read: Read): Promise<ShelfPiece[]> {
  mustBeAllowed(read.actor, 'ware.own');
  const shelf = await listNameless(read);
  const claims = await store.claimsOn(
    read.tx,
    shelf.map(({ id }) => id),
  );
  return shelf.map(({ id, number, form, photo, looks, mark, place, stageSince }) => ({
    number,
    form,
    photo,
    looks,
    mark,
    place,
    since: stageSince,
    isClaimed: claims.some((claim) => claim.pieceId === id && claim.id === read.actor.id),
  }));
}
