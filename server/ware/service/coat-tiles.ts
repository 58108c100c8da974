import { z } from 'zod';
import { type BucketNow, findBucket, listBuckets } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { FUTURE, type Instant } from '../../core/clock.ts';
import { Conflict, Doubtful, type FieldError, Invalid, NotFound } from '../../core/errors.ts';
import { code, flag, instant, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { dryCoatGrams, gravityFromTile, type Slurry, thicknessMm, wrongWithSlurry } from '../coat.ts';
import { usualCoatMm } from '../settings.ts';
import * as store from '../store/coat-tiles.ts';
import { listTraits } from '../store/traits.ts';
import { listClays } from './clays.ts';
import { keepNote } from './ledger.ts';
import { bucketFor } from './move-entries.ts';
import { wareSettings } from './settings.ts';

// Test tiles of a clay in a bucket: kept, listed, struck out.

/** A tile as it is listed, struck out or not. */
export interface CoatTile {
  id: number;
  clay: { id: number; name: string };
  /** Code of the bucket it was dipped in. */
  bucket: string;
  at: Instant;
  by: { id: number; name: string };
  seconds: number;
  specificGravity: number;
  areaCm2: number;
  gainGrams: number;
  /** Weighed dry, or null where the coat follows from the wet gain. */
  dryGrams: number | null;
  gramsPerCm2: number;
  mm: number;
  /** The gravity that its dry weighing says the bucket had. */
  gravityByTile: number | null;
  note: string | null;
  struck: { by: string; at: Instant; why: string } | null;
}

/** Coats outside this are asked about: most likely grams or cm² of something else. Common practice, no source. */
const ODD_BELOW_MM = 0.03;
const ODD_ABOVE_MM = 3;
/** A tile weighed dry that says another gravity than the bucket by more than this. Common practice, no source. */
const GRAVITY_APART = 0.03;

const grams = () => quantity(0.1, 100_000, 'g');

export const coatTileForm = z.strictObject({
  /** By its name. */
  clay: text(60),
  bucket: code(),
  seconds: quantity(0, 600, 's'),
  areaCm2: quantity(1, 10_000),
  beforeGrams: grams(),
  /** After the dip and the damp sponge. */
  afterGrams: grams(),
  /** Weighed once more when bone dry. */
  dryGrams: grams().optional(),
  /** Of the slurry then; without it that of the bucket. */
  specificGravity: quantity(1.001, 3).optional(),
  happenedAt: instant().optional(),
  note: text(500).optional(),
  /** An odd coat is right. */
  confirm: flag().optional(),
});

export const strikeTileForm = z.strictObject({ why: text(200) });

/** Tiles, struck out or not, newest first; throws NotFound for a clay or a bucket that there is not. */
export async function listCoatTiles(
  read: Read,
  filter: { clay?: string | undefined; bucket?: string | undefined; before?: number | undefined },
  limit: number,
): Promise<CoatTile[]> {
  mustBeAllowed(read.actor, 'ware.own');
  const clay = filter.clay === undefined ? undefined : await findClayNamed(read, filter.clay);
  const bucket = filter.bucket === undefined ? undefined : await findBucket(read, filter.bucket);
  const { before } = filter;
  const rows = await store.listTiles(read.tx, { clayId: clay?.id, bucketId: bucket?.id, before }, limit);
  return listed(read, rows);
}

/** A clay by its name, retired or not. Throws NotFound. */
export async function findClayNamed(read: Read, name: string): Promise<{ id: number; name: string }> {
  const clay = await clayNamed(read, name);
  if (!clay) throw new NotFound('There is no such clay.');
  return clay;
}

/** One tile, struck out or not. Throws NotFound. */
export async function findCoatTile(read: Read, id: number): Promise<CoatTile> {
  mustBeAllowed(read.actor, 'ware.own');
  const [tile] = await listed(read, await store.listTiles(read.tx, { id }, 1));
  if (!tile) throw new NotFound('There is no such tile.');
  return tile;
}

/**
 * Keeps a test tile; the bucket's ledger knows nothing of it, since a tile takes grams. Throws Invalid beside the field,
 * Doubtful for a coat that no dip leaves.
 */
export async function addTile(act: Act, command: z.output<typeof coatTileForm>): Promise<CoatTile> {
  mustBeAllowed(act.actor, 'ware.decide');
  const clay = await clayNamed(act, command.clay);
  if (!clay) throw new Invalid([{ path: 'clay', message: 'Choose a clay from the list.' }]);
  const bucket = await bucketFor(act, command.bucket, 'bucket');
  const happenedAt = command.happenedAt ?? act.now;
  const specificGravity = command.specificGravity ?? gravityThen(bucket, happenedAt);
  const { solidsDensity } = bucket.facts;
  const slurry = specificGravity === null ? null : { specificGravity, solidsDensity };
  const wrong = wrongWith(command, slurry, bucket);
  if (happenedAt > act.now + FUTURE) wrong.push({ path: 'happenedAt', message: 'This lies in the future.' });
  if (wrong.length > 0 || !slurry) throw new Invalid(wrong);
  const { seconds, areaCm2, beforeGrams, afterGrams, dryGrams, note } = command;
  const coat =
    dryGrams === undefined ? dryCoatGrams(afterGrams - beforeGrams, slurry) : dryGrams - beforeGrams;
  const { density } = await coatWishes(act, bucket.id);
  const mm = thicknessMm(coat / areaCm2, density);
  if (!command.confirm && (mm < ODD_BELOW_MM || mm > ODD_ABOVE_MM))
    throw new Doubtful(
      'areaCm2',
      `That is a coat of ${mm < 0.1 ? mm.toFixed(3) : mm.toFixed(1)} mm. Are the grams and the cm² right?`,
    );
  const id = await store.insertTile(act.tx, {
    clayId: clay.id,
    bucketId: bucket.id,
    seconds,
    ...slurry,
    reading: command.specificGravity === undefined ? bucket.facts.readingNumber : null,
    areaCm2,
    beforeGrams,
    afterGrams,
    dryGrams: dryGrams ?? null,
    dryCoatGrams: coat,
    happenedAt,
    recordedAt: act.now,
    by: act.actor.id,
    tokenId: act.actor.tokenId,
    noteId: await keepNote(act, note),
  });
  return findCoatTile(act, id);
}

/** Strikes out a tile that was wrong. Throws NotFound, or Conflict where it is struck out already. */
export async function strikeTile(
  act: Act,
  id: number,
  { why }: z.output<typeof strikeTileForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'ware.decide');
  await findCoatTile(act, id);
  const noteId = (await keepNote(act, why)) as number;
  if (!(await store.strikeTile(act.tx, { tileId: id, by: act.actor.id, at: act.now, noteId })))
    throw new Conflict('This tile is struck out already.');
}

/** 'The tile says 1.41 where the bucket says 1.47: check the bucket.', or null where they agree. */
export function tileAgainstBucket({
  gravityByTile,
  specificGravity,
}: Pick<CoatTile, 'gravityByTile' | 'specificGravity'>): string | null {
  if (gravityByTile === null || Math.abs(gravityByTile - specificGravity) <= GRAVITY_APART) return null;
  return `The tile says ${gravityByTile.toFixed(2)} where the bucket says ${specificGravity.toFixed(2)}: check the bucket.`;
}

/** Buckets that a tile can be dipped in, by name. */
export async function bucketsForTiles(read: Read): Promise<BucketNow[]> {
  return (await listBuckets(read)).sort((a, b) => (a.name < b.name ? -1 : 1));
}

/** How thick a coat from this bucket should be when dry, mm, and its bulk density then, g/cm³. */
export async function coatWishes(read: Read, bucketId: number): Promise<CoatWishes> {
  return (await allWishes(read))(bucketId);
}

interface CoatWishes {
  wantedMm: number;
  density: number;
}

/** Looks them up once, for any number of buckets. */
async function allWishes(read: Read): Promise<(bucketId: number) => CoatWishes> {
  const [settings, traits] = await Promise.all([wareSettings(read), listTraits(read.tx)]);
  return (bucketId) => {
    const trait = traits.find((one) => one.bucketId === bucketId);
    return {
      wantedMm: trait?.wantedCoatMm ?? usualCoatMm(settings),
      density: trait?.dryCoatDensity ?? settings.dryCoatDensity,
    };
  };
}

/** The bucket's gravity at an instant; null where nobody knows it, or what is in it has changed since. */
function gravityThen({ facts }: BucketNow, at: Instant): number | null {
  return facts.changedAt !== null && at < facts.changedAt ? null : facts.gravity;
}

function wrongWith(
  command: z.output<typeof coatTileForm>,
  slurry: Slurry | null,
  { facts }: BucketNow,
): FieldError[] {
  const { beforeGrams, afterGrams, dryGrams } = command;
  const wrong: FieldError[] = [];
  if (afterGrams <= beforeGrams)
    wrong.push({ path: 'afterGrams', message: 'After the dip it weighs more than before.' });
  else if (dryGrams !== undefined && (dryGrams <= beforeGrams || dryGrams >= afterGrams))
    wrong.push({
      path: 'dryGrams',
      message: 'Dry it weighs more than before the dip and less than right after it.',
    });
  if (slurry) {
    const message = wrongWithSlurry(slurry)?.message;
    if (message) wrong.push({ path: 'specificGravity', message });
  } else
    wrong.push({
      path: 'specificGravity',
      message:
        facts.gravity === null
          ? 'Nobody has read this bucket: check it first, or type what it had.'
          : 'Something was added to the bucket or taken out since: type the gravity it had then.',
    });
  return wrong;
}

async function clayNamed(read: Read, name: string): Promise<{ id: number; name: string } | null> {
  const all = await listClays(read, { withRetired: true });
  const wanted = name.trim().toLowerCase();
  return all.find((clay) => clay.name.toLowerCase() === wanted) ?? null;
}

async function listed(read: Read, rows: store.TileRow[]): Promise<CoatTile[]> {
  const wishes = await allWishes(read);
  return rows.map((row) => tileOf(row, wishes(row.tile.bucketId).density));
}

/** A tile with what follows from it; thickness by a dry coat of this density, g/cm³. */
export function tileOf(row: store.TileRow, density: number): CoatTile {
  const { tile, by, clay, bucket, note, struckBy, struckAt, struckWhy } = row;
  const { id, seconds, specificGravity, solidsDensity, areaCm2, dryGrams } = tile;
  const gainGrams = tile.afterGrams - tile.beforeGrams;
  const gramsPerCm2 = tile.dryCoatGrams / areaCm2;
  return {
    id,
    clay: { id: tile.clayId, name: clay },
    bucket,
    at: tile.happenedAt,
    by,
    seconds,
    specificGravity,
    areaCm2,
    gainGrams,
    dryGrams,
    gramsPerCm2,
    mm: thicknessMm(gramsPerCm2, density),
    gravityByTile:
      dryGrams === null
        ? null
        : gravityFromTile({ wetGainGrams: gainGrams, dryCoatGrams: tile.dryCoatGrams, solidsDensity }),
    note,
    struck: struckAt === null ? null : { by: struckBy ?? '', at: struckAt, why: struckWhy ?? '' },
  };
}
