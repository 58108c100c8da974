import { eq } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import {
  findBucket,
  findRow,
  listCups,
  listEvents,
  recordAct,
  refold,
} from '../../server/buckets/service/index.ts';
import type { Read } from '../../server/core/actor.ts';
import { people as peopleTable } from '../../server/core/schema.ts';
import { createRecipe } from '../../server/materials/service/index.ts';
import { unescaped } from '../helpers/html.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const studio = await aStudio();
const { people, visit, submit, as, aBucket, aPerson, database, clock } = studio;
const { technician, member } = people;

const read = (): Read => ({ tx: database.db, actor: technician.caller, now: clock.now() });
let keys = 0;
const send = (url: string, fields: Record<string, string>, by: Person = technician) =>
  submit(by, url, { key: `technician-form-${++keys}`, ...fields });

let recipe = '';
beforeAll(async () => {
  const made = await as(technician, (act) =>
    createRecipe(act, 'Harbour base', { lines: [], solidsDensity: 2.6, hasSolubles: false }),
  );
  recipe = String(made.recipeId);
});

const least = (code: string) => ({ code, name: `Glaze ${code}`, capacityLitres: '25', aim: '1,46', recipe });

test('a new bucket needs little and gets sensible defaults; what is in it comes next', async () => {
  const answer = await send('/buckets/new', least('N1'));
  expect(answer.headers.location).toBe('/buckets/N1/setup');
  const bucket = await findBucket(read(), 'N1');
  expect(bucket.target.low).toBeCloseTo(1.44, 9);
  expect(bucket.target.high).toBeCloseTo(1.48, 9);
  expect(bucket).toMatchObject({
    stirIntervalMinutes: 5,
    readingTrustedHours: 168,
    sieveMesh: 80,
    mixMoreFraction: 1 / 3,
    shape: null,
    cones: null,
    recipeName: 'Harbour base',
  });
  expect((await visit(technician, '/buckets/N1/setup')).statusCode).toBe(200);
});

test('all of it: a straight bucket is measured once, a band of its own, firing and care', async () => {
  const answer = await send('/buckets/new', {
    ...least('N2'),
    place: 'rack A',
    capacityLitres: '20',
    bottomMm: '280',
    heightMm: '380',
    low: '1.45',
    high: '1.49',
    coneFrom: '5½',
    coneTo: '6',
    atmosphere: 'reduction',
    stirIntervalMinutes: '2',
    mixMoreFraction: '0.5',
    careNotes: 'Keep the lid on.',
  });
  expect(answer.statusCode, answer.body).toBe(303);
  expect(await findBucket(read(), 'n2')).toMatchObject({
    shape: { bottomMm: 280, topMm: 280, heightMm: 380 },
    target: { low: 1.45, aim: 1.46, high: 1.49 },
    cones: { from: '5½', to: '6' },
    atmosphere: 'reduction',
    stirIntervalMinutes: 2,
    mixMoreFraction: 0.5,
    careNotes: 'Keep the lid on.',
    place: 'rack A',
  });
});

test.each([
  ['no recipe', { recipe: '' }, 'recipe', 422],
  ['a recipe that is not there', { recipe: '987654' }, 'recipe', 422],
  ['an aim outside its band', { low: '1.47', high: '1.49' }, 'aim', 422],
  ['a band above the dry glaze', { aim: '2.5', high: '2.7' }, 'high', 422],
  ['half a shape', { bottomMm: '280' }, 'heightMm', 422],
  ['more than its shape holds', { bottomMm: '100', heightMm: '100' }, 'capacityLitres', 422],
  ['a cone that is none', { coneFrom: 'six' }, 'coneFrom', 422],
  ['words for a number', { capacityLitres: 'a lot' }, 'capacityLitres', 422],
  ['the address of another page', { code: 'Retired' }, 'code', 422],
  ['a code with a space', { code: 'N 1' }, 'code', 422],
  ['a code in use', { code: 'dup' }, 'code', 409],
])('refused, with all that was typed kept: %s', async (_what, change, field, status) => {
  if (status === 409) await send('/buckets/new', least('DUP'));
  const typed = { ...least('R1'), place: 'rack of its own', careNotes: 'Kept "as typed" <b>', ...change };
  const answer = await send('/buckets/new', typed);
  expect(answer.statusCode, answer.body).toBe(status);
  expect(answer.body).toContain(`id="f-${field}-error"`);
  expect(answer.body).toContain('value="rack of its own"');
  expect(answer.body).toContain('Kept &quot;as typed&quot; &lt;b>');
  expect(answer.body).toContain(`value="${typed.code}"`);
  await expect(findBucket(read(), 'R1')).rejects.toThrow('no bucket');
});

test('whoever thinks in quarts types and sees quarts', async () => {
  const person = await aPerson('technician', 'Quill');
  await database.db.update(peopleTable).set({ units: 'us' }).where(eq(peopleTable.id, person.id));
  await send('/buckets/new', { ...least('QT'), capacityLitres: '26.4172' }, person);
  expect((await findBucket(read(), 'QT')).capacityLitres).toBeCloseTo(25, 3);
  const page = await visit(person, '/buckets/QT/edit');
  expect(page.body).toContain('value="26.4172"');
  const set = await send('/buckets/QT/setup', { litres: '21.1338', specificGravity: '1.46' }, person);
  expect(set.statusCode, set.body).toBe(303);
  expect((await findBucket(read(), 'QT')).facts.litres).toBeCloseTo(20, 3);
});

test('an edit sent back as it was shown changes nothing but what was changed', async () => {
  const flow = { flowLow: '18', flowHigh: '30', isReclaim: 'yes' };
  await send('/buckets/new', { ...least('E1'), ...flow, bottomMm: '280', topMm: '310', heightMm: '380' });
  await send('/buckets/E1/setup', { litres: '20', specificGravity: '1.46' });
  const before = await findBucket(read(), 'E1');
  expect(before).toMatchObject({ flow: { low: 18, high: 30 }, isReclaim: true });
  const page = await visit(technician, '/buckets/E1/edit');
  const answer = await send('/buckets/E1/edit', { ...shownIn(page.body), place: 'rack C', code: 'E2' });
  expect(answer.headers.location).toBe('/buckets/E2');
  expect(await findBucket(read(), 'E2')).toEqual({ ...before, place: 'rack C', code: 'E2' });
});

test('a newer version of its recipe is offered, and taken on only when chosen', async () => {
  await send('/buckets/new', least('V1'));
  const typed = { material1: 'Silica', parts1: '80', material2: 'Tin oxide', parts2: '20' };
  await send(`/recipes/${recipe}/revise`, typed);
  const page = await visit(technician, '/buckets/V1/edit');
  expect(page.body).toContain('Keep Harbour base, version 1');
  await send('/buckets/V1/edit', { ...shownIn(page.body), place: 'rack D' });
  expect((await findBucket(read(), 'V1')).facts).toMatchObject({ solidsDensity: 2.6, lastNumber: 0 });
  await send('/buckets/V1/edit', { ...shownIn(page.body), recipe });
  expect((await findBucket(read(), 'V1')).facts).toMatchObject({
    recipe: { id: Number(recipe), version: 2 },
    lastNumber: 1,
  });
});

test('a bucket that holds less than was thought is reckoned anew from its ledger', async () => {
  await send('/buckets/new', least('SMALL'));
  await send('/buckets/SMALL/setup', { litres: '20', specificGravity: '1.46' });
  const page = await visit(technician, '/buckets/SMALL/edit');
  await send('/buckets/SMALL/edit', { ...shownIn(page.body), capacityLitres: '15' });
  const row = await findRow(read(), 'SMALL');
  const { bucketId: _, ...stored } = row.state;
  expect(stored.litres).toBe(15);
  expect(stored.doubts).toEqual([{ number: 1, what: 'over-capacity' }]);
  expect(await refold(database.db, row)).toEqual(stored);
});

test('a set-up by litres and gravity, or by a weighed batch', async () => {
  const code = await aBucket({ litres: null });
  const filled = await send(`/buckets/${code}/setup`, {
    from: 'gravity',
    litres: '18',
    specificGravity: '1,5',
  });
  expect(filled.headers.location).toBe(`/buckets/${code}?did=1`);
  expect((await findBucket(read(), code)).facts).toMatchObject({ litres: 18, gravity: 1.5 });
  const batch = await send(`/buckets/${code}/setup`, {
    from: 'batch',
    dryKg: '13',
    waterLitres: '10',
    note: 'Fresh',
  });
  expect(batch.headers.location).toBe(`/buckets/${code}?did=2`);
  const { facts } = await findBucket(read(), code);
  // 13 kg at 2.6 g/cm³ are 5 L, and the water fills its 10 L.
  expect(facts.litres).toBeCloseTo(15, 9);
  expect(facts.solidsKg).toBeCloseTo(13, 9);
  expect((await listEvents(read(), code, { limit: 1, before: null })).events[0]?.note).toBe('Fresh');
});

test('a set-up that cannot be comes back in its own form, filled in', async () => {
  const code = await aBucket({ litres: null });
  const url = `/buckets/${code}/setup`;
  const over = await send(url, {
    from: 'gravity',
    litres: '26',
    specificGravity: '1.5',
    note: 'To the brim',
  });
  expect(over.statusCode).toBe(422);
  expect(over.body).toMatch(/id="filled-litres-error">The bucket holds 25 L\./);
  expect(over.body).toContain('To the brim');
  expect((await send(url, { from: 'gravity', litres: '10' })).body).toMatch(/id="filled-\w+-error"/);
  const batch = await send(url, { from: 'batch', dryKg: '40', waterLitres: '20' });
  expect(batch.statusCode).toBe(422);
  expect(batch.body).toContain('id="batch-waterLitres-error"');
  expect(batch.body).toContain('value="40"');
  const half = await send(url, { from: 'batch', dryKg: '12' });
  expect(half.statusCode).toBe(422);
  expect(half.body).toContain('value="12"');
  expect((await findBucket(read(), code)).facts.lastNumber).toBe(0);
});

test('retired buckets stand on a page of their own and can be put back', async () => {
  const code = await aBucket({ sg: 1.46, name: 'Old Mill' });
  expect((await visit(technician, '/buckets/retired')).body).toContain('No bucket is retired');
  await as(technician, (act) => recordAct(act, code, 'service', { state: 'retired', reason: 'Used up' }));
  const page = await visit(technician, '/buckets/retired');
  expect(page.body).toContain('Old Mill');
  expect(page.body).toContain('Used up');
  expect(page.body).toContain(`/buckets/${code}/service`);
  expect((await visit(technician, '/wall')).body).not.toContain('Old Mill');
});

test('a cup is weighed once, used, and retired; what cannot be is refused and kept', async () => {
  const good = { code: 'C1', name: 'Enamel cup', tareG: '48', waterG: '153', waterC: '20', resolutionG: '1' };
  const light = await send('/gear/cups', { ...good, waterG: '70' });
  expect(light.statusCode).toBe(422);
  expect(light.body).toContain('id="f-waterG-error"');
  expect(light.body).toContain('value="Enamel cup"');

  const added = await send('/gear/cups', good);
  expect(added.headers.location).toBe('/gear/cups?added=C1');
  const page = await visit(technician, '/gear/cups?added=C1');
  expect(page.body).toContain('Enamel cup is ready');
  expect(page.body).toContain('105 mL');
  const again = await send('/gear/cups', { ...good, code: 'c1' });
  expect(again.statusCode).toBe(422);
  expect(again.body).toContain('id="f-code-error"');

  expect((await send('/gear/cups/C1/retire', {})).headers.location).toBe('/gear/cups');
  expect(await listCups(read())).toEqual([]);
  expect((await send('/gear/cups/C1/retire', {})).statusCode).toBe(404);
});

test('with htmx the browser is moved instead of redirected, and a refusal is a fragment of the page', async () => {
  const hx = { 'hx-request': 'true', 'hx-request-type': 'partial' };
  const moved = await submit(technician, '/buckets/new', { key: 'moved-by-htmx', ...least('HX') }, hx);
  expect([moved.statusCode, moved.headers['hx-location']]).toEqual([200, '/buckets/HX/setup']);
  const refused = await submit(technician, '/buckets/new', { ...least('HX2'), aim: '' }, hx);
  expect(refused.statusCode).toBe(422);
  expect(refused.body).not.toContain('<html');
  expect(refused.body).toContain('id="f-aim-error"');
});

test('members see none of it, strangers sign in first, and a code that is not there is not found', async () => {
  const code = await aBucket({ sg: 1.46 });
  const urls = ['/buckets/new', `/buckets/${code}/edit`, `/buckets/${code}/setup`, '/gear/cups'];
  for (const url of urls) {
    expect((await visit(member, url)).statusCode, url).toBe(403);
    expect((await submit(member, url, least('M1'))).statusCode, url).toBe(403);
    expect((await visit(null, url)).headers.location, url).toContain('/sign-in');
    expect((await visit(people.manager, url)).statusCode, url).toBe(200);
  }
  expect((await visit(member, '/buckets/retired')).statusCode).toBe(403);
  expect((await submit(member, '/gear/cups/C1/retire', {})).statusCode).toBe(403);
  for (const url of ['/buckets/NOPE/edit', '/buckets/NOPE/setup', '/buckets/a%00b/edit'])
    expect((await visit(technician, url)).statusCode, url).toBe(404);
});

/** What the form of a page would send if nothing were changed. */
function shownIn(html: string): Record<string, string> {
  const fields: Record<string, string> = {};
  for (const [tag] of html.matchAll(/<input[^>]*>/g)) {
    const name = / name="([^"]*)"/.exec(tag)?.[1];
    const unticked = tag.includes('type="checkbox"') && !/ checked/.test(tag);
    if (name && name !== 'key' && !unticked)
      fields[name] = unescaped(/ value="([^"]*)"/.exec(tag)?.[1] ?? '');
  }
  for (const [, name = '', inside = ''] of html.matchAll(
    /<select[^>]* name="([^"]*)"[^>]*>(.*?)<\/select>/gs,
  )) {
    const options = [...inside.matchAll(/<option value(?:="([^"]*)")?( selected)?/g)];
    fields[name] = (options.find(([, , selected]) => selected) ?? options[0])?.[1] ?? '';
  }
  for (const [, name = '', text = ''] of html.matchAll(
    /<textarea[^>]* name="([^"]*)"[^>]*>(.*?)<\/textarea>/gs,
  ))
    fields[name] = unescaped(text);
  return fields;
}
