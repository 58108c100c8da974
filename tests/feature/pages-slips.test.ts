import { beforeAll, describe, expect, it } from 'vitest';
import { due } from '../../server/buckets/service/index.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const events = async (code: string) =>
  (await s.api(s.people.technician, 'GET', `/buckets/${code}/events`)).json().events;

describe('counting the pieces of a dipping', () => {
  it('replaces that dipping, and nothing else', async () => {
    const { technician } = s.people;
    const code = await s.aBucket({ sg: 1.46 });
    const reading = (await events(code))[0].number;
    const refused = await s.submit(technician, `/buckets/${code}/dip`, {
      instead: String(reading),
      cups: '2',
    });
    expect(refused.statusCode).toBe(409);
    expect((await events(code)).every((e: { voided: boolean }) => !e.voided)).toBe(true);

    await s.submit(technician, `/buckets/${code}/dippings`, { stirred: 'yes' });
    const tapped = (await events(code))[0].number;
    const counted = await s.submit(technician, `/buckets/${code}/dip`, {
      instead: String(tapped),
      cups: '2',
    });
    expect(counted.statusCode).toBe(303);
    const [dipping, strike, before] = await events(code);
    expect(dipping).toMatchObject({ kind: 'dipping', pieces: 2 });
    expect(strike).toMatchObject({ kind: 'void', voids: tapped });
    expect(before).toMatchObject({ number: tapped, voided: true });
  });
});

describe('a yes to "is this right?"', () => {
  it('counts for the figure that was asked about, and for no other', async () => {
    const { member } = s.people;
    const code = await s.aBucket({ sg: 1.46 });
    const check = (grams: string, confirm?: string) =>
      s.submit(member, `/buckets/${code}/check`, {
        method: 'weighed',
        millilitres: '100',
        stirred: 'yes',
        grams,
        ...(confirm && { confirm }),
      });
    const asked = await check('170');
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('name="confirm" value="170"');
    expect((await check('110', '170')).statusCode).toBe(409);
    expect((await check('170', '170')).statusCode).toBe(303);
  });
});

describe('a reported problem', () => {
  const open = async () =>
    (await s.as(s.people.technician, due)).filter((d) => d.why === 'problem').map((d) => d.bucket.code);

  it('stays on the list until somebody puts it right: no reading cures lumps', async () => {
    const { member, technician } = s.people;
    const code = await s.aBucket({ sg: 1.46 });
    const post = (person: typeof member, path: string, body: object) =>
      s.api(person, 'POST', `/buckets/${code}/${path}`, body);
    await post(member, 'problems', { problem: 'lumps' });
    await post(member, 'readings', { method: 'weighed', grams: 146, millilitres: 100 });
    await post(member, 'notes', { note: 'they are still there' });
    expect(await open()).toContain(code);
    await post(technician, 'sievings', {});
    expect(await open()).not.toContain(code);
  });

  it('is settled by what a technician notes, and a lid left off by a stirred reading', async () => {
    const { member, technician } = s.people;
    const smells = await s.aBucket({ sg: 1.46 });
    const dried = await s.aBucket({ sg: 1.46 });
    await s.api(member, 'POST', `/buckets/${smells}/problems`, { problem: 'smell' });
    await s.api(member, 'POST', `/buckets/${dried}/problems`, { problem: 'lid-off' });
    s.clock.forward(10 * 60_000);
    const reading = { method: 'weighed', grams: 146, millilitres: 100 };
    await s.api(member, 'POST', `/buckets/${dried}/readings`, { ...reading, stirred: false });
    expect(await open()).toEqual(expect.arrayContaining([smells, dried]));
    await s.api(member, 'POST', `/buckets/${dried}/readings`, reading);
    await s.api(technician, 'POST', `/buckets/${smells}/notes`, { note: 'a drop of bleach, stirred' });
    const left = await open();
    expect(left).not.toContain(smells);
    expect(left).not.toContain(dried);
  });
});
