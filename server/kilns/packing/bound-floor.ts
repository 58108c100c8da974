import { middleOf } from './chamber.ts';
import type { KeepOut, Piece, Problem, StackKind } from './problem.ts';
import { LIKE_SIZE, MOST, NEST_STEP } from './ware.ts';

// What can stand on one shelf at most, as weights: for every weight here and every set of pieces that stand on one
// shelf as the rules ask, the pieces' weights sum to no more than the shelf's. Each says why.

/** A piece as the bounds see it; footprint with its tray, lengths in mm. */
export interface Item {
  id: string;
  value: number;
  group: string | undefined;
  round: boolean;
  width: number;
  depth: number;
  /** Free height it needs at least. */
  height: number;
  /** What it adds at least to the height of whatever stack it may be part of. */
  rise: number;
  /** 1 / the most pieces that its stack can have. */
  share: number;
  pin: number | undefined;
}

/** Half-plane a·x + b·y ≤ c with a unit normal. */
type Line = readonly [a: number, b: number, c: number];
type Point = readonly [x: number, y: number];

/** A convex shape: inside all lines, and of a disc about the origin unless its radius is infinite. */
interface Region {
  disc: number;
  lines: Line[];
}

/** Where ware may stand on a shelf. */
export interface Floor {
  full: Region;
  /** The half with more room; null where half shelves may not be used. */
  half: Region | null;
  gap: number;
  /** Width and depth of a rectangular shelf's usable part. */
  box: { width: number; depth: number } | null;
}

/** A number for every piece, and what a whole shelf and a half shelf hold of it at most. */
export interface Weight {
  of: Float64Array;
  full: number;
  half: number;
  /** What posts take from it on a shelf that carries another one. */
  fullPosts: number;
  halfPosts: number;
}

const SLACK = 1e-6;

/**
 * The pieces as the bounds see them. A stack of k pieces covers what each of its pieces covers, so a piece is charged
 * 1/m of its own weight, m ≥ k the most it can be stacked with: the charges of a stack sum to at most its heaviest
 * piece, and one piece of every stack makes a set that stands side by side. A stack is at least as high as the steps of
 * all its pieces but one and that one together, so each piece is charged the smaller of its step and of the lowest of its
 * likes: those sum to at most the stack's height.
 */
export function itemsOf({ pieces }: Problem): Item[] {
  const likes = new Map<string, Piece[]>();
  for (const piece of pieces) {
    const key = stackKey(piece);
    if (key) likes.set(key, [...(likes.get(key) ?? []), piece]);
  }
  return pieces.map((piece) => {
    const kind = kindOf(piece);
    const tray = 2 * (piece.tray ?? 0);
    let [width, depth, height] = [...sizeOf(piece), piece.heightMm];
    if (kind === 'on-edge') [width, depth, height] = [Math.max(width, depth), height, Math.min(width, depth)];
    const item = {
      id: piece.id,
      value: piece.value ?? 1,
      group: piece.group,
      round: piece.footprint.shape === 'circle' && kind !== 'on-edge',
      width: width + tray,
      depth: depth + tray,
      height,
      pin: piece.level,
    };
    const key = stackKey(piece);
    if (!key) return { ...item, rise: height, share: 1 };
    const given = typeof piece.stack === 'object' ? piece.stack : undefined;
    const same = (likes.get(key) ?? []).filter((other) => alike(piece, other, kind === 'rim-to-rim'));
    const step =
      kind === 'rim-to-rim' ? height : (given?.stepMm ?? (kind === 'nest' ? NEST_STEP : 1) * height);
    return {
      ...item,
      share: 1 / Math.max(1, Math.min(given?.most ?? MOST[kind], same.length)),
      rise: same.length > 1 ? Math.min(step, ...same.map((other) => other.heightMm)) : height,
    };
  });
}

function kindOf(piece: Piece): StackKind {
  if (piece.tray) return 'none';
  return typeof piece.stack === 'object' ? piece.stack.kind : (piece.stack ?? 'none');
}

function stackKey(piece: Piece): string | null {
  const kind = kindOf(piece);
  if (kind === 'none' || kind === 'on-edge') return null;
  const like = typeof piece.stack === 'object' ? piece.stack.like : undefined;
  return JSON.stringify([kind, like, piece.group, piece.footprint.shape]);
}

function sizeOf({ footprint }: Piece): [number, number] {
  return footprint.shape === 'circle'
    ? [footprint.diameterMm, footprint.diameterMm]
    : [footprint.widthMm, footprint.depthMm];
}

/** Whether two pieces may be of one stack, whichever way they are turned. */
function alike(a: Piece, b: Piece, heights: boolean): boolean {
  const near = (p: number, q: number) => Math.max(p, q) <= LIKE_SIZE * Math.min(p, q) + 2 * SLACK;
  const [aw, ad] = sizeOf(a);
  const [bw, bd] = sizeOf(b);
  return (
    ((near(aw, bw) && near(ad, bd)) || (near(aw, bd) && near(ad, bw))) &&
    (!heights || near(a.heightMm, b.heightMm))
  );
}

/** Where ware may stand in this problem. */
export function floorOf(problem: Problem): Floor {
  const { shelf } = problem;
  const edge = problem.edgeGapMm ?? 0;
  const rectangle = shelf.shape === 'rectangle';
  const full: Region = { disc: Number.POSITIVE_INFINITY, lines: [] };
  if (shelf.shape === 'round') full.disc = shelf.diameterMm / 2 - edge;
  else if (shelf.shape === 'polygon')
    full.lines = Array.from({ length: shelf.sides }, (_, side) => {
      const angle = -Math.PI / 2 + (2 * Math.PI * side) / shelf.sides;
      return [Math.cos(angle), Math.sin(angle), shelf.acrossFlatsMm / 2 - edge] as const;
    });
  else
    full.lines = [
      [-1, 0, -edge],
      [1, 0, shelf.widthMm - edge],
      [0, -1, -edge],
      [0, 1, shelf.depthMm - edge],
    ];
  const clear = (problem.splitGapMm ?? 0) / 2;
  const middle = middleOf(problem);
  const halves = [within(full, [[1, 0, middle - clear]]), within(full, [[-1, 0, -middle - clear]])].sort(
    (a, b) => measure(b).area - measure(a).area,
  );
  return {
    full,
    half: problem.halves ? (halves[0] ?? null) : null,
    gap: problem.pieceGapMm,
    box: rectangle ? { width: shelf.widthMm - 2 * edge, depth: shelf.depthMm - 2 * edge } : null,
  };
}

/** Places tried along each axis where something is in the way. */
const TRIED = 24;

/**
 * Whether an item stands somewhere on a shelf, clear of what must be kept out: with `spare` below 0 surely, above 0
 * perhaps. Where something is in the way, and for boxes on half of a round shelf, only some places are tried: then only
 * yes is proven.
 */
export function standsAlone(region: Region, item: Item, spare: number, out: KeepOut[]): boolean {
  const { round, width, depth } = item;
  const ways = round
    ? [[width, depth]]
    : [
        [width, depth],
        [depth, width],
      ];
  return ways.some(([width = 0, depth = 0]) => {
    const disc = region.disc - (round ? width / 2 : 0) + spare;
    if (disc < (round ? 0 : Math.hypot(width, depth) / 2)) return false;
    const lines = region.lines.map(([a, b, c]): Line => {
      const reach = round ? width / 2 : (Math.abs(a) * width + Math.abs(b) * depth) / 2;
      return [a, b, c - reach + spare];
    });
    const places = corners({ disc, lines });
    // A box on a round shelf stands best in its middle; everything else fits where its middle has a place.
    if (places.length === 0) return false;
    if (out.length === 0 && (round || lines.length === 0 || region.disc === Number.POSITIVE_INFINITY))
      return true;
    const inside = (x: number, y: number) =>
      lines.every(([a, b, c]) => a * x + b * y <= c) &&
      (round ? Math.hypot(x, y) : Math.hypot(Math.abs(x) + width / 2, Math.abs(y) + depth / 2)) <= disc;
    const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    for (let i = 0; i <= TRIED; i++)
      for (let j = 0; j <= TRIED; j++) {
        const [x, y] = [x0 + (i / TRIED) * (x1 - x0), y0 + (j / TRIED) * (y1 - y0)];
        // Boxes around both: more than is in the way.
        const clear = out.every((zone) => {
          const [w, d] =
            zone.shape === 'circle' ? [zone.diameterMm, zone.diameterMm] : [zone.widthMm, zone.depthMm];
          return Math.abs(x - zone.xMm) >= (width + w) / 2 || Math.abs(y - zone.yMm) >= (depth + d) / 2;
        });
        if (clear && inside(x, y)) return true;
      }
    return false;
  });
}

/**
 * Floor area. Pieces that keep a gap g grow by g/2 all round without overlapping and stay inside the usable floor
 * grown by g/2, whose area is A + P·g/2 + π·g²/4 (Steiner's formula for convex shapes). Where all are boxes on a
 * rectangular shelf, boxes that are apart by g in x or in y grow to (w + g)(d + g) and fill at most (W + g)(D + g).
 * Posts are charged where they stand inside the floor: no piece comes nearer to them than g.
 */
export function areaWeight(problem: Problem, floor: Floor, items: Item[]): Weight {
  const { gap } = floor;
  const boxes = floor.box !== null && items.every(({ round }) => !round);
  const of = items.map(({ round, width, depth, share }) => {
    if (round) return share * (Math.PI / 4) * (width + gap) ** 2;
    const grown = boxes
      ? (width + gap) * (depth + gap)
      : width * depth + gap * (width + depth) + (Math.PI / 4) * gap ** 2;
    return share * grown;
  });
  const holds = (region: Region) => {
    const { area, perimeter, box } = measure(region);
    if (area === 0) return 0;
    return boxes
      ? (box.width + gap) * (box.depth + gap)
      : area + (perimeter * gap) / 2 + (Math.PI / 4) * gap ** 2;
  };
  const full = holds(floor.full);
  const half = floor.half ? holds(floor.half) : 0;
  const posts = (problem.postPositions ?? []).map((post): Line[] => [
    [-1, 0, post.widthMm / 2 - post.xMm],
    [1, 0, post.xMm + post.widthMm / 2],
    [0, -1, post.depthMm / 2 - post.yMm],
    [0, 1, post.yMm + post.depthMm / 2],
  ]);
  // The part of each post on the floor; two posts that touch are not told apart, so then none is charged.
  const apart = posts.every((a, i) =>
    posts.every(
      (b, j) => j <= i || measure({ disc: Number.POSITIVE_INFINITY, lines: [...a, ...b] }).area === 0,
    ),
  );
  // The disc's circle is drawn a little large: so much is not charged.
  const taken = (region: Region) =>
    apart
      ? posts.reduce(
          (total, post) => total + measure(within({ ...region, disc: region.disc * INNER }, post)).area,
          0,
        )
      : 0;
  const middle = floor.half?.lines.slice(-1) ?? [];
  const other = middle.map(
    ([a, b]) => [-a, -b, middleOf(problem) * -a - (problem.splitGapMm ?? 0) / 2] as const,
  );
  return {
    of: Float64Array.from(of),
    full,
    half: Math.min(half, full),
    fullPosts: taken(floor.full),
    halfPosts: floor.half ? Math.min(taken(floor.half), taken(within(floor.full, other))) : 0,
  };
}

/**
 * Points that keep their distance. With pieces that keep a gap g, points at least ρ inside their pieces and, within
 * one piece, at least δ = 2ρ + g apart are all δ apart and at least ρ inside the floor; such points number at most
 * 2A/(√3·δ²) + P/(2δ) + 1 on a convex floor of area A and perimeter P (Oler 1961, Acta Math. 105), and in a disc fewer
 * than n below the proven least ratio for n circles (n ≤ 13 and 19). A piece's weight is the number of points put
 * into it: 1 where its inradius just reaches ρ, more for larger pieces, 0 for smaller ones.
 */
export function pointWeight(floor: Floor, items: Item[], inside: number): Weight {
  const apart = 2 * inside + floor.gap;
  const of = Float64Array.from(items, (item) => item.share * pointsIn(item, inside, apart));
  const distance = apart - 2 * SLACK;
  const most = (region: Region) => {
    const points = eroded(region, inside - SLACK);
    if (corners(points).length === 0) return 0;
    const { area, perimeter } = points.lines.length === 0 ? hullIn(points.disc, distance) : measure(points);
    return Math.floor((2 * area) / (Math.sqrt(3) * distance ** 2) + perimeter / (2 * distance) + 1 + 1e-9);
  };
  let full = most(floor.full);
  if (floor.full.disc < Number.POSITIVE_INFINITY)
    for (const [n, ratio] of PROVEN)
      if ((floor.full.disc + floor.gap / 2) / (inside + floor.gap / 2) < ratio - SLACK) {
        full = Math.min(full, n - 1);
        break;
      }
  return { of, full, half: floor.half ? Math.min(full, most(floor.half)) : 0, fullPosts: 0, halfPosts: 0 };
}

/**
 * Least R/r for n equal circles of radius r in one of radius R, rounded down: E. Specht, "The best known packings of
 * equal circles in a circle" (2014), for those n for which it is proven (Graham 1968, Pirl 1969, Melissen 1994, Fodor
 * 1999, 2000, 2003).
 */
const PROVEN: [n: number, ratio: number][] = [
  [2, 2],
  [3, 2.1547005],
  [4, 2.4142135],
  [5, 2.7013016],
  [6, 3],
  [7, 3],
  [8, 3.3047648],
  [9, 3.6131259],
  [10, 3.8130256],
  [11, 3.9238044],
  [12, 4.0296019],
  [13, 4.2360679],
  [19, 4.8637033],
];

/** R/r that is enough for n equal circles in one, rounded up: the same tables. */
const ENOUGH: [n: number, ratio: number][] = [
  [2, 2],
  [3, 2.1547006],
  [4, 2.4142136],
  [5, 2.7013017],
  [7, 3],
  [8, 3.3047649],
  [9, 3.613126],
  [10, 3.8130257],
  [11, 3.9238045],
  [12, 4.029602],
  [13, 4.236068],
  [14, 4.3284286],
  [15, 4.521357],
  [16, 4.6154256],
  [17, 4.7920338],
  [19, 4.8637034],
  [20, 5.1223208],
];

function pointsIn({ round, width, depth }: Item, inside: number, apart: number): number {
  const slack = Math.min(width, depth) / 2 - inside;
  if (slack < 0) return 0;
  if (apart <= 0) return 1;
  if (round) {
    let most = 1;
    for (const [n, ratio] of ENOUGH) if (slack >= (apart * (ratio - 1)) / 2 + SLACK) most = n;
    return most;
  }
  const [x, y] = [width - 2 * inside, depth - 2 * inside];
  const along = (length: number, step: number) => 1 + Math.floor(length / step - 1e-9);
  const rows = (length: number, across: number) => {
    const count = along(across, (apart * Math.sqrt(3)) / 2);
    const shifted = length >= apart / 2 ? along(length - apart / 2, apart) : 0;
    return Math.ceil(count / 2) * along(length, apart) + Math.floor(count / 2) * shifted;
  };
  return Math.max(along(x, apart) * along(y, apart), rows(x, y), rows(y, x));
}

// Convex shapes.

const within = (region: Region, lines: Line[]): Region => ({
  disc: region.disc,
  lines: [...region.lines, ...lines],
});

const eroded = ({ disc, lines }: Region, by: number): Region => ({
  disc: disc - by,
  lines: lines.map(([a, b, c]) => [a, b, c - by] as const),
});

/**
 * The largest convex polygon in a disc whose sides are at least so long: regular with as many corners as go on the
 * circle, as no polygon of b corners in a disc has more area or perimeter than the regular one. Oler's bound holds for
 * the hull of the points, whose sides are that long.
 */
function hullIn(radius: number, side: number): { area: number; perimeter: number } {
  if (side >= 2 * radius) return { area: 0, perimeter: 0 };
  const b = Math.floor(Math.PI / Math.asin(side / (2 * radius)) + 1e-9);
  if (b < 3) return { area: 0, perimeter: 4 * radius };
  return {
    area: (b / 2) * radius ** 2 * Math.sin((2 * Math.PI) / b),
    perimeter: 2 * b * radius * Math.sin(Math.PI / b),
  };
}

const FAR = 1e5;
/** Where sides are counted, a disc is drawn as a polygon of so many around it. */
const ROUND_SIDES = 12;
/** Round shapes are drawn as regular polygons of so many corners around them. */
const CORNERS = 240;
const INNER = Math.cos(Math.PI / CORNERS);

/** The corners of a shape, in order; of a round one a polygon's around it, 0.006 % too large. None where it is empty. */
function corners({ disc, lines }: Region): Point[] {
  if (disc < 0) return [];
  const [count, radius] = disc === Number.POSITIVE_INFINITY ? [4, FAR] : [CORNERS, disc / INNER];
  let shape = Array.from({ length: count }, (_, i): Point => {
    const angle = (2 * Math.PI * i) / count;
    return [radius * Math.cos(angle), radius * Math.sin(angle)];
  });
  for (const [a, b, c] of lines) {
    const next: Point[] = [];
    shape.forEach((p, i) => {
      const q = shape[(i + 1) % shape.length] ?? p;
      const [dp, dq] = [a * p[0] + b * p[1] - c, a * q[0] + b * q[1] - c];
      if (dp <= 0) next.push(p);
      if (dp < 0 !== dq < 0 && dp !== 0 && dq !== 0) {
        const t = dp / (dp - dq);
        next.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
      }
    });
    shape = next;
    if (shape.length === 0) break;
  }
  return shape;
}

/** A convex polygon around where ware may stand. */
export interface Outline {
  area: number;
  perimeter: number;
  sides: number;
  width: number;
  depth: number;
}

/**
 * Polygons around a whole floor and a half one grown by `by`, null where there is none, with the least sine between an
 * axis and a side that is not along one, infinite without such a side.
 */
export function outlinesOf({ full, half }: Floor, by: number) {
  let slant = Number.POSITIVE_INFINITY;
  const around = (region: Region): Outline | null => {
    if (corners(region).length === 0) return null;
    const { disc, lines } = eroded(region, -by);
    const round = disc === Number.POSITIVE_INFINITY ? 0 : ROUND_SIDES;
    const polygon: Region = { disc: Number.POSITIVE_INFINITY, lines: [...lines] };
    for (let side = 0; side < round; side++) {
      const angle = (2 * Math.PI * side) / round;
      polygon.lines.push([Math.cos(angle), Math.sin(angle), disc]);
    }
    for (const [a, b] of polygon.lines) {
      const sine = Math.min(Math.abs(a), Math.abs(b));
      if (sine > SLACK) slant = Math.min(slant, sine);
    }
    const { area, perimeter, box } = measure(polygon);
    return { area, perimeter, sides: corners(polygon).length, ...box };
  };
  const outlines = { full: around(full), half: half && around(half) };
  return { ...outlines, slant };
}

function measure(region: Region) {
  const shape = corners(region);
  let area = 0;
  let perimeter = 0;
  shape.forEach((p, i) => {
    const q = shape[(i + 1) % shape.length] ?? p;
    area += (p[0] * q[1] - q[0] * p[1]) / 2;
    perimeter += Math.hypot(q[0] - p[0], q[1] - p[1]);
  });
  const span = (axis: 0 | 1) =>
    shape.length > 0 ? Math.max(...shape.map((p) => p[axis])) - Math.min(...shape.map((p) => p[axis])) : 0;
  return { area: Math.max(area, 0), perimeter, box: { width: span(0), depth: span(1) } };
}
