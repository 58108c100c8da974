import { describe, expect, it } from 'vitest';
import { bucketEndpoints } from '../../server/buckets/api.ts';
import { findBucket, findFloat, listEvents, listFloats } from '../../server/buckets/service/index.ts';
import type { Read } from '../../server/core/actor.ts';
import { MINUTE } from '../../server/core/clock.ts';
import { aStudio, PARTIAL } from '../helpers/studio.ts';

const studio = await aStudio();
const { people, api, visit, submit, aBucket, database, clock } = studio;
const { technician, member } = people;
const read = (): Read => ({ tx: database.db, actor: technician.caller, now: clock.now() });

/** 1/SG = 0.55 + 0.0012 mm, rounded as a weighed gravity is. */
const pair = (millimetres: number) => ({
  millimetres,
  specificGravity: Number((1 / (0.55 + 0.0012 * millimetres)).toFixed(4)),
});
let serial = 0;
async function aFloat(marks: number[] = [60, 110, 150]): Promise<string> {
  const code = `F${++serial}`;
  expect((await api(technician, 'POST', '/floats', { code, name: `Bottle ${code}` })).statusCode).toBe(201);
  if (marks.length > 0) {
    const answer = await api(technician, 'POST', `/floats/${code}/calibration`, { points: marks.map(pair) });
    expect(answer.statusCode, answer.body).toBe(201);
  }
  return code;
}
const markOf = (sg: number) => (1 / sg - 0.55) / 0.0012;
const endpoint = (method: string, path: string) =>
  bucketEndpoints.find((e) => e.method === method && e.path === path) as (typeof bucketEndpoints)[number];

describe('over the API', () => {
  it('a float is made, calibrated, listed, and reads', async () => {
    const made = await api(technician, 'POST', '/floats', { code: 'NECK', name: 'Bottle with a thin neck' });
    expect(made.json()).toEqual({ code: 'NECK', name: 'Bottle with a thin neck', calibration: null });

    const points = [60, 110, 150].map(pair);
    const fit = (await api(technician, 'POST', '/floats/NECK/calibration', { points })).json();
    expect(fit).toMatchObject({ points, warnings: [], range: { low: 1.3699, high: 1.6077 } });
    expect(fit.intercept).toBeCloseTo(0.55, 3);
    expect(fit.slopePerMillimetre).toBeCloseTo(0.0012, 5);
    expect(fit.residual).toBeGreaterThan(0);
    expect(fit.residual).toBeLessThan(0.0002);
    // 0.01/(0.0012 · SG²) in the middle of the range
    expect(fit.millimetresPerHundredth).toBeCloseTo(0.01 / (0.0012 * ((1.3699 + 1.6077) / 2) ** 2), 1);
    endpoint('POST', '/floats/:code/calibration').answer.parse(fit);

    const list = (await api(member, 'GET', '/floats')).json();
    endpoint('GET', '/floats').answer.parse(list);
    expect(list.floats.find(({ code }: { code: string }) => code === 'NECK').calibration).toEqual(fit);

    const bucket = await aBucket({ sg: 1.46 });
    const reading = await api(member, 'POST', `/buckets/${bucket}/readings`, {
      method: 'float',
      float: 'neck',
      millimetres: markOf(1.47) + 1,
      replicates: [markOf(1.47) - 1],
    });
    expect(reading.statusCode, reading.body).toBe(201);
    const { event, bucket: now } = reading.json();
    endpoint('POST', '/buckets/:code/readings').answer.parse(reading.json());
    expect(event).toMatchObject({ kind: 'reading', method: 'float', stirred: true });
    expect(event.specificGravity).toBeCloseTo(1.47, 3);
    expect(event.standardUncertainty).toBeGreaterThan(0.002);
    expect(event.standardUncertainty).toBeLessThan(0.01);
    expect(now.specificGravity.value).toBe(event.specificGravity);
  });

  it('two pairs are taken with a warning, and the newest calibration counts; readings stay', async () => {
    const code = await aFloat([60, 150]);
    const first = await findFloat(read(), code);
    expect(first.calibration?.residual).toBeNull();
    const bucket = await aBucket({ sg: 1.46 });
    const millimetres = markOf(1.46);
    const take = () =>
      api(member, 'POST', `/buckets/${bucket}/readings`, { method: 'float', float: code, millimetres });
    const before = (await take()).json().event;
    clock.forward(MINUTE);
    const points = [60, 150].map(pair).map((p) => ({ ...p, specificGravity: p.specificGravity + 0.02 }));
    const again = await api(technician, 'POST', `/floats/${code}/calibration`, { points });
    expect(again.json().residual).toBeNull();
    expect(again.json().warnings).toEqual([expect.stringContaining('a third would show')]);
    const after = (await take()).json().event;
    expect(after.specificGravity - before.specificGravity).toBeCloseTo(0.02, 3);
    const { events } = await listEvents(read(), bucket, { limit: 10, before: null });
    const kept = events.find(({ number }) => number === before.number)?.entry;
    expect(kept).toMatchObject({
      specificGravity: before.specificGravity,
      typed: { float: code, millimetres },
    });
  });

  it('a repeated request with the same key makes one float', async () => {
    const key = { 'idempotency-key': 'one-float-only' };
    const body = { code: 'ONCE', name: 'Once' };
    const [a, b] = [
      await api(technician, 'POST', '/floats', body, key),
      await api(technician, 'POST', '/floats', body, key),
    ];
    expect([a.statusCode, b.statusCode]).toEqual([201, 201]);
    expect(b.json()).toEqual(a.json());
    const refused = await api(technician, 'POST', '/floats', { code: 'once', name: 'Another' });
    expect(refused.statusCode).toBe(422);
    expect(refused.json().errors).toEqual([
      { path: 'code', message: expect.stringContaining('perhaps a retired') },
    ]);
  });

  it.each([
    ['equal marks', [pair(60), { ...pair(60), specificGravity: 1.4 }], 'points', /same mark, 60 mm/],
    ['one point', [pair(60)], 'points', /two pairs/],
    ['no points', [], 'points', /two pairs/],
    [
      'the wrong way round',
      [
        { millimetres: 60, specificGravity: 1.4 },
        { millimetres: 90, specificGravity: 1.5 },
      ],
      'points',
      /say otherwise/,
    ],
    [
      'negative mm',
      [pair(60), { millimetres: -3, specificGravity: 1.4 }],
      'points.1.millimetres',
      /Between 0 and 1000 mm/,
    ],
    [
      'an impossible gravity',
      [pair(60), { millimetres: 90, specificGravity: 0.5 }],
      'points.1.specificGravity',
      /Between 0\.99 and 4/,
    ],
    [
      'words',
      [pair(60), { millimetres: 'deep', specificGravity: 1.4 }],
      'points.1.millimetres',
      /Type a number/,
    ],
    ['too many', Array.from({ length: 21 }, (_, i) => pair(60 + i)), 'points', /At most 20/],
  ])('a calibration by %s is refused in words', async (_what, points, path, words) => {
    const code = await aFloat([]);
    const answer = await api(technician, 'POST', `/floats/${code}/calibration`, { points });
    expect(answer.statusCode, answer.body).toBe(422);
    expect(answer.json().errors).toContainEqual({ path, message: expect.stringMatching(words) });
    expect((await findFloat(read(), code)).calibration).toBeNull();
  });

  it('a reading is refused beside its field: no such float, not calibrated, beyond its range, below zero', async () => {
    const bucket = await aBucket({ sg: 1.46 });
    const code = await aFloat();
    const bare = await aFloat([]);
    const refusal = async (body: object) => {
      const answer = await api(member, 'POST', `/buckets/${bucket}/readings`, { method: 'float', ...body });
      expect(answer.statusCode, answer.body).toBe(422);
      return answer.json().errors;
    };
    expect(await refusal({ float: 'NONE', millimetres: 90 })).toEqual([
      { path: 'float', message: 'No float is called NONE here.' },
    ]);
    expect(await refusal({ float: bare, millimetres: 90 })).toEqual([
      { path: 'float', message: `Float ${bare} is not calibrated yet.` },
    ]);
    for (const millimetres of [markOf(1.31), markOf(1.67)])
      expect(await refusal({ float: code, millimetres })).toEqual([
        { path: 'millimetres', message: expect.stringMatching(/more than 0\.05 outside.*1\.37 to 1\.61/) },
      ]);
    expect(await refusal({ float: code, millimetres: -1 })).toEqual([
      { path: 'millimetres', message: 'Between 0 and 1000 mm.' },
    ]);
    expect((await refusal({ float: code }))[0].path).toBe('millimetres');
    expect((await findBucket(read(), bucket)).facts.readingGravity).toBeCloseTo(1.46, 9);
  });

  it('a reading far from what was expected asks back first', async () => {
    const bucket = await aBucket({ sg: 1.46 });
    const body = { method: 'float', float: await aFloat(), millimetres: markOf(1.55) };
    expect((await api(member, 'POST', `/buckets/${bucket}/readings`, body)).statusCode).toBe(409);
    expect(
      (await api(member, 'POST', `/buckets/${bucket}/readings`, { ...body, confirm: true })).statusCode,
    ).toBe(201);
  });

  it('members may look and read, not make or calibrate; strangers nothing; what is not there is not found', async () => {
    expect((await api(member, 'GET', '/floats')).statusCode).toBe(200);
    expect((await api(member, 'POST', '/floats', { code: 'MINE', name: 'Mine' })).statusCode).toBe(403);
    const points = [60, 150].map(pair);
    const code = await aFloat();
    expect((await api(member, 'POST', `/floats/${code}/calibration`, { points })).statusCode).toBe(403);
    expect((await api(null, 'GET', '/floats')).statusCode).toBe(401);
    for (const none of ['NOPE', 'a%00b', '%F0%9F'])
      expect(
        (await api(technician, 'POST', `/floats/${none}/calibration`, { points })).statusCode,
        none,
      ).toBeLessThan(500);
    expect((await api(technician, 'POST', '/floats/NOPE/calibration', { points })).statusCode).toBe(404);
  });
});

describe('on its pages', () => {
  let keys = 0;
  const send = (url: string, fields: Record<string, string>, who = technician) =>
    submit(who, url, { key: `float-form-${++keys}`, ...fields });
  const rows = (pairs: { millimetres: number; specificGravity: number }[]) =>
    Object.fromEntries(
      pairs.flatMap((p, i) => [
        [`millimetres${i + 1}`, String(p.millimetres).replace('.', ',')],
        [`specificGravity${i + 1}`, String(p.specificGravity).replace('.', ',')],
      ]),
    );

  it('a float is added, calibrated with comma or point, shown with its fit, and retired', async () => {
    const added = await send('/gear/floats', { code: 'PAGE', name: 'Test tube' });
    expect(added.headers.location).toBe('/gear/floats/PAGE');
    expect((await visit(technician, '/gear/floats/PAGE')).body).toContain('Not calibrated yet');
    const done = await send('/gear/floats/PAGE', rows([60, 110, 150].map(pair)));
    expect(done.statusCode, done.body).toBe(303);
    const page = await visit(technician, done.headers.location as string);
    expect(page.body).toContain('Test tube is calibrated');
    expect(page.body).toMatch(/0\.\d{4} SG off the line/);
    expect(page.body).toContain('value="110"');
    expect((await visit(technician, '/gear/floats')).body).toContain('SG 1.37 to 1.61');

    expect((await send('/gear/floats/PAGE/retire', {})).headers.location).toBe('/gear/floats');
    expect((await listFloats(read())).map(({ code }) => code)).not.toContain('PAGE');
    expect((await visit(technician, '/gear/floats/PAGE')).statusCode).toBe(404);
    expect((await send('/gear/floats/PAGE/retire', {})).statusCode).toBe(404);
    const bucket = await aBucket({ sg: 1.46 });
    const body = { method: 'float', float: 'PAGE', millimetres: 100 };
    expect((await api(member, 'POST', `/buckets/${bucket}/readings`, body)).json().errors[0].path).toBe(
      'float',
    );
  });

  it.each([
    ['equal marks', { ...rows([pair(60), pair(60)]) }, 'Two pairs have the same mark, 60 mm'],
    ['one pair', rows([pair(60)]), 'at least two pairs'],
    ['nothing', {}, 'at least two pairs'],
    ['half a pair', { ...rows([pair(60), pair(90)]), specificGravity2: '' }, 'id="f-specificGravity2-error"'],
    ['negative mm', { ...rows([pair(60), pair(90)]), millimetres2: '-4' }, 'id="f-millimetres2-error"'],
    ['words', { ...rows([pair(60), pair(90)]), millimetres1: 'deep' }, 'id="f-millimetres1-error"'],
  ])(
    'what cannot be a calibration comes back filled in: %s',
    async (_what, typed: Record<string, string>, words) => {
      const code = await aFloat([]);
      const answer = await send(`/gear/floats/${code}`, typed);
      expect(answer.statusCode).toBe(422);
      expect(answer.body).toContain(words);
      for (const value of Object.values(typed)) if (value) expect(answer.body).toContain(`value="${value}"`);
      const fragment = await submit(technician, `/gear/floats/${code}`, typed, PARTIAL);
      expect(fragment.statusCode).toBe(422);
      expect(fragment.body).not.toContain('<html');
    },
  );

  it('a row left empty between two is no pair', async () => {
    const code = await aFloat([]);
    const typed = { ...rows([pair(60), pair(90), pair(150)]), millimetres2: '', specificGravity2: ' ' };
    expect((await send(`/gear/floats/${code}`, typed)).statusCode).toBe(303);
    expect((await findFloat(read(), code)).calibration?.points).toEqual([pair(60), pair(150)]);
  });

  it('the check form offers it, with the lines of this bucket, and keeps both numbers when it refuses', async () => {
    const code = await aFloat();
    const bucket = await aBucket({ sg: 1.46 });
    const url = `/buckets/${bucket}/check`;
    const form = await visit(member, `${url}?how=float`);
    // 1/1.48 − 0.55 over 0.0012, to half a millimetre; then 1.44
    expect(form.body).toContain('wanted 104.5 mm to 120.5 mm');
    const typed = { method: 'float', float: code, millimetres: '190,5', replicates: '191', stirred: 'yes' };
    const refused = await send(url, typed, member);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('id="f-millimetres-error"');
    expect(refused.body).toContain('value="190,5"');
    expect(refused.body).toContain('value="191"');
    const done = await send(url, { ...typed, millimetres: '112,5', replicates: '111,5' }, member);
    expect(done.statusCode, done.body).toBe(303);
    const { facts } = await findBucket(read(), bucket);
    expect(facts.gravity).toBeCloseTo(1 / (0.55 + 0.0012 * 112), 3);
    const page = await visit(member, `/buckets/${bucket}`);
    expect(page.body).toContain(`float ${code} at 112.5 and 111.5 mm`);
    // Next time it is offered first, with the float that was used.
    expect((await visit(member, url)).body).toMatch(new RegExp(`value="${code}"[^>]* checked`));
  });

  it('the sheet says where every line goes; members may print it; retired buckets are not on it', async () => {
    const code = await aFloat();
    const bucket = await aBucket({ sg: 1.46, name: 'Sheet Grey' });
    const page = await visit(member, `/gear/floats/${code}/sheet`);
    expect(page.statusCode).toBe(200);
    const row = page.body.slice(page.body.indexOf('Sheet Grey'));
    for (const mm of ['104.5 mm', '112.5 mm', '120.5 mm', '3.9 mm']) expect(row).toContain(mm);
    expect((await visit(technician, `/buckets/${bucket}`)).statusCode).toBe(200);
    const bare = await aFloat([]);
    expect((await visit(member, `/gear/floats/${bare}/sheet`)).body).toContain('Not calibrated yet');
    const coarse = await aFloat([]);
    const points = [
      { millimetres: 20, specificGravity: 1.6 },
      { millimetres: 40, specificGravity: 1.3 },
    ];
    const fit = await api(technician, 'POST', `/floats/${coarse}/calibration`, { points });
    expect(fit.json().warnings).toContainEqual(expect.stringContaining('weighted bottle with a thin neck'));
    expect((await visit(member, `/gear/floats/${coarse}/sheet`)).body).toContain(
      'weighted bottle with a thin neck',
    );
  });
});
