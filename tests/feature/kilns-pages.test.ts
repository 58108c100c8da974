import fc from 'fast-check';
import { h } from 'preact';
import { renderToString } from 'preact-render-to-string';
import { describe, expect, it } from 'vitest';
import type { Read } from '../../server/core/actor.ts';
import { chamberOf } from '../../server/kilns/chamber.ts';
import { assertProblem } from '../../server/kilns/packing/assert.ts';
import * as kilns from '../../server/kilns/service/index.ts';
import { KILN_DEFAULTS } from '../../server/kilns/settings.ts';
import { KilnDrawing } from '../../views/kilns/kiln-drawing.tsx';
import { unescaped } from '../helpers/html.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const s = await aStudio();
const { technician, member, manager } = s.people;
const { visit } = s;
const read = (): Read => ({ tx: s.database.db, actor: technician.caller, now: s.clock.now() });
let keys = 0;
const send = (url: string, fields: Record<string, string | string[]>, who: Person = technician) =>
  s.submit(who, url, { key: `kiln-form-${++keys}`, ...fields });

const typed = (more: Record<string, string | string[]> = {}): Record<string, string | string[]> => ({
  code: `T${++keys}`,
  name: 'Test kiln',
  opens: 'top',
  controls: 'right',
  shape: 'polygon',
  diameterMm: '',
  sides: '8',
  acrossFlatsMm: '560,5',
  shelfWidthMm: 'what is not asked for is not read',
  fullShelves: '4',
  halfShelves: '0',
  shelfThicknessMm: '16',
  usableHeightMm: '680',
  floorPostMm: '20',
  edgeGapMm: '6',
  splitGapMm: '6',
  clearanceMm: '12',
  topClearanceMm: '40',
  postHeight1: '100',
  postCount1: '12',
  postHeight3: '150',
  postCount3: '9',
  postsPerShelf: '3',
  tallLevel: 'any',
  keepX2: '0',
  keepY2: '250',
  keepAcross2: '30',
  keepFrom2: '100',
  keepTo2: '200',
  maxCone: '10',
  oxidation: 'yes',
  power: 'electric',
  kilowatts: '11',
  firers: [technician.email, member.email],
  ...more,
});

const fieldError = (body: string, field: string) =>
  new RegExp(`id="f-${field}-error"[^>]*>([^<]*)`).exec(body)?.[1];

describe('the form of a kiln', () => {
  it('makes a kiln out of what a tape measure says, and shows it', async () => {
    const fields = typed();
    const made = await send('/kilns/new', fields);
    expect(made.headers.location, made.body).toBe(`/kilns/${fields.code}?done=made`);
    const kiln = await kilns.findKiln(read(), fields.code as string);
    expect(kiln).toMatchObject({
      shelf: { shape: 'polygon', sides: 8, acrossFlatsMm: 560.5 },
      posts: [
        { heightMm: 100, count: 12 },
        { heightMm: 150, count: 9 },
      ],
      keepOuts: [{ shape: 'circle', xMm: 0, yMm: 250, diameterMm: 30, fromMm: 100, toMm: 200 }],
      controls: 'right',
    });
    expect(kiln.postPositions).toHaveLength(3);
    expect(kiln.firers.map(({ name }) => name)).toEqual(['Ida', 'Wren']);
    const shown = await visit(member, made.headers.location as string);
    expect(shown.statusCode).toBe(200);
    expect(shown.body).toContain('8 sides, 560.5 mm across flats');
    expect(shown.body).toContain('You may.');
    expect(shown.body).not.toContain('Note care');
    expect(shown.body).not.toMatch(/\sstyle="/);
  });

  it('a draft is drawn and not saved; more rows keep what was typed', async () => {
    const fields = typed({ draw: 'yes' });
    const drawn = await send('/kilns/new', fields);
    expect(drawn.statusCode).toBe(200);
    expect(drawn.body).toContain('aria-label="Shelf from above, to scale: 8 sides');
    expect(drawn.body).toContain(`value="${fields.code}"`);
    const { draw: _, ...rest } = fields;
    const before = (await visit(technician, '/kilns/new')).body.match(/name="postHeight\d+"/g)?.length ?? 0;
    const more = await send('/kilns/new', { ...rest, more: 'yes' });
    expect(more.body.match(/name="postHeight\d+"/g)?.length).toBeGreaterThan(before);
    expect(more.body).toContain('value="560,5"');
    expect((await visit(technician, `/kilns/${fields.code}`)).statusCode).toBe(404);
  });

  it('a drawing of what cannot be is refused beside the field', async () => {
    const drawn = await send('/kilns/new', typed({ draw: 'yes', sides: '2' }));
    expect(drawn.statusCode).toBe(422);
    expect(fieldError(drawn.body, 'sides')).toMatch(/from 4 to 24/);
    expect(drawn.body).not.toContain('Shelf from above');
  });

  it.each([
    ['no figure at all', { usableHeightMm: '' }, 'usableHeightMm'],
    ['text for a figure', { shelfThicknessMm: 'thick' }, 'shelfThicknessMm'],
    ['zero', { acrossFlatsMm: '0' }, 'acrossFlatsMm'],
    ['a kiln as large as a house', { usableHeightMm: '999999' }, 'usableHeightMm'],
    ['a shape of nobody’s', { shape: 'star' }, 'shape'],
    ['a height without a count', { postHeight4: '200' }, 'postCount4'],
    [
      'the same height twice, in the row it stands in',
      { postHeight4: '150', postCount4: '3' },
      'postHeight4',
    ],
    ['a post over the edge, in the row it stands in', { spotX2: '400', spotY2: '0' }, 'spotX2'],
    ['a keep-out without a place', { keepAcross1: '30' }, 'keepX1'],
    ['a keep-out that ends below its beginning', { keepTo2: '50' }, 'keepTo2'],
    ['no atmosphere', { oxidation: '' }, 'oxidation'],
    ['no kW', { kilowatts: '' }, 'kilowatts'],
    ['gas without a word on what to shut', { power: 'gas' }, 'emergency'],
    ['a cone that is none', { maxCone: '99' }, 'maxCone'],
    ['an address of ours as its code', { code: 'schedules' }, 'code'],
    ['somebody who is not here', { firers: ['ghost@millrace.example'] }, 'firers'],
  ])('%s is refused beside its field, the rest kept', async (_what, change, field) => {
    const answer = await send('/kilns/new', typed({ name: 'Kept name', ...change }));
    expect(answer.statusCode).toBe(422);
    expect(fieldError(answer.body, field), answer.body).toBeTruthy();
    expect(answer.body).toContain('value="Kept name"');
  });

  it('everything that is wrong is said at once', async () => {
    const answer = await send(
      '/kilns/new',
      typed({ name: '', usableHeightMm: '', postCount1: '-1', shape: 'star' }),
    );
    for (const field of ['name', 'usableHeightMm', 'postCount1', 'shape'])
      expect(fieldError(answer.body, field), field).toBeTruthy();
  });

  it('a code that is taken is said beside it', async () => {
    const { code } = await aKiln(s);
    const answer = await send('/kilns/new', typed({ code: code.toLowerCase() }));
    expect(answer.statusCode).toBe(422);
    expect(fieldError(answer.body, 'code')).toContain('has this code');
  });

  it('changes a kiln; half shelves then need posts of their own, worked out anew by a tick', async () => {
    const { code } = await aKiln(s, { halfShelves: 0, shelf: { shape: 'round', diameterMm: 500 } });
    const url = `/kilns/${code}/edit`;
    const page = (await visit(technician, url)).body;
    const fields = fieldsOf(page);
    const refused = await send(url, { ...fields, halfShelves: '4' });
    expect(refused.statusCode).toBe(422);
    expect(fieldError(refused.body, 'postsPerShelf')).toContain('give each side');
    const saved = await send(url, { ...fields, halfShelves: '4', spotsAnew: 'yes' });
    expect(saved.headers.location, saved.body).toBe(`/kilns/${code}?done=saved`);
    expect((await kilns.findKiln(read(), code)).postPositions).toHaveLength(6);
  });

  it('one who comes second is told, keeps what was typed, and may save again', async () => {
    const { code } = await aKiln(s);
    const url = `/kilns/${code}/edit`;
    const fields = fieldsOf((await visit(technician, url)).body);
    expect((await send(url, { ...fields, name: 'Manager’s' }, manager)).statusCode).toBe(303);
    const late = await send(url, { ...fields, name: 'Technician’s' });
    expect(late.statusCode).toBe(409);
    expect(late.body).toContain('Maro changed this kiln since you opened it');
    const again = fieldsOf(late.body);
    expect(again.name).toBe('Technician’s');
    // Asking for more rows in between does not pass over what somebody else changed.
    const rows = fieldsOf((await send(url, { ...fields, more: 'yes' })).body);
    expect((await send(url, rows)).statusCode).toBe(409);
    expect((await send(url, again)).statusCode).toBe(303);
    expect((await kilns.findKiln(read(), code)).name).toBe('Technician’s');
  });

  it('a double tap makes one kiln', async () => {
    const fields: Record<string, string | string[]> = { ...typed(), key: 'tapped-twice' };
    const both = [
      await s.submit(technician, '/kilns/new', fields),
      await s.submit(technician, '/kilns/new', fields),
    ];
    expect(both.map(({ headers }) => headers.location)).toEqual(
      Array(2).fill(`/kilns/${fields.code}?done=made`),
    );
  });
});

/** What a browser would send back of a form as it came. */
function fieldsOf(html: string): Record<string, string | string[]> {
  const fields: Record<string, string | string[]> = {};
  for (const [tag] of html.matchAll(/<input[^>]*>/g)) {
    const name = / name="([^"]*)"/.exec(tag)?.[1];
    const value = unescaped(/ value="([^"]*)"/.exec(tag)?.[1] ?? '');
    if (!name || name === 'key') continue;
    if (/type="(checkbox|radio)"/.test(tag) && !/ checked/.test(tag)) continue;
    if (name === 'firers') fields[name] = [...[fields[name] ?? []].flat(), value];
    else fields[name] = value;
  }
  for (const [, name = '', options = ''] of html.matchAll(
    /<select[^>]* name="([^"]*)"[^>]*>(.*?)<\/select>/gs,
  ))
    fields[name] =
      /value="([^"]*)" selected/.exec(options)?.[1] ??
      /selected[^>]* value="([^"]*)"/.exec(options)?.[1] ??
      '';
  for (const [, name = '', value = ''] of html.matchAll(
    /<textarea[^>]* name="([^"]*)"[^>]*>(.*?)<\/textarea>/gs,
  ))
    fields[name] = unescaped(value);
  return fields;
}

describe('a kiln’s page', () => {
  it('of a gas kiln says first what to shut and whom to phone', async () => {
    const { code } = await aKiln(s, {
      power: 'gas',
      atmospheres: ['reduction'],
      emergency: 'Yellow tap by the door.\nPhone <Maro>.',
    });
    const { body } = await visit(member, `/kilns/${code}`);
    expect(body).toContain('In an emergency');
    expect(body).toContain('Phone &lt;Maro>');
    expect(body).toContain('Isolate and lock off before reaching in');
  });

  it('is closed to strangers, its forms to members, and unknown ones are not there', async () => {
    const { code } = await aKiln(s);
    expect((await visit(null, `/kilns/${code}`)).statusCode).toBe(303);
    for (const path of ['edit', 'care', 'care/1/void'])
      expect((await visit(member, `/kilns/${code}/${path}`)).statusCode, path).toBe(403);
    for (const path of ['/kilns/new', '/kilns/settings', '/kilns/schedules/new'])
      expect((await visit(member, path)).statusCode, path).toBe(403);
    for (const path of ['/kilns/nothing', '/kilns/%00', `/kilns/${code}/care/7/void`, '/kilns/schedules/99'])
      expect((await visit(technician, path)).statusCode, path).toBe(404);
  });

  it('retires and comes back', async () => {
    const { code } = await aKiln(s, { name: 'Shed kiln' });
    expect((await send(`/kilns/${code}/retire`, { what: 'retire' })).headers.location).toBe(
      `/kilns/${code}?done=retire`,
    );
    expect((await visit(member, `/kilns/${code}`)).body).toContain('Retired');
    expect((await visit(technician, '/kilns/settings')).body).toContain('Shed kiln');
    await send(`/kilns/${code}/retire`, { what: 'return' });
    expect((await visit(member, `/kilns/${code}`)).body).toContain('EMPTY');
    expect((await send(`/kilns/${code}/retire`, { what: 'burn' })).statusCode).toBe(422);
  });
});

describe('noting care', () => {
  it('asks only for what the kind needs, and shows it in the log', async () => {
    const { code } = await aKiln(s);
    const page = (await visit(technician, `/kilns/${code}/care`)).body;
    expect(page).toContain('Isolate and lock off before reaching in');
    expect(page).not.toContain('name="note"');
    expect(page).not.toContain('Back in service');
    const ohms = (await visit(technician, `/kilns/${code}/care?kind=ohms`)).body;
    expect(ohms.match(/name="ohms"/g)?.length).toBeGreaterThan(5);
    await send(`/kilns/${code}/care?kind=ohms`, {
      kind: 'ohms',
      ohms: ['12,4', '12.6', ''],
      note: 'Cold room',
    });
    await send(`/kilns/${code}/care?kind=ohms`, { kind: 'ohms', ohms: ['12.9', '13'], note: '' });
    const { body } = await visit(member, `/kilns/${code}`);
    expect(body).toContain('Element ohms measured, from the top: 12.4 Ω, 12.6 Ω: Cold room');
    expect(body).toContain('Element 2');
    expect(body).not.toContain('Strike out');
  });

  it('a cause is needed to take it out, and stands at the top of its page', async () => {
    const { code } = await aKiln(s);
    const url = `/kilns/${code}/care?kind=out-of-service`;
    const refused = await send(url, { kind: 'out-of-service', note: ' ' });
    expect(refused.statusCode).toBe(422);
    expect(fieldError(refused.body, 'note')).toBeTruthy();
    await send(url, { kind: 'out-of-service', note: 'Lid brick loose' });
    expect((await visit(member, `/kilns/${code}`)).body).toMatch(/OUT OF SERVICE<\/p><p>Lid brick loose/);
    expect((await visit(technician, `/kilns/${code}/care`)).body).toContain('Back in service');
  });

  it('more cracked shelves than there are is refused, what was typed kept', async () => {
    const { code } = await aKiln(s, { fullShelves: 3 });
    const url = `/kilns/${code}/care?kind=shelf-cracked`;
    const fields = { kind: 'shelf-cracked', which: 'full', count: '4', takeAway: 'yes', note: 'Dropped' };
    const refused = await send(url, fields);
    expect(refused.statusCode).toBe(422);
    expect(fieldError(refused.body, 'count')).toContain('has 3 full shelves');
    expect(refused.body).toContain('Dropped');
    expect((await send(url, { ...fields, count: '1' })).statusCode).toBe(303);
    expect((await kilns.findKiln(read(), code)).fullShelves).toBe(2);
  });

  it('a wrong entry is struck out with its reason and stays to be read', async () => {
    const { code } = await aKiln(s);
    await send(`/kilns/${code}/care?kind=elements`, { kind: 'elements', note: '' });
    const url = `/kilns/${code}/care/1/void`;
    expect((await visit(technician, url)).body).toContain('Elements changed');
    const bare = await send(url, { reason: '' });
    expect(bare.statusCode).toBe(422);
    expect((await send(url, { reason: 'The other kiln' })).headers.location).toBe(
      `/kilns/${code}?done=struck-out`,
    );
    const { body } = await visit(technician, `/kilns/${code}`);
    expect(body).toContain('class="struck"');
    expect(body).toContain('The other kiln');
    expect((await send(url, { reason: 'Again' })).statusCode).toBe(409);
  });

  it('an unknown kind is refused and shown the choice again', async () => {
    const { code } = await aKiln(s);
    const answer = await send(`/kilns/${code}/care`, { kind: 'polished' });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('Vacuumed');
  });
});

describe('schedules', () => {
  it('begin with the usual ones, are read by everybody and changed by technicians', async () => {
    expect((await visit(technician, '/kilns/schedules')).body).toContain('Begin with the usual ones');
    expect((await visit(member, '/kilns/schedules')).body).not.toContain('Begin with the usual ones');
    expect((await send('/kilns/schedules/usual', {})).headers.location).toBe('/kilns/schedules');
    expect((await send('/kilns/schedules/usual', {})).statusCode).toBe(409);
    const [bisque] = await kilns.listSchedules(read());
    const page = (await visit(member, `/kilns/schedules/${bisque?.number}`)).body;
    expect(page).toContain('60 °C an hour to 90 °C, hold 2 h');
    expect(page).toContain('Temperature of the firing over time');
    expect(page).not.toContain('Use it no longer');
  });

  it('the usual steps fill the form for a kind and cone', async () => {
    const { body } = await visit(technician, '/kilns/schedules/new?kind=bisque&cone=04&forThick=yes');
    expect(fieldsOf(body)).toMatchObject({
      name: 'Bisque cone 04, thick ware',
      hold1: '480',
      rate2: '60',
      to2: '220',
    });
    const odd = await visit(technician, '/kilns/schedules/new?kind=bisque&cone=77');
    expect(odd.statusCode).toBe(200);
    expect(odd.body).toContain('id="usual-cone-error"');
    const unknown = await visit(technician, '/kilns/schedules/new?kind=glaze&cone=022%C2%BD');
    expect(unknown.body).toContain('type the steps yourself');
  });

  it('is written, its faults said beside their steps, and replaced under a new number', async () => {
    const url = '/kilns/schedules/new';
    const fields = { name: 'Slow glaze', kind: 'glaze', cone: '9', rate1: '', to1: '600', hold1: '' };
    const still = await send(url, { ...fields, rate3: '100', to3: '600', hold3: '' });
    expect(still.statusCode).toBe(422);
    expect(fieldError(still.body, 'to3')).toContain('does nothing');
    expect((await send(url, { ...fields, rate1: '9000' })).statusCode).toBe(422);
    expect(fieldError((await send(url, { ...fields, to1: '' })).body, 'to1')).toBeTruthy();
    const made = await send(url, { ...fields, rate2: '60', to2: '1260', hold2: '15' });
    const at = made.headers.location as string;
    expect(at, made.body).toMatch(/^\/kilns\/schedules\/\d+$/);
    expect((await visit(member, at)).body).toContain('As fast as it goes to 600 °C');
    const edit = fieldsOf((await visit(technician, `${at}/edit`)).body);
    expect(edit).toMatchObject({ rate1: '', to2: '1260', hold2: '15' });
    const better = await send(`${at}/edit`, { ...edit, hold2: '20' });
    expect(better.headers.location).not.toBe(at);
    expect((await visit(member, at)).body).toContain('No longer used');
    expect((await send(`${at}/edit`, edit)).statusCode).toBe(409);
    expect((await send(`${better.headers.location}/retire`, {})).headers.location).toBe('/kilns/schedules');
  });

  it('the studio’s own word for it is used', async () => {
    const fields = fieldsOf((await visit(technician, '/kilns/settings')).body);
    await send('/kilns/settings', { ...fields, scheduleWord: 'programme' });
    expect((await visit(member, '/kilns/schedules')).body).toContain('Firing programmes');
  });
});

describe('kiln settings', () => {
  it('come back as they were saved, hours of each day and midnight too', async () => {
    const fields = fieldsOf((await visit(technician, '/kilns/settings')).body);
    const saved = await send('/kilns/settings', {
      ...fields,
      from1: '',
      until1: '',
      from7: '10:30',
      until7: '00:00',
      siteKilowatts: '24,5',
      pricePerKwh: '28.55',
      proposePercent: '80',
    });
    expect(saved.headers.location, saved.body).toBe('/kilns/settings?done=saved');
    const settings = await kilns.kilnSettings(read());
    expect(settings).toMatchObject({ siteKilowatts: 24.5, pricePerKwh: 28.55, proposeAtShare: 0.8 });
    expect(settings.staffed[0]).toBeNull();
    expect(settings.staffed[6]).toEqual({ from: 630, to: 1440 });
    const again = fieldsOf((await visit(technician, '/kilns/settings')).body);
    expect(again).toMatchObject({ from1: '', from7: '10:30', until7: '00:00', pricePerKwh: '28.55' });
    await send('/kilns/settings', { ...again, siteKilowatts: '', pricePerKwh: '' });
    expect(await kilns.kilnSettings(read())).toMatchObject({ siteKilowatts: null, pricePerKwh: null });
  });

  it.each([
    [{ from2: '12:00', until2: '09:00' }, 'until2'],
    [{ from2: '12:00', until2: '' }, 'until2'],
    [{ from2: 'noon', until2: '18:00' }, 'from2'],
    [{ handsBelowC: '130', openBelowC: '90' }, 'handsBelowC'],
    [{ gapMm: '2' }, 'gapMm'],
    [{ lidShutAboveC: '' }, 'lidShutAboveC'],
  ])('%j is refused beside its field', async (change, field) => {
    const fields = fieldsOf((await visit(technician, '/kilns/settings')).body);
    const answer = await send('/kilns/settings', { ...fields, ...change });
    expect(answer.statusCode).toBe(422);
    expect(fieldError(answer.body, field), answer.body).toBeTruthy();
  });

  it('who comes second is told', async () => {
    const fields = fieldsOf((await visit(technician, '/kilns/settings')).body);
    await send('/kilns/settings', { ...fields, openBelowC: '85' }, manager);
    const late = await send('/kilns/settings', { ...fields, openBelowC: '80' });
    expect(late.statusCode).toBe(409);
    expect((await send('/kilns/settings', fieldsOf(late.body))).statusCode).toBe(303);
    expect((await kilns.kilnSettings(read())).openBelowC).toBe(80);
  });
});

describe('whatever is typed', () => {
  const AWKWARD = [
    '',
    ' ',
    '0',
    '-1',
    '1e309',
    'NaN',
    '5000',
    '0.0001',
    '9'.repeat(60),
    '\0',
    '\ud800',
    '<blink>',
    '½',
    '12,5',
  ];
  const shuffled = (names: string[]) =>
    fc.dictionary(
      fc.constantFrom(...names),
      fc.oneof(fc.constantFrom(...AWKWARD), fc.string({ unit: 'binary' })),
      {
        minKeys: 1,
        maxKeys: 4,
      },
    );

  it('into a kiln’s form is answered, never with a fault of ours', async () => {
    const names = [
      ...Object.keys(typed()),
      'spotX1',
      'spotY1',
      'spotWidth1',
      'keepDepth2',
      'draw',
      'more',
      'seen',
    ];
    await fc.assert(
      fc.asyncProperty(shuffled(names), async (change) => {
        const answer = await send('/kilns/new', typed(change));
        expect(answer.statusCode, JSON.stringify(change)).toBeLessThan(500);
        expect(answer.body).not.toContain('<blink>');
      }),
      { numRuns: 60 },
    );
  });

  it('into care, a schedule or the settings neither', async () => {
    const { code } = await aKiln(s);
    const settings = fieldsOf((await visit(technician, '/kilns/settings')).body);
    const forms: [string, Record<string, string | string[]>][] = [
      [`/kilns/${code}/care`, { kind: 'shelf-cracked', which: 'full', count: '1', note: '', happenedAt: '' }],
      [`/kilns/${code}/care`, { kind: 'ohms', ohms: ['12'], note: '' }],
      ['/kilns/schedules/new', { name: 'A', kind: 'glaze', cone: '6', rate1: '60', to1: '900', hold1: '5' }],
      ['/kilns/settings', settings],
    ];
    const one = fc
      .constantFrom(...forms)
      .chain(([url, fields]) =>
        fc.tuple(fc.constant(url), fc.constant(fields), shuffled(Object.keys(fields))),
      );
    await fc.assert(
      fc.asyncProperty(one, async ([url, fields, change]) => {
        const answer = await send(url, { ...fields, ...change });
        expect(answer.statusCode, `${url} ${JSON.stringify(change)}`).toBeLessThan(500);
      }),
      { numRuns: 60 },
    );
  });

  it('a kiln that is taken can be packed and drawn', () => {
    const mm = (min: number, max: number) => fc.integer({ min, max });
    const body = fc.record({
      shelf: fc.oneof(
        fc.record({ shape: fc.constant('round' as const), diameterMm: mm(100, 3000) }),
        fc.record({ shape: fc.constant('polygon' as const), sides: mm(4, 24), acrossFlatsMm: mm(100, 3000) }),
        fc.record({
          shape: fc.constant('rectangle' as const),
          widthMm: mm(100, 3000),
          depthMm: mm(100, 3000),
        }),
      ),
      fullShelves: mm(0, 60),
      halfShelves: mm(0, 60),
      shelfThicknessMm: mm(3, 60),
      usableHeightMm: mm(50, 3000),
      floorPostMm: mm(0, 300),
      edgeGapMm: mm(0, 100),
      splitGapMm: mm(0, 100),
      posts: fc.uniqueArray(fc.record({ heightMm: mm(5, 1500), count: mm(1, 500) }), {
        selector: ({ heightMm }) => heightMm,
        maxLength: 30,
      }),
    });
    let taken = 0;
    fc.assert(
      fc.property(body, (figures) => {
        const command = kilns.kilnBody.parse({
          code: 'X',
          name: 'X',
          opens: 'top',
          maxCone: '6',
          atmospheres: ['oxidation'],
          power: 'electric',
          kilowatts: 9,
          ...figures,
        });
        if (kilns.kilnFaults(command).length > 0) return;
        taken++;
        const kiln = kilns.columnsOf(command);
        const chamber = chamberOf(kiln, KILN_DEFAULTS, { kind: 'glaze' });
        assertProblem({ ...chamber, pieces: [] });
        expect(renderToString(h(KilnDrawing, { kiln, id: 'x' }))).not.toMatch(/NaN|Infinity|="-?\d+\.\d{4,}/);
      }),
      { numRuns: 300 },
    );
    expect(taken).toBeGreaterThan(60);
  });
});
