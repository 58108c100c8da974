import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  boxOf,
  chamberOf,
  cornersOf,
  defaultPostPositions,
  type Furniture,
  furnitureFaults,
  insideBy,
  splitOf,
  standsOn,
} from '../../server/kilns/chamber.ts';
import { assertProblem } from '../../server/kilns/packing/assert.ts';
import type { Shelf } from '../../server/kilns/packing/problem.ts';
import { KILN_DEFAULTS } from '../../server/kilns/settings.ts';

const round: Shelf = { shape: 'round', diameterMm: 550 };
const ten: Shelf = { shape: 'polygon', sides: 10, acrossFlatsMm: 560 };
const flat: Shelf = { shape: 'rectangle', widthMm: 600, depthMm: 500 };

const kiln = (change: Partial<Furniture> = {}): Furniture => ({
  shelf: round,
  fullShelves: 5,
  halfShelves: 0,
  shelfThicknessMm: 16,
  usableHeightMm: 680,
  floorPostMm: 20,
  edgeGapMm: 6,
  splitGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  keepOuts: [],
  postPositions: [],
  posts: [{ heightMm: 100, count: 12 }],
  postsPerShelf: 3,
  stackedPosts: false,
  tallLevel: 'any',
  ...change,
});

const shelves: fc.Arbitrary<Shelf> = fc.oneof(
  fc.record({ shape: fc.constant('round' as const), diameterMm: fc.integer({ min: 100, max: 3000 }) }),
  fc.record({
    shape: fc.constant('polygon' as const),
    sides: fc.integer({ min: 4, max: 24 }),
    acrossFlatsMm: fc.integer({ min: 100, max: 3000 }),
  }),
  fc.record({
    shape: fc.constant('rectangle' as const),
    widthMm: fc.integer({ min: 100, max: 3000 }),
    depthMm: fc.integer({ min: 100, max: 3000 }),
  }),
);

describe('the outline of a shelf', () => {
  it('a polygon lies on a flat side, as far across its flats as was measured', () => {
    const corners = cornersOf({ sides: 8, acrossFlatsMm: 560 });
    const lowest = Math.min(...corners.map(([, y]) => y));
    expect(lowest).toBeCloseTo(-280, 9);
    expect(corners.filter(([, y]) => Math.abs(y - lowest) < 1e-9)).toHaveLength(2);
    // Area of a regular polygon by its apothem: n·a²·tan(π/n); the shoelace sum gives the same.
    const area =
      corners.reduce((sum, [x, y], i) => {
        const [nx, ny] = corners[(i + 1) % corners.length] ?? [0, 0];
        return sum + x * ny - nx * y;
      }, 0) / 2;
    expect(area).toBeCloseTo(8 * 280 ** 2 * Math.tan(Math.PI / 8), 3);
  });

  it('a point is inside by its distance from the nearest edge', () => {
    expect(insideBy(round, 0, 0)).toBe(275);
    expect(insideBy(round, 275, 0)).toBe(0);
    expect(insideBy(round, 300, 0)).toBe(-25);
    expect(insideBy(ten, 0, -280)).toBeCloseTo(0, 9);
    expect(insideBy(flat, 10, 250)).toBe(10);
    expect(insideBy(flat, 601, 250)).toBe(-1);
  });

  it('the middle of half shelves is x = 0, of a rectangle half its width', () => {
    expect([round, ten, flat].map(splitOf)).toEqual([0, 0, 300]);
  });

  it('no point of an outline lies outside its box', () => {
    fc.assert(
      fc.property(
        shelves,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (shelf, a, b) => {
          const { x0, y0, x1, y1 } = boxOf(shelf);
          const [x, y] = [x0 - 50 + a * (x1 - x0 + 100), y0 - 50 + b * (y1 - y0 + 100)];
          if (insideBy(shelf, x, y) >= 0)
            expect(x >= x0 - 1e-6 && x <= x1 + 1e-6 && y >= y0 - 1e-6 && y <= y1 + 1e-6).toBe(true);
        },
      ),
    );
  });
});

describe('where posts stand when nobody measured', () => {
  it('three a full shelf near its edge', () => {
    const spots = defaultPostPositions(round, false);
    expect(spots).toHaveLength(3);
    for (const { xMm, yMm } of spots) expect(Math.hypot(xMm, yMm)).toBeGreaterThan(220);
  });

  it('in two front corners of a rectangle and the middle of its back', () => {
    expect(defaultPostPositions(flat, false)).toEqual([
      { xMm: 25, yMm: 25, widthMm: 40, depthMm: 40 },
      { xMm: 575, yMm: 25, widthMm: 40, depthMm: 40 },
      { xMm: 300, yMm: 475, widthMm: 40, depthMm: 40 },
    ]);
  });

  it('whatever the shelf: on it, apart, as many as carry it, each half with its own on its own side', () => {
    fc.assert(
      fc.property(shelves, fc.boolean(), (shelf, halves) => {
        const spots = defaultPostPositions(shelf, halves);
        expect(spots).toHaveLength(halves ? 6 : 3);
        for (const spot of spots) expect(standsOn(shelf, spot)).toBe(true);
        const middle = splitOf(shelf);
        if (halves) {
          expect(spots.filter(({ xMm, widthMm }) => xMm + widthMm / 2 <= middle)).toHaveLength(3);
          expect(spots.filter(({ xMm, widthMm }) => xMm - widthMm / 2 >= middle)).toHaveLength(3);
        }
        const furniture = kiln({ shelf, postPositions: spots, halfShelves: halves ? 4 : 0 });
        expect(furnitureFaults(furniture).filter(({ path }) => path.startsWith('post'))).toEqual([]);
        // Three feet in one line carry nothing.
        const sides = halves ? [spots.slice(0, 3), spots.slice(3)] : [spots];
        for (const [a, b, c] of sides) {
          if (!a || !b || !c) throw new Error('three posts');
          const twice = (b.xMm - a.xMm) * (c.yMm - a.yMm) - (c.xMm - a.xMm) * (b.yMm - a.yMm);
          expect(Math.abs(twice)).toBeGreaterThan(100);
        }
      }),
      { numRuns: 300 },
    );
  });
});

describe('a kiln as the packer is asked', () => {
  it('is a problem that the packer takes, but for its pieces', () => {
    const keepOuts = [{ shape: 'circle' as const, xMm: 0, yMm: 200, diameterMm: 30, fromMm: 100, toMm: 200 }];
    const chamber = chamberOf(kiln({ halfShelves: 4, keepOuts, tallLevel: 'top' }), KILN_DEFAULTS, {
      kind: 'glaze',
    });
    expect(() => assertProblem({ ...chamber, pieces: [] })).not.toThrow();
    expect(chamber).toMatchObject({
      halves: true,
      shelves: { full: 5, half: 4 },
      keepOuts,
      tallLevel: 'top',
      pieceGapMm: 6,
    });
  });

  it('bisque may touch, glazed pieces keep the gap of those that were measured', () => {
    const gapFor = (kind: 'bisque' | 'glaze' | 'lustre') =>
      chamberOf(kiln(), { gapMeasuredMm: 7, gapBisqueMm: 1 }, { kind }).pieceGapMm;
    expect([gapFor('bisque'), gapFor('glaze'), gapFor('lustre')]).toEqual([1, 7, 7]);
  });

  it('has no halves where there are none', () => {
    expect(chamberOf(kiln(), KILN_DEFAULTS, { kind: 'bisque' }).halves).toBe(false);
  });
});

describe('figures that do not go together', () => {
  const paths = (change: Partial<Furniture>) => furnitureFaults(kiln(change)).map(({ path }) => path);

  it('an ordinary kiln has none', () => {
    for (const shelf of [round, ten, flat]) expect(paths({ shelf })).toEqual([]);
  });

  it.each([
    ['no shelf at all', { fullShelves: 0 }, ['fullShelves']],
    ['one half shelf alone', { fullShelves: 0, halfShelves: 1 }, ['fullShelves']],
    ['an edge that takes the whole shelf', { edgeGapMm: 275 }, ['edgeGapMm']],
    ['no height left', { usableHeightMm: 76 }, ['usableHeightMm']],
    [
      'a height twice',
      {
        posts: [
          { heightMm: 100, count: 3 },
          { heightMm: 100, count: 6 },
        ],
      },
      ['posts.1.heightMm'],
    ],
    ['posts as low as the air above ware', { posts: [{ heightMm: 12, count: 3 }] }, ['posts.0.heightMm']],
    [
      'a post over the edge',
      { postPositions: [{ xMm: 260, yMm: 0, widthMm: 40, depthMm: 40 }], postsPerShelf: 1 },
      ['postPositions.0.xMm'],
    ],
    [
      'two posts in one place',
      {
        postsPerShelf: 2,
        postPositions: [
          { xMm: 0, yMm: 0, widthMm: 40, depthMm: 40 },
          { xMm: 30, yMm: 30, widthMm: 40, depthMm: 40 },
        ],
      },
      ['postPositions.1.xMm'],
    ],
    [
      'fewer places than posts',
      { postPositions: defaultPostPositions(round, false), postsPerShelf: 4 },
      ['postsPerShelf'],
    ],
    [
      'half shelves on posts of the full ones',
      { postPositions: defaultPostPositions(round, false), halfShelves: 4 },
      ['postsPerShelf'],
    ],
    [
      'a place that ends below its beginning',
      { keepOuts: [{ shape: 'circle' as const, xMm: 0, yMm: 0, diameterMm: 9, fromMm: 50, toMm: 40 }] },
      ['keepOuts.0.toMm'],
    ],
  ])('%s', (_what, change, expected) => {
    expect(paths(change as Partial<Furniture>)).toEqual(expected);
  });
});
