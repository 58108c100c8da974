import Fastify from 'fastify';
import { beforeAll, describe, expect, it } from 'vitest';
import { guard } from '../../server/core/http.ts';
import { PERMISSIONS, type Role } from '../../server/core/policy.ts';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';

let s: Studio;
let routes: Studio['routes'];
beforeAll(async () => {
  s = await aStudio();
  routes = s.routes;
});

const ROLES: Role[] = ['member', 'technician', 'manager'];
const fill = (url: string) =>
  url
    .replace(/:number/, '1')
    .replace(/:id/, '1')
    .replace(/:\w+/g, 'none');

describe('every route', () => {
  it('that is open to strangers is on this list', () => {
    expect(routes.length).toBeGreaterThan(40);
    const open = routes.filter((r) => r.permission === 'public' && r.method !== 'HEAD');
    expect(open.map((r) => `${r.method} ${r.url}`).sort()).toEqual([
      'GET /api/v1/openapi.json',
      'GET /assets/:file',
      'GET /calendar/:secret.ics',
      'GET /healthz',
      'GET /offline.js',
      'GET /pair',
      'GET /readyz',
      'GET /reset/:secret',
      'GET /setup',
      'GET /sign-in',
      'GET /sign-in/code',
      'GET /unpaired',
      'GET /welcome/:secret',
      'POST /pair',
      'POST /reset/:secret',
      'POST /setup',
      'POST /sign-in',
      'POST /sign-in/code',
      'POST /sign-out',
      'POST /welcome/:secret',
    ]);
  });

  it('asks a stranger to sign in, on pages, with htmx and over the API', async () => {
    for (const { method, url, permission } of routes) {
      if (permission === 'public') continue;
      const target = fill(url);
      const headers = { origin: 'http://localhost', host: 'localhost' };
      const answer = await s.app.inject({ method: method as 'GET', url: target, headers });
      const partial = await s.app.inject({
        method: method as 'GET',
        url: target,
        headers: { ...headers, ...PARTIAL },
      });
      if (url.startsWith('/api/') || url.endsWith('/live')) {
        expect(answer.statusCode, `${method} ${url}`).toBe(401);
        expect(answer.headers['content-type'], `${method} ${url}`).toContain('application/problem+json');
      } else {
        expect(answer.statusCode, `${method} ${url}`).toBe(303);
        expect(answer.headers.location, `${method} ${url}`).toMatch(/^\/sign-in/);
        expect(partial.statusCode, `${method} ${url}`).toBe(401);
        expect(partial.headers['hx-redirect'], `${method} ${url}`).toMatch(/^\/sign-in/);
      }
    }
  });

  it.each(ROLES)(
    'is closed to a %s who lacks its permission, open to one who has it',
    async (role) => {
      for (const { method, url, permission } of routes) {
        if (permission === 'public') continue;
        const person = await s.aPerson(role);
        const api = url.startsWith('/api/');
        const answer = await s.app.inject({
          method: method as 'GET',
          url: fill(url),
          headers: {
            host: 'localhost',
            ...(api
              ? { authorization: `Bearer ${person.token}` }
              : { cookie: person.cookie, origin: 'http://localhost' }),
          },
        });
        const allowed = (PERMISSIONS[permission] as readonly Role[]).includes(role);
        const what = `${role} ${method} ${url}: ${answer.statusCode}`;
        expect(answer.statusCode, what).toBeLessThan(500);
        if (allowed) expect(answer.statusCode, what).not.toBe(401);
        else expect(answer.statusCode, what).toBe(403);
      }
    },
    120_000,
  );
});

describe('the guard', () => {
  it('does not let the app start with a route that names no permission', () => {
    const app = Fastify();
    guard(app, s.services);
    expect(() => app.get('/loose', () => 'hello')).toThrow(/names no permission/);
  });

  it('refuses a form from another site, whatever it says of itself', async () => {
    const { cookie } = await s.aPerson('member');
    const send = (headers: Record<string, string>) =>
      s.app.inject({ method: 'POST', url: '/sign-out', headers: { host: 'localhost', cookie, ...headers } });
    expect((await send({ origin: 'http://evil.example' })).statusCode).toBe(403);
    expect((await send({ origin: 'null' })).statusCode).toBe(403);
    expect((await send({ 'sec-fetch-site': 'cross-site' })).statusCode).toBe(403);
    expect((await send({ 'sec-fetch-site': 'same-site' })).statusCode).toBe(403);
    expect((await send({})).statusCode).toBe(403);
    expect((await send({ 'sec-fetch-site': 'same-origin' })).statusCode).toBe(303);
  });

  it('does not take a cookie for the API, nor a token for a page', async () => {
    const { member } = s.people;
    expect(
      (await s.app.inject({ url: '/api/v1/buckets', headers: { cookie: member.cookie } })).statusCode,
    ).toBe(401);
    const page = await s.app.inject({ url: '/wall', headers: { authorization: `Bearer ${member.token}` } });
    expect(page.statusCode).toBe(303);
  });

  it('sends a strict policy with every answer, and keeps signed-in pages out of caches', async () => {
    const page = await s.visit(s.people.member, '/wall');
    expect(page.headers['content-security-policy']).toBe(
      "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    );
    expect(page.headers['cache-control']).toBe('no-store');
    expect(page.headers.vary).toContain('HX-Request-Type');
    expect(page.body).not.toMatch(/\sstyle="/);
    expect(page.body).not.toMatch(/<script(?![^>]*\ssrc=)/);
  });

  it('answers a part of the page for htmx, the whole otherwise, history included', async () => {
    const whole = await s.visit(s.people.member, '/wall');
    const part = await s.visit(s.people.member, '/wall', PARTIAL);
    const back = await s.visit(s.people.member, '/wall', {
      'hx-request-type': 'full',
      'hx-history-restore-request': 'true',
    });
    expect(whole.body).toMatch(/^<!doctype html>/i);
    expect(part.body).not.toMatch(/<!doctype html>/i);
    expect(back.body).toMatch(/^<!doctype html>/i);
  });

  it('lets nobody but its own host in when PUBLIC_URL is set, and makes cookies Secure', async () => {
    const tls = await aStudio({ PUBLIC_URL: 'https://glaze.millrace.example' });
    const other = await tls.app.inject({ url: '/wall', headers: { host: 'elsewhere.example' } });
    expect(other.statusCode).toBe(421);
    const ours = await tls.app.inject({ url: '/sign-in', headers: { host: 'glaze.millrace.example' } });
    expect(ours.statusCode).toBe(200);
    expect(ours.headers['strict-transport-security']).toMatch(/max-age=31536000/);
    expect(await tls.services.sessions.start(tls.people.member.id)).toMatch(
      /^__Host-wareboard=.*HttpOnly.*Secure/,
    );
    expect(
      (await tls.app.inject({ url: '/healthz', headers: { host: 'elsewhere.example' } })).statusCode,
    ).toBe(200);
  });
});

describe('answers to what is not there', () => {
  it('a page for people, problem+json for programs, with a request id', async () => {
    const page = await s.visit(s.people.member, '/nowhere');
    expect(page.statusCode).toBe(404);
    expect(page.body).toContain('Request ');
    const api = await s.api(s.people.member, 'GET', '/nowhere');
    expect(api.statusCode).toBe(404);
    expect(api.headers['content-type']).toContain('application/problem+json');
    expect(api.json().instance).toMatch(/^urn:request:/);
  });

  it('liveness and readiness', async () => {
    expect((await s.app.inject('/healthz')).json()).toEqual({ status: 'alive' });
    expect((await s.app.inject('/readyz')).json()).toEqual({ status: 'ready' });
  });
});
