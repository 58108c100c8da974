import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import type { Role } from '../../server/core/policy.ts';
import { audit, people } from '../../server/core/schema.ts';
import { changeActivity } from '../../server/members/service/people.ts';
import { aStudio, PARTIAL, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

let serial = 0;
const anAddress = () => `newcomer-${++serial}@millrace.example`;
const NEW_PASSWORD = 'eleven hanging kiln shelves';

const invite = (by: Person, email: string, role: Role = 'member', headers = {}) =>
  s.submit(by, '/people/invite', { email, role }, headers);
const resetLink = (by: Person, email: string, headers = {}) =>
  s.submit(by, '/people/reset-link', { email }, headers);
const linkIn = (body: string) => /name="link"[^>]*value="([^"]+)"/.exec(body)?.[1] as string;
const pathIn = (body: string) => new URL(linkIn(body)).pathname;
const accept = (path: string, name = 'Newcomer', password = NEW_PASSWORD, headers = {}) =>
  s.submit(null, path, { name, password }, headers);
const personAt = async (email: string) =>
  (await s.database.db.select().from(people).where(eq(people.email, email)))[0];
const cookieFrom = (answer: { headers: Record<string, unknown> }) =>
  String(answer.headers['set-cookie']).split(';')[0] as string;
const isSignedIn = async (cookie: string) =>
  (await s.app.inject({ url: '/me', headers: { cookie } })).statusCode === 200;
const signIn = (email: string, password: string) => s.submit(null, '/sign-in', { email, password });

describe('an invitation', () => {
  it('is shown once as an absolute link, stored as a hash, and lets somebody in', async () => {
    const email = anAddress();
    const made = await invite(s.people.technician, email.toUpperCase());
    expect(made.statusCode).toBe(200);
    expect(made.headers['cache-control']).toBe('no-store');
    expect(linkIn(made.body)).toMatch(/^http:\/\/localhost\/welcome\/[\w-]{20,}$/);
    const path = pathIn(made.body);
    const secret = path.split('/').at(-1) as string;
    for (const table of ['links', 'audit', 'idempotency_keys'])
      expect(JSON.stringify(await s.database.db.execute(`select * from ${table}`))).not.toContain(secret);

    const form = await s.visit(null, path);
    expect(form.statusCode).toBe(200);
    expect(form.body).toContain('Welcome to Millrace Clay Commons');
    expect(form.body).toMatch(
      new RegExp(`value="${email}"[^>]*autocomplete="username"|autocomplete="username"[^>]*value="${email}"`),
    );
    expect(form.body).toMatch(/name="password"[^>]*autocomplete="new-password"/);

    const joined = await accept(path, 'Sol');
    expect(joined.statusCode).toBe(303);
    expect(joined.headers.location).toBe('/');
    expect(await isSignedIn(cookieFrom(joined))).toBe(true);
    const person = await personAt(email);
    expect(person).toMatchObject({ name: 'Sol', email, role: 'member', active: true });
    expect((await signIn(email, NEW_PASSWORD)).statusCode).toBe(303);
    const acts = await s.database.db.select().from(audit).where(eq(audit.by, s.people.technician.id));
    expect(acts.map(({ act }) => act)).toContain('link.invitation');
  });

  it('works once', async () => {
    const path = pathIn((await invite(s.people.technician, anAddress())).body);
    await accept(path);
    const again = await accept(path);
    expect(again.statusCode).toBe(409);
    expect(again.body).toContain('This link has been used');
    const page = await s.visit(null, path);
    expect(page.statusCode).toBe(410);
    expect(page.body).toContain('This link has been used');
    expect((await accept(path, 'Sol', NEW_PASSWORD, PARTIAL)).body).not.toContain('<html');
  });

  it('lets one in when two accept it at once', async () => {
    const email = anAddress();
    const path = pathIn((await invite(s.people.technician, email)).body);
    const answers = await Promise.all([accept(path, 'First'), accept(path, 'Second')]);
    expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([303, 409]);
    const refused = answers.find(({ statusCode }) => statusCode === 409);
    expect(refused?.body).toContain('This link has been used');
    expect(refused?.headers['set-cookie']).toBeUndefined();
  });

  it('lets one in when two for the same address are accepted at once', async () => {
    const email = anAddress();
    // Made in the same moment, so that neither ended the other.
    const made = await Promise.all([invite(s.people.technician, email), invite(s.people.manager, email)]);
    const open = [];
    for (const { body } of made)
      if ((await s.visit(null, pathIn(body))).statusCode === 200) open.push(pathIn(body));
    const answers = await Promise.all(open.map((path) => accept(path)));
    expect(answers.filter(({ statusCode }) => statusCode === 303)).toHaveLength(1);
    for (const { statusCode } of answers) expect([303, 409]).toContain(statusCode);
  });

  it('works for a day', async () => {
    const path = pathIn((await invite(s.people.technician, anAddress())).body);
    s.clock.forward(DAY - 1);
    expect((await s.visit(null, path)).statusCode).toBe(200);
    s.clock.forward(1);
    const late = await s.visit(null, path);
    expect(late.statusCode).toBe(410);
    expect(late.body).toContain('This link has ended');
    const accepted = await accept(path);
    expect(accepted.statusCode).toBe(409);
    expect(accepted.body).toContain('Ask whoever invited you for another.');
  });

  it('is ended by a newer one to the same address', async () => {
    const email = anAddress();
    const first = pathIn((await invite(s.people.technician, email)).body);
    const second = pathIn((await invite(s.people.technician, email)).body);
    expect((await accept(first)).statusCode).toBe(409);
    expect((await accept(second)).statusCode).toBe(303);
  });

  it('is ended when whoever made it loses their standing', async () => {
    const other = await s.aPerson('manager');
    const path = pathIn((await invite(other, anAddress(), 'manager')).body);
    await s.submit(s.people.manager, '/people/activity', { email: other.email, active: 'no' });
    expect((await s.visit(null, path)).statusCode).toBe(410);
    expect((await accept(path)).statusCode).toBe(409);
  });

  it('is not accepted past the deactivation of its maker that is just being written', async () => {
    const other = await s.aPerson('manager');
    const email = anAddress();
    const path = pathIn((await invite(other, email, 'manager')).body);
    let commit = () => {};
    let deactivating: Promise<void> = Promise.resolve();
    await new Promise<void>((written) => {
      deactivating = s.as(s.people.manager, async (act) => {
        await changeActivity(act, { email: other.email, active: false });
        const committing = new Promise<void>((resolve) => {
          commit = resolve;
        });
        written();
        await committing;
      });
    });
    const accepting = accept(path);
    await expect
      .poll(async () => (await s.database.db.execute('select 1 from pg_locks where not granted')).length)
      .toBeGreaterThan(0);
    commit();
    await deactivating;
    expect((await accepting).statusCode).toBe(409);
    expect(await personAt(email)).toBeUndefined();
  });

  it('comes back filled in where the password will not do, and stays good', async () => {
    const email = anAddress();
    const path = pathIn((await invite(s.people.technician, email)).body);
    for (const password of ['short', '1234567890qwerty', email, 'Newcomer Millrace']) {
      const refused = await accept(path, 'Newcomer', password);
      expect(refused.statusCode).toBe(422);
      expect(refused.body).toContain('value="Newcomer"');
      expect(refused.body).toMatch(/id="f-password-error"/);
    }
    expect((await accept(path)).statusCode).toBe(303);
  });

  it('is not made for somebody who is here, or was', async () => {
    const here = await invite(s.people.technician, s.people.member.email);
    expect(here.statusCode).toBe(422);
    expect(here.body).toContain('is here already');
    const ida = await s.aPerson();
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, ida.id));
    expect((await invite(s.people.technician, ida.email)).body).toContain('was here before');
  });

  it.each(['technician', 'manager'] as const)('as a %s is a manager’s to make', async (role) => {
    expect((await invite(s.people.technician, anAddress(), role)).statusCode).toBe(403);
    expect((await invite(s.people.technician, anAddress(), role, PARTIAL)).statusCode).toBe(403);
    const email = anAddress();
    const made = await invite(s.people.manager, email, role, PARTIAL);
    expect(made.body).not.toContain('<html');
    expect((await accept(pathIn(made.body), 'Sol', NEW_PASSWORD, PARTIAL)).headers['hx-location']).toBe('/');
    expect((await personAt(email))?.role).toBe(role);
  });

  it('cannot be used as a reset, nor a link that was never made', async () => {
    const path = pathIn((await invite(s.people.technician, anAddress())).body);
    for (const wrong of [
      path.replace('welcome', 'reset'),
      '/welcome/never-made-this-one',
      '/reset/nor-this',
    ]) {
      const page = await s.visit(null, wrong);
      expect(page.statusCode).toBe(404);
      expect(page.body).toContain('This link is not known here.');
      expect((await accept(wrong)).statusCode).toBe(404);
    }
  });

  it('carries the public address where one is set', async () => {
    const open = await aStudio({ PUBLIC_URL: 'https://glaze.millrace.example' });
    const cookie = (await open.services.sessions.start(open.people.manager.id)).split(';')[0] as string;
    const headers = { host: 'glaze.millrace.example', origin: 'https://glaze.millrace.example', cookie };
    const { body } = await open.submit(
      null,
      '/people/invite',
      { email: anAddress(), role: 'member' },
      headers,
    );
    expect(linkIn(body)).toMatch(/^https:\/\/glaze\.millrace\.example\/welcome\//);
  });
});

describe('a reset link', () => {
  const reset = (path: string, password = NEW_PASSWORD, headers = {}) =>
    s.submit(null, path, { password }, headers);

  it('sets a new password once, and ends sessions and tokens of the old', async () => {
    const ida = await s.aPerson();
    const path = pathIn((await resetLink(s.people.technician, ida.email)).body);
    expect(path).toMatch(/^\/reset\//);
    expect((await s.visit(null, path)).body).toContain(ida.email);
    const done = await reset(path);
    expect(done.statusCode).toBe(303);
    expect(await isSignedIn(cookieFrom(done))).toBe(true);
    expect(await isSignedIn(ida.cookie)).toBe(false);
    expect(await s.services.sessions.findByToken(ida.token)).toBeNull();
    expect((await signIn(ida.email, PASSWORD)).statusCode).toBe(422);
    expect((await signIn(ida.email, NEW_PASSWORD)).statusCode).toBe(303);
    const again = await reset(path);
    expect(again.statusCode).toBe(409);
    expect(again.body).toContain('If that was not you, tell a technician');
    const acts = await s.database.db
      .select()
      .from(audit)
      .where(eq(audit.subject, `person:${ida.id}`));
    expect(acts.map(({ act }) => act)).toEqual([
      'person.joined',
      'link.reset',
      'password.reset',
      'person.signed-in',
    ]);
  });

  it('works once when two use it together', async () => {
    const ida = await s.aPerson();
    const path = pathIn((await resetLink(s.people.technician, ida.email)).body);
    const answers = await Promise.all([
      reset(path, 'one of two passwords'),
      reset(path, 'two of two passwords'),
    ]);
    expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([303, 409]);
  });

  it('works for a day, and comes as a fragment where htmx asks', async () => {
    const ida = await s.aPerson();
    const made = await resetLink(s.people.technician, ida.email, PARTIAL);
    expect(made.body).not.toContain('<html');
    const path = pathIn(made.body);
    s.clock.forward(DAY);
    expect((await s.visit(null, path, PARTIAL)).statusCode).toBe(410);
    const late = await reset(path, NEW_PASSWORD, PARTIAL);
    expect(late.statusCode).toBe(409);
    expect(late.body).not.toContain('<html');
    expect((await signIn(ida.email, PASSWORD)).statusCode).toBe(303);
  });

  it('refuses a password that will not do, and stays good', async () => {
    const ida = await s.aPerson('member', 'Thornbury');
    const path = pathIn((await resetLink(s.people.technician, ida.email)).body);
    const refused = await reset(path, 'Thornbury 2026');
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('little more than a name');
    expect((await reset(path)).statusCode).toBe(303);
  });

  it('for staff is a manager’s to make', async () => {
    for (const role of ['technician', 'manager'] as const) {
      const staff = await s.aPerson(role);
      expect((await resetLink(s.people.technician, staff.email)).statusCode).toBe(403);
      expect((await resetLink(s.people.manager, staff.email)).statusCode).toBe(200);
    }
  });

  it('does not outlive a newer one, a new password, a new role or a deactivation', async () => {
    const ends: [string, (ida: Person) => Promise<unknown>][] = [
      ['newer', (ida) => resetLink(s.people.technician, ida.email)],
      [
        'password',
        (ida) => s.submit(ida, '/me/password', { current: PASSWORD, password: 'a fresh tin of wax' }),
      ],
      ['role', (ida) => s.submit(s.people.manager, '/people/role', { email: ida.email, role: 'manager' })],
      ['left', (ida) => s.submit(s.people.manager, '/people/activity', { email: ida.email, active: 'no' })],
    ];
    for (const [what, end] of ends) {
      const ida = await s.aPerson();
      const path = pathIn((await resetLink(s.people.technician, ida.email)).body);
      await end(ida);
      expect((await s.visit(null, path)).statusCode, what).toBe(410);
      expect((await reset(path)).statusCode, what).toBe(409);
    }
  });

  it('is not made for nobody, nor for somebody who has left', async () => {
    expect((await resetLink(s.people.technician, anAddress())).statusCode).toBe(404);
    const ida = await s.aPerson();
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, ida.id));
    const answer = await resetLink(s.people.technician, ida.email);
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('This person is not active.');
  });

  it('and a deactivation at the same moment leave nobody signed in', async () => {
    for (let round = 0; round < 5; round++) {
      const ida = await s.aPerson();
      const path = pathIn((await resetLink(s.people.technician, ida.email)).body);
      const fields = { email: ida.email, active: 'no' };
      const [done, left] = await Promise.all([
        reset(path),
        s.submit(s.people.manager, '/people/activity', fields),
      ]);
      expect(left.statusCode).toBe(303);
      expect([303, 409]).toContain(done.statusCode);
      expect((await personAt(ida.email))?.active).toBe(false);
      if (done.headers['set-cookie']) expect(await isSignedIn(cookieFrom(done))).toBe(false);
    }
  });
});
