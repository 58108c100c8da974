import { and, asc, eq } from 'drizzle-orm';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { Invalid } from '../../server/core/errors.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { compareCones } from '../../server/ware/cone.ts';
import type { Firing } from '../../server/ware/firing.ts';
import { pieceGlazes, pieces } from '../../server/ware/schema.ts';
import {
  changeForm,
  changePieces,
  comeOut,
  enterLoad,
  examinePieces,
  findPiece,
  lockPieces,
  makeHousehold,
  type PieceNow,
  pieceHistory,
  setTrait,
} from '../../server/ware/service/index.ts';
import { aLoadedKiln, emptied } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let technician: Person;
let clay: string;
let load = 5000;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  clay = await aClay(s, { maxCone: '10' });
});

const glaze6: Firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' };
const outside = (coneFrom: string, coneTo: string) => ({ own: 'Blue from home', coneFrom, coneTo });

const see = (number: number): Promise<PieceNow> => s.as(member, (act) => findPiece(act, number));
const one = async (command: Record<string, unknown> = {}): Promise<number> => {
  const [number] = await somePieces(s, member, { clay, begins: 'bisqued', ...command });
  return number as number;
};
const glazed = (number: number, glazes: object[]) => moved(s, member, 'glazes', [number], { glazes });
const handedIn = (number: number) => moved(s, member, 'hand-in', [number], { heldBack: true });
const said = (number: number) => moved(s, technician, 'yes', [number], { trayMm: 15 });
const edited = (number: number, command: Record<string, unknown>) =>
  s.as(member, (act) =>
    changePieces(act, number, changeForm.parse({ form: 'beaker', clay, cone: '6', ...command })),
  );
const refusedAt = async (doing: Promise<unknown>): Promise<string[]> => {
  const error = await doing.catch((refused) => refused);
  expect(error).toBeInstanceOf(Invalid);
  return (error as Invalid).errors.map(({ path }) => path);
};
const fired = (number: number, firing = glaze6): Promise<number> => {
  load += 1;
  return s.as(technician, async (act) => {
    await enterLoad(act, await lockPieces(act, [number]), load);
    await comeOut(act, load, firing, [{ number, outcome: 'good', level: 1 }]);
    return load;
  });
};
const openGates = ({ gates }: PieceNow) => gates.filter(({ ok }) => !ok).map(({ gate }) => gate);
const coatsOf = (number: number) =>
  s.database.db
    .select({
      position: pieceGlazes.position,
      name: pieceGlazes.ownName,
      load: pieceGlazes.load,
      endedAt: pieceGlazes.endedAt,
    })
    .from(pieceGlazes)
    .innerJoin(pieces, and(eq(pieces.id, pieceGlazes.pieceId), eq(pieces.number, number)))
    .orderBy(asc(pieceGlazes.position));

describe('an edit opens no gate of glazed ware', () => {
  it('glazed ware is not edited to bisque, raw or fired; bare ware is', async () => {
    const number = await one();
    await glazed(number, [outside('5', '6')]);
    await handedIn(number);
    expect(await refusedAt(edited(number, { kind: 'bisque', cone: '06' }))).toEqual(['kind']);
    await said(number);
    await fired(number);
    expect(await refusedAt(edited(number, { kind: 'bisque', cone: '06' }))).toEqual(['kind']);

    const bare = await one();
    await glazed(bare, []);
    await edited(bare, { kind: 'bisque', cone: '06' });
    expect((await see(bare)).final.kind).toBe('bisque');
  });

  it('another kind and a hotter cone leave it with all its gates, and it stacks on nothing', async () => {
    const number = await one({ form: 'bowl' });
    expect((await see(number)).stack).toBe('nest');
    await glazed(number, [outside('5', '6')]);
    await handedIn(number);
    await said(number);
    expect(await see(number)).toMatchObject({ isReady: true, stack: 'none' });
    await edited(number, { form: 'bowl', kind: 'other', cone: '10' });
    const hot = await see(number);
    expect(hot).toMatchObject({ isReady: false, trayMm: 0, stack: 'none' });
    expect(openGates(hot).sort()).toEqual(['glaze-cone', 'unknown']);
    await said(number);
    expect(openGates(await see(number))).toEqual(['glaze-cone']);
  });

  it('whatever is edited, what is ready carries no glaze that the firing is too hot for', async () => {
    const cones = ['018', '08', '06', '04', '3', '5', '6', '7', '10'];
    const change = fc.record({
      kind: fc.constantFrom('bisque', 'glaze', 'lustre', 'other'),
      cone: fc.constantFrom(...cones),
      measured: fc.constantFrom('wet', 'dry', 'bisque'),
    });
    const wish = fc.record({
      range: fc.constantFrom(['5', '6'] as const, ['06', '04'] as const, ['9', '10'] as const),
      isFiredFirst: fc.boolean(),
      changes: fc.array(change, { minLength: 2, maxLength: 4 }),
    });
    await fc.assert(
      fc.asyncProperty(wish, async ({ range, isFiredFirst, changes }) => {
        const number = await one({ cone: range[0] });
        await glazed(number, [outside(range[0], range[1])]);
        await handedIn(number);
        await said(number);
        if (isFiredFirst) {
          await fired(number, { ...glaze6, cone: range[0] });
          await moved(s, technician, 'refire', [number]);
          await said(number);
        }
        expect((await see(number)).isReady).toBe(true);
        for (const wanted of changes) {
          await edited(number, wanted).catch((refused) => expect(refused).toBeInstanceOf(Invalid));
          if (openGates(await see(number)).includes('unknown')) await said(number);
          const { isReady, next, glazes, stack } = await see(number);
          expect(stack).toBe('none');
          if (!isReady || !next) continue;
          expect(next.kind).not.toBe('bisque');
          for (const { coneTo } of glazes)
            expect(compareCones(coneTo as string, next.cone)).toBeGreaterThanOrEqual(0);
        }
      }),
      { numRuns: 4, endOnFailure: true },
    );
  });
});

describe('coats of glaze', () => {
  it('stay with the firing they were in: what is wiped off ends, what is fired stays under what comes after', async () => {
    const runny = await s.aBucket({ sg: 1.47, stirredMinutesAgo: 5, name: 'Slow River' });
    await s.as(technician, (act) => setTrait(act, runny, { isRunny: true, trayMm: 25, tags: 'chromium' }));
    const number = await one();
    await glazed(number, [outside('9', '10')]);
    await glazed(number, [{ bucket: runny }, outside('5', '6')]);
    expect((await see(number)).glazes.map(({ position, load: isIn }) => [position, isIn])).toEqual([
      [2, null],
      [3, null],
    ]);
    await handedIn(number);
    await said(number);
    const first = await fired(number);
    await moved(s, member, 'another-firing', [number], {
      kind: 'glaze',
      cone: '05',
      atmosphere: 'oxidation',
    });
    await glazed(number, [outside('06', '04')]);
    const over = await see(number);
    // The fired coats need not melt at 05, run and clash as before, and count for the foot.
    expect(over).toMatchObject({ trayMm: 25, tags: ['chromium'] });
    expect(openGates(over).sort()).toEqual(['foot', 'unknown']);
    await handedIn(number);
    await said(number);
    const second = await fired(number, { ...glaze6, cone: '05' });
    expect((await coatsOf(number)).map((coat) => [coat.position, coat.load, coat.endedAt !== null])).toEqual([
      [1, null, true],
      [2, first, false],
      [3, first, false],
      [4, second, false],
    ]);
    const { body } = await s.visit(member, `/ware/${number}`);
    expect(body.indexOf(`fired in load ${first}`)).toBeGreaterThan(0);
    expect(body.indexOf(`fired in load ${second}`)).toBeGreaterThan(body.indexOf(`fired in load ${first}`));
    const answer = (await s.api(member, 'GET', `/pieces/${number}`)).json();
    expect(answer.glazes.map((coat: { load: number }) => coat.load)).toEqual([first, first, second]);
    // Hotter than the topmost takes, whatever the ones below it take.
    await moved(s, technician, 'refire', [number]);
    await edited(number, { cone: '6' });
    expect(openGates(await see(number))).toContain('glaze-cone');
  });

  it('a glaze that is not said to run stands on the tray that was written down for it all the same', async () => {
    const bucket = await s.aBucket({ sg: 1.47, stirredMinutesAgo: 5 });
    await s.as(technician, (act) => setTrait(act, bucket, { isRunny: false, trayMm: 30 }));
    const number = await one();
    await glazed(number, [{ bucket }]);
    expect((await see(number)).trayMm).toBe(30);
  });

  it('handed in with others of its batch, the foot is asked for as the runniest of them needs it', async () => {
    const runny = await s.aBucket({ sg: 1.47, stirredMinutesAgo: 5 });
    await s.as(technician, (act) => setTrait(act, runny, { isRunny: true }));
    const [bare, over] = (await somePieces(s, member, { clay, begins: 'bisqued', howMany: 2 })) as [
      number,
      number,
    ];
    await glazed(bare, []);
    await glazed(over, [{ bucket: runny }]);
    const at = `/ware/${bare}/hand-in`;
    expect((await s.visit(member, at)).body).toContain('the glaze ends 12 mm above it');
    const both = { also: String(over), heldBack: 'yes' };
    expect((await s.submit(member, at, both)).statusCode).toBe(303);
  });

  it('the event says what each bucket held then', async () => {
    const bucket = await s.aBucket({ sg: 1.47, stirredMinutesAgo: 5 });
    const number = await one();
    await glazed(number, [{ bucket }, outside('5', '6')]);
    const [event] = await s.as(member, (act) => pieceHistory(act, number));
    expect(event?.payload).toMatchObject({
      glazes: [bucket, 'own'],
      held: [
        { gravity: expect.closeTo(1.47, 2), reading: expect.any(Number), batch: null },
        { gravity: null, reading: null, batch: null },
      ],
    });
  });

  it('a fault goes with the coat of its own firing', async () => {
    const kiln = await aKiln(s, { halfShelves: 0 });
    const under = await s.aBucket({ sg: 1.46, name: 'Under Coat' });
    const over = await s.aBucket({ sg: 1.46, name: 'Over Coat' });
    const firstLoad = await aLoadedKiln(s, { kiln, bucket: under, howMany: 2 });
    await emptied(s, firstLoad.number);
    const [again] = firstLoad.pieces as [number];
    await moved(s, member, 'another-firing', [again], glaze6);
    await glazed(again, [{ bucket: over }]);
    await handedIn(again);
    await said(again);
    // What waits for the same firing comes along.
    const secondLoad = await aLoadedKiln(s, { kiln, howMany: 1 });
    expect(secondLoad.pieces).toContain(again);
    await emptied(s, secondLoad.number, [{ piece: again, outcome: 'crawl' }]);
    const { buckets } = (await s.api(technician, 'GET', '/faults?kind=glaze')).json();
    const of = (name: string) => buckets.find(({ what }: { what: string }) => what.includes(name))?.share;
    expect(of('Under Coat')).toMatchObject({ faulty: 0, all: 2 });
    expect(of('Over Coat')).toMatchObject({ faulty: 1, all: 1 });
  });

  it('glazed raw it is wet again: felt before, it is felt anew', async () => {
    const number = await one({ begins: 'drying', once: true });
    await moved(s, technician, 'dry', [number]);
    expect((await see(number)).dryAt).not.toBeNull();
    await glazed(number, [outside('5', '6')]);
    expect(await see(number)).toMatchObject({ dryAt: null, stage: 'glazed' });
    await handedIn(number);
    await said(number);
    expect(openGates(await see(number))).toEqual(['dry']);
    await moved(s, technician, 'dry', [number]);
    expect((await see(number)).isReady).toBe(true);
    expect(await examinePieces({ tx: s.database.db })).toEqual([]);
  });
});

describe('what is put right later', () => {
  const dayFromNow = (days: number) => toWallTime(s.clock.now() + days * DAY, 'Europe/London').slice(0, 10);

  it('a day that is over is refused, but stays where it was written before', async () => {
    expect(await refusedAt(one({ wantedBy: dayFromNow(-1) }))).toEqual(['wantedBy']);
    const soon = dayFromNow(0);
    const number = await one({ wantedBy: soon });
    s.clock.forward(3 * DAY);
    await edited(number, { wantedBy: soon, cone: '5' });
    expect(await see(number)).toMatchObject({ wantedBy: soon, final: { cone: '5' } });
    expect(await refusedAt(edited(number, { wantedBy: dayFromNow(-1) }))).toEqual(['wantedBy']);
    await edited(number, { wantedBy: dayFromNow(30) });
    expect((await see(number)).wantedBy).toBe(dayFromNow(30));
  });

  it('figures measured wet stay wet figures when something else of a bisqued piece is edited', async () => {
    const number = await one({ begins: 'wet', widthMm: 100, heightMm: 100 });
    await moved(s, member, 'ask-dry', [number]);
    await moved(s, technician, 'dry', [number]);
    await fired(number, { kind: 'bisque', cone: '06', atmosphere: 'oxidation' });
    const before = (await see(number)).asPacked;
    expect(before.heightMm).toBe(94);
    for (const measured of [undefined, 'bisque', 'dry']) {
      await edited(number, { widthMm: 100, heightMm: 100, mark: 'IW', measured });
      expect(await see(number)).toMatchObject({ measured: { when: 'wet' }, asPacked: before });
    }
    await edited(number, { widthMm: 95, heightMm: 95 });
    expect(await see(number)).toMatchObject({ measured: { when: 'bisque' }, asPacked: { heightMm: 95 } });
  });

  it('a yes was to its atmosphere too', async () => {
    const number = await one({ clay: undefined, ownClay: 'From the river' });
    await said(number);
    const now = { clay: undefined, ownClay: 'From the river' };
    await edited(number, { ...now, mark: 'IW' });
    expect((await see(number)).yesAt).not.toBeNull();
    await edited(number, { ...now, atmosphere: 'reduction' });
    expect((await see(number)).yesAt).toBeNull();
  });

  it('what a technician measured dry is not made smaller by calling it wet', async () => {
    const number = await one({ begins: 'drying' });
    const size = { widthMm: 100, heightMm: 100 };
    await moved(s, technician, 'measure', [number], { ...size, measured: 'dry' });
    await edited(number, { ...size, measured: 'wet' });
    expect(await see(number)).toMatchObject({
      measured: { when: 'dry', byTechnician: true },
      asPacked: { heightMm: 100 },
    });
  });

  it('what was measured in another shape than its form usually has, or stacks on nothing, stays so', async () => {
    const size = { widthMm: 70, depthMm: 120, heightMm: 80 };
    const oval = await one({ form: 'bowl' });
    await moved(s, technician, 'measure', [oval], size);
    await edited(oval, { form: 'bowl', ...size, mark: 'IW' });
    const round = await one({ form: 'cup' });
    await moved(s, technician, 'measure', [round], { widthMm: 90, heightMm: 80 });
    await edited(round, { form: 'cup', widthMm: 90, heightMm: 80 });
    expect((await see(oval)).measured).toMatchObject({
      footprint: { shape: 'rectangle', widthMm: 70, depthMm: 120 },
      byTechnician: true,
    });
    const alone = await one({ form: 'bowl', stack: 'none' });
    await edited(alone, { form: 'bowl', mark: 'IW' });
    expect((await see(alone)).stack).toBe('none');
    expect((await see(round)).measured).toMatchObject({
      footprint: { shape: 'circle', diameterMm: 90 },
      byTechnician: true,
    });
  });

  it('a photo that was never kept takes the old one from nothing', async () => {
    expect(await refusedAt(edited(await one(), { kept: 'a'.repeat(64) }))).toEqual(['photo']);
  });

  it('whoever pays goes on paying when somebody else puts it right', async () => {
    const group = `Home ${member.id}`;
    await s.as(member, (act) => makeHousehold(act, { name: group }));
    const number = await one({ group, payer: 'me' });
    const { body } = await s.visit(technician, `/ware/${number}/edit`);
    expect(body).toContain(`<option value="${member.name}" selected>`);
    const sent = { what: 'beaker', clay, cone: '5', group, payer: member.name };
    expect((await s.submit(technician, `/ware/${number}/edit`, sent)).statusCode).toBe(303);
    expect(await see(number)).toMatchObject({
      final: { cone: '5' },
      payer: { kind: 'person', id: member.id },
    });
    const other = { ...sent, payer: 'Nobody here' };
    expect((await s.submit(technician, `/ware/${number}/edit`, other)).statusCode).toBe(422);
  });

  it('its owner is told of what was not fetched, first of all that is theirs', async () => {
    const late = await one();
    await glazed(late, []);
    await moved(s, member, 'hand-in', [late], {});
    await fired(late);
    s.clock.forward(22 * DAY + 1);
    const fresh = await one();
    await glazed(fresh, []);
    await moved(s, member, 'hand-in', [fresh], {});
    await fired(fresh);
    const { body } = await s.visit(member, '/ware');
    expect(body).toContain('Fired 22 days ago: fetch it.');
    const cards = body.split('<article');
    expect(cards[1]).toContain('fetch it.');
    expect(cards.find((card) => card.includes(`href="/ware/${fresh}"`))).not.toContain('fetch it.');
  });
});
