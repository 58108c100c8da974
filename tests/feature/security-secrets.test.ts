import { Writable } from 'node:stream';
import { sql } from 'drizzle-orm';
import type { LightMyRequestResponse } from 'fastify';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../server/app.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { phoneShows } from '../helpers/second-factor.ts';
import { aStudio, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';
import { aTablet } from '../helpers/tablet.ts';

let s: Studio;
let owner: postgres.Sql;
let log = '';
/** Whatever was typed or handed out here that would let somebody in, by what it is. */
const secrets = new Map<string, string>();

const secret = (what: string, value: string | undefined): string => {
  if (!value || value.length < 4) throw new Error(`no ${what}`);
  secrets.set(what, value);
  return value;
};
const cookieOf = (answer: LightMyRequestResponse, name: string): string => {
  const set = [answer.headers['set-cookie'] ?? []].flat().map(String);
  return new RegExp(`(?:^|\n)${name}=([^;]+)`).exec(set.join('\n'))?.[1] ?? '';
};
const shown = (body: string, pattern: RegExp): string => pattern.exec(body)?.[1] ?? '';
/** Digits stand in a time or a number by chance, so that they count only as a word of their own. */
const tells = (text: string, value: string): boolean =>
  /^\d+$/.test(value) ? new RegExp(`(?<![\\w.-])${value}(?![\\w.-])`).test(text) : text.includes(value);
let keys = 0;
const send = (who: Person | null, url: string, fields: Record<string, string | string[]>, headers = {}) =>
  s.submit(who, url, { key: `secrets-form-${++keys}`, ...fields }, headers);

beforeAll(async () => {
  s = await aStudio();
  const stream = new Writable({
    write(line, _encoding, done) {
      log += String(line);
      done();
    },
  });
  // The same requests, to an app that writes down all that it can.
  const logging = await buildApp(s.services, { logger: { level: 'trace', stream } });
  await logging.ready();
  s.app.inject = logging.inject.bind(logging) as typeof s.app.inject;
  owner = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
  whenFileIsDone(async () => {
    await logging.close();
    await owner.end();
  });
});

/** Every way in, used as it should be and with something wrong about it. */
async function everyWayIn(): Promise<void> {
  const { manager, technician } = s.people;
  const ida = await s.aPerson('member', 'Ida Two');
  secret('the session of a start', ida.cookie.split('=')[1]);
  secret('a token of a start', ida.token);

  await send(null, '/sign-in', { email: ida.email, password: secret('a wrong password', 'wrong heron 81') });
  await send(null, '/sign-in', {
    email: secret('a password typed as a name', 'my secret heron 9'),
    password: 'x',
  });
  const signedIn = await send(null, '/sign-in', {
    email: ida.email,
    password: secret('the password', PASSWORD),
  });
  secret('a session', cookieOf(signedIn, 'wareboard'));
  await send(ida, '/me/password', {
    current: PASSWORD,
    password: secret('a new password', 'four blue jug handles'),
  });
  const now = (await s.services.sessions.start(ida.id)).split(';')[0] as string;
  ida.cookie = now;
  await send(ida, '/me/pin', { pin: '4071' });
  await send(ida, '/me/pin', { pin: secret('a PIN of no digits', 'heron-pin') });

  const token = await send(ida, '/me/tokens', { name: 'Scale', expires: '30', may: 'everything' });
  const issued = secret(
    'a token',
    shown(token.body, /value="([\w-]{20,100})" readonly/) ||
      shown(token.body, /readonly[^>]*value="([\w-]{20,100})"/),
  );
  const bearer = (value: string) => ({ authorization: `Bearer ${value}` });
  await s.app.inject({ url: '/api/v1/buckets', headers: bearer(issued) });
  await s.app.inject({
    url: '/api/v1/buckets',
    headers: bearer(secret('a token of nobody', 'heron-token-of-nobody-1234567')),
  });
  await s.app.inject({
    url: `/api/v1/buckets?token=${secret('a token in an address', 'heron-token-in-address-99')}`,
  });

  const link = await send(manager, '/people/reset-link', { email: ida.email });
  const path = new URL(shown(link.body, /name="link"[^>]*value="([^"]+)"/)).pathname;
  secret('a link for a password', path.split('/').at(-1));
  await s.visit(null, path);
  await send(null, path, { password: 'short' });
  await send(null, path, { password: secret('a password by a link', 'seven quiet glaze lids') });
  const invited = await send(manager, '/people/invite', { email: 'sol@millrace.example', role: 'member' });
  const welcome = new URL(shown(invited.body, /name="link"[^>]*value="([^"]+)"/)).pathname;
  secret('an invitation', welcome.split('/').at(-1));
  await s.visit(null, welcome);

  const begun = await send(technician, '/me/second-factor', { password: PASSWORD });
  const key = secret(
    'the key of a second factor',
    shown(begun.body, /name="secondFactorKey"[^>]*value="([^"]+)"/),
  );
  const code = secret('a code of six digits', phoneShows(key, s.clock.now()));
  const confirmed = await send(technician, '/me/second-factor/confirm', { secondFactorKey: key, code });
  secret(
    'a recovery code',
    /<code[^>]*>([^<]{8,40})<\/code>|<li[^>]*>([\w-]{8,40})<\/li>/
      .exec(confirmed.body)
      ?.slice(1)
      .find(Boolean),
  );
  const half = await send(null, '/sign-in', { email: technician.email, password: PASSWORD });
  const step = secret('a half-done sign-in', cookieOf(half, 'wareboard-code'));
  await send(
    null,
    '/sign-in/code',
    { code: secret('a wrong code', '918273') },
    { cookie: `wareboard-code=${step}` },
  );

  const feed = await send(manager, '/kilns/calendar/feed', {});
  const address = shown(feed.body, /(\/calendar\/[\w-]+\.ics)/);
  secret('the address of a calendar', /calendar\/([\w-]+)\.ics/.exec(address)?.[1]);
  expect((await s.visit(null, address)).statusCode).toBe(200);

  const hook = await send(manager, '/hooks', {
    name: 'Shop',
    url: 'https://shop.example/',
    whats: ['bucket'],
  });
  secret('the secret of a hook', shown(hook.body, /value="(whsec_[^"]+)"/));
  const pairing = await send(manager, '/devices', { name: 'By the sink' });
  const pair = secret('a code that pairs', shown(pairing.body, />([A-Z0-9]{3,6}-[A-Z0-9]{3,6})</));
  const paired = await send(null, '/pair', { code: pair });
  secret('a tablet', cookieOf(paired, 'wareboard-tablet'));
  secret('another tablet', (await aTablet(s)).cookie.split('=')[1]);
  await s.visit(null, '/sign-in?next=%2Fme%3Fsecret%3Dheron-in-a-query-77');
  secret('what an address asks for', 'heron-in-a-query-77');
}

describe('whatever lets somebody in', () => {
  it('is in no line of the log, however much is logged, not even where it failed', async () => {
    await everyWayIn();
    expect(secrets.size).toBeGreaterThan(20);
    // And while the database fails, the statement and its values being in the error.
    await owner`alter table links rename to links_away`;
    await owner`alter table sign_in_failures rename to failures_away`;
    try {
      const fields = {
        email: 'ida@millrace.example',
        password: secret('a password while it fails', 'heron that fails 5'),
      };
      const failed = await send(null, '/sign-in', fields);
      expect(failed.statusCode).toBe(500);
      const page = await s.visit(
        null,
        `/reset/${secret('a link while it fails', 'heron-link-while-it-fails-1234')}`,
      );
      expect(page.statusCode).toBe(500);
      for (const { body } of [failed, page]) {
        expect(body).not.toMatch(/select |insert |relation|failures|links|\.ts:|node_modules| {4}at /);
        expect(body).not.toContain('heron');
      }
    } finally {
      await owner`alter table links_away rename to links`;
      await owner`alter table failures_away rename to sign_in_failures`;
    }
    expect(log).toContain('"answered"');
    expect(log).toContain('does not exist');
    const told = [...secrets].filter(([, value]) => tells(log, value)).map(([what]) => what);
    expect(told).toEqual([]);
    expect(log).not.toContain('insert into');
    expect(log).not.toContain('set-cookie');
  });

  it('is in no table as it is, but the two keys that something must be counted from', async () => {
    const names = await owner<{ name: string }[]>`
      select tablename as name from pg_tables where schemaname not in ('pg_catalog', 'information_schema')
        and tablename not in ('second_factors', 'hooks')`;
    expect(names.length).toBeGreaterThan(60);
    const found: string[] = [];
    for (const { name } of names) {
      const [schema] = await owner<
        { schema: string }[]
      >`select schemaname as schema from pg_tables where tablename = ${name}`;
      const rows = await owner<{ row: string }[]>`
        select t::text as row from ${owner(`${schema?.schema}.${name}`)} t`;
      const text = rows.map(({ row }) => row).join('\n');
      for (const [what, value] of secrets) if (tells(text, value)) found.push(`${name}: ${what}`);
    }
    expect(found).toEqual([]);
    const columns = await owner<{ name: string }[]>`
      select table_name || '.' || column_name as name from information_schema.columns
      where column_name ~ 'secret' and table_schema = 'public' order by 1`;
    expect(columns.map(({ name }) => name)).toEqual(['hooks.secret', 'second_factors.secret']);
  });

  it('is not what a copy of the tables holds: no hash opens anything', async () => {
    const tablet = await aTablet(s);
    expect((await s.visit(null, '/tablet', { cookie: tablet.cookie })).statusCode).toBe(200);
    const hashes = await s.database.db.execute<{ table: string; hash: string }>(sql`
      select 'sessions' as table, id_hash as hash from sessions
      union all select 'tokens', hash from tokens
      union all select 'links', hash from links
      union all select 'devices', hash from devices
      union all select 'steps', hash from sign_in_steps`);
    expect(new Set(hashes.map(({ table }) => table)).size).toBe(5);
    for (const { hash } of hashes) {
      expect((await s.visit(null, '/me', { cookie: `wareboard=${hash}` })).statusCode).toBe(303);
      const asToken = await s.app.inject({
        url: '/api/v1/buckets',
        headers: { authorization: `Bearer ${hash}` },
      });
      expect(asToken.statusCode).toBe(401);
      expect((await s.visit(null, '/tablet', { cookie: `wareboard-tablet=${hash}` })).statusCode).not.toBe(
        200,
      );
      expect([404, 410]).toContain((await s.visit(null, `/reset/${hash}`)).statusCode);
      const cookie = { cookie: `wareboard-code=${hash}` };
      expect((await s.visit(null, '/sign-in/code', cookie)).statusCode).toBe(303);
    }
  });

  it('opens nothing once its time is over', async () => {
    const ida = await s.aPerson();
    expect((await s.visit(ida, '/me')).statusCode).toBe(200);
    await owner`update sessions set expires_at = ${Date.now() - 1} where person_id = ${ida.id}`;
    await owner`update tokens set expires_at = ${s.clock.now() - 1} where person_id = ${ida.id}`;
    expect((await s.visit(ida, '/me')).statusCode).toBe(303);
    expect((await s.api(ida, 'GET', '/buckets')).statusCode).toBe(401);
  });
});
