import type { Floor, Item, Weight } from './bound-floor.ts';

/** Sizes are counted in thousandths of a mm, ware rounded down and shelves up: exact for what people measure. */
const UNITS = 1000;
const NOISE = 1e-6;
const MOST_K = 30;

/** A dual feasible function: sizes that fit in a row on `whole` have images that sum to at most 1. */
type Dual = (size: number, whole: number) => number;

const identity: Dual = (size, whole) => size / whole;

/** Fekete and Schepers 2001 (Math. Program. 91), u of k: whole parts of k + 1. */
const stepped =
  (k: number): Dual =>
  (size, whole) =>
    (size * (k + 1)) % whole === 0 ? size / whole : Math.floor((size * (k + 1)) / whole) / k;

/** The same, U of ε: large ones count whole, those below ε nothing. */
const cutOff =
  (least: number): Dual =>
  (size, whole) =>
    size > whole - least ? 1 : size < least ? 0 : size / whole;

/** The same, φ of ε: by how many pieces of size ε find no room any more. */
const rounded =
  (least: number): Dual =>
  (size, whole) => {
    const most = Math.floor(whole / least);
    if (size * 2 > whole) return 1 - Math.floor((whole - size) / least) / most;
    return size < least ? 0 : 1 / most;
  };

/**
 * The weights of boxes on a rectangular shelf by pairs of dual feasible functions f along x and g along y, heaviest
 * first, at most `wanted`, found in about `work` multiplications: f(w)·g(d) sums to at most 1 on one shelf (Fekete and
 * Schepers). Boxes may turn: on a square shelf the packing mirrored on its diagonal is another one with every box
 * turned, and the two together say that the mean of f(w)·g(d) and f(d)·g(w) sums to at most 1; on other shelves a box
 * weighs the lesser of both, or that one way it fits. Boxes grow by the gap. A round piece of radius r counts as the
 * box of half side (r + g)/√2 − g: two such boxes of pieces that are g apart are themselves apart by g in x or in y.
 * None where the shelf is no rectangle.
 */
export function boxWeights(floor: Floor, items: Item[], wanted: number, work: number): Weight[] {
  if (!floor.box || items.length === 0) return [];
  const up = (length: number) => Math.ceil((length + floor.gap) * UNITS - NOISE);
  const down = (length: number) => Math.floor((length + floor.gap) * UNITS + NOISE);
  const [W, D] = [up(floor.box.width), up(floor.box.depth)];
  const sizes = items.map((item) => {
    const half = (item.width / 2 + floor.gap) / Math.SQRT2 - floor.gap;
    if (item.round) return half > 0 ? ([down(2 * half), down(2 * half)] as const) : ([0, 0] as const);
    return [down(item.width), down(item.depth)] as const;
  });
  const square = W === D;
  const n = items.length;
  const duals = dualsFor([...new Set(sizes.flat())], Math.min(W, D), square, work / n);
  // One row a function and axis: the image of each box's width and of its depth.
  const images = duals.map((dual) => {
    const image = (whole: number, side: 0 | 1) =>
      Float64Array.from(sizes, (size) =>
        size[side] > 0 && size[side] <= whole ? dual(size[side], whole) : 0,
      );
    return { wx: image(W, 0), dx: image(W, 1), wy: image(D, 0), dy: image(D, 1) };
  });
  const straight = sizes.map(([w, d]) => w <= W && d <= D);
  const turned = sizes.map(([w, d]) => d <= W && w <= D);
  const share = Float64Array.from(items, (item) => item.share);
  const weigh = (f: number, g: number, of?: Float64Array): number => {
    const [a, b] = [images[f], images[g]];
    if (!a || !b) return 0;
    let total = 0;
    for (let i = 0; i < n; i++) {
      const p = (a.wx[i] ?? 0) * (b.dy[i] ?? 0);
      const q = (a.dx[i] ?? 0) * (b.wy[i] ?? 0);
      const weight = square ? (p + q) / 2 : !turned[i] ? p : !straight[i] ? q : Math.min(p, q);
      const charged = straight[i] || turned[i] ? weight * (share[i] ?? 0) : 0;
      if (of) of[i] = charged;
      total += charged;
    }
    return total;
  };
  const best: { total: number; f: number; g: number }[] = [];
  for (let f = 0; f < duals.length; f++)
    for (let g = square ? f : 0; g < duals.length; g++) {
      const total = weigh(f, g);
      if (best.length === wanted && total <= (best.at(-1)?.total ?? 0) + NOISE) continue;
      if (best.some((other) => Math.abs(other.total - total) < NOISE)) continue;
      best.push({ total, f, g });
      best.sort((a, b) => b.total - a.total);
      best.length = Math.min(best.length, wanted);
    }
  return best.map(({ f, g }) => {
    const of = new Float64Array(n);
    weigh(f, g, of);
    return { of, full: 1, half: floor.half ? 1 : 0, fullPosts: 0, halfPosts: 0 };
  });
}

/** Functions worth trying for boxes of these sizes, no more than the work allows. */
function dualsFor(sizes: number[], whole: number, square: boolean, pairs: number): Dual[] {
  const most = Math.floor(Math.sqrt(pairs * (square ? 2 : 1)));
  const small = sizes.filter((size) => size > 0 && size * 2 <= whole).sort((a, b) => b - a);
  // Cut-offs between the sizes matter too: just above what is left beside a large box.
  const beside = sizes.filter((size) => size * 2 > whole && size < whole).map((size) => whole - size + 1);
  const cuts = [...new Set([...small, ...beside.filter((size) => size * 2 <= whole)])];
  const ks = Array.from({ length: Math.min(MOST_K, most) }, (_, index) => index + 1);
  const room = Math.max(2, Math.floor((most - ks.length - 1) / 2));
  const chosen =
    cuts.length <= room ? cuts : cuts.filter((_, index) => index % Math.ceil(cuts.length / room) === 0);
  return [identity, ...ks.map(stepped), ...chosen.map(cutOff), ...chosen.map(rounded)];
}
