import { and, eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { audit, people, tokens } from '../../server/core/schema.ts';
import { aStudio, PARTIAL, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const NEW_PASSWORD = 'seven quiet glaze lids';
const isSignedIn = async (cookie: string) =>
  (await s.app.inject({ url: '/me', headers: { cookie } })).statusCode === 200;
const mayUse = async (token: string) => (await s.services.sessions.findByToken(token)) !== null;
const cookieFrom = (answer: { headers: Record<string, unknown> }) =>
  String(answer.headers['set-cookie']).split(';')[0] as string;
const acts = async (person: Person) =>
  (await s.database.db.select().from(audit).where(eq(audit.by, person.id))).map(({ act }) => act);

describe('name and units', () => {
  it('are changed, and back to what the studio uses', async () => {
    const ida = await s.aPerson();
    const saved = await s.submit(ida, '/me', { name: 'Ida  Marl ', units: 'us' });
    expect(saved.statusCode).toBe(303);
    expect(saved.headers.location).toBe('/me?done=saved');
    const [row] = await s.database.db.select().from(people).where(eq(people.id, ida.id));
    expect(row).toMatchObject({ name: 'Ida  Marl', units: 'us' });
    expect((await s.visit(ida, '/me?done=saved')).body).toContain('Saved.');
    await s.submit(ida, '/me', { name: 'Ida', units: 'studio' });
    const [again] = await s.database.db.select().from(people).where(eq(people.id, ida.id));
    expect(again).toMatchObject({ name: 'Ida', units: null });
    expect(await acts(ida)).toEqual(['person.joined', 'person.changed', 'person.changed']);
  });

  it('come back as typed, with the reason beside the field', async () => {
    const answer = await s.submit(s.people.member, '/me', { name: ' ', units: 'us' });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('Write something here.');
    expect(answer.body).toMatch(/value="us"[^>]* checked/);
  });

  it('once for one key, however often it is sent', async () => {
    const ida = await s.aPerson();
    const fields = { key: 'one-tap-and-another', name: 'Ida', units: 'us' };
    const answers = await Promise.all([s.submit(ida, '/me', fields), s.submit(ida, '/me', fields)]);
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([303, 303]);
    expect(await acts(ida)).toEqual(['person.joined', 'person.changed']);
  });

  it('take markup as text', async () => {
    const ida = await s.aPerson();
    await s.submit(ida, '/me', { name: '<img src=x onerror=alert(1)>', units: 'us' });
    const page = await s.visit(ida, '/me');
    expect(page.body).not.toContain('<img');
    expect(page.body).toContain('&lt;img src=x');
  });
});

describe('changing the password', () => {
  const change = (person: Person, current: string, password: string, headers = {}) =>
    s.submit(person, '/me/password', { current, password }, headers);

  it('ends every other session and every token, and goes on here with a fresh session', async () => {
    const ida = await s.aPerson();
    const elsewhere = (await s.services.sessions.start(ida.id)).split(';')[0] as string;
    const changed = await change(ida, PASSWORD, NEW_PASSWORD);
    expect(changed.statusCode).toBe(303);
    const fresh = cookieFrom(changed);
    expect(fresh).not.toBe(ida.cookie);
    expect(await isSignedIn(fresh)).toBe(true);
    expect(await isSignedIn(ida.cookie)).toBe(false);
    expect(await isSignedIn(elsewhere)).toBe(false);
    expect(await mayUse(ida.token)).toBe(false);
    expect(await acts(ida)).toContain('password.changed');
    const signIn = await s.submit(null, '/sign-in', { email: ida.email, password: NEW_PASSWORD });
    expect(signIn.statusCode).toBe(303);
  });

  it('needs the current one, which is not given away by the form', async () => {
    const ida = await s.aPerson();
    const answer = await change(ida, 'not the current one', NEW_PASSWORD);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('This is not your current password.');
    expect(answer.body).not.toContain(NEW_PASSWORD);
    expect(await isSignedIn(ida.cookie)).toBe(true);
    expect(await mayUse(ida.token)).toBe(true);
  });

  it('slows down who guesses at the current one', async () => {
    const ida = await s.aPerson();
    for (let n = 0; n < 5; n++) expect((await change(ida, `guess ${n}`, NEW_PASSWORD)).statusCode).toBe(422);
    const slowed = await change(ida, PASSWORD, NEW_PASSWORD);
    expect(slowed.statusCode).toBe(429);
    expect(slowed.body).toContain('Wait 1 second');
  });

  it.each([
    [PASSWORD, 'your password already'],
    ['short', 'At least 12'],
    ['1234567890qwerty', 'Many people'],
    ['millrace clay commons', 'little more than a name'],
  ])('refuses %s', async (password, why) => {
    const ida = await s.aPerson();
    const answer = await change(ida, PASSWORD, password);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain(why);
  });

  it('is done once by two requests at the same moment', async () => {
    const ida = await s.aPerson();
    const answers = await Promise.all([
      change(ida, PASSWORD, 'first of two passwords'),
      change(ida, PASSWORD, 'second of two passwords'),
    ]);
    expect(answers.filter(({ statusCode }) => statusCode === 303)).toHaveLength(1);
    expect((await acts(ida)).filter((act) => act === 'password.changed')).toHaveLength(1);
  });

  it('keeps no trace of what was typed, hashed or not, beyond the password hash', async () => {
    const ida = await s.aPerson();
    await s.submit(ida, '/me/password', {
      key: 'key-of-this-form',
      current: PASSWORD,
      password: NEW_PASSWORD,
    });
    const kept = await s.database.db.execute(
      `select count(*)::int as n from idempotency_keys where person_id = ${ida.id}`,
    );
    expect(kept[0]).toEqual({ n: 0 });
  });
});

describe('tokens', () => {
  const make = (person: Person, name: string, expires = '90') =>
    s.submit(person, '/me/tokens', {
      key: `key-for-${name}`.replaceAll(' ', '-'),
      name,
      expires,
      may: 'everything',
    });
  const shown = (body: string) => /name="token"[^>]*value="([\w-]{20,})"/.exec(body)?.[1] as string;

  it('are shown once, stored as a hash, and work until they end', async () => {
    const ida = await s.aPerson();
    const made = await make(ida, 'float logger', '30');
    expect(made.statusCode).toBe(200);
    expect(made.headers['cache-control']).toBe('no-store');
    const token = shown(made.body);
    expect(await mayUse(token)).toBe(true);
    const page = await s.visit(ida, '/me');
    expect(page.body).toContain('float logger');
    expect(page.body).not.toContain(token);
    for (const table of ['tokens', 'idempotency_keys', 'audit']) {
      const rows = await s.database.db.execute(`select * from ${table}`);
      expect(JSON.stringify(rows)).not.toContain(token);
    }
    const [row] = await s.database.db
      .select()
      .from(tokens)
      .where(and(eq(tokens.personId, ida.id), eq(tokens.name, 'float logger')));
    expect(row?.expiresAt).toBe(s.clock.now() + 30 * DAY);
    expect(await acts(ida)).toContain('token.issued');
  });

  it('do not work after they end', async () => {
    const ida = await s.aPerson();
    const token = shown((await make(ida, 'brief', '30')).body);
    s.clock.forward(30 * DAY - 1);
    expect(await mayUse(token)).toBe(true);
    s.clock.forward(1);
    expect(await mayUse(token)).toBe(false);
    expect((await s.visit(ida, '/me')).body).not.toContain('brief');
    expect((await make(ida, 'brief', 'never')).statusCode).toBe(200);
  });

  it('are revoked at once, and only by their holder', async () => {
    const [ida, wren] = [await s.aPerson(), await s.aPerson()];
    const token = shown((await make(ida, 'scale')).body);
    const stranger = await s.submit(wren, '/me/tokens/revoke', { name: 'scale' });
    expect(stranger.statusCode).toBe(404);
    expect(await mayUse(token)).toBe(true);
    const revoked = await s.submit(ida, '/me/tokens/revoke', { name: 'scale' });
    expect(revoked.headers.location).toBe('/me?done=revoked');
    expect(await mayUse(token)).toBe(false);
    expect(await acts(ida)).toContain('token.revoked');
    expect((await s.submit(ida, '/me/tokens/revoke', { name: 'scale' })).statusCode).toBe(404);
  });

  it('of one person have different names, even when made at the same moment', async () => {
    const ida = await s.aPerson();
    const answers = await Promise.all([make(ida, 'twin'), make(ida, 'twin')]);
    expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([200, 422]);
    const refused = answers.find(({ statusCode }) => statusCode === 422);
    expect(refused?.body).toContain('You have a token of this name');
    expect(refused?.body).toMatch(/id="token-name"[^>]*value="twin"/);
  });
});

describe('signing out', () => {
  it('ends this session and no other', async () => {
    const ida = await s.aPerson();
    const elsewhere = (await s.services.sessions.start(ida.id)).split(';')[0] as string;
    const out = await s.submit(ida, '/sign-out', {});
    expect(out.headers.location).toBe('/sign-in');
    expect(String(out.headers['set-cookie'])).toMatch(/^wareboard=;.*Max-Age=0/);
    expect(await isSignedIn(ida.cookie)).toBe(false);
    expect(await isSignedIn(elsewhere)).toBe(true);
    expect(await acts(ida)).toContain('person.signed-out');
  });

  it('everywhere ends every session, and leaves tokens to their own buttons', async () => {
    const ida = await s.aPerson();
    const elsewhere = (await s.services.sessions.start(ida.id)).split(';')[0] as string;
    const out = await s.submit(ida, '/me/sign-out-everywhere', {});
    expect(out.headers.location).toBe('/sign-in?out=2');
    expect(await isSignedIn(ida.cookie)).toBe(false);
    expect(await isSignedIn(elsewhere)).toBe(false);
    expect(await mayUse(ida.token)).toBe(true);
    expect(await acts(ida)).toContain('person.signed-out-everywhere');
  });

  it('is harmless to whoever is signed out already', async () => {
    expect((await s.submit(null, '/sign-out', {})).headers.location).toBe('/sign-in');
  });
});

describe('with htmx', () => {
  it('a done form moves the browser and a refused one comes as a fragment', async () => {
    const ida = await s.aPerson();
    const done = await s.submit(ida, '/me', { name: 'Ida', units: 'us' }, PARTIAL);
    expect(done.statusCode).toBe(200);
    expect(done.headers['hx-location']).toBe('/me?done=saved');
    const refused = await s.submit(ida, '/me', { name: '', units: 'us' }, PARTIAL);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).not.toContain('<html');
    expect(refused.body).toContain('Write something here.');
    const password = await s.submit(
      ida,
      '/me/password',
      { current: PASSWORD, password: NEW_PASSWORD },
      PARTIAL,
    );
    expect(password.headers['hx-location']).toBe('/me?done=password');
    expect(await isSignedIn(cookieFrom(password))).toBe(true);
  });
});
