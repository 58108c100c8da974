import type { z } from 'zod';
import { findBucket } from '../server/buckets/service/index.ts';
import { solidsMassFraction } from '../server/buckets/slurry.ts';
import { DAY, HOUR, type Instant, MINUTE } from '../server/core/clock.ts';
import { CRITICAL_FRACTION, solidsVolumeFraction, suction } from '../server/ware/coat.ts';
import {
  addRunPair,
  addTile,
  bisqueTestBody,
  coatTileForm,
  keepBisqueTest,
  listClays,
  listOwn,
  movePieces,
  strikeTile,
} from '../server/ware/service/index.ts';
import { generator, normal } from './history.ts';
import type { DemoName } from './people.ts';
import { type By, type Lot, registerLot } from './ware.ts';

const BUFF = 'Buff stoneware';
const WHITE = 'White stoneware';

/** What a tile of the demo came to: seconds in a bucket that had this gravity, so many days ago. */
interface DemoTile {
  daysAgo: number;
  gravity: number;
  seconds: number;
  /** Weighed once more when it was dry. */
  dry?: true;
  struck?: string;
  /** It got so much more than it should have. */
  off?: number;
}

interface DemoPair {
  clay: string;
  code: string;
  /** What clings anyway, dry g/cm², and what one root of a second adds at φ/(φc − φ) = 1. */
  clings: number;
  perRoot: number;
  tiles: DemoTile[];
}

/** One pair that is well known, one that leans on others, one that has hardly begun. Figures are invented, with no source. */
const PAIRS: DemoPair[] = [
  {
    clay: BUFF,
    code: 'CH',
    clings: 0.014,
    perRoot: 0.0285,
    tiles: [
      { daysAgo: 20, gravity: 1.478, seconds: 2 },
      { daysAgo: 20, gravity: 1.478, seconds: 4, dry: true },
      { daysAgo: 20, gravity: 1.478, seconds: 7 },
      { daysAgo: 17, gravity: 1.462, seconds: 3 },
      { daysAgo: 17, gravity: 1.462, seconds: 6, dry: true },
      { daysAgo: 11, gravity: 1.499, seconds: 2 },
      { daysAgo: 11, gravity: 1.499, seconds: 3 },
      { daysAgo: 11, gravity: 1.499, seconds: 5, dry: true },
    ],
  },
  {
    clay: BUFF,
    code: 'TB',
    clings: 0.012,
    perRoot: 0.0312,
    tiles: [
      { daysAgo: 19, gravity: 1.43, seconds: 2 },
      { daysAgo: 19, gravity: 1.43, seconds: 4 },
      { daysAgo: 19, gravity: 1.43, seconds: 7, dry: true },
    ],
  },
  {
    clay: BUFF,
    code: 'HG',
    clings: 0.016,
    perRoot: 0.0262,
    tiles: [
      { daysAgo: 18, gravity: 1.46, seconds: 3 },
      {
        daysAgo: 18,
        gravity: 1.46,
        seconds: 5,
        off: 1.8,
        struck: 'Weighed with the drip still on it, before the sponge.',
      },
    ],
  },
];

/** Both faces of a tile of 50 by 60 mm. */
const TILE_CM2 = 60;

/** Tests of bisque, what was dipped to see how long to count, and which two glazes run. */
export async function furnishBench(by: By, now: Instant): Promise<void> {
  const wren = (daysAgo: number) => by('Wren', now - daysAgo * DAY);
  const clays = await listClays(wren(21));
  const clayId = (name: string) => clays.find((clay) => clay.name === name)?.id ?? 0;
  const test = (daysAgo: number, clay: string, body: z.input<typeof bisqueTestBody>) =>
    keepBisqueTest(wren(daysAgo), clayId(clay), bisqueTestBody.parse(body));

  await test(21, BUFF, {
    method: 'boiled',
    load: 1,
    note: 'Five bars from the foot of Brook.',
    specimens: [
      { dryGrams: 52.31, saturatedGrams: 58.32, suspendedGrams: 32.42 },
      { dryGrams: 54.08, saturatedGrams: 60.19, suspendedGrams: 33.5 },
      { dryGrams: 51.77, saturatedGrams: 57.8, suspendedGrams: 32.09 },
      { dryGrams: 53.4, saturatedGrams: 59.44, suspendedGrams: 33.08 },
      { dryGrams: 52.9, saturatedGrams: 58.85, suspendedGrams: 32.8 },
    ],
  });
  await test(21, BUFF, {
    method: 'soaked',
    specimens: [
      { dryGrams: 52.3, soakedGrams: 57.4 },
      { dryGrams: 54.1, soakedGrams: 59.5 },
      { dryGrams: 51.8, soakedGrams: 56.9 },
    ],
  });
  await test(12, WHITE, {
    method: 'boiled',
    load: 1,
    note: 'Three bars from its top level.',
    specimens: [
      { dryGrams: 50.62, saturatedGrams: 54.66, suspendedGrams: 31.38 },
      { dryGrams: 51.15, saturatedGrams: 55.36, suspendedGrams: 31.7 },
      { dryGrams: 50.9, saturatedGrams: 55.02, suspendedGrams: 31.57 },
    ],
  });

  for (const pair of PAIRS) await dipTiles(by, pair, now);
  await addRunPair(wren(15), { a: 'OS', b: 'TB', why: 'Oat Satin over Tide Blue ran to the shelf.' });
}

async function dipTiles(
  by: By,
  { clay, code, clings, perRoot, tiles }: DemoPair,
  now: Instant,
): Promise<void> {
  const random = generator(`${clay} in ${code}`);
  const scales = (grams: number) => Math.round(grams * 10) / 10;
  for (const [nth, { daysAgo, gravity, seconds, dry, struck, off = 1 }] of tiles.entries()) {
    const act = by('Wren', now - daysAgo * DAY + nth * 4 * MINUTE);
    const { solidsDensity } = (await findBucket(act, code)).facts;
    const phi = solidsVolumeFraction({ specificGravity: gravity, solidsDensity });
    const coat = clings + perRoot * suction(phi, CRITICAL_FRACTION) * Math.sqrt(seconds);
    const dryCoat = coat * off * (1 + 0.03 * normal(random)) * TILE_CM2;
    const beforeGrams = scales(41 + 4 * random());
    const { id } = await addTile(
      act,
      coatTileForm.parse({
        clay,
        bucket: code,
        seconds,
        areaCm2: TILE_CM2,
        beforeGrams,
        afterGrams: scales(beforeGrams + dryCoat / solidsMassFraction(gravity, solidsDensity)),
        ...(dry && { dryGrams: scales(beforeGrams + dryCoat) }),
        specificGravity: gravity,
      }),
    );
    if (struck) await strikeTile(by('Wren', act.now + HOUR), id, { why: struck });
  }
}

/** Something done to pieces at the bench, in minutes before now. */
type BenchAct = [
  minutes: number,
  ...(Parameters<typeof movePieces> extends [unknown, ...infer Rest] ? Rest : never),
];

/** Ware at the glazing bench just now: dry, wet, waxed, through, and one that asks for a yes. */
export async function fillBench(by: By, now: Instant): Promise<void> {
  const bring = (who: DemoName, piece: Lot['piece'], made: number) =>
    registerLot(by, { who, piece: { ...piece, begins: 'bisqued' }, made }, now);
  const at = async (who: DemoName, ...acts: BenchAct[]): Promise<void> => {
    for (const [minutes, ...what] of acts.sort((a, b) => b[0] - a[0]))
      await movePieces(by(who, now - minutes * MINUTE), ...what);
  };

  const bowls = await bring('Ida', { form: 'bowl', howMany: 2, place: 'Glaze room, left' }, 8);
  const [first = 0, second = 0] = bowls;
  const lined = (one: number, beforeGrams: number, afterGrams: number, later: number): BenchAct[] => [
    [
      14 * 60 - (one - first) * 6,
      'coat',
      [one],
      { bucket: 'TB', face: 'inside', way: 'pour', seconds: 4, beforeGrams, afterGrams },
    ],
    [15 + one - first, 'weigh', [one], { grams: later, moment: 'later' }],
  ];
  await at(
    'Ida',
    [15 * 60, 'plan', bowls, { inside: 'TB', outside: 'CH', over: [] }],
    [14.5 * 60, 'waxed', bowls, {}],
    ...lined(first, 612, 651, 632),
    ...lined(second, 598, 638, 619),
  );

  const beakers = await bring('Ida', { form: 'beaker', howMany: 2 }, 6);
  const wet = { bucket: 'CH', face: 'inside', way: 'pour', seconds: 4 } as const;
  await at(
    'Ida',
    [200, 'plan', beakers, { inside: 'CH', outside: 'TB', over: [] }],
    [190, 'waxed', beakers, {}],
    ...beakers.map((one, i): BenchAct => {
      const beforeGrams = 274 + 9 * i;
      return [180 - 4 * i, 'coat', [one], { ...wet, beforeGrams, afterGrams: beforeGrams + 30.5 + i }];
    }),
  );

  const cups = await bring('Petra', { form: 'cup', howMany: 4 }, 7);
  const bare = [318, 305, 322, 311];
  const weighings = (minutes: number, more: number[], moment: 'bare' | 'glazed' | 'later'): BenchAct[] =>
    cups.map((one, i) => [minutes - i, 'weigh', [one], { grams: (bare[i] ?? 0) + (more[i] ?? 0), moment }]);
  await at(
    'Petra',
    [150, 'plan', cups, { inside: 'CH', outside: 'TB', over: [] }],
    [148, 'waxed', cups, {}],
    ...weighings(140, [0, 0, 0, 0], 'bare'),
    [126, 'coat', cups, { bucket: 'CH', face: 'inside', way: 'pour', seconds: 3 }],
    ...weighings(124, [31, 29.5, 32, 30.5], 'glazed'),
    ...weighings(65, [28.3, 27, 29.2, 27.9], 'later'),
    ...weighings(6, [26.1, 24.8, 26.9, 25.7], 'later'),
  );

  const vase = await bring('Noor', { form: 'vase', howMany: 1 }, 6);
  await at(
    'Noor',
    [95, 'plan', vase, { inside: 'CH', outside: 'TB', over: ['WD'] }],
    [80, 'waxed', vase, {}],
  );

  const bowl = await bring('Tomas', { form: 'bowl', howMany: 1, widthMm: 180, heightMm: 80 }, 9);
  await at(
    'Tomas',
    [48 * 60, 'plan', bowl, { inside: 'TB', outside: 'CH', over: [] }],
    [47.5 * 60, 'waxed', bowl, {}],
    [47 * 60, 'coat', bowl, { bucket: 'TB', face: 'inside', way: 'pour', seconds: 4 }],
    [200, 'inside-dry', bowl, { how: 'cheek' }],
    [
      190,
      'coat',
      bowl,
      { bucket: 'CH', face: 'outside', way: 'dip', seconds: 4, beforeGrams: 846, afterGrams: 887 },
    ],
    [30, 'scratch', bowl, { position: 2, mm: 0.5 }],
  );

  // What was bisqued too far, for all to see.
  const own = await listOwn(by('Lowell', now), { limit: 200 });
  const hard = own.flatMap(({ number, clay }) => (clay?.name === WHITE ? number : []));
  await at('Lowell', [70, 'plan', hard, { inside: 'CH', outside: 'CH', over: [] }]);

  const plates = await bring('Lowell', { form: 'plate', howMany: 1, widthMm: 230 }, 9);
  await at(
    'Lowell',
    [27 * 60, 'waxed', plates, {}],
    [26 * 60, 'coat', plates, { bucket: 'TB', face: 'all', way: 'dip', seconds: 3 }],
    [100, 'coat', plates, { bucket: 'OS', face: 'over', way: 'dip', seconds: 2, heldBack: true }],
    [20, 'hand-in', plates, { heldBack: true }],
  );
}
