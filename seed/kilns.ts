import type { z } from 'zod';
import { DAY, HOUR, type Instant, MINUTE } from '../server/core/clock.ts';
import { fromWallTime, toWallTime } from '../server/core/wall-time.ts';
import { type Shelf, shelvesOf } from '../server/kilns/load-fold.ts';
import type { Load } from '../server/kilns/packing/problem.ts';
import { solve } from '../server/kilns/packing/solve.ts';
import { plan as follow, type Segment } from '../server/kilns/schedule.ts';
import {
  approve,
  changeKilnSettings,
  checkBeforeFiring,
  createKiln,
  findLoad,
  finishLoading,
  kilnBody,
  kilnSettings,
  loadLevel,
  noteCare,
  noteReading,
  openKiln,
  type Packer,
  prepareProposal,
  readCones,
  saveProposals,
  sendLog,
  sendLogForm,
  shutOff,
  startFiring,
  unloadKiln,
  writeUsualSchedules,
} from '../server/kilns/service/index.ts';
import type { Firing } from '../server/ware/firing.ts';
import { movePieces } from '../server/ware/service/index.ts';
import { generator } from './history.ts';
import { photoOf } from './pictures.ts';
import { type By, type Lot, registerLot } from './ware.ts';

const POSTS = [50, 80, 110, 140, 200].map((heightMm) => ({ heightMm, count: 12 }));

const KILNS: z.input<typeof kilnBody>[] = [
  {
    code: 'A',
    name: 'Anvil',
    opens: 'top',
    shelf: { shape: 'round', diameterMm: 560 },
    fullShelves: 3,
    halfShelves: 6,
    shelfThicknessMm: 16,
    usableHeightMm: 680,
    posts: POSTS,
    stackedPosts: true,
    maxCone: '10',
    atmospheres: ['oxidation'],
    power: 'electric',
    kilowatts: 11.5,
    volts: 400,
    firers: ['technician@millrace.example', 'manager@millrace.example'],
  },
  {
    code: 'B',
    name: 'Brook',
    opens: 'top',
    shelf: { shape: 'polygon', sides: 10, acrossFlatsMm: 440 },
    fullShelves: 5,
    halfShelves: 2,
    shelfThicknessMm: 14,
    usableHeightMm: 560,
    posts: POSTS,
    maxCone: '8',
    atmospheres: ['oxidation'],
    power: 'electric',
    kilowatts: 7.2,
    volts: 230,
    firers: ['technician@millrace.example', 'manager@millrace.example', 'jory@millrace.example'],
  },
  {
    code: 'G',
    name: 'Gale',
    opens: 'front',
    shelf: { shape: 'rectangle', widthMm: 600, depthMm: 500 },
    fullShelves: 8,
    shelfThicknessMm: 18,
    usableHeightMm: 900,
    posts: POSTS,
    maxCone: '12',
    atmospheres: ['oxidation', 'reduction'],
    power: 'gas',
    emergency: 'Yellow valve by the yard door, then the studio line, then the gas board.',
    firers: ['technician@millrace.example', 'manager@millrace.example'],
  },
];

export const BISQUE: Firing = { kind: 'bisque', cone: '06', atmosphere: 'oxidation' };
export const GLAZE: Firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' };

/** What was fired a week ago. */
const FIRED: Lot[] = [
  { who: 'Ida', piece: { form: 'cup', howMany: 5 }, made: 22, glazes: ['HG'], counts: [6], handedIn: 16 },
  { who: 'Tomas', piece: { form: 'bowl', howMany: 4 }, made: 22, glazes: ['CH'], counts: [4], handedIn: 16 },
  {
    who: 'Petra',
    piece: { form: 'beaker', howMany: 6 },
    made: 21,
    glazes: ['TB'],
    counts: [4],
    handedIn: 15,
  },
  {
    who: 'Lowell',
    piece: { form: 'plate', howMany: 3 },
    made: 21,
    glazes: ['OS'],
    counts: [3],
    handedIn: 15,
  },
  {
    who: 'Noor',
    piece: { form: 'cup', howMany: 4 },
    made: 20,
    glazes: ['HG', 'CH'],
    counts: [3, 2],
    handedIn: 15,
  },
  { who: 'Jory', piece: { form: 'vase', howMany: 2 }, made: 20, glazes: ['WD'], counts: [5], handedIn: 15 },
];

/** What cools in the other kiln just now. */
const BISQUED: Lot[] = [
  { who: 'Ida', piece: { form: 'bowl', howMany: 6, begins: 'drying' }, made: 10, dry: 4 },
  { who: 'Petra', piece: { form: 'cup', howMany: 6, begins: 'drying' }, made: 10, dry: 4 },
  { who: 'Noor', piece: { form: 'plate', howMany: 4, widthMm: 240, begins: 'drying' }, made: 9, dry: 4 },
  { who: 'Wren', piece: { form: 'vase', howMany: 3, begins: 'drying' }, made: 9, dry: 4 },
];

/** The same plan for the same ware, whatever machine starts the demo. */
const packer: Packer = (problem) => solve({ ...problem, iterations: 12, seed: 7 }, () => 0);
/** For loads that nobody looks at any more. */
const quickPacker: Packer = (problem) => solve({ ...problem, iterations: 1, seed: 7 }, () => 0);

/** Kilns with their furniture, schedules and prices. */
export async function buildKilns(by: By, opened: Instant): Promise<void> {
  const wren = by('Wren', opened);
  for (const kiln of KILNS) await createKiln(wren, kilnBody.parse(kiln));
  await writeUsualSchedules(wren);
  await changeKilnSettings(wren, { ...(await kilnSettings(wren)), siteKilowatts: 20, pricePerKwh: 28.5 });
  await noteCare(wren, 'A', { kind: 'elements' });
}

/** A glaze load that was fired a week ago, a bisque load that cools, and one that waits for somebody's yes. */
export async function fireKilns(by: By, now: Instant, timeZone: string): Promise<void> {
  const evening = (daysAgo: number, hour: number) => {
    const date = toWallTime(now - daysAgo * DAY, timeZone).slice(0, 10);
    return fromWallTime(`${date}T${String(hour).padStart(2, '0')}:00`, timeZone) ?? now - daysAgo * DAY;
  };
  for (const lot of FIRED) await registerLot(by, lot, now);
  const glazed = await fire(by, { kiln: 'A', firing: GLAZE, startsAt: evening(9, 18), peak: 'cone 6' });
  await emptyGlazeLoad(by, glazed, evening(7, 10));
  for (const lot of BISQUED) await registerLot(by, lot, now);
  const startsAt = now - 30 * HOUR;
  const bisqued = await fire(by, { kiln: 'B', firing: BISQUE, startsAt, peak: 'cone 06' });
  await noteReading(by('Jory', now - 40 * MINUTE), bisqued.load, {
    celsius: Math.round(bisqued.celsiusAt(now - 40 * MINUTE)),
  });
}

/** The next glaze load, packed and waiting for approval. */
export async function proposeNext(by: By, now: Instant): Promise<void> {
  const act = by('Wren', now - 2 * HOUR);
  await saveProposals(act, await prepareProposal(act, { kiln: 'A', firing: GLAZE }, packer));
}

export interface Fired {
  load: number;
  offAt: Instant;
  celsiusAt(at: Instant): number;
}

/** Packs, loads and fires everything of a firing that is ready, up to the shut-off. */
export async function fire(
  by: By,
  {
    kiln,
    firing,
    startsAt,
    peak,
    isLongAgo = false,
  }: { kiln: string; firing: Firing; startsAt: Instant; peak: string; isLongAgo?: boolean },
): Promise<Fired> {
  const wren = (hoursBefore: number) => by('Wren', startsAt - hoursBefore * HOUR);
  const prepared = await prepareProposal(wren(8), { kiln, firing }, isLongAgo ? quickPacker : packer);
  const [number = 0] = (await saveProposals(wren(8), prepared)).loads;
  const { lastEvent, plan, schedule } = await findLoad(wren(7), number);
  await approve(wren(7), number, { version: lastEvent });
  for (const { part, level, ware } of floorUp(plan)) {
    const seen = isLongAgo ? { why: 'The phone was flat.' } : { picture: await photoOf(fromAbove(ware)) };
    await loadLevel(wren(4), number, { part, level, ...seen });
  }
  await finishLoading(wren(3), number);
  const ticks = {
    posts: true,
    washed: true,
    cones: true,
    lid: true,
    clear: true,
    vent: true,
    schedule: true,
  };
  await checkBeforeFiring(wren(1), number, {
    ...ticks,
    coAlarm: false,
    watch: [],
    onCall: 'Maro, studio line',
  });
  // Whenever the demonstration is set up: it may be night then.
  await startFiring(wren(0), number, { confirm: true });
  const { offAt, celsiusAt } = heat(schedule?.segments ?? [], startsAt);
  await shutOff(by('Wren', offAt), number, {
    celsius: Math.round(celsiusAt(offAt)),
    note: `Down at ${peak}.`,
  });
  return { load: number, offAt, celsiusAt };
}

/** How a kiln follows its schedule, a little behind, and cools by itself afterwards. */
function heat(segments: Segment[], startsAt: Instant) {
  const planned = follow(segments).points;
  const hours = (at: Instant) => (at - startsAt) / HOUR;
  const offAt = startsAt + (planned.at(-1)?.atS ?? 0) * 1000;
  const top = planned.at(-1)?.c ?? 20;
  const asked = (at: Instant): number => {
    const seconds = hours(at) * 3600;
    const next = planned.findIndex(({ atS }) => atS >= seconds);
    const [from, to] = [planned[next - 1], planned[next]];
    if (!from || !to) return next === 0 ? 20 : top;
    return from.c + ((to.c - from.c) * (seconds - from.atS)) / Math.max(1, to.atS - from.atS);
  };
  const celsiusAt = (at: Instant): number =>
    at <= offAt
      ? asked(Math.max(startsAt, at - 4 * MINUTE))
      : 20 + (top - 20) * Math.exp(-0.14 * hours(at - offAt + startsAt));
  return { offAt, celsiusAt };
}

async function emptyGlazeLoad(by: By, { load, offAt, celsiusAt }: Fired, opensAt: Instant): Promise<void> {
  const random = generator('controller');
  const { startedAt, plan } = await findLoad(by('Wren', opensAt), load);
  const points = [];
  for (let at = startedAt ?? offAt; at < opensAt; at += 5 * MINUTE)
    points.push({
      at: new Date(at).toISOString(),
      celsius: Math.round(10 * (celsiusAt(at) + random() * 2 - 1)) / 10,
    });
  const wren = by('Wren', opensAt);
  await openKiln(wren, load, { celsius: 62, how: 'opened' });
  await sendLog(wren, load, sendLogForm.parse({ points }));
  const shelves = floorUp(plan);
  await readCones(wren, load, {
    levels: shelves.map(({ part, level }, index) => ({
      part,
      level,
      cones: [
        { cone: '5', reading: 'flat' },
        { cone: '6', reading: index === shelves.length - 1 ? '4' : 'down' },
        { cone: '7', reading: 'standing' },
      ],
    })),
  });
  const numbers = shelves.flatMap(({ ware }) => ware.map(({ number }) => number)).sort((a, b) => a - b);
  const [first = 0, second = 0] = numbers;
  const [last = 0] = numbers.slice(-1);
  const emptied = by('Wren', opensAt + 3 * HOUR);
  await unloadKiln(emptied, load, {
    celsius: 38,
    exceptions: [
      { piece: first, outcome: 'crawl', note: 'Bare patches inside: the coat was thick.' },
      { piece: second, outcome: 'crawl' },
      { piece: last, outcome: 'run', note: 'To the tray, not past it.' },
    ],
  });
  const fetched = numbers.slice(2, 9);
  await movePieces(by('Wren', opensAt + DAY), 'pick-up', fetched, {});
}

interface ShelfWare extends Shelf {
  ware: { number: number; xMm: number; yMm: number }[];
}

/** The shelves of a load in the order in which they are filled, each with its number on its side. */
function floorUp({ levels }: Load): ShelfWare[] {
  return shelvesOf({ levels })
    .map((shelf, index) => ({
      ...shelf,
      ware: (levels[index]?.pieces ?? []).map(({ id, xMm, yMm }) => ({ number: Number(id), xMm, yMm })),
    }))
    .sort((a, b) => a.level - b.level);
}

/** A shelf with its ware as somebody leaning over the kiln sees it. */
function fromAbove(ware: ShelfWare['ware']): string {
  const random = generator(ware.map(({ number }) => number).join());
  const pots = ware.map(({ xMm, yMm }) => {
    const [x, y, r] = [320 + xMm, 320 - yMm, 36 + 6 * random()];
    return `<circle cx="${x + 5}" cy="${y + 7}" r="${r}" opacity=".22"/><circle cx="${x}" cy="${y}" r="${r}" fill="#b98d66"/>
      <circle cx="${x}" cy="${y}" r="${r * 0.82}" fill="#8f6a4a"/>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" width="640" height="640">
    <rect width="640" height="640" fill="#5b4a40"/><circle cx="320" cy="320" r="290" fill="#d9cdbb"/>${pots.join('')}
  </svg>`;
}
