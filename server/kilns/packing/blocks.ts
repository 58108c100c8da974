import type { Random } from './random.ts';

/** Rectangles joined along equal sides, or a single one: as wide and deep as they are together, gaps included. */
export interface Block {
  w: number;
  d: number;
  /** Number of the rectangle, −1 for a joined block. */
  at: number;
  /** Side by side in x, each perhaps turned. */
  a: Block | null;
  b: Block | null;
  aTurned: boolean;
  bTurned: boolean;
}

const PER_MM = 1e6;
/** How often a side that just two blocks share is preferred: those two most likely belong together. */
const SURE = 0.85;
/** How many pairs are looked at for one whose joined length is another's side. */
const LOOKS = 20;

/**
 * Joins rectangles that share the length of a side, at random, until so few joins are left to make or no two match;
 * nothing grows larger than the shelf.
 */
export function joined(
  pool: readonly number[],
  w: Float64Array,
  d: Float64Array,
  shelf: { width: number; depth: number },
  most: number,
  random: Random,
): Block[] {
  const blocks = pool.map(
    (at): Block => ({
      w: w[at] as number,
      d: d[at] as number,
      at,
      a: null,
      b: null,
      aTurned: false,
      bTurned: false,
    }),
  );
  const widest = key(shelf.width);
  const deepest = key(shelf.depth);
  const bySide = new Map<number, Block[]>();
  for (const block of blocks) enter(bySide, block);
  const alive = new Set(blocks);
  for (let joins = 0; joins < most; joins++) {
    const pairs: number[] = [];
    const sides: number[] = [];
    for (const [side, list] of bySide) {
      if (list.length < 2) continue;
      sides.push(side);
      if (list.length === 2) pairs.push(side);
    }
    if (sides.length === 0) break;
    const from = pairs.length > 0 && random() < SURE ? pairs : sides;
    let side = 0;
    let a = blocks[0] as Block;
    let b = a;
    let whole = a;
    for (let look = 0; look < LOOKS; look++) {
      side = from[Math.floor(random() * from.length)] as number;
      const list = bySide.get(side) as Block[];
      const i = Math.floor(random() * list.length);
      a = list[i] as Block;
      b = list[(i + 1 + Math.floor(random() * (list.length - 1))) % list.length] as Block;
      whole = together(a, b, side);
      // A sum that is a side of something else again hardly comes by chance.
      const long = key(whole.w);
      if (bySide.has(long) || long === widest || long === deepest) break;
    }
    const fits =
      (whole.w <= shelf.width + 1e-9 && whole.d <= shelf.depth + 1e-9) ||
      (whole.d <= shelf.width + 1e-9 && whole.w <= shelf.depth + 1e-9);
    if (!fits) {
      // Not this pair by this side: one of them no longer offers it.
      drop(bySide, side, a);
      continue;
    }
    for (const gone of [a, b]) {
      alive.delete(gone);
      drop(bySide, key(gone.w), gone);
      drop(bySide, key(gone.d), gone);
    }
    alive.add(whole);
    enter(bySide, whole);
  }
  return [...alive];
}

/** Calls `put` for every rectangle of a block whose lower left corner is here, with its centre. */
export function spread(
  block: Block,
  x0: number,
  y0: number,
  turned: boolean,
  put: (at: number, x: number, y: number, turned: boolean) => void,
): void {
  const { a, b } = block;
  if (!a || !b) {
    const w = turned ? block.d : block.w;
    const d = turned ? block.w : block.d;
    put(block.at, x0 + w / 2, y0 + d / 2, turned);
    return;
  }
  const first = block.aTurned ? a.d : a.w;
  spread(a, x0, y0, block.aTurned !== turned, put);
  spread(b, turned ? x0 : x0 + first, turned ? y0 + first : y0, block.bTurned !== turned, put);
}

function together(a: Block, b: Block, side: number): Block {
  const aTurned = key(a.d) !== side;
  const bTurned = key(b.d) !== side;
  return {
    w: (aTurned ? a.d : a.w) + (bTurned ? b.d : b.w),
    d: Math.max(aTurned ? a.w : a.d, bTurned ? b.w : b.d),
    at: -1,
    a,
    b,
    aTurned,
    bTurned,
  };
}

const key = (mm: number) => Math.round(mm * PER_MM);

function enter(bySide: Map<number, Block[]>, block: Block): void {
  for (const side of new Set([key(block.w), key(block.d)])) {
    const list = bySide.get(side);
    if (list) list.push(block);
    else bySide.set(side, [block]);
  }
}

function drop(bySide: Map<number, Block[]>, side: number, block: Block): void {
  const list = bySide.get(side);
  if (!list) return;
  const at = list.indexOf(block);
  if (at >= 0) list.splice(at, 1);
  if (list.length === 0) bySide.delete(side);
}
