import { request } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import { text } from 'node:stream/consumers';
import { beforeAll, describe, expect, it } from 'vitest';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

let s: Studio;
let code: string;
let port: number;
beforeAll(async () => {
  s = await aStudio();
  code = await s.aBucket({ sg: 1.46 });
  await s.app.listen({ host: '127.0.0.1', port: 0 });
  port = (s.app.server.address() as AddressInfo).port;
});

const token = () => ({ authorization: `Bearer ${s.people.manager.token}` });
const json = (url: string, payload: string) =>
  s.app.inject({
    method: 'POST',
    url: `/api/v1${url}`,
    payload,
    headers: { ...token(), 'content-type': 'application/json' },
  });

describe('what every answer carries', () => {
  it('lets no script run that is not ours, whatever kind of answer it is', async () => {
    const { manager, technician } = s.people;
    const photo = await upload(
      s,
      technician,
      `/buckets/${code}/tiles/new`,
      { clay: 'Buff', cone: '6' },
      { bytes: await aPhoto() },
    );
    expect(photo.statusCode).toBe(303);
    const tiles = await s.visit(manager, `/buckets/${code}/tiles`);
    const file = /\/files\/[0-9a-f]{64}/.exec(tiles.body)?.[0] ?? '';
    const asset = /\/assets\/[\w.-]+\.js/.exec(tiles.body)?.[0] ?? '';
    const answers = {
      page: tiles,
      part: await s.visit(manager, '/wall', PARTIAL),
      'nothing here': await s.visit(manager, '/nowhere'),
      'not allowed': await s.visit(s.people.member, '/people'),
      'another site': await s.submit(manager, '/sign-out', {}, { origin: 'http://evil.example' }),
      'wrong form': await s.submit(manager, '/sign-in', { email: 'x', password: '' }),
      'a broken address': await s.visit(manager, '/buckets/%E0%A4%A'),
      'another kind of body': await s.submit(manager, '/me', {}, { 'content-type': 'text/xml' }),
      'too large': await s.submit(manager, '/me', { name: 'x'.repeat(300_000) }),
      'no such method': await s.app.inject({ method: 'DELETE', url: '/me' }),
      redirect: await s.visit(null, '/me'),
      picture: await s.visit(manager, file),
      script: await s.visit(null, asset),
      worker: await s.visit(null, '/offline.js'),
      csv: await s.visit(manager, `/history.csv?bucket=${code}`),
      'a problem': await s.app.inject({ url: '/api/v1/buckets' }),
      openapi: await s.app.inject({ url: '/api/v1/openapi.json' }),
      health: await s.app.inject({ url: '/healthz' }),
    };
    for (const [what, { headers, statusCode }] of Object.entries(answers)) {
      const policy = String(headers['content-security-policy']);
      expect(statusCode, what).toBeLessThan(500);
      expect(policy, what).toMatch(/default-src '(self|none)'/);
      expect(policy, what).not.toMatch(/unsafe|data:|blob:|\*|https?:/);
      expect(headers['x-content-type-options'], what).toBe('nosniff');
      expect(headers['referrer-policy'], what).toBe('same-origin');
      expect(headers['access-control-allow-origin'], what).toBeUndefined();
      expect(headers['x-powered-by'] ?? headers.server, what).toBeUndefined();
    }
    expect(answers['a broken address'].statusCode).toBe(400);
    expect(answers['a broken address'].body).not.toContain('%E0');
    expect(answers.picture.headers['content-type']).toBe('image/jpeg');
    expect(answers.script.statusCode).toBe(200);
    expect(answers.worker.statusCode).toBe(200);
    expect(String(answers.csv.headers['content-disposition'])).toMatch(/^attachment; filename="[\w.-]+"$/);
  });

  it.each(['TRACE', 'PUT', 'PATCH', 'DELETE', 'PROPFIND', 'OPTIONS'])(
    '%s does nothing anywhere',
    async (method) => {
      const answer = await new Promise<{ status: number; body: string }>((resolve, reject) => {
        const out = request({
          host: '127.0.0.1',
          port,
          method,
          path: '/me',
          headers: { cookie: s.people.member.cookie },
        });
        out.on('error', reject);
        out.on('response', async (got) => resolve({ status: got.statusCode ?? 0, body: await text(got) }));
        out.end();
      });
      expect(answer.status).toBeGreaterThanOrEqual(400);
      expect(answer.status).toBeLessThan(500);
      expect(answer.body).not.toContain(s.people.member.cookie);
    },
  );
});

describe('an address that climbs', () => {
  const climbs = [
    ...['../package.json', '..%2fpackage.json', '%2e%2e/%2e%2e/etc/passwd', '..%5c..%5cetc%5cpasswd'],
    ...[
      '%252e%252e%252fetc%252fpasswd',
      '....//....//etc/passwd',
      '%00',
      'a%00.css',
      '.',
      '..',
      'C:%5cwindows',
    ],
    ...['%2fetc%2fpasswd', 'wareboard.css%00.js', '..;/package.json', '__proto__', 'constructor', 'toString'],
  ];
  it.each(climbs)('finds no file: %s', async (path) => {
    for (const folder of ['/assets/', '/files/', '/api/v1/', '/calendar/', '/']) {
      const { statusCode, body } = await s.visit(s.people.manager, folder + path);
      if (statusCode < 400 && folder === '/') continue; // a page of ours, by its right name
      expect(statusCode, folder + path).toBeLessThan(500);
      expect(body, folder + path).not.toMatch(/root:x:|"devDependencies"|"scripts":/);
      if (folder === '/assets/' || folder === '/files/')
        expect([301, 302, 303, 400, 404], folder + path).toContain(statusCode);
    }
  });
});

describe('a header', () => {
  it('is not begun by what somebody typed', async () => {
    const lure = '/me\r\nset-cookie: wareboard=mine\r\n\r\n<script>alert(1)</script>';
    for (const answer of [
      await s.visit(null, `/sign-in?next=${encodeURIComponent(lure)}`),
      await s.visit(null, `/${encodeURIComponent(lure)}`),
      await s.visit(s.people.manager, `/history.csv?bucket=${encodeURIComponent(`${code}"\r\nx-mine: 1`)}`),
      await s.visit(s.people.manager, `/fees/export/charges.csv?from=${encodeURIComponent(lure)}`),
      await s.submit(null, '/sign-in', {
        ...{ email: s.people.member.email, password: 'wrong', next: lure },
      }),
    ]) {
      expect(answer.statusCode).toBeLessThan(500);
      expect(String(answer.headers['set-cookie'])).not.toContain('mine');
      expect(answer.headers['x-mine']).toBeUndefined();
      expect(String(answer.headers.location ?? '')).not.toMatch(/[\r\n]/);
    }
  });

  it('that names another host leads nobody there', async () => {
    const { manager } = s.people;
    const evil = { host: 'evil.example', 'x-forwarded-host': 'evil.example', origin: 'http://evil.example' };
    const own = await aStudio({ PUBLIC_URL: 'https://glaze.millrace.example' });
    const refused = await own.visit(own.people.manager, '/wall', { host: 'evil.example' });
    expect(refused.statusCode).toBe(421);
    const named = { host: 'glaze.millrace.example', 'x-forwarded-host': 'evil.example' };
    const link = await own.submit(
      own.people.manager,
      '/people/invite',
      { email: 'sol@x.example', role: 'member' },
      {
        ...{ ...named, origin: 'https://glaze.millrace.example' },
      },
    );
    expect(link.statusCode).toBe(200);
    expect(link.body).not.toContain('evil.example');
    // Without an address of its own the host is what the browser names: only whoever asks is led astray by it.
    const redirect = await s.visit(null, '/me', evil);
    expect(String(redirect.headers.location)).toMatch(/^\/sign-in/);
    expect((await s.visit(manager, '/wall', { 'x-forwarded-host': 'evil.example' })).body).not.toContain(
      'evil.example',
    );
  });

  it('of a proxy is believed only where one was named', async () => {
    const from = { 'x-forwarded-for': '203.0.113.9' };
    const { email } = await s.aPerson();
    await s.submit(null, '/sign-in', { email, password: 'wrong wrong wrong' }, from);
    const rows = await s.database.db.execute<{ row: string }>(
      'select t::text as row from sign_in_failures t',
    );
    expect(rows.map(({ row }) => row).join()).toContain('127.0.0.1');
    expect(rows.map(({ row }) => row).join()).not.toContain('203.0.113.9');
  });
});

describe('JSON', () => {
  it.each([
    ['a prototype', '{"__proto__": {"isAdmin": true}, "litres": 1}'],
    ['a constructor', '{"constructor": {"prototype": {"isAdmin": true}}, "litres": 1}'],
    ['fields nobody asked for', '{"role": "manager", "by": 1, "id": 1}'],
    ['a number too large for one', '{"litres": 1e999}'],
    ['a number of a million digits', `{"litres": ${'9'.repeat(200_000)}}`],
    ['lists in lists', `${'['.repeat(100_000)}${']'.repeat(100_000)}`],
    ['objects in objects', `${'{"a":'.repeat(40_000)}1${'}'.repeat(40_000)}`],
    ['a list', '[]'],
    ['null', 'null'],
    ['a byte that is no text', '{"note": "\\ud800"}'],
    ['nothing', ''],
  ])('that is or has %s is refused', async (_what, payload) => {
    for (const url of [`/buckets/${code}/levels`, `/buckets/${code}/notes`, '/pieces']) {
      const { statusCode } = await json(url, payload);
      expect(statusCode, url).toBeGreaterThanOrEqual(400);
      expect(statusCode, url).toBeLessThan(500);
    }
    expect(Object.hasOwn(Object.prototype, 'isAdmin')).toBe(false);
  });

  it('that says a thing twice means the last, to whoever checks it and whoever keeps it', async () => {
    const answer = await json(
      '/buckets',
      `{"code": "ONE", "code": "TWICE", "name": "a", "name": "b", "capacityLitres": 20, "solidsDensity": 2.6, "target": {"aim": 1.46}}`,
    );
    expect(answer.statusCode, answer.body).toBe(201);
    expect((await s.api(s.people.member, 'GET', '/buckets/ONE')).statusCode).toBe(404);
    expect((await s.api(s.people.member, 'GET', '/buckets/TWICE')).json().name).toBe('b');
  });
});

describe('a field that comes twice', () => {
  it('is refused or read as one, in forms and in addresses', async () => {
    const { member } = s.people;
    const twice = await s.submit(member, '/me', { name: ['Ida', 'Maro'], units: 'metric' });
    expect([303, 422]).toContain(twice.statusCode);
    expect((await s.visit(member, '/me')).body).not.toContain('Ida,Maro');
    const both = await s.submit(member, '/sign-in', {
      email: [member.email, s.people.manager.email],
      password: 'x',
    });
    expect(both.statusCode).toBe(422);
    for (const url of [
      '/pieces?everybody=no&everybody=yes',
      '/pieces?limit=1&limit=100000',
      '/loads?before=1&before=2',
    ])
      expect([403, 422], url).toContain((await s.api(member, 'GET', url)).statusCode);
  });
});

describe('a request that is two', () => {
  /** Bytes as they are, over a connection of their own; all that comes back. */
  const raw = (bytes: string) =>
    new Promise<string>((resolve) => {
      const socket = connect(port, '127.0.0.1', () => socket.end(bytes));
      let got = '';
      socket.on('data', (part) => {
        got += String(part);
      });
      socket.on('error', () => resolve(got));
      socket.on('close', () => resolve(got));
    });
  const hidden = 'GET /api/v1/openapi.json HTTP/1.1\r\nHost: x\r\n\r\n';

  it.each([
    ['two lengths', `Content-Length: 5\r\nContent-Length: ${hidden.length}\r\n`],
    ['a length and chunks', `Content-Length: ${hidden.length}\r\nTransfer-Encoding: chunked\r\n`],
    ['chunks that are none', 'Transfer-Encoding: xchunked\r\n'],
    ['chunks under another name', 'Transfer-Encoding : chunked\r\n'],
    ['a folded header', 'X-One: 1\r\n Transfer-Encoding: chunked\r\n'],
    ['a bare line feed', 'X-One: 1\nTransfer-Encoding: chunked\r\n'],
  ])('by %s is refused and the connection ended', async (_what, headers) => {
    const got = await raw(`POST /sign-in HTTP/1.1\r\nHost: x\r\n${headers}\r\n0\r\n\r\n${hidden}`);
    expect(got).toMatch(/^HTTP\/1\.1 (400|411|413|415)/);
    expect(got).not.toContain('"openapi"');
  });
});
