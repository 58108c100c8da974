import type { Act } from '../../server/core/actor.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { pictureIn } from '../../server/core/files.ts';
import {
  approve,
  cancel,
  careBody,
  changeKilnSettings,
  checkBeforeFiring,
  checkForm,
  correctOutcome,
  findKiln,
  gasForm,
  type KilnNow,
  keepLog,
  kilnSettings,
  leaveOut,
  loadLevel,
  makeFeed,
  noteCare,
  noteGasLine,
  noteReading,
  openKiln,
  outcomeForm,
  packLog,
  pin,
  planLoad,
  readCones,
  retireKiln,
  retireSchedule,
  scheduleBody,
  sendLog,
  sendLogForm,
  showPlan,
  shutOff,
  startFiring,
  strikeOutEvent,
  unloadForm,
  unloadKiln,
  writeSchedule,
  writeUsualSchedules,
} from '../../server/kilns/service/index.ts';
import type { Firing } from '../../server/ware/firing.ts';
import { movePieces } from '../../server/ware/service/index.ts';
import { type ALoad, aLoadedKiln } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, BISQUE, GLAZE, pageOf, readAs, readyPieces } from '../helpers/loads.ts';
import type { Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';
import { past } from './full-ware.ts';

/** What stands for a parameter in the address of a page about kilns. */
export interface KilnThings {
  /** Loads by their state, or by what is odd about them; and a piece that is in each, or was. */
  loads: Record<(typeof LOADS)[number], number>;
  pieceIn: Record<'proposed' | 'unloaded', number>;
  /** Waits for the firing of the proposed load, and is left out of it. */
  leftOut: number;
  /** Pieces that came out of a kiln and went on from there, by where they are. */
  pieces: Record<'in-load' | 'fired' | 'refire' | 'left-behind', number>;
  /** A log of the cooling load that was sent, with its columns not chosen yet. */
  logFile: string;
}

const LOADS = [
  'proposed',
  'stacked',
  'approved',
  'filling',
  'loaded',
  'gasLoaded',
  'firing',
  'gas',
  'cooling',
  'unloaded',
  'cancelled',
] as const;

/** Codes of kilns that between them have every shape and state; each load that stands in a kiln has one of its own. */
export const KILNS = ['ROUND', 'TEN', 'FRONT', 'GAS', 'BROKEN', 'GONE'];

/** Kilns, and loads in every state; `name` is the longest that a name may be and has no blank. */
export async function someKilns(studio: Studio, name: string, clay: string): Promise<KilnThings> {
  const { technician: wren } = studio.people;
  const longAgo = past(studio, 30 * DAY);
  await furnish(longAgo, name);
  const two = await fireTwice(studio, name);
  const kiln = (code: string) => findKiln(readAs(studio, wren), code);

  const filling = await aProposal(studio, { kiln: 'TEN', firing: await plates(studio, '1', clay) });
  const { version, number } = (await pageOf(studio, filling)).load;
  await studio.as(wren, (act) => approve(act, number, { version }));
  const { levels, pieces } = await pageOf(studio, filling);
  const [first] = levels;
  if (!first) throw new Error('the load has a level');
  const onFirst = pieces.filter(({ part, level }) => part === first.part && level === first.level);
  const picture = await pictureIn({ bytes: await aPhoto(300, 200), isTooLarge: false }, 'photo');
  await studio.as(wren, (act) =>
    loadLevel(act, filling, {
      part: first.part,
      level: first.level,
      notIn: [onFirst[0]?.number ?? 0],
      picture,
    }),
  );

  const approved = await aProposal(studio, { kiln: 'ROUND', firing: await plates(studio, '2', clay, 7) });
  const seen = (await pageOf(studio, approved)).load.version;
  await studio.as(wren, (act) => approve(act, approved, { version: seen }));

  const loaded = await aLoadedKiln(studio, { kiln: await kiln('FRONT'), clay, cone: '3', howMany: 5 });
  await studio.as(wren, (act) =>
    checkBeforeFiring(act, loaded.number, checkForm.parse({ posts: true, onCall: name, note: name })),
  );
  const gasLoaded = await aLoadedKiln(studio, { kiln: await kiln('GAS'), clay, cone: '4', howMany: 4 });

  for (const one of [approved, loaded.number]) {
    const { load, slots } = await showPlan(readAs(studio, wren), one);
    const startsAt = slots[0]?.startsAt ?? 0;
    await studio.as(wren, (act) => planLoad(act, one, { startsAt, version: load.version }));
  }
  await studio.as(studio.people.manager, (act) => makeFeed(act));

  const cancelled = await aProposal(studio, { kiln: 'FRONT', firing: await plates(studio, '5', clay, 2) });
  await studio.as(wren, (act) => cancel(act, cancelled, { reason: name }));

  const stacked = await aProposal(studio, { kiln: 'FRONT', firing: BISQUE });
  const proposed = await aProposal(studio, { kiln: 'ROUND', firing: GLAZE });
  const [pinned, leftOut] = (await pageOf(studio, proposed)).pieces;
  if (!pinned || !leftOut) throw new Error('the proposed load holds two pieces');
  const change = async (work: (act: Act, version: number) => Promise<void>) => {
    const { load } = await pageOf(studio, proposed);
    await studio.as(wren, (act) => work(act, load.version));
  };
  await change((act, version) => pin(act, proposed, { piece: pinned.number, level: pinned.level, version }));
  await change((act, version) => leaveOut(act, proposed, { piece: leftOut.number, version }));

  const firing = await onFire(studio, await kiln('ON'), clay, name);
  const gas = await withBurners(studio, await kiln('BURNING'), clay, name);
  const cooling = await cooled(studio, await kiln('COOLING'), clay);
  return {
    loads: {
      proposed,
      stacked,
      approved,
      filling,
      loaded: loaded.number,
      gasLoaded: gasLoaded.number,
      firing,
      gas,
      cooling: cooling.load,
      unloaded: two.load,
      cancelled,
    },
    pieceIn: { proposed: pinned.number, unloaded: two.pieces.fired },
    leftOut: leftOut.number,
    pieces: { 'in-load': loaded.pieces[0] ?? 0, ...two.pieces },
    logFile: cooling.logFile,
  };
}

async function furnish(longAgo: Studio, name: string): Promise<void> {
  const { technician: wren, manager, member } = longAgo.people;
  const firers = [manager, member];
  const keepOuts = [
    { shape: 'circle', xMm: 200, yMm: 0, diameterMm: 60, fromMm: 100, toMm: 300 },
    { shape: 'rectangle', xMm: -200, yMm: 30, widthMm: 50, depthMm: 60 },
  ] as const;
  await aKiln(longAgo, { code: 'ROUND', name, firers, keepOuts: [...keepOuts], emergency: name });
  const ten = { sides: 10, acrossFlatsMm: 440 };
  await aKiln(longAgo, { code: 'TEN', firers, shelf: { shape: 'polygon', ...ten }, controls: 'left' });
  await aKiln(longAgo, { code: 'FRONT', like: 'front', halfShelves: 4, firers, tallLevel: 'top' });
  await aKiln(longAgo, { code: 'ON', firers });
  await aKiln(longAgo, { code: 'COOLING', like: 'front', firers });
  const burners = { power: 'gas', kilowatts: undefined } as const;
  const emergency = 'Yellow valve by the yard door, then the studio line.';
  for (const code of ['GAS', 'BURNING'])
    await aKiln(longAgo, { code, like: 'front', firers, ...burners, emergency });
  for (const code of ['BROKEN', 'GONE']) await aKiln(longAgo, { code, name: `${code} ${name}`.slice(0, 60) });
  const care = (code: string, more: object) =>
    longAgo.as(wren, (act) => noteCare(act, code, careBody.parse({ note: name, ...more })));
  await care('BROKEN', { kind: 'out-of-service' });
  await longAgo.as(wren, (act) => retireKiln(act, 'GONE', true));
  for (const kind of ['elements', 'vacuumed', 'kiln-washed', 'note']) await care('ROUND', { kind });
  for (const ohms of [
    [21.4, 21.9, 22.3],
    [22.8, 24.1, 23],
  ])
    await care('ROUND', { kind: 'ohms', ohms });
  await care('ROUND', { kind: 'shelf-cracked', which: 'half', count: 1, takeAway: true });
  await longAgo.as(wren, async (act) => {
    await writeUsualSchedules(act);
    const steps = [
      { toC: 100, holdMin: 60 },
      { rateCPerH: 150, toC: 1180, holdMin: 10 },
    ];
    const write = (more: object) =>
      writeSchedule(act, scheduleBody.parse({ name, kind: 'glaze', cone: '5', segments: steps, ...more }));
    for (const cone of ['1', '2', '3', '5½', '7', '8']) await write({ cone });
    await retireSchedule(act, await write({ name: 'Too fast' }));
    await changeKilnSettings(act, { ...(await kilnSettings(act)), siteKilowatts: 60, pricePerKwh: 28.5 });
  });
}

/** Bare plates of the member that wait for a glaze firing of their own. */
async function plates(studio: Studio, cone: string, clay: string, howMany = 8): Promise<Firing> {
  await readyPieces(studio, studio.people.member, { for: 'glaze', clay, form: 'plate', cone, howMany });
  return { ...GLAZE, cone };
}

/** Two firings of one kiln: by the second there is a trend. Its pieces went several ways since. */
async function fireTwice(studio: Studio, name: string) {
  const { technician: wren, member } = studio.people;
  const picture = await pictureIn({ bytes: await aPhoto(300, 200), isTooLarge: false }, 'photo');
  let last: ALoad | undefined;
  for (const days of [20, 12]) {
    const at = (hours: number) => past(studio, days * DAY - hours * HOUR);
    const kiln = await findKiln(readAs(studio, wren), 'ROUND');
    const clay = await aClay(at(-4), { maxCone: '10' });
    await readyPieces(at(-4), member, { for: 'glaze', clay, cone: '5½', form: 'plate', howMany: 5 }).then(
      (numbers) =>
        at(-4).as(member, async (act) => {
          await movePieces(act, 'glazes', numbers, { glazes: [{ bucket: 'LONG' }] });
          await movePieces(act, 'hand-in', numbers, { heldBack: true });
        }),
    );
    last = await aLoadedKiln(at(-4), { kiln, cone: '5½', howMany: 4, clay });
    const { number, page, pieces } = last;
    const [crawled = 0, cracked = 0] = pieces;
    await at(0).as(wren, (act) => startFiring(act, number, { note: name, confirm: true }));
    await at(9).as(wren, (act) => shutOff(act, number, { celsius: 1222, note: name }));
    await at(30).as(wren, async (act) => {
      await openKiln(act, number, { celsius: 62, how: 'opened' });
      const points = Array.from({ length: 180 }, (_, i) => ({
        at: new Date(at(i / 6).clock.now()).toISOString(),
        celsius: i <= 54 ? 20 + i * 22.2 : 20 + 1200 * Math.exp(-0.023 * (i - 54)),
      }));
      await sendLog(act, number, sendLogForm.parse({ points }));
      const cones = [
        { cone: '5', reading: 'flat' },
        { cone: '5½', reading: '2' },
        { cone: '6', reading: 'standing' },
      ] as const;
      const levels = page.levels.map(({ part, level }) => ({ part, level, cones: [...cones] }));
      await readCones(act, number, { levels });
      const exceptions = [
        { piece: crawled, outcome: 'crawl', note: name },
        { piece: cracked, outcome: 'crack' },
      ];
      await unloadKiln(act, number, unloadForm.parse({ celsius: 38, exceptions, note: name }));
      const better = outcomeForm.parse({ piece: cracked, outcome: 'other', note: name });
      await correctOutcome(act, number, better, picture);
    });
  }
  if (!last) throw new Error('two loads were fired');
  const [fired = 0, , refire = 0, leftBehind = 0] = last.pieces;
  await past(studio, DAY).as(wren, async (act) => {
    await movePieces(act, 'refire', [refire], { note: name });
    await movePieces(act, 'left-behind', [leftBehind], { note: name });
  });
  return { load: last.number, pieces: { fired, refire, 'left-behind': leftBehind } };
}

async function onFire(studio: Studio, kiln: KilnNow, clay: string, name: string): Promise<number> {
  const { technician: wren, manager } = studio.people;
  const { number } = await aLoadedKiln(past(studio, 8 * HOUR), { kiln, clay, cone: '7', howMany: 4 });
  await past(studio, 6 * HOUR).as(wren, (act) => startFiring(act, number, { note: name, confirm: true }));
  for (const [who, hours, celsius] of [
    [wren, 5, 180],
    [manager, 3, 540],
    [wren, 1, 905.5],
  ] as const)
    await past(studio, hours * HOUR).as(who, (act) => noteReading(act, number, { celsius, note: name }));
  const { events } = await pageOf(studio, number);
  const wrong = events.findLast(({ kind }) => kind === 'reading')?.number ?? 0;
  await studio.as(wren, (act) => strikeOutEvent(act, number, { event: wrong, reason: name }));
  return number;
}

async function withBurners(studio: Studio, kiln: KilnNow, clay: string, name: string): Promise<number> {
  const { technician: wren, manager } = studio.people;
  const at = (hours: number) => past(studio, hours * HOUR);
  const { number } = await aLoadedKiln(at(8), { kiln, clay, cone: '8', howMany: 4 });
  const iso = (hours: number) => new Date(studio.clock.now() + hours * HOUR).toISOString();
  const watch = [
    { name: wren.name, from: iso(-6), to: iso(2) },
    { name: manager.name, from: iso(2), to: iso(9) },
  ];
  const list = { posts: true, washed: true, coAlarm: true, onCall: name, latestShutOff: iso(9), watch };
  await at(7).as(wren, (act) => checkBeforeFiring(act, number, checkForm.parse(list)));
  await at(6).as(wren, (act) => startFiring(act, number, { note: name, confirm: true }));
  const line = (hours: number, more: object) =>
    at(hours).as(wren, (act) => noteGasLine(act, number, gasForm.parse(more)));
  await line(5.5, { topC: 180, bottomC: 150, pressure: 4, damper: 60, note: name });
  await line(5, { topC: 300, bottomC: 260, pressure: 0.4, pressureUnit: 'psi', damper: 40, oxygen: 3.5 });
  await line(1, { topC: 905, bottomC: 870, reduction: 'begins', down: ['010', '09'] });
  return number;
}

async function cooled(studio: Studio, kiln: KilnNow, clay: string) {
  const { technician: wren } = studio.people;
  const at = (hours: number) => past(studio, hours * HOUR);
  const { number: load } = await aLoadedKiln(at(32), { kiln, clay, cone: '9', howMany: 3 });
  await at(30).as(wren, (act) => startFiring(act, load, { note: 'In a hurry', confirm: true }));
  await at(20).as(wren, (act) => shutOff(act, load, {}));
  await at(1).as(wren, (act) => noteReading(act, load, { celsius: 118 }));
  await at(0.5).as(wren, (act) => openKiln(act, load, { celsius: 110, how: 'cracked' }));
  await studio.as(wren, (act) => openKiln(act, load, { celsius: 84, how: 'opened' }));
  const csv = ['Time;Zone 1 °C;State', '0:00;20,5;heat', '0:30;61,0;heat', 'lost', '1:00;98,5;hold'].join(
    '\n',
  );
  const packed = await packLog(csv, 'text');
  await studio.as(wren, (act) => keepLog(act, load, packed));
  return { load, logFile: packed.sha256 };
}
