import type { Form } from './presets.ts';
import type { CoatFace } from './route.ts';
import { extentOf, type Size } from './size.ts';

// How much of a piece takes glaze, from the little that is known of its shape. Estimates: a tenth off is nothing unusual.

/** How wide the foot is of its widest, where walls lean. Common practice, no source. */
const FOOT: Partial<Record<string, number>> = { bowl: 0.5, plate: 0.6 } satisfies Partial<
  Record<Form, number>
>;
/** Share of the outside that an overlap covers: common practice, no source. */
const OVERLAP = 0.5;
/** A wall is no thicker than this share of half the width. */
const THICKEST = 0.8;

/** What is known of a shape; `form` as in the list of forms, or as its owner calls it. */
export interface Shape {
  form: string;
  /** As bisque. */
  size: Size;
  thickestMm: number;
}

/**
 * Glazed area in cm², an estimate. Straight walls and a floor, round or square; walls of bowls and plates lean, and a
 * cup is round, whatever its handle adds to its ground. The inside is smaller by the wall. The outside ends so far
 * above the foot as glaze is held back, and has no floor; an overlap is half of it. A tile has its face for an inside
 * and its edges for an outside. Lengths in mm; above 0 for every size above 0.
 */
export function glazedAreaCm2(shape: Shape, face: CoatFace, heldBackMm: number): number {
  const inside = () => insideMm2(shape);
  const outside = () => outsideMm2(shape, heldBackMm);
  const mm2 = {
    inside,
    outside,
    over: () => OVERLAP * outside(),
    all: () => inside() + outside(),
  }[face]();
  return mm2 / 100;
}

function insideMm2({ form, size, thickestMm }: Shape): number {
  const { widthMm, depthMm, isRound } = groundOf(form, size);
  if (form === 'tile') return floor(widthMm, depthMm, isRound);
  const wall = Math.min(thickestMm, (THICKEST * Math.min(widthMm, depthMm)) / 2, THICKEST * size.heightMm);
  const wide = widthMm - 2 * wall;
  const deep = depthMm - 2 * wall;
  const foot = FOOT[form] ?? 1;
  return floor(foot * wide, foot * deep, isRound) + walls(wide, deep, isRound, size.heightMm - wall, foot);
}

function outsideMm2({ form, size }: Shape, heldBackMm: number): number {
  const { widthMm, depthMm, isRound } = groundOf(form, size);
  const { heightMm } = size;
  const covered = Math.max(0.1, 1 - heldBackMm / heightMm);
  return covered * walls(widthMm, depthMm, isRound, heightMm, FOOT[form] ?? 1);
}

function groundOf(form: string, { footprint }: Size): { widthMm: number; depthMm: number; isRound: boolean } {
  const { widthMm, depthMm } = extentOf(footprint);
  if (form !== 'cup') return { widthMm, depthMm, isRound: footprint.shape === 'circle' };
  const across = Math.min(widthMm, depthMm);
  return { widthMm: across, depthMm: across, isRound: true };
}

const floor = (wide: number, deep: number, isRound: boolean): number =>
  (isRound ? Math.PI / 4 : 1) * wide * deep;

/** Walls that lean in from the rim to `foot` of its width: mean girth × slant height. */
function walls(wide: number, deep: number, isRound: boolean, high: number, foot: number): number {
  const girth = isRound ? Math.PI * wide : 2 * (wide + deep);
  const lean = ((1 - foot) * Math.min(wide, deep)) / 2;
  return (girth * (1 + foot) * Math.hypot(lean, high)) / 2;
}
