import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { batches } from '../../server/buckets/schema.ts';
import {
  countersign,
  createBucket,
  editBucket,
  examineLedgers,
  findBucket,
  listBatches,
  listEvents,
  planNewBatch,
  pourBatch,
  recordAct,
  showBatch,
  takeBack,
  voidEvent,
  weighLine,
} from '../../server/buckets/service/index.ts';
import { createRecipe, reviseRecipe } from '../../server/materials/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let wren: Person;
let maro: Person;
let serial = 0;
beforeAll(async () => {
  s = await aStudio();
  wren = s.people.technician;
  maro = s.people.manager;
});

const LINES = [
  { material: 'Potash feldspar', parts: 60, density: 2.57 },
  { material: 'Silica', parts: 25, density: 2.65 },
  { material: 'Whiting', parts: 15, density: 2.71 },
];

/** A bucket of 25 L, at 1.46, of a recipe whose materials are known. */
async function aKnownBucket(recipe?: number): Promise<{ code: string; recipe: number; name: string }> {
  const code = `K${++serial}`;
  const name = `Kelp ${code}`;
  return s.as(wren, async (act) => {
    const recipeId = recipe ?? (await createRecipe(act, name, { lines: LINES, hasSolubles: false })).recipeId;
    const rest = { stirIntervalMinutes: 5, readingTrustedHours: 168, sieveMesh: 100, mixMoreFraction: 0.3 };
    const target = { low: 1.44, aim: 1.46, high: 1.48 };
    const command = { code, name, colour: '#5c5b32', capacityLitres: 25, target, isReclaim: false, ...rest };
    await createBucket(act, command, recipeId);
    return { code, recipe: recipeId, name };
  });
}

const plan = (bucket: string, litres = 12) => s.as(wren, (act) => planNewBatch(act, { bucket, litres }));
const weighAll = (number: number, who = wren) =>
  s.as(who, async (act) => {
    const { lines } = await showBatch(act, number);
    for (const { position, weighedAt } of lines)
      if (weighedAt === null) await weighLine(act, number, { position, lot: `L${position}` });
  });
async function aCheckedBatch(bucket: string, litres = 12): Promise<number> {
  const number = await plan(bucket, litres);
  await weighAll(number);
  await s.as(maro, (act) => countersign(act, number));
  return number;
}
const sheet = (number: number) => s.as(wren, (act) => showBatch(act, number));
const bucketNow = (code: string) => s.as(wren, (act) => findBucket(act, code));
const ledger = async (code: string) =>
  (await s.as(wren, (act) => listEvents(act, code, { limit: 50, before: null }))).events;
const setUpWith = (number: number, bucket: string, waterLitres = 8) =>
  s.as(wren, (act) => pourBatch(act, number, { how: 'setup', bucket, waterLitres }));

describe('planning a batch', () => {
  it('says what to weigh: recipe and aim of the bucket, or those that were typed', async () => {
    const { code, recipe } = await aKnownBucket();
    const answer = await s.submit(wren, '/batches/new', { bucket: code, litres: '12', recipe: '', aim: '' });
    expect(answer.statusCode).toBe(303);
    const number = Number(/^\/batches\/(\d+)$/.exec(answer.headers.location as string)?.[1]);
    const { batch, lines } = await sheet(number);
    expect(batch).toMatchObject({
      litres: 12,
      aimSg: 1.46,
      bucketCode: code,
      stage: 'weighing',
      recipeId: recipe,
    });
    // 1/S = .6/2.57 + .25/2.65 + .15/2.71; D = 12·(1.46 − .99821)·S/(S − .99821)
    const S = 1 / (0.6 / 2.57 + 0.25 / 2.65 + 0.15 / 2.71);
    const D = (12_000 * (1.46 - 0.99821) * S) / (S - 0.99821);
    expect(1000 * batch.dryKg).toBeCloseTo(Math.round(D), 6);
    for (const [i, { material, grams }] of lines.entries()) {
      expect(material).toBe(LINES[i]?.material);
      expect(Math.abs(grams - (D * (LINES[i]?.parts ?? 0)) / 100)).toBeLessThan(1);
    }
    expect(lines.reduce((sum, { grams }) => sum + grams, 0)).toBe(Math.round(D));
    const page = await s.visit(wren, `/batches/${number}`);
    for (const words of [
      'never water onto powder',
      'slake overnight',
      'sieve it twice, 100 mesh',
      'next day',
      'Respirator on',
    ])
      expect(page.body).toContain(words);
  });

  it.each([
    ['zero litres', { litres: '0' }, 'litres', 'A batch of no litres is nothing to weigh'],
    ['litres in words', { litres: 'a lot' }, 'litres', 'Type a number.'],
    ['an aim heavier than the powder', { litres: '10', aim: '2.9' }, 'aim', 'the aim must lie below it'],
    ['an aim of water', { litres: '10', aim: '0.9' }, 'aim', 'A glaze is heavier than water'],
    ['no such bucket', { litres: '10', bucket: 'NOBODY' }, 'bucket', 'Choose a bucket from the list.'],
    [
      'no such recipe',
      { litres: '10', bucket: '', aim: '1.4', recipe: '999999' },
      'recipe',
      'Choose a recipe from the list.',
    ],
    [
      'neither recipe nor bucket',
      { litres: '10', bucket: '', aim: '1.4' },
      'recipe',
      'Choose a recipe, or the bucket',
    ],
  ])('%s is refused beside its field, with what was typed', async (_what, typed, field, words) => {
    const { code } = await aKnownBucket();
    const answer = await s.submit(wren, '/batches/new', { bucket: code, ...typed });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toMatch(new RegExp(`id="f-${field}-error">[^<]*${words.slice(0, 20)}`));
    expect(answer.body).toContain(words);
    expect(answer.body).toContain(`value="${typed.litres}"`);
  });

  it('needs an aim where no bucket gives one, and a recipe whose materials are known', async () => {
    const { recipe } = await aKnownBucket();
    const noAim = await s.submit(wren, '/batches/new', { recipe: String(recipe), litres: '3' });
    expect(noAim.body).toContain('Say what gravity it is wanted at');
    const unknown = await s.aBucket();
    const refused = await s.submit(wren, '/batches/new', { bucket: unknown, litres: '3' });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('The materials of this recipe are not known here');
  });

  it('refuses another recipe than the bucket holds', async () => {
    const [one, other] = [await aKnownBucket(), await aKnownBucket()];
    const typed = { bucket: one.code, recipe: String(other.recipe), litres: '3' };
    const refused = await s.submit(wren, '/batches/new', typed);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain(`${one.name} holds ${one.name}, which is another recipe.`);
  });

  it('takes the version the bucket has, not a later one', async () => {
    const { code, recipe } = await aKnownBucket();
    await s.as(wren, (act) => reviseRecipe(act, recipe, { lines: LINES.slice(0, 2), hasSolubles: false }));
    const { batch, lines } = await sheet(await plan(code));
    expect(batch.recipeVersion).toBe(1);
    expect(lines).toHaveLength(3);
  });

  it('numbers batches without a gap, however many are planned at once', async () => {
    const { code } = await aKnownBucket();
    const before = await plan(code);
    const made = await Promise.all(Array.from({ length: 6 }, () => plan(code)));
    expect(made.sort((a, b) => a - b)).toEqual([1, 2, 3, 4, 5, 6].map((n) => before + n));
  });

  it('is done once when the form is sent twice', async () => {
    const { code } = await aKnownBucket();
    const form = { bucket: code, litres: '7', key: 'one-key-for-a-batch' };
    const [first, again] = [
      await s.submit(wren, '/batches/new', form),
      await s.submit(wren, '/batches/new', form),
    ];
    expect(again.headers.location).toBe(first.headers.location);
  });

  it('is a technician’s to do and to see', async () => {
    for (const url of ['/batches', '/batches/new', '/batches/1'])
      expect((await s.visit(s.people.member, url)).statusCode).toBe(403);
    const { code } = await aKnownBucket();
    const asMember = s.as(s.people.member, (act) => planNewBatch(act, { bucket: code, litres: 1 }));
    await expect(asMember).rejects.toThrow('This needs a technician.');
    expect((await s.visit(wren, '/batches/999999')).statusCode).toBe(404);
    expect((await s.visit(wren, '/batches/none')).statusCode).toBe(404);
  });
});

describe('weighing it', () => {
  it('ticks each line with lot, person and time, and takes a wrong tick back', async () => {
    const number = await plan((await aKnownBucket()).code);
    const at = `/batches/${number}`;
    const ticked = await s.submit(wren, `${at}/weigh`, { position: '1', lot: 'S 88' });
    expect(ticked.headers.location).toBe(`${at}#line-1`);
    const [, line] = (await sheet(number)).lines;
    expect(line).toMatchObject({ lot: 'S 88', weighedBy: 'Wren', weighedAt: s.clock.now() });
    expect((await s.visit(maro, at)).body).toContain('lot S 88');
    expect((await s.submit(maro, `${at}/take-back`, { position: '1' })).statusCode).toBe(303);
    expect((await sheet(number)).lines[1]).toMatchObject({ lot: '', weighedBy: null, weighedAt: null });
  });

  it('leads back whatever stands around the number of the line', async () => {
    const number = await plan((await aKnownBucket()).code);
    const answer = await s.submit(wren, `/batches/${number}/weigh`, { position: '\r\n1\u2028' });
    expect(answer.statusCode).toBe(303);
    expect((await sheet(number)).lines[1]?.weighedBy).toBe('Wren');
  });

  it('keeps what was typed when a tick is refused', async () => {
    const number = await plan((await aKnownBucket()).code);
    const typed = { position: '1', lot: 'x'.repeat(41) };
    const answer = await s.submit(wren, `/batches/${number}/weigh`, typed);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('id="line-1-lot-error">At most 40 characters.');
    expect(answer.body).toContain(typed.lot);
    expect((await s.submit(wren, `/batches/${number}/weigh`, { position: '9' })).statusCode).toBe(404);
  });

  it('is ticked by one of two who weigh the same line', async () => {
    const number = await plan((await aKnownBucket()).code);
    const both = await Promise.all(
      [wren, maro].map((who) => s.submit(who, `/batches/${number}/weigh`, { position: '0' })),
    );
    expect(both.map(({ statusCode }) => statusCode).sort()).toEqual([303, 409]);
    expect(both.find(({ statusCode }) => statusCode === 409)?.body).toMatch(
      /(Wren|Maro) has ticked Potash feldspar already/,
    );
  });
});

describe('countersigning it', () => {
  it('is for somebody who weighed none of its lines', async () => {
    const number = await plan((await aKnownBucket()).code);
    await s.as(maro, (act) => weighLine(act, number, { position: 0 }));
    await weighAll(number);
    for (const who of [wren, maro]) {
      const answer = await s.submit(who, `/batches/${number}/countersign`, {});
      expect(answer.statusCode).toBe(403);
      expect(answer.body).toContain('You weighed a line of this batch: somebody else must countersign it.');
      expect((await s.visit(who, `/batches/${number}`)).body).toContain('Somebody else countersigns it');
    }
    const third = await s.aPerson('technician', 'Third');
    expect((await s.submit(third, `/batches/${number}/countersign`, {})).statusCode).toBe(303);
    const { batch } = await sheet(number);
    expect(batch).toMatchObject({ stage: 'checked', checkedBy: 'Third', checkedAt: s.clock.now() });
  });

  it('waits for every line', async () => {
    const number = await plan((await aKnownBucket()).code);
    await s.as(wren, (act) => weighLine(act, number, { position: 0 }));
    const answer = await s.submit(maro, `/batches/${number}/countersign`, {});
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('Silica is still to be weighed.');
  });

  it('counts whoever weighs now, not a tick that was taken back', async () => {
    const number = await plan((await aKnownBucket()).code);
    await s.as(maro, (act) => weighLine(act, number, { position: 0 }));
    await s.as(maro, (act) => takeBack(act, number, 0));
    await weighAll(number);
    await s.as(maro, (act) => countersign(act, number));
    expect((await sheet(number)).batch.checkedBy).toBe('Maro');
  });

  it('leaves the lines as they are from then on', async () => {
    const number = await aCheckedBatch((await aKnownBucket()).code);
    for (const step of ['weigh', 'take-back', 'countersign']) {
      const answer = await s.submit(wren, `/batches/${number}/${step}`, { position: '0' });
      expect(answer.statusCode, step).toBe(409);
      expect(answer.body).toContain('Maro has countersigned this batch: its lines stay as they are.');
    }
  });

  it('and a tick taken back at the same moment: one of the two', async () => {
    for (let round = 0; round < 4; round++) {
      const number = await plan((await aKnownBucket()).code);
      await weighAll(number);
      const [signed, taken] = await Promise.allSettled([
        s.as(maro, (act) => countersign(act, number)),
        s.as(wren, (act) => takeBack(act, number, 1)),
      ]);
      expect([signed.status, taken.status].sort()).toEqual(['fulfilled', 'rejected']);
      const { batch, lines } = await sheet(number);
      expect(batch.stage).toBe(signed.status === 'fulfilled' ? 'checked' : 'weighing');
      expect(lines.every(({ weighedAt }) => weighedAt !== null)).toBe(signed.status === 'fulfilled');
    }
  });
});

describe('pouring it into a bucket', () => {
  it('sets the bucket up and puts it on test, in one act', async () => {
    const { code, name } = await aKnownBucket();
    const number = await aCheckedBatch(code);
    const { batch } = await sheet(number);
    const answer = await s.submit(wren, `/batches/${number}/use`, {
      how: 'setup',
      bucket: code,
      waterLitres: '8,2',
    });
    expect(answer.headers.location).toBe(`/buckets/${code}?did=1`);
    const page = await s.visit(wren, `/buckets/${code}?did=1`);
    expect(page.body).toContain(`Recorded: set up from batch ${number}:`);
    expect(page.body).toContain(`New batch on test until a fired tile is accepted: batch ${number}.`);
    expect(page.body).toContain(`href="/batches/${number}"`);
    const { facts, verdict } = await bucketNow(code);
    expect(verdict.state).toBe('on-test');
    expect(facts.batch).toBe(number);
    expect(facts.solidsKg).toBeCloseTo(batch.dryKg, 9);
    expect(facts.waterKg).toBeCloseTo(8.2 * 0.99821, 9);
    expect((await ledger(code)).map(({ entry }) => entry.kind)).toEqual(['service', 'setup']);

    const api = await s.api(s.people.member, 'GET', `/buckets/${code}/events`);
    expect(api.json().events.find((e: { kind: string }) => e.kind === 'setup').batch).toBe(number);
    expect((await s.api(s.people.member, 'GET', `/buckets/${code}`)).json().batch).toBe(number);
    const sheetPage = await s.visit(wren, `/batches/${number}`);
    expect(sheetPage.body).toContain(name);
    expect(sheetPage.body).toContain('In a bucket');
  });

  it('blends it in with what was measured', async () => {
    const { code } = await aKnownBucket();
    await s.as(wren, (act) => recordAct(act, code, 'setup', { litres: 10, specificGravity: 1.46 }));
    const number = await aCheckedBatch(code);
    const typed = { how: 'blend', bucket: code, litres: '11', specificGravity: '1.5', note: 'Second half' };
    expect((await s.submit(wren, `/batches/${number}/use`, typed)).statusCode).toBe(303);
    const { facts, verdict } = await bucketNow(code);
    expect(facts.litres).toBeCloseTo(21, 9);
    expect(facts.gravity).toBeCloseTo((10 * 1.46 + 11 * 1.5) / 21, 9);
    expect(facts.batch).toBe(number);
    expect(verdict.state).toBe('on-test');
    const page = await s.visit(s.people.member, `/buckets/${code}/ledger`);
    expect(page.body).toContain(`Blended in 11 L of batch ${number} at SG 1.50`);
  });

  it('does nothing at all when it does not fit', async () => {
    const { code } = await aKnownBucket();
    const number = await aCheckedBatch(code, 40);
    const answer = await s.submit(wren, `/batches/${number}/use`, {
      how: 'setup',
      bucket: code,
      waterLitres: '25',
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('The bucket holds 25 L.');
    expect(answer.body).toContain('id="setup-waterLitres-error"');
    expect(await ledger(code)).toEqual([]);
    expect((await bucketNow(code)).facts.service).toBe('in-service');
    expect((await sheet(number)).batch.stage).toBe('checked');
  });

  it('waits for the second person', async () => {
    const { code } = await aKnownBucket();
    const number = await plan(code);
    await weighAll(number);
    await expect(setUpWith(number, code)).rejects.toThrow(
      'A second person must countersign this batch first.',
    );
    expect(await ledger(code)).toEqual([]);
  });

  it('goes into one bucket, once, even when two pour at the same moment', async () => {
    const [one, other] = [await aKnownBucket(), await aKnownBucket()];
    const twin = await aKnownBucket(one.recipe);
    const number = await aCheckedBatch(one.code);
    await expect(setUpWith(number, other.code)).rejects.toThrow('holds another recipe');
    const both = await Promise.allSettled([setUpWith(number, one.code), setUpWith(number, twin.code)]);
    expect(both.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    await expect(setUpWith(number, one.code)).rejects.toThrow('This batch is in a bucket already.');
    expect([...(await ledger(one.code)), ...(await ledger(twin.code))]).toHaveLength(2);
  });

  it('may be poured again when the first time was struck out', async () => {
    const { code, recipe } = await aKnownBucket();
    const right = await aKnownBucket(recipe);
    const number = await aCheckedBatch(code);
    const { use } = await setUpWith(number, code);
    await s.as(wren, (act) => voidEvent(act, code, use, 'Wrong bucket'));
    expect((await bucketNow(code)).facts.batch).toBeNull();
    expect((await sheet(number)).batch.stage).toBe('checked');
    await setUpWith(number, right.code);
    const { uses } = await sheet(number);
    expect(uses.map(({ code: where, isVoided }) => [where, isVoided])).toEqual([
      [code, true],
      [right.code, false],
    ]);
  });

  it('gives the bucket the version of the recipe that was weighed', async () => {
    const { code, recipe } = await aKnownBucket();
    const number = await aCheckedBatch(code);
    const newer = [...LINES, { material: 'Tin oxide', parts: 8, density: 6.9 }];
    await s.as(wren, (act) => reviseRecipe(act, recipe, { lines: newer, hasSolubles: false }));
    const { name, colour, capacityLitres, target } = await bucketNow(code);
    const rest = { stirIntervalMinutes: 5, readingTrustedHours: 168, sieveMesh: 80, mixMoreFraction: 0.3 };
    const command = { code, name, colour, capacityLitres, target, isReclaim: false, ...rest };
    await s.as(wren, (act) => editBucket(act, code, command, recipe));
    expect((await bucketNow(code)).facts.recipe?.version).toBe(2);
    await setUpWith(number, code);
    const { facts } = await bucketNow(code);
    expect(facts.recipe?.version).toBe(1);
    expect(facts.solidsDensity).toBeCloseTo(1 / (0.6 / 2.57 + 0.25 / 2.65 + 0.15 / 2.71), 9);
    expect(facts.litres).toBeCloseTo((await sheet(number)).batch.dryKg / facts.solidsDensity + 8, 2);
  });

  it('is not blended into a bucket that is marked "do not use", nor poured into a retired one', async () => {
    const { code } = await aKnownBucket();
    await s.as(wren, (act) => recordAct(act, code, 'setup', { litres: 10, specificGravity: 1.46 }));
    await s.as(wren, (act) => recordAct(act, code, 'problems', { problem: 'contaminated' }));
    const number = await aCheckedBatch(code);
    const blend = { how: 'blend', bucket: code, litres: 2, specificGravity: 1.5 } as const;
    await expect(s.as(wren, (act) => pourBatch(act, number, blend))).rejects.toThrow('marked “Do not use”');
    await s.as(wren, (act) => recordAct(act, code, 'service', { state: 'retired' }));
    await expect(setUpWith(number, code)).rejects.toThrow('is retired.');
    expect((await bucketNow(code)).facts.service).toBe('retired');
  });
});

describe('on test', () => {
  it('a bucket stays until a tile is accepted, whichever way round it is tried', async () => {
    const { code } = await aKnownBucket();
    const number = await aCheckedBatch(code);
    await setUpWith(number, code);
    const refused = `Batch ${number} in it has no accepted tile yet`;
    const page = await s.submit(wren, `/buckets/${code}/service`, { state: 'in-service' });
    expect(page.statusCode).toBe(409);
    expect(page.body).toContain(refused);
    await s.as(wren, (act) => recordAct(act, code, 'service', { state: 'do-not-use', reason: 'Lumps' }));
    const api = await s.api(wren, 'POST', `/buckets/${code}/service`, { state: 'in-service' });
    expect(api.statusCode).toBe(409);
    expect(api.json().detail).toContain(refused);
    expect((await bucketNow(code)).verdict.state).toBe('do-not-use');
    const form = await s.visit(wren, `/buckets/${code}/service`);
    expect(form.statusCode).toBe(200);
  });

  it('a bucket without a weighed batch is put back by hand as ever', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    await s.as(wren, (act) => recordAct(act, code, 'service', { state: 'on-test' }));
    await s.as(wren, (act) => recordAct(act, code, 'service', { state: 'in-service' }));
    expect((await bucketNow(code)).facts.service).toBe('in-service');
  });
});

describe('a batch that was mis-weighed', () => {
  it('is found from any later event of the bucket, and leads to all of them', async () => {
    const { code, name } = await aKnownBucket();
    const [first, second] = [await aCheckedBatch(code, 9), await aCheckedBatch(code, 5)];
    await setUpWith(first, code, 6);
    const blend = { how: 'blend', bucket: code, litres: 5, specificGravity: 1.5 } as const;
    await s.as(wren, (act) => pourBatch(act, second, blend));
    await s.as(s.people.member, (act) => recordAct(act, code, 'notes', { note: 'Looks milky' }));

    const page = (await s.visit(wren, `/buckets/${code}/ledger`)).body;
    expect(page).toContain(`<a href="/batches/${first}">batch ${first}</a> since today`);
    expect(page).toContain(`<a href="/batches/${second}">batch ${second}</a> since today`);
    const seen = (await s.visit(s.people.member, `/buckets/${code}/ledger`)).body;
    expect(seen).toContain(`batch ${first} since today`);
    expect(seen).not.toContain('href="/batches/');

    const [use] = (await sheet(first)).uses;
    expect(use).toMatchObject({ code, name, number: 1, later: 4, replacedBy: null, isVoided: false });
    await s.as(wren, (act) => recordAct(act, code, 'setup', { litres: 3, specificGravity: 1.46 }));
    expect((await sheet(first)).uses[0]).toMatchObject({ later: 5, replacedBy: 6 });
    expect((await s.visit(wren, `/batches/${first}`)).body).toContain(`/buckets/${code}/ledger?before=6`);
  });
});

describe('a batch that comes to nothing', () => {
  it('is abandoned with a reason, and stays on the list', async () => {
    const { code } = await aKnownBucket();
    const number = await aCheckedBatch(code);
    const without = await s.submit(wren, `/batches/${number}/abandon`, {});
    expect(without.statusCode).toBe(422);
    expect((await s.submit(wren, `/batches/${number}/abandon`, { reason: 'mis-weighed' })).statusCode).toBe(
      303,
    );
    const page = await s.visit(wren, `/batches/${number}`);
    expect(page.body).toContain('Abandoned: do not use it');
    expect(page.body).toContain('Mis-weighed. Wren, today');
    await expect(setUpWith(number, code)).rejects.toThrow('This batch was abandoned.');
    await expect(s.as(maro, (act) => takeBack(act, number, 0))).rejects.toThrow('This batch was abandoned.');
    const { batches: all } = await s.as(wren, (act) => listBatches(act, { limit: 200, before: null }));
    expect(all.find((b) => b.number === number)?.stage).toBe('abandoned');
    expect((await s.visit(wren, '/batches')).body).toContain(`Batch ${number}, `);
  });

  it('is not abandoned once it is in a bucket', async () => {
    const { code } = await aKnownBucket();
    const number = await aCheckedBatch(code);
    await setUpWith(number, code);
    const answer = await s.submit(wren, `/batches/${number}/abandon`, { reason: 'spoilt' });
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('This batch is in a bucket already.');
    const [row] = await s.database.db.select().from(batches).where(eq(batches.number, number));
    expect(row?.abandonedAt).toBeNull();
    expect(row?.usedAt).toBe(s.clock.now());
  });
});

it('leaves ledgers that compute to what is stored', async () => {
  expect((await s.database.transaction((tx) => examineLedgers(tx))).faults).toEqual([]);
});
