import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { text } from 'node:stream/consumers';
import { describe, expect, it } from 'vitest';
import { readProblem } from '../../server/cli/pack-problem.ts';
import { Invalid } from '../../server/core/errors.ts';
import type { Plan } from '../../server/kilns/packing/problem.ts';
import { faultsOf } from '../../server/kilns/plan-check.ts';

const problem = (more: object = {}) => ({
  shelf: { shape: 'round', diameterMm: 440 },
  usableHeightMm: 400,
  floorPostMm: 20,
  shelfThicknessMm: 15,
  pieceGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [{ heightMm: 125, count: 6 }],
  iterations: 20,
  seed: 5,
  pieces: [
    { id: 'cup', footprint: { shape: 'circle', diameterMm: 85 }, heightMm: 100 },
    { id: 7, footprint: { shape: 'rectangle', widthMm: 120, depthMm: 80.5 }, heightMm: 40, stack: 'none' },
    {
      id: ' b ',
      footprint: { shape: 'circle', diameterMm: 150 },
      heightMm: 70,
      stack: { kind: 'nest', like: 'white', most: 2, stepMm: 20 },
    },
  ],
  ...more,
});

const refusals = (value: unknown): string[] => {
  try {
    readProblem(value);
    return [];
  } catch (error) {
    if (error instanceof Invalid) return error.errors.map(({ path, message }) => `${path}: ${message}`);
    throw error;
  }
};

const circle = { shape: 'circle', diameterMm: 85 };
const piece = (more: object) => problem({ pieces: [{ id: 'a', footprint: circle, heightMm: 9, ...more }] });

describe('a problem on file', () => {
  it('is read as it stands, a word for a stack or more of it', () => {
    const { problem: read } = readProblem(problem());
    expect(read.pieces.map(({ stack }) => stack)).toEqual([
      undefined,
      { kind: 'none' },
      { kind: 'nest', like: 'white', most: 2, stepMm: 20 },
    ]);
  });

  it.each<[what: string, value: unknown, refusal: RegExp]>([
    ['no object', 5, /^: An object is expected here/],
    ['nothing at all', null, /^: An object/],
    ['an unknown name', problem({ kiln: 1 }), /^kiln: Nothing by this name/],
    ['an unknown name of a piece', piece({ colour: 'red' }), /^pieces.0.colour: Nothing by this name/],
    ['no pieces', problem({ pieces: undefined }), /^pieces: A list of pieces/],
    ['a size of nothing', piece({ heightMm: 0 }), /^pieces.0.heightMm: Between 0.001 and 5000 mm/],
    [
      'a size below nothing',
      piece({ footprint: { ...circle, diameterMm: -3 } }),
      /^pieces.0.footprint.diameterMm: Bet/,
    ],
    ['a huge size', problem({ usableHeightMm: 5001 }), /^usableHeightMm: Between/],
    ['a size in words', piece({ heightMm: '100' }), /^pieces.0.heightMm: Type a number/],
    ['no number', piece({ heightMm: Number.NaN }), /^pieces.0.heightMm: Type a number/],
    ['an unknown shape', problem({ shelf: { shape: 'star' } }), /^shelf.*: One of round, polygon, rectangle/],
    [
      'a shape with another one’s size',
      problem({ shelf: { shape: 'round', widthMm: 4 } }),
      /^shelf.diameterMm/,
    ],
    [
      'a polygon of two sides',
      problem({ shelf: { shape: 'polygon', sides: 2, acrossFlatsMm: 9 } }),
      /^shelf.sides/,
    ],
    ['an unknown stack', piece({ stack: 'tower' }), /^pieces.0.stack.kind: One of nest, rim-to-rim/],
    ['a stack that is neither', piece({ stack: 3 }), /^pieces.0.stack: An object/],
    [
      'two of one name',
      problem({ pieces: [...problem().pieces, ...problem().pieces] }),
      /^pieces.3.id: Another piece/,
    ],
    ['no name', piece({ id: '' }), /^pieces.0.id: /],
    ['a name that cannot be stored', piece({ id: 'a\u0000' }), /^pieces.0.id: /],
    ['half a load', problem({ maxLoads: 1.5 }), /^maxLoads: A whole number/],
    ['no load', problem({ maxLoads: 0 }), /^maxLoads: A whole number from 1/],
    ['for ever', problem({ timeLimitMs: 1e7 }), /^timeLimitMs: Between 1 and 600000/],
    [
      'too many pieces',
      problem({ pieces: new Array(2001).fill(problem().pieces[0]) }),
      /^pieces: At most 2000/,
    ],
    ['halves in words', problem({ halves: 'yes' }), /^halves: Yes or no/],
  ])('is refused with path and reason: %s', (_, value, refusal) => {
    const lines = refusals(value);
    expect(
      lines.some((line) => refusal.test(line)),
      lines.join('\n'),
    ).toBe(true);
  });
});

async function run(args: string[], input: string) {
  const child = spawn(process.execPath, ['--import', 'tsx', 'server/cli/pack.ts', ...args]);
  child.stdin.on('error', () => {}).end(input);
  const [out, err, [code]] = await Promise.all([
    text(child.stdout),
    text(child.stderr),
    once(child, 'close'),
  ]);
  return { out, err, code };
}

describe('the command', () => {
  it('answers a plan that can be built, with the names as they were written', async () => {
    const { out, err, code } = await run(['-'], JSON.stringify(problem()));
    expect({ err, code }).toEqual({ err: '', code: 0 });
    const plan = JSON.parse(out) as Plan;
    const names = plan.loads.flatMap((load) =>
      load.levels.flatMap((level) => level.pieces.map(({ id }) => id)),
    );
    expect(new Set<unknown>(names)).toEqual(new Set(['cup', 7, ' b ']));
    const { problem: read } = readProblem(problem());
    const inside = JSON.parse(out, (key, value) => (key === 'id' ? String(value).trim() : value));
    expect(faultsOf(read, inside)).toEqual([]);
  });

  it('stands what little is worth most on one full shelf, though halves are there', async () => {
    const few = [
      ['a1', 150, 70],
      ['a2', 85, 100],
      ['a3', 120, 200],
      ['b', 60, 60],
    ] as const;
    const pieces = few.map(([id, diameterMm, heightMm]) => ({
      id,
      group: id.slice(0, 1),
      value: id === 'b' ? 0.1 : 1,
      footprint: { shape: 'circle', diameterMm },
      heightMm,
    }));
    const posts = [{ heightMm: 125, count: 24 }];
    // Both groups cannot go into one load: what is worth most is looked for.
    const asked = problem({ halves: true, maxLoads: 1, usableHeightMm: 600, posts, pieces });
    const { out } = await run(['-'], JSON.stringify(asked));
    const { loads, unplaced } = JSON.parse(out) as Plan;
    expect(unplaced.map(({ id }) => id)).toEqual(['b']);
    const shelves = loads.map(({ levels }) => levels.map((level) => [level.part, level.pieces.length]));
    expect(shelves).toEqual([[['full', 3]]]);
  });

  it('ends with 2 and a line for each reason where the problem makes no sense', async () => {
    const { out, err, code } = await run([], JSON.stringify(problem({ shelfThicknessMm: -1, kiln: 'big' })));
    expect({ out, code }).toEqual({ out: '', code: 2 });
    expect(err.trim().split('\n').sort()).toEqual([
      'kiln: Nothing by this name is expected here.',
      'shelfThicknessMm: Between 0 and 5000 mm.',
    ]);
  });

  it.each([
    ['no JSON', [], '{"shelf":'],
    ['no such file', ['no-such-problem.json'], ''],
  ])('ends with 2 for %s', async (_, args, input) => {
    const { out, err, code } = await run(args, input);
    expect({ out, code }).toEqual({ out: '', code: 2 });
    expect(err.trim().length).toBeGreaterThan(10);
    expect(err).not.toContain('    at ');
  });
});
