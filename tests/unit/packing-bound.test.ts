import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boundOf } from '../../server/kilns/packing/bound.ts';
import { areaWeight, floorOf, itemsOf, outlinesOf } from '../../server/kilns/packing/bound-floor.ts';
import { type Columns, mostInColumns } from '../../server/kilns/packing/bound-levels.ts';
import { sideWeight, weightAt } from '../../server/kilns/packing/bound-sides.ts';
import { type Row, type Solver, solver } from '../../server/kilns/packing/bound-solver.ts';
import { pack } from '../../server/kilns/packing/packing.ts';
import type { Piece, Problem } from '../../server/kilns/packing/problem.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';
import { KILNS, chamber as kilnOf, queueOf } from '../bench/pack/instances.ts';

/** Counts steps instead of time: the same every run. */
const clock = () => 0;

const flat = (side: number, boxes: [number, number][], more: Partial<Problem> = {}): Problem => ({
  shelf: { shape: 'rectangle', widthMm: side, depthMm: side },
  usableHeightMm: 10,
  shelfThicknessMm: 0,
  pieceGapMm: 0,
  clearanceMm: 0,
  topClearanceMm: 0,
  posts: [],
  maxLevels: 1,
  iterations: 20,
  seed: 1,
  pieces: boxes.map(([widthMm, depthMm], i) => ({
    id: String(i),
    footprint: { shape: 'rectangle', widthMm, depthMm },
    heightMm: 10,
  })),
  ...more,
});

/** Fewest bins for a few boxes of whole sizes, by trying everything on a grid. */
function fewestBins(side: number, boxes: [number, number][]): number {
  let best = boxes.length;
  const bins: boolean[][] = [];
  const place = (k: number) => {
    if (bins.length >= best) return;
    const box = boxes[k];
    if (!box) {
      best = bins.length;
      return;
    }
    const opened = bins.length;
    for (let b = 0; b <= opened; b++) {
      if (b === opened) bins.push(new Array(side * side).fill(false));
      const grid = bins[b] as boolean[];
      for (const [w, d] of [box, [box[1], box[0]] as [number, number]])
        for (let x = 0; x + w <= side; x++)
          for (let y = 0; y + d <= side; y++) {
            const cells: number[] = [];
            for (let i = x; i < x + w; i++) for (let j = y; j < y + d; j++) cells.push(i * side + j);
            if (cells.some((cell) => grid[cell])) continue;
            for (const cell of cells) grid[cell] = true;
            place(k + 1);
            for (const cell of cells) grid[cell] = false;
          }
      if (b === opened) bins.pop();
    }
  };
  place(0);
  return best;
}

describe('on a single level', () => {
  it('is never above what trying everything finds', async () => {
    const size = fc.integer({ min: 1, max: 4 });
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(size, size), { minLength: 1, maxLength: 5 }), async (boxes) => {
        const { loads } = await boundOf(flat(4, boxes), { clock });
        expect(loads).toBeLessThanOrEqual(fewestBins(4, boxes));
        expect(loads).toBeGreaterThanOrEqual(Math.ceil(boxes.reduce((a, [w, d]) => a + w * d, 0) / 16));
      }),
      { numRuns: 150 },
    );
  });

  it('sees that two boxes above half both ways never share a shelf', async () => {
    expect(
      (
        await boundOf(
          flat(10, [
            [6, 6],
            [6, 6],
            [6, 6],
          ]),
          { clock },
        )
      ).loads,
    ).toBe(3);
  });

  it('sees by mirrored packings what turning cannot save', async () => {
    // One way round 6 × 5 counts for nothing more than its area; its mean over both ways says two fill a shelf.
    const boxes = Array.from({ length: 6 }, (): [number, number] => [6, 5]);
    expect((await boundOf(flat(10, boxes), { clock })).loads).toBe(3);
  });

  it('grows pieces and shelf by the gap', async () => {
    const four = Array.from({ length: 4 }, (): [number, number] => [47, 47]);
    expect((await boundOf(flat(100, four, { pieceGapMm: 6 }), { clock })).loads).toBe(1);
    expect((await boundOf(flat(100, four, { pieceGapMm: 6.1 }), { clock })).loads).toBe(4);
  });

  it('counts circles in a circle as proven', async () => {
    const rounds = (count: number, diameterMm: number): Problem => ({
      ...flat(100, []),
      shelf: { shape: 'round', diameterMm: 1000 },
      pieces: Array.from({ length: count }, (_, i) => ({
        id: String(i),
        footprint: { shape: 'circle', diameterMm },
        heightMm: 10,
      })),
    });
    // Seven of a third of the diameter fit, an eighth does not until 1 / 3.3047.
    expect((await boundOf(rounds(7, 333), { clock })).loads).toBe(1);
    expect((await boundOf(rounds(8, 333), { clock })).loads).toBe(2);
    expect((await boundOf(rounds(8, 302), { clock })).loads).toBe(1);
  });

  it('leaves out what never fits', async () => {
    const bound = await boundOf(
      flat(
        10,
        [
          [11, 2],
          [2, 2],
        ],
        { maxLoads: 3 },
      ),
      { clock },
    );
    expect(bound).toEqual({ loads: 1, value: 1 });
  });

  it('is nothing for nothing', async () => {
    expect(await boundOf(flat(10, []), { clock })).toEqual({ loads: 0, value: 0 });
    expect(await boundOf(flat(10, [], { maxLoads: 2 }), { clock })).toEqual({ loads: 0, value: 0 });
  });
});

const pieceOf = fc.record(
  {
    round: fc.boolean(),
    width: fc.integer({ min: 20, max: 220 }),
    depth: fc.integer({ min: 20, max: 160 }),
    heightMm: fc.integer({ min: 20, max: 200 }),
    value: fc.integer({ min: 1, max: 9 }),
    tray: fc.constantFrom(0, 0, 5),
    stack: fc.constantFrom('none', 'none', 'nest', 'pile', 'rim-to-rim', 'on-edge'),
    group: fc.constantFrom(undefined, undefined, undefined, 'a'),
  },
  { requiredKeys: ['round', 'width', 'depth', 'heightMm', 'value'] },
);

const chamber = fc.record({
  shelf: fc.constantFrom<Problem['shelf'][]>(
    { shape: 'round', diameterMm: 300 },
    { shape: 'polygon', sides: 8, acrossFlatsMm: 320 },
    { shape: 'rectangle', widthMm: 300, depthMm: 260 },
  ),
  usableHeightMm: fc.integer({ min: 120, max: 500 }),
  floorPostMm: fc.constantFrom(0, 20),
  shelfThicknessMm: fc.constantFrom(10, 15),
  pieceGapMm: fc.constantFrom(0, 6),
  clearanceMm: fc.constantFrom(0, 12),
  topClearanceMm: fc.constantFrom(0, 40),
  edgeGapMm: fc.constantFrom(0, 5),
  stackedPosts: fc.boolean(),
  halves: fc.boolean(),
  maxLoads: fc.constantFrom(undefined, 1, 2),
  posts: fc.constantFrom<Problem['posts'][]>(
    [],
    [{ heightMm: 60, count: 6 }],
    Array.from({ length: 20 }, (_, i) => ({ heightMm: 30 + 10 * i, count: 999 })),
    [
      { heightMm: 50, count: 9 },
      { heightMm: 90, count: 6 },
      { heightMm: 140, count: 3 },
    ],
  ),
  postPositions: fc.constantFrom<Problem['postPositions'][]>(undefined, [
    { xMm: 130, yMm: 20, widthMm: 30, depthMm: 30 },
    { xMm: -60, yMm: 40, widthMm: 30, depthMm: 30 },
  ]),
  keepOuts: fc.constantFrom<Problem['keepOuts'][]>(undefined, [
    { shape: 'circle', xMm: 60, yMm: 60, diameterMm: 60, fromMm: 40, toMm: 200 },
  ]),
  pieces: fc.array(pieceOf, { minLength: 1, maxLength: 16 }),
});

describe('in a chamber', () => {
  it('no plan that can be built beats it', async () => {
    await fc.assert(
      fc.asyncProperty(chamber, async ({ pieces, ...kiln }) => {
        const problem = {
          ...kiln,
          iterations: 30,
          seed: 3,
          pieces: pieces.map(
            ({ round, width, depth, ...piece }, i): Piece => ({
              ...piece,
              stack: piece.stack as Piece['stack'],
              id: String(i),
              footprint: round
                ? { shape: 'circle', diameterMm: width }
                : { shape: 'rectangle', widthMm: width, depthMm: depth },
            }),
          ),
        } as Problem;
        const bound = await boundOf(problem, { clock });
        const plan = pack(problem, { clock, bound });
        expect(faultsOf(problem, plan)).toEqual([]);
      }),
      { numRuns: 40 },
    );
  });
});

const always = () => true;

/** Every choice of levels for one column, as how many levels of each class and the tallest of them. */
function stacksOf({
  heights,
  costs,
  room,
  air,
  mostLevels,
}: Columns): { counts: number[]; tallest: number }[] {
  const found: { counts: number[]; tallest: number }[] = [];
  const add = (from: number, left: number, counts: number[], levels: number) => {
    const tallest = counts.findLastIndex((count) => count > 0);
    found.push({ counts, tallest });
    for (let kind = from; kind >= 0 && levels < mostLevels; kind--)
      if ((costs[kind] ?? room + 1) <= left)
        add(
          kind,
          left - (costs[kind] ?? 0),
          counts.map((count, k) => count + Number(k === kind)),
          levels + 1,
        );
  };
  for (let top = -1; top < heights.length; top++) {
    const left = room - air - (heights[top] ?? 0);
    if (left >= 0)
      add(
        heights.length - 1,
        left,
        heights.map((_, k) => Number(k === top)),
        1,
      );
  }
  return found;
}

/** The same question as `mostInColumns` with every choice of levels asked of a linear programme of its own. */
function mostOfAll(columns: Columns, solve: Solver): number {
  const stacks = stacksOf(columns);
  const { heights, ware, holds, holdsMore, count } = columns;
  let most = 0;
  const seen = new Set<string>();
  for (const [i, one] of stacks.entries())
    for (const two of count === 1 ? [null] : stacks.slice(i)) {
      const limits = heights.map((_, k) =>
        [one, two].reduce((sum, stack) => {
          const levels = stack?.counts.slice(k).reduce((a, b) => a + b, 0) ?? 0;
          return sum + levels * holds + (stack && stack.tallest >= k ? holdsMore : 0);
        }, 0),
      );
      if (seen.has(limits.join())) continue;
      seen.add(limits.join());
      const rows = limits.map(
        (limit, k): Row => ({
          terms: ware.flatMap(({ kind, size }, at): [number, number][] => (kind >= k ? [[at, size]] : [])),
          most: limit,
        }),
      );
      const programme = {
        sense: 'Maximize' as const,
        columns: ware.map(({ value }) => ({ cost: value, most: 1, whole: false })),
        rows: rows.filter(({ terms }) => terms.length > 0),
      };
      most = Math.max(most, solve(programme, false, 1) ?? Number.NaN);
    }
  return most;
}

const columnsOf = fc
  .record({
    heights: fc.uniqueArray(fc.integer({ min: 2, max: 12 }), { minLength: 1, maxLength: 4 }),
    ware: fc.array(
      fc.record({
        kind: fc.nat(3),
        value: fc.integer({ min: 1, max: 9 }),
        size: fc.double({ min: 0.05, max: 1.2, noNaN: true }),
      }),
      { minLength: 1, maxLength: 14 },
    ),
    count: fc.constantFrom(1, 1, 2),
    room: fc.integer({ min: 6, max: 48 }),
    holds: fc.constantFrom(0.5, 0.8, 1),
    holdsMore: fc.constantFrom(0, 0, 0.2),
    steps: fc.array(fc.integer({ min: 0, max: 4 }), { minLength: 4, maxLength: 4 }),
    air: fc.integer({ min: 0, max: 3 }),
    mostLevels: fc.constantFrom(1, 2, Number.POSITIVE_INFINITY),
  })
  .map(({ heights, ware, steps, ...rest }): Columns => {
    heights.sort((a, b) => a - b);
    // Costs never fall with height, some are the same, and the tallest may not carry at all.
    let last = 0;
    const costs = heights.map((height, k) => {
      const step = steps[k] ?? 0;
      last = step === 4 ? Number.POSITIVE_INFINITY : Math.max(last, height + step);
      return last;
    });
    return {
      ...rest,
      // Pairs of columns are many: lower ones do.
      room: rest.count > 1 ? Math.min(rest.room, 22) : rest.room,
      heights,
      costs,
      ware: ware.map((each) => ({ ...each, kind: each.kind % heights.length })),
    };
  });

describe('levels in columns', () => {
  it('are worth what the best of all choices is', async () => {
    const solve = await solver(() => null);
    fc.assert(
      fc.property(columnsOf, (columns) => {
        expect(mostInColumns(columns, always)).toBeCloseTo(mostOfAll(columns, solve), 5);
      }),
      { numRuns: 60 },
    );
  });

  it('are worth no less when the search is cut short', () => {
    fc.assert(
      fc.property(columnsOf, fc.nat(20), (columns, looks) => {
        let left = looks;
        const short = mostInColumns(columns, () => left-- > 0);
        expect(short).toBeGreaterThanOrEqual(mostInColumns(columns, always) - 1e-9);
      }),
      { numRuns: 150 },
    );
  });

  it('of a real-shaped queue are worth what a plain walk through all choices found', () => {
    // Each from a separate programme that filled all 663,387 choices of levels one after another, without any prices.
    const found: [boxes: boolean, worth: 'volume' | 'count', most: number][] = [
      [true, 'volume', 115.7787],
      [true, 'count', 101.3165],
      [false, 'volume', 112.2949],
    ];
    for (const [boxes, worth, most] of found) {
      const [withBoxes, mixed] = KILNS;
      const kiln = boxes ? withBoxes : mixed;
      if (!kiln) throw new Error('There is no kiln.');
      const problem = kilnOf(kiln, queueOf(150, 1, boxes), worth, false);
      const items = itemsOf(problem);
      const { of, full } = areaWeight(problem, floorOf(problem), items);
      const heights = [...new Set(items.map(({ height }) => height))].sort((a, b) => a - b);
      const ware = items.map(({ height, value }, i) => ({
        kind: heights.indexOf(height),
        value,
        size: (of[i] ?? 0) / full,
      }));
      const costs = heights.map((height) => height + 12 + 15);
      const rest = { count: 1, room: 665, holds: 1, holdsMore: 0, air: 40, mostLevels: 99 };
      expect(mostInColumns({ ...rest, heights, ware, costs }, always)).toBeCloseTo(most, 3);
    }
  });

  it('hold nothing half: two heights that do not go together are no mean of both', () => {
    // One level of 10 or two of 4: prices alone see a bit of each.
    const ware = [
      { kind: 1, value: 10, size: 0.5 },
      { kind: 0, value: 4, size: 1 },
      { kind: 0, value: 4, size: 1 },
    ];
    const columns = {
      heights: [4, 10],
      ware,
      count: 1,
      room: 11,
      holds: 1,
      holdsMore: 0,
      costs: [5, 11],
      air: 1,
      mostLevels: 9,
    };
    expect(mostInColumns(columns, always)).toBeCloseTo(12, 9);
  });
});

describe('cells with few sides', () => {
  const kilnWith = (shelf: Problem['shelf'], pieces: Piece[], pieceGapMm = 0): Problem => ({
    ...flat(1, []),
    shelf,
    pieceGapMm,
    pieces,
  });
  const disc = (id: number, diameterMm: number): Piece => ({
    id: String(id),
    footprint: { shape: 'circle', diameterMm },
    heightMm: 10,
  });
  const box = (id: number, widthMm: number, depthMm = widthMm): Piece => ({
    id: String(id),
    footprint: { shape: 'rectangle', widthMm, depthMm },
    heightMm: 10,
  });
  /** The weight at prices given by the mean radius of all pieces, of a side and of a wall; null where they are of no use. */
  const priced = (problem: Problem, side: number, wall: number) => {
    const floor = floorOf(problem);
    const items = itemsOf(problem);
    const outlines = outlinesOf(floor, floor.gap / 2);
    const radius =
      items.reduce((sum, { width, depth }) => sum + Math.min(width, depth) + floor.gap, 0) / 2 / items.length;
    return weightAt(outlines, floor.gap, items, { side: side * radius ** 2, wall: wall * radius });
  };
  const upTo = (most: number) => fc.nat(1000).map((part) => (most * part) / 1000);
  const price = fc.record({
    side: upTo(0.4),
    wall: upTo(0.25),
  });
  /** The largest share of the shelf that all pieces weigh at any prices tried. */
  const filled = (problem: Problem) => {
    const share = (weight: { of: Float64Array; full: number }) =>
      weight.of.reduce((a, b) => a + b, 0) / weight.full;
    let most = 0;
    for (let side = 0; side <= 0.4; side += 0.05)
      for (let wall = 0; wall <= 0.24; wall += 0.03) {
        const weight = priced(problem, side, wall);
        if (weight) most = Math.max(most, share(weight));
      }
    const best = sideWeight(floorOf(problem), itemsOf(problem), (weight) => -share(weight));
    return Math.max(most, best ? share(best) : 0);
  };

  it('leave the densest rows of equal circles as dense as they are, and no denser', () => {
    // Rows shifted by half a circle, as tight as they go: a hexagon a circle, and waste along the edge alone.
    const [rows, each, d] = [20, 20, 50];
    const widthMm = (each + 0.5) * d;
    const depthMm = d + ((rows - 1) * d * Math.sqrt(3)) / 2;
    const pieces = Array.from({ length: rows * each }, (_, i) => disc(i, d));
    const share = filled(kilnWith({ shape: 'rectangle', widthMm, depthMm }, pieces));
    expect(share).toBeLessThanOrEqual(1);
    expect(share).toBeGreaterThan(0.97);
    expect(((Math.PI / 4) * rows * each * d ** 2) / (widthMm * depthMm)).toBeLessThan(share * 0.9);
  });

  it('know that walls cost: a few circles in a square are worth more of it than deep inside', () => {
    const pieces = Array.from({ length: 4 }, (_, i) => disc(i, 50));
    const share = filled(kilnWith({ shape: 'rectangle', widthMm: 100, depthMm: 100 }, pieces));
    expect(share).toBeLessThanOrEqual(1);
    // By area π/4, by hexagons 0.87.
    expect(share).toBeGreaterThan(0.93);
  });

  it('allow for boxes that fill the holes between circles better than circles do', () => {
    // A grid of circles turned by 45°, and in every hole the largest upright square: cells are octagons, not hexagons.
    const [each, d] = [12, 100];
    const side = d * (Math.SQRT2 - 1);
    const pieces = [
      ...Array.from({ length: (each + 1) ** 2 + each ** 2 }, (_, i) => disc(i, d)),
      ...Array.from({ length: 2 * each * (each + 1) }, (_, i) => box(1000 + i, side)),
    ];
    const length = each * d * Math.SQRT2 + d;
    const share = filled(kilnWith({ shape: 'rectangle', widthMm: length, depthMm: length }, pieces));
    expect(share).toBeLessThanOrEqual(1);
    expect(share).toBeGreaterThan(0.8);
  });

  it('allow for rows between boards: circles in squares, boxes beside them', () => {
    // Circles of 100 in a row, boards as long as the shelf between the rows.
    const pieces = [
      ...Array.from({ length: 50 }, (_, i) => disc(i, 100)),
      ...Array.from({ length: 5 }, (_, i) => box(1000 + i, 1000, 50)),
    ];
    expect(filled(kilnWith({ shape: 'rectangle', widthMm: 1000, depthMm: 750 }, pieces))).toBeLessThanOrEqual(
      1,
    );
  });

  it('never weigh more than what is known to fit: equal circles in a circle, and in a square', () => {
    // Least R/r: E. Specht, "The best known packings of equal circles in a circle"; squares of n² circles by hand.
    const round: [number, number][] = [
      [1, 1],
      [2, 2],
      [3, 2.1548],
      [4, 2.4143],
      [7, 3],
      [19, 4.8638],
      [37, 6.7588],
      [61, 8.6613],
      [91, 10.5665],
    ];
    for (const [n, ratio] of round)
      for (const gap of [0, 6, 20]) {
        // With a gap circles and shelf shrink by half of it.
        const pieces = Array.from({ length: n }, (_, i) => disc(i, 100 - gap));
        expect(
          filled(kilnWith({ shape: 'round', diameterMm: 100 * ratio - gap }, pieces, gap)),
        ).toBeLessThanOrEqual(1);
      }
    for (let n = 1; n <= 8; n++) {
      const pieces = Array.from({ length: n * n }, (_, i) => disc(i, 50));
      const share = filled(kilnWith({ shape: 'rectangle', widthMm: 50 * n, depthMm: 50 * n }, pieces));
      expect(share).toBeLessThanOrEqual(1 + 1e-9);
    }
  });

  it('never weigh more than what a plan puts on one shelf', () => {
    const ware = fc.record({
      round: fc.integer({ min: 0, max: 9 }),
      size: fc.integer({ min: 30, max: 140 }),
      depth: fc.integer({ min: 30, max: 120 }),
    });
    const shelves = fc.constantFrom<Problem['shelf'][]>(
      { shape: 'round', diameterMm: 400 },
      { shape: 'polygon', sides: 8, acrossFlatsMm: 380 },
      { shape: 'polygon', sides: 5, acrossFlatsMm: 380 },
      { shape: 'rectangle', widthMm: 420, depthMm: 300 },
      { shape: 'rectangle', widthMm: 420, depthMm: 130 },
    );
    fc.assert(
      fc.property(
        fc.array(ware, { minLength: 20, maxLength: 40 }),
        shelves,
        fc.constantFrom(0, 6),
        fc.integer({ min: 2, max: 9 }),
        fc.array(price, { minLength: 12, maxLength: 12 }),
        (list, shelf, gap, most, prices) => {
          const pieces = list.map(({ round, size, depth }, i): Piece => {
            return round < most ? disc(i, size) : box(i, size, depth);
          });
          const problem = { ...kilnWith(shelf, pieces, gap), maxLoads: 1, iterations: 20, seed: 2 };
          const standing = new Set(pack(problem, { clock }).loads[0]?.levels[0]?.pieces.map(({ id }) => id));
          for (const { side, wall } of prices) {
            const weight = priced(problem, side, wall);
            if (!weight) continue;
            const total = pieces.reduce(
              (sum, { id }, i) => sum + (standing.has(id) ? (weight.of[i] ?? 0) : 0),
              0,
            );
            expect(total).toBeLessThanOrEqual(weight.full);
          }
        },
      ),
      { numRuns: 40 },
    );
  });

  /** The polygon within all half-planes x · (cos t, sin t) ≤ h: its area, and how long it is along each. */
  const polygonOf = (planes: [t: number, h: number][]) => {
    let shape: [number, number][] = [
      [-1e4, -1e4],
      [1e4, -1e4],
      [1e4, 1e4],
      [-1e4, 1e4],
    ];
    const over = ([x, y]: [number, number], [t, h]: [number, number]) =>
      x * Math.cos(t) + y * Math.sin(t) - h;
    for (const plane of planes)
      shape = shape.flatMap((p, i): [number, number][] => {
        const q = shape[(i + 1) % shape.length] as [number, number];
        const [a, b] = [over(p, plane), over(q, plane)];
        const cut: [number, number] = [
          p[0] + ((q[0] - p[0]) * a) / (a - b),
          p[1] + ((q[1] - p[1]) * a) / (a - b),
        ];
        return [...(a <= 0 ? [p] : []), ...(a <= 0 !== b <= 0 ? [cut] : [])];
      });
    let area = 0;
    const along = planes.map(() => 0);
    shape.forEach((p, i) => {
      const q = shape[(i + 1) % shape.length] as [number, number];
      area += (p[0] * q[1] - q[0] * p[1]) / 2;
      planes.forEach((plane, k) => {
        if (Math.abs(over(p, plane)) < 1e-6 && Math.abs(over(q, plane)) < 1e-6)
          along[k] = (along[k] ?? 0) + Math.hypot(p[0] - q[0], p[1] - q[1]);
      });
    });
    return { area, along };
  };

  it('cost no less than a piece weighs, whatever convex cell it stands in', () => {
    const planes = fc.array(
      fc.record({
        t: upTo(2 * Math.PI),
        off: fc.oneof(fc.constant(0), upTo(8)),
        wall: fc.boolean(),
      }),
      { minLength: 3, maxLength: 9 },
    );
    let seen = 0;
    fc.assert(
      fc.property(
        planes,
        fc.boolean(),
        fc.integer({ min: 40, max: 160 }),
        fc.integer({ min: 40, max: 160 }),
        fc.constantFrom(0, 6),
        price,
        (list, round, width, depth, gap, { side, wall }) => {
          // A very wide octagon: no cell reaches two opposite walls of it.
          const shelf: Problem['shelf'] = { shape: 'polygon', sides: 8, acrossFlatsMm: 4000 };
          const problem = kilnWith(shelf, [round ? disc(0, width) : box(0, width, depth)], gap);
          const weight = priced(problem, side, wall);
          if (!weight) return;
          const radius = (round ? width : Math.min(width, depth)) / 2 + gap / 2;
          const reach = (t: number) =>
            round ? radius : (Math.abs(Math.cos(t)) * width + Math.abs(Math.sin(t)) * depth) / 2 + gap / 2;
          const corner = Math.PI / 4;
          // Walls stand as the shelf's do; of two opposite ones only the first is one.
          const turned = list.map((each) => ({
            ...each,
            t: each.wall ? (Math.round(each.t / corner) % 8) * corner : each.t,
          }));
          const cells = turned.filter(
            ({ t }, i) => turned.findIndex((other) => Math.abs(other.t - t) < 1e-9) === i,
          );
          const { area, along } = polygonOf(cells.map(({ t, off }) => [t, reach(t) + off]));
          if (area > 1e6) return;
          seen++;
          const sides = along.filter((length) => length > 1e-6).length;
          const atWall = cells.map(({ t, wall: is }, i) => {
            const opposite = cells.some(
              (other, k) => k < i && other.wall && Math.abs(Math.abs(other.t - t) - Math.PI) < 1e-9,
            );
            return is && !opposite && (along[i] ?? 0) > 1e-6;
          });
          const walls = atWall.filter(Boolean).length;
          const length = along.reduce((sum, each, i) => sum + (atWall[i] ? each : 0), 0);
          const cost = area - wall * radius * length + side * radius ** 2 * (sides + walls - 6);
          // What weighs nothing is left out of the count: its cell may cost less.
          if ((weight.of[0] ?? 0) > 0) expect(weight.of[0]).toBeLessThanOrEqual(cost + 1e-6);
        },
      ),
      { numRuns: 4000 },
    );
    expect(seen).toBeGreaterThan(1000);
  });
});
