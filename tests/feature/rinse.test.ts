import { beforeAll, describe, expect, it } from 'vitest';
import { findBucket } from '../../server/buckets/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
});

let serial = 0;
async function made(more: object = {}): Promise<string> {
  const code = `R${++serial}`;
  const body = { code, name: `Reed ${code}`, capacityLitres: 25, target: { aim: 1.46 }, solidsDensity: 2.6 };
  expect((await s.api(technician, 'POST', '/buckets', { ...body, ...more })).statusCode).toBe(201);
  await s.api(technician, 'POST', `/buckets/${code}/setup`, { litres: 10, specificGravity: 1.46 });
  return code;
}
const rinseForm = async (code: string) => (await s.visit(technician, `/buckets/${code}/add?what=rinse`)).body;

describe('a glaze’s own rinse', () => {
  it('goes back from its own rinse bucket: settled, water off, sieved', async () => {
    const code = await made({ rinseBucket: 'green pail', sieveMesh: 100 });
    const form = await rinseForm(code);
    for (const words of [
      'green pail',
      'settle overnight',
      'Take the clear water off',
      '100 mesh',
      'Add it back',
    ])
      expect(form).toContain(words);
    const sent = await s.submit(technician, `/buckets/${code}/add`, {
      kind: 'rinse',
      litres: '0.5',
      key: 'own-rinse-goes-back',
    });
    expect((await s.visit(technician, sent.headers.location as string)).body).toContain(
      'own rinse back, 0.5 L',
    );
  });

  it('keeps its water where the recipe has solubles', async () => {
    const solubles = await made({ hasSolubles: true });
    expect(await rinseForm(solubles)).toContain('Leave the water on');
    expect(await rinseForm(solubles)).not.toContain('Take the clear water off');
    expect(await rinseForm(await made())).not.toContain('Leave the water on');
  });

  it('is not a member’s to add', async () => {
    const code = await made();
    expect((await s.visit(member, `/buckets/${code}/add?what=rinse`)).body).not.toContain(
      'Its own rinse only',
    );
    const answer = await s.api(member, 'POST', `/buckets/${code}/top-ups`, { kind: 'rinse', litres: 1 });
    expect(answer.statusCode).toBe(403);
  });
});

describe('shared rinse', () => {
  it('never goes back to one glaze: the form leads to the reclaim bucket, once there is one', async () => {
    const code = await made();
    expect(await rinseForm(code)).toContain('Shared rinse never goes back to one glaze');
    expect(await rinseForm(code)).toContain('It needs a bucket of its own');
    const reclaim = await made({ isReclaim: true, name: 'Millpond' });
    expect(await rinseForm(code)).toContain(`href="/buckets/${reclaim}/add?what=rinse"`);

    const into = await rinseForm(reclaim);
    expect(into).toContain('Shared rinse goes in here');
    expect(into).not.toContain('never goes back');
    const answer = await s.api(technician, 'POST', `/buckets/${reclaim}/top-ups`, {
      kind: 'rinse',
      litres: 2,
    });
    expect(answer.json().event).toMatchObject({ what: 'rinse', shared: true });
    expect((await s.visit(member, `/buckets/${reclaim}`)).body).toContain('Shared rinse, 2 L, SG not known');
    const own = await s.api(technician, 'POST', `/buckets/${code}/top-ups`, { kind: 'rinse', litres: 1 });
    expect(own.json().event).not.toHaveProperty('shared');
  });
});

describe('a reclaim bucket', () => {
  it('is called a surprise glaze on the wall, on its page and over the API', async () => {
    const code = await made({ isReclaim: true });
    expect((await s.visit(member, `/buckets/${code}`)).body).toContain('Surprise glaze');
    const { body } = await s.visit(member, '/wall');
    const card = body.split('<article').find((part) => part.includes(`/buckets/${code}"`)) as string;
    expect(card).toContain('Mixed reclaim: a surprise glaze');
    expect((await s.api(member, 'GET', `/buckets/${code}`)).json().isReclaim).toBe(true);
    const plain = await made();
    expect((await s.visit(member, `/buckets/${plain}`)).body).not.toContain('Surprise glaze');
  });

  it('is marked and unmarked in its form', async () => {
    const code = await made();
    const fields = { code, name: 'Reed', capacityLitres: '25', aim: '1.46' };
    const save = (more: Record<string, string>) =>
      s.submit(technician, `/buckets/${code}/edit`, { ...fields, ...more, key: `reclaim-${++serial}-form` });
    const flagged = async () => (await s.as(technician, (act) => findBucket(act, code))).isReclaim;
    const ticked = async () =>
      /name="isReclaim"[^>]* checked/.test((await s.visit(technician, `/buckets/${code}/edit`)).body);
    expect(await ticked()).toBe(false);
    await save({ isReclaim: 'yes' });
    expect([await flagged(), await ticked()]).toEqual([true, true]);
    await save({});
    expect([await flagged(), await ticked()]).toEqual([false, false]);
  });
});
