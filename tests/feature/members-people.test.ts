import { and, desc, eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Role } from '../../server/core/policy.ts';
import { audit, people } from '../../server/core/schema.ts';
import { aStudio, PARTIAL, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const isSignedIn = async (person: Person) => (await s.visit(person, '/me')).statusCode === 200;
const mayUse = async (person: Person) => (await s.services.sessions.findByToken(person.token)) !== null;
const rowOf = async (person: Person) => {
  const [row] = await s.database.db.select().from(people).where(eq(people.id, person.id));
  return row as typeof people.$inferSelect;
};
const activeManagers = async (studio: Studio) =>
  studio.database.db
    .select({ id: people.id })
    .from(people)
    .where(and(eq(people.role, 'manager'), eq(people.active, true)));
const lastAct = async () => (await s.database.db.select().from(audit).orderBy(desc(audit.id)).limit(1))[0];
const setRole = (by: Person, person: { email: string }, role: string, headers = {}) =>
  s.submit(by, '/people/role', { email: person.email, role }, headers);
const setActivity = (by: Person, person: { email: string }, active: 'yes' | 'no', headers = {}) =>
  s.submit(by, '/people/activity', { email: person.email, active }, headers);

describe('the list of people', () => {
  it('has everybody with role and activity, and the acts of whoever looks', async () => {
    const gone = await s.aPerson('member', 'Åsa');
    await setActivity(s.people.manager, gone, 'no');
    const forManager = (await s.visit(s.people.manager, '/people')).body;
    for (const word of ['Ida', 'Wren', 'Maro', 'Åsa', 'member, not active', 'Set the role', 'Let back in'])
      expect(forManager).toContain(word);
    expect(forManager.indexOf('Åsa')).toBeGreaterThan(forManager.indexOf('Wren'));
    const forTechnician = (await s.visit(s.people.technician, '/people')).body;
    expect(forTechnician).toContain('Change Ida');
    expect(forTechnician).not.toContain('Change Maro');
    expect(forTechnician).not.toContain('Set the role');
    expect(forTechnician).not.toContain('Deactivate');
    expect(forTechnician).not.toContain('href="/studio"');
  });

  it('says what was done, in no words but its own', async () => {
    const { manager } = s.people;
    expect((await s.visit(manager, '/people?done=left')).body).toContain('they cannot sign in');
    for (const done of ['constructor', '__proto__', '%3Cb%3Ehello', 'a&done=b']) {
      const answer = await s.visit(manager, `/people?done=${done}`);
      expect(answer.statusCode).toBe(200);
      expect(answer.body).not.toContain('class="flash');
    }
  });

  it('is a fragment where htmx asks for one', async () => {
    const { body } = await s.visit(s.people.technician, '/people', PARTIAL);
    expect(body).not.toContain('<html');
    expect(body).toContain('Wren');
  });
});

describe('a change of role', () => {
  it('is kept, audited without names, and ends sessions and tokens', async () => {
    const ida = await s.aPerson('member', 'Ida of the audit');
    const answer = await setRole(s.people.manager, ida, 'technician');
    expect(answer.headers.location).toBe('/people?done=role');
    expect((await rowOf(ida)).role).toBe('technician');
    expect(await isSignedIn(ida)).toBe(false);
    expect(await mayUse(ida)).toBe(false);
    const act = await lastAct();
    expect(act).toMatchObject({
      by: s.people.manager.id,
      act: 'person.role',
      subject: `person:${ida.id}`,
      details: { from: 'member', to: 'technician' },
    });
    expect(JSON.stringify(act)).not.toContain(ida.name);
    expect(JSON.stringify(act)).not.toContain(ida.email);
  });

  it('to the same role changes nothing', async () => {
    const ida = await s.aPerson();
    expect((await setRole(s.people.manager, ida, 'member')).statusCode).toBe(303);
    expect(await isSignedIn(ida)).toBe(true);
  });

  it('to no role, or of nobody, is refused', async () => {
    const unknown = await setRole(s.people.manager, { email: 'nobody@millrace.example' }, 'member');
    expect(unknown.statusCode).toBe(404);
    const ida = await s.aPerson();
    const wrong = await setRole(s.people.manager, ida, 'emperor');
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('One of member, technician, manager.');
    expect((await setRole(s.people.manager, ida, 'emperor', PARTIAL)).body).not.toContain('<html');
  });

  it('is done once for one key', async () => {
    const ida = await s.aPerson();
    const fields = { key: 'the-same-tap-twice', email: ida.email, role: 'technician' };
    const send = () => s.submit(s.people.manager, '/people/role', fields);
    const answers = await Promise.all([send(), send()]);
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([303, 303]);
    const rows = await s.database.db
      .select()
      .from(audit)
      .where(eq(audit.subject, `person:${ida.id}`));
    expect(rows.filter(({ act }) => act === 'person.role')).toHaveLength(1);
  });
});

describe('deactivating', () => {
  it('ends sessions, tokens and signing in; reactivating brings only the last back', async () => {
    const ida = await s.aPerson();
    const signIn = () => s.submit(null, '/sign-in', { email: ida.email, password: PASSWORD });
    expect((await setActivity(s.people.manager, ida, 'no')).headers.location).toBe('/people?done=left');
    expect(await isSignedIn(ida)).toBe(false);
    expect(await mayUse(ida)).toBe(false);
    expect((await signIn()).statusCode).toBe(422);
    expect((await lastAct())?.act).toBe('person.deactivated');
    expect((await setActivity(s.people.manager, ida, 'yes')).headers.location).toBe('/people?done=back');
    expect((await lastAct())?.act).toBe('person.reactivated');
    expect(await isSignedIn(ida)).toBe(false);
    expect(await mayUse(ida)).toBe(false);
    expect((await signIn()).statusCode).toBe(303);
  });

  it('with htmx moves the browser', async () => {
    const ida = await s.aPerson();
    const answer = await setActivity(s.people.manager, ida, 'no', PARTIAL);
    expect(answer.headers['hx-location']).toBe('/people?done=left');
  });

  it('of oneself leads to the sign-in', async () => {
    const other = await s.aPerson('manager');
    const answer = await setActivity(other, other, 'no');
    expect(answer.headers.location).toBe('/sign-in');
    expect(await isSignedIn(other)).toBe(false);
  });
});

describe('the last manager', () => {
  let own: Studio;
  beforeAll(async () => {
    own = await aStudio();
  });

  it.each([
    ['/people/role', { role: 'technician' }],
    ['/people/activity', { active: 'no' }],
  ])('stays: %s', async (url, change) => {
    const { manager } = own.people;
    const answer = await own.submit(manager, url, { email: manager.email, ...change });
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('This is the last manager.');
    expect(await activeManagers(own)).toEqual([{ id: manager.id }]);
  });

  it('stays the last one where another has been deactivated', async () => {
    const { manager } = own.people;
    const other = await own.aPerson('manager');
    await own.submit(manager, '/people/activity', { email: other.email, active: 'no' });
    const answer = await own.submit(manager, '/people/role', { email: manager.email, role: 'member' });
    expect(answer.statusCode).toBe(409);
  });

  it.each([
    ['/people/role', { role: 'technician' }, '/people/role', { role: 'member' }],
    ['/people/activity', { active: 'no' }, '/people/activity', { active: 'no' }],
    ['/people/role', { role: 'member' }, '/people/activity', { active: 'no' }],
  ])('remains when two managers remove each other: %s %o, %s %o', async (url1, change1, url2, change2) => {
    for (let round = 0; round < 5; round++) {
      const pair = await aPairOfManagers();
      const answers = await Promise.all([
        own.submit(pair[0], url1, { email: pair[1].email, ...change1 }),
        own.submit(pair[1], url2, { email: pair[0].email, ...change2 }),
      ]);
      expect(await activeManagers(own)).toHaveLength(1);
      const done = answers.filter(({ headers }) => String(headers.location).startsWith('/people?done='));
      expect(done).toHaveLength(1);
    }
  });

  it('lets only one of two remove the other, though a third would be left', async () => {
    for (let round = 0; round < 5; round++) {
      const pair = await aPairOfManagers();
      const third = await own.aPerson('manager');
      const answers = await Promise.all([
        own.submit(pair[0], '/people/role', { email: pair[1].email, role: 'member' }),
        own.submit(pair[1], '/people/role', { email: pair[0].email, role: 'member' }),
      ]);
      const done = answers.filter(({ headers }) => String(headers.location).startsWith('/people?done='));
      expect(done).toHaveLength(1);
      const left = await activeManagers(own);
      expect(left).toHaveLength(2);
      expect(left).toContainEqual({ id: third.id });
    }
  });

  /** The only two managers of the studio. */
  async function aPairOfManagers(): Promise<[Person, Person]> {
    const pair: [Person, Person] = [await own.aPerson('manager'), await own.aPerson('manager')];
    for (const { id } of await activeManagers(own))
      if (!pair.some((person) => person.id === id))
        await own.database.db.update(people).set({ active: false }).where(eq(people.id, id));
    return pair;
  }
});

describe('the studio', () => {
  it('is renamed by a manager, and keeps its currency', async () => {
    const own = await aStudio();
    const { manager } = own.people;
    const form = (await own.visit(manager, '/studio')).body;
    expect(form).toContain('GBP · British Pound, for good');
    expect(form).toMatch(/<option value="Europe\/London" selected/);
    const fields = { name: 'Weir Street Pottery', timeZone: 'Europe/Lisbon', units: 'us', currency: 'EUR' };
    expect((await own.submit(manager, '/studio', fields)).headers.location).toBe('/studio?done=saved');
    const page = (await own.visit(manager, '/studio?done=saved')).body;
    for (const words of ['Saved.', 'Weir Street Pottery', 'Europe/Lisbon', 'GBP'])
      expect(page).toContain(words);
    const wrong = await own.submit(manager, '/studio', { ...fields, timeZone: 'Atlantis' });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('Choose a time zone from the list.');
    const partial = await own.submit(manager, '/studio', fields, PARTIAL);
    expect(partial.headers['hx-location']).toBe('/studio?done=saved');
  });
});

describe('who may do what', () => {
  const nobody = { email: 'nobody@millrace.example' };
  const forms: [path: string, fields: Record<string, string>, open: Role[]][] = [
    ['/me', { name: 'Ida', units: 'us' }, ['member', 'technician', 'manager']],
    ['/me/password', { current: 'x', password: 'x' }, ['member', 'technician', 'manager']],
    [
      '/me/tokens',
      { name: 'who may', expires: '30', may: 'everything' },
      ['member', 'technician', 'manager'],
    ],
    ['/me/tokens/revoke', { name: 'who may' }, ['member', 'technician', 'manager']],
    ['/me/sign-out-everywhere', {}, ['member', 'technician', 'manager']],
    ['/people/invite', { email: 'new@millrace.example', role: 'member' }, ['technician', 'manager']],
    ['/people/reset-link', nobody, ['technician', 'manager']],
    ['/people/role', { ...nobody, role: 'member' }, ['manager']],
    ['/people/activity', { ...nobody, active: 'no' }, ['manager']],
    ['/studio', { name: 'Millrace', timeZone: 'UTC', units: 'metric' }, ['manager']],
  ];
  const pages: [path: string, open: Role[]][] = [
    ['/me', ['member', 'technician', 'manager']],
    ['/people', ['technician', 'manager']],
    ['/people/invite', ['technician', 'manager']],
    ['/studio', ['manager']],
  ];
  const roles: Role[] = ['member', 'technician', 'manager'];

  for (const headers of [{}, PARTIAL]) {
    const how = headers === PARTIAL ? 'with htmx' : 'without';
    it.each(forms)(`POST %s, ${how}`, async (path, fields, open) => {
      for (const role of roles) {
        const { statusCode } = await s.submit(await s.aPerson(role), path, fields, headers);
        if (open.includes(role)) expect([200, 303, 404, 422], role).toContain(statusCode);
        else expect(statusCode, role).toBe(403);
      }
      const signedOut = await s.submit(null, path, fields, headers);
      if (headers === PARTIAL) expect(signedOut.headers['hx-redirect']).toBe('/sign-in');
      else expect(signedOut.headers.location).toBe('/sign-in');
    });

    it.each(pages)(`GET %s, ${how}`, async (path, open) => {
      for (const role of roles) {
        const { statusCode } = await s.visit(await s.aPerson(role), path, headers);
        expect(statusCode, role).toBe(open.includes(role) ? 200 : 403);
      }
      const signedOut = await s.visit(null, path, headers);
      const to = `/sign-in?next=${encodeURIComponent(path)}`;
      expect(signedOut.headers[headers === PARTIAL ? 'hx-redirect' : 'location']).toBe(to);
    });
  }
});
