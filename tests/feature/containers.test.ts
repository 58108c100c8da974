import { beforeAll, describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { containersDue, examineContainers } from '../../server/safety/service/containers.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let member: Person;
let technician: Person;
let manager: Person;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician, manager } = s.people);
});

let serial = 0;
const key = () => `containers-key-${++serial}`;

/** A glaze of 18 L at 1.46, made of what nobody has said anything about. */
async function aGlaze(more: { isReclaim?: boolean } = {}): Promise<string> {
  const code = `G${++serial}`;
  const made = await s.api(technician, 'POST', '/buckets', {
    code,
    name: `Reed ${code}`,
    capacityLitres: 25,
    target: { aim: 1.46 },
    recipe: [
      { material: `Reed frit ${code}`, parts: 80, density: 2.6 },
      { material: `Moss clay ${code}`, parts: 20, density: 2.6 },
    ],
    ...(more.isReclaim && { isReclaim: true }),
  });
  expect(made.statusCode, made.body).toBe(201);
  await s.api(technician, 'POST', `/buckets/${code}/setup`, { litres: 18, specificGravity: 1.46 });
  return code;
}

async function aContainer(kind: 'rinse' | 'reclaim' | 'waste', bucket?: string, capacity = '20') {
  const code = `C${++serial}`;
  const made = await s.submit(technician, '/containers/new', {
    kind,
    code,
    name: `Pail ${code}`,
    capacityLitres: capacity,
    ...(bucket && { bucket }),
    key: key(),
  });
  expect(made.statusCode, made.body).toBe(303);
  return code;
}

const at = (person: Person, code: string, body: object, headers = {}) =>
  s.api(person, 'POST', `/containers/${code}/events`, body, headers);
const seen = async (code: string) => (await s.api(member, 'GET', `/containers/${code}`)).json();
const ledger = async (code: string) =>
  (await s.api(member, 'GET', `/containers/${code}/events`)).json().events;
const bucket = async (code: string) => (await s.api(member, 'GET', `/buckets/${code}`)).json();
const paths = (answer: { json(): { errors: { path: string }[] } }) =>
  answer.json().errors.map(({ path }) => path);
const sound = async () => expect(await examineContainers({ tx: s.database.db })).toEqual([]);

describe('what leaves a bucket', () => {
  it('drawn off to the rinse store is in its rinse bucket, with its solids', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, { litres: 2, to: 'rinse' });
    await s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, {
      litres: 3,
      to: 'rinse',
      what: 'slurry',
    });
    const { litres, glazes, materials, unlisted } = await seen(pail);
    expect(litres).toBeCloseTo(5, 9);
    expect(glazes).toEqual([expect.stringContaining(`Reed ${glaze}`)]);
    expect(unlisted).toEqual([]);
    const [frit, clay] = materials;
    expect(frit).toMatchObject({ name: `Reed frit ${glaze}`, more: false });
    expect(frit.kilograms / clay.kilograms).toBeCloseTo(4, 9);
    expect(frit.kilograms).toBeGreaterThan(1);
    const [slurry, water] = await ledger(pail);
    expect(water).toMatchObject({ number: 1, kind: 'in', litres: 2, bucket: { code: glaze, event: 2 } });
    expect(slurry).toMatchObject({ number: 2, kind: 'in', litres: 3, bucket: { code: glaze, event: 3 } });
    await sound();
  });

  it('to the next batch, or with no container, is written nowhere else', async () => {
    const glaze = await aGlaze();
    const other = await aContainer('rinse', await aGlaze());
    await s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, { litres: 2, to: 'batch' });
    const answer = await s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, { litres: 2, to: 'rinse' });
    expect(answer.statusCode).toBe(201);
    expect((await seen(other)).litres).toBe(0);
  });

  it('to waste is in the waste container while there is exactly one', async () => {
    const glaze = await aGlaze();
    const drum = await aContainer('waste');
    const toWaste = () =>
      s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, { litres: 1, to: 'waste', what: 'slurry' });
    await toWaste();
    expect((await seen(drum)).litres).toBe(1);
    const second = await aContainer('waste');
    await toWaste();
    expect((await seen(drum)).litres).toBe(1);
    await s.submit(technician, `/containers/${second}/retire`, { to: 'out', key: key() });
    await toWaste();
    expect((await seen(drum)).litres).toBe(2);
    await at(manager, drum, { kind: 'dispose', litres: 2, how: 'carrier', byWhom: 'Weir Carting' });
    await s.submit(technician, `/containers/${drum}/retire`, { to: 'out', key: key() });
  });

  it('struck out at the bucket is struck out here, and the other way round', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    const drawn = async () =>
      (await s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, { litres: 2, to: 'rinse' })).json()
        .event.number;
    const first = await drawn();
    await s.api(technician, 'POST', `/buckets/${glaze}/events/${first}/void`, { reason: 'Wrong bucket.' });
    expect((await seen(pail)).litres).toBe(0);
    expect((await ledger(pail)).map(({ kind }: { kind: string }) => kind)).toEqual(['void', 'in']);

    const before = (await bucket(glaze)).litres.value;
    await drawn();
    expect((await bucket(glaze)).litres.value).toBeLessThan(before);
    const struck = await at(technician, pail, { kind: 'void', number: 3, reason: 'Never happened.' });
    expect(struck.statusCode, struck.body).toBe(201);
    expect(struck.json().number).toBe(4);
    expect((await ledger(pail))[0]).toMatchObject({ kind: 'void', voids: 3, note: 'Never happened.' });
    expect((await seen(pail)).litres).toBe(0);
    expect((await bucket(glaze)).litres.value).toBeCloseTo(before, 9);
    const again = await at(technician, pail, { kind: 'void', number: 3, reason: 'Twice.' });
    expect(again.statusCode).toBe(409);
    expect((await at(technician, pail, { kind: 'void', number: 4, reason: 'Void.' })).statusCode).toBe(409);
    expect((await at(technician, pail, { kind: 'void', number: 77, reason: 'None.' })).statusCode).toBe(404);
    await sound();
  });
});

describe('tools rinsed', () => {
  it('are a member’s to write down, with an unknown amount of glaze', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    const page = (await s.visit(member, `/containers/${pail}/record`)).body;
    expect(page).toContain('Rinsed in');
    expect(page).not.toContain('Dispose');
    const sent = await s.submit(member, `/containers/${pail}/record?kind=in`, {
      kind: 'in',
      litres: '1,5',
      key: key(),
    });
    expect(sent.statusCode, sent.body).toBe(303);
    const shown = (await s.visit(member, sent.headers.location as string)).body;
    expect(shown).toContain('1.5 L of 20 L');
    expect(shown).toContain(`Reed frit ${glaze}`);
    expect(shown).toContain('an unknown amount');
    expect(shown).toContain('No class shown does not mean harmless.');
    expect((await seen(pail)).specificGravity).toBeNull();
  });

  it('may be struck out by whoever wrote it, for a day, and by nobody else but a technician', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    const ida = await s.aPerson('member');
    await at(ida, pail, { kind: 'in', litres: 1 });
    const strike = (person: Person) => at(person, pail, { kind: 'void', number: 1, reason: 'Wrong pail.' });
    expect((await strike(member)).statusCode).toBe(403);
    expect((await s.visit(member, `/containers/${pail}`)).body).not.toContain('Strike out');
    expect((await s.visit(ida, `/containers/${pail}`)).body).toContain('Strike out');
    const form = await s.visit(ida, `/containers/${pail}/events/1/void`);
    expect(form.statusCode).toBe(200);
    const sent = await s.submit(ida, `/containers/${pail}/events/1/void`, {
      reason: 'Wrong pail.',
      key: key(),
    });
    expect(sent.statusCode).toBe(303);
    expect((await seen(pail)).litres).toBe(0);
  });

  it('are refused where they would not fit, are of another glaze, or lie in the future', async () => {
    const glaze = await aGlaze();
    const other = await aGlaze();
    const pail = await aContainer('rinse', glaze, '5');
    const refused = async (body: object) => {
      const answer = await at(member, pail, { kind: 'in', litres: 1, ...body });
      expect(answer.statusCode, answer.body).toBe(422);
      return paths(answer);
    };
    expect(await refused({ litres: 6 })).toEqual(['litres']);
    expect(await refused({ litres: 0 })).toEqual(['litres']);
    expect(await refused({ litres: -1 })).toEqual(['litres']);
    expect(await refused({ bucket: other })).toEqual(['bucket']);
    expect(await refused({ bucket: 'NONE' })).toEqual(['bucket']);
    expect(await refused({ specificGravity: 3 })).toEqual(['specificGravity']);
    expect(await refused({ happenedAt: '2099-01-01T00:00:00Z' })).toEqual(['happenedAt']);
    expect(await refused({ happenedAt: '2020-01-01T00:00:00Z' })).toEqual(['happenedAt']);
    expect(await refused({ surprise: 1 })).toEqual(['surprise']);
    expect((await at(member, 'NOPE', { kind: 'in', litres: 1 })).statusCode).toBe(404);
    expect((await at(member, '%00', { kind: 'in', litres: 1 })).statusCode).toBe(404);
    expect((await at(member, pail, { kind: 'swim', litres: 1 })).statusCode).toBe(422);
  });
});

describe('settled and sieved back', () => {
  it('is a top-up of the bucket, which then asks for a reading', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await s.api(technician, 'POST', `/buckets/${glaze}/readings`, {
      method: 'weighed',
      grams: 1460,
      millilitres: 1000,
      stirred: true,
      confirm: true,
    });
    expect((await bucket(glaze)).state).toBe('ready');
    await at(member, pail, { kind: 'in', litres: 3 });
    const sent = await s.submit(technician, `/containers/${pail}/record?kind=sieve-back`, {
      kind: 'sieve-back',
      litres: '2',
      key: key(),
    });
    expect(sent.statusCode, sent.body).toBe(303);
    expect((await s.visit(technician, sent.headers.location as string)).body).toContain('check its SG');
    const now = await bucket(glaze);
    expect(now.litres.value).toBeCloseTo(20, 6);
    expect(now.state).toBe('needs-reading');
    expect((await seen(pail)).litres).toBeCloseTo(1, 9);
    const [row] = await ledger(pail);
    expect(row).toMatchObject({ kind: 'sieved-back', litres: 2, bucket: { code: glaze } });
    const { events } = (await s.api(member, 'GET', `/buckets/${glaze}/events`)).json();
    expect(events[0]).toMatchObject({ number: row.bucket.event, kind: 'addition', what: 'rinse', litres: 2 });
    await sound();
  });

  it('is struck out on both sides, from either', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(member, pail, { kind: 'in', litres: 4 });
    const back = async () => {
      await at(technician, pail, { kind: 'sieve-back', litres: 2, specificGravity: 1.1 });
      const [row] = await ledger(pail);
      return row;
    };
    const first = await back();
    await s.api(technician, 'POST', `/buckets/${glaze}/events/${first.bucket.event}/void`, {
      reason: 'Not yet.',
    });
    expect((await seen(pail)).litres).toBe(4);
    expect((await bucket(glaze)).litres.value).toBeCloseTo(18, 9);
    const second = await back();
    await at(technician, pail, { kind: 'void', number: second.number, reason: 'Not yet.' });
    expect((await seen(pail)).litres).toBe(4);
    expect((await bucket(glaze)).litres.value).toBeCloseTo(18, 9);
    await sound();
  });

  it('recorded at the bucket leaves its rinse bucket too, once', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(member, pail, { kind: 'in', litres: 4 });
    await s.api(technician, 'POST', `/buckets/${glaze}/top-ups`, { kind: 'rinse', litres: 1 });
    expect((await seen(pail)).litres).toBe(3);
    await at(technician, pail, { kind: 'sieve-back', litres: 1 });
    expect((await seen(pail)).litres).toBe(2);
    await s.api(technician, 'POST', `/buckets/${glaze}/top-ups`, { kind: 'rinse', litres: 3 });
    expect((await seen(pail)).litres).toBe(0);
    expect((await s.visit(member, `/containers/${pail}`)).body).toContain('The books do not add up');
    await sound();
  });

  it('is a technician’s, no more than is in it, and not into another glaze', async () => {
    const glaze = await aGlaze();
    const other = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(member, pail, { kind: 'in', litres: 2 });
    expect((await at(member, pail, { kind: 'sieve-back', litres: 1 })).statusCode).toBe(403);
    const tooMuch = await at(technician, pail, { kind: 'sieve-back', litres: 3 });
    expect(tooMuch.statusCode).toBe(422);
    expect(paths(tooMuch)).toEqual(['litres']);
    expect((await bucket(glaze)).litres.value).toBeCloseTo(18, 9);
    const wrong = await at(technician, pail, { kind: 'sieve-back', litres: 1, bucket: other });
    expect([wrong.statusCode, paths(wrong)]).toEqual([422, ['bucket']]);
  });

  it('of mixed reclaim goes into a bucket of mixed reclaim only', async () => {
    const glaze = await aGlaze();
    const reclaim = await aGlaze({ isReclaim: true });
    const tub = await aContainer('reclaim');
    await at(member, tub, { kind: 'in', litres: 6, bucket: glaze });
    const back = (bucket?: string) => at(technician, tub, { kind: 'sieve-back', litres: 2, bucket });
    expect(paths(await back())).toEqual(['bucket']);
    expect(paths(await back(glaze))).toEqual(['bucket']);
    expect((await back(reclaim)).statusCode).toBe(201);
    const { events } = (await s.api(member, 'GET', `/buckets/${reclaim}/events`)).json();
    expect(events[0]).toMatchObject({ what: 'rinse', shared: true });
    expect((await seen(tub)).litres).toBeCloseTo(4, 9);
    await at(manager, tub, { kind: 'dispose', litres: 4, how: 'fired', byWhom: 'ourselves' });
    await s.submit(technician, `/containers/${tub}/retire`, { to: 'out', key: key() });
  });
});

describe('a move', () => {
  it('carries what is in one into the other, and is struck out on both sides', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    const drum = await aContainer('waste');
    await at(technician, pail, { kind: 'in', litres: 4, specificGravity: 1.2 });
    expect((await at(technician, pail, { kind: 'move', litres: 1, to: drum })).statusCode).toBe(201);
    const [a, b] = [await seen(pail), await seen(drum)];
    expect([a.litres, b.litres]).toEqual([3, 1]);
    expect(a.materials[0].kilograms / b.materials[0].kilograms).toBeCloseTo(3, 9);
    expect((await ledger(drum))[0]).toMatchObject({ kind: 'moved-in', container: { code: pail } });
    await at(technician, drum, { kind: 'void', number: 1, reason: 'Other drum.' });
    expect([(await seen(pail)).litres, (await seen(drum)).litres]).toEqual([4, 0]);
    await sound();
    await s.submit(technician, `/containers/${drum}/retire`, { to: 'out', key: key() });
  });

  it('never brings mixed or waste back into one glaze', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    const other = await aContainer('rinse', await aGlaze());
    const drum = await aContainer('waste');
    await at(technician, pail, { kind: 'in', litres: 4 });
    await at(technician, drum, { kind: 'in', litres: 4 });
    for (const [from, to] of [
      [pail, other],
      [drum, pail],
      [pail, pail],
      [pail, 'NONE'],
    ] as const) {
      const answer = await at(technician, from, { kind: 'move', litres: 1, to });
      expect([answer.statusCode, paths(answer)]).toEqual([422, ['to']]);
    }
    expect((await at(member, pail, { kind: 'move', litres: 1, to: drum })).statusCode).toBe(403);
    await at(manager, drum, { kind: 'dispose', litres: 4, how: 'landfill', byWhom: 'ourselves' });
    await s.submit(technician, `/containers/${drum}/retire`, { to: 'out', key: key() });
  });
});

describe('a disposal', () => {
  it('is not a member’s, and keeps what was in it', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(technician, pail, { kind: 'in', litres: 4, specificGravity: 1.2 });
    const body = { kind: 'dispose', litres: 4, how: 'carrier', byWhom: 'Weir Carting', manifest: 'M-12' };
    expect((await at(member, pail, body)).statusCode).toBe(403);
    expect((await s.submit(member, `/containers/${pail}/record`, { ...body, litres: '4' })).statusCode).toBe(
      403,
    );
    expect((await at(technician, pail, body)).statusCode).toBe(201);
    const [row] = await ledger(pail);
    expect(row.disposal).toMatchObject({ how: 'carrier', byWhom: 'Weir Carting', manifest: 'M-12' });
    expect(row.disposal.materials[0]).toMatchObject({ name: `Reed frit ${glaze}`, more: false });
    expect((await seen(pail)).litres).toBe(0);
    expect((await at(technician, pail, body)).statusCode).toBe(409);
  });

  it('is an entry of the safety log, struck out with it', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(technician, pail, { kind: 'in', litres: 4, specificGravity: 1.2 });
    const body = { kind: 'dispose', litres: 3, how: 'carrier', byWhom: 'Weir Carting', manifest: 'M-13' };
    const { number } = (await at(technician, pail, body)).json();
    const { body: page } = await s.visit(technician, `/containers/${pail}`);
    const [, entry] = /\/safety\/log\/(\d+)"/.exec(page) ?? [];
    const logged = async () => (await s.visit(technician, `/safety/log/${entry}`)).body;
    expect(await logged()).toContain('M-13');
    expect(await logged()).toContain(`Reed frit ${glaze}`);
    expect(await logged()).not.toContain('Not fetched after all.');
    await at(technician, pail, { kind: 'void', number, reason: 'Not fetched after all.' });
    expect((await seen(pail)).litres).toBe(4);
    expect(await logged()).toContain('Not fetched after all.');
    await at(technician, pail, body);
    const [row] = await ledger(pail);
    const second = row.disposal.logEntry;
    await s.api(technician, 'POST', `/safety-log/${second}/amend`, { what: 'Wrong.', strike: true });
    const after = await at(technician, pail, { kind: 'void', number: row.number, reason: 'Here as well.' });
    expect(after.statusCode, after.body).toBe(201);
    await sound();
  });

  it('down a drain is refused while nobody allowed it, beside its field', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    await at(technician, pail, { kind: 'in', litres: 4 });
    const body = { kind: 'dispose', litres: 1, clear: true, how: 'drain', byWhom: 'ourselves' };
    const refused = await at(technician, pail, body);
    expect([refused.statusCode, paths(refused)]).toEqual([409, ['how']]);
    const form = await s.submit(technician, `/containers/${pail}/record?kind=dispose`, {
      kind: 'dispose',
      litres: '1',
      how: 'drain',
      byWhom: 'ourselves',
      key: key(),
    });
    expect(form.statusCode).toBe(409);
    expect(form.body).toContain('Not down a drain');
    expect(form.body).toContain('value="ourselves"');

    const permit = (person: Person, validTo: string) =>
      s.submit(person, `/containers/${pail}/permission`, {
        authority: 'Weir Water, letter 7: settled rinse',
        validTo,
        key: key(),
      });
    expect((await permit(technician, '2090-01-01')).statusCode).toBe(403);
    expect((await permit(manager, 'tomorrow')).statusCode).toBe(422);
    expect((await permit(manager, '2020-01-01')).statusCode).toBe(303);
    expect((await at(technician, pail, body)).statusCode).toBe(409);
    expect((await permit(manager, '2090-01-01')).statusCode).toBe(303);
    expect((await at(technician, pail, body)).statusCode).toBe(201);
    const [row] = await ledger(pail);
    expect(row.disposal.permittedBy).toBe('Weir Water, letter 7: settled rinse');
    expect((await permit(manager, '2020-01-01')).statusCode).toBe(303);
    expect((await at(technician, pail, body)).statusCode).toBe(409);
    expect((await at(technician, pail, { ...body, how: 'carrier' })).statusCode).toBe(201);
  });

  it('down a drain hangs on every material by itself, however little of it there is', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(technician, pail, { kind: 'in', litres: 4, specificGravity: 1.1 });
    const { materials } = (await s.api(technician, 'GET', '/materials')).json();
    const saying = async (name: string, more: object) => {
      const { id } = materials.find((one: { name: string }) => one.name === `${name} ${glaze}`);
      const body = {
        name: `${name} ${glaze}`,
        density: 2.6,
        source: 'A sheet of Fellmoor Minerals',
        ...more,
      };
      const saved = await s.api(technician, 'POST', `/materials/${id}`, body);
      expect(saved.statusCode, saved.body).toBe(201);
    };
    const pour = () =>
      at(technician, pail, { kind: 'dispose', litres: 1, how: 'drain', byWhom: 'ourselves' });
    const hazards = [{ hazardClass: 'Aquatic Chronic 3', hCode: 'H412' }];
    await saying('Reed frit', { classification: 'none' });
    expect((await seen(pail)).unknown).toEqual([`Moss clay ${glaze}`]);
    expect((await pour()).json().detail).toContain(`nobody has said what is known of: Moss clay ${glaze}`);
    await saying('Moss clay', { classification: 'classified', hazards });
    expect(await seen(pail)).toMatchObject({
      classes: [],
      classifiedMaterials: [`Moss clay ${glaze}`],
      unknown: [],
    });
    expect((await pour()).json().detail).toContain(`classified materials: Moss clay ${glaze}`);
    await saying('Moss clay', { classification: 'none' });
    expect((await s.visit(technician, `/containers/${pail}`)).body).toContain(
      'No hazard class comes of what',
    );
    expect((await pour()).statusCode).toBe(201);
    await at(technician, pail, { kind: 'level', litres: 5 });
    const tub = await aContainer('reclaim');
    await at(technician, tub, { kind: 'in', litres: 4 });
    expect(
      paths(await at(technician, tub, { kind: 'dispose', litres: 1, how: 'drain', byWhom: 'x' })),
    ).toEqual(['how']);
    await at(manager, tub, { kind: 'dispose', litres: 4, how: 'fired', byWhom: 'ourselves' });
    await s.submit(technician, `/containers/${tub}/retire`, { to: 'out', key: key() });
  });

  it('said late is of what was in it then, for a drain and for what is kept with the record', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    const drum = await aContainer('waste');
    const hours = (n: number) => new Date(s.clock.now() - n * HOUR).toISOString();
    await at(technician, pail, { kind: 'in', litres: 4, specificGravity: 1.2, happenedAt: hours(9) });
    await at(technician, pail, {
      kind: 'dispose',
      litres: 4,
      how: 'carrier',
      byWhom: 'x',
      happenedAt: hours(3),
    });
    const body = { kind: 'dispose', litres: 1, how: 'drain', byWhom: 'ourselves' };
    const poured = await at(technician, pail, { ...body, happenedAt: hours(6) });
    expect([poured.statusCode, paths(poured)]).toEqual([409, ['how']]);
    expect((await at(technician, pail, { ...body, happenedAt: hours(12) })).statusCode).toBe(409);
    const fetched = { ...body, how: 'carrier', happenedAt: hours(6) };
    expect((await at(technician, pail, fetched)).statusCode).toBe(201);
    const [row] = await ledger(pail);
    expect(row.disposal.materials).toHaveLength(2);
    expect(row.disposal.materials[0].kilograms).toBeGreaterThan(0.1);
    const early = { kind: 'move', to: drum, litres: 1, happenedAt: hours(12) };
    expect(paths(await at(technician, pail, early))).toEqual(['litres']);
    expect((await at(technician, pail, { ...early, happenedAt: hours(5) })).statusCode).toBe(201);
    expect((await seen(drum)).materials[0].kilograms).toBeGreaterThan(0.1);
    await at(technician, drum, { kind: 'level', litres: 0 });
    expect((await s.visit(member, `/containers/${drum}`)).body).toContain('dried out');
    await at(manager, drum, { kind: 'dispose', litres: 0, how: 'fired', byWhom: 'ourselves' });
    await s.submit(technician, `/containers/${drum}/retire`, { to: 'out', key: key() });
  });

  it('down a drain is in the safety log as just that', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    await at(technician, pail, { kind: 'in', litres: 4, specificGravity: 1.1 });
    const { materials } = (await s.api(technician, 'GET', '/materials')).json();
    for (const { id, name } of materials.filter((one: { name: string }) => one.name.endsWith(glaze)))
      await s.api(technician, 'POST', `/materials/${id}`, {
        name,
        density: 2.6,
        source: 'A sheet of Fellmoor Minerals',
        classification: 'none',
      });
    const body = { kind: 'dispose', litres: 1, how: 'drain', byWhom: 'ourselves' };
    expect((await at(technician, pail, body)).statusCode).toBe(201);
    const [row] = await ledger(pail);
    const { what } = (await s.api(technician, 'GET', `/safety-log/${row.disposal.logEntry}`)).json();
    expect(what).toContain('Down the drain, by ourselves.');
  });

  it('is refused in odd ways', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    const body = { kind: 'dispose', litres: 1, how: 'carrier', byWhom: 'Weir Carting' };
    expect((await at(technician, pail, body)).statusCode).toBe(409);
    await at(technician, pail, { kind: 'in', litres: 4 });
    for (const [wrong, path] of [
      [{ litres: 9 }, 'litres'],
      [{ litres: 0 }, 'litres'],
      [{ how: 'river' }, 'how'],
      [{ byWhom: ' ' }, 'byWhom'],
      [{ byWhom: 'a\u0000b' }, 'byWhom'],
    ] as const) {
      const answer = await at(technician, pail, { ...body, ...wrong });
      expect([answer.statusCode, paths(answer)], JSON.stringify(wrong)).toEqual([422, [path]]);
    }
  });
});

describe('a container', () => {
  it('is put up, edited and taken out of use, empty only', async () => {
    const glaze = await aGlaze();
    const other = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    const make = (fields: Record<string, string>, person = technician) =>
      s.submit(person, '/containers/new', {
        kind: 'waste',
        code: pail.toLowerCase(),
        name: 'Again',
        capacityLitres: '10',
        key: key(),
        ...fields,
      });
    expect((await make({})).statusCode).toBe(409);
    expect((await make({ code: 'new' })).statusCode).toBe(422);
    expect((await make({ code: `N${++serial}`, kind: 'rinse' })).statusCode).toBe(422);
    expect((await make({ code: `N${++serial}` }, member)).statusCode).toBe(403);

    await at(technician, pail, { kind: 'in', litres: 2 });
    const save = (fields: Record<string, string>) =>
      s.submit(technician, `/containers/${pail}/edit`, {
        code: pail,
        name: 'Green pail',
        capacityLitres: '12',
        bucket: glaze,
        key: key(),
        ...fields,
      });
    expect((await save({ bucket: other })).statusCode).toBe(409);
    expect((await save({})).statusCode).toBe(303);
    expect(await seen(pail)).toMatchObject({
      name: 'Green pail',
      capacityLitres: 12,
      bucket: { code: glaze },
    });
    const out = () => s.submit(technician, `/containers/${pail}/retire`, { to: 'out', key: key() });
    const refused = await out();
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toContain('There is still something in it');
    await at(technician, pail, { kind: 'dispose', litres: 2, how: 'fired', byWhom: 'ourselves' });
    expect((await out()).statusCode).toBe(303);
    expect((await at(technician, pail, { kind: 'in', litres: 1 })).statusCode).toBe(409);
    expect((await at(technician, pail, { kind: 'void', number: 2, reason: 'Not yet' })).statusCode).toBe(409);
    expect((await s.visit(technician, '/containers')).body).not.toContain('Green pail');
    expect((await s.visit(technician, '/containers?retired=yes')).body).toContain('Green pail');
  });

  it('is found from its bucket, and put up from there', async () => {
    const glaze = await aGlaze();
    const go = async (person: Person) => (await s.visit(person, `/buckets/${glaze}/rinse`)).headers.location;
    expect(await go(member)).toBe('/containers');
    expect(await go(technician)).toBe(`/containers/new?bucket=${glaze}`);
    const form = (await s.visit(technician, `/containers/new?bucket=${glaze}`)).body;
    expect(form).toMatch(new RegExp(`<option value="${glaze}" selected`));
    const pail = await aContainer('rinse', glaze);
    expect(await go(member)).toBe(`/containers/${pail}`);
    expect((await s.visit(member, `/buckets/${glaze}`)).body).toContain(`href="/buckets/${glaze}/rinse"`);
  });

  it('shows what people wrote as text', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    await at(member, pail, { kind: 'in', litres: 1, note: '<img src=x onerror=alert(1)>' });
    const { body } = await s.visit(member, `/containers/${pail}`);
    expect(body).toContain('&lt;img src=x');
    expect(body).not.toContain('<img src=x');
  });

  it('takes one row after another however many write at once, each number once', async () => {
    const glaze = await aGlaze();
    const pail = await aContainer('rinse', glaze);
    const drum = await aContainer('waste');
    await at(technician, pail, { kind: 'in', litres: 10 });
    const answers = await Promise.all([
      ...Array.from({ length: 6 }, () => at(member, pail, { kind: 'in', litres: 0.5 })),
      ...Array.from({ length: 3 }, () => at(technician, pail, { kind: 'sieve-back', litres: 0.5 })),
      ...Array.from({ length: 3 }, () => at(technician, pail, { kind: 'move', litres: 0.5, to: drum })),
      ...Array.from({ length: 3 }, () =>
        s.api(technician, 'POST', `/buckets/${glaze}/draw-offs`, { litres: 0.5, to: 'rinse' }),
      ),
    ]);
    expect(answers.map(({ statusCode }) => statusCode)).toEqual(answers.map(() => 201));
    expect((await seen(pail)).litres).toBeCloseTo(10 + 3 - 1.5 - 1.5 + 1.5, 9);
    const numbers = (await ledger(pail)).map(({ number }: { number: number }) => number);
    expect(numbers).toEqual(Array.from({ length: 16 }, (_, i) => 16 - i));
    await sound();
    await s.submit(technician, `/containers/${drum}/retire`, { to: 'out', key: key() });
  });

  it('records a request that is sent twice once', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    const headers = { 'idempotency-key': key() };
    const send = () => at(member, pail, { kind: 'in', litres: 1 }, headers);
    const [first, again] = [await send(), await send()];
    expect(again.json()).toEqual(first.json());
    expect((await seen(pail)).litres).toBe(1);
  });

  it('pages its ledger', async () => {
    const pail = await aContainer('rinse', await aGlaze());
    for (let i = 0; i < 3; i++) await at(member, pail, { kind: 'in', litres: 1 });
    const page = (before?: number) =>
      s.api(member, 'GET', `/containers/${pail}/events?limit=2${before ? `&before=${before}` : ''}`);
    const first = (await page()).json();
    expect(first.next).toBe(2);
    const rest = (await page(first.next)).json();
    expect([rest.events.length, rest.next]).toEqual([1, null]);
    expect((await s.api(member, 'GET', `/containers/${pail}/events?limit=0`)).statusCode).toBe(422);
  });

  it('waits for somebody when it is nearly full, or held rinse for too long', async () => {
    const glaze = await aGlaze();
    const full = await aContainer('rinse', glaze, '10');
    const old = await aContainer('rinse', await aGlaze());
    const waiting = async (code: string) => {
      const due = await s.as(technician, (act) => containersDue(act));
      return due.filter(({ act }) => act.href === `/containers/${code}`).map(({ what }) => what);
    };
    await at(technician, full, { kind: 'in', litres: 8 });
    expect(await waiting(full)).toEqual([]);
    await at(technician, full, { kind: 'in', litres: 0.5 });
    expect(await waiting(full)).toEqual(['85 % full. Sieve it back, move it or have it fetched.']);
    const ago = (days: number) => new Date(s.clock.now() - days * DAY).toISOString();
    await at(technician, old, { kind: 'in', litres: 2, happenedAt: ago(59) });
    expect(await waiting(old)).toEqual([]);
    await at(technician, old, { kind: 'in', litres: 2, happenedAt: ago(61) });
    expect(await waiting(old)).toEqual(['Nothing was sieved back for 61 days.']);
    await at(technician, old, { kind: 'sieve-back', litres: 2 });
    expect(await waiting(old)).toEqual([]);
  });
});
