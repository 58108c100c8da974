import { and, eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { buckets, firedTiles } from '../../server/buckets/schema.ts';
import {
  acceptTile,
  addTile,
  countersign,
  createBucket,
  findBucket,
  listEvents,
  listTiles,
  planNewBatch,
  pourBatch,
  recordAct,
  showBatch,
  weighLine,
  withdrawTile,
} from '../../server/buckets/service/index.ts';
import { type Picture, pictureIn } from '../../server/core/files.ts';
import { createRecipe } from '../../server/materials/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

let s: Studio;
let ida: Person;
let wren: Person;
let maro: Person;
let photo: Buffer;
let picture: Picture;
let serial = 0;
beforeAll(async () => {
  s = await aStudio();
  ({ member: ida, technician: wren, manager: maro } = s.people);
  photo = await aPhoto();
  picture = await pictureIn({ bytes: photo, isTooLarge: false }, 'photo');
});

const FIELDS = { clay: 'Buff stoneware', cone: '6', atmosphere: 'oxidation' };
const FIRED = { clay: 'Buff stoneware', cone: '6' } as const;
const add = (
  code: string,
  fields: Record<string, string> = FIELDS,
  bytes: Buffer | null = photo,
  who = wren,
) => upload(s, who, `/buckets/${code}/tiles/new`, fields, bytes && { bytes });
const tiles = (code: string) => s.as(ida, (act) => listTiles(act, code));
const service = (code: string) => s.as(wren, async (act) => (await findBucket(act, code)).facts.service);
const newest = (code: string) =>
  s.as(wren, async (act) => (await listEvents(act, code, { limit: 1, before: null })).events[0]?.entry);
const post = (who: Person, code: string, number: number, act: 'accept' | 'withdraw') =>
  s.submit(who, `/buckets/${code}/tiles/${number}/${act}`, {});

async function onTest(): Promise<string> {
  const code = await s.aBucket({ sg: 1.46 });
  await s.as(wren, (act) => recordAct(act, code, 'service', { state: 'on-test' }));
  return code;
}

/** A bucket that so many batches went into, one after the other. */
async function withBatches(times = 1): Promise<{ code: string; batch: number }> {
  const code = `T${++serial}`;
  const lines = [{ material: 'Kaolin', parts: 1, density: 2.6 }];
  const rest = { stirIntervalMinutes: 5, readingTrustedHours: 168, sieveMesh: 80, mixMoreFraction: 0.3 };
  await s.as(wren, async (act) => {
    const { recipeId } = await createRecipe(act, `Tested ${code}`, { lines, hasSolubles: false });
    const target = { low: 1.44, aim: 1.46, high: 1.48 };
    const command = {
      code,
      name: code,
      colour: '#5c5b32',
      capacityLitres: 25,
      target,
      isReclaim: false,
      ...rest,
    };
    await createBucket(act, command, recipeId);
  });
  let batch = 0;
  for (let n = 0; n < times; n++) batch = await pourOne(code);
  return { code, batch };
}

async function pourOne(code: string): Promise<number> {
  const batch = await s.as(wren, (act) => planNewBatch(act, { bucket: code, litres: 5 }));
  await s.as(wren, async (act) => {
    for (const { position } of (await showBatch(act, batch)).lines) await weighLine(act, batch, { position });
  });
  await s.as(maro, (act) => countersign(act, batch));
  await s.as(wren, (act) => pourBatch(act, batch, { how: 'setup', bucket: code, waterLitres: 4 }));
  return batch;
}

describe('a fired tile', () => {
  it('shows photo, clay, firing, what it lies over and the note, to everybody', async () => {
    const [code, chalk] = [await s.aBucket({ sg: 1.46 }), await s.aBucket({ name: 'Chalk' })];
    const answer = await add(code, { ...FIELDS, over: chalk, note: 'Runs over Chalk' });
    expect(answer.headers.location).toBe(`/buckets/${code}/tiles?added=1`);
    const [tile] = await tiles(code);
    expect(tile).toMatchObject({
      number: 1,
      clay: 'Buff stoneware',
      cone: '6 oxidation',
      overCode: chalk,
      accepted: null,
    });
    for (const url of [`/buckets/${code}`, `/buckets/${code}/tiles`]) {
      const { body } = await s.visit(ida, url);
      expect(body).toContain('Buff stoneware, cone 6 oxidation');
      expect(body).toContain('“Runs over Chalk”');
      expect(body).toContain(`<img src="/files/${tile?.photo}"`);
      expect(body).toMatch(/alt="Glaze \w+ on Buff stoneware, over Chalk, cone 6 oxidation"/);
      expect(body).not.toContain('/tiles/new');
    }
  });

  it('is a technician’s to add and to withdraw', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    expect((await add(code, FIELDS, photo, ida)).statusCode).toBe(403);
    await add(code);
    expect((await post(ida, code, 1, 'withdraw')).statusCode).toBe(403);
    expect((await post(ida, code, 1, 'accept')).statusCode).toBe(403);
    expect(await tiles(code)).toHaveLength(1);
  });

  it('may come without a photo, as a note only', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    await add(code, { ...FIELDS, note: 'Crawls on the rim' }, null);
    expect((await s.visit(ida, `/buckets/${code}/tiles`)).body).toContain('No photo');
  });

  it('is added once when the form is sent twice', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const keyed = { ...FIELDS, key: 'one-key-for-a-tile' };
    expect((await add(code, keyed)).headers.location).toBe((await add(code, keyed)).headers.location);
    expect(await tiles(code)).toHaveLength(1);
    const other = await add(code, keyed, await aPhoto(77, 7));
    expect(other.statusCode).toBe(422);
    expect(await tiles(code)).toHaveLength(1);
  });

  it.each([
    ['no clay', { clay: ' ' }, 'clay', 'Write something here.'],
    ['a cone that is none', { cone: 'hot' }, 'cone', 'A pyrometric cone, such as 04 or 6.'],
    ['another atmosphere', { atmosphere: 'fog' }, 'atmosphere', 'One of oxidation, reduction.'],
    ['over nothing there is', { over: 'NOBODY' }, 'over', 'Choose a bucket from the list.'],
    ['a verdict where nothing is on test', { verdict: 'accepted' }, '', 'This bucket is not on test'],
  ])('refused for %s keeps what was typed, and the photo', async (_what, typed, field, words) => {
    const code = await s.aBucket({ sg: 1.46 });
    const answer = await add(code, { ...FIELDS, note: 'odd & ends', ...typed });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain(words);
    if (field) expect(answer.body).toContain(`id="f-${field}-error"`);
    expect(answer.body).toContain('odd &amp; ends');
    const kept = /name="kept" value="(\w{64})"/.exec(answer.body)?.[1] ?? '';
    expect((await s.visit(wren, `/files/${kept}`)).statusCode).toBe(200);
    expect(await tiles(code)).toEqual([]);
    await add(code, { ...FIELDS, kept }, null);
    expect((await tiles(code))[0]?.photo).toBe(kept);
  });

  it('does not take a photo that somebody else sent', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const sent = await add(code, { ...FIELDS, clay: '' }, await aPhoto(61, 16));
    const kept = /name="kept" value="(\w{64})"/.exec(sent.body)?.[1] ?? '';
    const answer = await add(code, { ...FIELDS, kept }, null, maro);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('Choose the photo again.');
  });

  it('cannot lie over its own glaze', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const answer = await add(code, { ...FIELDS, over: code });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('That is this bucket itself');
  });
});

describe('accepting the glaze by a tile', () => {
  it('puts the bucket in service with it, in one act', async () => {
    const code = await onTest();
    const answer = await add(code, { ...FIELDS, verdict: 'accepted' });
    const page = await s.visit(wren, answer.headers.location as string);
    expect(page.body).toContain('Recorded: put in service: tile 1.');
    expect(await service(code)).toBe('in-service');
    expect((await tiles(code))[0]?.accepted).toBe(true);
    expect(await newest(code)).toEqual({ kind: 'service', state: 'in-service', cause: 'tile-1' });
  });

  it.each([
    ['not-accepted', false],
    ['picture-only', null],
  ] as const)('%s leaves it on test', async (verdict, accepted) => {
    const code = await onTest();
    await add(code, { ...FIELDS, verdict });
    expect(await service(code)).toBe('on-test');
    expect((await tiles(code))[0]?.accepted).toBe(accepted);
  });

  it('has to be said, and needs a photo', async () => {
    const code = await onTest();
    const unsaid = await add(code);
    expect(unsaid.statusCode).toBe(422);
    expect(unsaid.body).toContain('say whether the glaze passes by this tile');
    const blind = await add(code, { ...FIELDS, verdict: 'accepted' }, null);
    expect(blind.statusCode).toBe(422);
    expect(blind.body).toContain('id="f-photo-error">The glaze is accepted by a photo of its tile');
    expect(await service(code)).toBe('on-test');
    expect(await tiles(code)).toEqual([]);
  });

  it('may follow later, by one of two who tap at the same moment', async () => {
    const code = await onTest();
    await add(code, { ...FIELDS, verdict: 'picture-only' });
    const both = await Promise.all([wren, maro].map((who) => post(who, code, 1, 'accept')));
    expect(both.map(({ statusCode }) => statusCode).sort()).toEqual([303, 409]);
    const refused = both.find(({ statusCode }) => statusCode === 409);
    expect(refused?.body).toContain('This bucket is not on test: there is nothing to accept.');
    expect(await service(code)).toBe('in-service');
  });

  it('is not done by a tile of an earlier batch, one without a photo, or one that was withdrawn', async () => {
    const { code, batch } = await withBatches();
    await s.as(wren, (act) => addTile(act, code, { ...FIRED, verdict: 'picture-only' }, picture));
    await s.as(wren, (act) => addTile(act, code, { ...FIRED, verdict: 'picture-only' }, null));
    await s.as(wren, (act) => addTile(act, code, { ...FIRED, verdict: 'picture-only' }, picture));
    await s.as(wren, (act) => withdrawTile(act, code, 3));
    const accept = (number: number) => s.as(wren, (act) => acceptTile(act, code, number));
    await expect(accept(2)).rejects.toThrow('This tile has no photo');
    await expect(accept(3)).rejects.toThrow('This tile was withdrawn already.');
    await expect(accept(4)).rejects.toThrow('This bucket has no such tile.');
    await pourOne(code);
    await expect(accept(1)).rejects.toThrow(`This tile is of batch ${batch}, which is not the newest`);
    expect(await service(code)).toBe('on-test');
  });

  it('is needed once a batch: accepted, the bucket may be stopped and put back by hand', async () => {
    const { code, batch } = await withBatches();
    const page = await s.visit(wren, `/buckets/${code}/tiles/new`);
    expect(page.body).toContain(`Batch ${batch} is on test`);
    await add(code, { ...FIELDS, verdict: 'accepted' });
    expect((await tiles(code))[0]).toMatchObject({ batch, accepted: true });
    await s.as(ida, (act) => recordAct(act, code, 'problems', { problem: 'contaminated' }));
    await s.as(wren, (act) => recordAct(act, code, 'service', { state: 'in-service' }));
    expect(await service(code)).toBe('in-service');
    await pourOne(code);
    const byHand = s.as(wren, (act) => recordAct(act, code, 'service', { state: 'in-service' }));
    await expect(byHand).rejects.toThrow('has no accepted tile yet');
  });
});

describe('withdrawing a tile', () => {
  it('takes it off the pages and keeps its row', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    await add(code);
    const answer = await post(wren, code, 1, 'withdraw');
    const page = await s.visit(wren, answer.headers.location as string);
    expect(page.body).toContain('Withdrawn: the tile is kept, but no longer shown.');
    expect(page.body).not.toContain('Buff stoneware');
    expect(await tiles(code)).toEqual([]);
    const [row] = await s.database.db
      .select({ at: firedTiles.withdrawnAt })
      .from(firedTiles)
      .innerJoin(buckets, eq(buckets.id, firedTiles.bucketId))
      .where(and(eq(buckets.code, code), eq(firedTiles.number, 1)));
    expect(row?.at).toBe(s.clock.now());
    expect((await post(wren, code, 1, 'withdraw')).statusCode).toBe(409);
    expect((await post(wren, code, 9, 'withdraw')).statusCode).toBe(404);
  });

  it('that the batch was accepted by puts the bucket on test again, unless another stands', async () => {
    const { code, batch } = await withBatches();
    await s.as(wren, (act) => addTile(act, code, { ...FIRED, verdict: 'accepted' }, picture));
    await s.as(wren, (act) => withdrawTile(act, code, 1));
    expect(await service(code)).toBe('on-test');
    expect(await newest(code)).toEqual({ kind: 'service', state: 'on-test', cause: `batch-${batch}` });
    await s.as(wren, (act) => addTile(act, code, { ...FIRED, verdict: 'accepted' }, picture));
    expect(await service(code)).toBe('in-service');
    await s.as(wren, (act) => addTile(act, code, FIRED, picture));
    await s.as(wren, (act) => withdrawTile(act, code, 3));
    expect(await service(code)).toBe('in-service');
  });
});
