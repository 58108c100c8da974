import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { findOwnPicture, keepPicture, type Picture } from '../../core/files.ts';
import { choice, code, sha256, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import * as tiles from '../store/tiles.ts';
import * as store from '../store.ts';
import { cone } from './edit.ts';
import { factsOf, lockRow, mustBeCode } from './now.ts';
import { recordEntries } from './record.ts';

export type Tile = tiles.TileRow;

export const tileForm = z.strictObject({
  clay: text(60),
  cone: cone(),
  atmosphere: choice(['oxidation', 'reduction']).optional(),
  over: code().optional(),
  note: text(500).optional(),
  /** What it says of a glaze that is on test. */
  verdict: choice(['accepted', 'not-accepted', 'picture-only']).optional(),
  /** A photo that came with this form before, when something else in it was refused. */
  kept: sha256('Choose the photo again.').optional(),
});

const MOST_TILES = 200;

export async function listTiles(read: Read, bucketCode: string, limit = MOST_TILES): Promise<Tile[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  mustBeCode(bucketCode);
  return tiles.list(read.tx, bucketCode, limit);
}

/** What clays are called on tiles so far. */
export async function listClays(read: Read): Promise<string[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  return tiles.clays(read.tx);
}

/** A photo before its tile: a form that is refused for something else need not bring it again. */
export async function keepForTile(act: Act, picture: Picture): Promise<void> {
  mustBeAllowed(act.actor, 'tiles.edit');
  await keepPicture(act, picture);
}

/**
 * A fired tile of a bucket's glaze. A technician may accept the glaze by it, if the bucket is on test: it is in
 * service from then on.
 */
export async function addTile(
  act: Act,
  bucketCode: string,
  command: z.output<typeof tileForm>,
  picture: Picture | null,
): Promise<{ tile: number; event: number | null }> {
  mustBeAllowed(act.actor, 'tiles.edit');
  const { clay, cone, atmosphere, note, verdict } = command;
  const { bucket, state } = await lockRow(act, bucketCode);
  const isOnTest = state.service === 'on-test';
  if (isOnTest && verdict === undefined)
    throw refuse('verdict', 'The bucket is on test: say whether the glaze passes by this tile.');
  if (!isOnTest && (verdict === 'accepted' || verdict === 'not-accepted'))
    throw refuse('verdict', 'This bucket is not on test: there is nothing to accept.');
  const fileId = picture ? await keepPicture(act, picture) : await keptPicture(act, command.kept);
  if (verdict === 'accepted' && fileId === null)
    throw refuse('photo', 'The glaze is accepted by a photo of its tile: take one.');
  const number = await tiles.insert(act.tx, {
    bucketId: bucket.id,
    fileId,
    clay,
    cone: atmosphere ? `${cone} ${atmosphere}` : cone,
    overBucketId: command.over === undefined ? null : await bucketUnder(act, bucket.id, command.over),
    noteId: note === undefined ? null : await store.insertNote(act.tx, bucket.id, note),
    accepted: verdict === 'accepted' ? true : verdict === 'not-accepted' ? false : null,
    batch: state.batch,
    madeBy: act.actor.id,
    madeAt: act.now,
  });
  await record(act, 'tile.add', `bucket:${bucket.code}`, { tile: number });
  return { tile: number, event: verdict === 'accepted' ? await putInService(act, bucketCode, number) : null };
}

const refuse = (path: string, message: string) => new Invalid([{ path, message }]);

async function keptPicture(act: Act, sha256: string | undefined): Promise<number | null> {
  if (sha256 === undefined) return null;
  const id = await findOwnPicture(act, sha256);
  if (id === null) throw refuse('photo', 'Choose the photo again.');
  return id;
}

async function bucketUnder({ tx }: Act, own: number, other: string): Promise<number> {
  const row = await store.find(tx, other);
  if (!row) throw refuse('over', 'Choose a bucket from the list.');
  if (row.bucket.id === own) throw refuse('over', 'That is this bucket itself: choose the other glaze.');
  return row.bucket.id;
}

/** Accepts the glaze by a tile that is there already. Answers with the number of the event. */
export async function acceptTile(act: Act, bucketCode: string, number: number): Promise<number> {
  mustBeAllowed(act.actor, 'tiles.edit');
  const { bucket, state } = await lockRow(act, bucketCode);
  const tile = await standing(act, bucket.id, number);
  if (state.service !== 'on-test')
    throw new Conflict('This bucket is not on test: there is nothing to accept.');
  if (tile.photo === null) throw new Conflict('This tile has no photo: add one that has.');
  if (tile.batch !== state.batch)
    throw new Conflict(
      tile.batch === null
        ? `This tile was made before batch ${state.batch} came into the bucket.`
        : `This tile is of batch ${tile.batch}, which is not the newest in the bucket.`,
    );
  await tiles.update(act.tx, bucket.id, number, { accepted: true });
  await record(act, 'tile.accept', `bucket:${bucket.code}`, { tile: number });
  return putInService(act, bucketCode, number);
}

async function putInService(act: Act, bucketCode: string, number: number): Promise<number> {
  mustBeAllowed(act.actor, 'buckets.return-to-service');
  const entry = { kind: 'service', state: 'in-service', cause: `tile-${number}` } as const;
  return (await recordEntries(act, bucketCode, () => [entry], null)).event.number;
}

/**
 * Takes a tile off the page; it is kept. A bucket in service that holds the batch accepted by this tile, and by no
 * other, is on test again.
 */
export async function withdrawTile(act: Act, bucketCode: string, number: number): Promise<void> {
  mustBeAllowed(act.actor, 'tiles.edit');
  const { bucket, state } = await lockRow(act, bucketCode);
  const tile = await standing(act, bucket.id, number);
  await tiles.update(act.tx, bucket.id, number, { withdrawnAt: act.now });
  await record(act, 'tile.withdraw', `bucket:${bucket.code}`, { tile: number });
  const { batch, service } = factsOf(state);
  if (!tile.accepted || batch === null || tile.batch !== batch || service !== 'in-service') return;
  if (await tiles.isAccepted(act.tx, bucket.id, batch)) return;
  const entry = { kind: 'service', state: 'on-test', cause: `batch-${batch}` } as const;
  await recordEntries(act, bucketCode, () => [entry], 'The tile it was accepted by was withdrawn');
}

async function standing({ tx }: Act, bucketId: number, number: number): Promise<Tile> {
  const tile = await tiles.find(tx, bucketId, number);
  if (!tile) throw new NotFound('This bucket has no such tile.');
  if (tile.withdrawnAt !== null) throw new Conflict('This tile was withdrawn already.');
  return tile;
}
