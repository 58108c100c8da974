import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pack } from '../../server/kilns/packing/packing.ts';
import type { KeepOut, Load, Piece, Plan, Problem, StackKind } from '../../server/kilns/packing/problem.ts';
import { solve } from '../../server/kilns/packing/solve.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';

// A clock that stands still: only steps end a search, and every run is the same.
const clock = () => 0;

const KILN: Problem = {
  shelf: { shape: 'round', diameterMm: 500 },
  usableHeightMm: 680,
  floorPostMm: 20,
  shelfThicknessMm: 15,
  pieceGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [75, 100, 125, 150, 200].map((heightMm) => ({ heightMm, count: 12 })),
  stackedPosts: true,
  pieces: [],
  iterations: 40,
};
const ROOM: Problem = { ...KILN, posts: [], usableHeightMm: 400 };

const round = (id: string, diameterMm: number, heightMm: number, more: Partial<Piece> = {}): Piece => ({
  id,
  footprint: { shape: 'circle', diameterMm },
  heightMm,
  ...more,
});
const square = (
  id: string,
  widthMm: number,
  depthMm: number,
  heightMm: number,
  more: Partial<Piece> = {},
): Piece => ({ id, footprint: { shape: 'rectangle', widthMm, depthMm }, heightMm, ...more });
const many = (count: number, of: (id: string) => Piece) =>
  Array.from({ length: count }, (_, i) => of(`p${i}`));

function packed(problem: Problem) {
  const plan = pack(problem, { clock });
  expect(faultsOf(problem, plan)).toEqual([]);
  return plan;
}

describe('what goes in', () => {
  it('nothing makes no load', () => {
    const plan = packed(KILN);
    expect(plan).toMatchObject({ loads: [], unplaced: [], gap: 0, bound: { loads: 0 } });
  });

  it('a piece as wide as the shelf stands in its middle', () => {
    const plan = packed({ ...ROOM, pieces: [round('a', 500, 100)] });
    expect(plan.loads[0]?.levels[0]?.pieces[0]).toMatchObject({ xMm: 0, yMm: 0, zMm: 0 });
  });

  it('a piece as tall as the kiln goes in, one a hair taller does not', () => {
    const most = 680 - 35 - 40;
    const plan = packed({ ...KILN, pieces: [round('a', 100, most), round('b', 100, most + 0.01)] });
    expect(plan.unplaced).toEqual([{ id: 'b', reason: 'Too tall for the kiln' }]);
  });

  it('a piece wider than the shelf is told apart', () => {
    const plan = packed({ ...KILN, pieces: [round('a', 501, 50), square('b', 480, 200, 50)] });
    expect(plan.unplaced.map(({ reason }) => reason)).toEqual([
      'Too big for the shelf',
      'Too big for the shelf',
    ]);
  });

  it('a rectangle goes in turned when that is the only way', () => {
    const shelf = { shape: 'rectangle', widthMm: 500, depthMm: 200 } as const;
    const plan = packed({ ...ROOM, shelf, pieces: [square('a', 150, 450, 80)] });
    expect(plan.loads[0]?.levels[0]?.pieces[0]?.turned).toBe(true);
  });

  it('squares that fill a shelf exactly all stand on it', () => {
    const shelf = { shape: 'rectangle', widthMm: 500, depthMm: 300 } as const;
    const pieces = many(15, (id) => square(id, 100, 100, 80));
    const plan = packed({ ...ROOM, shelf, pieceGapMm: 0, pieces });
    expect(plan.loads).toHaveLength(1);
    expect(plan.loads[0]?.use.area).toBeCloseTo(1, 9);
  });

  it('keep-outs over everything leave everything out', () => {
    const keepOuts: KeepOut[] = [{ shape: 'circle', xMm: 0, yMm: 0, diameterMm: 1200 }];
    const plan = packed({ ...KILN, keepOuts, pieces: many(5, (id) => round(id, 80, 80)) });
    expect(plan.loads).toEqual([]);
    expect(new Set(plan.unplaced.map(({ reason }) => reason))).toEqual(
      new Set(['Something in the kiln is in its way']),
    );
  });

  it('a keep-out at one height only keeps ware away at that height', () => {
    const keepOuts: KeepOut[] = [
      { shape: 'rectangle', xMm: 0, yMm: 0, widthMm: 600, depthMm: 600, fromMm: 200, toMm: 400 },
    ];
    const plan = packed({ ...KILN, keepOuts, pieces: many(6, (id) => round(id, 150, 90)) });
    expect(plan.unplaced).toEqual([]);
  });

  it('without posts a load has one level', () => {
    const plan = packed({ ...KILN, posts: [], pieces: many(40, (id) => round(id, 120, 90)) });
    expect(plan.loads.length).toBeGreaterThan(1);
    for (const load of plan.loads) expect(load.levels).toHaveLength(1);
  });

  it('the rack of posts is never overdrawn', () => {
    const posts = [{ heightMm: 125, count: 4 }];
    const plan = packed({
      ...KILN,
      stackedPosts: false,
      posts,
      pieces: many(60, (id) => round(id, 100, 100)),
    });
    for (const load of plan.loads) expect(load.levels.length).toBeLessThanOrEqual(2);
  });

  it('no shelf, no load', () => {
    const plan = packed({ ...KILN, shelves: { full: 0, half: 0 }, pieces: [round('a', 100, 100)] });
    expect(plan.unplaced[0]?.reason).toBe('There is no shelf');
  });
});

describe('what belongs together', () => {
  it('groups never share a load', () => {
    const pieces = many(8, (id) => round(id, 80, 80, { group: id < 'p4' ? 'bisque' : 'glaze' }));
    expect(packed({ ...KILN, pieces }).loads).toHaveLength(2);
  });

  it('with one load the group that is worth more gets it', () => {
    const pieces = many(8, (id) => round(id, 80, 80, { group: id < 'p3' ? 'few' : 'many' }));
    const plan = packed({ ...KILN, maxLoads: 1, pieces });
    expect(plan.unplaced.map(({ id }) => id)).toEqual(['p0', 'p1', 'p2']);
  });

  it('a pin holds, and a lower level is built where it must be', () => {
    const pieces = [round('high', 100, 80, { level: 3 }), round('low', 100, 80)];
    const plan = packed({ ...KILN, pieces });
    expect(plan.unplaced).toEqual([]);
    expect(
      plan.loads.flatMap((load) => load.levels.findIndex((l) => l.pieces.some((p) => p.id === 'high'))),
    ).toContain(2);
  });

  it('a pin that no kiln can keep is told', () => {
    const plan = packed({ ...KILN, posts: [], pieces: [round('a', 100, 80, { level: 2 })] });
    expect(plan.unplaced[0]?.reason).toBe('Pinned to level 2, which cannot be built with it');
  });

  it('a plate stands on the top of a higher one, not in it', () => {
    const pieces = [round('low', 300, 20, { stack: 'pile' }), round('high', 310, 40, { stack: 'pile' })];
    const [level] = packed({ ...ROOM, pieces }).loads[0]?.levels ?? [];
    expect(level?.pieces.map(({ id, zMm }) => [id, zMm])).toEqual([
      ['high', 0],
      ['low', 40],
    ]);
  });

  it('bowls nest three high, plates pile four high, and trays never', () => {
    const bowls = many(3, (id) => round(id, 300, 100, { stack: 'nest' }));
    const [load] = packed({ ...ROOM, pieces: bowls }).loads;
    expect(load?.levels[0]?.pieces.map(({ zMm }) => zMm).sort((a, b) => a - b)).toEqual([0, 40, 80]);
    const plates = many(4, (id) => round(id, 300, 25, { stack: 'pile' }));
    expect(packed({ ...ROOM, pieces: plates }).loads).toHaveLength(1);
    const trays = many(4, (id) => round(id, 290, 25, { stack: 'pile', tray: 5 }));
    expect(packed({ ...ROOM, pieces: trays }).loads).toHaveLength(4);
  });

  it('pieces of other clay or size share no stack', () => {
    const pieces = [
      round('a', 300, 100, { stack: { kind: 'nest', like: 'white' } }),
      round('b', 300, 100, { stack: { kind: 'nest', like: 'red' } }),
      round('c', 269, 100, { stack: { kind: 'nest', like: 'white' } }),
    ];
    expect(packed({ ...ROOM, pieces }).loads).toHaveLength(3);
  });

  it('on edge a plate takes a strip and stands as high as it is wide', () => {
    const pieces = many(10, (id) => round(id, 200, 20, { stack: 'on-edge' }));
    expect(packed({ ...ROOM, pieces }).loads).toHaveLength(1);
    expect(packed({ ...ROOM, usableHeightMm: 250, pieces }).loads).toHaveLength(0);
  });
});

describe('how it is built', () => {
  it('the tall level goes where the kiln wants it', () => {
    const pieces = [...many(12, (id) => round(id, 120, 70)), round('tall', 200, 230)];
    for (const tallLevel of ['top', 'bottom'] as const) {
      const [load] = packed({ ...KILN, tallLevel, pieces }).loads;
      const levels = load?.levels ?? [];
      const at = levels.findIndex((level) => level.pieces.some(({ id }) => id === 'tall'));
      expect(at).toBe(tallLevel === 'top' ? levels.length - 1 : 0);
    }
  });

  it('the most value goes in when not all does', () => {
    const pieces = many(30, (id) => round(id, 140, 90, { value: id === 'p7' || id === 'p19' ? 50 : 1 }));
    const plan = packed({ ...ROOM, maxLoads: 1, pieces });
    const inside = plan.loads[0]?.levels[0]?.pieces.map(({ id }) => id);
    expect(inside).toContain('p7');
    expect(inside).toContain('p19');
  });

  it('all that fits into fewer loads than allowed takes the fewer', () => {
    expect(packed({ ...KILN, maxLoads: 5, pieces: many(10, (id) => round(id, 80, 80)) }).loads).toHaveLength(
      1,
    );
  });

  it('what has room on one full shelf stands on one, however many loads are allowed', () => {
    const sizes: [number, number][] = [
      [150, 70],
      [85, 100],
      [60, 40],
      [120, 200],
      [90, 90],
      [70, 30],
    ];
    const of = (group: string) => sizes.map(([d, h], i) => round(`${group}${i}`, d, h, { group }));
    const full = (load: Load) => load.levels.map(({ part, pieces }) => [part, pieces.length]);
    for (let seed = 1; seed <= 8; seed++)
      for (const maxLoads of [undefined, 1, 3])
        for (const count of [2, sizes.length]) {
          const pieces = of('a').slice(0, count);
          const plan = packed({ ...KILN, halves: true, maxLoads, seed, pieces });
          expect(plan.loads.map(full)).toEqual([[['full', count]]]);
          // Another group is left without a load: of this one most value goes in, which is all of it.
          const other = round('b', 60, 60, { group: 'b', value: 0.1 });
          const most = packed({ ...KILN, halves: true, maxLoads: 1, seed, pieces: [...pieces, other] });
          expect(most.unplaced.map(({ id }) => id)).toEqual(['b']);
          expect(most.loads.map(full)).toEqual([[['full', count]]]);
        }
  });

  it('a pinned piece keeps its level, and without a full shelf halves do', () => {
    const pieces = [round('up', 100, 80, { level: 2 }), round('low', 100, 80)];
    expect(packed({ ...KILN, halves: true, pieces }).loads[0]?.levels.length).toBeGreaterThan(1);
    const [load] = packed({
      ...KILN,
      halves: true,
      shelves: { full: 0, half: 4 },
      pieces: many(2, (id) => round(id, 85, 100)),
    }).loads;
    expect(load?.levels.map(({ part }) => part)).not.toContain('full');
  });

  it('is the same for the same seed, and ends after its steps', () => {
    const pieces = many(60, (id) =>
      round(id, 60 + ((id.length * 37) % 90), 60 + ((id.charCodeAt(1) * 7) % 120)),
    );
    const problem: Problem = { ...KILN, halves: true, pieces, seed: 5 };
    expect(pack(problem, { clock })).toEqual(pack(problem, { clock }));
    expect(pack({ ...problem, maxLoads: 1 }, { clock })).toEqual(
      pack({ ...problem, maxLoads: 1 }, { clock }),
    );
  });

  it('tells of every better plan on the way, each of them sound', () => {
    const mixed = (id: string) =>
      round(id, 80 + (Number(id.slice(1)) % 9) * 10, 60 + (Number(id.slice(1)) % 7) * 20);
    const problem: Problem = { ...KILN, iterations: 400, maxLoads: 1, pieces: many(120, mixed) };
    const placed = (plan: Plan) => problem.pieces.length - plan.unplaced.length;
    const counts: number[] = [];
    const last = pack(problem, {
      clock,
      onBetter: (plan) => {
        expect(faultsOf(problem, plan)).toEqual([]);
        counts.push(placed(plan));
      },
    });
    expect(counts.length).toBeGreaterThan(1);
    expect(counts).toEqual([...counts].sort((a, b) => a - b));
    expect(placed(last)).toBe(counts.at(-1));
  });

  it('brings its bound, and no plan beats it', async () => {
    for (const more of [{}, { maxLoads: 1 }]) {
      const problem: Problem = { ...KILN, ...more, pieces: many(30, (id) => round(id, 150, 90)) };
      const plan = await solve(problem, clock);
      expect(faultsOf(problem, plan)).toEqual([]);
      expect(plan.gap).toBeGreaterThanOrEqual(0);
    }
  });
});

describe('what makes no sense is refused before any search', () => {
  const cases: [string, Problem][] = [
    ['pieces[0].footprint.diameterMm: must be more than 0', { ...KILN, pieces: [round('a', 0, 50)] }],
    ['pieces[0].heightMm: must be more than 0', { ...KILN, pieces: [round('a', 50, Number.NaN)] }],
    ['pieces[0].heightMm: must lie between 0 and 5000', { ...KILN, pieces: [round('a', 50, 5001)] }],
    ['pieces[1].id: a stands twice', { ...KILN, pieces: [round('a', 50, 50), round('a', 50, 50)] }],
    ['pieces: 2001 are too many', { ...KILN, pieces: many(2001, (id) => round(id, 50, 50)) }],
    ['usableHeightMm: not a number', { ...KILN, usableHeightMm: Number.POSITIVE_INFINITY }],
    ['posts[0].count: must be a whole number', { ...KILN, posts: [{ heightMm: 100, count: 1.5 }] }],
    ['pieceGapMm: must lie between', { ...KILN, pieceGapMm: -1 }],
    ['maxLoads: must lie between 1', { ...KILN, maxLoads: 0 }],
  ];
  it.each(cases)('%s', (message, problem) => {
    expect(() => pack(problem, { clock })).toThrow(RangeError);
    expect(() => pack(problem, { clock })).toThrow(message);
  });
});

describe('whatever is asked', () => {
  const mm = (min: number, max: number) => fc.integer({ min: min * 4, max: max * 4 }).map((n) => n / 4);
  const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: undefined });
  const footprint = fc.oneof(
    fc.record({ shape: fc.constant('circle' as const), diameterMm: mm(20, 350) }),
    fc.record({ shape: fc.constant('rectangle' as const), widthMm: mm(20, 350), depthMm: mm(20, 350) }),
  );
  const kind = fc.constantFrom<StackKind>('nest', 'rim-to-rim', 'pile', 'on-edge', 'none');
  const piece = fc.record({
    footprint,
    heightMm: mm(10, 300),
    kg: maybe(mm(0, 5)),
    value: maybe(fc.integer({ min: 0, max: 9 })),
    group: maybe(fc.constantFrom('x', 'y')),
    tray: maybe(fc.constantFrom(0, 8)),
    stack: maybe(
      fc.oneof(
        kind,
        fc.record({
          kind,
          stepMm: maybe(mm(5, 60)),
          most: maybe(fc.integer({ min: 1, max: 5 })),
          like: maybe(fc.constantFrom('white', 'red')),
        }),
      ),
    ),
  });
  const zone = fc
    .tuple(footprint, mm(-300, 300), mm(-300, 300), maybe(mm(0, 500)), maybe(mm(100, 700)))
    .map(([shape, xMm, yMm, fromMm, toMm]): KeepOut => ({ ...shape, xMm, yMm, fromMm, toMm }));
  const problem = fc
    .record({
      shelf: fc.oneof(
        fc.record({ shape: fc.constant('round' as const), diameterMm: mm(300, 600) }),
        fc.record({
          shape: fc.constant('polygon' as const),
          sides: fc.integer({ min: 3, max: 12 }),
          acrossFlatsMm: mm(300, 600),
        }),
        fc.record({ shape: fc.constant('rectangle' as const), widthMm: mm(300, 700), depthMm: mm(300, 600) }),
      ),
      edgeGapMm: maybe(fc.constantFrom(0, 10)),
      usableHeightMm: mm(200, 800),
      floorPostMm: maybe(fc.constantFrom(0, 25)),
      shelfThicknessMm: fc.constantFrom(0, 15),
      pieceGapMm: fc.constantFrom(0, 6, 10),
      clearanceMm: fc.constantFrom(0, 12),
      topClearanceMm: fc.constantFrom(0, 40),
      posts: fc.array(
        fc.record({ heightMm: fc.constantFrom(50, 100, 150, 220), count: fc.integer({ min: 0, max: 12 }) }),
        { maxLength: 5 },
      ),
      postPositions: maybe(
        fc.array(
          fc.record({ xMm: mm(-250, 250), yMm: mm(-250, 250), widthMm: mm(30, 50), depthMm: mm(30, 50) }),
          {
            maxLength: 4,
          },
        ),
      ),
      stackedPosts: fc.boolean(),
      halves: fc.boolean(),
      splitGapMm: maybe(fc.constantFrom(0, 8)),
      maxLevels: maybe(fc.integer({ min: 1, max: 6 })),
      shelves: maybe(
        fc.record({ full: fc.integer({ min: 0, max: 4 }), half: fc.integer({ min: 0, max: 6 }) }),
      ),
      keepOuts: maybe(fc.array(zone, { maxLength: 3 })),
      tallLevel: maybe(fc.constantFrom('top' as const, 'bottom' as const, 'any' as const)),
      maxLoads: maybe(fc.integer({ min: 1, max: 3 })),
      seed: fc.integer({ min: 0, max: 1000 }),
      pins: fc.boolean(),
      pieces: fc.array(fc.tuple(piece, maybe(fc.integer({ min: 1, max: 3 }))), { maxLength: 30 }),
    })
    .map(
      ({ pins, pieces, ...rest }): Problem => ({
        ...rest,
        iterations: 25,
        pieces: pieces.map(([each, level], i) => ({ ...each, id: `p${i}`, level: pins ? level : undefined })),
      }),
    );

  it('no plan breaks a rule', () => {
    fc.assert(
      fc.property(problem, (asked) => {
        const plan = pack(asked, { clock });
        expect(faultsOf(asked, plan)).toEqual([]);
      }),
      { numRuns: Number(process.env.PACK_RUNS ?? 60) },
    );
  });
});
