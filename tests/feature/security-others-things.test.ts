import { sql } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { pictureIn } from '../../server/core/files.ts';
import { may } from '../../server/core/policy.ts';
import { payersFor, post } from '../../server/fees/service/ledger.ts';
import { holdBriefing } from '../../server/safety/service/briefings.ts';
import { recordAtContainer } from '../../server/safety/service/container-acts.ts';
import { containerEventBody } from '../../server/safety/service/container-forms.ts';
import { createContainer, newContainerBody } from '../../server/safety/service/containers.ts';
import { addPhoto, logEntry } from '../../server/safety/service/log.ts';
import { entryBody } from '../../server/safety/service/log-forms.ts';
import { addMark, listOwnMarks, makeHousehold } from '../../server/ware/service/index.ts';
import { readAs } from '../helpers/loads.ts';
import { dayOf } from '../helpers/price-lists.ts';
import { aStudio, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';
import { aClay, somePieces } from '../helpers/ware.ts';

/** Stands in everything of hers, and may be read by nobody else. */
const CANARY = 'zanzibar-heron';

/**
 * Whose it is that a parameter of an address names, by the address up to it. `shared`: whoever holds the route's
 * permission may see it; what a role may not is tested in policy.test.ts. `word` and `secret` name no object that
 * could be guessed. Everything else belongs to somebody. A route with a parameter that is not here fails.
 */
const KINDS = {
  shared: [
    ...[
      '/assets/:file',
      '/batches/:number',
      '/bench/tiles/:id',
      '/buckets/:code',
      '/buckets/:code/tiles/:number',
    ],
    ...[
      '/clays/:id',
      '/clays/:id/bisque/:test',
      '/containers/:code',
      '/fees/dues/:id',
      '/fees/loads/:number',
    ],
    ...['/fees/prices/:number', '/fees/requests/:number', '/gear/:kind/:code', '/gear/floats/:code'],
    ...['/kilns/:code', '/kilns/:code/care/:number', '/kilns/loads/:number', '/kilns/schedules/:number'],
    ...['/kilns/loads/:number/pieces/:piece', '/kilns/loads/:number/outcomes/:piece', '/materials/:id'],
    ...['/materials/:id/lots/:number', '/materials/:id/stock/:number', '/notices/:number', '/recipes/:id'],
    ...[
      '/safety/briefings/:number',
      '/safety/duties/:number',
      '/safety/food/:number',
      '/safety/inductions/:id',
    ],
    ...['/tablet/buckets/:code', '/tablet/buckets/:code/notices/:number', '/ware/glazes/:code'],
    ...['/tablet/buckets/:code/take-back/:number', '/buckets/:code/events/:number'],
    ...['/containers/:code/events/:number'],
    ...[
      '/api/v1/buckets/:code',
      '/api/v1/buckets/:code/events/:number',
      '/api/v1/clays/:id',
      '/api/v1/floats/:code',
    ],
    ...['/api/v1/clays/:id/bisque-tests/:test', '/api/v1/coat-tiles/:id', '/api/v1/containers/:code'],
    ...[
      '/api/v1/firings/:number',
      '/api/v1/kilns/:code',
      '/api/v1/leach-tests/:number',
      '/api/v1/loads/:number',
    ],
    ...['/api/v1/materials/:id', '/api/v1/materials/:id/lots/:number', '/api/v1/materials/:id/stock/:number'],
    ...['/api/v1/notices/:id', '/api/v1/briefings/:number'],
  ],
  word: [
    '/gear/:kind',
    '/me/second-factor/:form',
    '/fees/months/:period',
    '/fees/statements/:account/:period',
  ],
  secret: ['/calendar/:secret', '/card/:secret', '/reset/:secret', '/welcome/:secret'],
  piece: ['/ware/:number', '/api/v1/pieces/:number'],
  account: ['/fees/accounts/:number', '/fees/statements/:account', '/api/v1/accounts/:member'],
  charge: ['/fees/entries/:number'],
  group: ['/ware/groups/:id'],
  mark: ['/ware/marks/:id'],
  entry: ['/safety/log/:number', '/api/v1/safety-log/:number'],
  file: ['/files/:sha256'],
} as const;
type Kind = keyof typeof KINDS;
const OPEN: readonly Kind[] = ['shared', 'word', 'secret'];

let s: Studio;
let ida: Person;
let other: Person;
let things: Record<Exclude<Kind, 'shared' | 'word' | 'secret'>, string>;
let bucket: string;
const MISSING = { file: '0'.repeat(64) } as Partial<Record<Kind, string>>;
const missing = (kind: Kind): string => MISSING[kind] ?? '909090';

beforeAll(async () => {
  s = await aStudio();
  ida = s.people.member;
  other = await s.aPerson('member', 'Tomas');
  bucket = await s.aBucket({ sg: 1.46 });
  const clay = await aClay(s);
  const [piece] = await somePieces(s, ida, {
    form: 'other',
    called: CANARY,
    clay,
    note: CANARY,
    place: CANARY,
  });
  const picture = await pictureIn({ bytes: await aPhoto(60, 50, '#81346b'), isTooLarge: false }, 'photo');
  const { group, entry } = await s.as(ida, async (act) => {
    const group = await makeHousehold(act, { name: CANARY });
    await addMark(act, { text: CANARY, kept: undefined }, picture);
    const entry = await logEntry(
      act,
      entryBody.parse({ kind: 'first-aid', place: 'Kiln room', what: `Cut: ${CANARY}` }),
    );
    return { group, entry };
  });
  const hidden = await pictureIn({ bytes: await aPhoto(61, 51, '#123456'), isTooLarge: false }, 'photo');
  await s.as(ida, (act) => addPhoto(act, entry, hidden));
  const [mark] = await listOwnMarks(readAs(s, ida));
  const { account, charge } = await s.as(s.people.technician, async (act) => {
    const [payer] = await payersFor(act, [{ kind: 'person', id: ida.id }]);
    const [posted] = await post(act, [
      {
        kind: 'charge',
        accountId: payer?.id ?? 0,
        against: 'income:other',
        netMinor: 100n,
        taxMinor: 0n,
        happenedAt: act.now,
        note: CANARY,
      },
    ]);
    return { account: payer?.number, charge: posted?.number };
  });
  things = {
    piece: String(piece),
    account: String(account),
    charge: String(charge),
    group: String(group),
    mark: String(mark?.id),
    entry: String(entry),
    file: hidden.sha256,
  };
});

/** What the parameters of an address name; null where one is not declared. */
const kindsOf = (url: string): (Kind | null)[] =>
  [...url.matchAll(/:\w+/g)].map(({ index, 0: name }) => {
    const upTo = url.slice(0, index + name.length);
    return (
      (Object.keys(KINDS) as Kind[]).find((kind) => (KINDS[kind] as readonly string[]).includes(upTo)) ?? null
    );
  });

const month = () => dayOf(s.clock.now()).slice(0, 7);
/** The address with things of hers, or with such as there are not. */
function filled(url: string, of: (kind: Kind) => string): string {
  const kinds = kindsOf(url);
  let at = 0;
  return url.replace(/:(\w+)/g, (_, name) => {
    const kind = kinds[at++] ?? 'shared';
    return OPEN.includes(kind) ? (name === 'period' ? month() : '1') : of(kind);
  });
}

/** What makes a form whole that checks its fields before it looks for the thing. */
const BODIES: Record<string, object> = {
  amend: { what: 'Not so' },
  people: { who: 'Wren' },
  remove: { person: 1 },
  glazes: { glazes: [] },
  'another-firing': { kind: 'lustre', cone: '018' },
  coat: { bucket: 'B1', face: 'all', seconds: 3 },
  weigh: { grams: 500 },
  'strike-weighing': { event: 1 },
  scratch: { position: 1, mm: 1 },
};

let keys = 0;
async function send(who: Person, method: string, url: string, path: string) {
  const body = BODIES[url.split('/').at(-1) ?? ''] ?? {};
  if (url.startsWith('/api/v1'))
    return s.api(who, method as 'GET', path.slice('/api/v1'.length), method === 'POST' ? body : undefined);
  if (method !== 'POST') return s.visit(who, path);
  const fields = Object.fromEntries(Object.entries(body).map(([name, value]) => [name, String(value)]));
  return s.submit(who, path, { ...fields, key: `others-things-${++keys}` });
}

/** Without numbers and what is made anew for every answer. */
const bare = (body: string) =>
  body
    .replaceAll(/(urn:request:|Request )[\w-]+/g, 'request')
    .replaceAll(/[\w-]{43}/g, 'key')
    .replaceAll(/[0-9a-f]{64}/g, 'hash')
    .replaceAll(/\d+/g, '#');

/** Every table but those that any request writes to, as one hash a table. */
async function tables(): Promise<Record<string, string>> {
  const { db } = s.database;
  const names = await db.execute<{ name: string }>(
    sql`select tablename as name from pg_tables where schemaname = 'public' and tablename not in ('sessions', 'idempotency_keys') order by 1`,
  );
  const all: Record<string, string> = {};
  for (const { name } of names) {
    const [row] = await db.execute<{ hash: string }>(
      sql`select count(*) || ' ' || coalesce(sum(hashtextextended(t::text, 0)), 0) as hash from ${sql.identifier(name)} t`,
    );
    all[name] = row?.hash ?? '';
  }
  return all;
}

const owned = () =>
  s.routes.filter(
    ({ method, url }) =>
      method !== 'HEAD' && kindsOf(url).some((kind) => kind !== null && !OPEN.includes(kind)),
  );

describe('every address that names a thing', () => {
  it('says here whose it is', () => {
    const unknown = s.routes.filter(({ url }) => kindsOf(url).includes(null)).map(({ url }) => url);
    expect([...new Set(unknown)]).toEqual([]);
    const prefixes = Object.values(KINDS).flat() as string[];
    const used = prefixes.filter((one) => s.routes.some(({ url }) => url.startsWith(one)));
    expect(used).toEqual(prefixes);
    expect(owned().length).toBeGreaterThan(60);
  });

  it('of hers tells another member no more than one that is not there, and changes nothing', async () => {
    const before = await tables();
    const wrong: string[] = [];
    for (const { method, url } of owned()) {
      const real = await send(
        other,
        method,
        url,
        filled(url, (kind) => things[kind as keyof typeof things]),
      );
      const none = await send(other, method, url, filled(url, missing));
      const what = `${method} ${url}: ${real.statusCode}, ${none.statusCode}`;
      const refused = real.statusCode === 403 || real.statusCode === 404;
      // Where a form's answer is loaded anew it leads to the page of the thing, whether there is one or not.
      const leads = real.statusCode === 303 && method === 'GET';
      if (!(refused || leads)) wrong.push(`${what}: let through`);
      if (real.statusCode !== none.statusCode || bare(real.body) !== bare(none.body))
        wrong.push(`${what}: differ`);
      if (bare(String(real.headers.location)) !== bare(String(none.headers.location)))
        wrong.push(`${what}: lead`);
      if (real.body.includes(CANARY)) wrong.push(`${what}: tells`);
    }
    expect(wrong).toEqual([]);
    expect(await tables()).toEqual(before);
  }, 120_000);

  it('of hers is there for her: the numbers above are the right ones', async () => {
    const wrong: string[] = [];
    const ends = (url: string) => /\/(end|off|remove)$/.test(url);
    const routes = owned().sort((a, b) => Number(ends(a.url)) - Number(ends(b.url)));
    for (const { method, url, permission } of routes) {
      if (permission === 'public' || !may('member', permission)) continue;
      // A piece with an owner is not on the shelf without names.
      if (url.endsWith('/claim')) continue;
      const answer = await send(
        ida,
        method,
        url,
        filled(url, (kind) => things[kind as keyof typeof things]),
      );
      const isThere = answer.statusCode < 400 || answer.statusCode === 409 || answer.statusCode === 422;
      const leadsAway = String(answer.headers.location).startsWith('/sign-in');
      // Nobody but she herself stands in her household.
      const isAlone = url.endsWith('/remove') && answer.body.includes('This person is not in the group.');
      if (!(isThere || isAlone) || leadsAway) wrong.push(`${method} ${url}: ${answer.statusCode}`);
    }
    expect(wrong).toEqual([]);
  }, 120_000);
});

describe('a list, a search and a file', () => {
  it('holds nothing of hers for another member', async () => {
    const wrong: string[] = [];
    for (const { method, url, permission } of s.routes) {
      if (method !== 'GET' || url.includes(':') || url.endsWith('/live')) continue;
      if (permission === 'public' || !may('member', permission)) continue;
      const { body, statusCode } = await send(other, method, url, url);
      if (statusCode >= 500 || body.includes(CANARY)) wrong.push(`${url}: ${statusCode}`);
    }
    expect(wrong).toEqual([]);
  }, 60_000);

  it.each([
    (piece: string) => `/ware/tags?pieces=${piece}`,
    (piece: string) => `/bench/poster?piece=${piece}`,
    (piece: string) => `/ware?did=dry&pieces=${piece}`,
    () => '/bench?whose=everybody&all=yes',
    () => '/safety/log?kind=first-aid',
    () => '/api/v1/safety-log?kind=first-aid&limit=200',
    (piece: string) => `/api/v1/pieces?before=${Number(piece) + 1}`,
  ])('asked for by a field of the address neither: %#', async (address) => {
    const url = address(things.piece);
    const { body, statusCode } = await send(other, 'GET', url, url);
    expect(statusCode).toBeLessThan(500);
    expect(body).not.toContain(CANARY);
  });

  it('of everybody is refused to whoever asks for it without the right', async () => {
    expect((await s.api(other, 'GET', '/pieces?everybody=yes')).statusCode).toBe(403);
  });

  it('by an e-mail address says the same for hers as for one of nobody', async () => {
    const hers = await s.api(other, 'GET', `/accounts/${encodeURIComponent(ida.email)}`);
    const none = await s.api(other, 'GET', '/accounts/nobody%40millrace.example');
    expect([hers.statusCode, bare(hers.body)]).toEqual([404, bare(none.body)]);
  });
});

describe('a field that names something of somebody else', () => {
  const untouched = async (work: () => Promise<unknown>) => {
    const before = await tables();
    await work();
    expect(await tables()).toEqual(before);
  };

  it('takes no piece into a household that one is not in, and none at its cost', async () => {
    await untouched(async () => {
      for (const more of [{ group: CANARY }, { group: CANARY, payer: 'group' }]) {
        const body = { form: 'cup', cone: '6', howMany: 1, ...more };
        const answer = await s.api(other, 'POST', '/pieces', body);
        expect([403, 404, 422], answer.body).toContain(answer.statusCode);
      }
    });
  });

  it('moves none of her pieces along with one of one’s own', async () => {
    const [own] = await somePieces(s, other, { form: 'cup', ownClay: 'From home', begins: 'drying' });
    await untouched(async () => {
      const answer = await s.submit(other, `/ware/${own}/ask-dry`, {
        ...{ also: things.piece, key: 'others-things-also' },
      });
      expect(answer.statusCode).toBeGreaterThanOrEqual(400);
      expect(answer.body).not.toContain(CANARY);
    });
  });

  it('uses no photo that somebody else sent', async () => {
    await untouched(async () => {
      const answer = await s.submit(other, '/ware/marks', { text: 'Wave', kept: things.file });
      expect(answer.statusCode).toBe(422);
    });
  });

  it('ends no token of hers', async () => {
    await s.submit(ida, '/me/tokens', { name: 'Scale of Ida', expires: '30', may: 'everything' });
    await untouched(async () => {
      expect((await s.submit(other, '/me/tokens/revoke', { name: 'Scale of Ida' })).statusCode).toBe(404);
    });
  });
});

describe('what somebody wrote into a shared book', () => {
  it('is struck out by no other member', async () => {
    const { technician } = s.people;
    const stir = await s.api(ida, 'POST', `/buckets/${bucket}/stirs`, {});
    expect(stir.statusCode).toBe(201);
    const event = (await s.api(ida, 'GET', `/buckets/${bucket}/events`)).json().events[0].number;
    await s.as(technician, (act) =>
      createContainer(
        act,
        newContainerBody.parse({ kind: 'waste', code: 'DRUM', name: 'Drum', capacityLitres: 20 }),
      ),
    );
    await s.as(technician, (act) =>
      recordAtContainer(act, 'DRUM', containerEventBody.parse({ kind: 'in', litres: 1 })),
    );
    const { number } = await s.as(ida, (act) =>
      holdBriefing(act, {
        ...{ className: 'Tuesday', heads: 1, hasChildren: false, buckets: [], roster: ['Ann'] },
        heldOn: dayOf(s.clock.now()),
      }),
    );
    const before = await tables();
    const reason = { reason: 'Not mine' };
    for (const url of [
      `/buckets/${bucket}/events/${event}/void`,
      '/containers/DRUM/events/1/void',
      `/safety/briefings/${number}/strike-out`,
    ]) {
      const answer = await s.submit(other, url, { ...reason, key: `others-book-${++keys}` });
      expect([403, 409], `${url}: ${answer.body.slice(-600)}`).toContain(answer.statusCode);
    }
    expect((await s.api(other, 'POST', `/buckets/${bucket}/events/${event}/void`, reason)).statusCode).toBe(
      403,
    );
    expect((await s.api(other, 'POST', `/briefings/${number}/strike-out`, reason)).statusCode).toBe(403);
    expect(await tables()).toEqual(before);
  });
});

describe('a technician', () => {
  it('gets hold of no manager: no link for a password, no role, no way out, no factor ended', async () => {
    const { technician, manager } = s.people;
    const before = await tables();
    const { email } = manager;
    for (const [url, fields] of [
      ['/people/reset-link', { email }],
      ['/people/role', { email, role: 'member' }],
      ['/people/role', { email: technician.email, role: 'manager' }],
      ['/people/activity', { email, active: 'no' }],
      ['/people/second-factor/end', { email }],
      ['/people/invite', { name: 'Friend', email: 'friend@millrace.example', role: 'manager' }],
    ] as const) {
      const answer = await s.submit(technician, url, fields);
      expect(answer.statusCode, url).toBe(403);
      expect(answer.body, url).not.toMatch(/\/(reset|welcome)\//);
    }
    expect(await tables()).toEqual(before);
    const still = await s.submit(null, '/sign-in', { email, password: PASSWORD });
    expect(still.statusCode).toBe(303);
  });
});
