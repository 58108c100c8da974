import type { Footprint, Piece, Problem } from './problem.ts';

const MOST_MM = 5000;
const MOST_PIECES = 2000;
const MOST_POST_HEIGHTS = 200;
const MOST_OBSTACLES = 200;
const KINDS = ['nest', 'rim-to-rim', 'pile', 'on-edge', 'none'];

/**
 * Refuses what no packer can make sense of, before any search starts.
 * Lengths are more than 0 and at most 5000 mm where something must have a size, gaps and clearances 0 to 5000.
 * @throws RangeError whose message names the path and says in words what is wrong, for the first thing found
 */
export function assertProblem(problem: Problem): void {
  const { shelf } = problem;
  if (shelf.shape === 'round') size('shelf.diameterMm', shelf.diameterMm);
  else if (shelf.shape === 'polygon') {
    whole('shelf.sides', shelf.sides, 3, 100);
    size('shelf.acrossFlatsMm', shelf.acrossFlatsMm);
  } else if (shelf.shape === 'rectangle') {
    size('shelf.widthMm', shelf.widthMm);
    size('shelf.depthMm', shelf.depthMm);
  } else throw new RangeError('shelf.shape: not round, polygon or rectangle');
  size('usableHeightMm', problem.usableHeightMm);
  for (const key of ['shelfThicknessMm', 'pieceGapMm', 'clearanceMm', 'topClearanceMm'] as const)
    gap(key, problem[key]);
  for (const key of ['edgeGapMm', 'floorPostMm', 'splitGapMm'] as const)
    if (problem[key] !== undefined) gap(key, problem[key]);
  most('posts', problem.posts.length, MOST_POST_HEIGHTS);
  problem.posts.forEach((post, i) => {
    size(`posts[${i}].heightMm`, post.heightMm);
    whole(`posts[${i}].count`, post.count, 0, 1e6);
  });
  if (problem.postsPerShelf !== undefined) whole('postsPerShelf', problem.postsPerShelf, 1, 100);
  most('postPositions', problem.postPositions?.length ?? 0, MOST_OBSTACLES);
  problem.postPositions?.forEach((post, i) => {
    place(`postPositions[${i}].xMm`, post.xMm);
    place(`postPositions[${i}].yMm`, post.yMm);
    size(`postPositions[${i}].widthMm`, post.widthMm);
    size(`postPositions[${i}].depthMm`, post.depthMm);
  });
  most('keepOuts', problem.keepOuts?.length ?? 0, MOST_OBSTACLES);
  problem.keepOuts?.forEach((zone, i) => {
    place(`keepOuts[${i}].xMm`, zone.xMm);
    place(`keepOuts[${i}].yMm`, zone.yMm);
    footprint(`keepOuts[${i}]`, zone);
    if (zone.fromMm !== undefined) place(`keepOuts[${i}].fromMm`, zone.fromMm);
    if (zone.toMm !== undefined) place(`keepOuts[${i}].toMm`, zone.toMm);
  });
  if (problem.maxLevels !== undefined) whole('maxLevels', problem.maxLevels, 1, 1000);
  if (problem.maxLoads !== undefined) whole('maxLoads', problem.maxLoads, 1, 1000);
  if (problem.shelves) {
    whole('shelves.full', problem.shelves.full, 0, 1000);
    whole('shelves.half', problem.shelves.half, 0, 1000);
  }
  if (problem.timeLimitMs !== undefined) within('timeLimitMs', problem.timeLimitMs, 0, 3_600_000);
  if (problem.iterations !== undefined) whole('iterations', problem.iterations, 0, 1e9);
  if (problem.seed !== undefined) within('seed', problem.seed, -1e15, 1e15);
  most('pieces', problem.pieces.length, MOST_PIECES);
  const ids = new Set<string>();
  problem.pieces.forEach((piece, i) => {
    if (ids.has(piece.id)) throw new RangeError(`pieces[${i}].id: ${piece.id} stands twice in the list`);
    ids.add(piece.id);
    assertPiece(`pieces[${i}]`, piece);
  });
}

function assertPiece(path: string, piece: Piece): void {
  footprint(`${path}.footprint`, piece.footprint);
  size(`${path}.heightMm`, piece.heightMm);
  if (piece.kg !== undefined) within(`${path}.kg`, piece.kg, 0, 1e6);
  if (piece.value !== undefined) within(`${path}.value`, piece.value, 0, 1e12);
  if (piece.tray !== undefined) gap(`${path}.tray`, piece.tray);
  if (piece.level !== undefined) whole(`${path}.level`, piece.level, 1, 1000);
  const stack = typeof piece.stack === 'string' ? { kind: piece.stack } : piece.stack;
  if (!stack) return;
  if (!KINDS.includes(stack.kind)) throw new RangeError(`${path}.stack: not a way to stack`);
  if (stack.stepMm !== undefined) size(`${path}.stack.stepMm`, stack.stepMm);
  if (stack.most !== undefined) whole(`${path}.stack.most`, stack.most, 1, 1000);
}

function footprint(path: string, shape: Footprint): void {
  if (shape.shape === 'circle') size(`${path}.diameterMm`, shape.diameterMm);
  else if (shape.shape === 'rectangle') {
    size(`${path}.widthMm`, shape.widthMm);
    size(`${path}.depthMm`, shape.depthMm);
  } else throw new RangeError(`${path}.shape: not circle or rectangle`);
}

function size(path: string, value: number): void {
  if (!(value > 0)) throw new RangeError(`${path}: must be more than 0`);
  within(path, value, 0, MOST_MM);
}

function gap(path: string, value: number): void {
  within(path, value, 0, MOST_MM);
}

function place(path: string, value: number): void {
  within(path, value, -MOST_MM * 2, MOST_MM * 2);
}

function whole(path: string, value: number, from: number, to: number): void {
  if (!Number.isInteger(value)) throw new RangeError(`${path}: must be a whole number`);
  within(path, value, from, to);
}

function within(path: string, value: number, from: number, to: number): void {
  if (!Number.isFinite(value)) throw new RangeError(`${path}: not a number`);
  if (value < from || value > to) throw new RangeError(`${path}: must lie between ${from} and ${to}`);
}

function most(path: string, count: number, limit: number): void {
  if (count > limit) throw new RangeError(`${path}: ${count} are too many, ${limit} at most`);
}
