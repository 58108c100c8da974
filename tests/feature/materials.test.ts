import { expect, test } from 'vitest';
import {
  createBucket,
  editBucket,
  findBucket,
  listEvents,
  recordAct,
} from '../../server/buckets/service/index.ts';
import type { Read } from '../../server/core/actor.ts';
import { findRecipe, listMaterials, listRecipes } from '../../server/materials/service/index.ts';
import { aStudio } from '../helpers/studio.ts';

const studio = await aStudio();
const { people, visit, submit, as, database, clock } = studio;
const { technician, member } = people;

const read = (): Read => ({ tx: database.db, actor: technician.caller, now: clock.now() });
const key = () => `key-${Math.random().toString(36).slice(2)}-${Date.now()}`;

const write = async (fields: Record<string, string>) => {
  const answer = await submit(technician, '/recipes/new', { key: key(), ...fields });
  expect(answer.statusCode, answer.body).toBe(303);
  const id = /^\/recipes\/(\d+)\?done=saved$/.exec(String(answer.headers.location))?.[1];
  return Number(id);
};

const two = { material1: 'Silica', parts1: '50', material2: 'Whiting', parts2: '50' };

test('a recipe from its form: commas, empty rows, densities known by name', async () => {
  const id = await write({
    name: 'Half and half',
    ...two,
    density1: '2,65',
    material5: 'red IRON oxide',
    parts5: '2,5',
    hasSolubles: 'yes',
  });
  const { current, lines } = await findRecipe(read(), id);
  expect(lines).toEqual([
    { material: 'Silica', parts: 50, density: 2.65 },
    { material: 'Whiting', parts: 50, density: 2.71 },
    { material: 'red IRON oxide', parts: 2.5, density: 5.2 },
  ]);
  // 1/S = Σ wᵢ/ρᵢ by hand: (50/2.65 + 50/2.71 + 2.5/5.2)/102.5 = 0.368753
  expect(current.solidsDensity).toBeCloseTo(2.7118, 3);
  expect(current.hasSolubles).toBe(true);

  const page = await visit(technician, `/recipes/${id}`);
  expect(page.body).toContain('2.712 g/cm³');
  expect(page.body).toContain('102.5 parts by weight');
  expect(page.body).toContain('clear water is never taken off');
});

test('only a density, where the materials are not known', async () => {
  const id = await write({ name: 'From a sack', solidsDensity: '2.63' });
  const { current, lines } = await findRecipe(read(), id);
  expect([current.solidsDensity, lines]).toEqual([2.63, []]);
  expect((await visit(member, `/recipes/${id}`)).body).toContain('only the density of the dry glaze');
});

test('what is refused comes back filled in, each reason beside its field', async () => {
  const answer = await submit(technician, '/recipes/new', {
    key: key(),
    name: 'Half written',
    material1: 'Moon dust',
    parts1: '40',
    material2: 'Silica',
    parts2: 'some',
    parts3: '7',
    density3: '2.6',
    rows: '8',
  });
  expect(answer.statusCode).toBe(422);
  expect(answer.body).toContain('value="Half written"');
  expect(answer.body).toContain('value="Moon dust"');
  expect(answer.body).toContain('value="some"');
  expect(answer.body).toMatch(/id="f-density1-error">New here: give its density\./);
  expect(answer.body).toMatch(/id="f-parts2-error">Type a number\./);
  expect(answer.body).toMatch(/id="f-material3-error">Write something here\./);
  expect((await listRecipes(read())).some(({ name }) => name === 'Half written')).toBe(false);
});

test('a recipe needs a name, and materials or a density', async () => {
  const unnamed = await submit(technician, '/recipes/new', {
    key: key(),
    material1: 'Moon dust',
    parts1: '4',
  });
  expect(unnamed.body).toContain('id="f-name-error"');
  expect(unnamed.body).toContain('id="f-density1-error"');
  const answer = await submit(technician, '/recipes/new', { key: key(), name: 'Nothing' });
  expect(answer.statusCode).toBe(422);
  expect(answer.body).toContain('List the materials, or give the density of the dry glaze.');
  expect((await listRecipes(read())).some(({ name }) => name === 'Nothing')).toBe(false);
});

test('more rows keeps what was typed, ticked and unticked, and records nothing', async () => {
  const answer = await submit(technician, '/recipes/new', {
    key: key(),
    name: 'Growing',
    ...two,
    rows: '8',
    more: 'yes',
  });
  expect(answer.statusCode).toBe(200);
  expect(answer.body).toContain('value="Growing"');
  expect(answer.body).toContain('name="material14"');
  expect(answer.body).not.toContain('name="material15"');
  expect(answer.body).not.toContain('class="errors"');
  expect((await listRecipes(read())).some(({ name }) => name === 'Growing')).toBe(false);

  const id = await write({ name: 'Once ticked', ...two, hasSolubles: 'yes' });
  const unticked = await submit(technician, `/recipes/${id}/revise`, { ...two, rows: '8', more: 'yes' });
  expect(unticked.body).not.toContain('checked');
});

test('a name in use is refused, whatever its case, and the form is kept', async () => {
  await write({ name: 'Taken already', ...two });
  const answer = await submit(technician, '/recipes/new', { key: key(), name: 'TAKEN ALREADY', ...two });
  expect(answer.statusCode).toBe(409);
  expect(answer.body).toMatch(/id="f-name-error">Another recipe has this name/);
  expect(answer.body).toContain('value="Whiting"');
});

test('a double tap writes one recipe', async () => {
  const fields = { key: key(), name: 'Tapped twice', ...two };
  const [one, other] = await Promise.all([
    submit(technician, '/recipes/new', fields),
    submit(technician, '/recipes/new', fields),
  ]);
  expect([one.statusCode, other.statusCode]).toEqual([303, 303]);
  expect(one.headers.location).toBe(other.headers.location);
});

test('a new version leaves the old one, and every bucket that holds it, as they were', async () => {
  const id = await write({ name: 'Settled', ...two });
  const before = await findRecipe(read(), id);
  const command = {
    code: 'SET',
    name: 'Settled',
    colour: '#888888',
    capacityLitres: 25,
    target: { aim: 1.46 },
    stirIntervalMinutes: 5,
    readingTrustedHours: 168,
    sieveMesh: 80,
    mixMoreFraction: 0.25,
  };
  await as(technician, (act) => createBucket(act, command, id));
  await as(technician, (act) => recordAct(act, 'SET', 'setup', { litres: 20, specificGravity: 1.46 }));
  const weighed = {
    method: 'weighed',
    grams: 1465,
    millilitres: 1000,
    stirred: true,
    confirm: false,
  } as const;
  await as(technician, (act) => recordAct(act, 'SET', 'readings', weighed));
  const bucket = await findBucket(read(), 'SET');
  const events = await listEvents(read(), 'SET', { limit: 50, before: null });

  const heavier = { ...two, material3: 'Tin oxide', parts3: '20' };
  expect((await submit(technician, `/recipes/${id}/revise`, { key: key(), ...heavier })).statusCode).toBe(
    303,
  );
  const after = await findRecipe(read(), id);
  expect(after.current.version).toBe(2);
  expect(after.current.solidsDensity).toBeGreaterThan(before.current.solidsDensity + 0.2);
  expect(await findRecipe(read(), id, 1)).toMatchObject({ current: before.current, lines: before.lines });
  expect((await findBucket(read(), 'SET')).facts).toEqual(bucket.facts);
  expect((await visit(member, `/recipes/${id}?version=1`)).body).toContain('An earlier version');

  const kept = await as(technician, (act) =>
    editBucket(act, 'SET', { ...command, place: 'rack B' }, undefined),
  );
  expect((await findBucket(read(), kept)).facts).toEqual(bucket.facts);

  await as(technician, (act) => editBucket(act, 'SET', command, id));
  const taken = await findBucket(read(), 'SET');
  expect(taken.facts.recipe).toEqual({ id, version: 2 });
  expect(taken.facts.solidsDensity).toBe(after.current.solidsDensity);
  expect(taken.facts.gravity).toBe(bucket.facts.gravity);
  const now = await listEvents(read(), 'SET', { limit: 50, before: null });
  expect(now.events[0]?.entry).toMatchObject({ kind: 'recipe', version: 2 });
  expect(now.events.slice(1)).toEqual(events.events);
});

test('a material is known from the recipe that first named it', async () => {
  await write({ name: 'Local', material1: 'Brook clay', parts1: '100', density1: '2.48' });
  expect(await listMaterials(read())).toContainEqual({
    name: 'Brook clay',
    density: 2.48,
    isRetired: false,
  });
  const id = await write({ name: 'Local again', material1: 'BROOK CLAY', parts1: '10' });
  expect((await findRecipe(read(), id)).current.solidsDensity).toBeCloseTo(2.48, 9);
});

test('members read recipes and write none; odd addresses are not found; markup stays text', async () => {
  const id = await write({ name: '<script>alert(1)</script>', ...two });
  const page = await visit(member, `/recipes/${id}`);
  expect(page.statusCode).toBe(200);
  expect(page.body).not.toContain('<script>alert');
  expect(page.body).not.toContain(`/recipes/${id}/revise`);
  expect((await visit(member, '/recipes')).body).not.toContain('href="/recipes/new"');
  for (const url of ['/recipes/new', `/recipes/${id}/revise`]) {
    expect((await visit(member, url)).statusCode).toBe(403);
    expect((await submit(member, url, { name: 'Mine', ...two })).statusCode).toBe(403);
    expect((await visit(null, url)).statusCode).toBe(303);
  }
  for (const url of [
    '/recipes/abc',
    '/recipes/0',
    '/recipes/99999',
    '/recipes/1e3',
    `/recipes/${id}?version=9`,
    `/recipes/${id}?version=x`,
  ])
    expect((await visit(technician, url)).statusCode, url).toBe(404);
});
