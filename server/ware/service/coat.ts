import { type BucketNow, findBucket } from '../../buckets/service/index.ts';
import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { coatOfThickness, type Slurry, type Tile, thicknessMm, type Wall, wrongWithSlurry } from '../coat.ts';
import {
  type CoatFit,
  coatAfter,
  fitCoat,
  type NoFit,
  OWN_TILES,
  perRootSecond,
  poolOf,
  secondCoat,
} from '../coat-fit.ts';
import { hasTwoDwells } from '../coat-search.ts';
import { type Dwell, dwellFor, mostOf, noDwell, unread } from '../dwell.ts';
import { groupBy } from '../group.ts';
import * as store from '../store/coat-tiles.ts';
import { bisqueWall } from './bisque.ts';
import { findClay } from './clays.ts';
import { type CoatTile, coatWishes, tileOf } from './coat-tiles.ts';

// What to count for a clay in a bucket, and how thick a coat comes, by their test tiles.

/** A tile among those that a line is laid through. */
export interface FittedTile extends CoatTile {
  /** It fits none of the others. */
  isLeftOut: boolean;
}

/** What to count for one clay in one bucket today, and what that rests on. */
export interface CoatAdvice {
  clay: { id: number; name: string };
  bucket: { id: number; code: string; name: string; verdict: BucketNow['verdict'] };
  /** The bucket as it is now; null where nobody has read it, and then no dwell is worked out from tiles. */
  gravity: number | null;
  wantedMm: number;
  dryCoatDensity: number;
  fit: CoatFit | NoFit;
  dwell: Dwell;
  /** The newest, newest first. */
  tiles: FittedTile[];
  /** The fitted line at today's gravity with the band of one dip, for the chart; none without a fit. */
  curve: { seconds: number; mm: number; low: number; high: number }[];
}

/** What is dipped, where it is known: thickest part in mm; 2 where inside and outside are glazed. */
export interface DippedWall {
  thicknessMm: number;
  glazedFaces: 1 | 2;
}

/** Pairs of clay and bucket that have tiles. */
export interface CoatPair {
  clayId: number;
  clay: string;
  code: string;
  bucket: string;
  tiles: number;
}

interface Ask {
  clayId: number;
  bucket: string;
  wall?: DippedWall;
  heldGramsPerCm2?: number;
  wantedMm?: number;
}

/** Tiles of a pair that are shown. */
const MOST_SHOWN = 300;
// The newest of a pair that its line is laid through, and of how many other pairs: that is worked out at every look.
const MOST_FITTED = 100;
const MOST_PAIRS = 12;
const MOST_EACH = 10;
const CURVE_POINTS = 32;
const CURVE_LONGEST = 60;

/**
 * What to count for a clay in a bucket today. `heldGramsPerCm2`: water its wall still holds, per face. Throws NotFound for
 * a clay or a bucket that there is not.
 */
export async function coatAdvice(read: Read, ask: Ask): Promise<CoatAdvice> {
  const pair = await findPair(read, ask);
  const { clay, bucket } = pair;
  const [found, rows, wall] = await Promise.all([
    fitOf(read, pair),
    store.listTiles(read.tx, { clayId: clay.id, bucketId: bucket.id }, MOST_SHOWN),
    ask.wall ? wallOf(read, clay.id, ask.wall) : undefined,
  ]);
  const wantedMm = ask.wantedMm ?? pair.wantedMm;
  const dwell = dwellOf(found.fit, pair, { ...ask, wantedMm, wall });
  return {
    clay: { id: clay.id, name: clay.name },
    bucket: { id: bucket.id, code: bucket.code, name: bucket.name, verdict: bucket.verdict },
    gravity: bucket.facts.gravity,
    wantedMm,
    dryCoatDensity: pair.density,
    fit: found.fit,
    dwell,
    tiles: rows.map((row) => ({ ...tileOf(row, pair.density), isLeftOut: found.leftOut.has(row.tile.id) })),
    curve: curveOf(found.fit, pair, dwell),
  };
}

/** What was said to count before this tile came; null where it does not count. Throws NotFound as `coatAdvice` does. */
export async function dwellWithout(read: Read, ask: Ask, tileId: number): Promise<Dwell | null> {
  const pair = await findPair(read, ask);
  const own = await store.countingTiles(read.tx, ids(pair), MOST_FITTED);
  if (!own.some(({ id }) => id === tileId)) return null;
  const { fit } = await fitOf(read, pair, tileId);
  return dwellOf(fit, pair, { wantedMm: ask.wantedMm ?? pair.wantedMm });
}

/**
 * The coat after so many seconds by the tiles, g/cm² and mm, and no more than the wall can take where one knows it; null
 * where they do not say, or the bucket has no gravity.
 */
export async function coatByTiles(
  read: Read,
  ask: Omit<Ask, 'wantedMm'> & { seconds: number },
): Promise<{ gramsPerCm2: number; mm: number } | null> {
  const pair = await findPair(read, ask);
  const { fit } = await fitOf(read, pair);
  const slurry = slurryOf(pair.bucket);
  // Other pairs alone say what to try, not what this one got.
  if (fit.basis === 'none' || fit.basis === 'others only') return null;
  if (!slurry || wrongWithSlurry(slurry, fit.criticalFraction) || !(perRootSecond(fit, slurry).value > 0))
    return null;
  const { seconds, heldGramsPerCm2 = 0 } = ask;
  const wall = ask.wall && (await wallOf(read, ask.clayId, ask.wall));
  const gramsPerCm2 =
    heldGramsPerCm2 > 0
      ? secondCoat(fit, { heldGramsPerCm2, seconds, slurry, ...(wall && { wall }) })
      : Math.min(coatAfter(fit, seconds, slurry).gramsPerCm2, mostOf(fit, slurry, wall));
  return gramsPerCm2 > 0 ? { gramsPerCm2, mm: thicknessMm(gramsPerCm2, pair.density) } : null;
}

/** Thickness in mm of a weighed coat of this bucket's glaze. */
export async function coatThickness(read: Read, bucketId: number, gramsPerCm2: number): Promise<number> {
  const { density } = await coatWishes(read, bucketId);
  return thicknessMm(gramsPerCm2, density);
}

/** Pairs of clay and bucket that have tiles, most tiles first. */
export async function listCoatPairs(read: Read): Promise<CoatPair[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return store.listPairs(read.tx);
}

interface Pair {
  clay: { id: number; name: string };
  bucket: BucketNow;
  wantedMm: number;
  density: number;
}

async function findPair(read: Read, ask: Pick<Ask, 'clayId' | 'bucket'>): Promise<Pair> {
  const [clay, bucket] = await Promise.all([findClay(read, ask.clayId), findBucket(read, ask.bucket)]);
  return { clay, bucket, ...(await coatWishes(read, bucket.id)) };
}

const ids = ({ clay, bucket }: Pair) => ({ clayId: clay.id, bucketId: bucket.id });

/** The fit of a pair, as if one tile were not there where asked; other pairs are read only where they count. */
async function fitOf(
  read: Read,
  pair: Pair,
  without?: number,
): Promise<{ fit: CoatFit | NoFit; leftOut: Set<number> }> {
  const own = (await store.countingTiles(read.tx, ids(pair), MOST_FITTED)).filter(({ id }) => id !== without);
  const alone = fitCoat(own);
  const isItsOwn = alone.basis === 'own' && own.length >= OWN_TILES && hasTwoDwells(own);
  const fit = isItsOwn ? alone : fitCoat(own, poolOf(await otherPairs(read, pair)));
  const leftOut = fit.basis === 'none' ? [] : fit.leftOut.map((place) => own[place]?.id ?? 0);
  return { fit, leftOut: new Set(leftOut) };
}

async function otherPairs(read: Read, { clay, bucket }: Pair): Promise<Tile[][]> {
  const rows = await store.tilesOfPairs(read.tx, { mostPairs: MOST_PAIRS, mostEach: MOST_EACH });
  const others = rows.filter((row) => row.clayId !== clay.id || row.bucketId !== bucket.id);
  return [...groupBy(others, (row) => `${row.clayId} ${row.bucketId}`).values()].slice(0, MOST_PAIRS);
}

function slurryOf({ facts }: BucketNow): Slurry | null {
  const { gravity, solidsDensity } = facts;
  return gravity === null ? null : { specificGravity: gravity, solidsDensity };
}

async function wallOf(read: Read, clayId: number, dipped: DippedWall): Promise<Wall | undefined> {
  const bisque = await bisqueWall(read, clayId);
  return bisque ? { ...bisque, ...dipped } : undefined;
}

function dwellOf(
  fit: CoatFit | NoFit,
  { bucket, density }: Pair,
  ask: { wantedMm: number; wall?: Wall | undefined; heldGramsPerCm2?: number | undefined },
): Dwell {
  const slurry = slurryOf(bucket);
  if (!slurry) return unread();
  const wrong = wrongWithSlurry(slurry, fit.basis === 'none' ? undefined : fit.criticalFraction);
  if (wrong) return noDwell(fit.basis, wrong.message);
  const { wantedMm, wall, heldGramsPerCm2 } = ask;
  return dwellFor(fit, coatOfThickness(wantedMm, density), {
    ...slurry,
    band: bucket.target,
    ...(wall && { wall }),
    ...(heldGramsPerCm2 !== undefined && { heldGramsPerCm2 }),
  });
}

function curveOf(fit: CoatFit | NoFit, { bucket, density }: Pair, dwell: Dwell): CoatAdvice['curve'] {
  const slurry = slurryOf(bucket);
  if (fit.basis === 'none' || !slurry || wrongWithSlurry(slurry, fit.criticalFraction)) return [];
  const reach = Math.max(fit.seen?.longest ?? 0, dwell.seconds?.best ?? 0, 5) * 1.2;
  const longest = Math.min(CURVE_LONGEST, reach);
  const mm = (gramsPerCm2: number) => Math.max(0, thicknessMm(gramsPerCm2, density));
  return Array.from({ length: CURVE_POINTS + 1 }, (_, i) => {
    // Closer together where the root of time bends.
    const seconds = longest * (i / CURVE_POINTS) ** 2;
    const { gramsPerCm2, prediction } = coatAfter(fit, seconds, slurry);
    return { seconds, mm: mm(gramsPerCm2), low: mm(prediction.low), high: mm(prediction.high) };
  });
}
