import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, GLAZE, readyPieces } from '../helpers/loads.ts';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';
import { moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
let code: string;
beforeAll(async () => {
  s = await aStudio();
  code = await s.aBucket({ sg: 1.5 });
  // Piece 1 is in load 1, of a kiln that is called as the bucket is.
  await aKiln(s, { code, firers: [s.people.manager] });
  await readyPieces(s, s.people.member, { for: 'glaze', clay: await aClay(s), howMany: 3 });
  await aProposal(s, { kiln: code, firing: GLAZE });
});

const MARKUP = '"><script>alert(1)</script><img src=x onerror=alert(1)>\'';
const AWKWARD = [
  MARKUP,
  '\0',
  '\ud800',
  '',
  ' ',
  '-1',
  '1e309',
  'NaN',
  '9'.repeat(400),
  '2026-03-29T01:30',
  '0000-00-00T00:00',
  "'; drop table people; --",
  '%00%ff',
  '../../etc/passwd',
  '\u202e\u0007',
];

/** Names that schemas know, so that the fuzz gets past the door. */
const BUCKETS = [
  'method',
  'grams',
  'millilitres',
  'value',
  'scale',
  'kind',
  'litres',
  'kilograms',
  'specificGravity',
  'happenedAt',
  'note',
  'reason',
  'state',
  'problem',
  'pieces',
  'cups',
  'depthMm',
  'quarters',
  'stirred',
  'confirm',
  'replicates',
  'temperatureC',
  'vessel',
  'instrument',
  'float',
  'millimetres',
  'millimetres1',
  'specificGravity1',
  'points',
  'resolutionG',
  'division',
  'dryKg',
  'waterLitres',
  'mesh',
  'seconds',
  'word',
  'fresh',
  'later',
  'minutes',
  'first',
  'stirInterval',
  'flow',
  'flowLow',
  'flowHigh',
  'isReclaim',
  'to',
  'what',
  'code',
  'name',
  'capacityLitres',
  'target',
  'recipe',
  'solidsDensity',
  'email',
  'password',
  'current',
  'role',
  'units',
  'key',
  'timeZone',
  'low',
  'aim',
  'high',
  'material',
  'parts',
  'density',
  'hasSolubles',
  'position',
  'lot',
  'how',
  'bucket',
  'clay',
  'cone',
  'verdict',
  'kept',
  'tareG',
  'waterG',
  'next',
  'secret',
];
const WARE = `
  form what called shape widthMm depthMm heightMm measured thickestMm kg stack closed hole clay ownClay kind cone
  atmosphere wantedBy group payer mark place note kept howMany begins once also pieces numbers glazes first second
  third own coneFrom coneTo bare heldBack trayMm reason words cause who not shown piece claim looks name maxCone
  bisqueCone dryShrinkPercent firedShrinkPercent isRunny tags tagA tagB why contact person text upTo from did`
  .trim()
  .split(/\s+/);
const KILNS = `
  code name opens shape shelf diameterMm sides acrossFlatsMm shelfWidthMm shelfDepthMm fullShelves halfShelves
  usableHeightMm posts postHeight1 postCount1 postPositions spotX1 keepOuts keepX1 keepFrom1 maxCone atmospheres
  oxidation power kilowatts emergency firers more draw what segments rateCPerH toC holdMin rate1 to1 ohms which count
  kiln alsoKilns kind cone atmosphere maxLoads exceptProposed version reason piece part level xMm yMm turned schedule
  notIn why kept startsAt celsius how confirm happenedAt note onCall watch watcher1 from1 to1 turns latestShutOff topC
  bottomC pressure pressureUnit damper reduction oxygen down event back exceptions outcome beyondUse levels cone-1-1
  reading-1-1 outcome-1 note-1 points at csv columns file delimiter decimal skip time timeForm dateOrder temperature
  unit chart do staffed siteKilowatts pricePerKwh openBelowC proposePercent scheduleWord seen`
  .trim()
  .split(/\s+/);
/** One feature's names at a time: a form that is sent names of another is turned away at the door. */
const names = fc
  .constantFrom(BUCKETS, WARE, KILNS)
  .map((some) => fc.constantFrom(...some, 'key', '__proto__', 'constructor'));
const KNOWN_WORDS = [
  'weighed',
  'hydrometer',
  'float',
  'scale',
  'sg',
  'water',
  'dry',
  'slurry',
  'rinse',
  'do-not-use',
  'lumps',
  'custard',
  'epsom',
  'yes',
  'HG',
  'cup',
  'glaze',
  'bisque',
  '6',
  '06',
  'rectangle',
  'full',
  'left',
  'cracked',
  'comma',
  'electric',
  '1,2,3',
];

const value = fc.oneof(
  fc.constantFrom(...AWKWARD, ...KNOWN_WORDS),
  fc.double(),
  fc.integer(),
  fc.boolean(),
  fc.constant(null),
  fc.string({ unit: 'binary' }),
);
const body = fc.oneof(
  {
    weight: 6,
    arbitrary: names.chain((name) =>
      fc.dictionary(
        name,
        fc.oneof(
          value,
          fc.array(value, { maxLength: 3 }),
          fc.array(fc.dictionary(name, value, { maxKeys: 3 }), { maxLength: 2 }),
          fc.dictionary(name, value, { maxKeys: 3 }),
        ),
        { maxKeys: 8 },
      ),
    ),
  },
  { weight: 1, arbitrary: fc.jsonValue() },
);

const spots = (url: string) =>
  fc
    .constantFrom(code, 'none', '%00', '%F0%9F%8F%BA', '1', '-1', '9999999999999', encodeURIComponent(MARKUP))
    .map((spot) => url.replace(/:\w+/g, spot));

describe('whatever a client sends', () => {
  it('no JSON body makes the server fail', async () => {
    const urls = s.routes
      .filter((r) => r.url.startsWith('/api/v1/') && r.method === 'POST')
      .map((r) => r.url);
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...urls).chain(spots), body, async (url, payload) => {
        const answer = await s.app.inject({
          method: 'POST',
          url,
          headers: { authorization: `Bearer ${s.people.manager.token}`, 'content-type': 'application/json' },
          payload: JSON.stringify(payload) ?? 'undefined',
        });
        expect(answer.statusCode, `${url} ${JSON.stringify(payload)} ${answer.body}`).toBeLessThan(500);
        if (answer.statusCode >= 400) expect(answer.headers['content-type']).toContain('problem+json');
      }),
      { numRuns: 400 },
    );
  });

  it('no form makes the server fail, with htmx or without', async () => {
    const urls = s.routes
      .filter((r) => r.method === 'POST' && !r.url.startsWith('/api/') && !/sign-out|password/.test(r.url))
      .map((r) => r.url);
    const person = await s.aPerson('manager');
    const fields = names.chain((name) =>
      fc.dictionary(
        name,
        fc.oneof(
          fc.constantFrom(...AWKWARD, ...KNOWN_WORDS),
          fc.string({ unit: 'binary' }),
          fc.double().map(String),
        ),
        { maxKeys: 8 },
      ),
    );
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...urls).chain(spots),
        fields,
        fc.boolean(),
        async (url, typed, partial) => {
          const answer = await s.submit(person, url, typed, partial ? PARTIAL : {});
          expect(answer.statusCode, `${url} ${JSON.stringify(typed)} ${answer.body}`).toBeLessThan(500);
          expect(answer.body).not.toContain('<script>alert');
          expect(answer.body).not.toContain('<img src=x');
        },
      ),
      { numRuns: 400 },
    );
  });

  it('a form sent as JSON makes no page fail', async () => {
    const person = await s.aPerson('technician');
    const urls = s.routes.filter((r) => r.method === 'POST' && !r.url.startsWith('/api/')).map((r) => r.url);
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...urls).chain(spots),
        body,
        fc.boolean(),
        async (url, payload, known) => {
          const answer = await s.app.inject({
            method: 'POST',
            url,
            headers: {
              ...(known ? { cookie: person.cookie } : {}),
              host: 'localhost',
              origin: 'http://localhost',
              'content-type': 'application/json',
            },
            payload: JSON.stringify(payload) ?? '{}',
          });
          expect(answer.statusCode, `${url} ${JSON.stringify(payload)} ${answer.body}`).toBeLessThan(500);
        },
      ),
      { numRuns: 200 },
    );
  });

  it('no query makes the server fail', async () => {
    const urls = s.routes.filter((r) => r.method === 'GET' && !r.url.startsWith('/assets')).map((r) => r.url);
    const query = fc.array(
      fc.tuple(
        fc.constantFrom(
          'before',
          'limit',
          'sort',
          'cone',
          'state',
          'did',
          'next',
          'litres',
          'sg',
          'aim',
          'density',
          'value',
          'scale',
          'form',
          'pieces',
          'number',
          'file',
          'on',
          'view',
          'outcome',
          'days',
          'made',
          'kind',
          'part',
          'level',
        ),
        fc.oneof(fc.constantFrom(...AWKWARD), fc.double().map(String), fc.string()),
      ),
      { maxLength: 5 },
    );
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...urls).chain(spots), query, async (url, pairs) => {
        const search = pairs.map(([k, v]) => `${k}=${encodeURIComponent(v.toWellFormed())}`).join('&');
        const answer = await s.app.inject({
          url: `${url}?${search}`,
          headers: url.startsWith('/api/')
            ? { authorization: `Bearer ${s.people.manager.token}` }
            : { cookie: s.people.manager.cookie, host: 'localhost' },
        });
        expect(answer.statusCode, `${url}?${search} ${answer.body}`).toBeLessThan(500);
        expect(answer.body).not.toContain('<script>alert');
      }),
      { numRuns: 400 },
    );
  });

  it.each([
    ['cut off', '{"litres": 1', 'application/json', 400],
    ['no JSON at all', 'litres=1', 'application/json', 400],
    ['a poisoned prototype', '{"__proto__": {"litres": 1}}', 'application/json', 400],
    ['another kind of content', '<litres>1</litres>', 'application/xml', 415],
    ['far too large', `{"note": "${'x'.repeat(300_000)}"}`, 'application/json', 413],
  ])('%s is refused as it should be', async (_what, payload, type, status) => {
    const answer = await s.app.inject({
      method: 'POST',
      url: `/api/v1/buckets/${code}/stirs`,
      headers: { authorization: `Bearer ${s.people.member.token}`, 'content-type': type },
      payload,
    });
    expect(answer.statusCode).toBe(status);
    expect(answer.headers['content-type']).toContain('problem+json');
  });

  it('stored markup comes out inert, everywhere it is shown', async () => {
    const { technician, member } = s.people;
    const made = await s.api(technician, 'POST', '/buckets', {
      code: 'XSS',
      name: MARKUP.slice(0, 58),
      place: MARKUP.slice(0, 58),
      careNotes: MARKUP,
      capacityLitres: 20,
      recipe: [{ material: MARKUP.slice(0, 58), parts: 1, density: 2.6 }],
      target: { aim: 1.46 },
    });
    expect(made.statusCode).toBe(201);
    await s.api(member, 'POST', '/buckets/XSS/notes', { note: MARKUP });
    await s.api(member, 'POST', '/buckets/XSS/service', { state: 'do-not-use', reason: MARKUP });
    const [piece = 0] = await somePieces(s, member, {
      form: 'other',
      called: MARKUP.slice(0, 40),
      begins: 'drying',
      ownClay: MARKUP.slice(0, 58),
      note: MARKUP,
      place: MARKUP.slice(0, 58),
      mark: MARKUP.slice(0, 30),
    });
    await moved(s, technician, 'flag', [piece], { words: MARKUP });
    await aKiln(s, { code: 'XSS', name: MARKUP.slice(0, 58), emergency: MARKUP });
    const cancelled = { reason: MARKUP };
    expect((await s.api(technician, 'POST', '/loads/1/cancel', cancelled)).statusCode).toBe(200);
    const pages = [
      ...['/wall', '/buckets/XSS', '/buckets/XSS/ledger', '/buckets/XSS/tag', '/today', '/recipes'],
      ...[`/ware/${piece}`, `/ware/${piece}/edit`, '/ware/desk', `/ware/tags?pieces=${piece}`],
      ...['/kilns', '/kilns/XSS', '/kilns/XSS/edit', '/kilns/loads/1'],
    ];
    for (const url of pages) {
      const page = await s.visit(technician, url);
      expect(page.statusCode, url).toBe(200);
      expect(page.body, url).toContain('&lt;script');
      expect(page.body, url).not.toContain('<script>alert');
      expect(page.body, url).not.toContain('<img src=x');
    }
  });
});
