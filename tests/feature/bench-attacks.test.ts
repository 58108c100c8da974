import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { HOUR } from '../../server/core/clock.ts';
import { clays, coatTiles } from '../../server/ware/schema.ts';
import {
  comeOut,
  enterLoad,
  examinePieces,
  findPiece,
  listOwn,
  lockPieces,
} from '../../server/ware/service/index.ts';
import { aGlaze, benchOf, GREY } from '../helpers/bench.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aClay, fiveTiles, somePieces } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let technician: Person;
let other: Person;
let clay: string;
const grey = GREY;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  other = await s.aPerson('member');
  clay = await aClay(s, { maxCone: '10' });
  await aGlaze(s, grey);
});

const { see, routeOf, bisqued, one, does, plan, coat, dippings } = benchOf(() => ({ s, clay }));
const post = (path: string, body: object, who = member, headers = {}) =>
  s.api(who, 'POST', path, body, headers);
/** Rows say what events say: of every piece, and of every raw coat that was put on at the bench. */
const isSound = async () => {
  expect(await s.as(technician, (act) => examinePieces(act))).toEqual([]);
  for (const { number, glazes } of await s.as(member, (act) => listOwn(act))) {
    const { coats } = (await routeOf(number)).route;
    const raw = glazes.filter(({ load, way }) => load === null && way !== null);
    expect(
      raw.map(({ bucket, face, way, seconds, coatMm, coatFrom }) => [
        bucket?.code,
        face,
        way,
        seconds,
        coatMm,
        coatFrom,
      ]),
      `${number}`,
    ).toEqual(coats.map(({ glaze, face, way, seconds, mm, from }) => [glaze, face, way, seconds, mm, from]));
  }
};

describe('odd numbers', () => {
  /** As they stand in JSON; not all of them can be written by a program that means well. */
  const RAW = [
    '1e308',
    '-1e308',
    '1e400',
    '-0',
    '0',
    '5e-324',
    '"NaN"',
    '"4"',
    '""',
    'null',
    '[]',
    '{}',
    'true',
  ];

  it('in JSON are refused beside their field, and nothing is kept', async () => {
    const number = await one();
    await coat(number, 'all');
    const fields: [string, Person, string][] = [
      ...['seconds', 'beforeGrams', 'afterGrams'].map((field): [string, Person, string] => [
        `/pieces/${number}/coat`,
        member,
        `{"bucket":"${grey}","face":"over","${field}":?}`,
      ]),
      [`/pieces/${number}/weigh`, member, '{"grams":?}'],
      [`/pieces/${number}/scratch`, member, '{"position":1,"mm":?}'],
      [`/pieces/${number}/scratch`, member, '{"position":?,"mm":0.5}'],
      [`/pieces/${number}/strike-weighing`, member, '{"event":?}'],
      ...['seconds', 'areaCm2', 'beforeGrams', 'afterGrams', 'dryGrams', 'specificGravity'].map(
        (field): [string, Person, string] => {
          const known = { clay, bucket: grey, seconds: 3, areaCm2: 100, beforeGrams: 50, afterGrams: 60 };
          const kept = Object.entries(known).filter(([name]) => name !== field);
          return [
            '/coat-tiles',
            technician,
            JSON.stringify(Object.fromEntries(kept)).replace(/\}$/, `,"${field}":?}`),
          ];
        },
      ),
    ];
    for (const [path, who, body] of fields)
      for (const raw of RAW) {
        const { statusCode } = await s.app.inject({
          method: 'POST',
          url: `/api/v1${path}`,
          headers: { authorization: `Bearer ${who.token}`, 'content-type': 'application/json' },
          payload: body.replace('?', raw),
        });
        // Nobody counts before the tile is out again: a tile held for no time is one.
        const isATile =
          body.includes('"seconds":?') && path === '/coat-tiles' && ['0', '-0', '5e-324'].includes(raw);
        if (!isATile)
          expect([path, body, raw, statusCode >= 400 && statusCode < 500]).toEqual([path, body, raw, true]);
        else expect(statusCode).toBe(201);
      }
    expect((await see(number)).glazes).toHaveLength(1);
    await isSound();
  });

  it('typed into a form come back beside their field', async () => {
    const number = await one();
    await coat(number, 'all', grey, { beforeGrams: 400, afterGrams: 420 });
    for (const typed of ['NaN', 'Infinity', '1e308', '-0', '٣', '1,2,3', '9'.repeat(400), '🏺'])
      for (const [path, fields] of [
        ['coat', { bucket: grey, face: 'over', way: 'dip', seconds: typed }],
        ['coat', { bucket: grey, face: 'over', way: 'dip', afterGrams: typed }],
        ['weigh', { grams: typed, moment: 'later' }],
        ['scratch', { position: '1', mm: typed }],
        ['scratch', { position: typed, mm: '0.5' }],
        ['strike-weighing', { event: typed }],
        ['plan', { inside: typed, over: [typed, '', ''] }],
        ['inside-dry', { how: typed }],
      ] as const) {
        const { statusCode } = await s.submit(member, `/ware/${number}/${path}`, fields as never);
        expect([path, typed, statusCode]).toEqual([path, typed, 422]);
      }
    for (const address of [
      'coat=inside&bucket=',
      'coat=nowhere',
      'bucket=NOPE',
      'coat=all&coat=over&bucket=%00',
    ])
      expect((await s.visit(member, `/ware/${number}/glazing?${address}`)).statusCode, address).toBe(200);
    expect((await see(number)).glazes).toHaveLength(1);
  });

  it('typed by a technician come back too, and odd addresses lead nowhere', async () => {
    const [{ id } = { id: 0 }] = await s.database.db.select().from(clays).where(eq(clays.name, clay));
    const tile = { clay, bucket: grey, seconds: '3', areaCm2: '100', beforeGrams: '50', afterGrams: '60' };
    const settings = {
      thickAboveMm: '12',
      thickWaitDays: '7',
      heldBackMm: '6',
      heldBackRunnyMm: '12',
      uncollectedDays: '60',
      bisqueCone: '06',
      usualCoatLowMm: '0.4',
      usualCoatHighMm: '0.6',
      mostCoatMm: '1.5',
      dryCoatDensity: '1.4',
      dryBackHours: '12',
      waterGonePercent: '90',
    };
    const coatSettings = Object.keys(settings).slice(6);
    const forms: [string, Record<string, string>, string[]][] = [
      ['/bench/tiles/new', tile, [...Object.keys(tile), 'dryGrams', 'specificGravity', 'happenedAt']],
      [
        `/clays/${id}/bisque`,
        { method: 'soaked', dryGrams1: '100', soakedGrams1: '112' },
        ['method', 'soakedGrams1', 'load'],
      ],
      ['/ware/settings', settings, coatSettings],
      ['/ware/runs', { a: grey, b: grey, why: 'Twice runs' }, ['a', 'b']],
    ];
    for (const typed of ['NaN', 'Infinity', '1e308', '-5', '1,2,3', '9'.repeat(400), '🏺'])
      for (const [path, fields, odd] of forms)
        for (const field of odd) {
          const { statusCode } = await s.submit(technician, path, { ...fields, [field]: typed });
          expect([path, field, typed, statusCode]).toEqual([path, field, typed, 422]);
        }
    for (const path of [
      '/bench/tiles/99999999999999999999/strike',
      '/bench/tiles/1e3/strike',
      `/clays/${id}/bisque/-1/strike`,
      '/clays/0/bisque',
      '/ware/0/glazing',
      '/ware/1e9/glazing',
      '/bench/poster?piece=0x1',
      `/bench/coat?clay=${id}&bucket=NOPE`,
    ])
      expect((await s.visit(technician, path)).statusCode, path).toBe(404);
    for (const path of [
      '/coat-tiles?limit=0',
      '/coat-tiles?before=-1',
      '/coat-tiles?clay=%00',
      '/coat/advice?clay=x',
    ])
      expect((await s.api(member, 'GET', path)).statusCode, path).toBeGreaterThanOrEqual(400);
    expect((await s.submit(member, '/ware/runs', { a: grey, b: grey, why: 'x' })).statusCode).toBe(403);
  });
});

describe('buckets as they are', () => {
  it('retired, unread or of nearly nothing but water: the coat is kept', async () => {
    const [retired, water, unread] = [
      await aGlaze(s, 'RET'),
      await aGlaze(s, 'WATER', { sg: 1 }),
      await s.aBucket({ code: 'UNREAD', litres: null }),
    ];
    await s.as(technician, (act) =>
      recordAct(act, retired, 'service', { state: 'retired', reason: 'Empty' }),
    );
    for (const bucket of [retired, water, unread]) {
      const number = await one();
      await plan(number, bucket, bucket, [bucket]);
      for (const more of [
        { face: 'all', beforeGrams: 300, afterGrams: 330 },
        { face: 'over', seconds: 4 },
      ]) {
        const kept = await post(`/pieces/${number}/coat`, { bucket, ...more });
        expect(kept.statusCode, `${bucket} ${kept.body}`).toBe(201);
      }
      expect((await post(`/pieces/${number}/weigh`, { grams: 310 })).statusCode).toBe(201);
      for (const { coatMm } of (await see(number)).glazes)
        if (coatMm !== null) expect(coatMm).toBeGreaterThan(0);
      expect((await s.visit(member, `/ware/${number}/glazing`)).statusCode, bucket).toBe(200);
      expect((await s.visit(member, `/ware/${number}`)).statusCode, bucket).toBe(200);
      expect((await s.api(member, 'GET', `/pieces/${number}/route`)).statusCode, bucket).toBe(200);
      expect(
        (
          await s.api(
            member,
            'GET',
            `/coat/advice?clay=${encodeURIComponent(clay)}&bucket=${bucket}&wallMm=7`,
          )
        ).statusCode,
      ).toBe(200);
    }
    expect(await dippings(retired)).toEqual([]);
    expect(await dippings(unread)).toHaveLength(2);
    expect((await s.visit(member, '/bench')).statusCode).toBe(200);
    await isSound();
  });

  it('a clay that nobody knows has no count from tiles, and no thickness', async () => {
    const [number] = (await somePieces(s, member, { ownClay: 'From the river', begins: 'bisqued' })) as [
      number,
    ];
    await plan(number, grey, grey);
    expect((await s.visit(member, `/ware/${number}/glazing`)).statusCode).toBe(200);
    await coat(number, 'all', grey, { seconds: 3 });
    expect((await see(number)).glazes).toMatchObject([{ seconds: 3, coatMm: null }]);
    expect((await s.api(member, 'GET', `/coat/advice?clay=NOPE&bucket=${grey}`)).statusCode).toBe(404);
  });
});

describe('many hands', () => {
  it('a batch of 40 by its tiles: one line of the bucket, forty coats, none without the others', async () => {
    const bucket = await aGlaze(s, 'FORTY');
    await fiveTiles(s, clay, bucket);
    const numbers = await bisqued(40);
    const also = numbers.slice(1).map(String);
    const [stranger] = (await somePieces(s, other, { clay, begins: 'bisqued' })) as [number];
    const fields = { bucket, face: 'all', way: 'dip', seconds: '4' };
    const at = `/ware/${numbers[0]}/coat`;
    const refused = await s.submit(member, at, { ...fields, also: [...also, String(stranger)].join(',') });
    expect(refused.statusCode).toBe(404);
    expect(await dippings(bucket)).toEqual([]);
    const sent = await s.submit(member, at, { ...fields, also: also.join(','), key: 'forty-at-once' });
    expect(sent.statusCode, sent.body).toBe(303);
    await s.submit(member, at, { ...fields, also: also.join(','), key: 'forty-at-once' });
    expect(await dippings(bucket)).toMatchObject([{ pieces: 40 }]);
    for (const number of numbers) expect((await see(number)).glazes).toHaveLength(1);
    expect((await s.as(other, (act) => findPiece(act, stranger))).glazes).toEqual([]);
    await isSound();
  });

  it('the same key twice is one coat; with other words it is refused', async () => {
    const bucket = await aGlaze(s, 'KEY');
    const number = await one();
    const body = { bucket, face: 'all' };
    const key = { 'idempotency-key': 'one-coat-1' };
    const first = await post(`/pieces/${number}/coat`, body, member, key);
    const again = await post(`/pieces/${number}/coat`, body, member, key);
    expect([first.statusCode, again.statusCode]).toEqual([201, 201]);
    expect(again.json()).toEqual(first.json());
    expect((await post(`/pieces/${number}/coat`, { ...body, face: 'over' }, member, key)).statusCode).toBe(
      422,
    );
    expect((await see(number)).glazes).toHaveLength(1);
    expect(await dippings(bucket)).toHaveLength(1);
  });

  it('two people at one piece at once: the second is asked, and both coats are kept where both were', async () => {
    const bucket = await aGlaze(s, 'TWO');
    const number = await one();
    await plan(number, bucket, bucket);
    const coats = [{ face: 'inside', beforeGrams: 300, afterGrams: 320 }, { face: 'outside' }];
    const acts = [member, technician].flatMap((who) =>
      coats.map((body) => ({ who, body: { bucket, ...body } })),
    );
    const both = await Promise.all(
      acts.map(async (act) => ({ ...act, sent: await post(`/pieces/${number}/coat`, act.body, act.who) })),
    );
    const asked = both.filter(({ sent }) => sent.statusCode === 409);
    expect(both.map(({ sent }) => sent.statusCode).sort()).toEqual([201, 201, 409, 409]);
    expect(asked.map(({ body }) => body.face).sort()).toEqual(['inside', 'outside']);
    for (const { who, body, sent } of asked) {
      const first = who === member ? technician : member;
      expect(sent.json().detail).toContain(
        `${first.name} just put ${bucket} on piece ${number}, ${body.face}.`,
      );
    }
    expect(await dippings(bucket)).toHaveLength(2);
    for (const { who, body } of asked)
      expect((await post(`/pieces/${number}/coat`, { ...body, confirm: true }, who)).statusCode).toBe(201);
    expect((await see(number)).glazes.map(({ position }) => position)).toEqual([1, 2, 3, 4]);
    expect((await routeOf(number)).route.coats).toHaveLength(4);
    expect(await dippings(bucket)).toHaveLength(4);
    const event = (await routeOf(number)).route.coats.find(({ afterGrams }) => afterGrams !== null)?.event;
    const strikes = await Promise.all(
      [member, technician].map((who) => post(`/pieces/${number}/strike-weighing`, { event }, who)),
    );
    expect(strikes.map(({ statusCode }) => statusCode).sort()).toEqual([201, 409]);
    await isSound();
  });

  it('is asked on the page too, of one of a batch; not of whoever did it, of another coat or later', async () => {
    const bucket = await aGlaze(s, 'ASKED');
    const numbers = (await bisqued(2)) as [number, number];
    await plan(numbers, bucket, grey);
    await does('waxed', numbers);
    await coat(numbers[1], 'inside', bucket);
    await coat(numbers[1], 'inside', bucket);
    const fields = { bucket, face: 'inside', way: 'pour', also: String(numbers[1]) };
    const at = `/ware/${numbers[0]}/coat`;
    const asked = await s.submit(technician, at, fields);
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain(`${member.name} just put ${bucket} on piece ${numbers[1]}, inside.`);
    expect(asked.body).toContain('Yes, it is one more');
    expect((await see(numbers[0])).glazes).toEqual([]);
    expect((await s.submit(technician, at, { ...fields, confirm: 'yes' })).statusCode).toBe(303);
    expect((await s.submit(member, at, { ...fields, face: 'outside' })).statusCode).toBe(303);
    s.clock.forward(HOUR);
    expect((await s.submit(member, at, fields)).statusCode).toBe(303);
    await isSound();
  });

  it('tiles go away with nobody: a strike by two at once is one', async () => {
    const kept = await post(
      '/coat-tiles',
      { clay, bucket: grey, seconds: 3, areaCm2: 100, beforeGrams: 50, afterGrams: 60 },
      technician,
    );
    const strikes = await Promise.all(
      [technician, s.people.manager].map((who) =>
        post(`/coat-tiles/${kept.json().id}/strike`, { why: 'Dropped' }, who),
      ),
    );
    expect(strikes.map(({ statusCode }) => statusCode).sort()).toEqual([200, 409]);
    expect(await s.database.db.select().from(coatTiles).where(eq(coatTiles.id, kept.json().id))).toHaveLength(
      1,
    );
  });
});

describe('out of turn', () => {
  it('a plan that shrinks to what is on already is through: the piece can be handed in', async () => {
    for (const shrink of [(number: number) => plan(number, grey), (number: number) => plan(number)]) {
      const number = await one();
      await plan(number, grey, grey, [grey]);
      await coat(number, 'inside', grey, { heldBack: true });
      expect((await see(number)).stage).toBe('bisqued');
      await shrink(number);
      expect((await see(number)).stage).toBe('glazed');
      await does('hand-in', number);
      expect((await see(number)).isReady).toBe(true);
    }
    await isSound();
  });

  it('nothing goes on in a load or out of it: no line in the bucket either', async () => {
    const bucket = await aGlaze(s, 'LOAD');
    const number = await one();
    await coat(number, 'all', bucket, { heldBack: true });
    await does('hand-in', number);
    await s.as(technician, async (act) => enterLoad(act, await lockPieces(act, [number]), 4100));
    const bodies = {
      plan: { inside: bucket },
      waxed: {},
      coat: { bucket, face: 'over' },
      weigh: { grams: 400 },
      'strike-weighing': { event: 2 },
      'inside-dry': {},
      scratch: { position: 1, mm: 0.5 },
    };
    const tryAll = async () => {
      for (const who of [member, technician])
        for (const [path, body] of Object.entries(bodies))
          expect((await post(`/pieces/${number}/${path}`, body, who)).statusCode, path).toBe(409);
      expect((await s.visit(member, `/ware/${number}/glazing`)).statusCode).toBe(200);
    };
    await tryAll();
    await s.as(technician, (act) =>
      comeOut(act, 4100, { kind: 'glaze', cone: '6', atmosphere: 'oxidation' }, [
        { number, outcome: 'good', level: 1 },
      ]),
    );
    await tryAll();
    expect(await dippings(bucket)).toHaveLength(1);
    await isSound();
  });

  it('a bare weight that was wrong takes the thickness along that followed from it', async () => {
    const number = await one();
    await does('weigh', number, { grams: 300, moment: 'bare' });
    const slip = (await see(number)).lastEvent;
    await coat(number, 'inside', grey, { afterGrams: 340 });
    expect((await see(number)).glazes).toMatchObject([{ coatFrom: 'weighed' }]);
    await does('strike-weighing', number, { event: slip });
    expect((await see(number)).glazes).toMatchObject([{ coatMm: null, coatFrom: null }]);
    const { route, wetness } = await routeOf(number);
    expect(route).toMatchObject({ bareGrams: null, coats: [{ beforeGrams: null, mm: null }] });
    expect(wetness).toMatchObject({ by: 'clock', shareGone: null });
    await isSound();
  });

  it('where weights are struck out, what the tiles say of the count is back', async () => {
    const number = await one();
    await does('weigh', number, { grams: 300, moment: 'bare' });
    await coat(number, 'outside', 'FORTY', { seconds: 4 });
    const byTiles = (await see(number)).glazes[0];
    expect(byTiles).toMatchObject({ coatFrom: 'tiles' });
    await does('weigh', number, { grams: 340, moment: 'glazed' });
    const [weighed] = (await see(number)).glazes;
    expect(weighed).toMatchObject({ coatFrom: 'weighed' });
    const way = await routeOf(number);
    expect(way.route.coats[0]?.mm).toBeCloseTo(weighed?.coatMm ?? 0, 9);
    await does('strike-weighing', number, { event: way.route.weighings[0]?.event });
    expect((await see(number)).glazes[0]).toMatchObject({ coatMm: byTiles?.coatMm, coatFrom: 'tiles' });
    await isSound();
  });

  it('a piece weighed bare does not keep its batch from being dipped together', async () => {
    const numbers = (await bisqued(2)) as [number, number];
    await plan(numbers, grey, grey);
    await does('waxed', numbers);
    await does('weigh', numbers[0], { grams: 300, moment: 'bare' });
    const { body } = await s.visit(member, `/ware/${numbers[0]}/glazing`);
    expect(body).toContain(`name="also"`);
    expect(body).not.toMatch(/name="beforeGrams"[^>]*value="3/);
  });

  it('a piece weighed only wet is not taken to weigh that before its next coat', async () => {
    const number = await one();
    await plan(number, grey, grey, [grey]);
    await does('waxed', number);
    await coat(number, 'inside', grey, { beforeGrams: 300, afterGrams: 340 });
    s.clock.forward(13 * HOUR);
    const { body } = await s.visit(member, `/ware/${number}/glazing`);
    expect(body).toContain('name="beforeGrams"');
    expect(body).not.toMatch(/name="beforeGrams"[^>]*value="340/);
  });
});
