import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  addPiece,
  freeSpots,
  type MoveResult,
  removePiece,
  stillFits,
  tryMove,
} from '../../server/kilns/packing/moves.ts';
import { pack } from '../../server/kilns/packing/packing.ts';
import type { Load, Piece, Plan, Problem } from '../../server/kilns/packing/problem.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';

const round = (id: string, diameterMm: number, heightMm: number, more: Partial<Piece> = {}): Piece => ({
  id,
  footprint: { shape: 'circle', diameterMm },
  heightMm,
  ...more,
});

const KILN: Problem = {
  shelf: { shape: 'round', diameterMm: 500 },
  usableHeightMm: 500,
  shelfThicknessMm: 15,
  pieceGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [{ heightMm: 150, count: 6 }],
  postPositions: [{ xMm: 0, yMm: 220, widthMm: 40, depthMm: 40 }],
  pieces: [
    round('a', 100, 100),
    round('b', 100, 148),
    round('c', 100, 60),
    round('n1', 120, 80, { stack: 'nest' }),
    round('n2', 120, 80, { stack: 'nest' }),
    round('n3', 118, 80, { stack: 'nest' }),
    round('pinned', 90, 60, { level: 1 }),
    round('other', 90, 60, { group: 'elsewhere' }),
  ],
};
const at = (id: string, xMm: number, yMm: number, zMm = 0) => ({ id, xMm, yMm, turned: false, zMm });
const LOAD: Load = {
  levels: [
    { part: 'full', baseMm: 15, posts: [150], pieces: [at('a', 0, 0), at('c', -150, 0)] },
    {
      part: 'full',
      baseMm: 180,
      posts: null,
      pieces: [at('b', 0, 0), at('n1', 150, 0), at('n2', 150, 0, 32)],
    },
  ],
  use: { area: 0, volume: 0 },
};

const refusal = (result: MoveResult) => ('refused' in result ? result.refused : 'not refused');
function made(result: MoveResult): Load {
  if ('refused' in result) throw new Error(result.refused);
  return result.load;
}
const where = (load: Load, id: string) =>
  load.levels.flatMap((level, index) =>
    level.pieces.filter((p) => p.id === id).map((p) => ({ ...p, index })),
  )[0];

/** What the checker says of a load alone, whatever is not in it left out. */
function faults(problem: Problem, load: Load): string[] {
  const inside = new Set(load.levels.flatMap((level) => level.pieces.map(({ id }) => id)));
  const pieces = problem.pieces.filter(({ id }) => inside.has(id));
  const plan: Plan = {
    loads: [load],
    unplaced: [],
    bound: { loads: 1, value: pieces.length },
    gap: 0,
    elapsedMs: 0,
    seed: 1,
  };
  return faultsOf({ ...problem, maxLoads: undefined, pieces }, plan);
}

describe('moving a piece', () => {
  it('puts it where it is said, and the shares follow', () => {
    const load = made(tryMove(KILN, LOAD, 'c', { levelIndex: 1, xMm: -120, yMm: 10, turned: false }));
    expect(where(load, 'c')).toMatchObject({ index: 1, xMm: -120, yMm: 10, zMm: 0 });
    expect(faults(KILN, load)).toEqual([]);
  });

  it('says to which piece it would stand too close, and by how much', () => {
    const to = { levelIndex: 0, xMm: 96, yMm: 0, turned: false };
    expect(refusal(tryMove(KILN, LOAD, 'c', to))).toBe('It would stand 10 mm too close to piece a');
    expect(refusal(tryMove(KILN, LOAD, 'c', { ...to, xMm: 40 }))).toBe(
      'It would stand in the place of piece a',
    );
  });

  it('says how far it would stand out', () => {
    const to = { levelIndex: 1, xMm: -220, yMm: 0, turned: false };
    const over = 'It would stand 20 mm out over the edge of the shelf';
    expect(refusal(tryMove(KILN, LOAD, 'c', to))).toBe(over);
    // The gap that ware keeps from the edge does not count as out.
    const gapped = { ...KILN, edgeGapMm: 15 };
    expect(refusal(tryMove(gapped, LOAD, 'c', to))).toBe(over);
    expect(refusal(tryMove(gapped, LOAD, 'c', { ...to, xMm: -194 }))).toBe(
      'It would stand 9 mm too close to the edge of the shelf',
    );
    for (const [shelf, xMm] of [
      [{ shape: 'polygon', sides: 4, acrossFlatsMm: 500 }, -220],
      [{ shape: 'rectangle', widthMm: 500, depthMm: 500 }, 30],
    ] as const)
      expect(refusal(tryMove({ ...gapped, shelf }, LOAD, 'c', { ...to, xMm, yMm: 100 }))).toBe(over);
  });

  it('says that posts are too short, with the sum', () => {
    const to = { levelIndex: 0, xMm: 150, yMm: 0, turned: false };
    expect(refusal(tryMove(KILN, LOAD, 'b', to))).toBe(
      'Too tall for the posts of level 1: 148 mm and 12 mm of air need 160, the posts are 150',
    );
  });

  it('keeps off the posts of a level that carries one, not of the topmost', () => {
    const to = { levelIndex: 0, xMm: 0, yMm: 160, turned: false };
    expect(refusal(tryMove(KILN, LOAD, 'c', to))).toContain('a post');
    expect(faults(KILN, made(tryMove(KILN, LOAD, 'c', { ...to, levelIndex: 1 })))).toEqual([]);
  });

  it('takes the place right beside when it was meant', () => {
    const load = made(tryMove(KILN, LOAD, 'c', { levelIndex: 1, xMm: -199, yMm: -42, turned: false }));
    expect(Math.hypot((where(load, 'c')?.xMm ?? 0) + 199, (where(load, 'c')?.yMm ?? 0) + 42)).toBeLessThan(5);
    expect(faults(KILN, load)).toEqual([]);
  });

  it('takes what stands on it along', () => {
    const load = made(tryMove(KILN, LOAD, 'n1', { levelIndex: 1, xMm: -150, yMm: 0, turned: false }));
    expect(where(load, 'n2')).toMatchObject({ index: 1, xMm: -150, zMm: 32 });
    expect(faults(KILN, load)).toEqual([]);
  });

  it('stacks it when it is dropped onto its like', () => {
    const load = made(addPiece(KILN, LOAD, 'n3', { levelIndex: 1, xMm: 160, yMm: 5, turned: false }));
    expect(where(load, 'n3')).toMatchObject({ xMm: 150, yMm: 0, zMm: 64 });
    expect(faults(KILN, load)).toEqual([]);
  });

  it('keeps pins, knows its levels and its pieces', () => {
    const spot = { levelIndex: 1, xMm: -150, yMm: 0, turned: false };
    expect(refusal(addPiece(KILN, LOAD, 'pinned', spot))).toBe('It is pinned to level 1');
    expect(refusal(tryMove(KILN, LOAD, 'nobody', spot))).toBe('Piece nobody is not in this load');
    expect(refusal(tryMove(KILN, LOAD, 'c', { ...spot, levelIndex: 7 }))).toBe('There is no such level');
    expect(refusal(tryMove(KILN, LOAD, 'c', { ...spot, xMm: Number.NaN }))).toBe(
      'That is no place on the shelf',
    );
    expect(refusal(addPiece(KILN, LOAD, 'other'))).toBe('It is fired in another way than piece a');
    expect(refusal(addPiece(KILN, LOAD, 'a'))).toBe('Piece a is in this load already');
  });
});

describe('adding and taking out', () => {
  it('finds the best place by itself', () => {
    const load = made(addPiece(KILN, LOAD, 'pinned'));
    expect(where(load, 'pinned')?.index).toBe(0);
    expect(faults(KILN, load)).toEqual([]);
  });

  it('lets down what stood on a piece that is taken out', () => {
    const load = removePiece(KILN, LOAD, 'n1');
    expect(where(load, 'n2')).toMatchObject({ zMm: 0 });
    expect(faults(KILN, load)).toEqual([]);
  });

  it('says what still fits, and that is true', () => {
    const openings = stillFits(KILN, LOAD);
    expect(openings.map(({ levelIndex }) => levelIndex)).toEqual([0, 1]);
    for (const { levelIndex, circleMm, heightMm } of openings) {
      const problem = { ...KILN, pieces: [...KILN.pieces, round('new', circleMm, heightMm)] };
      const [spot] = freeSpots(problem, LOAD, round('new', circleMm, heightMm), levelIndex);
      expect(spot).toBeDefined();
      expect(faults(problem, made(addPiece(problem, LOAD, 'new', spot)))).toEqual([]);
      const larger = round('new', circleMm + 2, heightMm);
      expect(freeSpots({ ...KILN, pieces: [...KILN.pieces, larger] }, LOAD, larger, levelIndex)).toEqual([]);
    }
  });
});

describe('whatever is moved', () => {
  it('every place offered is legal, and every move made leaves a load that can be built', () => {
    const size = fc.integer({ min: 40, max: 180 });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(size, size, fc.boolean(), fc.boolean()), { minLength: 3, maxLength: 14 }),
        fc.boolean(),
        fc.nat(),
        fc.integer({ min: -260, max: 260 }),
        fc.integer({ min: -260, max: 260 }),
        fc.boolean(),
        (sizes, halves, pick, xMm, yMm, turned) => {
          const pieces = sizes.map(
            ([w, h, isRound, nests], i): Piece => ({
              id: `p${i}`,
              heightMm: h,
              footprint: isRound
                ? { shape: 'circle', diameterMm: w }
                : { shape: 'rectangle', widthMm: w, depthMm: 100 },
              ...(nests ? { stack: 'nest' as const } : {}),
            }),
          );
          const problem: Problem = { ...KILN, halves, maxLoads: 1, iterations: 5, pieces };
          const [load] = pack(problem, { clock: () => 0 }).loads;
          if (!load) return;
          const piece = pieces[pick % pieces.length] as Piece;
          const levelIndex = pick % load.levels.length;
          const inside = load.levels.some((level) => level.pieces.some(({ id }) => id === piece.id));
          const to = { levelIndex, xMm, yMm, turned };
          const go = inside ? tryMove(problem, load, piece.id, to) : addPiece(problem, load, piece.id, to);
          if ('load' in go) expect(faults(problem, go.load)).toEqual([]);
          for (const spot of freeSpots(problem, load, piece)) {
            const put = inside
              ? tryMove(problem, load, piece.id, spot)
              : addPiece(problem, load, piece.id, spot);
            expect(faults(problem, made(put))).toEqual([]);
          }
          const out = removePiece(problem, load, piece.id);
          if (out.levels.some((level) => level.pieces.length > 0)) expect(faults(problem, out)).toEqual([]);
        },
      ),
      { numRuns: Number(process.env.PACK_RUNS ?? 60) },
    );
  });
});
