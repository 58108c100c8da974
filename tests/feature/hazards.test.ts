import { expect, test } from 'vitest';
import { bucketBody, createBucket, recordAct } from '../../server/buckets/service/index.ts';
import type { Read } from '../../server/core/actor.ts';
import { parse } from '../../server/core/forms.ts';
import { type MaterialFacts, UNKNOWN } from '../../server/materials/facts.ts';
import {
  createRecipe,
  listRegister,
  reviseRecipe,
  saveMaterial,
} from '../../server/materials/service/index.ts';
import { mixtureOf, mixtureOfSubstance } from '../../server/safety/service/classify.ts';
import { safetySettings, saveSafetySettings } from '../../server/safety/service/settings.ts';
import { aStudio } from '../helpers/studio.ts';

const studio = await aStudio();
const { people, visit, api, as, aBucket, database, clock } = studio;
const { member, technician, manager } = people;

const read = (): Read => ({ tx: database.db, actor: technician.caller, now: clock.now() });

const learn = (name: string, facts: Partial<MaterialFacts>): Promise<unknown> =>
  as(technician, async (act) => {
    const id = (await listRegister(act)).find((one) => one.name === name)?.id ?? null;
    await saveMaterial(act, id, { name, density: 4, facts: { ...UNKNOWN, ...facts } });
  });

const parts = (...lines: [material: string, parts: number][]) => ({
  lines: lines.map(([material, share]) => ({ material, parts: share, density: 4 })),
  hasSolubles: false,
});

await learn('Clean feldspar', { classification: 'none', source: 'Its sheet' });
await learn('Supplier’s manganese', {
  classification: 'classified',
  hazards: [
    { hazardClass: 'STOT RE 1', hCode: 'H372' },
    { hazardClass: 'Acute Tox. 4', hCode: 'H332' },
  ],
  source: 'Its sheet of 2025',
});

const recipeId = (
  await as(technician, (act) => createRecipe(act, 'Plain gloss', parts(['Clean feldspar', 96])))
).recipeId;
await as(technician, (act) =>
  reviseRecipe(act, recipeId, parts(['Clean feldspar', 96], ['Supplier’s manganese', 4])),
);

const newBucket = bucketBody.omit({ recipe: true, solidsDensity: true, hasSolubles: true });

const escaped = (text: string) => text.replaceAll('&', '&amp;');

test('4 % of a material that is STOT RE 1 brings STOT RE 2 onto the page, with its arithmetic', async () => {
  const before = await visit(member, `/recipes/${recipeId}/hazards?version=1`);
  expect(before.statusCode).toBe(200);
  expect(before.body).not.toContain('H373');
  expect(before.body).toContain('No hazard class comes out of what is known');
  expect(before.body).toContain('No class shown does not mean harmless.');

  const after = await visit(member, `/recipes/${recipeId}/hazards`);
  expect(after.body).toContain('STOT RE 2');
  expect(after.body).toContain(
    escaped('Supplier’s manganese (STOT RE 1) 4 %, from 1 % to below 10 % → STOT RE 2'),
  );
  expect(after.body).toContain('May cause damage to organs through prolonged or repeated exposure');
  expect(after.body).toContain('Warning');
  expect(after.body).toContain('No class shown does not mean harmless.');
  expect(after.body).toContain('licensed practice decide');
  // 4 % inhaled at the class's 1.5 mg/L: 37.5 mg/L, told and no class.
  expect(after.body).toContain('37.5 mg/L');
});

test('a material of which nothing is known is named with its share', async () => {
  const { recipeId: id } = await as(technician, (act) =>
    createRecipe(act, 'With a sack', parts(['Clean feldspar', 60], ['Sack from the cellar', 40])),
  );
  const { body } = await visit(member, `/recipes/${id}/hazards`);
  expect(body).toContain('Sack from the cellar, 40 %: no classification is known.');
  expect(body).toContain('40 % of the mixture consists of ingredients of unknown acute toxicity.');
});

test('the page of a bucket: what is in it, dry and as slurry, and a draft for technicians', async () => {
  const code = 'HZ';
  await as(technician, async (act) => {
    const body = { code, name: 'Plain gloss', colour: '#4a6b5d', capacityLitres: 25, target: { aim: 1.46 } };
    await createBucket(act, parse(newBucket, body), recipeId);
    await recordAct(act, code, 'setup', { litres: 18, specificGravity: 1.46 } as never);
  });
  const page = await visit(technician, `/buckets/${code.toLowerCase()}/hazards`);
  expect(page.statusCode, page.body).toBe(200);
  expect(page.body).toContain('H373');
  expect(page.body).toContain('In the slurry');
  expect(page.body).toContain(`/notices/new?bucket=${code}`);
  const seen = await visit(member, `/buckets/${code}/hazards`);
  expect(seen.body).toContain('H373');
  expect(seen.body).not.toContain('/notices/new');
});

test('a recipe whose materials are not known, a bucket that was never set up', async () => {
  const { recipeId: id } = await as(technician, (act) =>
    createRecipe(act, 'Only a density', { lines: [], solidsDensity: 2.6, hasSolubles: false }),
  );
  expect((await visit(member, `/recipes/${id}/hazards`)).body).toContain('nothing could be worked out');
  const bare = await aBucket({ litres: null });
  expect((await visit(member, `/buckets/${bare}/hazards`)).statusCode).toBe(200);
});

test.each([
  '/recipes/999999/hazards',
  '/recipes/0/hazards',
  '/recipes/x/hazards',
  '/buckets/NONE/hazards',
  '/buckets/%00/hazards',
])('%s is not there', async (path) => {
  expect((await visit(member, path)).statusCode).toBe(404);
});
test('a version that is not there', async () => {
  for (const version of ['3', '0', 'x', '1&version=2'])
    expect((await visit(member, `/recipes/${recipeId}/hazards?version=${version}`)).statusCode).toBe(404);
});

test('the studio’s rules decide, and a change of the material is seen at once', async () => {
  const classesNow = async () => {
    const { rules, classes } = await mixtureOf(read(), { id: recipeId, version: 2 });
    return [rules, classes.map(({ hazardClass, hCode }) => `${hazardClass} ${hCode}`)];
  };
  const settings = await as(manager, (act) => safetySettings(act));
  await as(manager, (act) => saveSafetySettings(act, { ...settings, rules: 'us-hazcom' }));
  expect(await classesNow()).toEqual(['us-hazcom', ['STOT RE 1 H372']]);
  await as(manager, (act) => saveSafetySettings(act, settings));
  expect(await classesNow()).toEqual(['eu-clp', ['STOT RE 2 H373']]);
  await learn('Supplier’s manganese', {
    classification: 'classified',
    hazards: [{ hazardClass: 'STOT RE 1', hCode: 'H372', limitPercent: 4 }],
  });
  expect(await classesNow()).toEqual(['eu-clp', ['STOT RE 1 H372']]);
});

test('shares of a recipe meet a limit that they meet by pencil', async () => {
  await learn('Irritant', {
    classification: 'classified',
    hazards: [{ hazardClass: 'Carc. 2', hCode: 'H351' }],
  });
  // 0.29 of 29 is 1 %; in binary 100 × 0.29 / 29 falls short of it.
  const { recipeId: id, version } = await as(technician, (act) =>
    createRecipe(act, 'One percent', parts(['Clean feldspar', 28.71], ['Irritant', 0.29])),
  );
  expect((100 * 0.29) / (28.71 + 0.29)).toBeLessThan(1);
  expect((await mixtureOf(read(), { id, version })).classes.map(({ hCode }) => hCode)).toEqual(['H351']);
});

test('a material alone carries what its sheet says', async () => {
  const all = await listRegister(read());
  const id = (name: string) => all.find((one) => one.name === name)?.id ?? 0;
  const found = await mixtureOfSubstance(read(), id('Supplier’s manganese'));
  expect([found.signalWord, found.hStatements, found.pictograms]).toEqual(['Danger', ['H372'], ['GHS08']]);
  expect((await mixtureOfSubstance(read(), id('Sack from the cellar'))).unknown).toHaveLength(1);
});

const classify = (body: object, person: typeof member | null = member) =>
  api(person, 'POST', '/classify', body);
const of = (name: string, percent: number, ...classes: object[]) => ({ name, percent, classes });

test('POST /classify answers classes, label and what is not known', async () => {
  const answer = await classify({
    rules: 'eu-clp',
    ingredients: [
      {
        ...of(
          'copper(II) carbonate',
          4.8,
          { hazardClass: 'Acute Tox. 4', hCode: 'H302' },
          { hazardClass: 'Aquatic Chronic 1', hCode: 'H410', mFactor: 10 },
        ),
        cas: '12069-69-1',
        ate: { oral: 500, inhalation: { value: 1.2, form: 'dust-mist' } },
      },
      { name: 'sack', percent: 5 },
      of('feldspar', 90.2),
    ],
  });
  expect(answer.statusCode, answer.body).toBe(200);
  expect(answer.json()).toMatchObject({
    classes: [
      {
        hazardClass: 'Aquatic Chronic 1',
        hCode: 'H410',
        because: ['copper(II) carbonate 4.8 % × M 10 = 48 ≥ 25 → Aquatic Chronic 1'],
      },
    ],
    signalWord: 'Warning',
    pictograms: ['GHS09'],
    hStatements: ['H410'],
    texts: { H410: 'Very toxic to aquatic life with long lasting effects' },
    unknown: [
      'sack, 5 %: no classification is known.',
      '5 % of the mixture consists of ingredients of unknown acute toxicity.',
    ],
  });
});

test('limits as lists write them, with the marks of Annex VI', async () => {
  const sulphide = (percent: number, limits: unknown) =>
    classify({
      rules: 'eu-clp',
      ingredients: [of('CdS', percent, { hazardClass: 'STOT RE 1', hCode: 'H372 **', limits })],
    }).then((answer) => answer.json().classes.map((one: { hCode: string }) => one.hCode));
  const ranges = [
    { fromPercent: 10 },
    { hazardClass: 'STOT RE 2', hCode: 'H373', fromPercent: 0.1, belowPercent: 10 },
  ];
  expect(await sulphide(10, ranges)).toEqual(['H372']);
  expect(await sulphide(0.1, ranges)).toEqual(['H373']);
  expect(await sulphide(0.0999, ranges)).toEqual([]);
  expect(await sulphide(0.5, 0.5)).toEqual(['H372']);
});

const ok = of('it', 1);
test.each<[string, object, string]>([
  ['over 100 %', { ingredients: [of('a', 60), of('b', 41)] }, 'ingredients'],
  ['a negative share', { ingredients: [of('a', -1)] }, 'ingredients.0.percent'],
  ['an ATE of zero', { ingredients: [{ ...ok, ate: { oral: 0 } }] }, 'ingredients.0.ate.oral'],
  ['a wrong CAS number', { ingredients: [{ ...ok, cas: '1313-31-9' }] }, 'ingredients.0.cas'],
  [
    'a class that is none',
    { ingredients: [of('a', 1, { hazardClass: 'Carc. 9', hCode: 'H350' })] },
    'ingredients.0.classes.0.hazardClass',
  ],
  [
    'a class of the prototype',
    { ingredients: [of('a', 1, { hazardClass: 'constructor', hCode: 'H350' })] },
    'ingredients.0.classes.0.hazardClass',
  ],
  [
    'a range without an end above its start',
    {
      ingredients: [
        of('a', 1, {
          hazardClass: 'STOT RE 1',
          hCode: 'H372',
          limits: [{ hazardClass: 'STOT RE 2', hCode: 'H373', fromPercent: 5, belowPercent: 1 }],
        }),
      ],
    },
    'ingredients.0.classes.0.limits',
  ],
  [
    'limits that are none',
    { ingredients: [of('a', 1, { hazardClass: 'Carc. 2', hCode: 'H351', limits: 'x' })] },
    'ingredients.0.classes.0.limits',
  ],
  ['no ingredients', { ingredients: [] }, 'ingredients'],
  ['rules nobody made', { rules: 'mars', ingredients: [ok] }, 'rules'],
  ['no number', { ingredients: [{ ...ok, percent: '5' }] }, 'ingredients.0.percent'],
  ['a surrogate in a name', { ingredients: [{ ...ok, name: '\ud800' }] }, 'ingredients.0.name'],
])('POST /classify refuses %s with 422', async (_, body, path) => {
  const answer = await classify({ rules: 'eu-clp', ...body });
  expect(answer.statusCode, answer.body).toBe(422);
  expect(answer.json().errors.map((error: { path: string }) => error.path)).toContain(path);
});

test('POST /classify needs a token', async () => {
  expect((await classify({ rules: 'un', ingredients: [ok] }, null)).statusCode).toBe(401);
});
