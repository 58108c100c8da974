import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Load, Piece, Plan, Problem } from '../../server/kilns/packing/problem.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';

const circle = (diameterMm: number) => ({ shape: 'circle' as const, diameterMm });
const box = (widthMm: number, depthMm: number) => ({ shape: 'rectangle' as const, widthMm, depthMm });

const pieces: Piece[] = [
  { id: 'cup', footprint: circle(80), heightMm: 100, kg: 0.3, value: 2 },
  { id: 'mug', footprint: circle(90), heightMm: 110, kg: 0.4 },
  { id: 'tile', footprint: box(100, 60), heightMm: 20, level: 1 },
  { id: 'runny', footprint: circle(60), heightMm: 90, tray: 10 },
  { id: 'bowl-a', footprint: circle(120), heightMm: 60, stack: { kind: 'nest', like: 'white' } },
  { id: 'bowl-b', footprint: circle(118), heightMm: 60, stack: { kind: 'nest', like: 'white', stepMm: 20 } },
  { id: 'jar', footprint: circle(100), heightMm: 180 },
  { id: 'huge', footprint: circle(600), heightMm: 100 },
];

/** A full level that carries two half shelves; the left one carries another. */
const problem = (): Problem => ({
  shelf: { shape: 'round', diameterMm: 500 },
  edgeGapMm: 5,
  usableHeightMm: 500,
  floorPostMm: 20,
  shelfThicknessMm: 15,
  pieceGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [
    { heightMm: 130, count: 12 },
    { heightMm: 60, count: 6 },
    { heightMm: 70, count: 3 },
  ],
  postPositions: [
    { xMm: 0, yMm: 220, widthMm: 40, depthMm: 40 },
    { xMm: 200, yMm: -80, widthMm: 40, depthMm: 40 },
    { xMm: -200, yMm: -80, widthMm: 40, depthMm: 40 },
  ],
  stackedPosts: true,
  halves: true,
  splitGapMm: 10,
  maxLevels: 3,
  shelves: { full: 1, half: 3 },
  keepOuts: [
    { shape: 'circle', xMm: 0, yMm: -220, diameterMm: 60 },
    { shape: 'rectangle', xMm: 240, yMm: 0, widthMm: 60, depthMm: 20, fromMm: 300, toMm: 400 },
  ],
  maxLoads: 2,
  seed: 7,
  pieces: structuredClone(pieces),
});

const at = (id: string, xMm: number, yMm: number, zMm = 0, turned = false) => ({ id, xMm, yMm, zMm, turned });
const r2 = (d: number) => (Math.PI * d * d) / 4;
const shelf = r2(500);

const plan = (): Plan => ({
  loads: [
    {
      levels: [
        {
          part: 'full',
          baseMm: 35,
          posts: [130],
          pieces: [at('mug', 0, 0), at('tile', -110, 0, 0, true), at('runny', 100, 0)],
        },
        {
          part: 'left',
          baseMm: 180,
          posts: [60, 70],
          pieces: [at('bowl-a', -90, 0), at('bowl-b', -90, 0, 20)],
        },
        { part: 'right', baseMm: 180, posts: null, pieces: [at('jar', 60, 0)] },
        { part: 'left', baseMm: 325, posts: null, pieces: [at('cup', -100, 0)] },
      ],
      use: {
        area: (r2(90) + 6000 + r2(60) + r2(120) + r2(100) + r2(80)) / (2.5 * shelf),
        volume:
          (r2(90) * 110 +
            6000 * 20 +
            r2(60) * 90 +
            r2(120) * 60 +
            r2(118) * 60 +
            r2(100) * 180 +
            r2(80) * 100) /
          (shelf * 500),
      },
    },
  ],
  unplaced: [{ id: 'huge', reason: 'Too big for the shelf' }],
  bound: { loads: 1, value: 8 },
  gap: 0,
  elapsedMs: 3,
  seed: 7,
});

const load = (it: Plan) => it.loads[0] as Load;
const level = (it: Plan, n: number) => load(it).levels[n] as Load['levels'][number];
const piece = (it: Problem, id: string) => it.pieces.find((each) => each.id === id) as Piece;
const placed = (it: Plan, id: string) =>
  load(it)
    .levels.flatMap((each) => each.pieces)
    .find((each) => each.id === id) as Load['levels'][number]['pieces'][number];
const move = (it: Plan, id: string, x: number, y: number) =>
  Object.assign(placed(it, id), { xMm: x, yMm: y });

describe('a plan that can be built', () => {
  it('has no fault', () => {
    expect(faultsOf(problem(), plan())).toEqual([]);
  });

  it('may be empty', () => {
    const nothing = {
      loads: [],
      unplaced: [],
      bound: { loads: 0, value: 0 },
      gap: 0,
      elapsedMs: 0,
      seed: 0,
    };
    expect(faultsOf({ ...problem(), pieces: [] }, nothing)).toEqual([]);
  });

  it('may touch exactly, give or take what floating point makes of it', () => {
    const q = problem();
    const p = plan();
    move(p, 'tile', -45 - 6 - 30 + 5e-7, 0);
    expect(faultsOf(q, p)).toEqual([]);
    move(p, 'tile', -45 - 6 - 30 + 5e-6, 0);
    expect(faultsOf(q, p)).toEqual([expect.stringMatching(/pieces mug and tile are .* apart, 6 wanted/)]);
  });
});

type Mutation = [what: string, change: (problem: Problem, plan: Plan) => void, fault: RegExp];

const mutations: Mutation[] = [
  ['a piece nowhere', (_, p) => p.unplaced.pop(), /^Piece huge is in no load/],
  ['a piece twice', (_, p) => p.unplaced.push({ id: 'cup', reason: 'No room' }), /^Piece cup is in 2 places/],
  ['a stranger', (_, p) => p.unplaced.push({ id: 'x', reason: 'No room' }), /^Piece x is not in the problem/],
  ['no reason', (_, p) => Object.assign(p.unplaced[0] ?? {}, { reason: ' ' }), /left out without a reason/],
  [
    'one left out without need',
    (q) => Object.assign(piece(q, 'huge'), { footprint: circle(480) }) && q.keepOuts?.splice(0),
    /^Piece huge is left out though it has room in a load of its own/,
  ],
  ['too many loads', (q) => Object.assign(q, { maxLoads: 0 }), /^1 loads, at most 0 wanted/],
  [
    'an empty load',
    (_, p) => p.loads.push({ levels: [], use: { area: 0, volume: 0 } }),
    /Load 2: nothing is in it/,
  ],
  [
    'two too near',
    (_, p) => move(p, 'runny', 90, 0),
    /level 1: pieces mug and runny are 5 mm apart, 6 wanted/,
  ],
  [
    'a tray forgotten',
    (q) => Object.assign(piece(q, 'mug'), { tray: 10 }),
    /pieces mug and runny are 5 mm apart, 6 wanted/,
  ],
  ['overlap', (_, p) => move(p, 'runny', 40, 0), /pieces mug and runny overlap by 45 mm/],
  ['box and circle at a corner', (_, p) => move(p, 'tile', -66, -80), /pieces mug and tile are 1.9 mm apart/],
  [
    'not turned',
    (_, p) => Object.assign(placed(p, 'tile'), { turned: false, xMm: -100 }),
    /mug and tile are 5 mm apart/,
  ],
  ['a round one turned', (_, p) => Object.assign(placed(p, 'cup'), { turned: true }), /cup is round/],
  ['at the edge', (_, p) => move(p, 'runny', 204.1, 20), /runny is 4.9 mm from the edge, 5 wanted/],
  ['over the edge', (_, p) => move(p, 'cup', -220, 0), /level 3 left: piece cup sticks out by 10 mm/],
  ['over the split', (_, p) => move(p, 'cup', -42, 0), /cup is 2 mm from the split, 5 wanted/],
  [
    'over the split on the right',
    (_, p) => move(p, 'jar', 54, 0),
    /level 2 right: piece jar is 4 mm from the split/,
  ],
  ['nowhere', (_, p) => move(p, 'cup', Number.NaN, 0), /cup stands nowhere/],
  [
    'a wrong base',
    (_, p) => Object.assign(level(p, 0), { baseMm: 15 }),
    /level 1 is said to be at 15, it is at 35 mm/,
  ],
  [
    'a base not carried on',
    (_, p) => Object.assign(level(p, 3), { baseMm: 300 }),
    /level 3 left is said to be at 300/,
  ],
  [
    'above the kiln',
    (q) => Object.assign(q, { usableHeightMm: 320 }),
    /level 3 left at 325 mm is above the usable 320/,
  ],
  [
    'too tall for the posts',
    (q) => Object.assign(piece(q, 'mug'), { heightMm: 119 }),
    /mug reaches 119 mm and wants 12/,
  ],
  [
    'a stack too tall for its posts',
    (q) => Object.assign(piece(q, 'bowl-b'), { heightMm: 99 }),
    /bowl-b reaches 119/,
  ],
  [
    'too tall for the kiln',
    (q) => Object.assign(piece(q, 'cup'), { heightMm: 136 }),
    /cup and the air .* 501 mm, 500/,
  ],
  ['too tall on the other side', (q) => Object.assign(piece(q, 'jar'), { heightMm: 281 }), /jar and the air/],
  [
    'posts on top',
    (_, p) => Object.assign(level(p, 3), { posts: [60] }),
    /level 3 left has posts but carries nothing/,
  ],
  [
    'no posts',
    (_, p) => Object.assign(level(p, 0), { posts: null }),
    /level 1 carries a shelf without posts/,
  ],
  [
    'no post in the list',
    (_, p) => Object.assign(level(p, 0), { posts: [] }),
    /level 1 carries a shelf without/,
  ],
  [
    'posts may not be stacked',
    (q) => Object.assign(q, { stackedPosts: false }),
    /level 2 left has 2 posts on one/,
  ],
  ['posts nobody has', (q) => q.posts.pop(), /there are no posts of 70 mm/],
  [
    'too few posts',
    (q) => Object.assign(q.posts[2] ?? {}, { count: 2 }),
    /3 posts of 70 mm are used, there are 2/,
  ],
  [
    'two half shelves on a full one',
    (q) => Object.assign(q.posts[0] ?? {}, { count: 5 }),
    /6 posts of 130 mm are used/,
  ],
  [
    'more posts a shelf',
    (q) => Object.assign(q, { postsPerShelf: 4 }),
    /4 posts of 70 mm are used, there are 3/,
  ],
  ['no halves', (q) => Object.assign(q, { halves: false }), /level 2 right: half shelves may not be used/],
  [
    'too few half shelves',
    (q) => Object.assign(q, { shelves: { full: 1, half: 2 } }),
    /3 half shelves are used/,
  ],
  [
    'too few full shelves',
    (q) => Object.assign(q, { shelves: { full: 0, half: 3 } }),
    /1 full shelves are used/,
  ],
  ['too many levels', (q) => Object.assign(q, { maxLevels: 2 }), /3 levels, at most 2 wanted/],
  [
    'full on half',
    (_, p) => void load(p).levels.unshift(...load(p).levels.splice(1, 1)),
    /full shelf stands above half/,
  ],
  ['on a post', (_, p) => move(p, 'runny', 150, -80), /runny is -10 mm from the post at 200, -80, 6 wanted/],
  [
    'beside a post that a half carries',
    (_, p) => move(p, 'bowl-a', -130, -60),
    /bowl-a is -10 mm from the post/,
  ],
  ['in a keep-out', (_, p) => move(p, 'runny', 30, -165), /runny stands where nothing may, at 0, -220/],
  [
    'in a keep-out at its height',
    (_, p) => move(p, 'jar', 170, 0),
    /jar stands where nothing may, at 240, 0/,
  ],
  [
    'two groups',
    (q) => Object.assign(piece(q, 'cup'), { group: 'cone 6' }),
    /no group and group cone 6 share it/,
  ],
  [
    'a pin',
    (q) => Object.assign(piece(q, 'cup'), { level: 2 }),
    /level 3 left: piece cup is pinned to level 2/,
  ],
  [
    'not to be stacked',
    (q) => Object.assign(piece(q, 'bowl-b'), { stack: 'none' }),
    /may not stand on one another/,
  ],
  [
    'stacked on a tray',
    (q) => Object.assign(piece(q, 'bowl-b'), { tray: 1 }),
    /may not stand on one another/,
  ],
  [
    'two kinds of stack',
    (q) => Object.assign(piece(q, 'bowl-b'), { stack: 'pile' }),
    /may not stand on one another/,
  ],
  [
    'two clays in a stack',
    (q) => Object.assign(piece(q, 'bowl-b'), { stack: { kind: 'nest', like: 'red', stepMm: 20 } }),
    /not of a kind/,
  ],
  ['unlike sizes', (q) => Object.assign(piece(q, 'bowl-b'), { footprint: circle(109) }), /not of like size/],
  [
    'a bigger one on top',
    (q) => Object.assign(piece(q, 'bowl-b'), { footprint: circle(121) }),
    /bowl-b stands on the/,
  ],
  [
    'a square on a round one',
    (q) => Object.assign(piece(q, 'bowl-b'), { footprint: box(118, 118) }),
    /like size/,
  ],
  [
    'too many in a stack',
    (q) => Object.assign(piece(q, 'bowl-a'), { stack: { kind: 'nest', like: 'white', most: 1 } }),
    /bowl-a, bowl-b are 2 in a stack, at most 1/,
  ],
  [
    'a wrong step',
    (_, p) => Object.assign(placed(p, 'bowl-b'), { zMm: 24 }),
    /said to be 24 mm up its stack, it is 20/,
  ],
  ['in the air', (_, p) => Object.assign(placed(p, 'cup'), { zMm: 1 }), /cup hangs 1 mm above the shelf/],
  ['a stack pulled apart', (_, p) => move(p, 'bowl-b', -90.1, 0), /bowl-b hangs|bowl-a and bowl-b overlap/],
  [
    'a wrong share of area',
    (_, p) => Object.assign(load(p).use, { area: 0.5 }),
    /use of area is given as 0.5/,
  ],
  ['a wrong share of volume', (_, p) => Object.assign(load(p).use, { volume: Number.NaN }), /use of volume/],
  [
    'beyond the bound',
    (_, p) => Object.assign(p.bound, { value: 7.9 }),
    /Value 8 is placed, more than the 7.9/,
  ],
  [
    'a bound of half a load',
    (_, p) => Object.assign(p.bound, { loads: 0.5 }),
    /0.5 loads is no whole number/,
  ],
  [
    'a topmost shelf left bare in the air below the lid',
    (q, p) => {
      const top = p.loads[0]?.levels.at(-1);
      if (!top) return;
      top.pieces = [];
      q.usableHeightMm = top.baseMm + 39;
    },
    /nothing stands on it and it reaches .* with the air above it/,
  ],
  ['a wrong gap', (_, p) => Object.assign(p, { gap: 0.1 }), /The gap is given as 0.1, it is 0/],
  ['no time', (_, p) => Object.assign(p, { elapsedMs: -1 }), /-1 ms is no time/],
  ['no seed', (_, p) => Object.assign(p, { seed: 0.5 }), /0.5 is no seed/],
  [
    'fewer loads than proven',
    (q, p) => {
      q.maxLoads = undefined;
      p.bound.loads = 2;
      p.gap = -1;
    },
    /1 loads, fewer than the 2/,
  ],
];

describe('each fault is found and named', () => {
  it.each(mutations)('%s', (_, change, fault) => {
    const q = problem();
    const p = plan();
    change(q, p);
    expect(
      faultsOf(q, p).some((each) => fault.test(each)),
      faultsOf(q, p).join('\n'),
    ).toBe(true);
  });
});

describe('shapes of shelves', () => {
  const one = (shelf: Problem['shelf'], footprint: Piece['footprint'], x: number, y: number) => {
    const q: Problem = {
      ...problem(),
      shelf,
      edgeGapMm: 0,
      keepOuts: [],
      pieces: [{ id: 'a', footprint, heightMm: 10 }],
    };
    const p: Plan = {
      ...plan(),
      loads: [
        {
          levels: [{ part: 'full', baseMm: 35, posts: null, pieces: [at('a', x, y)] }],
          use: { area: 0, volume: 0 },
        },
      ],
      unplaced: [],
    };
    return faultsOf(q, p).filter((fault) => fault.includes('sticks out'));
  };

  it('an octagon has a flat side below and corners between', () => {
    const octagon = { shape: 'polygon', sides: 8, acrossFlatsMm: 400 } as const;
    expect(one(octagon, circle(20), 0, -190)).toEqual([]);
    expect(one(octagon, circle(20), 0, -191)).toHaveLength(1);
    // The corner is at 200 · (1, tan 22.5°) = (200, 82.8); a box may reach into it, not beyond the slanted side.
    expect(one(octagon, box(20, 20), 190, 72.8)).toEqual([]);
    expect(one(octagon, box(20, 20), 190, 73)).toHaveLength(1);
  });

  it('a hexagon has flat sides below and above, corners left and right', () => {
    const hexagon = { shape: 'polygon', sides: 6, acrossFlatsMm: 400 } as const;
    expect(one(hexagon, circle(2), 229, 0)).toEqual([]);
    expect(one(hexagon, circle(2), 0, 199.5)).toHaveLength(1);
  });

  it('a rectangle begins at its lower left corner', () => {
    const shelf = { shape: 'rectangle', widthMm: 300, depthMm: 200 } as const;
    expect(one(shelf, box(300, 200), 150, 100)).toEqual([]);
    expect(one(shelf, circle(200), 0, 0)).toHaveLength(1);
  });

  it('a box in a circle is inside when its farthest corner is', () => {
    const shelf = { shape: 'round', diameterMm: 500 } as const;
    expect(one(shelf, box(300, 400), 0, 0)).toEqual([]);
    expect(one(shelf, box(300, 400), 0.1, 0)).toHaveLength(1);
  });
});

describe('whatever the numbers are', () => {
  it('answers in words and never throws', () => {
    const number = fc.oneof(fc.double(), fc.constantFrom(0, -1, Number.NaN, Number.POSITIVE_INFINITY));
    fc.assert(
      fc.property(number, number, number, number, (x, y, z, base) => {
        const p = plan();
        Object.assign(placed(p, 'cup'), { xMm: x, yMm: y, zMm: z });
        Object.assign(level(p, 3), { baseMm: base, posts: [z] });
        const faults = faultsOf(problem(), p);
        expect(faults.length).toBeGreaterThan(0);
        expect(faults.every((fault) => typeof fault === 'string' && fault.length > 0)).toBe(true);
      }),
    );
  });

  it('two circles overlap where their centres are nearer than their radii reach, and nowhere else', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 90, noNaN: true }),
        fc.double({ min: 20, max: 90, noNaN: true }),
        fc.double({ min: 0, max: 250, noNaN: true }),
        fc.double({ min: 0, max: 6.28, noNaN: true }),
        (d1, d2, away, angle) => {
          const q: Problem = {
            ...problem(),
            shelf: { shape: 'rectangle', widthMm: 1000, depthMm: 1000 },
            pieceGapMm: 0,
            keepOuts: [],
            pieces: [
              { id: 'a', footprint: circle(d1), heightMm: 10 },
              { id: 'b', footprint: circle(d2), heightMm: 10 },
            ],
          };
          const [bx, by] = [500 + away * Math.cos(angle), 500 + away * Math.sin(angle)];
          const p: Plan = {
            ...plan(),
            unplaced: [],
            loads: [
              {
                levels: [
                  { part: 'full', baseMm: 35, posts: null, pieces: [at('a', 500, 500), at('b', bx, by)] },
                ],
                use: { area: 0, volume: 0 },
              },
            ],
          };
          // Near contact either answer will do.
          const clear = away - d1 / 2 - d2 / 2;
          fc.pre(Math.abs(clear) > 1e-3 && away > 1e-3);
          const overlap = faultsOf(q, p).some((fault) => fault.includes('overlap'));
          expect(overlap).toBe(clear < 0);
        },
      ),
    );
  });
});

it('counts the posts of both sides under every full shelf below half shelves: each stands on the one below', () => {
  const tall = { ...problem(), usableHeightMm: 700, shelves: { full: 2, half: 2 } };
  const levels: Plan['loads'][number]['levels'] = [
    { part: 'full', baseMm: 35, posts: [60], pieces: [] },
    { part: 'full', baseMm: 110, posts: [130], pieces: [] },
    { part: 'left', baseMm: 255, posts: null, pieces: [] },
    { part: 'right', baseMm: 255, posts: null, pieces: [] },
  ];
  const faults = (count: number) => {
    const posts = [
      { heightMm: 130, count: 6 },
      { heightMm: 60, count },
    ];
    const built = { ...plan(), loads: [{ levels, use: { area: 0, volume: 0 } }] };
    return faultsOf({ ...tall, posts }, built).filter((fault) => fault.includes('posts of'));
  };
  expect(faults(6)).toEqual([]);
  expect(faults(5)).toEqual([expect.stringContaining('6 posts of 60 mm are used, there are 5')]);
});
