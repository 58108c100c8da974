import { beforeAll, describe, expect, it } from 'vitest';
import { MINUTE } from '../../server/core/clock.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const HARBOUR = {
  code: 'HG',
  name: 'Harbour Grey',
  capacityLitres: 25,
  recipe: [
    { material: 'Soda feldspar', parts: 40, density: 2.6 },
    { material: 'Silica', parts: 30, density: 2.65 },
    { material: 'Whiting', parts: 20, density: 2.71 },
    { material: 'Kaolin', parts: 10, density: 2.6 },
    { material: 'Tin oxide', parts: 5, density: 6.95 },
  ],
  target: { low: 1.44, aim: 1.46, high: 1.48 },
};

describe('the main journey over the API', () => {
  it('a thick bucket is thinned, checked again, and ready', async () => {
    const { technician, member } = s.people;
    const made = await s.api(technician, 'POST', '/buckets', HARBOUR);
    expect(made.statusCode).toBe(201);
    // 1/S = Σ wᵢ/ρᵢ with the parts over 105
    const inverse = (40 / 2.6 + 30 / 2.65 + 20 / 2.71 + 10 / 2.6 + 5 / 6.95) / 105;
    expect(made.json().solidsDensity).toBeCloseTo(1 / inverse, 10);
    expect(made.json()).toMatchObject({ state: 'needs-reading', specificGravity: null, litres: null });

    const setup = await s.api(technician, 'POST', '/buckets/hg/setup', { litres: 18, specificGravity: 1.52 });
    expect(setup.statusCode).toBe(201);
    expect(setup.json().event.number).toBe(1);
    expect(setup.json().bucket.state).toBe('needs-reading');

    const thick = await s.api(member, 'POST', '/buckets/HG/readings', {
      method: 'weighed',
      grams: 152,
      millilitres: 100,
    });
    expect(thick.statusCode).toBe(201);
    expect(thick.json().event).toMatchObject({ number: 3, kind: 'reading', by: 'Ida' });
    const bucket = thick.json().bucket;
    expect(bucket.state).toBe('too-thick');
    expect(bucket.specificGravity).toMatchObject({ value: 1.52, basis: 'measured' });
    // u by hand: 1/√12 g and 1/√3 ml on 100 ml
    expect(bucket.specificGravity.standardUncertainty).toBeCloseTo(
      Math.hypot(1 / Math.sqrt(12) / 100, 1.52 / Math.sqrt(3) / 100),
      10,
    );
    // x = V (G − T)/(T − ρ)
    expect(bucket.advice.kind).toBe('add-water');
    expect(bucket.advice.litres).toBeCloseTo((18 * 0.06) / (1.46 - 0.99821), 2);
    expect(bucket.advice.first).toBe(1.75);
    expect(bucket.alternatives).toEqual([]);

    const water = await s.api(member, 'POST', '/buckets/HG/top-ups', {
      kind: 'water',
      litres: bucket.advice.litres,
    });
    expect(water.json().bucket.state).toBe('needs-reading');
    expect(water.json().bucket.specificGravity.value).toBeCloseTo(1.46, 3);
    expect(water.json().bucket.litres.value).toBeCloseTo(18 + bucket.advice.litres, 9);

    const again = await s.api(member, 'POST', '/buckets/HG/readings', {
      method: 'weighed',
      grams: 146,
      millilitres: 100,
      stirred: true,
    });
    expect(again.json().bucket.state).toBe('ready');
    expect(Date.parse(again.json().bucket.readyUntil)).toBe(s.clock.now() + 5 * MINUTE);

    const dip = await s.api(member, 'POST', '/buckets/HG/dippings', { pieces: 6, litres: 0.5 });
    expect(dip.statusCode).toBe(201);
    s.clock.forward(6 * MINUTE);
    expect((await s.api(member, 'GET', '/buckets/HG')).json().state).toBe('stir-first');
    await s.api(member, 'POST', '/buckets/HG/stirs', {});
    expect((await s.api(member, 'GET', '/buckets/HG')).json().state).toBe('ready');

    const ledger = (await s.api(member, 'GET', '/buckets/HG/events?limit=4')).json();
    expect(ledger.events.map((e: { number: number }) => e.number)).toEqual([8, 7, 6, 5]);
    expect(ledger.next).toBe(5);
    const rest = (await s.api(member, 'GET', '/buckets/HG/events?before=5')).json();
    expect(rest.events.map((e: { kind: string }) => e.kind)).toEqual([
      'addition',
      'reading',
      'stir',
      'setup',
    ]);
    expect(rest.next).toBeNull();
  });
});

describe('what a reading may be', () => {
  it('an unstirred reading is kept and not used', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 10 });
    const answer = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, {
      method: 'weighed',
      grams: 143,
      millilitres: 100,
      stirred: false,
    });
    expect(answer.statusCode).toBe(201);
    expect(answer.json().bucket.specificGravity.value).toBeCloseTo(1.46, 9);
    expect(answer.json().bucket.state).toBe('stir-first');
  });

  it('an unstirred reading counts within two minutes of a stir', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const answer = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, {
      method: 'hydrometer',
      scale: 'twaddell',
      value: 90,
      stirred: false,
    });
    expect(answer.json().bucket.specificGravity).toMatchObject({ value: 1.45, standardUncertainty: 0.01 });
  });

  it('an odd value asks once, a confirmed one is taken', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const body = { method: 'weighed', grams: 154, millilitres: 100 };
    const asked = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, body);
    expect(asked.statusCode).toBe(409);
    expect(asked.headers['content-type']).toContain('application/problem+json');
    expect(asked.json()).toMatchObject({ status: 409, errors: [{ path: 'grams' }] });
    expect((await s.api(s.people.member, 'GET', `/buckets/${code}/events`)).json().events).toHaveLength(3);
    const taken = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, {
      ...body,
      confirm: true,
    });
    expect(taken.statusCode).toBe(201);
    expect(taken.json().bucket.state).toBe('too-thick');
  });

  it.each([
    ['lighter than water', { method: 'weighed', grams: 90, millilitres: 100 }, 'grams'],
    ['heavier than its powder', { method: 'weighed', grams: 300, millilitres: 100 }, 'grams'],
    ['negative grams', { method: 'weighed', grams: -5, millilitres: 100 }, 'grams'],
    ['no volume', { method: 'weighed', grams: 150 }, 'millilitres'],
    ['a cup nobody has', { method: 'weighed', grams: 150, vessel: 'NONE' }, 'vessel'],
    ['a scale nobody has', { method: 'hydrometer', scale: 'brix', value: 20 }, 'scale'],
    ['a float nobody has', { method: 'float', float: 'NONE', millimetres: 20 }, 'float'],
    ['a method nobody knows', { method: 'guess', value: 1.5 }, 'method'],
    [
      'a time that is none',
      { method: 'weighed', grams: 150, millilitres: 100, happenedAt: 'yesterday' },
      'happenedAt',
    ],
    ['a field nobody knows', { method: 'weighed', grams: 150, millilitres: 100, gramms: 1 }, 'gramms'],
  ])('%s is refused beside its field', async (_what, body, path) => {
    const code = await s.aBucket({ sg: 1.46 });
    const answer = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((e: { path: string }) => e.path)).toContain(path);
  });

  it('a brim-full cup needs one number', async () => {
    const cup = { code: 'CUP1', name: 'Steel cup', tareG: 52, waterG: 251.642, waterC: 20 };
    expect((await s.api(s.people.technician, 'POST', '/vessels', cup)).statusCode).toBe(201);
    const code = await s.aBucket({ sg: 1.46 });
    // (344 − 52) g of glaze where 199.642 g of water at 20 °C fill 200.000 ml
    const answer = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, {
      method: 'weighed',
      vessel: 'cup1',
      grams: 344,
    });
    expect(answer.statusCode).toBe(201);
    expect(answer.json().event.method).toBe('cup');
    expect(answer.json().bucket.specificGravity.value).toBeCloseTo(292 / 200, 4);
  });
});

describe('what is refused', () => {
  it('members add water only; technicians everything', async () => {
    const code = await s.aBucket({ sg: 1.42 });
    for (const body of [
      { kind: 'dry', kilograms: 1 },
      { kind: 'slurry', litres: 1, specificGravity: 1.6 },
      { kind: 'rinse', litres: 1 },
    ]) {
      expect((await s.api(s.people.member, 'POST', `/buckets/${code}/top-ups`, body)).statusCode).toBe(403);
      expect((await s.api(s.people.technician, 'POST', `/buckets/${code}/top-ups`, body)).statusCode).toBe(
        201,
      );
    }
    const off = { litres: 0.5 };
    expect((await s.api(s.people.member, 'POST', `/buckets/${code}/draw-offs`, off)).statusCode).toBe(403);
    expect((await s.api(s.people.technician, 'POST', `/buckets/${code}/draw-offs`, off)).statusCode).toBe(
      201,
    );
  });

  it('a thin bucket: nothing for a member, blend, take off and dry for a technician', async () => {
    const code = await s.aBucket({ sg: 1.42 });
    const member = (await s.api(s.people.member, 'GET', `/buckets/${code}`)).json();
    expect(member).toMatchObject({ state: 'too-thin', advice: null, alternatives: [] });
    const technician = (await s.api(s.people.technician, 'GET', `/buckets/${code}`)).json();
    expect([technician.advice, ...technician.alternatives].map((w) => w.kind)).toEqual([
      'blend',
      'take-water-off',
      'add-dry',
    ]);
    const soluble = await s.aBucket({ sg: 1.42, hasSolubles: true });
    const kept = (await s.api(s.people.technician, 'GET', `/buckets/${soluble}`)).json();
    expect([kept.advice, ...kept.alternatives].map((w) => w.kind)).toEqual(['blend', 'add-dry']);
  });

  it('more litres than the bucket holds', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    for (const [path, body] of [
      ['setup', { litres: 26, specificGravity: 1.46 }],
      ['levels', { litres: 25.1 }],
      ['top-ups', { kind: 'water', litres: 30 }],
      ['draw-offs', { litres: 24 }],
    ] as const)
      expect(
        (await s.api(s.people.technician, 'POST', `/buckets/${code}/${path}`, body)).statusCode,
        path,
      ).toBe(422);
  });

  it('only dipping, on a bucket that must not be used', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const stop = { state: 'do-not-use', reason: 'a sponge fell in' };
    const stopped = await s.api(s.people.member, 'POST', `/buckets/${code}/service`, stop);
    expect(stopped.json().bucket).toMatchObject({ state: 'do-not-use', advice: null });
    expect(stopped.json().bucket.why).toContain('a sponge fell in');
    expect(
      (await s.api(s.people.member, 'POST', `/buckets/${code}/dippings`, { pieces: 1 })).statusCode,
    ).toBe(409);
    expect((await s.api(s.people.member, 'POST', `/buckets/${code}/stirs`, {})).statusCode).toBe(201);
    const back = { state: 'in-service' };
    expect((await s.api(s.people.member, 'POST', `/buckets/${code}/service`, back)).statusCode).toBe(403);
    expect((await s.api(s.people.technician, 'POST', `/buckets/${code}/service`, back)).statusCode).toBe(201);
  });

  it('"do not use" without a reason', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const answer = await s.api(s.people.member, 'POST', `/buckets/${code}/service`, { state: 'do-not-use' });
    expect(answer.json().errors).toEqual([{ path: 'reason', message: expect.any(String) }]);
  });

  it('the future, and for members the day before yesterday', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const at = (minutes: number) => ({
      happenedAt: new Date(s.clock.now() + minutes * MINUTE).toISOString(),
    });
    const stirAt = (person: typeof s.people.member, minutes: number) =>
      s.api(person, 'POST', `/buckets/${code}/stirs`, at(minutes));
    expect((await stirAt(s.people.member, 6)).statusCode).toBe(422);
    expect((await stirAt(s.people.member, 4)).statusCode).toBe(201);
    expect((await stirAt(s.people.member, -49 * 60)).statusCode).toBe(422);
    expect((await stirAt(s.people.technician, -49 * 60)).statusCode).toBe(201);
  });

  it('a code that is taken, in any case', async () => {
    const again = await s.api(s.people.technician, 'POST', '/buckets', { ...HARBOUR, code: 'hg' });
    expect(again.statusCode).toBe(409);
  });

  it('a bucket nobody has, and an event nobody recorded', async () => {
    expect((await s.api(s.people.member, 'GET', '/buckets/NOPE')).statusCode).toBe(404);
    expect((await s.api(s.people.member, 'GET', '/buckets/%00')).statusCode).toBe(404);
    const code = await s.aBucket({});
    const gone = await s.api(s.people.technician, 'POST', `/buckets/${code}/events/99/void`, {
      reason: 'slip',
    });
    expect(gone.statusCode).toBe(404);
  });
});

describe('corrections', () => {
  it('a void rebuilds the state, takes the paired stir with it, and is done once', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 20 });
    const read = await s.api(s.people.member, 'POST', `/buckets/${code}/readings`, {
      method: 'weighed',
      grams: 150,
      millilitres: 100,
    });
    const { number } = read.json().event;
    const path = `/buckets/${code}/events/${number}/void`;
    const voided = await s.api(s.people.member, 'POST', path, { reason: 'misread the scale' });
    expect(voided.statusCode).toBe(201);
    expect(voided.json().event).toMatchObject({
      number: number + 1,
      kind: 'void',
      note: 'misread the scale',
    });
    expect(voided.json().bucket.specificGravity.value).toBeCloseTo(1.46, 9);
    expect(voided.json().bucket.state).toBe('stir-first');
    expect((await s.api(s.people.member, 'POST', path, { reason: 'again' })).statusCode).toBe(409);
    const stir = `/buckets/${code}/events/${number - 1}/void`;
    expect((await s.api(s.people.member, 'POST', stir, { reason: 'its stir' })).statusCode).toBe(409);
    const itself = `/buckets/${code}/events/${number + 1}/void`;
    expect((await s.api(s.people.technician, 'POST', itself, { reason: 'no' })).statusCode).toBe(409);
    const events = (await s.api(s.people.member, 'GET', `/buckets/${code}/events?limit=3`)).json().events;
    expect(events.map((e: { voided: boolean }) => e.voided)).toEqual([false, true, true]);
  });

  it('members strike out their own, for a day', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const stir = (await s.api(s.people.member, 'POST', `/buckets/${code}/stirs`, {})).json().event.number;
    const stranger = await s.aPerson('member');
    const path = `/buckets/${code}/events/${stir}/void`;
    expect((await s.api(stranger, 'POST', path, { reason: 'not mine' })).statusCode).toBe(403);
    s.clock.forward(25 * 60 * MINUTE);
    expect((await s.api(s.people.member, 'POST', path, { reason: 'late' })).statusCode).toBe(403);
    expect((await s.api(s.people.technician, 'POST', path, { reason: 'tidy' })).statusCode).toBe(201);
  });

  it('a backdated event lands where it happened', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 30 });
    const before = (await s.api(s.people.member, 'GET', `/buckets/${code}`)).json();
    // water added before the last reading: the reading stands, the litres grow
    const late = await s.api(s.people.member, 'POST', `/buckets/${code}/top-ups`, {
      kind: 'water',
      litres: 1,
      happenedAt: new Date(s.clock.now() - 40 * MINUTE).toISOString(),
    });
    expect(late.json().bucket.specificGravity).toEqual(before.specificGravity);
    expect(late.json().bucket.litres.value).toBeCloseTo(before.litres.value + 1, 9);
  });
});

describe('what nobody may get round', () => {
  const path = (code: string, rest: string) => `/buckets/${code}/${rest}`;

  it('a member neither brings a retired bucket back nor undoes an old "do not use"', async () => {
    const { member, technician } = s.people;
    const retired = await s.aBucket({ sg: 1.46 });
    await s.api(technician, 'POST', path(retired, 'service'), { state: 'retired' });
    const stop = { state: 'do-not-use', reason: 'found in a corner' };
    expect((await s.api(member, 'POST', path(retired, 'service'), stop)).statusCode).toBe(403);
    const sponge = { problem: 'contaminated' };
    expect((await s.api(member, 'POST', path(retired, 'problems'), sponge)).statusCode).toBe(403);

    const code = await s.aBucket({ sg: 1.46 });
    const stopped = await s.api(member, 'POST', path(code, 'problems'), sponge);
    const voiding = path(code, `events/${stopped.json().event.number}/void`);
    s.clock.forward(11 * MINUTE);
    expect((await s.api(member, 'POST', voiding, { reason: 'it looks fine' })).statusCode).toBe(403);
    expect((await s.api(technician, 'POST', voiding, { reason: 'wrong bucket' })).statusCode).toBe(201);
  });

  it('an act from a clock that runs ahead counts as now, and blinds no check', async () => {
    const { member, technician } = s.people;
    const code = await s.aBucket({ sg: 1.46 });
    const ahead = new Date(s.clock.now() + 4 * MINUTE).toISOString();
    const stop = { state: 'do-not-use', reason: 'brush in it', happenedAt: ahead };
    expect((await s.api(member, 'POST', path(code, 'service'), stop)).json().event.happenedAt).toBe(
      new Date(s.clock.now()).toISOString(),
    );
    const odd = { method: 'weighed', grams: 160, millilitres: 100 };
    expect((await s.api(member, 'POST', path(code, 'readings'), odd)).statusCode).toBe(409);
    const back = await s.api(technician, 'POST', path(code, 'service'), { state: 'in-service' });
    expect(back.json().bucket.state).toBe('ready');
  });

  it.each([
    ['dippings', { pieces: 1, litres: 60 }, 'litres'],
    ['dippings', { pieces: 1, cups: 3 }, 'pieces'],
    ['top-ups', { kind: 'water', litres: 20 }, 'litres'],
    ['top-ups', { kind: 'dry', kilograms: 40 }, 'kilograms'],
    ['setup', { litres: 10, specificGravity: 1.46, dryKg: 5, waterLitres: 5 }, 'litres'],
    ['setup', { litres: 10, specificGravity: 1.46, dryKg: 5 }, 'litres'],
    ['readings', { method: 'weighed', grams: 146, millilitres: 100, resolutionGrams: 0 }, 'resolutionGrams'],
  ])('%s of %j is refused', async (kind, body, field) => {
    const code = await s.aBucket({ sg: 1.46 });
    const answer = await s.api(s.people.technician, 'POST', path(code, kind), body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors[0].path).toBe(field);
  });

  it('dips made before "do not use" are still written down', async () => {
    const { member } = s.people;
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 30 });
    await s.api(member, 'POST', path(code, 'service'), { state: 'do-not-use', reason: 'tin fell in' });
    const happenedAt = new Date(s.clock.now() - 20 * MINUTE).toISOString();
    expect((await s.api(member, 'POST', path(code, 'dippings'), { pieces: 2, happenedAt })).statusCode).toBe(
      201,
    );
  });

  it('an empty bucket says so', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const level = await s.api(s.people.member, 'POST', path(code, 'levels'), { litres: 0.5 });
    expect(level.json().bucket).toMatchObject({
      state: 'ready',
      why: expect.stringContaining('Nearly empty'),
    });
  });
});

describe('the same request twice', () => {
  it('is done once and answered the same', async () => {
    const code = await s.aBucket({ sg: 1.52 });
    const body = { kind: 'water', litres: 1 };
    const headers = { 'idempotency-key': `key-${code}` };
    const post = (b: object) => s.api(s.people.member, 'POST', `/buckets/${code}/top-ups`, b, headers);
    const [first, second] = await Promise.all([post(body), post(body)]);
    expect(second.json()).toEqual(first.json());
    expect([first, second].filter((r) => r.headers['idempotency-replayed'] === 'true')).toHaveLength(1);
    expect((await s.api(s.people.member, 'GET', `/buckets/${code}/events`)).json().events[0].number).toBe(
      first.json().event.number,
    );
    expect((await post({ kind: 'water', litres: 2 })).statusCode).toBe(422);
  });

  it('is free again after a refusal', async () => {
    const code = await s.aBucket({ sg: 1.52 });
    const headers = { 'idempotency-key': `again-${code}` };
    const bad = await s.api(s.people.member, 'POST', `/buckets/${code}/levels`, { litres: 99 }, headers);
    expect(bad.statusCode).toBe(422);
    const good = await s.api(s.people.member, 'POST', `/buckets/${code}/levels`, { litres: 9 }, headers);
    expect(good.statusCode).toBe(201);
  });
});

describe('the calculator', () => {
  it('gives every way with its amount', async () => {
    const answer = await s.api(s.people.member, 'POST', '/advice', {
      litres: 10,
      specificGravity: 1.4,
      target: 1.45,
      solidsDensity: 2.6,
      blendSpecificGravity: 1.7,
    });
    expect(answer.statusCode).toBe(200);
    const { advice, alternatives } = answer.json();
    expect(advice).toMatchObject({ kind: 'blend', litres: 2 });
    expect(alternatives[0].kind).toBe('take-water-off');
    expect(alternatives[0].litres).toBeCloseTo((10 * 0.05) / (1.45 - 0.99821), 2);
    expect(alternatives[1].kind).toBe('add-dry');
    expect(alternatives[1].kilograms).toBeCloseTo((10 * 0.05) / (1 - 1.45 / 2.6), 2);
  });
});
