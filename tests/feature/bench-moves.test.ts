import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { solidsKg, solidsMassFraction } from '../../server/buckets/slurry.ts';
import { HOUR } from '../../server/core/clock.ts';
import { Conflict, Invalid } from '../../server/core/errors.ts';
import { noticeBody, postNotice, readNotice } from '../../server/safety/service/notices.ts';
import { glazedAreaCm2 } from '../../server/ware/area.ts';
import { coatOfThickness, thicknessMm } from '../../server/ware/coat.ts';
import { fromStored } from '../../server/ware/events.ts';
import { eventSentence } from '../../server/ware/sentences.ts';
import {
  addRunPair,
  comeOut,
  due,
  enterLoad,
  examinePieces,
  listRacks,
  listWaitingSizes,
  lockPieces,
  lookAtDesk,
  lookAtStrangers,
  type MovePath,
  type PieceNow,
  pieceHistory,
  setTrait,
} from '../../server/ware/service/index.ts';
import { aGlaze, benchOf, GREY } from '../helpers/bench.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aClay, fiveTiles, moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let technician: Person;
let other: Person;
let clay: string;
const grey = GREY;
const moss = 'MOSS';

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  other = await s.aPerson('member');
  clay = await aClay(s, { maxCone: '10' });
  await aGlaze(s, grey);
  await aGlaze(s, moss);
});

const { see, routeOf, bisqued, one, does, plan, coat, dippings } = benchOf(() => ({ s, clay }));
const refusedAt = async (doing: Promise<unknown>): Promise<string[]> => {
  const error = await doing.catch((refused) => refused);
  expect(error).toBeInstanceOf(Invalid);
  return (error as Invalid).errors.map(({ path }) => path);
};
const sentences = async (number: number): Promise<string[]> =>
  (await s.as(member, (act) => pieceHistory(act, number))).map((event) =>
    eventSentence({ ...event, payload: fromStored(event.payload) }),
  );
const open = ({ gates }: PieceNow) => gates.flatMap(({ gate, ok }) => (ok ? [] : [gate]));
const areaOf = ({ form, asPacked, thickestMm }: PieceNow, face: 'inside' | 'outside' | 'all') =>
  glazedAreaCm2({ form, size: asPacked, thickestMm }, face, 6);
const SOLIDS = solidsMassFraction(1.46, 2.6);

describe('the way of a piece', () => {
  it('goes from the plan to the kiln, each step where the piece is seen', async () => {
    const number = await one();
    await plan(number, grey, moss);
    expect(await see(number)).toMatchObject({ stage: 'bisqued', nextCoat: { face: 'inside', glaze: grey } });
    await does('waxed', number);
    await coat(number, 'inside', grey, { seconds: 8, way: 'pour' });
    expect(await see(number)).toMatchObject({ stage: 'bisqued', nextCoat: { face: 'outside', glaze: moss } });
    expect((await routeOf(number)).wetness).toMatchObject({ state: 'wet', by: 'clock', asksWait: true });
    s.clock.forward(13 * HOUR);
    expect((await routeOf(number)).wetness).toMatchObject({ state: 'dry', by: 'clock' });
    await does('inside-dry', number, { how: 'cheek' });
    expect((await routeOf(number)).wetness).toMatchObject({ state: 'said-dry', by: 'hand' });
    await coat(number, 'outside', moss, { seconds: 3, heldBack: true });
    const piece = await see(number);
    expect(piece).toMatchObject({ stage: 'glazed', nextCoat: null });
    expect(piece.footAt).not.toBeNull();
    expect(
      piece.glazes.map(({ bucket, face, way, seconds, gravity, position }) => [
        bucket?.code,
        face,
        way,
        seconds,
        gravity?.toFixed(2),
        position,
      ]),
    ).toEqual([
      [grey, 'inside', 'pour', 8, '1.46', 1],
      [moss, 'outside', 'dip', 3, '1.46', 2],
    ]);
    // The foot is wiped: it is not asked again.
    await does('hand-in', number);
    expect(await see(number)).toMatchObject({ stage: 'waiting-glaze', isReady: true });
    expect(await sentences(number)).toEqual([
      'Handed in',
      `${moss} outside, dipped, counted 3; foot wiped`,
      'Dry: not cold to the cheek',
      `${grey} inside, poured, counted 8`,
      'Foot waxed, and clean',
      `Planned: ${grey} inside, ${moss} outside`,
      'Registered, brought bisqued',
    ]);
    expect(await s.as(technician, (act) => examinePieces(act))).toEqual([]);
  });

  it('a coat without a plan is all there is to it', async () => {
    const number = await one();
    await coat(number, 'all');
    expect(await see(number)).toMatchObject({ stage: 'glazed', footAt: null });
    expect(await refusedAt(does('hand-in', number))).toEqual(['heldBack']);
  });

  it('a coat on what was handed in takes it back: its foot is wiped anew', async () => {
    const number = await one();
    await coat(number, 'all', grey, { heldBack: true });
    await does('hand-in', number);
    await coat(number, 'over', moss);
    expect(await see(number)).toMatchObject({ stage: 'glazed', footAt: null, waitingSince: null });
    expect(await refusedAt(does('hand-in', number))).toEqual(['heldBack']);
    await does('hand-in', number, { heldBack: true });
    expect((await see(number)).isReady).toBe(true);
  });

  it('what is dipped though the lining is still wet is kept, and said', async () => {
    const number = await one();
    await plan(number, grey, moss);
    await coat(number, 'inside');
    await coat(number, 'outside', moss);
    expect((await sentences(number))[0]).toContain('onto a wall still wet');
    expect((await see(number)).stage).toBe('glazed');
  });

  it('is begun anew by the word how it was glazed, and out of a kiln', async () => {
    const number = await one();
    await plan(number, grey, moss);
    await coat(number, 'inside');
    await does('glazes', number, { glazes: [{ bucket: moss }] });
    expect(await see(number)).toMatchObject({ plan: null, nextCoat: null, stage: 'glazed' });
    expect((await see(number)).glazes.map(({ bucket }) => bucket?.code)).toEqual([moss]);
    expect((await routeOf(number)).route.coats).toEqual([]);
    await plan(number, undefined, undefined, [grey]);
    await coat(number, 'over', grey, { heldBack: true });
    expect((await see(number)).glazes.map(({ position, face }) => [position, face])).toEqual([
      [2, 'all'],
      [3, 'over'],
    ]);
    await does('hand-in', number);
    await s.as(technician, async (act) => {
      await enterLoad(act, await lockPieces(act, [number]), 4001);
      const firing = { kind: 'glaze' as const, cone: '6', atmosphere: 'oxidation' as const };
      await comeOut(act, 4001, firing, [{ number, outcome: 'good', level: 1 }]);
    });
    expect((await see(number)).plan).toBeNull();
    expect((await routeOf(number)).route).toMatchObject({ plan: null, coats: [], waxedAt: null });
    await expect(coat(number, 'over')).rejects.toThrow(Conflict);
  });

  it('takes a plan back, and no overlap over nothing', async () => {
    const number = await one();
    expect(await refusedAt(plan(number, undefined, undefined, [moss]))).toEqual(['over']);
    expect(await refusedAt(plan(number, 'NOPE'))).toEqual(['inside']);
    expect(await refusedAt(plan(number, grey, grey, [grey, 'NOPE']))).toEqual(['over.1']);
    await plan(number, grey.toLowerCase());
    expect((await see(number)).plan).toEqual({ inside: grey, outside: null, over: [] });
    await plan(number);
    expect((await see(number)).plan).toBeNull();
  });

  it('is not for what is soft, fired, or wanted bisqued only', async () => {
    const [soft] = (await somePieces(s, member, { clay })) as [number];
    const bare = await one({ kind: 'bisque', cone: '06' });
    for (const number of [soft, bare])
      for (const [path, body] of [
        ['plan', { inside: grey, over: [] }],
        ['waxed', {}],
        ['coat', { bucket: grey, face: 'all', way: 'dip' }],
        ['weigh', { grams: 400, moment: 'later' }],
        ['inside-dry', { how: 'cheek' }],
        ['scratch', { position: 1, mm: 0.5 }],
      ] as const)
        await expect(does(path, number, body), path).rejects.toThrow(Conflict);
    const number = await one();
    await expect(does('inside-dry', number, { how: 'cheek' })).rejects.toThrow('Nothing was put on');
    const [raw] = (await somePieces(s, member, { clay, once: true })) as [number];
    await coat(raw, 'all');
    expect(await see(raw)).toMatchObject({ stage: 'glazed', dryAt: null });
  });
});

describe('weights', () => {
  it('before and after say how thick the coat is, and how much went out of the bucket', async () => {
    const bucket = await aGlaze(s, 'WT');
    const number = await one();
    await coat(number, 'outside', bucket, { beforeGrams: 400, afterGrams: 440, seconds: 3 });
    const piece = await see(number);
    const mm = thicknessMm((40 * SOLIDS) / areaOf(piece, 'outside'));
    expect(piece.glazes[0]).toMatchObject({ coatFrom: 'weighed', seconds: 3 });
    expect(piece.glazes[0]?.coatMm).toBeCloseTo(mm, 6);
    expect(await dippings(bucket)).toMatchObject([{ pieces: 1, note: `piece ${number}, outside` }]);
    expect((await dippings(bucket))[0]?.litres).toBeCloseTo(40 / 1.46 / 1000, 3);
  });

  it('bare beforehand and just glazed afterwards say the same', async () => {
    const number = await one();
    await does('weigh', number, { grams: 400, moment: 'later' });
    await coat(number, 'outside');
    expect(await refusedAt(does('weigh', number, { grams: 400, moment: 'glazed' }))).toEqual(['grams']);
    await does('weigh', number, { grams: 440, moment: 'glazed' });
    const piece = await see(number);
    expect(piece.glazes[0]?.coatMm).toBeCloseTo(thicknessMm((40 * SOLIDS) / areaOf(piece, 'outside')), 6);
    expect((await routeOf(number)).wetness.shareGone).toBe(0);
  });

  it('tell when the wall is dry, and a slip is struck out', async () => {
    const number = await one();
    await plan(number, grey, moss);
    await coat(number, 'inside', grey, { beforeGrams: 400, afterGrams: 440 });
    s.clock.forward(2 * HOUR);
    const dry = 400 + 40 * SOLIDS;
    const water = 440 - dry;
    await does('weigh', number, { grams: dry + 0.05 * water, moment: 'later' });
    expect((await routeOf(number)).wetness).toMatchObject({ state: 'dry', by: 'scale' });
    const { weighings } = (await routeOf(number)).route;
    const event = weighings.at(-1)?.event as number;
    await does('strike-weighing', number, { event });
    expect((await routeOf(number)).wetness).toMatchObject({ state: 'wet', by: 'clock' });
    await expect(does('strike-weighing', number, { event })).rejects.toThrow(Conflict);
    expect(await refusedAt(does('strike-weighing', number, { event: 1 }))).toEqual(['event']);
    expect(await refusedAt(does('strike-weighing', number, { event: 99 }))).toEqual(['event']);
    await does('weigh', number, { grams: dry + 0.5 * water, moment: 'later' });
    const { wetness } = await routeOf(number);
    expect(wetness).toMatchObject({ state: 'wet', by: 'scale' });
    expect(((wetness.readyAt ?? 0) - s.clock.now()) / HOUR).toBeCloseTo(2 * Math.log2(5), 1);
    await does('inside-dry', number, { how: 'cheek' });
    expect((await sentences(number))[0]).toBe('Dry: not cold to the cheek, though its weight said wet');
  });

  it('a coat whose weights are struck out has no thickness any more', async () => {
    const number = await one();
    await coat(number, 'all', grey, { beforeGrams: 400, afterGrams: 440 });
    const event = (await routeOf(number)).route.coats[0]?.event as number;
    await does('strike-weighing', number, { event });
    expect((await see(number)).glazes[0]).toMatchObject({ coatMm: null, coatFrom: null });
    const later = await one();
    await does('weigh', later, { grams: 400, moment: 'bare' });
    await coat(later, 'inside');
    await does('weigh', later, { grams: 440, moment: 'glazed' });
    const struck = (await routeOf(later)).route.weighings[0]?.event as number;
    await does('strike-weighing', later, { event: struck });
    expect((await see(later)).glazes[0]).toMatchObject({ coatMm: null, coatFrom: null });
  });

  it('that cannot be are refused beside their field, and nothing is kept', async () => {
    const bucket = await aGlaze(s, 'NO');
    const number = await one();
    const weights = (beforeGrams: number, afterGrams: number) =>
      coat(number, 'inside', bucket, { beforeGrams, afterGrams });
    expect(await refusedAt(weights(400, 400))).toEqual(['afterGrams']);
    expect(await refusedAt(weights(400, 40))).toEqual(['afterGrams']);
    expect(await refusedAt(weights(40, 400))).toEqual(['afterGrams']);
    expect(await refusedAt(does('weigh', number, { grams: 400, moment: 'glazed' }))).toEqual(['moment']);
    await coat(number, 'inside', bucket);
    expect(await refusedAt(does('weigh', number, { grams: 400, moment: 'bare' }))).toEqual(['moment']);
    expect(await dippings(bucket)).toHaveLength(1);
    expect((await see(number)).glazes).toHaveLength(1);
  });
});

describe('test tiles', () => {
  it('say how thick a counted coat is, and with the area how much went out of the bucket', async () => {
    const bucket = await aGlaze(s, 'TILES');
    await fiveTiles(s, clay, bucket);
    const numbers = await bisqued(3);
    await coat(numbers, 'outside', bucket, { seconds: 4 });
    const piece = await see(numbers[0] as number);
    const [glaze] = piece.glazes;
    expect(glaze).toMatchObject({ coatFrom: 'tiles', seconds: 4 });
    const perCm2 = (15 * SOLIDS) / 100;
    expect(glaze?.coatMm).toBeCloseTo(thicknessMm(perCm2), 1);
    const [line] = await dippings(bucket);
    const grams = 3 * areaOf(piece, 'outside') * coatOfThickness(glaze?.coatMm ?? 0);
    expect(line?.litres).toBeCloseTo(grams / 1000 / solidsKg(1, 1.46, 2.6), 4);
    expect((await sentences(piece.number))[0]).toMatch(
      /outside, dipped, counted 4; about \d\.\d mm by the tiles/,
    );
    // Nobody counted: nobody can tell.
    await coat(numbers, 'over', bucket);
    expect((await see(piece.number)).glazes[1]).toMatchObject({ coatMm: null, coatFrom: null });
    expect((await dippings(bucket))[0]?.litres).toBeCloseTo(0.3);
  });
});

describe('a batch', () => {
  it('is moved in one act, with one line in the ledger of the bucket', async () => {
    const bucket = await aGlaze(s, 'BATCH');
    const numbers = await bisqued(4);
    await plan(numbers, bucket, bucket);
    await does('waxed', numbers);
    await coat(numbers, 'all', bucket, { seconds: 3, heldBack: true });
    for (const number of numbers) expect(await see(number)).toMatchObject({ stage: 'glazed' });
    // Nobody can tell how much: the ledger takes its usual tenth of a litre a piece.
    expect(await dippings(bucket)).toMatchObject([{ pieces: 4, litres: 0.4 }]);
    const { others } = await routeOf(numbers[0] as number);
    expect(others.map(({ number }) => number)).toEqual(numbers.slice(1));
    await does('hand-in', numbers);
    expect(await s.as(technician, (act) => examinePieces(act))).toEqual([]);
  });

  it('stays together only while it is at the same point', async () => {
    const numbers = (await bisqued(3)) as [number, number, number];
    await plan(numbers, grey, moss);
    await coat(numbers.slice(0, 2), 'inside');
    expect((await routeOf(numbers[0])).others.map(({ number }) => number)).toEqual([numbers[1]]);
    expect((await routeOf(numbers[2])).others).toEqual([]);
  });

  it('is weighed one by one', async () => {
    const numbers = await bisqued(2);
    const body = { bucket: grey, face: 'all', way: 'dip' };
    expect(await refusedAt(does('coat', numbers, { ...body, beforeGrams: 400 }))).toEqual(['beforeGrams']);
    expect(await refusedAt(does('coat', numbers, { ...body, afterGrams: 400 }))).toEqual(['afterGrams']);
    expect(await refusedAt(does('weigh', numbers, { grams: 400, moment: 'later' }))).toEqual(['grams']);
    expect(await refusedAt(does('strike-weighing', numbers, { event: 1 }))).toEqual(['event']);
    expect(await refusedAt(does('scratch', numbers, { position: 1, mm: 0.5 }))).toEqual(['mm']);
  });

  it('never takes more out of a bucket than it holds', async () => {
    const bucket = await aGlaze(s, 'LITTLE', { litres: 2 });
    const numbers = await bisqued(20);
    for (let round = 0; round < 13; round++) {
      const more = await bisqued(20);
      numbers.push(...more);
    }
    await coat(numbers.slice(0, 280), 'all', bucket);
    expect(await dippings(bucket)).toMatchObject([{ pieces: 280, litres: 25 }]);
  });
});

describe('a bucket that is not to be used', () => {
  it('has no line of it; the coat is kept all the same, and the answer says so', async () => {
    const bucket = await aGlaze(s, 'STOP');
    await s.as(technician, (act) =>
      recordAct(act, bucket, 'service', { state: 'do-not-use', reason: 'Lumps' }),
    );
    const number = await one();
    const answer = await s.api(member, 'POST', `/pieces/${number}/coat`, { bucket, face: 'all', seconds: 3 });
    expect(answer.statusCode).toBe(201);
    expect(answer.json()).toMatchObject({ stage: 'glazed', glazes: [{ bucket, face: 'all', seconds: 3 }] });
    expect(answer.json().warnings).toEqual([
      `Bucket ${bucket} was not to be used: the coat is kept, but the bucket's ledger has no line of it.`,
    ]);
    expect(await dippings(bucket)).toEqual([]);
    expect((await sentences(number))[0]).toContain("not in the bucket's ledger");
    const way = await s.api(member, 'GET', `/pieces/${number}/route`);
    expect(way.json().coats).toMatchObject([{ glaze: bucket, inBucketLedger: false }]);
    const fine = await s.api(member, 'POST', `/pieces/${number}/coat`, { bucket: grey, face: 'over' });
    expect(fine.json().warnings).toEqual([]);
  });

  it('nobody read: the coat has no gravity and no thickness, though it was weighed', async () => {
    const bucket = await s.aBucket({ litres: null });
    const number = await one();
    await coat(number, 'all', bucket, { beforeGrams: 400, afterGrams: 440 });
    expect((await see(number)).glazes[0]).toMatchObject({ gravity: null, coatMm: null, coatFrom: null });
  });
});

describe('a notice that must be read before anybody dips', () => {
  it('is read first at the bench too: nothing is kept until then', async () => {
    const bucket = await aGlaze(s, 'NOTE');
    const number = await one();
    const notice = await s.as(technician, (act) =>
      postNotice(
        act,
        noticeBody.parse({ scope: 'bucket', bucket, title: 'Gloves', dipping: 'Wear gloves.' }),
      ),
    );
    await expect(coat(number, 'all', bucket)).rejects.toThrow(Conflict);
    expect((await see(number)).glazes).toEqual([]);
    await s.as(member, (act) => readNotice(act, notice, 1));
    await coat(number, 'all', bucket);
    expect(await dippings(bucket)).toHaveLength(1);
  });
});

describe('coats that may run', () => {
  const thick = async (...mm: number[]): Promise<number> => {
    const number = await one();
    await coat(number, 'outside', grey);
    await coat(number, 'over', moss, { heldBack: true });
    for (const [at, each] of mm.entries()) await does('scratch', number, { position: at + 1, mm: each });
    return number;
  };

  it('wait for a technician’s yes, on every list of the desk, and nowhere else', async () => {
    const number = await thick(0.9, 0.7);
    const fine = await thick(0.9, 0.5);
    await does('hand-in', [number, fine]);
    expect(open(await see(number))).toEqual(['mixed-coat']);
    expect(await see(fine)).toMatchObject({ isReady: true });
    const strangers = await s.as(technician, lookAtStrangers);
    expect(strangers.first.map((piece) => piece.number)).toEqual([number]);
    const desk = await s.as(technician, lookAtDesk);
    expect(desk.yesAsked.count).toBe(1);
    const sizes = await s.as(member, (act) => listWaitingSizes(act));
    const isReady = (one: number) => sizes.find((piece) => piece.number === one)?.isReady;
    expect([isReady(number), isReady(fine)]).toEqual([false, true]);
    const asked = (await s.as(technician, due)).find(({ why }) => why === 'yes-asked');
    expect(asked).toMatchObject({ count: 1 });
    expect((await s.visit(technician, '/ware/desk/yes')).body).toContain('2 coats outside come to 1.6 mm');
    await expect(moved(s, technician, 'yes', [fine], { trayMm: 15 })).rejects.toThrow('asks for no yes');
    await expect(moved(s, member, 'yes', [number], { trayMm: 15 })).rejects.toThrow();
    await moved(s, technician, 'yes', [number], { trayMm: 15 });
    expect(await see(number)).toMatchObject({ isReady: true, trayMm: 15 });
    expect((await s.as(technician, lookAtStrangers)).first).toEqual([]);
  });

  it('a yes ends where they get thicker than it was about', async () => {
    const number = await thick(0.9, 0.7);
    await moved(s, technician, 'yes', [number], { trayMm: 15 });
    await does('scratch', number, { position: 2, mm: 0.7 });
    expect((await see(number)).yesAt).not.toBeNull();
    await does('scratch', number, { position: 2, mm: 1.4 });
    expect(open(await see(number))).toEqual(['mixed-coat']);
    expect(await s.as(technician, (act) => examinePieces(act))).toEqual([]);
  });

  it('a pair that runs is known by either way it was written down; a tray of the glaze’s own settles it', async () => {
    const [under, over, caught] = [await aGlaze(s, 'UN'), await aGlaze(s, 'OV'), await aGlaze(s, 'TRAY')];
    await s.as(technician, (act) => addRunPair(act, { a: over, b: under, why: 'Both are fluid' }));
    await s.as(technician, (act) => addRunPair(act, { a: caught, b: caught, why: 'Twice is too much' }));
    const bench = await one();
    await coat(bench, 'outside', under);
    await coat(bench, 'over', over);
    expect(open(await see(bench))).toContain('mixed-coat');
    const said = await one();
    await does('glazes', said, { glazes: [{ bucket: over }, { bucket: under }] });
    expect(open(await see(said))).toContain('mixed-coat');
    const apart = await one();
    await coat(apart, 'inside', under);
    await coat(apart, 'outside', over);
    expect(open(await see(apart))).not.toContain('mixed-coat');
    await s.as(technician, (act) => setTrait(act, caught, { isRunny: true, trayMm: 20 }));
    const twice = await one();
    await coat(twice, 'all', caught);
    await coat(twice, 'over', caught, { heldBack: true });
    expect(open(await see(twice))).toEqual([]);
    await does('hand-in', twice);
    const sizes = await s.as(member, (act) => listWaitingSizes(act));
    expect(sizes.find(({ number }) => number === twice)?.isReady).toBe(true);
  });
});

describe('the dry racks', () => {
  it('show what can be dipped first, then by when it can, and what is through last', async () => {
    const rack = await aStudio();
    const own = rack.people.member;
    const aBucket = await rack.aBucket({ sg: 1.46 });
    const mine = async (howMany: number) =>
      somePieces(rack, own, { clay: await aClay(rack, { maxCone: '10' }), begins: 'bisqued', howMany });
    const go = (path: MovePath, numbers: number[], body: object) => moved(rack, own, path, numbers, body);
    const put = (numbers: number[], face: string) =>
      go('coat', numbers, { bucket: aBucket, face, way: 'dip' });
    const begun = { inside: aBucket, outside: aBucket, over: [] };
    const [late, early, fresh, through, idle] = [
      await mine(2),
      await mine(1),
      await mine(1),
      await mine(1),
      await mine(1),
    ] as number[][] as [number[], number[], number[], number[], number[]];
    for (const numbers of [late, early, fresh]) await go('plan', numbers, begun);
    await put(early, 'inside');
    rack.clock.forward(HOUR);
    await put(late, 'inside');
    await put(through, 'all');
    const racks = await rack.as(own, (act) => listRacks(act, { everybody: false }));
    expect(racks.map(({ pieces }) => pieces.map(({ number }) => number))).toEqual([
      fresh,
      early,
      late,
      through,
    ]);
    expect(racks.flatMap(({ pieces }) => pieces.map(({ number }) => number))).not.toContain(idle[0]);
    expect(await rack.as(rack.people.technician, (act) => listRacks(act, { everybody: false }))).toEqual([]);
    expect(await rack.as(rack.people.technician, (act) => listRacks(act, { everybody: true }))).toHaveLength(
      4,
    );
    await expect(rack.as(own, (act) => listRacks(act, { everybody: true }))).rejects.toThrow();
  });
});

describe('pages and programs', () => {
  it('a form leads back to the bench, also for the whole batch; opened by itself, its address does', async () => {
    const numbers = (await bisqued(2)) as [number, number];
    const [number, sibling] = numbers;
    const sent = await s.submit(member, `/ware/${number}/plan`, {
      inside: grey,
      outside: moss,
      over: ['', moss, ''],
      also: String(sibling),
    });
    expect(sent.statusCode).toBe(303);
    expect(sent.headers.location).toBe(`/ware/${number}/glazing?did=plan&pieces=${number},${sibling}`);
    expect((await see(sibling)).plan).toEqual({ inside: grey, outside: moss, over: [moss] });
    for (const path of ['plan', 'waxed', 'coat', 'weigh', 'strike-weighing', 'inside-dry', 'scratch']) {
      const opened = await s.visit(member, `/ware/${number}/${path}`);
      expect([opened.statusCode, opened.headers.location], path).toEqual([303, `/ware/${number}/glazing`]);
    }
    const tap = await s.submit(member, `/ware/${number}/waxed`, {});
    expect(tap.headers.location).toBe(`/ware/${number}/glazing?did=waxed&pieces=${number}`);
  });

  it('what is refused is said on the bench, beside its field, with what was typed', async () => {
    const number = await one();
    const sent = await s.submit(member, `/ware/${number}/coat`, {
      bucket: grey,
      face: 'all',
      way: 'dip',
      beforeGrams: '412',
      afterGrams: '409.5',
    });
    expect(sent.statusCode).toBe(422);
    expect(sent.body).toContain('more than before: 412 g');
    expect(sent.body).toContain('value="409.5"');
    expect((await see(number)).glazes).toEqual([]);
  });

  it('is its owner’s and technicians’: everybody else finds nothing', async () => {
    const number = await one();
    await coat(number, 'all');
    const bodies = {
      plan: { inside: grey },
      waxed: {},
      coat: { bucket: grey, face: 'all' },
      weigh: { grams: 400 },
      'strike-weighing': { event: 2 },
      'inside-dry': {},
      scratch: { position: 1, mm: 0.5 },
    };
    for (const [path, body] of Object.entries(bodies)) {
      expect((await s.api(other, 'POST', `/pieces/${number}/${path}`, body)).statusCode, path).toBe(404);
      const fields = Object.fromEntries(Object.entries(body).map(([name, value]) => [name, String(value)]));
      expect((await s.submit(other, `/ware/${number}/${path}`, fields)).statusCode, path).toBe(404);
    }
    expect((await s.api(other, 'GET', `/pieces/${number}/route`)).statusCode).toBe(404);
    expect((await s.api(technician, 'POST', `/pieces/${number}/inside-dry`, {})).statusCode).toBe(201);
    expect((await see(number)).glazes).toHaveLength(1);
  });

  it('the route of a piece says all of it', async () => {
    const number = await one();
    await plan(number, grey, moss);
    await coat(number, 'inside', grey, { seconds: 8 });
    const { statusCode, body } = await s.api(member, 'GET', `/pieces/${number}/route`);
    expect(statusCode).toBe(200);
    const way = JSON.parse(body);
    expect(way).toMatchObject({
      number,
      plan: { inside: grey, outside: moss, over: [] },
      next: { face: 'outside', glaze: moss },
      coats: [{ glaze: grey, face: 'inside', seconds: 8, inBucketLedger: true }],
      wall: { state: 'wet', by: 'clock', wait: true },
    });
    expect(Date.parse(way.wall.readyAt) - Date.parse(way.coats[0].at)).toBe(12 * HOUR);
    expect(way.steps.at(-1)).toEqual({ words: 'Ready for the kiln', done: false });
  });

  it('no input makes it fall over, and whatever was done, rows say what events say', async () => {
    const number = await one();
    await coat(number, 'all');
    const value = fc.oneof(
      fc.constantFrom(grey, moss, 'NOPE', 'inside', 'all', 'over', 'dip', 'later', 'glazed', 'cheek', ''),
      fc.double(),
      fc.integer({ min: -5, max: 900 }),
      fc.boolean(),
      fc.constant(null),
      fc.array(fc.constantFrom(grey, 'x'), { maxLength: 4 }),
    );
    const names = [
      'bucket',
      'face',
      'way',
      'seconds',
      'beforeGrams',
      'afterGrams',
      'heldBack',
      'grams',
      'moment',
      'event',
      'how',
      'position',
      'mm',
      'inside',
      'outside',
      'over',
    ];
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('plan', 'waxed', 'coat', 'weigh', 'strike-weighing', 'inside-dry', 'scratch'),
        fc.dictionary(fc.constantFrom(...names), value, { maxKeys: 4 }),
        async (path, body) => {
          const { statusCode } = await s.api(member, 'POST', `/pieces/${number}/${path}`, body);
          expect(statusCode).toBeLessThan(500);
          const known = { bucket: grey, face: 'over', grams: 400, event: 2, position: 1, mm: 0.5 };
          const needs =
            {
              coat: ['bucket', 'face'],
              weigh: ['grams'],
              'strike-weighing': ['event'],
              scratch: ['position', 'mm'],
            }[path as string] ?? [];
          const likely = {
            ...Object.fromEntries(needs.map((name) => [name, known[name as keyof typeof known]])),
            ...body,
          };
          expect((await s.api(member, 'POST', `/pieces/${number}/${path}`, likely)).statusCode).toBeLessThan(
            500,
          );
        },
      ),
      { numRuns: 60 },
    );
    expect((await s.api(member, 'GET', `/pieces/${number}/route`)).statusCode).toBe(200);
    expect(await s.as(technician, (act) => examinePieces(act))).toEqual([]);
  });
});
