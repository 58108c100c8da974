import { describe, expect, it } from 'vitest';
import { boundOf } from '../../server/kilns/packing/bound.ts';
import { pack } from '../../server/kilns/packing/packing.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';

/** Counts steps instead of time. */
const clock = () => 0;

const FLAT = {
  usableHeightMm: 10,
  shelfThicknessMm: 0,
  pieceGapMm: 0,
  clearanceMm: 0,
  topClearanceMm: 0,
  posts: [],
  maxLevels: 1,
  iterations: 300,
  seed: 1,
};

const boxes = (width: number, depth: number, sizes: [number, number][]): Problem => ({
  ...FLAT,
  shelf: { shape: 'rectangle', widthMm: width, depthMm: depth },
  pieces: sizes.map(([widthMm, depthMm], i) => ({
    id: String(i),
    footprint: { shape: 'rectangle', widthMm, depthMm },
    heightMm: 10,
    value: widthMm * depthMm,
  })),
});

const circles = (shelf: Problem['shelf'], n: number, diameterMm: number): Problem => ({
  ...FLAT,
  shelf,
  pieces: Array.from({ length: n }, (_, i) => ({
    id: String(i),
    footprint: { shape: 'circle', diameterMm },
    heightMm: 10,
  })),
});

async function solved(problem: Problem) {
  const bound = await boundOf(problem, { clock });
  const plan = pack(problem, { clock, bound });
  expect(faultsOf(problem, plan)).toEqual([]);
  return { bound, plan };
}

describe('zero-waste strip C1_1, 20 × 20, 16 boxes', () => {
  // Hopper and Turton 2001, a European Journal of Operational Research test set, as kept in OR-Library form.
  const C1_1: [number, number][] = [
    [2, 12], [7, 12], [8, 6], [3, 6], [3, 5], [5, 5], [3, 12], [3, 7],
    [5, 7], [2, 6], [3, 2], [4, 2], [3, 4], [4, 4], [9, 2], [11, 2],
  ]; // biome-ignore format: as published

  it('has no waste, so its area is the square', () => {
    expect(C1_1.reduce((total, [w, d]) => total + w * d, 0)).toBe(400);
  });

  it('is not proven to need a second square, and does with one unit more', async () => {
    expect((await boundOf(boxes(20, 20, C1_1), { clock })).loads).toBe(1);
    expect((await boundOf(boxes(20, 20, [...C1_1, [1, 1]]), { clock })).loads).toBe(2);
  });

  it('fills most of one square, and never more than is proven', async () => {
    const { bound, plan } = await solved({ ...boxes(20, 20, C1_1), maxLoads: 1 });
    expect(bound.value).toBe(400);
    expect(plan.loads[0]?.use.area).toBeGreaterThan(0.85);
  });
});

describe('the squared square of side 112', () => {
  // Duijvestijn 1978, J. Combin. Theory B 25; from memory.
  const sides = [2, 4, 6, 7, 8, 9, 11, 15, 16, 17, 18, 19, 24, 25, 27, 29, 33, 35, 37, 42, 50];

  it('fills its square exactly, and the bound allows it', async () => {
    expect(sides.reduce((total, side) => total + side * side, 0)).toBe(112 * 112);
    const problem = boxes(
      112,
      112,
      sides.map((side) => [side, side]),
    );
    expect((await boundOf(problem, { clock })).loads).toBe(1);
  });
});

describe('CLASS01_020_01, bins of 10 × 10', () => {
  // Berkey and Wang 1987, class 1, n = 20, first instance; best known without turning: 8 bins. Their area of
  // 648 asks for 7 at least; with quarter turns 7 are enough.
  const sizes: [number, number][] = [
    [5, 9], [4, 2], [10, 6], [5, 7], [6, 3], [10, 7], [1, 5], [3, 5], [6, 9], [2, 4],
    [6, 7], [7, 2], [8, 3], [4, 10], [4, 5], [10, 3], [8, 3], [7, 8], [8, 3], [8, 7],
  ]; // biome-ignore format: as published

  it('needs seven bins when boxes may turn: its area says no fewer, a plan shows no more', async () => {
    const { bound, plan } = await solved(boxes(10, 10, sizes));
    expect(sizes.reduce((total, [w, d]) => total + w * d, 0)).toBe(648);
    expect(bound.loads).toBe(7);
    expect(plan.loads).toHaveLength(7);
  });
});

describe('equal circles in a circle', () => {
  // Least R/r: proven for n ≤ 13 and 19 (Graham 1968, Pirl 1969, Melissen 1994, Fodor 1999, 2000, 2003), as tabulated
  // by Specht; the others are best known.
  const PROVEN = [
    [2, 2], [3, 2.154700538], [4, 2.414213562], [5, 2.701301617], [7, 3], [8, 3.304764871], [9, 3.61312593],
    [10, 3.813025631], [11, 3.9238044], [12, 4.029601930], [13, 4.236067977], [19, 4.863703305],
  ] as const; // biome-ignore format: as published

  it.each(PROVEN)('%i of them need a ratio of %f: one shelf at it, two below', async (n, ratio) => {
    const at = (factor: number) =>
      boundOf(circles({ shape: 'round', diameterMm: 100 * ratio * factor }, n, 100), { clock });
    expect((await at(1 + 1e-7)).loads).toBe(1);
    expect((await at(1 - 1e-5)).loads).toBe(2);
  });

  it.each(PROVEN)('%i of them stand on a shelf of 1.04 times %f', async (n, ratio) => {
    const { plan } = await solved(circles({ shape: 'round', diameterMm: 104 * ratio }, n, 100));
    expect(plan.loads).toHaveLength(1);
  });
});

describe('points that keep their distance in a convex shape', () => {
  // Oler 1961, Acta Math. 105: at most 2A/(√3·d²) + P/(2d) + 1, reached by triangles of the triangular lattice.
  it.each([1, 2, 3, 4])('a triangle with %i steps a side holds just its lattice', async (steps) => {
    const full = ((steps + 1) * (steps + 2)) / 2;
    const across = 2 * ((steps * 100) / (2 * Math.sqrt(3)) + 50);
    const shelf = { shape: 'polygon', sides: 3, acrossFlatsMm: across + 1e-6 } as const;
    expect((await boundOf(circles(shelf, full, 100), { clock })).loads).toBe(1);
    expect((await boundOf(circles(shelf, full + 1, 100), { clock })).loads).toBe(2);
  });
});
