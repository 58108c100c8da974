// What the packer is asked and what it answers: plain data, the same on the command line and in the product.
// All lengths in mm, masses in kg, angles none: pieces turn by 90° only. The origin is the centre of a round or
// polygonal shelf (a polygon has a flat side parallel to the x axis) and the lower left corner of a rectangular
// one; x runs to the right, y away from the lower edge; positions are centres of footprints.

/** A packer's time where a problem names none, ms. */
export const LIMIT_MS = 2000;

/** The outline that ware stands on, the same on every level. */
export type Shelf =
  | { shape: 'round'; diameterMm: number }
  | { shape: 'polygon'; sides: number; acrossFlatsMm: number }
  | { shape: 'rectangle'; widthMm: number; depthMm: number };

export type Footprint =
  | { shape: 'circle'; diameterMm: number }
  | { shape: 'rectangle'; widthMm: number; depthMm: number };

/** Props of one height and how many there are. */
export interface PostStock {
  heightMm: number;
  count: number;
}

/** Where a post stands, on every level that carries a next one. */
export interface PostPosition {
  xMm: number;
  yMm: number;
  widthMm: number;
  depthMm: number;
}

/** A place where nothing may stand, between two heights above the chamber floor (all heights without them). */
export type KeepOut = (
  | { shape: 'circle'; xMm: number; yMm: number; diameterMm: number }
  | { shape: 'rectangle'; xMm: number; yMm: number; widthMm: number; depthMm: number }
) & { fromMm?: number; toMm?: number };

export type StackKind = 'nest' | 'rim-to-rim' | 'pile' | 'on-edge' | 'none';

/** How bisque may stand on its like: only pieces with the same `like` and of like size share a stack. */
export interface Stack {
  kind: StackKind;
  /**
   * In a nest how far a piece stands above the one it stands in, on a pile how far the next one stands above it; without
   * it a default of the kind.
   */
  stepMm?: number;
  /** Most pieces in one stack; without it a default of the kind. */
  most?: number;
  /** Pieces with different words here never share a stack, such as different clays. */
  like?: string;
}

export interface Piece {
  id: string;
  footprint: Footprint;
  heightMm: number;
  kg?: number;
  /** What it is worth to have it in a load; 1 without it. */
  value?: number;
  /** Different groups never share a load. */
  group?: string;
  /** Millimetres of tray all round. */
  tray?: number;
  stack?: StackKind | Stack;
  /** Pinned to this level of its side, counted from 1 at the floor. */
  level?: number;
}

export interface Problem {
  shelf: Shelf;
  /** Ware keeps this far from the outline. */
  edgeGapMm?: number;
  usableHeightMm: number;
  floorPostMm?: number;
  shelfThicknessMm: number;
  pieceGapMm: number;
  /** Between the tallest piece of a level and the shelf above it. */
  clearanceMm: number;
  /** Between the tallest piece of a topmost level and the usable height. */
  topClearanceMm: number;
  posts: PostStock[];
  /** How many posts carry one shelf; 3 without it. */
  postsPerShelf?: number;
  /** Without them posts take no room: where they stand is not known. */
  postPositions?: PostPosition[];
  /** Two posts may stand on one another. */
  stackedPosts?: boolean;
  /** Half shelves may be used, left and right at different heights. */
  halves?: boolean;
  /** Ware keeps clear of the split by half of this on each side. */
  splitGapMm?: number;
  maxLevels?: number;
  /** How many shelves there are; as many as wanted without it. */
  shelves?: { full: number; half: number };
  keepOuts?: KeepOut[];
  /** Where the level with the tallest ware goes; any without it. */
  tallLevel?: 'top' | 'bottom' | 'any';
  pieces: Piece[];
  /** At most so many loads; as many as it takes without it. */
  maxLoads?: number;
  /** Stop after this long; `LIMIT_MS` without it. */
  timeLimitMs?: number;
  /** Stop after so many steps of the search instead: the same plan every time for the same seed. */
  iterations?: number;
  seed?: number;
}

export interface Placement {
  id: string;
  xMm: number;
  yMm: number;
  /** Turned by 90°. */
  turned: boolean;
  /** Above the base of its level; more than 0 only in a stack. */
  zMm: number;
}

export interface Level {
  part: 'full' | 'left' | 'right';
  /** The top of this level's shelf above the chamber floor. */
  baseMm: number;
  /** What carries the next shelf, two when stacked; null on the topmost level of a side. */
  posts: number[] | null;
  pieces: Placement[];
}

export interface Load {
  levels: Level[];
  /** Shares from 0 to 1: of the area of the shelves in use, of the space of the chamber. */
  use: { area: number; volume: number };
}

export interface Plan {
  loads: Load[];
  unplaced: { id: string; reason: string }[];
  /** Proven: no plan uses fewer loads for all that fits at all, none is worth more. */
  bound: { loads: number; value: number };
  /** How far the plan may be from the best: share of the bound, 0 when proven best. */
  gap: number;
  elapsedMs: number;
  seed: number;
}
