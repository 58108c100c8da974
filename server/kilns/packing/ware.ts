import type { Footprint, Piece, Stack, StackKind } from './problem.ts';

/** Half extents of a box and the radius of its round: a circle is {0, 0, r}, a rectangle {w/2, d/2, 0}. */
export interface Shape {
  hw: number;
  hd: number;
  r: number;
}

/** A piece as the search sees it: its footprint with its tray, everything optional filled in. */
export interface Ware extends Shape {
  index: number;
  id: string;
  heightMm: number;
  kg: number;
  value: number;
  group: string | undefined;
  /** The level it is pinned to, 0 for none. */
  pin: number;
  /** Pieces with the same word here may share a stack; '' never stacks. */
  stackClass: string;
  stackKind: StackKind;
  stepMm: number;
  most: number;
  /** mm², with the tray. */
  area: number;
  /** mm², of the piece alone. */
  bareArea: number;
}

/** What takes one place on a shelf: a piece, or a stack of pieces from the bottom up. */
export interface Unit extends Shape {
  wares: Ware[];
  /** Height of each piece's foot above the shelf. */
  zMm: number[];
  heightMm: number;
  value: number;
  kg: number;
  area: number;
  pin: number;
}

/** Most pieces in one stack where nobody says; on edge each stands for itself. Common practice, no source. */
export const MOST: Record<StackKind, number> = { nest: 3, 'rim-to-rim': 2, pile: 4, 'on-edge': 1, none: 1 };
/** Share of its height by which a nested bowl stands out of the one below. Common practice, no source. */
export const NEST_STEP = 0.4;
/** Pieces of one stack differ by no more than a tenth. Common practice, no source. */
export const LIKE_SIZE = 1.1;

/**
 * The pieces of a problem as the search sees them, in the order given. On edge a piece becomes a rectangle of its
 * diameter by its height that is as tall as its diameter.
 */
export function waresOf(pieces: readonly Piece[]): Ware[] {
  return pieces.map(wareOf);
}

function wareOf(piece: Piece, index: number): Ware {
  const tray = piece.tray ?? 0;
  const asked = typeof piece.stack === 'string' ? { kind: piece.stack } : piece.stack;
  const stack: Stack = asked && tray === 0 ? asked : { kind: 'none' };
  let { footprint, heightMm } = piece;
  if (stack.kind === 'on-edge') {
    const [large, small] = extents(footprint);
    footprint = { shape: 'rectangle', widthMm: large, depthMm: heightMm };
    heightMm = small;
  }
  const shape = shapeOf(footprint, tray);
  const stacks = stack.kind !== 'on-edge' && stack.kind !== 'none';
  return {
    ...shape,
    index,
    id: piece.id,
    heightMm,
    kg: piece.kg ?? 0,
    value: piece.value ?? 1,
    group: piece.group,
    pin: piece.level ?? 0,
    stackClass: stacks
      ? JSON.stringify([stack.kind, stack.like, piece.group, footprint.shape, piece.level ?? 0])
      : '',
    stackKind: stack.kind,
    stepMm: stack.stepMm ?? (stack.kind === 'nest' ? heightMm * NEST_STEP : heightMm),
    most: Math.min(
      stack.most ?? MOST[stack.kind],
      stack.kind === 'rim-to-rim' ? 2 : Number.POSITIVE_INFINITY,
    ),
    area: areaOf(shape),
    bareArea: areaOf(shapeOf(footprint)),
  };
}

/** The half extents of a footprint grown by a tray of so many mm all round. */
export function shapeOf(footprint: Footprint, tray = 0): Shape {
  return footprint.shape === 'circle'
    ? { hw: 0, hd: 0, r: footprint.diameterMm / 2 + tray }
    : { hw: footprint.widthMm / 2 + tray, hd: footprint.depthMm / 2 + tray, r: 0 };
}

/** mm² of a circle or a rectangle given by its half extents. */
export function areaOf({ hw, hd, r }: Shape): number {
  return r > 0 ? Math.PI * r * r : 4 * hw * hd;
}

/** A piece that stands alone. */
export function unitOf(ware: Ware): Unit {
  const { hw, hd, r, heightMm, value, kg, area, pin } = ware;
  return { hw, hd, r, wares: [ware], zMm: [0], heightMm, value, kg, area, pin };
}

/**
 * Pieces gathered into stacks no taller than `mostMm`, largest at the bottom, as many in one as the rules allow;
 * pieces that are taller than that alone are left out. Pieces of one stack are of one kind, clay, group and pin and
 * differ by at most a tenth in every extent.
 */
export function unitsOf(wares: readonly Ware[], mostMm: number): Unit[] {
  const units: Unit[] = [];
  const classes = new Map<string, Ware[]>();
  for (const ware of wares) {
    if (ware.heightMm > mostMm) continue;
    if (ware.stackClass === '') {
      units.push(unitOf(ware));
      continue;
    }
    const same = classes.get(ware.stackClass);
    if (same) same.push(ware);
    else classes.set(ware.stackClass, [ware]);
  }
  for (const same of classes.values()) {
    same.sort(
      (a, b) => b.r - a.r || b.hw - a.hw || b.hd - a.hd || b.heightMm - a.heightMm || a.index - b.index,
    );
    const open: Unit[] = [];
    for (const ware of same) {
      const home = open.find((unit) => canStack(unit, ware, mostMm));
      if (home) putOn(home, ware);
      else open.push(unitOf(ware));
    }
    units.push(...open);
  }
  return units;
}

/** Whether `ware` may stand on top of `unit` without it growing above `mostMm`. */
export function canStack(unit: Unit, ware: Ware, mostMm: number): boolean {
  const top = unit.wares[unit.wares.length - 1];
  const bottom = unit.wares[0];
  if (!top || !bottom || ware.stackClass === '' || ware.stackClass !== bottom.stackClass) return false;
  if (unit.wares.length >= Math.min(ware.most, ...unit.wares.map((w) => w.most))) return false;
  if (ware.hw > top.hw || ware.hd > top.hd || ware.r > top.r) return false;
  if (bottom.hw > LIKE_SIZE * ware.hw || bottom.hd > LIKE_SIZE * ware.hd || bottom.r > LIKE_SIZE * ware.r)
    return false;
  if (ware.stackKind === 'rim-to-rim') {
    const heights = [...unit.wares.map((w) => w.heightMm), ware.heightMm];
    if (Math.max(...heights) > LIKE_SIZE * Math.min(...heights)) return false;
  }
  return zOn(unit, ware) + ware.heightMm <= mostMm;
}

/** Puts a piece on top of a stack, asked or not. */
export function putOn(unit: Unit, ware: Ware): void {
  const z = zOn(unit, ware);
  unit.wares.push(ware);
  unit.zMm.push(z);
  unit.heightMm = Math.max(unit.heightMm, z + ware.heightMm);
  unit.value += ware.value;
  unit.kg += ware.kg;
}

/** mm above the shelf at which the next piece of a stack stands: on a pile by the one below it, in a nest by itself. */
function zOn(unit: Unit, ware: Ware): number {
  if (ware.stackKind === 'rim-to-rim') return unit.heightMm;
  const last = unit.wares.length - 1;
  const steps = ware.stackKind === 'pile' ? unit.wares[last] : ware;
  return (unit.zMm[last] ?? 0) + (steps?.stepMm ?? 0);
}

function extents(footprint: Footprint): [number, number] {
  return footprint.shape === 'circle'
    ? [footprint.diameterMm, footprint.diameterMm]
    : [Math.max(footprint.widthMm, footprint.depthMm), Math.min(footprint.widthMm, footprint.depthMm)];
}
