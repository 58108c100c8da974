import type { Level, Problem } from './problem.ts';
import type { Shape } from './ware.ts';

export type Part = Level['part'];

/** Where ware may stand on one shelf: inside a disc about the origin (if any) and on the inner side of every line. */
export interface Region {
  /** Radius, 0 for no disc. */
  disc: number;
  /** Lines a·x + b·y ≤ c of unit normals, three numbers each. */
  lines: Float64Array;
  /** The smallest upright box around it. */
  box: { x0: number; y0: number; x1: number; y1: number };
  /** The region is that box. */
  isBox: boolean;
  /** mm², of the box's or disc's part that can be used, for estimates only. */
  area: number;
}

/** Something that stands in the way, between two heights above the chamber floor. */
export interface Obstacle extends Shape {
  x: number;
  y: number;
  gap: number;
  from: number;
  to: number;
}

/** What can carry a shelf: one post height or two on one another. */
export interface Prop {
  sumMm: number;
  /** Indices into `Chamber.postHeights`, the second −1 for none. */
  a: number;
  b: number;
}

/** A kiln as the search sees it. */
export interface Chamber {
  problem: Problem;
  gap: number;
  regions: Record<Part, Region>;
  /** mm² of the whole shelf. */
  outlineArea: number;
  /** Posts that obstruct each part. */
  posts: Record<Part, Obstacle[]>;
  /** Keep-outs that reach into each part. */
  keepOuts: Record<Part, Obstacle[]>;
  /** Some keep-out has a height range. */
  zoned: boolean;
  /** Distinct heights of posts and how many shelves' worth there are of each. */
  postHeights: number[];
  stock: number[];
  /** By sum, lowest first. */
  props: Prop[];
  /** Base of the lowest level. */
  firstBase: number;
  thickness: number;
  mostLevels: number;
  mostFull: number;
  mostHalf: number;
  /** Height that ware and posts share: from the first base up to the lid's clearance. */
  room: number;
}

/** What the search needs to know of a problem's kiln, worked out once. Throws nothing for an asserted problem. */
export function chamberOf(problem: Problem): Chamber {
  const full = regionOf(problem);
  const middle = middleOf(problem);
  const half = (problem.splitGapMm ?? 0) / 2;
  const regions = {
    full,
    left: cut(full, 1, 0, middle - half),
    right: cut(full, -1, 0, -(middle + half)),
  };
  const always = { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY };
  const posts: Obstacle[] = (problem.postPositions ?? []).map((p) => ({
    x: p.xMm,
    y: p.yMm,
    hw: p.widthMm / 2,
    hd: p.depthMm / 2,
    r: 0,
    gap: problem.pieceGapMm,
    ...always,
  }));
  const keepOuts: Obstacle[] = (problem.keepOuts ?? []).map((k) => ({
    x: k.xMm,
    y: k.yMm,
    hw: k.shape === 'circle' ? 0 : k.widthMm / 2,
    hd: k.shape === 'circle' ? 0 : k.depthMm / 2,
    r: k.shape === 'circle' ? k.diameterMm / 2 : 0,
    gap: 0,
    from: k.fromMm ?? Number.NEGATIVE_INFINITY,
    to: k.toMm ?? Number.POSITIVE_INFINITY,
  }));
  const leftOf = (o: Obstacle) => o.x - o.hw - o.r < middle;
  const rightOf = (o: Obstacle) => o.x + o.hw + o.r > middle;
  const each = problem.postsPerShelf ?? 3;
  const postHeights = [...new Set(problem.posts.map((p) => p.heightMm))].sort((a, b) => a - b);
  const stock = postHeights.map((height) =>
    Math.floor(problem.posts.reduce((n, p) => n + (p.heightMm === height ? p.count : 0), 0) / each),
  );
  const firstBase = (problem.floorPostMm ?? 0) + problem.shelfThicknessMm;
  return {
    problem,
    gap: problem.pieceGapMm,
    regions,
    outlineArea: outlineAreaOf(problem),
    posts: { full: posts, left: posts.filter(leftOf), right: posts.filter(rightOf) },
    keepOuts: { full: keepOuts, left: keepOuts.filter(leftOf), right: keepOuts.filter(rightOf) },
    zoned: keepOuts.some((k) => k.from > Number.NEGATIVE_INFINITY || k.to < Number.POSITIVE_INFINITY),
    postHeights,
    stock,
    props: propsOf(postHeights, stock, problem),
    firstBase,
    thickness: problem.shelfThicknessMm,
    mostLevels: problem.maxLevels ?? Number.POSITIVE_INFINITY,
    mostFull: problem.shelves?.full ?? Number.POSITIVE_INFINITY,
    mostHalf: problem.halves ? (problem.shelves?.half ?? Number.POSITIVE_INFINITY) : 0,
    room: problem.usableHeightMm - firstBase - problem.topClearanceMm,
  };
}

/** x of the line between the half shelves. */
export function middleOf(problem: Problem): number {
  return problem.shelf.shape === 'rectangle' ? problem.shelf.widthMm / 2 : 0;
}

function propsOf(heights: number[], stock: number[], problem: Problem): Prop[] {
  const bySum = new Map<number, Prop>();
  const props: Prop[] = [];
  heights.forEach((sumMm, a) => {
    if ((stock[a] ?? 0) < 1 || sumMm + problem.shelfThicknessMm > problem.usableHeightMm) return;
    const prop = { sumMm, a, b: -1 };
    props.push(prop);
    bySum.set(sumMm, prop);
  });
  if (problem.stackedPosts)
    heights.forEach((low, a) => {
      for (let b = a; b < heights.length; b++) {
        const sumMm = low + (heights[b] ?? 0);
        if ((stock[a] ?? 0) < (a === b ? 2 : 1) || (stock[b] ?? 0) < 1) continue;
        if (sumMm > problem.usableHeightMm) continue;
        // With scores of heights every sum has dozens of pairs: one of each does.
        if (heights.length > 12 && bySum.has(sumMm)) continue;
        const prop = { sumMm, a, b };
        props.push(prop);
        bySum.set(sumMm, prop);
      }
    });
  return props.sort((p, q) => p.sumMm - q.sumMm || q.b - p.b);
}

function regionOf(problem: Problem): Region {
  const { shelf } = problem;
  const edge = problem.edgeGapMm ?? 0;
  if (shelf.shape === 'round') {
    const disc = Math.max(shelf.diameterMm / 2 - edge, 0);
    return {
      disc,
      lines: new Float64Array(0),
      box: { x0: -disc, y0: -disc, x1: disc, y1: disc },
      isBox: false,
      area: Math.PI * disc * disc,
    };
  }
  if (shelf.shape === 'rectangle') {
    const box = { x0: edge, y0: edge, x1: shelf.widthMm - edge, y1: shelf.depthMm - edge };
    return {
      disc: 0,
      lines: Float64Array.of(-1, 0, -box.x0, 1, 0, box.x1, 0, -1, -box.y0, 0, 1, box.y1),
      box,
      isBox: true,
      area: Math.max(box.x1 - box.x0, 0) * Math.max(box.y1 - box.y0, 0),
    };
  }
  const apothem = shelf.acrossFlatsMm / 2 - edge;
  const lines: number[] = [];
  for (let side = 0; side < shelf.sides; side++) {
    const angle = -Math.PI / 2 + (2 * Math.PI * side) / shelf.sides;
    lines.push(Math.cos(angle), Math.sin(angle), apothem);
  }
  const corner = Math.max(apothem, 0) / Math.cos(Math.PI / shelf.sides);
  return {
    disc: 0,
    lines: Float64Array.from(lines),
    box: { x0: -corner, y0: -apothem, x1: corner, y1: corner },
    isBox: false,
    area: shelf.sides * Math.tan(Math.PI / shelf.sides) * Math.max(apothem, 0) ** 2,
  };
}

function cut(region: Region, a: number, b: number, c: number): Region {
  const { x0, y0, x1, y1 } = region.box;
  return {
    ...region,
    lines: Float64Array.from([...region.lines, a, b, c]),
    box: a > 0 ? { x0, y0, x1: c, y1 } : { x0: -c, y0, x1, y1 },
    area: region.isBox ? Math.max((a > 0 ? c - x0 : x1 + c) * (y1 - y0), 0) : region.area / 2,
  };
}

/** mm² of the whole shelf. */
export function outlineAreaOf({ shelf }: Pick<Problem, 'shelf'>): number {
  if (shelf.shape === 'rectangle') return shelf.widthMm * shelf.depthMm;
  if (shelf.shape === 'round') return (Math.PI * shelf.diameterMm ** 2) / 4;
  return (shelf.sides * Math.tan(Math.PI / shelf.sides) * shelf.acrossFlatsMm ** 2) / 4;
}
