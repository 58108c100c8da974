import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import {
  addRunPair,
  addTile,
  bisqueTestBody,
  coatTileForm,
  keepBisqueTest,
  listClays,
  type MovePath,
  movePieces,
  registerForm,
  registerPieces,
  setTrait,
  strikeBisqueTest,
  strikeTile,
  traitForm,
} from '../../server/ware/service/index.ts';
import type { Studio } from '../helpers/studio.ts';
import { past } from './full-ware.ts';

/** What stands for a parameter in the address of a page about the glazing bench. */
export interface BenchThings {
  clay: number;
  tile: number;
  /** Of the clay, boiled. */
  test: number;
  /** Pieces at the bench by the step that they are at. */
  pieces: Record<(typeof STEPS)[number], number>;
}

const STEPS = [
  'planned',
  'waxed',
  'lined',
  'weighed',
  'dried',
  'overlapped',
  'through',
  'scratched',
] as const;

/** Tiles, tests of bisque and pieces at every step of the bench; `name` is that of the clay, and of everything else. */
export async function someBench(studio: Studio, name: string): Promise<BenchThings> {
  const { technician: wren, member } = studio.people;
  const { clay, test } = await past(studio, 3 * DAY).as(wren, async (act) => {
    const clay = (await listClays(act)).find((one) => one.name === name)?.id ?? 0;
    const keep = (body: object) => keepBisqueTest(act, clay, bisqueTestBody.parse({ note: name, ...body }));
    const specimens = [
      { dryGrams: 52.31, saturatedGrams: 59.32, suspendedGrams: 32.42 },
      { dryGrams: 54.08, saturatedGrams: 61.19, suspendedGrams: 33.5 },
    ];
    const wrong = await keep({ method: 'boiled', specimens: specimens.slice(1) });
    await strikeBisqueTest(act, clay, wrong, { reason: name });
    const test = await keep({ method: 'boiled', specimens });
    await keep({ method: 'soaked', specimens: [{ dryGrams: 52.31, soakedGrams: 57.1 }] });
    await setTrait(act, 'LONG', traitForm.parse({ isRunny: true, trayMm: 20, wantedCoatMm: 0.5 }));
    await addRunPair(act, { a: 'LONG', b: 'LONG', why: name });
    await addRunPair(act, { a: 'READY', b: 'STIR', why: 'It runs a hand’s breadth at the rim.' });
    return { clay, test };
  });

  const dip = (bucket: string, seconds: number, afterGrams: number, more: object = {}) =>
    studio.as(wren, (act) =>
      addTile(
        act,
        coatTileForm.parse({
          ...{ clay: name, bucket, seconds, areaCm2: 60, beforeGrams: 42, afterGrams },
          ...more,
        }),
      ),
    );
  const tiles = [
    await dip('READY', 2, 47.4, { note: name }),
    await dip('READY', 3, 48.4),
    await dip('READY', 5, 49.6, { dryGrams: 46.2 }),
    await dip('READY', 8, 51.2, { dryGrams: 45.2, note: name }),
    await dip('READY', 4, 48.3, { specificGravity: 1.43 }),
    await dip('READY', 4, 50.1, { specificGravity: 1.5 }),
    await dip('READY', 4, 61),
  ];
  const wrong = await dip('READY', 3, 58);
  await studio.as(wren, (act) => strikeTile(act, wrong.id, { why: name }));
  await dip('LONG', 3, 48.2);
  await dip('THICK', 3, 48.2);
  await dip('THICK', 3, 48.4);

  const at = (before: number, path: MovePath, pieces: number[], body: object = {}) =>
    past(studio, before).as(member, (act) => movePieces(act, path, pieces, body as never));
  const bring = async (more: object, plan: object): Promise<number[]> => {
    const command = registerForm.parse({ form: 'bowl', cone: '6', clay: name, begins: 'bisqued', ...more });
    const { numbers } = await past(studio, 4 * DAY).as(member, (act) => registerPieces(act, command));
    await at(3 * DAY, 'plan', numbers, { over: [], ...plan });
    return numbers;
  };
  const waxed = async (more: object, plan: object): Promise<number[]> => {
    const numbers = await bring(more, plan);
    await at(3 * DAY, 'waxed', numbers);
    return numbers;
  };
  const line = { bucket: 'LONG', face: 'inside', way: 'pour', seconds: 4 };
  const both = { inside: 'LONG', outside: 'READY' };

  const planned = await bring(
    { howMany: 4, mark: name.slice(0, 30), place: name },
    { ...both, over: ['STIR', 'LONG'] },
  );
  const waxedOnes = await waxed({ form: 'vase' }, both);
  const lined = await waxed({ howMany: 3 }, both);
  await at(2 * HOUR, 'coat', lined, line);
  const weighed = await waxed({ form: 'cup' }, { ...both, outside: 'THICK' });
  await at(3 * HOUR, 'coat', weighed, { ...line, beforeGrams: 312, afterGrams: 342 });
  for (const [hours, grams] of [
    [2, 339],
    [1, 336.4],
    [0.1, 334.2],
  ] as const)
    await at(hours * HOUR, 'weigh', weighed, { grams, moment: 'later' });
  const dried = await waxed({}, both);
  await at(20 * HOUR, 'coat', dried, { ...line, beforeGrams: 612, afterGrams: 652 });
  await at(MINUTE, 'weigh', dried, { grams: 633, moment: 'later' });
  const overlapped = await waxed({}, { outside: 'READY', over: ['STIR'] });
  await at(0, 'coat', overlapped, {
    bucket: 'READY',
    face: 'outside',
    way: 'dip',
    seconds: 3,
    beforeGrams: 600,
    afterGrams: 640,
  });
  const through = await waxed({ form: 'plate' }, { inside: 'LONG', outside: 'LONG' });
  await at(2 * DAY, 'coat', through, { bucket: 'LONG', face: 'all', way: 'dip', seconds: 3 });
  const scratched = await waxed({}, both);
  await at(30 * HOUR, 'coat', scratched, { ...line, beforeGrams: 612, afterGrams: 652 });
  await at(12 * HOUR, 'inside-dry', scratched, { how: 'cheek' });
  await at(0, 'coat', scratched, {
    bucket: 'READY',
    face: 'outside',
    way: 'dip',
    seconds: 3,
    heldBack: true,
  });
  await at(0, 'scratch', scratched, { position: 2, mm: 1.4 });

  const first = ([number = 0]: number[]): number => number;
  return {
    clay,
    test,
    tile: tiles[0]?.id ?? 0,
    pieces: {
      planned: first(planned),
      waxed: first(waxedOnes),
      lined: first(lined),
      weighed: first(weighed),
      dried: first(dried),
      overlapped: first(overlapped),
      through: first(through),
      scratched: first(scratched),
    },
  };
}
