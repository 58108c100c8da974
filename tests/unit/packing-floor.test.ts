import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chamberOf, type Obstacle, type Part } from '../../server/kilns/packing/chamber.ts';
import { Floor } from '../../server/kilns/packing/floor.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';

const SAMPLES = 50;

const shape = fc
  .record({
    round: fc.boolean(),
    a: fc.integer({ min: 8, max: 90 }),
    b: fc.integer({ min: 8, max: 60 }),
    heightMm: fc.integer({ min: 20, max: 120 }),
  })
  .map(({ round, a, b, heightMm }) => ({
    hw: round ? 0 : a,
    hd: round ? 0 : b,
    r: round ? a : 0,
    heightMm,
  }));

const obstacle = fc
  .record({
    x: fc.integer({ min: -150, max: 300 }),
    y: fc.integer({ min: -150, max: 260 }),
    half: fc.integer({ min: 5, max: 30 }),
    round: fc.boolean(),
    gap: fc.constantFrom(0, 6),
    zone: fc.constantFrom<[number, number]>(
      [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY],
      [0, 60],
      [200, 300],
    ),
  })
  .map(
    ({ x, y, half, round, gap, zone: [from, to] }): Obstacle => ({
      x,
      y,
      hw: round ? 0 : half,
      hd: round ? 0 : half / 2,
      r: round ? half : 0,
      gap,
      from,
      to,
    }),
  );

const floor = fc.record({
  shelf: fc.constantFrom<Problem['shelf'][]>(
    { shape: 'round', diameterMm: 320 },
    { shape: 'polygon', sides: 8, acrossFlatsMm: 320 },
    { shape: 'polygon', sides: 5, acrossFlatsMm: 300 },
    { shape: 'rectangle', widthMm: 320, depthMm: 260 },
    { shape: 'rectangle', widthMm: 700, depthMm: 90 },
  ),
  part: fc.constantFrom<Part[]>('full', 'left', 'right'),
  gap: fc.constantFrom(0, 6),
  baseMm: fc.constantFrom(null, 50, 120),
  angle: fc.double({ min: 0, max: 6.28, noNaN: true }),
  obstacles: fc.array(obstacle, { maxLength: 3 }),
  shapes: fc.array(shape, { minLength: 1, maxLength: 25 }),
});

type Given = typeof floor extends fc.Arbitrary<infer T> ? T : never;

function made({ shelf, part, gap, baseMm, angle, obstacles }: Given) {
  const problem: Problem = {
    shelf,
    usableHeightMm: 500,
    shelfThicknessMm: 10,
    pieceGapMm: gap,
    clearanceMm: 0,
    topClearanceMm: 0,
    posts: [],
    halves: true,
    pieces: [],
  };
  const region = chamberOf(problem).regions[part];
  const one = new Floor(region, gap);
  one.clear(obstacles, baseMm, { ax: Math.cos(angle), ay: Math.sin(angle), q: 0, fit: 0, angle });
  return { one, box: region.box };
}

describe('a place on a shelf', () => {
  it('is found wherever one of many samples is free', () => {
    fc.assert(
      fc.property(floor, (given) => {
        const { one, box } = made(given);
        for (const { hw, hd, r, heightMm } of given.shapes) {
          if (one.place(hw, hd, r, heightMm)) continue;
          for (const [w, d] of [
            [hw, hd],
            [hd, hw],
          ] as const)
            for (let i = 0; i <= SAMPLES; i++)
              for (let j = 0; j <= SAMPLES; j++) {
                const x = box.x0 + (i / SAMPLES) * (box.x1 - box.x0);
                const y = box.y0 + (j / SAMPLES) * (box.y1 - box.y0);
                // A hair larger: what floating point makes of an exact fit is no place.
                const free = one.isFree(x, y, w && w + 1e-6, d && d + 1e-6, r && r + 1e-6, heightMm);
                if (free) expect({ x, y, w, d, r }).toBe('taken');
              }
        }
      }),
      { numRuns: 120 },
    );
  });

  it('is found in a hole that is just as large, wherever the hole is', () => {
    const along = fc.double({ min: 60, max: 240, noNaN: true });
    fc.assert(
      fc.property(along, along, fc.integer({ min: 8, max: 50 }), fc.boolean(), (x, y, half, round) => {
        const wall = (dx: number, dy: number): Obstacle => ({
          x: x + dx * (half + 500),
          y: y + dy * (half + 500),
          hw: 500,
          hd: 500,
          r: 0,
          gap: 0,
          from: Number.NEGATIVE_INFINITY,
          to: Number.POSITIVE_INFINITY,
        });
        const given = { part: 'full', gap: 0, baseMm: null, angle: 1 } as const;
        const { one } = made({
          ...given,
          shapes: [],
          shelf: { shape: 'rectangle', widthMm: 300, depthMm: 300 },
          obstacles: [wall(1, 0), wall(-1, 0), wall(0, 1), wall(0, -1)],
        });
        const side = round ? 0 : half;
        expect(one.place(side, side, round ? half : 0, 10)).toBe(true);
        expect(Math.hypot(one.x - x, one.y - y)).toBeLessThan(1e-6);
      }),
      { numRuns: 100 },
    );
  });

  it('is free, and taken from then on', () => {
    fc.assert(
      fc.property(floor, (given) => {
        const { one } = made(given);
        for (const { hw, hd, r, heightMm } of given.shapes) {
          if (!one.place(hw, hd, r, heightMm)) continue;
          const [w, d] = one.turned ? [hd, hw] : [hw, hd];
          expect(one.isFree(one.x, one.y, w, d, r, heightMm)).toBe(false);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('is as free after a list of places as before it', () => {
    fc.assert(
      fc.property(floor, (given) => {
        const [{ one }, { one: plain }] = [made(given), made(given)];
        for (const { hw, hd, r, heightMm } of given.shapes) {
          one.places(hw, hd, r, heightMm, 9);
          const there = one.place(hw, hd, r, heightMm);
          expect(plain.place(hw, hd, r, heightMm)).toBe(there);
          if (there) expect([one.x, one.y, one.turned]).toEqual([plain.x, plain.y, plain.turned]);
        }
      }),
      { numRuns: 120 },
    );
  });
});
