import { describe, expect, it } from 'vitest';
import { bucketEndpoints } from '../../server/buckets/api.ts';
import { addCup, listCups, listInstruments } from '../../server/buckets/service/index.ts';
import type { Read } from '../../server/core/actor.ts';
import { aStudio } from '../helpers/studio.ts';

const studio = await aStudio();
const { people, api, visit, submit, aBucket, as, database, clock } = studio;
const { technician, member } = people;
const read = (): Read => ({ tx: database.db, actor: technician.caller, now: clock.now() });
let keys = 0;
const send = (url: string, fields: Record<string, string>, who = technician) =>
  submit(who, url, { key: `gear-form-${++keys}`, ...fields });
const instrument = (body: object) => api(technician, 'POST', '/instruments', body);
const take = (bucket: string, body: object) => api(member, 'POST', `/buckets/${bucket}/readings`, body);

describe('the gear pages', () => {
  it.each([
    ['cups', { code: 'C1', name: 'Steel cup', tareG: '48', waterG: '153' }, 'Steel cup is ready', '105 mL'],
    ['scales', { code: 'S1', name: 'Bench scale', resolutionG: '0,1' }, 'Bench scale is ready', '0.1 g'],
    [
      'hydrometers',
      { code: 'H1', name: 'Glass stem', scale: 'twaddell', division: '2' },
      'Glass stem is ready',
      '°Tw',
    ],
    ['flow-cups', { code: 'V1', name: 'Tin with a hole' }, 'Tin with a hole is ready', 'V1'],
  ])('%s are added, shown with what they bring, and retired', async (kind, typed, ready, shown) => {
    const added = await send(`/gear/${kind}`, typed);
    expect(added.headers.location, added.body).toBe(`/gear/${kind}?added=${typed.code}`);
    const page = await visit(technician, added.headers.location as string);
    expect(page.body).toContain(ready);
    expect(page.body).toContain(shown);
    expect((await visit(technician, '/gear')).body).toContain(typed.name);
    const twice = await send(`/gear/${kind}`, { ...typed, code: typed.code.toLowerCase() });
    expect(twice.statusCode).toBe(422);
    expect(twice.body).toContain('id="f-code-error"');
    expect(twice.body).toContain(`value="${typed.name}"`);
    expect((await send(`/gear/${kind}/${typed.code}/retire`, {})).headers.location).toBe(`/gear/${kind}`);
    expect((await visit(technician, '/gear')).body).not.toContain(typed.name);
    expect((await send(`/gear/${kind}/${typed.code}/retire`, {})).statusCode).toBe(404);
  });

  it.each([
    ['scales', { code: 'S2', name: 'Kept', resolutionG: '0' }, 'resolutionG'],
    ['scales', { code: 'S2', name: 'Kept', resolutionG: '' }, 'resolutionG'],
    ['hydrometers', { code: 'H2', name: 'Kept', scale: 'sg', division: '-1' }, 'division'],
    ['hydrometers', { code: 'H2', name: 'Kept', scale: 'brix', division: '1' }, 'scale'],
    ['flow-cups', { code: 'V 2', name: 'Kept' }, 'code'],
    ['floats', { code: '', name: 'Kept' }, 'code'],
    ['cups', { code: 'C2', name: 'Kept', tareG: '48', waterG: '70' }, 'waterG'],
  ])('%s: what cannot be is refused beside its field and kept', async (kind, typed, field) => {
    const answer = await send(`/gear/${kind}`, typed as Record<string, string>);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain(`id="f-${field}-error"`);
    expect(answer.body).toContain('value="Kept"');
  });

  it('is the technicians’, and knows no other kind', async () => {
    for (const url of ['/gear', '/gear/scales', '/gear/floats', '/gear/floats/NONE']) {
      expect((await visit(member, url)).statusCode, url).toBe(403);
      expect((await visit(null, url)).headers.location, url).toContain('/sign-in');
    }
    expect((await send('/gear/scales', { code: 'S9', name: 'x', resolutionG: '1' }, member)).statusCode).toBe(
      403,
    );
    for (const url of ['/gear/ladles', '/gear/constructor', '/gear/floats/NONE', '/gear/floats/a%00b'])
      expect((await visit(technician, url)).statusCode, url).toBe(404);
    expect((await send('/gear/ladles', {})).statusCode).toBe(404);
    expect((await send('/gear/cups/a%00b/retire', {})).statusCode).toBe(404);
  });
});

describe('readings by the studio’s instruments', () => {
  it('a scale brings its steps, a hydrometer its scale and division; what is typed goes before', async () => {
    expect(
      (await instrument({ kind: 'scale', code: 'FINE', name: 'Fine', resolutionG: 0.1 })).statusCode,
    ).toBe(201);
    expect(
      (await instrument({ kind: 'scale', code: 'COARSE', name: 'Coarse', resolutionG: 5 })).statusCode,
    ).toBe(201);
    const bucket = await aBucket({ sg: 1.46 });
    const weighed = { method: 'weighed', grams: 146, millilitres: 100, toleranceMillilitres: 0 };
    const u = async (body: object) =>
      (await take(bucket, { ...weighed, ...body })).json().event.standardUncertainty;
    // steps/√12 over 100 mL
    expect(await u({})).toBeCloseTo(1 / Math.sqrt(12) / 100, 9);
    expect(await u({ instrument: 'fine' })).toBeCloseTo(0.1 / Math.sqrt(12) / 100, 9);
    expect(await u({ instrument: 'COARSE' })).toBeCloseTo(5 / Math.sqrt(12) / 100, 9);
    expect(await u({ instrument: 'COARSE', resolutionGrams: 1 })).toBeCloseTo(1 / Math.sqrt(12) / 100, 9);

    await instrument({
      kind: 'hydrometer',
      code: 'TW',
      name: 'Twaddell stem',
      scale: 'twaddell',
      division: 10,
    });
    const read = (body: object) => take(bucket, { method: 'hydrometer', value: 92, ...body });
    const { event } = (await read({ instrument: 'TW' })).json();
    expect(event.specificGravity).toBeCloseTo(1.46, 9);
    // half of 10 °Tw is 0.025 SG
    expect(event.standardUncertainty).toBeCloseTo(0.025, 9);
    expect(event.typed).toMatchObject({ instrument: 'TW', scale: 'twaddell', value: 92 });
    expect((await read({ instrument: 'TW', scale: 'sg' })).json().errors[0].path).toBe('scale');
    const plain = (await take(bucket, { method: 'hydrometer', value: 1.46 })).json().event;
    expect(plain.typed.scale).toBe('sg');
  });

  it('a cup weighed on another scale keeps the doubt of its own calibration', async () => {
    await instrument({ kind: 'scale', code: 'TENTH', name: 'Tenths', resolutionG: 0.1 });
    const cup = { code: 'CAL', name: 'Cup', tareG: 50, waterG: 150, waterC: 20, resolutionG: 1 };
    await as(technician, (act) => addCup(act, cup));
    const bucket = await aBucket({ sg: 1.46 });
    const body = { method: 'weighed', vessel: 'CAL', grams: 196.3 };
    const u = async (more: object) =>
      (await take(bucket, { ...body, ...more })).json().event.standardUncertainty;
    const [own, tenth] = [await u({}), await u({ instrument: 'TENTH' })];
    expect(tenth).toBeLessThan(own);
    // The calibration in whole grams remains: (glaze/water, and their difference over water)/√12 over 100 g.
    expect(tenth).toBeGreaterThan((0.998 * 1.46) / Math.sqrt(12) / 100);
  });

  it('is refused beside its field: an instrument that is not there, is retired, or is another kind', async () => {
    await instrument({ kind: 'scale', code: 'KG', name: 'Kitchen scale', resolutionG: 1 });
    await instrument({ kind: 'flow-cup', code: 'FLOW', name: 'Flow cup' });
    const bucket = await aBucket({ sg: 1.46 });
    const weighed = { method: 'weighed', grams: 146, millilitres: 100 };
    for (const code of ['NONE', 'FLOW'])
      expect((await take(bucket, { ...weighed, instrument: code })).json().errors).toEqual([
        { path: 'instrument', message: `No scale is called ${code} here.` },
      ]);
    const hydrometer = { method: 'hydrometer', value: 1.46, instrument: 'KG' };
    expect((await take(bucket, hydrometer)).json().errors[0].path).toBe('instrument');
    await send('/gear/scales/KG/retire', {});
    expect((await take(bucket, { ...weighed, instrument: 'KG' })).statusCode).toBe(422);
  });

  it('answers fit what OpenAPI says, and a body of the wrong kind is refused', async () => {
    const list = (await api(member, 'GET', '/instruments')).json();
    const endpoint = bucketEndpoints.find((e) => e.method === 'GET' && e.path === '/instruments');
    endpoint?.answer.parse(list);
    expect(list.instruments.length).toBe((await listInstruments(read())).length);
    expect(
      (await api(member, 'POST', '/instruments', { kind: 'flow-cup', code: 'M', name: 'M' })).statusCode,
    ).toBe(403);
    for (const body of [
      {},
      { kind: 'scale' },
      { kind: 'ladle', code: 'L', name: 'L' },
      { kind: 'flow-cup', code: 'L', name: 'L', resolutionG: 1 },
    ])
      expect((await instrument(body)).statusCode, JSON.stringify(body)).toBe(422);
  });

  it('the check form offers them with what each brings', async () => {
    for (const scale of await listInstruments(read()))
      await send(`/gear/${scale.kind}s/${scale.code}/retire`, {});
    await instrument({ kind: 'scale', code: 'ONE', name: 'Only scale', resolutionG: 1 });
    await instrument({ kind: 'hydrometer', code: 'HY', name: 'Only stem', scale: 'baume', division: 1 });
    const bucket = await aBucket();
    const url = `/buckets/${bucket}/check`;
    // 1.96/√12 g over 100 mL
    expect((await visit(member, `${url}?how=weighed`)).body).toContain(
      'Only scale (ONE): steps of 1 g, ± 0.006 SG in 100 mL',
    );
    const form = await visit(member, `${url}?how=hydrometer`);
    expect(form.body).toMatch(/type="hidden" name="instrument" value="HY"/);
    expect(form.body).toContain('°Bé in steps of 1, ± 0.02 SG');
    expect(form.body).not.toContain('name="scale"');
    const another = await visit(member, `${url}?how=hydrometer&with=another`);
    expect(another.body).toContain('name="scale"');
    expect(another.body).not.toContain('name="instrument"');
    const refused = await send(url, { method: 'hydrometer', instrument: 'HY', value: '' }, member);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toMatch(/type="hidden" name="instrument" value="HY"/);
    const done = await send(
      url,
      { method: 'hydrometer', instrument: 'HY', value: '45,7', stirred: 'yes' },
      member,
    );
    expect(done.statusCode, done.body).toBe(303);
    expect((await visit(member, `/buckets/${bucket}`)).body).toContain('hydrometer, 45.7 °Bé');
    expect(await listCups(read())).not.toEqual([]);
  });
});
