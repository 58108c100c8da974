import { WATER_20 } from '../buckets/gravity.ts';
import { gravityOf, solidsMassFraction } from '../buckets/slurry.ts';

// How thick a coat a piece takes. The wall drinks by capillarity, water per area ∝ √t (E. W. Washburn, Phys. Rev. 17
// (1921) 273-283, from memory; the same law as the parabolic one of slip casting), and every volume of water it drinks
// leaves φ/(φc − φ) volumes of packed solids behind: mass balance between a slurry of solids volume fraction φ and a
// coat of φc. So coat = a + k·φ/(φc − φ)·√t, a being what clings anyway. Where the coat's own resistance and not the
// wall set the pace, gravity would enter by the root of that; such a bucket shows it once it has tiles at three gravities,
// as a φc that runs to its bound. Masses in g, areas in cm², coats in dry g/cm², times in s, walls and coats in mm.

/** A test tile as weighed: dry coat, from a dry weighing or from `dryCoatGrams`. */
export interface Tile {
  seconds: number;
  specificGravity: number;
  /** Particle density of the solids, g/cm³. */
  solidsDensity: number;
  areaCm2: number;
  dryCoatGrams: number;
}

/** The slurry a piece goes into. */
export interface Slurry {
  specificGravity: number;
  solidsDensity: number;
}

/** A wall that drinks: two-minute soak share (0 to 1), bisque's bulk density in g/cm³, thickness in mm. */
export interface Wall {
  soakShare: number;
  bulkDensity: number;
  thicknessMm: number;
  /** 2 where inside and outside are glazed: each face has half the wall. */
  glazedFaces: 1 | 2;
}

export interface Band {
  low: number;
  high: number;
}

/** Bulk density of a dried glaze coat, g/cm³; from memory. */
export const DRY_COAT_DENSITY = 1.4;
/** Solids by volume in the coat as it forms, until tiles say it. From memory. */
export const CRITICAL_FRACTION = 0.55;
/** Slurry nearer to packed solids than this does not run. No source. */
export const LEAST_ROOM = 0.02;

/** Solids by volume of a slurry: φ = (G − ρ_w)/(S − ρ_w). */
export const solidsVolumeFraction = (
  { specificGravity, solidsDensity }: Slurry,
  rho: number = WATER_20,
): number => (specificGravity - rho) / (solidsDensity - rho);

/**
 * Why no coat can be had from a slurry, or null: water, solids lighter than the slurry, or more solids than a coat packs.
 */
export function wrongWithSlurry(
  slurry: Slurry,
  criticalFraction: number = CRITICAL_FRACTION,
): { field: 'specificGravity' | 'solidsDensity'; message: string } | null {
  const { specificGravity, solidsDensity } = slurry;
  if (!(specificGravity > 1 && Number.isFinite(specificGravity)))
    return { field: 'specificGravity', message: 'A glaze has a specific gravity above 1.' };
  if (!(solidsDensity > specificGravity && Number.isFinite(solidsDensity)))
    return { field: 'solidsDensity', message: 'The dry solids must be denser than the glaze.' };
  if (solidsVolumeFraction(slurry) > criticalFraction - LEAST_ROOM)
    return { field: 'specificGravity', message: 'So thick it does not run: no coat can be foretold.' };
  return null;
}

/**
 * Dry coat in g from what a tile gained wet: gain × S(G − ρ_w)/(G(S − ρ_w)). All that was taken from the bucket has
 * the bucket's share of solids, whether its water is now in the coat or in the wall.
 * @throws RangeError where nothing was gained
 */
export function dryCoatGrams(wetGainGrams: number, { specificGravity, solidsDensity }: Slurry): number {
  if (!(wetGainGrams > 0)) throw new RangeError('After the dip it must weigh more than before.');
  return wetGainGrams * solidsMassFraction(specificGravity, solidsDensity);
}

/**
 * The gravity that a tile weighed wet and dry says its bucket had: a free check of the reading.
 * @throws RangeError where the dry coat is none, or as heavy as the wet gain
 */
export function gravityFromTile(i: {
  wetGainGrams: number;
  dryCoatGrams: number;
  solidsDensity: number;
}): number {
  if (!(i.dryCoatGrams > 0 && i.dryCoatGrams < i.wetGainGrams))
    throw new RangeError('Dry, the coat weighs less than wet and more than nothing.');
  return gravityOf(i.dryCoatGrams, i.wetGainGrams - i.dryCoatGrams, i.solidsDensity);
}

/** Thickness in mm of so many g/cm² of dry coat, and back. */
export const thicknessMm = (gramsPerCm2: number, dryCoatDensity: number = DRY_COAT_DENSITY): number =>
  (10 * gramsPerCm2) / dryCoatDensity;

export const coatOfThickness = (mm: number, dryCoatDensity: number = DRY_COAT_DENSITY): number =>
  (mm * dryCoatDensity) / 10;

/**
 * Water that a coat gives to the wall, of what came with it, per g of dry coat: (1 − w)/w − (1 − φc)·ρ_w/(φc·S), that is
 * the slurry's water less what fills the pores of the coat.
 */
export function waterPerCoat(slurry: Slurry, criticalFraction: number = CRITICAL_FRACTION): number {
  const w = solidsMassFraction(slurry.specificGravity, slurry.solidsDensity);
  return (1 - w) / w - ((1 - criticalFraction) * WATER_20) / (criticalFraction * slurry.solidsDensity);
}

/** Water in g/cm² that a face of a wall takes: soak share × bulk density × thickness, half of it where both are glazed. */
export const capacityOf = (wall: Wall): number =>
  (wall.soakShare * wall.bulkDensity * wall.thicknessMm) / 10 / wall.glazedFaces;

/** Whether a wall can take the water of a coat, and the most coat that it can, g/cm². Dry wall, two-minute soak. */
export function saturation(
  coat: number,
  slurry: Slurry,
  wall: Wall,
  criticalFraction: number = CRITICAL_FRACTION,
): { waterGramsPerCm2: number; capacityGramsPerCm2: number; mostCoat: number; isSaturated: boolean } {
  const water = waterPerCoat(slurry, criticalFraction);
  const capacityGramsPerCm2 = capacityOf(wall);
  return {
    waterGramsPerCm2: coat * water,
    capacityGramsPerCm2,
    mostCoat: capacityGramsPerCm2 / water,
    isSaturated: coat * water > capacityGramsPerCm2,
  };
}

/** How much coat a volume of water that the wall drinks leaves behind, by volume: φ/(φc − φ); φ below φc. */
export const suction = (phi: number, critical: number): number => phi / (critical - phi);

/** @throws RangeError with the sentence of `wrongWithSlurry` */
export function mustBeSlurry(slurry: Slurry, criticalFraction?: number): void {
  const wrong = wrongWithSlurry(slurry, criticalFraction);
  if (wrong) throw new RangeError(wrong.message);
}
