import type { Obstacle } from './chamber.ts';

/** Contact is no overlap: what floating point makes of it is forgiven, far below what a plan is checked to. */
export const TOUCH = 1e-9;

/** Puts units on one shelf one after another; where the last one went stands in x, y and turned. */
export interface Placer {
  x: number;
  y: number;
  turned: boolean;
  /**
   * Empties the shelf. Obstacles with a height range count for what meets it when the shelf's base above the
   * chamber floor is given, for everything when it is null.
   */
  clear(obstacles: readonly Obstacle[], baseMm: number | null, rule: Rule): void;
  /** Whether a unit of these half extents and height found a place; it then stands there. */
  place(hw: number, hd: number, r: number, heightMm: number): boolean;
  /** Whether anything of these half extents would find a place among what stands at any height. */
  has(hw: number, hd: number, r: number): boolean;
  /** Puts a unit where it is said to stand, unasked. */
  put(x: number, y: number, hw: number, hd: number, r: number): void;
}

/**
 * Which of the possible places is taken: the one with the least ax·x + ay·y + q·(x² + y²), and for rectangles
 * among rectangles one of the `fit`s.
 */
export interface Rule {
  ax: number;
  ay: number;
  q: number;
  fit: number;
  /** The angle at which a first circle goes against a round outline. */
  angle: number;
}
