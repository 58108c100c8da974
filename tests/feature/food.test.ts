import { beforeAll, describe, expect, it } from 'vitest';
import { createBucketWithRecipe, editBucket, findBucket } from '../../server/buckets/service/index.ts';
import { HOUR } from '../../server/core/clock.ts';
import { conesForm, correctOutcome, readCones } from '../../server/kilns/service/index.ts';
import { UNKNOWN } from '../../server/materials/facts.ts';
import { reviseRecipe, saveMaterial } from '../../server/materials/service/index.ts';
import { recordTest, testBody } from '../../server/safety/service/food.ts';
import { findClay, listClays } from '../../server/ware/service/index.ts';
import { aLoadedKiln, emptied } from '../helpers/firing.ts';
import { aClay, readAs } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let ida: Person;
let wren: Person;
let clay: number;
let clayName: string;
beforeAll(async () => {
  s = await aStudio();
  ida = s.people.member;
  wren = s.people.technician;
  clayName = await aClay(s, { maxCone: '10' });
  const clays = await listClays(readAs(s, wren));
  clay = clays.find(({ name }) => name === clayName)?.id ?? 0;
});

const MUG = { shape: 'mug', internalDepthMm: 90, volumeMl: 350 };
const six = (value: number) => Array<number>(6).fill(value);

const bodyOf = (recipe: number, more: object = {}) => ({
  recipe,
  version: 1,
  clay,
  cone: '6',
  rules: 'us-fda',
  ware: MUG,
  unit: 'mg/L',
  lead: six(0.1),
  cadmium: six(0.05),
  lab: 'Alder Lab',
  testedOn: '2024-03-02',
  ...more,
});

async function aTest(recipe: number, more: object = {}): Promise<number> {
  const answer = await s.api(wren, 'POST', '/leach-tests', bodyOf(recipe, more));
  expect(answer.statusCode, answer.body).toBe(201);
  return answer.json().number;
}

async function aBucketNamed(name: string): Promise<{ code: string; recipe: number }> {
  const code = await s.aBucket({ name, sg: 1.46 });
  const { facts } = await findBucket(readAs(s, wren), code);
  return { code, recipe: facts.recipe?.id ?? 0 };
}

const labelOf = async (code: string) =>
  ((await s.visit(wren, `/buckets/${code}/label`)).body.match(/<li class="label">.*?<\/li>/s) ?? [''])[0];

describe('figures that are judged and not kept', () => {
  it('a mug by the US guides', async () => {
    const body = { rules: 'us-fda', ware: MUG, lead: six(0.6), cadmium: six(0.1), unit: 'mg/L' };
    const answer = await s.api(ida, 'POST', '/leach', body);
    expect(answer.statusCode).toBe(200);
    expect(answer.json()).toMatchObject({
      category: 'cups-and-mugs',
      limits: { lead: 0.5, cadmium: 0.5, unit: 'mg/L' },
      pass: false,
      complete: true,
      deciding: { metal: 'lead', sample: 1, value: 0.6, limit: 0.5 },
    });
  });

  it.each(['mg/l', 'ug/mL', 'µg/mL'])('takes %s for mg/L', async (unit) => {
    const body = { rules: 'us-fda', ware: MUG, lead: six(0.5), cadmium: six(0.1), unit };
    expect((await s.api(ida, 'POST', '/leach', body)).json()).toMatchObject({
      pass: true,
      limits: { unit: 'mg/L' },
    });
  });

  it.each([
    ['a plate in mg/L without its area', { ware: { ...MUG, shape: 'plate', internalDepthMm: 20 } }, 'unit'],
    ['no samples', { lead: [] }, 'lead'],
    ['an amount below nothing', { cadmium: [-1] }, 'cadmium.0'],
    ['a shape that is none', { ware: { ...MUG, shape: 'hat' } }, 'ware.shape'],
    ['other rules', { rules: 'moon' }, 'rules'],
  ])('refuses %s', async (_, more, path) => {
    const body = { rules: 'eu-84-500', ware: MUG, lead: [1], cadmium: [0.1], unit: 'mg/L', ...more };
    const answer = await s.api(ida, 'POST', '/leach', body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((one: { path: string }) => one.path)).toContain(path);
  });
});

describe('the air of a shift', () => {
  const task = (hours: number, concentration?: number | null, basis?: string) => ({
    hours,
    concentration,
    basis,
  });

  it('averages over eight hours', async () => {
    const body = { tasks: [task(2, 150), task(2, 75), task(4, 50)], limit: 100, unit: 'ppm' };
    const answer = await s.api(ida, 'POST', '/exposure', body);
    expect(answer.statusCode, answer.body).toBe(200);
    expect(answer.json()).toMatchObject({ average8h: 81.25, share: 0.8125, state: 'below' });
  });

  it('sums over several substances', async () => {
    const one = (concentration: number, limit: number) => ({ tasks: [task(8, concentration)], limit });
    const substances = [one(500, 1000), one(45, 200), one(40, 200)];
    const { mixtureSum, state } = (await s.api(ida, 'POST', '/exposure', { substances })).json();
    expect(mixtureSum).toBeCloseTo(0.925, 12);
    expect(state).toBe('below');
  });

  it('names what the law names, and what lead may be in a long shift', async () => {
    const body = { tasks: [task(10, 30)], substance: 'lead' };
    const { words, state } = (await s.api(ida, 'POST', '/exposure', body)).json();
    expect(state).toBe('action-level');
    expect(words).toContain('In a shift of 10 h lead may average 40 µg/m³.');
  });

  it.each([
    ['neither tasks nor substances', {}, 'tasks'],
    ['no limit', { tasks: [task(1, 1)] }, 'limit'],
    ['a limit of 0', { tasks: [task(1, 1)], limit: 0 }, 'limit'],
    ['more than a day', { tasks: [task(13, 1), task(12, 1)], limit: 1 }, 'tasks'],
    ['a measurement without a figure', { tasks: [task(1)], limit: 1 }, 'tasks.0.concentration'],
    ['two limits', { tasks: [task(1, 1)], substance: 'silica', limit: 20 }, 'limit'],
    ['a known limit in another unit', { tasks: [task(1, 1)], substance: 'lead', unit: 'ppm' }, 'substance'],
  ])('refuses %s', async (_, body, path) => {
    const answer = await s.api(ida, 'POST', '/exposure', body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((one: { path: string }) => one.path)).toContain(path);
  });

  it('on its page says nothing is below a limit that was not measured', async () => {
    const at = '/safety/exposure?asked=yes&substance=silica&hours1=2&basis1=';
    const unknown = (await s.visit(ida, `${at}not-measured`)).body;
    expect(unknown).toContain('Not measured: unknown. Respirator and wet methods.');
    const assumed = (await s.visit(ida, `${at}assumed&air1=10`)).body;
    expect(assumed).toContain('Only assumed');
    expect(assumed.match(/<section class="notice.*?<\/section>/s)?.[0]).not.toContain('below the limit');
    const measured = (await s.visit(ida, `${at}measured&air1=10`)).body;
    expect(measured).toContain('2.5 µg/m³ over eight hours, 5 % of the limit of 50: below the limit');
  });

  it('comes back filled in, with what is wrong beside its field', async () => {
    const { statusCode, body } = await s.visit(
      ida,
      '/safety/exposure?asked=yes&substance=silica&hours2=2,5&basis2=measured&air2=',
    );
    expect(statusCode).toBe(422);
    expect(body).toContain('value="2,5"');
    expect(body).toContain('id="f-air2-error"');
    const bare = await s.visit(ida, '/safety/exposure?asked=yes');
    expect(bare.body).toContain('id="f-hours1-error"');
  });
});

describe('a test of a glaze', () => {
  it('is read by everybody and recorded by technicians', async () => {
    const { recipe } = await aBucketNamed('Sedge');
    const number = await aTest(recipe);
    const { tests } = (await s.api(ida, 'GET', '/leach-tests')).json();
    expect(tests[0]).toMatchObject({ number, passed: true, recipe: { id: recipe, version: 1 } });
    expect((await s.visit(ida, `/safety/food/${number}`)).body).toContain('Passed');
    expect((await s.api(ida, 'POST', '/leach-tests', bodyOf(recipe))).statusCode).toBe(403);
    expect((await s.visit(ida, '/safety/food/new')).statusCode).toBe(403);
    expect((await s.submit(ida, `/safety/food/${number}/void`, { reason: 'no' })).statusCode).toBe(403);
    expect((await s.visit(wren, '/safety/food/999')).statusCode).toBe(404);
  });

  it('is kept from its form', async () => {
    const { recipe } = await aBucketNamed('Fen');
    const fields = {
      mixed: `${recipe}.1`,
      clay: String(clay),
      cone: '6',
      shape: 'mug',
      internalDepthMm: '90',
      volumeMl: '350',
      rules: 'us-fda',
      unit: 'mg/L',
      lead: ['0,1', '0.1', '0.1', '0.1', '0.1', '0.1'],
      cadmium: ['0.6', '0.1', '0.1', '0.1', '0.1', '0.1'],
      lab: 'Alder Lab',
      testedOn: '2024-03-02',
    };
    const sent = await s.submit(wren, '/safety/food/new', fields);
    expect(sent.statusCode, sent.body).toBe(303);
    const { body } = await s.visit(wren, String(sent.headers.location));
    expect(body).toContain('Did not pass');
    expect(body).toContain('Sample 1 gave off 0.6 mg/L: over 0.5 mg/L.');
    expect(body).toContain('barium, manganese, copper, cobalt or lithium');
    const refused = await s.submit(wren, '/safety/food/new', { ...fields, mixed: '', cone: '99' });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('Choose the recipe as it was mixed.');
    expect(refused.body).toContain('value="0,1"');
  });

  it('takes the report as a PDF and nothing else', async () => {
    const { recipe } = await aBucketNamed('Alder');
    const send = async (content: string) => {
      const { ware, recipe: _, version: __, lead, cadmium, ...plain } = bodyOf(recipe);
      const form = new FormData();
      const fields = { ...plain, ...ware, mixed: `${recipe}.1` };
      for (const [name, value] of Object.entries(fields)) form.append(name, String(value));
      for (const value of lead) form.append('lead', String(value));
      for (const value of cadmium) form.append('cadmium', String(value));
      form.append('report', new Blob([content], { type: 'application/pdf' }), 'report.pdf');
      const packed = new Response(form);
      return s.app.inject({
        method: 'POST',
        url: '/safety/food/new',
        payload: Buffer.from(await packed.arrayBuffer()),
        headers: {
          cookie: wren.cookie,
          origin: 'http://localhost',
          host: 'localhost',
          'content-type': packed.headers.get('content-type') ?? '',
        },
      });
    };
    const html = await send('<html><script>alert(1)</script></html>');
    expect(html.statusCode).toBe(422);
    expect(html.body).toContain('This is not a PDF.');
    const sent = await send('%PDF-1.4\n1 0 obj\nendobj\n%%EOF\n');
    expect(sent.statusCode, sent.body).toBe(303);
    const { body } = await s.visit(ida, String(sent.headers.location));
    const [, file = ''] = body.match(/href="(\/files\/[0-9a-f]{64})"/) ?? [];
    const kept = await s.visit(ida, file);
    expect(kept.headers['content-type']).toBe('application/pdf');
    expect(kept.headers['content-disposition']).toContain('attachment');
  });

  it.each([
    ['too few samples with nothing over its limit', { lead: [0.1], cadmium: [0.1] }, 'lead'],
    ['a day to come', { testedOn: '2099-01-01' }, 'testedOn'],
    ['a day that no calendar has', { testedOn: '2024-02-30' }, 'testedOn'],
    ['a version that is not there', { version: 9 }, 'version'],
    ['a clay that is not there', { clay: 987_654 }, 'clay'],
    ['a cone that is none', { cone: '15' }, 'cone'],
  ])('is refused for %s', async (_, more, path) => {
    const answer = await s.api(
      wren,
      'POST',
      '/leach-tests',
      bodyOf((await aBucketNamed(`Refused ${path}`)).recipe, more),
    );
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((one: { path: string }) => one.path)).toContain(path);
  });

  it('counts on bucket and label until it is struck out, once', async () => {
    const { code, recipe } = await aBucketNamed('Heron');
    const food = async () => (await s.visit(ida, `/buckets/${code}`)).body;
    expect(await labelOf(code)).toContain('Not tested: not for food.');
    const number = await aTest(recipe);
    expect(await labelOf(code)).toContain('Pb/Cd test passed (Alder Lab, 2024-03-02)');
    expect(await food()).toContain('The test says nothing of barium');
    const failed = await aTest(recipe, { lead: six(0.7) });
    expect(await labelOf(code)).toContain('Decorative only');
    expect((await s.api(wren, 'POST', `/leach-tests/${failed}/void`, {})).statusCode).toBe(422);
    const struck = await s.api(wren, 'POST', `/leach-tests/${failed}/void`, { reason: 'Wrong sample' });
    expect(struck.json()).toMatchObject({ struckOut: 'Wrong sample', passed: false });
    const again = await s.submit(wren, `/safety/food/${failed}/void`, { reason: 'Wrong sample' });
    expect(again.statusCode).toBe(409);
    expect(await labelOf(code)).toContain('Pb/Cd test passed');
    await s.api(wren, 'POST', `/leach-tests/${number}/void`, { reason: 'Other glaze' });
    expect(await labelOf(code)).toContain('Not tested: not for food.');
  });
});

it('struck out by two at once is struck out by one', async () => {
  const { recipe } = await aBucketNamed('Grebe');
  const number = await aTest(recipe);
  const answers = await Promise.all(
    [1, 2, 3, 4].map((n) => s.api(wren, 'POST', `/leach-tests/${number}/void`, { reason: `Reason ${n}` })),
  );
  expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([200, 409, 409, 409]);
});

describe('a piece', () => {
  const foodOf = async (piece: number): Promise<string> => {
    const { body } = await s.visit(wren, `/ware/${piece}`);
    return body.match(/<dt>Food<\/dt><dd>(.*?)<\/dd>/s)?.[1] ?? '';
  };

  async function fired(name: string, reading: string) {
    const { code, recipe } = await aBucketNamed(name);
    await aTest(recipe);
    const load = await aLoadedKiln(s, { bucket: code, clay: clayName, howMany: 2 });
    await emptied(s, load.number);
    const [level] = load.page.levels;
    const { part = 'full', level: at = 1 } = level ?? {};
    const levels = [{ part, level: at, cones: [{ cone: '6', reading }] }];
    return {
      load,
      recipe,
      code,
      read: () => s.as(wren, (act) => readCones(act, load.number, conesForm.parse({ levels }))),
    };
  }

  it('counts once its cones say that it was fired as tested, and no longer when it crazes', async () => {
    const { load, read } = await fired('Loam', 'down');
    const [piece = 0] = load.pieces;
    expect(await foodOf(piece)).toContain('neither cones nor a log show');
    await read();
    expect(await foodOf(piece)).toMatch(/^Pb\/Cd test passed \(Alder Lab, 2024-03-02\)/);
    await s.as(wren, (act) => correctOutcome(act, load.number, { piece, outcome: 'craze' }));
    expect(await foodOf(piece)).toBe('Not tested: not for food. The glaze is crazed: no test counts for it.');
    const [, other = 0] = load.pieces;
    expect(await foodOf(other)).toMatch(/^Pb\/Cd test passed/);
  });

  it('keeps its test when the bucket goes on to a new version of the recipe, which has none', async () => {
    const { load, recipe, code, read } = await fired('Tarn', 'down');
    await read();
    s.clock.forward(HOUR);
    await s.as(wren, (act) =>
      reviseRecipe(act, recipe, { lines: [], solidsDensity: 2.7, hasSolubles: false }),
    );
    await s.as(wren, (act) =>
      editBucket(
        act,
        code,
        {
          code,
          name: 'Tarn',
          colour: '#4a6b5d',
          capacityLitres: 25,
          target: { low: 1.44, aim: 1.46, high: 1.48 },
          stirIntervalMinutes: 5,
          readingTrustedHours: 168,
          sieveMesh: 80,
          mixMoreFraction: 1 / 3,
        },
        recipe,
      ),
    );
    expect(await labelOf(code)).toContain('Not tested: not for food.');
    expect((await s.visit(ida, `/buckets/${code}`)).body).toContain(
      'A test of another version of the recipe does not count for this one.',
    );
    expect(await foodOf(load.pieces[0] as number)).toMatch(/^Pb\/Cd test passed/);
  });

  it('that was fired off the cone is not for food', async () => {
    const { load, read } = await fired('Marl', '2');
    await read();
    expect(await foodOf(load.pieces[0] as number)).toContain('Fired off cone 6');
  });

  it('with a glaze that nobody tested is not for food', async () => {
    const { code } = await aBucketNamed('Silt');
    const load = await aLoadedKiln(s, { bucket: code, clay: clayName, howMany: 1 });
    expect(await foodOf(load.pieces[0] as number)).toBe('Not tested: not for food.');
  });

  it('without glaze says nothing of food', async () => {
    const load = await aLoadedKiln(s, { clay: clayName, howMany: 1 });
    expect(await foodOf(load.pieces[0] as number)).toBe('');
  });
});

it('a label carries signal word, pictograms and statements of what is in the bucket', async () => {
  await s.as(wren, (act) =>
    saveMaterial(act, null, {
      name: 'Black oxide',
      density: 5,
      facts: {
        ...UNKNOWN,
        classification: 'classified',
        hazards: [{ hazardClass: 'STOT RE 1', hCode: 'H372' }],
        source: 'Supplier sheet',
      },
    }),
  );
  await s.as(wren, (act) =>
    createBucketWithRecipe(act, {
      code: 'BO',
      name: 'Night',
      colour: '#222222',
      capacityLitres: 25,
      target: { low: 1.44, aim: 1.46, high: 1.48 },
      stirIntervalMinutes: 5,
      readingTrustedHours: 168,
      sieveMesh: 80,
      mixMoreFraction: 1 / 3,
      hasSolubles: false,
      recipe: [
        { material: 'Whiting', parts: 96, density: 2.7 },
        { material: 'Black oxide', parts: 4, density: 5 },
      ],
    }),
  );
  await s.submit(wren, '/buckets/BO/setup', { litres: '18', specificGravity: '1.46' });
  const label = await labelOf('BO');
  expect(label).toContain('Warning');
  expect(label).toContain('aria-label="Health hazard"');
  expect(label).toContain('May cause damage to organs through prolonged or repeated exposure.');
  expect(label).not.toContain('no eating here');
  const whole = (await s.visit(wren, '/buckets/BO/label?size=hazard')).body;
  expect(whole).toContain('<b>H373</b> May cause damage to organs');
  expect(whole).toContain('class="ghs-label is-label"');
  expect(whole).not.toMatch(/\sstyle="/);
});

it('a test recorded twice by a use case in one act has numbers without a gap', async () => {
  const { recipe } = await aBucketNamed('Reed');
  expect((await findClay(readAs(s, wren), clay)).name).toBe(clayName);
  const command = testBody.parse(bodyOf(recipe));
  const numbers = await Promise.all([1, 2, 3].map(() => s.as(wren, (act) => recordTest(act, command, null))));
  const [first = 0] = numbers.sort((a, b) => a - b);
  expect(numbers).toEqual([first, first + 1, first + 2]);
});
