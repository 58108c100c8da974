import {
  type Band,
  CRITICAL_FRACTION,
  capacityOf,
  mustBeSlurry,
  type Slurry,
  solidsVolumeFraction,
  suction,
  type Tile,
  type Wall,
  waterPerCoat,
} from './coat.ts';
import {
  hasTwoDwells,
  inOrder,
  mean,
  median,
  type Pool,
  quadratic,
  search,
  spread,
  uncertainty,
  type Weighed,
  withKnee,
} from './coat-search.ts';
import { ifSolvable, studentQuantile } from './least-squares.ts';

/** Whose tiles a fit speaks from. */
export type Basis = 'own' | 'leans on others' | 'others only' | 'none';

export interface CoatFit {
  basis: Exclude<Basis, 'none'>;
  /** Tiles of its own that count. */
  tiles: number;
  /** Positions of the tiles that fit none of the others and were left out. */
  leftOut: number[];
  /** What clings at once, g/cm². */
  intercept: number;
  /** g/cm² per √s, times φ/(φc − φ). */
  uptake: number;
  /** φc: solids by volume in the coat as it forms. */
  criticalFraction: number;
  isCriticalFitted: boolean;
  /** φ/(φc − φ)·√t from which the tiles take no more; null where none did. */
  fullFrom: number | null;
  /** Of intercept, uptake and, where fitted, φc. */
  covariance: number[][];
  /** Variance of the tiles over what their stated uncertainty makes it. */
  scale2: number;
  freedom: number;
  /** Area that predictions are for. */
  areaCm2: number;
  solidsDensity: number;
  /** Longest and shortest dwell, lightest and heaviest slurry among the tiles; null without own ones. */
  seen: { shortest: number; longest: number; lightest: number; heaviest: number } | null;
}

export interface NoFit {
  basis: 'none';
  reason: 'no-tiles' | 'one-dwell' | 'no-line';
}

/** From so many tiles, at two dwells at least, a pair speaks for itself. */
export const OWN_TILES = 5;
/** However alike the other pairs are, the next may differ so much. Common practice, no source. */
const LEAST_DIFFERENCE = 0.3;
/** Share of dips that a dwell's range and a coat's band are for. */
export const USUAL_SHARE = 0.8;

/**
 * The coat's law for one pair of clay and bucket from its tiles.
 *
 * Weighted least squares; a tile's u joins 0.1 g of weighing and 5 % of the fitted coat. The scale of the residuals is
 * estimated together with the two degrees of freedom that those figures are worth, so that two tiles have a range too
 * and more make it narrower. φc is fitted within bounds, by profile, from six tiles at three gravities up. A line
 * that stops rising (the tiles' walls were full) is taken over a straight one where Fisher's F says so at 0.1 %.
 *
 * Bad tiles: the search begins without the quarter that lies farthest off a line of repeated medians (A. F. Siegel,
 * Biometrika 69 (1982) 242-244), then takes each of those back that Student's t of the rest, Bonferroni at 5 %, does not
 * refuse (forward search: Atkinson & Riani 2000; both from memory). Three tiles cannot say which of them is bad.
 *
 * Under five tiles, or with one dwell only, the other pairs of the studio count as two pseudo-observations,
 * intercept and uptake, as uncertain as those pairs differ: empirical Bayes with a normal prior. From five on they count no more.
 * @param pool null where no other pair has tiles
 * @throws RangeError for a tile that cannot be
 */
export function fitCoat(tiles: readonly Tile[], pool: Pool | null = null): CoatFit | NoFit {
  tiles.forEach(mustBeTile);
  const isSpread = hasTwoDwells(tiles);
  if (!pool && tiles.length === 0) return { basis: 'none', reason: 'no-tiles' };
  if (!pool && !isSpread) return { basis: 'none', reason: 'one-dwell' };
  const prior = isSpread && tiles.length >= OWN_TILES ? null : pool;
  const ordered = inOrder(
    tiles.map((tile, place) => ({
      ...tile,
      place,
      y: tile.dryCoatGrams / tile.areaCm2,
      phi: solidsVolumeFraction(tile),
    })),
  );
  const found = lineThrough(ordered, prior);
  if (!found) return { basis: 'none', reason: 'no-line' };
  const { kept, model } = found;
  return {
    basis: !prior ? 'own' : tiles.length > 0 ? 'leans on others' : 'others only',
    tiles: kept.length,
    leftOut: ordered
      .filter((t) => !kept.includes(t))
      .map((t) => t.place)
      .sort((a, b) => a - b),
    intercept: model.beta[0] ?? 0,
    uptake: model.beta[1] ?? 0,
    criticalFraction: model.critical,
    isCriticalFitted: model.beta.length === 3,
    fullFrom: model.knee,
    covariance: model.covariance.map((row) => row.map((value) => value * model.scale2)),
    scale2: model.scale2,
    freedom: model.freedom,
    areaCm2: kept.length > 0 ? median(kept.map((t) => t.areaCm2)) : (prior?.areaCm2 ?? 1),
    solidsDensity: kept.length > 0 ? median(kept.map((t) => t.solidsDensity)) : (prior?.solidsDensity ?? 0),
    seen: kept.length > 0 ? seenBy(kept) : null,
  };
}

/**
 * What the pairs of a studio have in common, for pairs that have few tiles. Pairs with under three tiles or one dwell
 * say nothing. What clings and what the wall sucks count as independent from pair to pair.
 * @returns null where no pair says anything
 */
export function poolOf(pairs: readonly (readonly Tile[])[]): Pool | null {
  const fits = pairs
    .filter((tiles) => tiles.length >= 3)
    .map((tiles) => ({ tiles, fit: fitCoat(tiles) }))
    .filter((p): p is { tiles: readonly Tile[]; fit: CoatFit } => p.fit.basis !== 'none' && p.fit.uptake > 0);
  if (fits.length === 0) return null;
  const all = fits.flatMap((p) => p.tiles);
  const phi = mean(all.map((t) => solidsVolumeFraction(t)));
  // A fitted φc is another unit of uptake: all are told at the usual one.
  const uptakes = fits.map(
    ({ fit }) => (fit.uptake * suction(phi, fit.criticalFraction)) / suction(phi, CRITICAL_FRACTION),
  );
  const intercepts = fits.map(({ fit }) => fit.intercept);
  const usual = mean(all.map((t) => t.dryCoatGrams / t.areaCm2));
  return {
    pairs: fits.length,
    intercept: mean(intercepts),
    interceptU: Math.hypot(
      spread(intercepts),
      LEAST_DIFFERENCE * mean(intercepts),
      uncertainty(usual, median(all.map((t) => t.areaCm2))),
    ),
    uptake: mean(uptakes),
    uptakeU: Math.hypot(spread(uptakes), LEAST_DIFFERENCE * mean(uptakes)),
    areaCm2: median(all.map((t) => t.areaCm2)),
    solidsDensity: median(all.map((t) => t.solidsDensity)),
  };
}

/** b of coat = a + b·√t in one slurry, g/cm² per √s, with its standard error. */
export function perRootSecond(fit: CoatFit, slurry: Slurry): { value: number; standardError: number } {
  const [, ...slopes] = sensitivities(fit, solidsVolumeFraction(slurry));
  const variance = quadratic(fit.covariance, [0, ...slopes], [0, ...slopes]);
  return { value: fit.uptake * (slopes[0] ?? 0), standardError: Math.sqrt(Math.max(0, variance)) };
}

/**
 * The coat after so many seconds in a slurry: best value in g/cm², band of the mean (confidence) and band of one dip
 * of a tile of the usual area (prediction), both by Student's t.
 * @param share of coats that lie in the band, default 0.8
 */
export function coatAfter(
  fit: CoatFit,
  seconds: number,
  slurry: Slurry,
  share: number = USUAL_SHARE,
): { gramsPerCm2: number; confidence: Band; prediction: Band } {
  mustBeSlurry(slurry, fit.criticalFraction);
  const [g = 0, ...rest] = sensitivities(fit, solidsVolumeFraction(slurry)).slice(1);
  const root = Math.min(
    Math.sqrt(seconds),
    fit.fullFrom === null ? Number.POSITIVE_INFINITY : fit.fullFrom / g,
  );
  const x = [1, g * root, ...rest.map((s) => s * root)];
  const best = fit.intercept + fit.uptake * g * root;
  const t = studentQuantile((1 + share) / 2, fit.freedom);
  const known = Math.max(0, quadratic(fit.covariance, x, x));
  const around = (variance: number): Band => ({
    low: best - t * Math.sqrt(variance),
    high: best + t * Math.sqrt(variance),
  });
  return {
    gramsPerCm2: best,
    confidence: around(known),
    prediction: around(known + fit.scale2 * uncertainty(best, fit.areaCm2) ** 2),
  };
}

/**
 * What a second dip, or a pour for as long a count, adds to a wall that still holds water: it drinks on as if it had
 * drunk that much already, √(h² + s²t) − h with s the water it takes per √s, and no more than it has room for; what
 * clings is the same again. A wall that has dried takes the second coat like the first.
 *
 * Limits: a front that stands where it stopped. Water that has spread through the wall meanwhile, and the first
 * coat itself, which slows the second and may soften, are left out; the truth is mostly less than this.
 * @param i water the wall holds per face in g/cm² (just glazed: coat × `waterPerCoat`), seconds, slurry, wall where known
 * @returns dry coat added, g/cm²
 */
export function secondCoat(
  fit: CoatFit,
  i: { heldGramsPerCm2: number; seconds: number; slurry: Slurry; wall?: Wall },
): number {
  mustBeSlurry(i.slurry, fit.criticalFraction);
  const held = Math.max(0, i.heldGramsPerCm2);
  const perCoat = waterPerCoat(i.slurry, fit.criticalFraction);
  const suctionWater = Math.max(0, perRootSecond(fit, i.slurry).value * perCoat);
  const drunk = Math.hypot(held, suctionWater * Math.sqrt(i.seconds)) - held;
  const room = i.wall ? Math.max(0, capacityOf(i.wall) - held) : Number.POSITIVE_INFINITY;
  return Math.max(0, fit.intercept) + Math.min(drunk, room) / perCoat;
}

/** ∂coat/∂(intercept, uptake, φc) per √s; the first does not depend on it. */
export function sensitivities(fit: CoatFit, phi: number): number[] {
  const g = suction(phi, fit.criticalFraction);
  return [1, g, ...(fit.isCriticalFitted ? [(-fit.uptake * g) / (fit.criticalFraction - phi)] : [])];
}

/** Null for tiles so unlike that beside the largest the others weigh nothing: typed in the wrong unit, for one. */
const lineThrough = (tiles: Weighed[], prior: Pool | null): ReturnType<typeof search> | null =>
  ifSolvable(() => (prior ? search(tiles, prior, null) : withKnee(tiles)));

function seenBy(tiles: Weighed[]): NonNullable<CoatFit['seen']> {
  const seconds = tiles.map((t) => t.seconds);
  const gravities = tiles.map((t) => t.specificGravity);
  return {
    shortest: Math.min(...seconds),
    longest: Math.max(...seconds),
    lightest: Math.min(...gravities),
    heaviest: Math.max(...gravities),
  };
}

function mustBeTile(tile: Tile): void {
  mustBeSlurry(tile);
  if (!(tile.seconds >= 0 && Number.isFinite(tile.seconds)))
    throw new RangeError('Nobody can dip it for less than no time.');
  if (!(tile.areaCm2 > 0 && Number.isFinite(tile.areaCm2)))
    throw new RangeError('The glazed area must be above zero.');
  if (!(tile.dryCoatGrams > 0 && Number.isFinite(tile.dryCoatGrams)))
    throw new RangeError('After the dip it must weigh more than before.');
}
