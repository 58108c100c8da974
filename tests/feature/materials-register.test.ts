import { createHash } from 'node:crypto';
import { and, asc, eq } from 'drizzle-orm';
import { describe, expect, it } from 'vitest';
import type { Read } from '../../server/core/actor.ts';
import { DAY } from '../../server/core/clock.ts';
import { audit } from '../../server/core/schema.ts';
import {
  addCommon,
  addSheet,
  createRecipe,
  factsOf,
  knownLines,
  listRegister,
  registerDue,
} from '../../server/materials/service/index.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const studio = await aStudio();
const { people, visit, submit, api, as, database, clock, app } = studio;
const { technician, member, manager } = people;

const reading = (person: Person): Read => ({ tx: database.db, actor: person.caller, now: clock.now() });
const read = () => reading(technician);
let serial = 0;
const key = () => `register-key-${++serial}`;
const day = (daysAgo: number) => new Date(clock.now() - daysAgo * DAY).toISOString().slice(0, 10);

const PDF = Buffer.from(`%PDF-1.4\n${'1 0 obj << >> endobj\n'.repeat(3)}trailer << >>\n%%EOF\n`);
const hashOf = (bytes: Buffer) => createHash('sha256').update(bytes).digest('hex');

/** The form of a sheet with a file, as a browser sends it; null: none was chosen. */
async function sendSheet(person: Person, id: number, fields: Record<string, string>, file: Buffer | null) {
  const form = new FormData();
  for (const [name, value] of Object.entries({ key: key(), kind: 'sheet', ...fields }))
    form.append(name, value);
  form.append(
    'sheet',
    new Blob([new Uint8Array(file ?? [])], { type: 'application/pdf' }),
    file ? 'sheet.pdf' : '',
  );
  const packed = new Response(form);
  return app.inject({
    method: 'POST',
    url: `/materials/${id}/sheets`,
    payload: Buffer.from(await packed.arrayBuffer()),
    headers: {
      cookie: person.cookie,
      origin: 'http://localhost',
      host: 'localhost',
      'content-type': packed.headers.get('content-type') ?? '',
    },
  });
}

/** A new material by its form; answers its id. */
async function write(fields: Record<string, string>): Promise<number> {
  const answer = await submit(technician, '/materials/new', {
    key: key(),
    density: '3',
    classification: 'unknown',
    ...fields,
  });
  expect(answer.statusCode, answer.body).toBe(303);
  return Number(/^\/materials\/(\d+)\?done=saved$/.exec(String(answer.headers.location))?.[1]);
}

const MANGANESE = {
  name: 'Manganese, as the sack says',
  classification: 'classified',
  source: 'Fellmoor Minerals, safety data sheet of 3 March 2025.',
  substance1: 'manganese dioxide',
  cas1: '1313-13-9',
  percent1: '92,5',
  class1: 'STOT RE 1',
  hcode1: 'H372',
  note1: 'brain, by inhalation',
  pStatements: 'P260',
  limitOf1: 'manganese, as Mn',
  limitValue1: '5',
  limitUnit1: 'mg/m³',
  limitAveraging1: 'ceiling',
  limitSource1: '29 CFR 1910.1000, Table Z-1',
};

describe('the register', () => {
  it('keeps what the sheet says, shows it to everybody, and every version', async () => {
    const id = await write(MANGANESE);
    const page = await visit(member, `/materials/${id}`);
    expect(page.statusCode).toBe(200);
    for (const words of [
      'STOT RE 1',
      'Causes damage to organs through prolonged or repeated exposure',
      'brain, by inhalation',
      '1313-13-9',
      '92.5 %',
      '5 mg/m³',
      'never above',
      'Do not breathe dust',
      'No class shown does not mean harmless.',
      'local codes',
      'Fellmoor Minerals',
    ])
      expect(page.body).toContain(words);
    expect(page.body).not.toContain(`/materials/${id}/edit`);

    const edit = await visit(technician, `/materials/${id}/edit`);
    expect(edit.body).toContain('value="STOT RE 1"');
    const saved = await submit(technician, `/materials/${id}/edit`, {
      key: key(),
      density: '5',
      ...MANGANESE,
      class2: 'Acute Tox. 4',
      hcode2: 'H302',
    });
    expect(saved.statusCode, saved.body).toBe(303);
    expect((await factsOf(read(), id)).hazards.map(({ hCode }) => hCode)).toEqual(['H372', 'H302']);
    const first = await visit(member, `/materials/${id}?version=1`);
    expect(first.body).toContain('As it was written in version 1');
    expect(first.body).not.toContain('Harmful if swallowed');
    expect((await visit(member, `/materials/${id}?version=9`)).statusCode).toBe(404);
  });

  it('a double tap writes one version', async () => {
    const id = await write({ name: 'Twice tapped' });
    const fields = { key: key(), name: 'Twice tapped', density: '3', classification: 'unknown' };
    for (const _ of [1, 2])
      expect((await submit(technician, `/materials/${id}/edit`, fields)).statusCode).toBe(303);
    const found = (await listRegister(read())).find((one) => one.id === id);
    expect(found?.version).toBe(2);
  });

  it('what somebody else wrote meanwhile is not written over unseen', async () => {
    const id = await write({ name: 'Two at once' });
    const fields = { name: 'Two at once', density: '3', classification: 'unknown', basedOn: '1' };
    const edit = (supplier: string, basedOn = '1') =>
      submit(technician, `/materials/${id}/edit`, { key: key(), ...fields, supplier, basedOn });
    expect((await visit(technician, `/materials/${id}/edit`)).body).toContain('name="basedOn" value="1"');
    expect((await edit('Millpond')).statusCode).toBe(303);
    const late = await edit('Upstream');
    expect(late.statusCode).toBe(409);
    expect(late.body).toContain('Somebody wrote version 2 meanwhile');
    expect(late.body).toContain('value="Upstream"');
    expect(late.body).toContain('name="basedOn" value="2"');
    expect((await factsOf(read(), id)).supplier).toBe('Millpond');
    expect((await edit('Upstream', '2')).statusCode).toBe(303);
    expect((await edit('Upstream', 'x')).statusCode).toBe(303);
  });

  it('a form sent twice with other content is not taken for one that has seen the newest version', async () => {
    const id = await write({ name: 'Sent twice' });
    const edit = (sent: string, basedOn: string, supplier: string) => {
      const fields = { name: 'Sent twice', density: '3', classification: 'unknown', supplier };
      return submit(technician, `/materials/${id}/edit`, { key: sent, basedOn, ...fields });
    };
    const first = key();
    expect((await edit(first, '1', 'Millpond')).statusCode).toBe(303);
    expect((await edit(key(), '2', 'Somebody else')).statusCode).toBe(303);
    const again = await edit(first, '1', 'Upstream');
    expect(again.statusCode).toBe(422);
    expect(again.body).toContain('name="basedOn" value="1"');
    expect((await edit(key(), '1', 'Upstream')).statusCode).toBe(409);
  });

  it('a refused form comes back as it was typed, each reason beside its field', async () => {
    const answer = await submit(technician, '/materials/new', {
      key: key(),
      name: 'Half written',
      density: '3',
      classification: 'classified',
      source: 'A sheet',
      substance2: 'tin & more',
      cas2: '513-77-8',
      percent2: '60',
      class3: 'STOT RE 1',
      hcode3: 'H373',
      ateOral: '0',
      rows: '0',
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('value="Half written"');
    expect(answer.body).toContain('value="tin &amp; more"');
    expect(answer.body).toContain('value="513-77-8"');
    expect(answer.body).toMatch(/id="f-cas2-error">Not a CAS number/);
    expect(answer.body).toMatch(/id="f-ateOral-error">Between 0.0001/);
    const pair = await submit(technician, '/materials/new', {
      key: key(),
      ...MANGANESE,
      name: 'Half written',
      density: '3',
      hcode1: 'H373',
      percent1: '60',
      substance2: 'the rest',
      percent2: '41',
    });
    expect(pair.statusCode).toBe(422);
    expect(pair.body).toMatch(/id="f-hcode1-error">H373 is no statement of STOT RE 1/);
    expect(pair.body).toMatch(/id="f-percent2-error">The shares make 101 %/);
  });

  it('more rows keeps what was typed and saves nothing', async () => {
    const before = (await listRegister(read())).length;
    const answer = await submit(technician, '/materials/new', { more: 'yes', class1: 'Lact.', rows: '0' });
    expect(answer.statusCode).toBe(200);
    expect(answer.body).toContain('value="Lact."');
    expect(answer.body).toContain('name="class7"');
    expect((await listRegister(read())).length).toBe(before);
  });

  it('two materials never have one name', async () => {
    const id = await write({ name: 'Only one' });
    const again = await submit(technician, '/materials/new', {
      key: key(),
      name: 'ONLY ONE',
      density: '3',
      classification: 'unknown',
    });
    expect(again.statusCode).toBe(409);
    expect(again.body).toMatch(/id="f-name-error">The register has a material of this name/);
    const other = await write({ name: 'Another one' });
    const renamed = await submit(technician, `/materials/${other}/edit`, {
      key: key(),
      name: 'only one',
      density: '3',
      classification: 'unknown',
    });
    expect(renamed.statusCode).toBe(409);
    expect((await factsOf(read(), id)).classification).toBe('unknown');
  });

  it('is searched by name, other name and CAS number, and narrowed', async () => {
    await write({ ...MANGANESE, name: 'Pyrolusite', otherNames: 'Black magnesia' });
    const find = async (q: string) => (await visit(member, `/materials?q=${encodeURIComponent(q)}`)).body;
    for (const q of ['pyrolu', 'BLACK magnesia', '1313-13', 'manganese dioxide pyro'])
      expect(await find(q)).toContain('>Pyrolusite<');
    expect(await find('1313-14')).not.toContain('>Pyrolusite<');
    expect(await find('<script>')).toContain('None like this');
    // Cut off in the middle of a letter that takes two places.
    expect(
      (await visit(member, `/materials?q=${'a'.repeat(79)}${encodeURIComponent('👩')}`)).statusCode,
    ).toBe(200);
    expect((await visit(member, '/materials?show=hazards')).body).toContain('>Pyrolusite<');
    expect((await visit(member, '/materials?show=unknown')).body).not.toContain('>Pyrolusite<');
    expect((await visit(member, '/materials?show=constructor')).statusCode).toBe(200);
  });

  it.each(['', '/sheets'])('a page%s says nothing was done where nothing was', async (page) => {
    const id = await write({ name: `Nothing done${page}` });
    for (const done of ['__proto__', 'constructor'])
      expect((await visit(member, `/materials/${id}${page}?done=${done}`)).body).not.toContain(
        'class="flash',
      );
  });

  it('keeps what it was called, and does not show an earlier version with the density of today', async () => {
    const id = await write({ name: 'Called otherwise' });
    const fields = { key: key(), name: 'Called anew', density: '4.25', classification: 'unknown' };
    expect((await submit(technician, `/materials/${id}/edit`, fields)).statusCode).toBe(303);
    const written = await database.db
      .select({ details: audit.details })
      .from(audit)
      .where(and(eq(audit.subject, `material:${id}`), eq(audit.act, 'material.version')))
      .orderBy(asc(audit.id));
    expect(written.map(({ details }) => details)).toEqual([
      { version: 1, name: 'Called otherwise', density: 3 },
      { version: 2, name: 'Called anew', density: 4.25 },
    ]);
    expect((await visit(member, `/materials/${id}`)).body).toContain('4.25 g/cm³');
    expect((await visit(member, `/materials/${id}?version=1`)).body).not.toContain('g/cm³');
  });

  it('a retired one leaves the list and stays where it is named', async () => {
    const id = await write({ name: 'Bought no more' });
    await submit(technician, `/materials/${id}/retire`, { key: key(), retired: 'yes' });
    expect((await visit(member, '/materials')).body).not.toContain('Bought no more');
    expect((await visit(member, '/materials?show=retired')).body).toContain('Bought no more');
    expect((await visit(member, `/materials/${id}`)).body).toContain('It is not bought any more');
    await submit(technician, `/materials/${id}/retire`, { key: key(), retired: 'no' });
    expect((await visit(member, '/materials')).body).toContain('Bought no more');
  });

  it('a retired one is offered to no new recipe, and stays in the one it is in, which says so', async () => {
    const id = await write({ name: 'Gone spar', density: '2.6' });
    await write({ name: 'Kept spar', density: '2.6' });
    const { recipeId } = await as(technician, (act) =>
      createRecipe(act, 'Of gone spar', {
        lines: [{ material: 'gone SPAR', parts: 10, density: 2.6 }],
        hasSolubles: false,
      }),
    );
    const forms = ['/recipes/new', `/recipes/${recipeId}/revise`];
    const offered = (name: string) =>
      Promise.all(
        forms.map(async (url) => (await visit(technician, url)).body.includes(`<option value="${name}">`)),
      );
    expect(await offered('Gone spar')).toEqual([true, true]);
    await submit(technician, `/materials/${id}/retire`, { key: key(), retired: 'yes' });
    expect(await offered('Gone spar')).toEqual([false, true]);
    expect(await offered('Kept spar')).toEqual([true, true]);
    const page = await visit(technician, `/recipes/${recipeId}/revise`);
    expect(page.body).toContain('Used no more: Gone spar. It stays in this recipe');
    const fields = { key: key(), material1: 'Gone spar', parts1: '12' };
    expect((await submit(technician, `/recipes/${recipeId}/revise`, fields)).statusCode).toBe(303);
  });

  it.each([
    '/materials/new',
    '/materials/common',
    '/materials/1/edit',
    '/materials/1/sheets',
    '/materials/1/retire',
  ])('a member may not write at %s', async (url) => {
    expect((await submit(member, url, { key: key() })).statusCode).toBe(403);
  });

  it.each(['0', '99999999', '1e3', 'x', '99999999999999999999'])('there is no material %s', async (id) => {
    for (const url of [`/materials/${id}`, `/materials/${id}/sheets`])
      expect((await visit(technician, url)).statusCode).toBe(404);
    expect((await submit(technician, `/materials/${id}/retire`, { key: key() })).statusCode).toBe(404);
  });
});

describe('what a recipe is made of', () => {
  it('comes with what is known now, in its order; what nobody looked at is unknown', async () => {
    const { recipeId, version } = await as(technician, (act) =>
      createRecipe(act, 'Known and unknown', {
        lines: [
          { material: 'Zinc oxide', parts: 10, density: 5.6 },
          { material: 'Moon dust', parts: 90, density: 3 },
        ],
        hasSolubles: false,
      }),
    );
    expect((await knownLines(read(), recipeId, version)).map(({ version: v }) => v)).toEqual([0, 0]);
    await as(technician, (act) => addCommon(act));
    const lines = await knownLines(reading(member), recipeId, version);
    expect(lines.map(({ name, parts, facts }) => [name, parts, facts.classification])).toEqual([
      ['Zinc oxide', 10, 'classified'],
      ['Moon dust', 90, 'unknown'],
    ]);
    const page = await visit(member, `/recipes/${recipeId}`);
    expect(page.body).toContain(`href="/materials/${lines[0]?.materialId}"`);
    expect(page.body).toContain('aria-label="Environment"');
    expect(page.body).toContain(`href="/recipes/${recipeId}/hazards"`);
    const material = await visit(member, `/materials/${lines[0]?.materialId}`);
    expect(material.body).toContain(`href="/recipes/${recipeId}"`);
    expect(await knownLines(read(), 99_999, 1)).toEqual([]);
  });

  it.each(['İstanbul clay', 'ΟΔΟΣ', 'ẞand'])('may be called %s, in capitals or not', async (name) => {
    const line = { parts: 50, density: 3 };
    const lines = [name, `${name} 2`, name].map((material) => ({ material, ...line }));
    const make = (title: string) =>
      as(technician, (act) => createRecipe(act, `${title} of ${name}`, { lines, hasSolubles: false }));
    const [first, second] = [await make('First'), await make('Second')];
    const ids = async (recipeId: number) =>
      (await knownLines(read(), recipeId, 1)).map(({ materialId }) => materialId);
    const found = await ids(first.recipeId);
    expect([found[0] === found[2], found[0] === found[1]]).toEqual([true, false]);
    expect(await ids(second.recipeId)).toEqual(found);
  });

  it('the common ones are filled in once, and what the studio wrote stays', async () => {
    const own = await write({ ...MANGANESE, name: 'Chalk of our own' });
    const answer = await submit(technician, '/materials/common', { key: key() });
    expect(answer.headers.location).toBe('/materials?done=common-0');
    const register = await listRegister(read());
    const silica = register.find(({ name }) => name === 'Silica');
    expect(silica).toMatchObject({ version: 1, facts: { classification: 'unknown' } });
    expect(register.find(({ id }) => id === own)?.version).toBe(1);
    const page = await visit(member, `/materials/${silica?.id}`);
    expect(page.body).toContain('Check against your supplier’s SDS');
    expect(page.body).toContain('29 CFR 1910.1053');
  });
});

describe('safety data sheets', () => {
  const fields = { supplier: 'Fellmoor Minerals', issuedOn: day(30), language: 'English' };

  it('one that came is kept, saved rather than opened, and trusted for three years', async () => {
    const id = await write({ name: 'With a sheet' });
    const answer = await sendSheet(technician, id, fields, PDF);
    expect(answer.statusCode, answer.body).toBe(303);
    const found = (await listRegister(read())).find((one) => one.id === id);
    expect(found?.sheet).toMatchObject({ state: 'current', sheet: { file: hashOf(PDF), issuedOn: day(30) } });
    expect(Number(found?.sheet.reviewOn?.slice(0, 4))).toBe(Number(day(30).slice(0, 4)) + 3);
    const page = await visit(member, `/materials/${id}/sheets`);
    expect(page.body).toContain(`/files/${hashOf(PDF)}`);
    expect(page.body).not.toContain('Add a sheet');

    const file = await visit(member, `/files/${hashOf(PDF)}`);
    expect(file.headers).toMatchObject({
      'content-type': 'application/pdf',
      'content-disposition': `attachment; filename="sheet-${hashOf(PDF).slice(0, 8)}.pdf"`,
      'content-security-policy': "default-src 'none'; sandbox",
      'x-content-type-options': 'nosniff',
    });
    expect(file.rawPayload.equals(PDF)).toBe(true);
  });

  it.each<[string, Buffer, RegExp]>([
    ['a page called a PDF', Buffer.from('<!doctype html><script>alert(1)</script>'), /This is not a PDF/],
    [
      'a page with the mark of a PDF in it',
      Buffer.from('<html>%PDF-1.4 <script>alert(1)</script> %%EOF'),
      /This is not a PDF/,
    ],
    ['half of one', PDF.subarray(0, 40), /not whole/],
    ['one without an end', Buffer.concat([PDF, Buffer.alloc(3_000, 32)]), /not whole/],
    ['a picture', Buffer.from([0xff, 0xd8, 0xff, 0xe0, 0, 0]), /This is not a PDF/],
    ['nothing', Buffer.alloc(0), /The file is empty/],
    [
      '16 MB',
      Buffer.concat([Buffer.from('%PDF-1.4\n'), Buffer.alloc(16 * 2 ** 20), Buffer.from('%%EOF')]),
      /larger than 15 MB/,
    ],
  ])('%s is refused beside its field', async (_what, file, words) => {
    const id = await write({ name: `Refused ${++serial}` });
    const answer = await sendSheet(technician, id, { ...fields, supplier: 'Odd & sons' }, file);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toMatch(/id="s-sheet-error"/);
    expect(answer.body).toMatch(words);
    expect(answer.body).toContain('Odd &amp; sons');
    expect(answer.body).not.toContain('<script>alert');
    expect((await listRegister(read())).find((one) => one.id === id)?.sheet.state).toBe('none');
  });

  it('without a file, or with days that cannot be, it is refused', async () => {
    const id = await write({ name: 'Odd days' });
    const errors = async (more: Record<string, string>) =>
      (await sendSheet(technician, id, { ...fields, ...more }, PDF)).body;
    expect((await sendSheet(technician, id, fields, null)).body).toMatch(
      /id="s-sheet-error">Choose the sheet as a PDF/,
    );
    expect(await errors({ issuedOn: day(-3) })).toMatch(/id="s-issuedOn-error">This day has not come/);
    expect(await errors({ issuedOn: '2025-02-30' })).toMatch(/id="s-issuedOn-error">A date such as/);
    expect(await errors({ reviewOn: day(31) })).toMatch(/id="s-reviewOn-error">It is looked at again after/);
    expect(await errors({ kept: 'x' })).toMatch(/Choose the file again/);
  });

  it('a file whose form is refused need not be sent again, by the same person', async () => {
    const id = await write({ name: 'Kept for the next try' });
    const bytes = Buffer.concat([PDF, Buffer.from('% another\n%%EOF\n')]);
    const refused = await sendSheet(technician, id, { ...fields, issuedOn: '' }, bytes);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain(`name="kept" value="${hashOf(bytes)}"`);
    const stranger = await sendSheet(manager, id, { ...fields, kept: hashOf(bytes) }, null);
    expect(stranger.statusCode).toBe(422);
    const again = await sendSheet(technician, id, { ...fields, kept: hashOf(bytes) }, null);
    expect(again.statusCode, again.body).toBe(303);
    expect((await visit(member, `/materials/${id}/sheets`)).body).toContain(`/files/${hashOf(bytes)}`);
  });

  it('says that a file is kept only to whoever may go on with it', async () => {
    const id = await write({ name: 'Two with one file' });
    const bytes = Buffer.concat([PDF, Buffer.from('% of two people\n%%EOF\n')]);
    expect((await sendSheet(manager, id, fields, bytes)).statusCode).toBe(303);
    const refused = await sendSheet(technician, id, { ...fields, issuedOn: '' }, bytes);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).not.toContain('name="kept"');
    expect(refused.body).not.toContain('no need to send it again');
    expect((await sendSheet(technician, id, fields, bytes)).statusCode).toBe(303);
  });

  it('is asked for at its day, when a newer one exists, and when it is missing', async () => {
    const id = await write({ ...MANGANESE, name: 'Old sheet' });
    const state = async () => (await listRegister(read())).find((one) => one.id === id)?.sheet.state;
    const dueOf = async () => (await registerDue(read())).filter(({ title }) => title === 'Old sheet');
    const note = (kind: 'reviewed' | 'newer-exists') =>
      submit(technician, `/materials/${id}/sheets`, { key: key(), kind });

    const bare = await note('reviewed');
    expect([bare.statusCode, bare.body]).toEqual([409, expect.stringContaining('No sheet came yet')]);
    await sendSheet(technician, id, { ...fields, issuedOn: day(4 * 366) }, PDF);
    expect(await state()).toBe('look-again');
    expect(await dueOf()).toEqual([
      {
        title: 'Old sheet',
        what: expect.any(String),
        act: { label: 'Look through it', href: `/materials/${id}/sheets` },
      },
    ]);
    expect((await note('reviewed')).statusCode).toBe(303);
    expect([await state(), await dueOf()]).toEqual(['current', []]);
    expect((await note('newer-exists')).statusCode).toBe(303);
    expect(await state()).toBe('newer-exists');
    expect((await registerDue(read()))[0]?.title).toBe('Old sheet');
    const past = await submit(technician, `/materials/${id}/sheets`, {
      key: key(),
      kind: 'reviewed',
      reviewOn: day(0),
    });
    expect(past.body).toMatch(/id="r-reviewOn-error">Choose a day that is yet to come/);
    await as(technician, (act) => addSheet(act, id, { kind: 'reviewed', reviewOn: day(-10) }, null));
    expect(await state()).toBe('current');
  });
});

describe('over the API', () => {
  const body = {
    name: 'By a program',
    density: 5,
    classification: 'classified',
    source: 'A sheet of 2025.',
    substances: [{ name: 'cadmium sulphide', cas: '1306-23-6', percent: 99 }],
    hazards: [
      {
        hazardClass: 'STOT RE 1',
        hCode: 'H372',
        limitPercent: 10,
        ranges: [{ hazardClass: 'STOT RE 2', hCode: 'H373', fromPercent: 0.1, belowPercent: 10 }],
      },
      { hazardClass: 'Aquatic Chronic 1', hCode: 'H410', mFactor: 10 },
    ],
    ate: { inhalation: { value: 1.2, form: 'dust-mist' } },
  };

  it('what is written is answered, and can be sent back as it came', async () => {
    const made = await api(technician, 'POST', '/materials', body);
    expect(made.statusCode, made.body).toBe(201);
    const { id } = made.json();
    const whole = (await api(member, 'GET', `/materials/${id}`)).json();
    expect(whole).toMatchObject({
      name: 'By a program',
      signalWord: 'Danger',
      pictograms: ['GHS08', 'GHS09'],
      sheet: { state: 'none' },
      hazards: [{ ...body.hazards[0] }, { ...body.hazards[1], ranges: [] }],
    });
    const {
      id: _,
      version: __,
      retired,
      signalWord,
      pictograms,
      hStatements,
      sheet,
      recipes,
      ...back
    } = whole;
    const again = await api(technician, 'POST', `/materials/${id}`, back);
    expect([again.statusCode, again.json()]).toEqual([201, { id, version: 2 }]);
    expect((await api(member, 'GET', `/materials/${id}`)).json()).toEqual({ ...whole, version: 2 });
    const listed = (await api(member, 'GET', '/materials')).json().materials;
    expect(listed.find((one: { id: number }) => one.id === id)).toMatchObject({ version: 2, hStatements });
    expect([retired, signalWord, pictograms.length, sheet.file, recipes]).toEqual([
      false,
      'Danger',
      2,
      null,
      [],
    ]);
  });

  it('what somebody else wrote meanwhile is not written over unseen, where the program says what it read', async () => {
    const { id } = (await api(technician, 'POST', '/materials', { ...body, name: 'Two programs' })).json();
    const edit = (supplier: string, basedOn?: unknown) =>
      api(technician, 'POST', `/materials/${id}`, { ...body, name: 'Two programs', supplier, basedOn });
    expect((await edit('Millpond', 1)).json()).toEqual({ id, version: 2 });
    const late = await edit('Upstream', 1);
    expect([late.statusCode, late.json().errors?.[0]?.path]).toEqual([409, 'basedOn']);
    expect((await factsOf(read(), id)).supplier).toBe('Millpond');
    expect((await edit('Upstream', 7)).statusCode).toBe(409);
    expect((await edit('Upstream')).json()).toEqual({ id, version: 3 });
    for (const odd of [-1, 1.5, 'one', 2 ** 40]) expect((await edit('Upstream', odd)).statusCode).toBe(422);
  });

  it.each<[string, object, string]>([
    ['an invalid CAS number', { substances: [{ name: 'x', cas: '50-00-1' }] }, 'substances.0.cas'],
    [
      'shares over 100 %',
      {
        substances: [
          { name: 'x', percent: 99 },
          { name: 'y', percent: 2 },
        ],
      },
      'substances.1.percent',
    ],
    ['an ATE of zero', { ate: { oral: 0 } }, 'ate.oral'],
    [
      'a class with another one’s code',
      { hazards: [{ hazardClass: 'STOT RE 2', hCode: 'H372' }] },
      'hazards.0.hCode',
    ],
    ['a density that no earth has', { density: 1e300 }, 'density'],
    ['a NUL in a name', { name: 'a\0b' }, 'name'],
    ['hazards that are no list', { hazards: 'all' }, 'hazards'],
    ['a code without end', { pStatements: [`P305${'+P338'.repeat(9)}`] }, 'pStatements.0'],
  ])('%s is refused by its path', async (_what, more, path) => {
    const answer = await api(technician, 'POST', '/materials', { ...body, name: 'Never made', ...more });
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((one: { path: string }) => one.path)).toContain(path);
  });

  it('a member writes nothing; what is not there is not there', async () => {
    for (const path of ['/materials', '/materials/1', '/materials/1/sheets', '/materials/1/retired'])
      expect((await api(member, 'POST', path, body)).statusCode).toBe(403);
    expect((await api(technician, 'POST', '/materials/99999', { ...body, name: 'Nowhere' })).statusCode).toBe(
      404,
    );
    expect((await api(member, 'GET', '/materials/99999')).statusCode).toBe(404);
    for (const none of ['none', '0x1', '1e0', '%201'])
      expect((await api(member, 'GET', `/materials/${none}`)).statusCode, none).toBe(422);
  });

  it('retires, and notes what was found out of a sheet', async () => {
    const { id } = (await api(technician, 'POST', '/materials', { ...body, name: 'For a while' })).json();
    const retired = await api(technician, 'POST', `/materials/${id}/retired`, { retired: true });
    expect([retired.statusCode, retired.json()]).toEqual([200, { retired: true }]);
    expect(
      (await api(technician, 'POST', `/materials/${id}/sheets`, { kind: 'newer-exists' })).statusCode,
    ).toBe(409);
    await sendSheet(
      technician,
      id,
      { supplier: 'Fellmoor Minerals', issuedOn: day(9), language: 'English' },
      PDF,
    );
    const noted = await api(technician, 'POST', `/materials/${id}/sheets`, { kind: 'newer-exists' });
    expect([noted.statusCode, noted.json()]).toEqual([201, { number: 2 }]);
  });
});
