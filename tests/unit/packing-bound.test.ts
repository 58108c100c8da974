import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boundOf } from '../../server/kilns/packing/bound.ts';
import { pack } from '../../server/kilns/packing/packing.ts';
import type { Piece, Problem } from '../../server/kilns/packing/problem.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';

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
      { numRuns: 25 },
    );
  });
});
