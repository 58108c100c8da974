import { KINDS, type KindPath } from '../../server/buckets/kinds.ts';
import {
  addCup,
  addFloat,
  addInstrument,
  bucketBody,
  calibrateFloat,
  createBucketWithRecipe,
  recordAct,
  voidEvent,
} from '../../server/buckets/service/index.ts';
import { DAY } from '../../server/core/clock.ts';
import { createRecipe, reviseRecipe } from '../../server/materials/service/index.ts';
import { invite, makeResetLink } from '../../server/members/service/links.ts';
import type { Studio } from '../helpers/studio.ts';
import { aUsedTablet } from '../helpers/tablet.ts';
import { someBatches, someTiles } from './full-batches.ts';
import { type BenchThings, someBench } from './full-bench.ts';
import { type FeeThings, someFees, somePrices } from './full-fees.ts';
import { someHooks } from './full-hooks.ts';
import { type KilnThings, someKilns } from './full-kilns.ts';
import { type SafetyThings, someSafety, someStock } from './full-safety.ts';
import { someWare, type WareThings } from './full-ware.ts';

/** What stands for a parameter in an address. */
export interface Things {
  recipe: number;
  welcome: string;
  reset: string;
  /** The tablet's cookie, what it calls somebody, the number of something recorded there, and that person's card. */
  tablet: { cookie: string; as: string; number: number; card: string };
  ware: WareThings;
  bench: BenchThings;
  kilns: KilnThings;
  safety: SafetyThings;
  fees: FeeThings;
}

/** Codes of buckets that between them are in every state that a page can show. */
export const STATES = [
  'READY',
  'STIR',
  'THICK',
  'THIN',
  'FULL',
  'UNREAD',
  'ADDED',
  'TEST',
  'STOP',
  'HUNG',
  'BARE',
  'LONG',
  'GONE',
  'STIFF',
  'RECLAIM',
  'MIXED',
];

const UNBROKEN = 'Tidewater'.repeat(6);
const LINES = [
  { material: 'Potash feldspar', parts: 45, density: 2.57 },
  { material: UNBROKEN, parts: 30, density: 2.65 },
  { material: 'Whiting', parts: 25, density: 2.71 },
  { material: 'Red iron oxide', parts: 8, density: 5.2 },
];

/** Fills a studio with one of everything, names of every length among them. */
export async function fillStudio(studio: Studio): Promise<Things> {
  const { manager, technician, member } = studio.people;
  await studio.aPerson('technician', `${UNBROKEN} Maximiliana`);
  const record = (code: string, path: KindPath, body: object, who = technician) =>
    studio.as(who, (act) => recordAct(act, code, path, KINDS[path].body.parse(body) as never));

  await studio.aBucket({ code: 'READY', sg: 1.46, name: 'Tide Blue' });
  await studio.aBucket({ code: 'STIR', sg: 1.46, stirredMinutesAgo: 30 });
  await studio.aBucket({ code: 'THICK', sg: 1.52 });
  await studio.aBucket({ code: 'THIN', sg: 1.4 });
  await studio.aBucket({ code: 'FULL', sg: 1.56, litres: 25 });
  await studio.aBucket({ code: 'UNREAD' });
  await studio.aBucket({ code: 'ADDED', sg: 1.46, hasSolubles: true });
  for (const code of ['TEST', 'STOP', 'HUNG', 'GONE']) await studio.aBucket({ code, sg: 1.46 });
  await studio.aBucket({ code: 'BARE', litres: null });
  await record('ADDED', 'top-ups', { kind: 'rinse', litres: 2 });
  await record('TEST', 'service', { state: 'on-test' });
  await record('GONE', 'service', { state: 'retired', reason: 'Nobody liked it' });
  for (const code of ['STOP', 'HUNG']) await record(code, 'problems', { problem: 'contaminated' }, member);
  await record('HUNG', 'tags', {});
  await record('READY', 'problems', { problem: 'smell' }, member);
  await aStiffOne(studio, record);
  await aLongLife(studio, record);
  await someStock(studio, UNBROKEN);
  await someBatches(studio, UNBROKEN, LINES);
  await someTiles(studio, UNBROKEN);
  await somePrices(studio, UNBROKEN);
  await someHooks(studio, UNBROKEN);
  const ware = await someWare(studio, UNBROKEN);
  const bench = await someBench(studio, UNBROKEN);
  const kilns = await someKilns(studio, UNBROKEN, UNBROKEN);

  for (const name of ['Ana', 'Bo', 'Bo', 'Cleo', 'Dov', 'Edda', 'Fay', 'Gil', 'Hana', 'Juno'])
    await studio.aPerson('member', name);
  const tablet = await aUsedTablet(studio, 'READY');
  const safety = await someSafety(studio, UNBROKEN, ware.clay);
  const fees = await someFees(studio, UNBROKEN, ware.household);

  return studio.as(manager, async (act) => {
    const cup = { waterC: 20, resolutionG: 1 };
    await addCup(act, { code: 'C1', name: 'Enamel cup', tareG: 100, waterG: 300, ...cup });
    await addCup(act, { code: 'CUP-TWO-1234', name: UNBROKEN, tareG: 31.5, waterG: 133, ...cup });
    for (const code of ['S1', 'S2'])
      await addInstrument(act, { kind: 'scale', code, name: UNBROKEN, resolutionG: 0.1 });
    for (const code of ['H1', 'H2'])
      await addInstrument(act, { kind: 'hydrometer', code, name: UNBROKEN, scale: 'twaddell', division: 2 });
    await addInstrument(act, { kind: 'flow-cup', code: 'V1', name: UNBROKEN });
    await addFloat(act, { code: 'BARE', name: UNBROKEN });
    for (const code of ['F1', 'FLOAT-TWO-12']) {
      await addFloat(act, { code, name: UNBROKEN });
      const points = [
        { millimetres: 12, specificGravity: 1.61 },
        { millimetres: 20, specificGravity: 1.5 },
        { millimetres: 30, specificGravity: 1.36 },
      ];
      await calibrateFloat(act, code, { points });
    }
    const { recipeId } = await createRecipe(act, UNBROKEN, { lines: LINES, hasSolubles: false });
    await reviseRecipe(act, recipeId, { lines: LINES.slice(1), hasSolubles: true });
    const welcome = await invite(act, { email: 'newcomer@millrace.example', role: 'member' });
    const reset = await makeResetLink(act, { email: member.email });
    const made = { tablet, ware, bench, kilns, safety, fees };
    return { recipe: recipeId, welcome: welcome.secret, reset: reset.secret, ...made };
  });
}

type Recording = (code: string, path: KindPath, body: object) => Promise<{ event: { number: number } }>;

/** In band and stiff, with a band of flow, pairs of its settling, one of them begun; and the reclaim beside it. */
async function aStiffOne(studio: Studio, record: Recording): Promise<void> {
  const make = (more: object) =>
    studio.as(studio.people.technician, (act) =>
      createBucketWithRecipe(
        act,
        bucketBody.parse({ capacityLitres: 25, target: { aim: 1.46 }, solidsDensity: 2.6, ...more }),
      ),
    );
  await make({ code: 'STIFF', name: 'Weir Foam', flow: { low: 18, high: 30 } });
  await make({ code: 'RECLAIM', name: 'Millpond', isReclaim: true });
  for (const code of ['STIFF', 'RECLAIM']) {
    await record(code, 'setup', { litres: 18, specificGravity: 1.46 });
    await record(code, 'readings', { method: 'hydrometer', value: 1.46 });
  }
  for (const later of [1.44, 1.441, 1.47, 1.438])
    await record('STIFF', 'settlings', { fresh: 1.46, later, minutes: 10 });
  await record('STIFF', 'settlings', { fresh: 1.46 });
  await record('STIFF', 'flows', { seconds: 41.5 });
  await record('RECLAIM', 'flows', { word: 'thin' });
}

/** A bucket with a long name and three weeks behind it, in which everything happened. */
async function aLongLife(studio: Studio, record: Recording): Promise<void> {
  const { technician } = studio.people;
  await studio.as(technician, (act) =>
    createBucketWithRecipe(
      act,
      bucketBody.parse({
        code: 'LONG',
        name: UNBROKEN,
        place: UNBROKEN,
        capacityLitres: 25,
        bottomMm: 280,
        topMm: 310,
        heightMm: 380,
        coneFrom: '5½',
        coneTo: '6',
        atmosphere: 'reduction',
        careNotes: `Runs where it pools. ${UNBROKEN}`,
        rinseBucket: UNBROKEN,
        target: { aim: 1.46 },
        recipe: LINES,
        hasSolubles: true,
      }),
    ),
  );
  const at = (daysAgo: number) => new Date(studio.clock.now() - daysAgo * DAY).toISOString();
  await record('LONG', 'setup', { litres: 24, specificGravity: 1.48, happenedAt: at(20) });
  for (let day = 19; day > 3; day -= 2) {
    const reading = { method: 'hydrometer', value: 1.46 + day / 400, confirm: true, happenedAt: at(day) };
    await record('LONG', 'readings', { ...reading, note: day === 9 ? UNBROKEN : 'as usual' });
    await record('LONG', 'dippings', { pieces: 12, stirred: true, happenedAt: at(day - 0.5) });
  }
  await record('LONG', 'top-ups', { kind: 'water', litres: 5, happenedAt: at(10) });
  await record('LONG', 'readings', { method: 'hydrometer', value: 1.3, stirred: false, happenedAt: at(8.2) });
  const wrong = await record('LONG', 'readings', { method: 'hydrometer', value: 1.6, happenedAt: at(6.1) });
  await studio.as(technician, (act) => voidEvent(act, 'LONG', wrong.event.number, 'Wrong bucket'));
  await record('LONG', 'sievings', { happenedAt: at(2) });
  await record('LONG', 'readings', { method: 'hydrometer', value: 1.53, confirm: true, happenedAt: at(0.1) });
}
