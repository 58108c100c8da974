import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { lastRecord } from '../../server/core/audit.ts';
import { listRunPairs } from '../../server/ware/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let member: Person;
let technician: Person;
let ash: string;
let moss: string;
beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  ash = await s.aBucket({ name: 'Ash White' });
  moss = await s.aBucket({ name: 'Moss' });
});

const read = (person: Person) => ({ tx: s.database.db, actor: person.caller, now: s.clock.now() });
const pair = (a: string, b: string, why = 'Runs at the rim.') => ({ a, b, why });
const location = (answer: { headers: Record<string, unknown> }) => String(answer.headers.location);

describe('glazes that run together', () => {
  it('are named by a technician and read by everybody', async () => {
    expect((await s.visit(member, '/ware/runs')).body).toContain('No two glazes are known');
    const made = await s.submit(technician, '/ware/runs', pair(moss, ash));
    expect(made.statusCode).toBe(303);
    expect((await s.visit(technician, location(made))).body).toContain('These two are on the list');
    expect(await listRunPairs(read(member))).toEqual([
      {
        a: { code: ash, name: 'Ash White' },
        b: { code: moss, name: 'Moss' },
        why: 'Runs at the rim.',
      },
    ]);
    const { body } = await s.visit(member, '/ware/runs');
    expect(body).toContain('Runs at the rim.');
    expect(body).not.toContain('<select');
    expect(body).not.toContain('/ware/runs/remove');
    expect((await s.visit(member, '/ware/glazes')).body).toContain('href="/ware/runs"');
    expect((await lastRecord(s.database.db, 'glaze.run.add', 'ware'))?.details).toEqual({ a: ash, b: moss });
  });

  it('are one pair whichever is named first and however its code is written', async () => {
    const again = await s.submit(technician, '/ware/runs', pair(ash.toLowerCase(), moss));
    expect(again.statusCode).toBe(409);
    expect(again.body).toContain('are listed already');
    expect(await listRunPairs(read(member))).toHaveLength(1);
  });

  it('may be two coats of one', async () => {
    expect((await s.submit(technician, '/ware/runs', pair(moss, moss))).statusCode).toBe(303);
    expect((await s.visit(member, '/ware/runs')).body).toContain('Two coats of <b>Moss</b>');
    expect((await s.submit(technician, '/ware/runs', pair(moss, moss))).body).toContain(
      'Two coats of Moss are listed already',
    );
    expect((await s.submit(technician, '/ware/runs/remove', { a: moss, b: moss })).statusCode).toBe(303);
    expect(await listRunPairs(read(member))).toHaveLength(1);
  });

  it.each([
    ['nothing chosen', { a: '', b: '' }],
    ['one of them', { b: '' }],
    ['no reason', { why: '' }],
    ['a bucket nobody has', { b: 'NONE' }],
    ['no code at all', { a: "x'; --" }],
    ['a NUL', { why: 'a\0' }],
    ['more words than there is room for', { why: 'x'.repeat(201) }],
  ])('are refused with %s, and what was typed stays', async (_, wrong) => {
    const typed = { ...pair(ash, moss, 'Kept words'), ...wrong };
    const answer = await s.submit(technician, '/ware/runs', typed);
    expect(answer.statusCode).toBe(422);
    if (typed.why === 'Kept words') expect(answer.body).toContain('value="Kept words"');
    expect(await listRunPairs(read(member))).toHaveLength(1);
  });

  it('are not for members to change, whichever door they try', async () => {
    expect((await s.submit(member, '/ware/runs', pair(ash, ash))).statusCode).toBe(403);
    expect((await s.submit(member, '/ware/runs/remove', { a: ash, b: moss })).statusCode).toBe(403);
    expect((await s.visit(member, '/ware/runs/remove')).statusCode).toBe(403);
    expect((await s.visit(null, '/ware/runs')).statusCode).not.toBe(200);
  });

  it('stay on the list when a bucket is retired, and come off it once', async () => {
    await s.as(technician, (act) => recordAct(act, ash, 'service', { state: 'retired' }));
    expect(await listRunPairs(read(member))).toHaveLength(1);
    expect(location(await s.visit(technician, '/ware/runs/remove'))).toBe('/ware/runs');
    expect((await s.submit(technician, '/ware/runs/remove', { a: moss, b: ash })).statusCode).toBe(303);
    expect((await s.submit(technician, '/ware/runs/remove', { a: moss, b: ash })).statusCode).toBe(404);
    expect((await s.submit(technician, '/ware/runs/remove', { a: '', b: ash })).statusCode).toBe(422);
    expect(await listRunPairs(read(member))).toEqual([]);
    expect((await lastRecord(s.database.db, 'glaze.run.remove', 'ware'))?.details).toEqual({
      a: ash,
      b: moss,
    });
  });
});
