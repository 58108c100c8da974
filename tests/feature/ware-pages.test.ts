import { beforeAll, describe, expect, it } from 'vitest';
import { bucketBody, createBucketWithRecipe } from '../../server/buckets/service/index.ts';
import { comeOut, enterLoad, fillLoadWords, findPiece, lockPieces } from '../../server/ware/service/index.ts';
import { aStudio, PARTIAL, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';
import { aClay, dryPieces, moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let other: Person;
let technician: Person;
let clay: string;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  other = await s.aPerson('member', 'Ada');
  clay = await aClay(s);
});

const see = (number: number, person = technician) => s.as(person, (act) => findPiece(act, number));
const bisque = { kind: 'bisque', cone: '06', atmosphere: 'oxidation' } as const;
const form = { what: 'cup', howMany: '6', cone: '6', kind: 'glaze', atmosphere: 'oxidation', begins: 'wet' };
/** The numbers in the address that an act leads to. */
const numbersIn = (location: unknown): number[] =>
  (new URL(String(location), 'http://x').searchParams.get('pieces') ?? '').split(',').map(Number);
const one = async (command: Record<string, unknown> = {}, person = member): Promise<number> =>
  (await somePieces(s, person, { clay, ...command }))[0] as number;

describe('registering on a phone', () => {
  it('asks first what it is, then shows the usual sizes of that form', async () => {
    const pick = await s.visit(member, '/ware/new');
    expect(pick.statusCode).toBe(200);
    expect(pick.body).toContain('href="/ware/new?form=cup"');
    const cup = await s.visit(member, '/ware/new?form=cup');
    for (const value of ['125', '85', '100']) expect(cup.body).toContain(`value="${value}"`);
    expect(cup.body).not.toMatch(/\sstyle="/);
    expect((await s.visit(member, '/ware/new?form=anvil')).body).toContain('What is it?');
  });

  it('takes six cups with a photo in one go, and remembers clay and cone for the next', async () => {
    const sent = await upload(
      s,
      member,
      '/ware/new',
      { ...form, clay, mark: 'IM' },
      { bytes: await aPhoto() },
    );
    expect(sent.statusCode).toBe(303);
    const numbers = numbersIn(sent.headers.location);
    expect(numbers).toHaveLength(6);
    expect((await see(numbers[0] as number)).photo).toMatch(/^[0-9a-f]{64}$/);
    const again = await s.visit(member, '/ware/new?form=bowl');
    expect(again.body).toMatch(new RegExp(`<option value="${clay}" selected`));
    expect(again.body).toContain('value="IM"');
    const mine = await s.visit(member, String(sent.headers.location));
    expect(mine.body).toContain('6 cups');
    expect(mine.body).toContain(`Pieces ${numbers[0]} to ${numbers[5]} registered`);
    const tags = /href="(\/ware\/tags[^"]+)">Print tags/.exec(mine.body)?.[1] ?? '';
    expect((await s.visit(member, tags)).body.split('class="rack-number"')).toHaveLength(7);
  });

  it('takes one where nobody says how many', async () => {
    const sent = await s.submit(member, '/ware/new', { ...form, clay, howMany: '' });
    expect(numbersIn(sent.headers.location)).toHaveLength(1);
  });

  it('folds what is rare, and unfolds it with what was typed or is wrong in it', async () => {
    const more = (body: string) =>
      /<details class="more"( open)?><summary>More/.exec(body)?.[1] !== undefined;
    expect(more((await s.visit(member, '/ware/new?form=cup')).body)).toBe(false);
    const wrongCone = { ...form, clay, cone: '99' };
    expect(more((await s.submit(member, '/ware/new', wrongCone)).body)).toBe(false);
    expect(more((await s.submit(member, '/ware/new', { ...wrongCone, place: 'Rack 2' })).body)).toBe(true);
    expect(more((await s.submit(member, '/ware/new', { ...form, clay: '' })).body)).toBe(true);
    expect(more((await s.submit(member, '/ware/new', { ...form, clay, wantedBy: '31/12' })).body)).toBe(true);
    const number = await one({ note: 'A gift' });
    expect(more((await s.visit(member, `/ware/${number}/edit`)).body)).toBe(true);
    expect(more((await s.visit(member, `/ware/${await one()}/edit`)).body)).toBe(false);
  });

  it('a form refused comes back filled in, with the photo kept', async () => {
    const sent = await upload(
      s,
      member,
      '/ware/new',
      { ...form, clay, cone: '10' },
      { bytes: await aPhoto() },
    );
    expect(sent.statusCode).toBe(422);
    expect(sent.body).toContain('stands cone 7 at most');
    const kept = /name="kept" value="([0-9a-f]{64})"/.exec(sent.body)?.[1];
    expect(kept).toBeDefined();
    const mended = await upload(s, member, '/ware/new', { ...form, clay, kept: kept ?? '' }, null);
    const [number] = numbersIn(mended.headers.location);
    expect((await see(number as number)).photo).toBe(kept);
  });

  it.each([
    ['text', 'not a picture at all'],
    ['nothing', ''],
    ['half a picture', '\xff\xd8\xff\xe0\x00\x10JFIF'],
  ])('a photo that is %s is refused beside its field', async (_what, content) => {
    const bytes = Buffer.from(content, 'latin1');
    const sent = await upload(s, member, '/ware/new', { ...form, clay }, { bytes });
    expect(sent.statusCode).toBe(422);
    expect(sent.body).toContain('f-photo');
  });

  it.each([
    [{ widthMm: '0' }, 'widthMm'],
    [{ widthMm: '1000000000' }, 'widthMm'],
    [{ heightMm: 'tall' }, 'heightMm'],
    [{ heightMm: 'NaN' }, 'heightMm'],
    [{ thickestMm: '-3' }, 'thickestMm'],
    [{ howMany: '61' }, 'howMany'],
    [{ howMany: 'six' }, 'howMany'],
    [{ cone: '99' }, 'cone'],
    [{ wantedBy: '31/12' }, 'wantedBy'],
    [{ what: 'anvil' }, ''],
    [{ begins: 'molten' }, 'begins'],
    [{ clay: 'no such' }, 'clay'],
    [{ mark: 'x'.repeat(31) }, 'mark'],
  ])('refuses %j without a fault', async (fields, path) => {
    const sent = await s.submit(member, '/ware/new', { ...form, clay, ...fields });
    expect(sent.statusCode).toBe(422);
    if (path) expect(sent.body).toContain(`id="f-${path}`);
  });

  it('a double tap registers once', async () => {
    const fields = { ...form, clay, howMany: '2', key: 'tap-tap-tap-1' };
    const [a, b] = await Promise.all([
      s.submit(member, '/ware/new', fields),
      s.submit(member, '/ware/new', fields),
    ]);
    expect(a.headers.location).toBe(b.headers.location);
    expect((await s.submit(member, '/ware/new', { ...fields, howMany: '3' })).statusCode).toBe(422);
  });
});

describe('my ware', () => {
  it('says what to do where there is nothing yet', async () => {
    const nobody = await s.aPerson('member');
    const page = await s.visit(nobody, '/ware');
    expect(page.body).toContain('No piece of yours yet');
    expect(page.body).toContain('href="/ware/new"');
  });

  it('moves a whole bunch on by one tap, with and without htmx', async () => {
    const numbers = await somePieces(s, other, { clay, howMany: 3 });
    const also = numbers.slice(1).join(',');
    const at = `/ware/${numbers[0]}/ask-dry`;
    const page = await s.visit(other, '/ware');
    expect(page.body).toContain(`action="${at}"`);
    expect(page.body).toContain(`value="${also}"`);
    const plain = await s.submit(other, at, { also, from: 'mine' });
    expect(plain.statusCode).toBe(303);
    expect(plain.headers.location).toMatch(/^\/ware\?did=ask-dry/);
    for (const number of numbers) expect((await see(number)).isAsked).toBe(true);
    const twice = await s.submit(other, at, { also });
    expect(twice.statusCode).toBe(409);
    expect(twice.body).toContain('handed in already');

    const [next] = await somePieces(s, other, { clay });
    const part = await s.submit(other, `/ware/${next}/ask-dry`, {}, PARTIAL);
    expect(part.statusCode).toBe(200);
    expect(part.headers['hx-location']).toMatch(/^\/ware\/\d+\?did=ask-dry/);
  });

  it('shows what is ready first, where loads are, and what was told', async () => {
    const person = await s.aPerson('member');
    const [inside, out] = (await dryPieces(s, person, { clay, howMany: 2 })) as [number, number];
    await s.as(technician, async (act) => enterLoad(act, await lockPieces(act, [inside, out]), 214));
    await s.as(technician, (act) => comeOut(act, 214, bisque, [{ number: out, outcome: 'burst', level: 1 }]));
    fillLoadWords(
      async (_read, loads) => new Map(loads.map((load) => [load, 'firing now, expected out Saturday'])),
    );
    const page = (await s.visit(person, '/ware')).body;
    fillLoadWords(async () => new Map());
    expect(page).toContain('In load 214: firing now, expected out Saturday.');
    expect(page.indexOf('Ready to pick up')).toBeLessThan(page.indexOf('On its way'));
    expect(page).toContain(`Piece ${out} came out of the kiln: burst. Have a look.`);
    const [, card = ''] = /(<article class="ware-card is-too-thick">.*?<\/article>)/s.exec(page) ?? [];
    expect(card).toMatch(/<\/svg>Burst<\/p>/);
    expect(card).not.toContain('Fired<');
    expect(card).toContain(`>${out}</a>`);
    const own = (await s.visit(person, `/ware/${out}`)).body;
    expect(own).toContain('class="verdict is-too-thick"');
    expect(own).toContain('<h2>Burst</h2>');
    expect((await s.submit(person, '/ware/messages', {})).statusCode).toBe(303);
    expect((await s.visit(person, '/ware')).body).not.toContain('New for you');
  });

  it('what was picked up by mistake is put back from the flash', async () => {
    const [number] = (await dryPieces(s, member, { clay, kind: 'bisque', cone: '06' })) as [number];
    const flash = await s.submit(member, `/ware/${number}/pick-up`, { from: 'mine' });
    const page = await s.visit(member, String(flash.headers.location));
    expect(page.body).toContain('No, it is still here');
    await s.submit(member, `/ware/${number}/here-again`, {});
    expect((await see(number)).stage).toBe('waiting-bisque');
  });
});

describe('the page of a piece', () => {
  it('is its owner’s and technicians’; everybody else finds nothing', async () => {
    const number = await one();
    for (const path of ['', '/edit', '/glazes', '/hand-in', '/another-firing', '/ask-dry'])
      expect((await s.visit(other, `/ware/${number}${path}`)).statusCode, path).toBe(
        path === '/ask-dry' ? 303 : 404,
      );
    expect((await s.submit(other, `/ware/${number}/ask-dry`, {})).statusCode).toBe(404);
    expect((await s.submit(other, `/ware/${number}/edit`, { ...form, clay })).statusCode).toBe(404);
    expect((await s.submit(member, `/ware/${number}/dry`, {})).statusCode).toBe(403);
    expect((await s.visit(member, `/ware/${number}/return`)).statusCode).toBe(403);
    expect((await s.submit(null, `/ware/${number}/ask-dry`, {})).statusCode).toBe(303);
    for (const bad of ['0', 'abc', '-1', '1e3', '99999999999'])
      expect((await s.visit(member, `/ware/${bad}`)).statusCode, bad).toBe(404);
    const page = await s.visit(technician, `/ware/${number}`);
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('For technicians');
    expect((await s.visit(member, `/ware/${number}`)).body).not.toContain('For technicians');
  });

  it('takes nobody else’s pieces along', async () => {
    const mine = await one();
    const theirs = await one({}, other);
    expect((await s.submit(member, `/ware/${mine}/drying`, { also: String(theirs) })).statusCode).toBe(404);
    expect((await see(mine)).stage).toBe('made');
  });

  it('says what keeps it, and what was done, photos and all', async () => {
    const number = await one({ thickestMm: 20, closed: true });
    const page = await s.visit(member, `/ware/${number}`);
    expect(page.body).toContain('A closed form needs a hole');
    expect(page.body).toContain('Thicker than 12 mm');
    const given = await upload(
      s,
      technician,
      `/ware/${number}/return`,
      { reason: 'crack', note: 'Along the <foot>' },
      { bytes: await aPhoto() },
    );
    expect(given.statusCode).toBe(303);
    const after = await s.visit(member, `/ware/${number}`);
    expect(after.body).toContain('Given back: it has a crack');
    expect(after.body).toContain('Along the &lt;foot>');
    expect(after.body).toContain('Photo: Given back');
  });

  it('every act that asks something has its page', async () => {
    const number = await one({ begins: 'bisqued' });
    const paths = [
      'glazes',
      'hand-in',
      'another-firing',
      'return',
      'yes',
      'flag',
      'refire',
      'left-behind',
      'lost',
      'assign',
      'measure',
      'edit',
    ];
    for (const path of paths) {
      const page = await s.visit(technician, `/ware/${number}/${path}`);
      expect(page.statusCode, path).toBe(200);
      expect(page.body, path).toContain(`action="/ware/${number}/${path}"`);
    }
  });

  it('warns where a glaze does not take the firing, and offers to change it', async () => {
    const code = 'KELP';
    const kelp = { code, name: 'Kelp', capacityLitres: 25, target: { aim: 1.46 }, solidsDensity: 2.6 };
    const hot = bucketBody.parse({ ...kelp, coneFrom: '9', coneTo: '10' });
    await s.as(technician, (act) => createBucketWithRecipe(act, hot));
    const numbers = await somePieces(s, member, { clay, howMany: 2, begins: 'bisqued' });
    const [first, second] = numbers as [number, number];
    const at = `/ware/${first}/glazes`;
    expect((await s.visit(member, at)).body).toContain('<h2>It is glazed already</h2>');
    const sent = await s.submit(member, at, { first: code, also: String(second) });
    const { body } = await s.visit(member, String(sent.headers.location));
    expect(body).toContain('class="flash is-ask-technician"');
    expect(body).toMatch(
      /Recorded\. Kelp is for cone 9 to 10; these pieces ask for cone 6: choose another firing or wipe it off\./,
    );
    expect(body).toContain('Change the glaze');
    expect((await s.visit(member, at)).body).toContain('<h2>Change the glaze</h2>');
    const bare = await s.submit(member, at, { bare: 'yes' });
    expect((await s.visit(member, String(bare.headers.location))).body).toContain('class="flash is-ready"');
  });

  it('glazes by the wall, from outside or not at all, and says beside its field what is wrong', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 5 });
    const number = await one({ begins: 'bisqued' });
    const at = `/ware/${number}/glazes`;
    const nothing = await s.submit(member, at, {});
    expect(nothing.statusCode).toBe(422);
    expect(nothing.body).toContain('id="f-first-error"');
    expect((await s.submit(member, at, { second: 'NOPE' })).body).toContain('There is no bucket NOPE');
    expect((await s.submit(member, at, { own: 'Blue' })).body).toContain('id="f-coneFrom-error"');
    expect((await s.submit(member, at, { first: code, bare: 'yes' })).statusCode).toBe(422);
    const both = await s.submit(member, at, { first: code, own: 'Blue', coneFrom: '5', coneTo: '6' });
    expect(both.statusCode).toBe(303);
    expect((await see(number)).glazes.map(({ bucket, own }) => bucket?.code ?? own?.name)).toEqual([
      code,
      'Blue',
    ]);
    const early = await s.submit(member, `/ware/${number}/hand-in`, {});
    expect(early.statusCode).toBe(422);
    expect(early.body).toContain('Wipe the foot and hold the glaze back 6 mm');
    expect((await s.submit(member, `/ware/${number}/hand-in`, { heldBack: 'yes' })).statusCode).toBe(303);
  });

  it('is put right with the rest of its batch by one tick', async () => {
    const [a, b, c] = (await somePieces(s, member, { clay, howMany: 3 })) as [number, number, number];
    const page = await s.visit(member, `/ware/${a}/edit`);
    expect(page.body).toContain(`value="${b},${c}"`);
    const fields = { what: 'beaker', clay, cone: '5', widthMm: '90,5', heightMm: '120', also: `${b},${c}` };
    expect((await s.submit(member, `/ware/${a}/edit`, fields)).statusCode).toBe(303);
    for (const number of [a, b, c])
      expect((await see(number)).measured.footprint).toEqual({ shape: 'circle', diameterMm: 90.5 });
  });
});

describe('the shelf without names', () => {
  it('is put on by a technician with a photo, claimed by a member, handed over', async () => {
    expect((await s.visit(member, '/ware/found/new')).statusCode).toBe(403);
    const bare = await upload(s, technician, '/ware/found/new', { what: 'vase', looks: 'fired' }, null);
    expect(bare.statusCode).toBe(422);
    const strange = { what: 'anvil', looks: 'fired' };
    const refused = await upload(s, technician, '/ware/found/new', strange, { bytes: await aPhoto() });
    expect(refused.body).toContain('href="#f-what"');
    const put = await upload(
      s,
      technician,
      '/ware/found/new',
      { what: 'vase', looks: 'fired', mark: 'two dots' },
      { bytes: await aPhoto() },
    );
    expect(put.statusCode).toBe(303);
    const shelf = await s.visit(member, '/ware/found');
    const at = /action="(\/ware\/\d+\/claim)"/.exec(shelf.body)?.[1] as string;
    expect(shelf.body).toContain('marked two dots');
    expect((await s.submit(member, at, {})).statusCode).toBe(303);
    expect((await s.submit(member, at, {})).statusCode).toBe(409);
    expect((await s.visit(member, '/ware/found')).body).toContain('You said it is yours');
    expect((await s.visit(other, '/ware/found')).body).not.toContain('Ida');
    const number = at.split('/')[2] as string;
    expect((await s.submit(technician, `/ware/${number}/assign`, { who: 'Ida' })).statusCode).toBe(303);
    expect(await see(Number(number))).toMatchObject({ stage: 'fired', owner: { name: 'Ida' } });
    expect((await s.submit(other, at, {})).statusCode).toBe(404);
  });
});

describe('over the API', () => {
  const body = { form: 'cup', howMany: 2, cone: '6' };

  it('registers, shows, glazes and moves pieces', async () => {
    const made = await s.api(member, 'POST', '/pieces', { ...body, clay });
    expect(made.statusCode).toBe(201);
    const [number] = made.json().numbers as [number];
    const piece = await s.api(member, 'GET', `/pieces/${number}`);
    expect(piece.json()).toMatchObject({
      number,
      stage: 'made',
      clay,
      wanted: { cone: '6' },
      next: { kind: 'bisque', cone: '06' },
      owner: { kind: 'person', name: 'Ida' },
    });
    expect(piece.body).not.toContain('"id"');
    expect((await s.api(member, 'POST', `/pieces/${number}/ask-dry`, {})).statusCode).toBe(201);
    expect((await s.api(member, 'POST', `/pieces/${number}/dry`, {})).statusCode).toBe(403);
    const dry = await s.api(technician, 'POST', `/pieces/${number}/dry`, {});
    expect(dry.json()).toMatchObject({ stage: 'waiting-bisque', isReady: true });
    await s.as(technician, (act) => enterLoad(act, [{ number }], 4001));
    await s.as(technician, (act) => comeOut(act, 4001, bisque, [{ number, outcome: 'good', level: 1 }]));
    const own = { own: 'Blue', coneFrom: '05', coneTo: '7' };
    const glazed = await s.api(member, 'POST', `/pieces/${number}/glazes`, { glazes: [own] });
    expect(glazed.json()).toMatchObject({ stage: 'glazed', glazes: [{ own: 'Blue', coneTo: '7' }] });
    const refused = await s.api(member, 'POST', `/pieces/${number}/hand-in`, {});
    expect(refused.statusCode).toBe(422);
    expect(refused.json().errors).toMatchObject([{ path: 'heldBack' }]);
    expect((await s.api(other, 'GET', `/pieces/${number}`)).statusCode).toBe(404);
    expect((await s.api(null, 'GET', `/pieces/${number}`)).statusCode).toBe(401);
  });

  it('a retry with the same key registers once and answers the same', async () => {
    const send = () => s.api(member, 'POST', '/pieces', { ...body, clay }, { 'idempotency-key': 'pieces-1' });
    const [first, again] = [await send(), await send()];
    expect(again.json()).toEqual(first.json());
    expect(again.headers['idempotency-replayed']).toBe('true');
  });

  it('lists one’s own by number, a page at a time, and everybody’s for a technician only', async () => {
    const person = await s.aPerson('member');
    const numbers = await somePieces(s, person, { clay, howMany: 5 });
    const seen: number[] = [];
    let before = '';
    for (let pages = 0; pages < 4; pages++) {
      const page = (await s.api(person, 'GET', `/pieces?limit=2${before}`)).json();
      seen.push(...page.pieces.map((piece: { number: number }) => piece.number));
      if (page.next === null) break;
      before = `&before=${page.next}`;
    }
    expect(seen).toEqual([...numbers].reverse());
    expect((await s.api(person, 'GET', '/pieces?everybody=yes')).statusCode).toBe(403);
    const all = await s.api(technician, 'GET', '/pieces?everybody=yes&stage=made&limit=200');
    expect(all.json().pieces.length).toBeGreaterThan(5);
    expect(new Set(all.json().pieces.map((piece: { stage: string }) => piece.stage))).toEqual(
      new Set(['made']),
    );
    expect((await s.api(person, 'GET', '/pieces?stage=molten')).statusCode).toBe(422);
  });

  it.each([
    [{ ...body, clay: 7 }],
    [{ ...body, widthMm: '125' }],
    [{ ...body, widthMm: 1e9 }],
    [{ ...body, widthMm: null }],
    [{ ...body, howMany: 1e9 }],
    [{ ...body, note: '\ud800' }],
    [{ form: ['cup'], cone: '6' }],
    [{}],
  ])('refuses %j without a fault', async (sent) => {
    expect((await s.api(member, 'POST', '/pieces', { clay, ...sent })).statusCode).toBe(422);
  });

  it('glazes that are no list, too many or of two kinds are refused', async () => {
    const number = await one({ begins: 'bisqued' });
    const nine = Array.from({ length: 9 }, () => ({ own: 'x', coneFrom: '6', coneTo: '6' }));
    for (const glazes of [
      'B1',
      nine,
      [{ bucket: 'B1', own: 'x' }],
      [{ own: 'x' }],
      [null],
      [{ bucket: "'; --" }],
    ]) {
      const refused = await s.api(member, 'POST', `/pieces/${number}/glazes`, { glazes });
      expect(refused.statusCode, JSON.stringify(glazes)).toBe(422);
    }
    await moved(s, member, 'glazes', [number], { glazes: [] });
  });
});
