import { type Floor, type Item, type Outline, outlinesOf, type Weight } from './bound-floor.ts';

// Cells around the pieces of one shelf, whose sides are counted: few sides make much waste around round ware, and a wall
// takes sides away.

/** What a weight by sides asks: mm² for a side of a cell, and for a mm of wall. Any two make a true weight. */
interface Prices {
  side: number;
  wall: number;
}

/** A cell with more sides than this is taken for one with any number. */
const MOST_SIDES = 16;
/** Halvings when the multiplier of an angle sum is sought; any multiplier is right, a better one says more. */
const HALVINGS = 8;
/** Prices to begin with, by the mean radius: of a side its square, of a wall itself. */
const FIRST = { side: 0.1, wall: 0.07 };
/** Factors by which prices are changed, and how often each may lead on. */
const FACTORS = [1.5, 1.2];
const MOVES = 4;

/**
 * Floor area with the waste around round ware and along walls, at the prices for which `score` is least; null where none
 * is of use.
 *
 * Let N convex bodies stand in a convex polygon of area A, perimeter P and k sides. Grow them to convex cells that do not
 * overlap and cannot be grown any more (L. Fejes Tóth, "Some packing and covering theorems", Acta Sci. Math. Szeged 12A,
 * 1950; the count below from memory). Cells are polygons, as each can have all on its side of lines between it and the
 * others. Any side inside touches another cell between its ends, else it could be moved out; two cells touch along one
 * line, so a pair makes at most two sides. A hole between cells has at each corner one side that runs on past it, and
 * each of its sides must run on past an end: along a wall, which runs on at both its ends, there is none, so cells cover
 * all walls. Draw a dot in each cell and one outside each wall, and join those that touch and walls that meet: a planar
 * graph of N + k dots whose outer face has k sides, so with I pairs that touch and B times that a cell touches a wall
 * I + B + k ≤ 3(N + k) − 6 − (k − 3). The cells have at most 2I + B sides: with n sides and c walls each,
 * Σ (n + c − 6) ≤ 2k − 6, and their lengths at walls sum to P. So for any prices λ, μ ≥ 0
 *     Σ (area − μ · length at walls + λ (n + c − 6)) ≤ A − μP + λ (2k − 6),
 * and what a body makes of the left at least is its weight, or 0: leaving it out leaves the rest a packing. Pieces are
 * grown by g/2 as in `areaWeight`, the floor's walls moved out by g/2.
 */
export function sideWeight(floor: Floor, items: Item[], score: (weight: Weight) => number): Weight | null {
  // Boxes alone fill their cells.
  if (!items.some(({ round }) => round)) return null;
  const outlines = outlinesOf(floor, floor.gap / 2);
  const radius =
    items.reduce((sum, item) => sum + Math.min(item.width, item.depth) + floor.gap, 0) / (2 * items.length);
  if (!(radius > 0)) return null;
  let best: { weight: Weight; score: number } | null = null;
  let prices: Prices = { side: FIRST.side * radius ** 2, wall: FIRST.wall * radius };
  const look = (next: Prices): boolean => {
    const weight = weightAt(outlines, floor.gap, items, next);
    if (!weight) return false;
    const scored = score(weight);
    if (best && scored >= best.score) return false;
    best = { weight, score: scored };
    prices = next;
    return true;
  };
  look(prices);
  for (const factor of FACTORS)
    for (let move = 0; move < MOVES; move++) {
      const { side, wall } = prices;
      const ways = [
        { side: side * factor, wall: wall * factor },
        { side: side / factor, wall: wall / factor },
        { side, wall: wall * factor },
        { side, wall: wall / factor },
      ];
      if (!ways.some(look)) break;
    }
  return (best as { weight: Weight } | null)?.weight ?? null;
}

/** The weight at some prices, see `sideWeight`; null where they are of no use. */
export function weightAt(
  { full, half, slant }: ReturnType<typeof outlinesOf>,
  gap: number,
  items: Item[],
  { side, wall }: Prices,
): Weight | null {
  // A wall that is not along a box is then never worth a side to it.
  if (!full || wall * gap > side * slant) return null;
  const outlines = half ? [full, half] : [full];
  const walls = Math.max(...outlines.map(({ sides }) => sides));
  const room = Math.min(...outlines.map(({ width, depth }) => Math.min(width, depth)));
  const holds = ({ area, perimeter, sides }: Outline) => area - wall * perimeter + side * (2 * sides - 6);
  const most = holds(full);
  const mostHalf = half ? holds(half) : 0;
  if (!(most > 0) || mostHalf < 0) return null;
  const known = new Map<string, number>();
  const of = Float64Array.from(items, ({ round, width, depth, share }) => {
    const key = `${round} ${width} ${depth}`;
    let least = known.get(key);
    if (least === undefined) {
      least = round
        ? roundCell((width + gap) / 2, { side, wall }, walls)
        : boxCell(width, depth, gap, { side, wall }, slant, room);
      known.set(key, least);
    }
    return share * Math.max(0, least);
  });
  return { of, full: most, half: Math.min(most, mostHalf), fullPosts: 0, halfPosts: 0 };
}

/**
 * The least that the cell of a circle costs. Seen from the centre, a side at a distance h ≥ r that spans the angles a and
 * b beside its foot bounds a triangle of area h²/2 · (tan a + tan b) and is h · (tan a + tan b) long. Less μ a mm that
 * falls to its least with h at r, where r ≥ 2μ, and with a and b alike: r² · tan γ inside and (r² − 2μr) · tan γ at a
 * wall, with Σ γ = π. For any ν that sum is at least πν + Σ min over γ of (… tan γ − νγ).
 */
function roundCell(radius: number, { side, wall }: Prices, walls: number): number {
  const inside = radius ** 2;
  const atWall = inside - 2 * wall * radius;
  if (!(atWall > 0)) return 0;
  let least = Number.POSITIVE_INFINITY;
  const turn = Math.acos(Math.sqrt(atWall / inside));
  for (let c = 0; c <= walls; c++) {
    for (let n = Math.max(3, c); n <= MOST_SIDES; n++) {
      const sides = side * (n + c - 6);
      if (atWall * Math.PI + sides >= least) break;
      least = Math.min(least, tangents(inside, n - c, atWall, c) + sides);
    }
    // Without end of them sides inside cost r² times their angle.
    const endless = inside * Math.PI + c * (atWall * Math.tan(turn) - inside * turn);
    least = Math.min(least, endless + side * (Math.max(MOST_SIDES + 1, c) + c - 6));
  }
  return least;
}

/** A lower bound, and nearly the least, of Σ r² tan γ over `n` angles and Σ w tan γ over `c`, with Σ γ = π. */
function tangents(inside: number, n: number, atWall: number, c: number): number {
  const angle = (of: number, price: number) => (price > of ? Math.acos(Math.sqrt(of / price)) : 0);
  let [low, high] = [atWall, inside].map((of) => of / Math.cos(Math.PI / (n + c)) ** 2) as [number, number];
  for (let i = 0; i < HALVINGS && high > low; i++) {
    const middle = (low + high) / 2;
    if (n * angle(inside, middle) + c * angle(atWall, middle) > Math.PI) high = middle;
    else low = middle;
  }
  const price = (low + high) / 2;
  const part = (of: number) => {
    const best = angle(of, price);
    return of * Math.tan(best) - price * best;
  };
  return price * Math.PI + n * part(inside) + c * part(atWall);
}

/**
 * The least that the cell of a box costs, with its rounded corners. Let C′ be the body C with what is within 2μ of the
 * cell's walls cut off. A cell K with sides ℓ at distances h from C's middle has Σ (h/2 − μ at walls) · ℓ, at least the
 * mixed area V(K, C′) ≥ V(C, C′), as mixed areas grow with both bodies: the area of C less μ times its extent along each
 * wall that is along one of its sides (of two opposite walls both count only in part where the shelf is wider). A slanted
 * wall cuts off no more than corners, worth less than its side. With three sides it is a triangle, in which a box fills at
 * most half, and V(K, C′) ≥ √(|K|·|C′|) (Minkowski), where C′ holds C made smaller by 4μ of its lesser extent.
 */
function boxCell(
  width: number,
  depth: number,
  gap: number,
  { side, wall }: Prices,
  slant: number,
  room: number,
): number {
  const short = Math.min(width, depth);
  if (4 * wall * (1 + 1 / slant) >= short) return 0;
  const grown = width * depth + gap * (width + depth) + (Math.PI / 4) * gap ** 2;
  const saved = (length: number, across: number) => {
    const both = Math.max(wall, 2 * wall - Math.max(0, room - across - gap) / 2);
    return Math.max(0, (length + gap) * wall - side, (length + gap) * both - 2 * side);
  };
  const four = grown - 2 * side - saved(width, depth) - saved(depth, width);
  const bare = width * depth;
  const three = Math.min(2 * bare - 3 * side, Math.SQRT2 * bare * (1 - (4 * wall) / short) - 2 * side);
  return Math.min(four, three);
}
