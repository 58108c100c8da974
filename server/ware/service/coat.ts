import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import type { CoatFit, NoFit } from '../coat-fit.ts';
import type { Dwell } from '../dwell.ts';

/** A tile as it is listed, struck out or not. */
export interface CoatTile {
  id: number;
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
  /** It fits none of the others. */
  isLeftOut: boolean;
  note: string | null;
  struck: { by: string; at: Instant; why: string } | null;
}

/** How long to hold one clay in one bucket today, and what that rests on. */
export interface CoatAdvice {
  clay: { id: number; name: string };
  bucket: { id: number; code: string; name: string };
  /** The bucket as it is now; null where nobody has read it, and then no dwell is worked out from tiles. */
  gravity: number | null;
  wantedMm: number;
  dryCoatDensity: number;
  fit: CoatFit | NoFit;
  dwell: Dwell;
  tiles: CoatTile[];
  /** The fitted line at today's gravity with the band of one dip, for the chart; none without a fit. */
  curve: { seconds: number; mm: number; low: number; high: number }[];
}

/** What is dipped, where it is known: thickest part in mm; 2 where inside and outside are glazed. */
export interface DippedWall {
  thicknessMm: number;
  glazedFaces: 1 | 2;
}

/**
 * What to count for a clay in a bucket today. `heldGramsPerCm2`: water its wall still holds, per face. Throws NotFound for
 * a clay or a bucket that there is not.
 */
export async function coatAdvice(
  _read: Read,
  _ask: { clayId: number; bucket: string; wall?: DippedWall; heldGramsPerCm2?: number; wantedMm?: number },
): Promise<CoatAdvice> {
  throw new Error('to be written');
}

/** The coat after so many seconds by the tiles, g/cm² and mm; null where they do not say, or the bucket has no gravity. */
export async function coatByTiles(
  _read: Read,
  _ask: { clayId: number; bucket: string; seconds: number; heldGramsPerCm2?: number },
): Promise<{ gramsPerCm2: number; mm: number } | null> {
  throw new Error('to be written');
}

/** Thickness in mm of a weighed coat of this bucket's glaze. */
export async function coatThickness(_read: Read, _bucketId: number, _gramsPerCm2: number): Promise<number> {
  throw new Error('to be written');
}

/** Strikes out a tile that was wrong. */
export async function strikeTile(_act: Act, _id: number, _command: { why: string }): Promise<void> {
  throw new Error('to be written');
}
