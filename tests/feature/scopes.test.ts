import { beforeAll, describe, expect, it } from 'vitest';
import { type Permission, SCOPE_NAMES, type Scope } from '../../server/core/policy.ts';
import { tokens } from '../../server/core/schema.ts';
import { randomSecret, secretHash } from '../../server/core/secrets.ts';
import { issueToken } from '../../server/members/service/tokens.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

/** What each scope opens: written down once more, so that neither the table nor a route changes unseen. */
const READS: Partial<Record<Scope, Permission[]>> = {
  'buckets:read': ['buckets.see'],
  'ware:read': ['ware.own'],
  'kilns:read': ['kilns.see', 'loads.see', 'loads.plan', 'faults.see'],
  'materials:read': ['materials.see'],
  'notices:read': ['notices.read'],
  'safety:read': ['safety.see', 'containers.see', 'food.see'],
  'fees:read': ['fees.own', 'fees.see-all', 'fees.export'],
};
const WRITES: Partial<Record<Scope, string[]>> = {
  'buckets:record': ['/api/v1/buckets/:code/readings'],
  'kilns:log': ['/api/v1/firings/:number/log'],
};

const opens = (scope: Scope, { method, url, permission }: Studio['routes'][number]): boolean =>
  method === 'POST'
    ? (WRITES[scope]?.includes(url) ?? false)
    : (READS[scope]?.some((one) => one === permission) ?? false);

async function limited(person: Person, scopes: string[] | null): Promise<string> {
  const token = randomSecret();
  await s.database.db
    .insert(tokens)
    .values({ personId: person.id, name: token, hash: secretHash(token), scopes, createdAt: s.clock.now() });
  return token;
}

const fill = (url: string) => url.replace(/:(number|id)/g, '1').replace(/:\w+/g, 'none');
const send = (token: string, method: string, url: string) =>
  s.app.inject({
    method: method as 'GET',
    url: fill(url),
    headers: { authorization: `Bearer ${token}` },
    ...(method === 'POST' && { payload: {} }),
  });

const api = () =>
  s.routes.filter(({ url, permission }) => url.startsWith('/api/') && permission !== 'public');

describe('a token that is limited', () => {
  it.each(SCOPE_NAMES)('to %s opens what that names and nothing else of the whole API', async (scope) => {
    const token = await limited(s.people.manager, [scope]);
    const seen = { open: 0, shut: 0 };
    for (const route of api()) {
      const { statusCode, body } = await send(token, route.method, route.url);
      const what = `${route.method} ${route.url}: ${statusCode} ${body}`;
      if (opens(scope, route)) {
        expect([200, 404, 422], what).toContain(statusCode);
        seen.open++;
      } else {
        expect(statusCode, what).toBe(403);
        seen.shut++;
      }
    }
    expect(seen.open).toBeGreaterThan(0);
    expect(seen.shut).toBeGreaterThan(60);
  });

  it('to several opens what each of them does', async () => {
    const token = await limited(s.people.manager, ['buckets:read', 'buckets:record']);
    const code = await s.aBucket({ sg: 1.46 });
    expect((await send(token, 'GET', `/api/v1/buckets/${code}`)).statusCode).toBe(200);
    const reading = await s.app.inject({
      method: 'POST',
      url: `/api/v1/buckets/${code}/readings`,
      headers: { authorization: `Bearer ${token}` },
      payload: { method: 'weighed', grams: 1465, millilitres: 1000 },
    });
    expect(reading.statusCode, reading.body).toBe(201);
    expect((await send(token, 'POST', `/api/v1/buckets/${code}/stirs`)).statusCode).toBe(403);
    expect((await send(token, 'GET', '/api/v1/kilns')).statusCode).toBe(403);
  });

  it('can be limited to whatever can be read: one scope, and no other, opens it', () => {
    const none = api()
      .filter(({ method }) => method === 'GET')
      .filter((route) => SCOPE_NAMES.filter((scope) => opens(scope, route)).length !== 1)
      .map(({ url }) => url);
    expect(none).toEqual([]);
  });

  it('says what it would take', async () => {
    const token = await limited(s.people.manager, ['fees:read']);
    expect((await send(token, 'GET', '/api/v1/buckets')).json().detail).toBe(
      'This token lacks the scope buckets:read.',
    );
    expect((await send(token, 'POST', '/api/v1/buckets')).json().detail).toBe(
      'No scope opens this: it needs a token that may do everything its person may.',
    );
    const other = await limited(s.people.manager, ['of-a-later-release']);
    const csv = '/api/v1/fees/export.csv?from=2026-03-01&to=2026-03-31';
    const refused = await send(other, 'GET', csv);
    expect(refused.statusCode).toBe(403);
    expect(refused.json().detail).toBe('This token lacks the scope fees:read.');
    expect((await send(token, 'GET', csv)).statusCode).toBe(200);
    expect((await send(await limited(s.people.manager, []), 'GET', csv)).statusCode).toBe(403);
  });

  it('is no more than its person may do', async () => {
    const token = await limited(s.people.member, ['fees:read']);
    const refused = await send(token, 'GET', '/api/v1/fees/export.csv?from=2026-03-01&to=2026-03-31');
    expect(refused.statusCode).toBe(403);
    expect(refused.json().detail).not.toContain('scope');
  });

  it('is made on one’s own page and listed there with what it may', async () => {
    const { manager } = s.people;
    const made = await s.submit(manager, '/me/tokens', {
      name: 'Bookkeeping',
      expires: '30',
      may: 'fees:read',
    });
    expect(made.statusCode).toBe(200);
    const token = /value="([\w-]{20,100})"/.exec(made.body)?.[1] as string;
    expect((await send(token, 'GET', '/api/v1/buckets')).statusCode).toBe(403);
    expect((await s.services.sessions.findByToken(token))?.scopes).toEqual(['fees:read']);
    expect((await s.visit(manager, '/me')).body).toContain('read fees and accounts');
    const two = { name: 'Scale', expires: 'never', may: ['buckets:record', 'buckets:read'] };
    expect((await s.submit(manager, '/me/tokens', two)).statusCode).toBe(200);
    const page = (await s.visit(manager, '/me')).body;
    expect(page).toContain('read buckets and gear, record readings of buckets');
    for (const may of [[], ['everything', 'fees:read'], ['fees:write']]) {
      const refused = await s.submit(manager, '/me/tokens', { name: 'Wrong', expires: '30', may });
      expect(refused.statusCode, String(may)).toBe(422);
    }
    const odd = await s.submit(manager, '/me/tokens', { name: 'Odd', expires: '30', may: 'everything-else' });
    expect(odd.statusCode).toBe(422);
  });

  it('is made from the command line too', async () => {
    const { manager } = s.people;
    const wish = { name: 'From the server', days: 365, scopes: ['fees:read' as const] };
    const token = await s.database.transaction((tx) =>
      issueToken({ tx, now: s.clock.now() }, manager.email, wish),
    );
    expect((await send(token, 'GET', '/api/v1/kilns')).statusCode).toBe(403);
  });
});

it('a token without limits does what its person may', async () => {
  const token = await limited(s.people.technician, null);
  expect((await send(token, 'GET', '/api/v1/buckets')).statusCode).toBe(200);
});
