import { beforeAll, describe, expect, it } from 'vitest';
import { tokens } from '../../server/core/schema.ts';
import { randomSecret, secretHash } from '../../server/core/secrets.ts';
import { issueToken } from '../../server/members/service/tokens.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const OPEN = ['fees.own', 'fees.see-all', 'fees.export'];

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

describe('a token for reading fees', () => {
  it('opens what reads fees and nothing else of the whole API', async () => {
    const token = await limited(s.people.manager, ['fees:read']);
    const seen = { open: 0, shut: 0 };
    for (const { method, url, permission } of s.routes) {
      if (!url.startsWith('/api/') || permission === 'public') continue;
      const { statusCode, body } = await send(token, method, url);
      const what = `${method} ${url}: ${statusCode} ${body}`;
      if (method !== 'POST' && OPEN.includes(permission)) {
        expect([200, 404, 422], what).toContain(statusCode);
        seen.open++;
      } else {
        expect(statusCode, what).toBe(403);
        seen.shut++;
      }
    }
    expect(seen.open).toBeGreaterThan(3);
    expect(seen.shut).toBeGreaterThan(40);
  });

  it('says what it would take', async () => {
    const token = await limited(s.people.manager, ['fees:read']);
    expect((await send(token, 'GET', '/api/v1/buckets')).json().detail).toBe(
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
