import { beforeAll, expect, test } from 'vitest';
import { DEMO_PEOPLE, seedDemo } from '../../seed/millrace.ts';
import {
  type BucketNow,
  listBuckets,
  listRetired,
  refold,
  showBucket,
} from '../../server/buckets/service/index.ts';
import { everyBucket } from '../../server/buckets/store.ts';
import type { Read } from '../../server/core/actor.ts';
import { DAY } from '../../server/core/clock.ts';
import { today } from '../../server/today/service.ts';
import { coatAdvice, listClays, listRacks } from '../../server/ware/service/index.ts';
import { anApp } from '../helpers/studio.ts';

const made = await anApp();
let read: Read;
let wall: BucketNow[];

beforeAll(async () => {
  await seedDemo(made.services);
  const { database, clock } = made;
  const wren = {
    id: 0,
    name: 'Wren',
    email: '',
    role: 'technician',
    units: 'metric',
    tokenId: null,
    deviceId: null,
  } as const;
  read = { tx: database.db, actor: wren, now: clock.now() };
  wall = await listBuckets(read);
});

const bucket = (code: string) => wall.find((b) => b.code === code) as BucketNow;

test('the wall opens with a bucket in every state, as the demo promises', () => {
  expect(Object.fromEntries(wall.map((b) => [b.code, b.verdict.state]))).toEqual({
    HG: 'too-thick',
    CF: 'do-not-use',
    RM: 'needs-reading',
    FF: 'needs-reading',
    OS: 'too-thin',
    KE: 'stir-first',
    WD: 'stir-first',
    BF: 'stir-first',
    CB: 'ready',
    CH: 'ready',
    TB: 'ready',
    QH: 'on-test',
    WF: 'ask-technician',
    MP: 'stir-first',
  });
  expect(bucket('RM').verdict.needs).toBe('added');
  expect(bucket('FF').verdict.needs).toBe('first');
  expect(bucket('KE').facts.hasSolubles).toBe(true);
  expect(wall.filter((b) => b.verdict.askLevel)).toEqual([]);
  expect(wall.flatMap((b) => b.facts.doubts)).toEqual([]);
});

test('Harbour Grey is as the guide tells it: 18 of 25 L at 1.52, read 25 minutes ago', () => {
  const { facts, capacityLitres, target, advice } = bucket('HG');
  expect(facts.litres).toBeCloseTo(18, 6);
  expect(facts.gravity).toBeCloseTo(1.52, 2);
  expect(capacityLitres).toBe(25);
  expect(target).toEqual({ low: 1.44, aim: 1.46, high: 1.48 });
  expect(made.clock.now() - (facts.readingAt as number)).toBe(25 * 60_000);
  expect(advice).toMatchObject({ kind: 'add-water', first: 1.75 });
});

test('what waits for a technician is on their first page, the worst first', async () => {
  const { buckets } = await today(read);
  expect(buckets.map(({ why, bucket: { code } }) => `${why} ${code}`)).toEqual([
    'tag CF',
    'problem BF',
    'too-thick HG',
    'too-thin OS',
    'ask-technician WF',
    'check FF',
    'check RM',
    'low WD',
    'on-test QH',
  ]);
  expect(buckets.find(({ why }) => why === 'low')?.daysLeft).toBeGreaterThan(3);
});

test('three weeks lie behind it: several people, readings that scatter, water, nothing in the future', async () => {
  for (const code of ['HG', 'CF', 'RM', 'OS', 'KE', 'CB', 'CH', 'TB', 'WD', 'BF']) {
    const { trend } = await showBucket(read, code);
    const readings = trend.events.flatMap(({ entry }) =>
      entry.kind === 'reading' ? [entry.specificGravity.toFixed(3)] : [],
    );
    expect(readings.length, code).toBeGreaterThanOrEqual(10);
    expect(new Set(readings).size, code).toBeGreaterThan(4);
    expect(trend.events.some(({ entry }) => entry.kind === 'addition')).toBe(true);
    expect(trend.events[0]?.at, code).toBeLessThan(read.now - 16 * DAY);
    expect(trend.events.every(({ at }) => at <= read.now)).toBe(true);
  }
});

test('every stored state is what its ledger folds to', async () => {
  for (const row of await everyBucket(read.tx)) {
    const { bucketId: _, ...stored } = row.state;
    expect(await refold(read.tx, row), row.bucket.code).toEqual(stored);
  }
});

test('the bench opens with ware at every point of its way, and with a count for it', async () => {
  const racks = await listRacks(read, { everybody: true });
  const shown = racks.map(({ pieces: [piece], wetness: { state, by } }) =>
    [piece?.owner?.name, piece?.form, state, by, piece?.nextCoat?.glaze].join(' ').trim(),
  );
  expect(shown.sort()).toEqual([
    'Ida beaker wet clock TB',
    'Ida bowl dry scale CH',
    'Lowell beaker bare  CH',
    'Noor vase bare  CH',
    'Petra cup wet scale TB',
    'Tomas bowl wet clock',
  ]);
  const clay = (await listClays(read)).find(({ name }) => name === 'Buff stoneware');
  const advice = (bucket: string) => coatAdvice(read, { clayId: clay?.id ?? 0, bucket });
  expect((await advice('CH')).dwell).toMatchObject({ basis: 'own', counts: { from: 3, to: 4 } });
  expect((await advice('TB')).dwell).toMatchObject({ basis: 'leans on others' });
  expect((await advice('OS')).tiles).toEqual([]);
});

test('one bucket is retired, with its reason', async () => {
  const retired = await listRetired(read);
  expect(retired.map((b) => [b.code, b.serviceReason])).toEqual([
    ['OM', 'Used up; Harbour Grey takes its place.'],
  ]);
});

test('a second start leaves the studio as it is, and everybody can sign in', async () => {
  await seedDemo(made.services);
  expect((await listBuckets(read)).length).toBe(wall.length);
  for (const { email, password } of DEMO_PEOPLE) {
    const form = new URLSearchParams({ email, password, key: 'one-key-for-signing-in' });
    const answer = await made.app.inject({
      method: 'POST',
      url: '/sign-in',
      payload: form.toString(),
      headers: {
        host: 'localhost',
        origin: 'http://localhost',
        'content-type': 'application/x-www-form-urlencoded',
      },
    });
    expect(answer.headers['set-cookie'], email).toBeDefined();
  }
});
