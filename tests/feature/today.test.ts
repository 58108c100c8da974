import { expect, test } from 'vitest';
import { recordAct, voidEvent } from '../../server/buckets/service/index.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { today } from '../../server/today/service.ts';
import { dueWords } from '../../server/today/words.ts';
import { aStudio, PARTIAL } from '../helpers/studio.ts';

const setting = async () => {
  const studio = await aStudio();
  const { people, clock, database, as } = studio;
  const due = async () =>
    (await today({ tx: database.db, actor: people.technician.caller, now: clock.now() })).buckets;
  const words = async (code: string) => {
    const found = (await due()).filter(({ bucket }) => bucket.code === code);
    return found.map((one) => dueWords(one, { units: 'metric', now: clock.now() }));
  };
  const record = (...[code, path, body]: [string, Parameters<typeof recordAct>[2], object]) =>
    as(people.technician, (act) => recordAct(act, code, path, body as never));
  return { ...studio, due, words, record };
};

test('what needs somebody comes worst first, whatever order it arose in', async () => {
  const { aBucket, due, record } = await setting();
  const low = await aBucket({ sg: 1.46, litres: 5 });
  const check = await aBucket({ litres: 20 });
  const thin = await aBucket({ sg: 1.42 });
  const thick = await aBucket({ sg: 1.52 });
  const fine = await aBucket({ sg: 1.46 });
  const smells = await aBucket({ sg: 1.46 });
  await record(smells, 'problems', { problem: 'smell' });
  const onTest = await aBucket({ sg: 1.46 });
  await record(onTest, 'service', { state: 'on-test', reason: 'New batch' });
  const tagged = await aBucket({ sg: 1.46 });
  await record(tagged, 'service', { state: 'do-not-use', reason: 'Wrong glaze in it' });
  await record(tagged, 'tags', {});
  const untagged = await aBucket({ sg: 1.46 });
  await record(untagged, 'problems', { problem: 'contaminated' });

  const found = await due();
  expect(found.map(({ why, bucket }) => [why, bucket.code])).toEqual([
    ['tag', untagged],
    ['do-not-use', tagged],
    ['problem', smells],
    ['too-thick', thick],
    ['too-thin', thin],
    ['check', check],
    ['low', low],
    ['on-test', onTest],
  ]);
  expect(found.some(({ bucket }) => bucket.code === fine)).toBe(false);
});

test('days left follow from what was dipped in the last two weeks, less what was struck out', async () => {
  const { aBucket, due, words, record, clock, as, people } = await setting();
  const used = await aBucket({ sg: 1.46, litres: 8, code: 'USED' });
  const idle = await aBucket({ sg: 1.46, litres: 8, code: 'IDLE' });
  const dipped = (litres: number, daysAgo: number) =>
    record(used, 'dippings', { litres, pieces: 3, stirred: false, happenedAt: clock.now() - daysAgo * DAY });
  await dipped(1.8, 10);
  await dipped(1, 5);
  await dipped(9, 15);
  const slip = await dipped(5, 4);
  await as(people.technician, (act) => voidEvent(act, used, slip.event.number, 'It was another bucket.'));

  // 2.8 L in the 10 days since the first of them are 0.28 L a day; what lies before the set-up took nothing from it.
  const daysLeft = (await due()).find(({ bucket }) => bucket.code === used)?.daysLeft;
  expect(daysLeft).toBeCloseTo(8 / 0.28, 6);
  expect((await words(used))[0]?.what).toBe(
    'About 8 L of 25 L left, about 28 days at the rate of the last two weeks.',
  );
  expect((await words(idle))[0]?.what).toContain('Nobody dipped from it in the last two weeks.');
});

test('a problem waits until somebody puts it right', async () => {
  const { aBucket, due, words, record, clock, as, people } = await setting();
  const code = await aBucket({ sg: 1.46 });
  await record(code, 'problems', { problem: 'lumps' });
  clock.forward(3 * HOUR);
  expect((await words(code)).map(({ title, what }) => [title, what])).toEqual([
    ['Problem reported', 'Lumps, 3 h ago. Put it right, then note what you did.'],
  ]);
  const sieved = await record(code, 'sievings', {});
  expect(await due()).toEqual([]);
  await as(people.technician, (act) => voidEvent(act, code, sieved.event.number, 'Another bucket.'));
  expect(await words(code)).toHaveLength(1);

  const report = (await due())[0]?.problem?.number as number;
  await as(people.technician, (act) => voidEvent(act, code, report, 'They were sieved out.'));
  expect(await due()).toEqual([]);
});

test('each thing carries its act: the first stage of the advice, the tag, the reading', async () => {
  const { aBucket, words, record } = await setting();
  const thick = await aBucket({ sg: 1.52 });
  const thin = await aBucket({ sg: 1.42 });
  const unread = await aBucket({});
  const stopped = await aBucket({ sg: 1.46 });
  await record(stopped, 'service', { state: 'do-not-use', reason: 'Wrong glaze in it' });
  const act = async (code: string) => (await words(code))[0]?.act;
  expect(await act(thick)).toEqual({
    label: 'Add 1.75 L of water, stir, check again',
    href: `/buckets/${thick}`,
  });
  expect((await act(thin))?.label).toMatch(/^Blend in .* of slurry at SG 1\.70/);
  expect(await act(unread)).toEqual({ label: 'Check SG', href: `/buckets/${unread}/check` });
  expect((await act(stopped))?.href).toBe(`/buckets/${stopped}/tag`);
  await record(stopped, 'tags', {});
  expect((await act(stopped))?.href).toBe(`/buckets/${stopped}/service`);
});

test('an old level is asked for before an amount is named', async () => {
  const { aBucket, words, record, clock } = await setting();
  const code = await aBucket({ sg: 1.46 });
  clock.forward(8 * DAY);
  await record(code, 'readings', {
    method: 'weighed',
    grams: 1520,
    millilitres: 1000,
    stirred: true,
    confirm: true,
  });
  expect((await words(code))[0]?.act.label).toBe('See how full it is first');
});

test('the page: for technicians, whole or only its list, and kind when nothing waits', async () => {
  const { visit, people, aBucket } = await setting();
  const quiet = await visit(people.technician, '/today');
  expect(quiet.statusCode).toBe(200);
  expect(quiet.body).toContain('Nothing needs you');

  await aBucket({ sg: 1.52, code: 'HG', name: '<b>Harbour</b>' });
  const full = await visit(people.manager, '/today');
  expect(full.body).toContain('<!doctype html>');
  expect(full.body).toContain('1 thing needs somebody');
  expect(full.body).not.toContain('<b>Harbour</b>');
  const part = await visit(people.technician, '/today', PARTIAL);
  expect(part.body).not.toContain('<html');
  expect(part.body).toContain('Add 1.75 L of water');

  expect((await visit(people.member, '/today')).statusCode).toBe(403);
  expect((await visit(null, '/today')).headers.location).toBe('/sign-in?next=%2Ftoday');
});
