import {
  type Band,
  capacityOf,
  mustBeSlurry,
  type Slurry,
  saturation,
  solidsVolumeFraction,
  type Wall,
  waterPerCoat,
} from './coat.ts';
import {
  type Basis,
  type CoatFit,
  type NoFit,
  perRootSecond,
  sensitivities,
  USUAL_SHARE,
} from './coat-fit.ts';
import { DIPPING_U, quadratic, WEIGHING_U } from './coat-search.ts';
import { studentQuantile } from './least-squares.ts';

/** Nobody dips for less. Common practice, no source. */
const SHORTEST_SECONDS = 0.5;
/** Nor for more. No source. */
const LONGEST_SECONDS = 600;
/** Before any tile: 3 s, usual dips take 2 to 5. Common practice, no source. */
const UNTRIED_SECONDS = { low: 2, best: 3, high: 5 };
/** Nobody counts finer than this. Common practice, no source. */
const COUNT_GRACE = 0.25;
/** A range wider than this is no count. No source. */
const UNSURE_RATIO = 3;

/** How long to count, and what to say of it. */
export interface Dwell {
  /** Seconds; high is null where the tiles set no end to it. Null altogether where they speak against the law. */
  seconds: { low: number; best: number; high: number | null } | null;
  /** Whole counts within that range; null where it is too wide to count by. */
  counts: { from: number; to: number } | null;
  /** The wall takes less than was asked for; `seconds` are those for what it takes. */
  saturated: boolean;
  basis: Basis;
  words: string;
}

/**
 * How long to count for the wanted coat: the dwells at which that coat lies within the band of prediction (80 %, that of
 * one dip), found by inverting it as E. C. Fieller did (J. R. Stat. Soc. B 16 (1954) 175-185, from memory); band and
 * line are of second degree in √t. Never under half a second. Without tiles: count 3, and no thickness is promised.
 * A wall that still holds water drinks slower, as `secondCoat` has it: what dry takes t takes t + 2·h·√t/s wet, with h the
 * water held and s the water drunk per √s; whole counts of both are told.
 * @param want dry coat in g/cm²
 * @param at slurry of today; its wall, where known; the band of its bucket, for words where there is no tile; water in
 *   g/cm² that each face of the wall still holds
 * @throws RangeError for a coat or a slurry that cannot be
 */
export function dwellFor(
  fit: CoatFit | NoFit,
  want: number,
  at: {
    specificGravity: number;
    solidsDensity?: number;
    wall?: Wall;
    band?: Band;
    heldGramsPerCm2?: number;
  },
): Dwell {
  if (!(want > 0 && Number.isFinite(want))) throw new RangeError('Ask for a coat above nothing.');
  if (fit.basis === 'none') return untried(fit, at);
  const slurry = {
    specificGravity: at.specificGravity,
    solidsDensity: at.solidsDensity ?? fit.solidsDensity,
  };
  mustBeSlurry(slurry, fit.criticalFraction);
  const slope = perRootSecond(fit, slurry).value;
  if (!(slope > 0)) return { ...NOTHING, basis: fit.basis, words: AGAINST };

  const held = Math.max(0, at.heldGramsPerCm2 ?? 0);
  const most = mostOf(fit, slurry, at.wall && emptied(at.wall, held));
  const saturated = want > most;
  const whenDry = inverted(fit, Math.min(want, most), slurry);
  const drunk = slope * waterPerCoat(slurry, fit.criticalFraction);
  const seconds = slowed(whenDry, drunk > 0 ? held / drunk : 0);
  const counts = seconds.best > LONGEST_SECONDS ? null : countsOf(seconds);
  return {
    seconds,
    counts,
    saturated,
    basis: fit.basis,
    words: [
      howLong(seconds.best, counts),
      ...(saturated ? ['The wall drinks no more than that: the coat stays thinner than wanted.'] : []),
      ...(fit.intercept > want
        ? ['Even the shortest dip leaves more than wanted: thin the glaze first.']
        : []),
      ...(held > 0 ? [wetWords(countsOf(whenDry))] : []),
      BASED[fit.basis](fit.tiles),
      ...(isBeyond(fit, whenDry.best, slurry)
        ? ['No tile had such a count, or such a glaze: dip one first.']
        : []),
    ].join(' '),
  };
}

/** What is said where nobody knows the gravity of a bucket: as most do, whatever tiles say. */
export const unread = (): Dwell => ({
  seconds: UNTRIED_SECONDS,
  counts: { from: UNTRIED_SECONDS.best, to: UNTRIED_SECONDS.best },
  saturated: false,
  basis: 'none',
  words: 'Count 3, as most do. Nobody has read this bucket: check it first.',
});

/** A dwell of nothing, for a slurry that no coat can be had from. */
export const noDwell = (basis: Basis, words: string): Dwell => ({ ...NOTHING, basis, words });

function howLong(best: number, counts: Dwell['counts']): string {
  if (counts) return `${countText(counts)}.`;
  if (best > LONGEST_SECONDS) return TOO_LONG;
  return `About ${whole(best)}, but that is a guess: dip a tile first.`;
}

/** The wall with so much less to take, g/cm² per face. */
function emptied(wall: Wall, held: number): Wall {
  const capacity = capacityOf(wall);
  const share = capacity > 0 ? Math.max(0, capacity - held) / capacity : 0;
  return { ...wall, thicknessMm: wall.thicknessMm * share };
}

/** Seconds for a wall whose water, over what it drinks per √s, comes to `lag`. */
function slowed(
  { low, best, high }: { low: number; best: number; high: number | null },
  lag: number,
): { low: number; best: number; high: number | null } {
  const wet = (seconds: number) => seconds + 2 * lag * Math.sqrt(seconds);
  return { low: wet(low), best: wet(best), high: high === null ? null : wet(high) };
}

const wetWords = (dry: Dwell['counts']): string =>
  `The wall still holds water and drinks slower${dry ? `: dry, it is ${countText(dry, 'count ')}` : ''}.`;

const NOTHING = { seconds: null, counts: null, saturated: false };
const TOO_LONG = 'Longer than anybody counts: look at the tiles again, or thicken the glaze.';
const AGAINST = 'These tiles do not show that a longer count leaves more glaze. Look at them again.';

const BASED: Record<CoatFit['basis'], (tiles: number) => string> = {
  own: (tiles) => `From ${tiles} tiles of this clay in this bucket.`,
  'leans on others': (tiles) =>
    `From ${tiles} ${tiles === 1 ? 'tile' : 'tiles'} of this clay in this bucket, and from other clays and buckets.`,
  'others only': () => 'From other clays and buckets: this pair has no tile yet.',
};

/** The most coat that tiles or the wall, where known, say can be had, g/cm². */
export function mostOf(fit: CoatFit, slurry: Slurry, wall: Wall | undefined): number {
  const byTiles =
    fit.fullFrom === null ? Number.POSITIVE_INFINITY : fit.intercept + fit.uptake * fit.fullFrom;
  const byWall = wall ? saturation(0, slurry, wall, fit.criticalFraction).mostCoat : Number.POSITIVE_INFINITY;
  return Math.min(byTiles, byWall);
}

/** Fieller: where (want − coat)² ≤ t²·(variance of the line + of one dip), of second degree in r = √t. */
function inverted(
  fit: CoatFit,
  want: number,
  slurry: Slurry,
): { low: number; best: number; high: number | null } {
  const slopes = [0, ...sensitivities(fit, solidsVolumeFraction(slurry)).slice(1)];
  const unit = slopes.map((_, i) => (i === 0 ? 1 : 0));
  const a = fit.intercept;
  const b = fit.uptake * (slopes[1] ?? 0);
  const t2 = studentQuantile((1 + USUAL_SHARE) / 2, fit.freedom) ** 2;
  const dip = fit.scale2 * DIPPING_U ** 2;
  const weighing = fit.scale2 * (WEIGHING_U / fit.areaCm2) ** 2;
  const square = b * b - t2 * (quadratic(fit.covariance, slopes, slopes) + dip * b * b);
  const half = -b * (want - a) - t2 * (quadratic(fit.covariance, unit, slopes) + dip * a * b);
  const rest = (want - a) ** 2 - t2 * (quadratic(fit.covariance, unit, unit) + weighing + dip * a * a);
  const best = secondsOf((want - a) / b);
  const root = Math.sqrt(Math.max(0, half * half - square * rest));
  if (!(square > 0)) {
    const low = square < 0 ? (-half - root) / square : 0;
    return { low: Math.min(best, secondsOf(half * half > square * rest ? low : 0)), best, high: null };
  }
  return {
    low: Math.min(best, secondsOf((-half - root) / square)),
    best,
    high: Math.max(best, secondsOf((-half + root) / square)),
  };
}

const secondsOf = (root: number): number => Math.max(SHORTEST_SECONDS, Math.max(0, root) ** 2);

/** The whole counts within a range, the nearest one where none lies in it. */
function countsOf(seconds: { low: number; best: number; high: number | null }): Dwell['counts'] {
  const { low, best, high } = seconds;
  if (high === null || high > UNSURE_RATIO * Math.max(low, 1)) return null;
  const [from, to] = [Math.max(1, Math.ceil(low - COUNT_GRACE)), Math.floor(high + COUNT_GRACE)];
  return from > to ? { from: whole(best), to: whole(best) } : { from, to };
}

const whole = (seconds: number): number => Math.max(1, Math.round(seconds));

const countText = ({ from, to }: { from: number; to: number }, verb = 'Count '): string =>
  `${verb}${from === to ? from : `${from} to ${to}`}`;

const WHY_NONE: Record<NoFit['reason'], string> = {
  'no-tiles': 'No tiles yet: how thick the coat gets, nobody can say.',
  'one-dwell': 'All tiles had the same count: dip one for another count to learn more.',
  'no-line': 'These tiles are too unlike to learn from: look at their grams and areas again.',
};

function untried(fit: NoFit, at: { specificGravity: number; band?: Band; heldGramsPerCm2?: number }): Dwell {
  const { band, specificGravity, heldGramsPerCm2 = 0 } = at;
  const thick = band !== undefined && specificGravity > band.high;
  const thin = band !== undefined && specificGravity < band.low;
  return {
    seconds: UNTRIED_SECONDS,
    counts: { from: UNTRIED_SECONDS.best, to: UNTRIED_SECONDS.best },
    saturated: false,
    basis: 'none',
    words: [
      'Count 3, as most do.',
      ...(thick ? ['The glaze is thicker than wanted, and so will the coat be.'] : []),
      ...(thin ? ['The glaze is thinner than wanted, and so will the coat be.'] : []),
      ...(heldGramsPerCm2 > 0 ? ['The wall still holds water: dry, it takes up more.'] : []),
      WHY_NONE[fit.reason],
    ].join(' '),
  };
}

/** Whether a dwell or a gravity lies well outside what the tiles have seen. */
function isBeyond(fit: CoatFit, seconds: number, slurry: Slurry): boolean {
  const { seen } = fit;
  if (!seen) return false;
  return (
    seconds > 2 * seen.longest ||
    seconds < seen.shortest / 2 ||
    slurry.specificGravity > seen.heaviest + 0.05 ||
    slurry.specificGravity < seen.lightest - 0.05
  );
}
