import { CRITICAL_FRACTION, LEAST_ROOM, solidsVolumeFraction, suction, type Tile } from './coat.ts';
import { ifSolvable, leastSquares, type Row, type Solution, studentQuantile } from './least-squares.ts';

// Which tiles count, and the law through them.

/** What the other pairs of clay and bucket in the studio take: what clings and uptake, each with how far pairs differ. */
export interface Pool {
  pairs: number;
  intercept: number;
  interceptU: number;
  uptake: number;
  uptakeU: number;
  areaCm2: number;
  solidsDensity: number;
}

/** Densest regular packing of equal spheres is 0.74; loosest that still stands, no source. */
const [LOOSEST, DENSEST] = [0.35, 0.74];
const GRAVITIES_FOR_FRACTION = 3;
const TILES_FOR_FRACTION = 6;
/** Gravities nearer than this ratio are one and the same. */
const SAME_GRAVITY = 1.005;
/** Dwells nearer than this ratio of √t are one and the same. */
const SAME_DWELL = 1.02;
/** Standard uncertainty of a tile: of its weighing in g, and what dipping itself scatters. Common practice, no source. */
export const WEIGHING_U = 0.1;
export const DIPPING_U = 0.05;
/** Those figures are good to a half: ½·(Δu/u)⁻² degrees of freedom (GUM, G.4.2). */
const STATED_FREEDOM = 2;
/** At most one tile in so many is taken for bad. */
const ONE_BAD_IN = 4;
/** Of sets of good tiles so many lose one. */
const FALSE_ALARM = 0.05;
/** Of straight sets so many are called level at their end. */
const FALSE_FULL = 0.001;
const FEWEST_FOR_KNEE = 6;
const MOST_KNEES = 12;
const MOST_FOR_START = 60;

export interface Weighed extends Tile {
  place: number;
  y: number;
  phi: number;
}

interface Model extends Solution {
  critical: number;
  knee: number | null;
  scale2: number;
  freedom: number;
}

interface Found {
  kept: Weighed[];
  model: Model;
}

const travelled = (tile: Tile, critical: number): number =>
  suction(solidsVolumeFraction(tile), critical) * Math.sqrt(tile.seconds);

/** Standard uncertainty of a coat in g/cm² on so many cm²: 0.1 g of weighing and 5 % of it. */
export const uncertainty = (coat: number, areaCm2: number): number =>
  Math.hypot(WEIGHING_U / areaCm2, DIPPING_U * Math.max(0, coat));

/**
 * Straight, or up to a knee and level from there, whichever the tiles bear out. A knee keeps the usual φc: both bend the
 * line, and few tiles tell them apart.
 */
export function withKnee(tiles: Weighed[]): Found {
  const straight = search(tiles, null, null);
  const ways = distinct(
    tiles.map((t) => travelled(t, CRITICAL_FRACTION)),
    SAME_DWELL,
  );
  if (tiles.length < FEWEST_FOR_KNEE || ways.length < 4 || !mayBend(tiles, straight)) return straight;
  const inner = ways.slice(1, -1);
  const stride = Math.max(1, Math.ceil(inner.length / MOST_KNEES));
  const bent = inner
    .filter((_, i) => i % stride === 0)
    .map((knee) => search(tiles, null, knee))
    .filter(({ kept, model }) => {
      const beyond = kept.filter((t) => travelled(t, CRITICAL_FRACTION) > (model.knee ?? 0) * SAME_DWELL);
      return beyond.length >= 2 && kept.length >= FEWEST_FOR_KNEE && (model.beta[1] ?? 0) > 0;
    })
    .sort((a, b) => b.kept.length - a.kept.length || a.model.chi2 - b.model.chi2)[0];
  if (!bent) return straight;
  const without = solve(bent.kept, null, null);
  const over = bent.model.freedom - 1;
  const gain = (without.chi2 - bent.model.chi2) / bent.model.scale2;
  return gain > studentQuantile(1 - FALSE_FULL / 2, over) ** 2 && bent.kept.length >= straight.kept.length
    ? bent
    : straight;
}

/** A quick look before knees are tried one by one: several tiles refused, or a line that falls behind at its end. */
function mayBend(tiles: Weighed[], { kept, model }: Found): boolean {
  if (kept.length < tiles.length - 1) return true;
  const { beta, covariance } = leastSquares(
    tiles.map((t) => {
      const way = wayAt(t, model.critical, null);
      return { x: [1, way, way * way], y: t.y, u: uncertainty(t.y, t.areaCm2) };
    }),
  );
  return (beta[2] ?? 0) < -Math.sqrt(model.scale2 * (covariance[2]?.[2] ?? 0));
}

/** Least squares of all tiles but those that none of the others bears out. */
export function search(tiles: Weighed[], prior: Pool | null, knee: number | null): Found {
  const spare = Math.floor(tiles.length / ONE_BAD_IN);
  const all = () => ({ kept: tiles, model: solve(tiles, prior, knee) });
  if (spare === 0) return all();
  const [level, slope] = repeatedMedians(tiles, knee);
  const away = (t: Weighed) => {
    const fitted = level + slope * bounded(travelled(t, CRITICAL_FRACTION), knee);
    return Math.abs(t.y - fitted) / uncertainty(Math.max(fitted, t.y / 2), t.areaCm2);
  };
  const byDistance = tiles.toSorted((a, b) => away(a) - away(b) || a.place - b.place);
  let kept = byDistance.slice(0, tiles.length - spare);
  let outside = byDistance.slice(tiles.length - spare);
  if (!hasTwoDwells(kept, knee)) return all();
  for (;;) {
    const model = solve(inOrder(kept), prior, knee);
    const limit = studentQuantile(1 - FALSE_ALARM / 2 / tiles.length, model.freedom);
    const back = outside.filter((t) => oddness(t, model) <= limit);
    if (back.length === 0) return { kept: inOrder(kept), model };
    kept = [...kept, ...back];
    outside = outside.filter((t) => !back.includes(t));
  }
}

/** A tile's distance from what a model of other tiles foretells, in standard deviations of that. */
function oddness(tile: Weighed, model: Model): number {
  const x = regressors(tile, model.critical, model.knee, model.beta);
  const coat = (model.beta[0] ?? 0) + (model.beta[1] ?? 0) * (x[1] ?? 0);
  const variance = model.scale2 * (uncertainty(coat, tile.areaCm2) ** 2 + quadratic(model.covariance, x, x));
  return Math.abs(tile.y - coat) / Math.sqrt(variance);
}

/** Least squares, weighted by what is fitted rather than by what was weighed, which would favour thin coats. */
function solve(tiles: Weighed[], prior: Pool | null, knee: number | null): Model {
  const pseudo: Row[] = prior
    ? [
        { x: [1, 0], y: prior.intercept, u: prior.interceptU },
        { x: [0, 1], y: prior.uptake, u: prior.uptakeU },
      ]
    : [];
  const line = (coats: number[], critical: number) =>
    leastSquares([
      ...tiles.map((t, i) => ({
        x: regressors(t, critical, knee, null),
        y: t.y,
        u: uncertainty(coats[i] ?? 0, t.areaCm2),
      })),
      ...pseudo,
    ]);
  const coatsOf = ({ beta }: Solution, critical: number) =>
    tiles.map((t) => (beta[0] ?? 0) + (beta[1] ?? 0) * (regressors(t, critical, knee, null)[1] ?? 0));

  let critical = CRITICAL_FRACTION;
  let coats = tiles.map((t) => t.y);
  let solution = line(coats, critical);
  const weigh = () => {
    for (let round = 0; round < 4; round++) {
      coats = coatsOf(solution, critical);
      solution = line(coats, critical);
    }
  };
  weigh();
  const isFree = !prior && knee === null && canTellFraction(tiles);
  let isInside = false;
  if (isFree) {
    const lowest = Math.max(LOOSEST, Math.max(...tiles.map((t) => t.phi)) + LEAST_ROOM);
    const chi2At = profile(tiles, coats);
    critical = lowestOf(chi2At, lowest, DENSEST);
    if (!Number.isFinite(chi2At(critical))) critical = CRITICAL_FRACTION;
    isInside = critical > lowest + 1e-4 && critical < DENSEST - 1e-4;
    solution = line(coats, critical);
    weigh();
  }
  const { beta } = solution;
  const full = isInside ? withFraction(tiles, coats, solution, critical) : null;
  const freedom =
    STATED_FREEDOM + (prior ? prior.pairs - 1 : 0) + tiles.length + pseudo.length - (isFree ? 3 : 2);
  const stated = STATED_FREEDOM + (prior ? prior.pairs - 1 : 0);
  return {
    beta: full ? [...beta, critical] : beta,
    covariance: full ?? solution.covariance,
    chi2: solution.chi2,
    critical,
    knee,
    scale2: (stated + solution.chi2) / freedom,
    freedom,
  };
}

/**
 * χ² of the straight line at a given φc, with weights that stay; without end where tiles coincide there. Asked a
 * hundred times a fit, so by sums about the means instead of reflections.
 */
function profile(tiles: Weighed[], coats: number[]): (critical: number) => number {
  const weights = tiles.map((t, i) => uncertainty(coats[i] ?? 0, t.areaCm2) ** -2);
  const total = weights.reduce((sum, w) => sum + w, 0);
  const middleOf = (value: (t: Weighed) => number) =>
    tiles.reduce((sum, t, i) => sum + value(t) * (weights[i] ?? 0), 0) / total;
  const yMiddle = middleOf((t) => t.y);
  return (critical) => {
    const wayOf = (t: Weighed) => wayAt(t, critical, null);
    const xMiddle = middleOf(wayOf);
    let [xx, xy, yy] = [0, 0, 0];
    for (const [i, tile] of tiles.entries()) {
      const [dx, dy, weight] = [wayOf(tile) - xMiddle, tile.y - yMiddle, weights[i] ?? 0];
      xx += weight * dx * dx;
      xy += weight * dx * dy;
      yy += weight * dy * dy;
    }
    return xx > 1e-12 * total * xMiddle * xMiddle ? yy - (xy * xy) / xx : Number.POSITIVE_INFINITY;
  };
}

/** The covariance with φc among what was fitted, linear about the solution; null where the tiles cannot tell it. */
function withFraction(
  tiles: Weighed[],
  coats: number[],
  { beta }: Solution,
  critical: number,
): number[][] | null {
  const rows = tiles.map((t, i) => ({
    x: regressors(t, critical, null, [...beta, critical]),
    y: 0,
    u: uncertainty(coats[i] ?? 0, t.areaCm2),
  }));
  return ifSolvable(() => leastSquares(rows).covariance);
}

function regressors(tile: Weighed, critical: number, knee: number | null, beta: number[] | null): number[] {
  const x = wayAt(tile, critical, knee);
  return beta?.length === 3 ? [1, x, (-(beta[1] ?? 0) * x) / (critical - tile.phi)] : [1, x];
}

/** φ/(φc − φ)·√t, up to where the wall is full. */
const wayAt = (tile: Weighed, critical: number, knee: number | null): number =>
  bounded(suction(tile.phi, critical) * Math.sqrt(tile.seconds), knee);

const bounded = (way: number, knee: number | null): number => (knee === null ? way : Math.min(way, knee));

function canTellFraction(tiles: Weighed[]): boolean {
  const gravities = distinct(
    tiles.map((t) => t.specificGravity),
    SAME_GRAVITY,
  );
  return tiles.length >= TILES_FOR_FRACTION && gravities.length >= GRAVITIES_FOR_FRACTION;
}

/** Level and slope; each is a median of medians, so that up to half the tiles may be anything. */
function repeatedMedians(tiles: Weighed[], knee: number | null): [level: number, slope: number] {
  const stride = Math.max(1, tiles.length / MOST_FOR_START);
  const picked = Array.from(
    { length: Math.min(tiles.length, MOST_FOR_START) },
    (_, i) => tiles[Math.floor(i * stride)],
  ).filter((t) => t !== undefined);
  const points = picked.map((t) => ({ x: bounded(travelled(t, CRITICAL_FRACTION), knee), y: t.y }));
  const slopes = points.flatMap((a) => {
    const own = points.filter((b) => b.x !== a.x).map((b) => (b.y - a.y) / (b.x - a.x));
    return own.length > 0 ? [median(own)] : [];
  });
  const slope = slopes.length > 0 ? median(slopes) : 0;
  return [median(points.map((p) => p.y - slope * p.x)), slope];
}

/** Apart in seconds, and in what the law makes of them. */
export const hasTwoDwells = (tiles: readonly Tile[], knee: number | null = null): boolean =>
  distinct(
    tiles.map((t) => Math.sqrt(t.seconds)),
    SAME_DWELL,
  ).length >= 2 &&
  distinct(
    tiles.map((t) => bounded(travelled(t, CRITICAL_FRACTION), knee)),
    SAME_DWELL,
  ).length >= 2;

/** Tiles in an order of their own, so that the one they come in leaves no trace in rounding. */
export const inOrder = (tiles: Weighed[]): Weighed[] =>
  tiles.toSorted((a, b) => a.seconds - b.seconds || a.phi - b.phi || a.y - b.y || a.areaCm2 - b.areaCm2);

/** Values in order, without those that differ from the one before by no more than a ratio. */
function distinct(values: number[], ratio: number): number[] {
  const found: number[] = [];
  for (const value of values.toSorted((a, b) => a - b))
    if (found.length === 0 || value > (found.at(-1) ?? 0) * ratio + 1e-12) found.push(value);
  return found;
}

/** Where a function of one variable is lowest: a grid, then golden section between the neighbours of its best. */
function lowestOf(f: (x: number) => number, from: number, to: number): number {
  const steps = 24;
  const at = (i: number) => from + ((to - from) * i) / steps;
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i <= steps; i++) {
    const value = f(at(i));
    if (value < least) [best, least] = [i, value];
  }
  let [low, high] = [at(Math.max(0, best - 1)), at(Math.min(steps, best + 1))];
  const golden = (Math.sqrt(5) - 1) / 2;
  for (let i = 0; i < 30; i++) {
    const [left, right] = [high - golden * (high - low), low + golden * (high - low)];
    if (f(left) < f(right)) high = right;
    else low = left;
  }
  return (low + high) / 2;
}

/** xᵀ·M·y */
export function quadratic(matrix: number[][], x: number[], y: number[]): number {
  return x.reduce(
    (sum, xi, i) => sum + y.reduce((row, yj, j) => row + xi * (matrix[i]?.[j] ?? 0) * yj, 0),
    0,
  );
}

export const mean = (values: number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

export function spread(values: number[]): number {
  if (values.length < 2) return 0;
  const middle = mean(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1));
}

export function median(values: number[]): number {
  const sorted = Float64Array.from(values).sort();
  const upper = sorted[Math.floor(sorted.length / 2)] ?? 0;
  const lower = sorted[Math.ceil(sorted.length / 2) - 1] ?? 0;
  return (lower + upper) / 2;
}
