import { beforeAll, describe, expect, it } from 'vitest';
import { audit, people, studio } from '../../server/core/schema.ts';
import { anApp, aStudio, PARTIAL } from '../helpers/studio.ts';

type App = Awaited<ReturnType<typeof anApp>>;

const FIELDS = {
  setupKey: 'the-key-from-the-log',
  studio: 'Millrace Clay Commons',
  timeZone: 'Europe/London',
  currency: 'GBP',
  units: 'metric',
  name: 'Maro',
  email: 'Maro@Millrace.example',
  password: 'nine lids and a gate',
};

const send = (made: App, fields: Record<string, string>, headers: Record<string, string> = {}) =>
  made.app.inject({
    method: 'POST',
    url: '/setup',
    payload: new URLSearchParams(fields).toString(),
    headers: {
      origin: 'http://localhost',
      host: 'localhost',
      'content-type': 'application/x-www-form-urlencoded',
      ...headers,
    },
  });

const everything = async ({ database: { db } }: App) => ({
  studios: await db.select().from(studio),
  people: await db.select().from(people),
  acts: (await db.select().from(audit)).map(({ act, by }) => ({ act, by })),
});

describe('before the studio is set up', () => {
  let made: App;
  beforeAll(async () => {
    made = await anApp();
  });

  it.each(['/me', '/people', '/sign-in', '/studio'])('%s leads to the set-up', async (url) => {
    const answer = await made.app.inject({ url });
    expect(answer.statusCode).toBe(303);
    expect(answer.headers.location).toBe('/setup');
  });

  it('the form can be filled in', async () => {
    const { statusCode, body } = await made.app.inject({ url: '/setup' });
    expect(statusCode).toBe(200);
    expect(body).toContain('<option value="GBP">GBP · British Pound</option>');
    expect(body).toContain('<option value="Europe/London">Europe/London</option>');
    expect(body).toMatch(/name="email"[^>]*autocomplete="username"/);
    expect(body).toMatch(/name="password"[^>]*autocomplete="new-password"/);
    expect(body).not.toContain(FIELDS.setupKey);
  });

  it.each([
    ['setupKey', 'a guess', 'not the key that the server printed'],
    ['setupKey', '', 'Write something here.'],
    ['studio', '   ', 'Write something here.'],
    ['timeZone', 'Atlantis/Harbour', 'Choose a time zone from the list.'],
    ['currency', 'XYZ', 'Choose a currency from the list.'],
    ['units', 'cubits', 'One of metric, us.'],
    ['email', 'maro', 'An e-mail address'],
    ['password', 'too short', 'At least 12'],
    ['password', '1234567890qwerty', 'Many people use this'],
    ['password', 'Millrace Clay!', 'little more than a name'],
  ])('refuses %s "%s", and keeps what was typed', async (field, value, why) => {
    const answer = await send(made, { ...FIELDS, [field]: value });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain(why);
    expect(answer.body).toMatch(new RegExp(`id="f-${field}-error"|id="f-${field}"`));
    if (field !== 'studio') expect(answer.body).toContain('value="Millrace Clay Commons"');
    expect(answer.body).not.toContain(FIELDS.password);
    expect(await everything(made)).toEqual({ studios: [], people: [], acts: [] });
  });

  it('refuses as a fragment where htmx asks for one', async () => {
    const answer = await send(made, { ...FIELDS, setupKey: 'a guess' }, PARTIAL);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).not.toContain('<html');
  });

  it('does not take it from a page of another site', async () => {
    const answer = await send(made, FIELDS, { origin: 'https://elsewhere.example' });
    expect(answer.statusCode).toBe(403);
    expect((await everything(made)).studios).toEqual([]);
  });

  it('is set up by whoever has the key, who is signed in as its first manager', async () => {
    const answer = await send(made, FIELDS);
    expect(answer.statusCode).toBe(303);
    expect(answer.headers.location).toBe('/');
    const { studios, people: everybody, acts } = await everything(made);
    const [manager] = everybody;
    expect(studios).toMatchObject([
      { name: 'Millrace Clay Commons', timeZone: 'Europe/London', currency: 'GBP', units: 'metric' },
    ]);
    expect(everybody).toHaveLength(1);
    expect(manager).toMatchObject({ name: 'Maro', email: 'maro@millrace.example', role: 'manager' });
    expect(manager?.passwordHash).toMatch(/^\$argon2id\$/);
    expect(acts).toEqual([
      { act: 'studio.set-up', by: null },
      { act: 'person.joined', by: manager?.id },
    ]);
    const cookie = String(answer.headers['set-cookie']).split(';')[0] as string;
    expect((await made.app.inject({ url: '/people', headers: { cookie } })).statusCode).toBe(200);
    expect((await made.app.inject({ url: '/setup' })).statusCode).toBe(404);
    expect((await send(made, { ...FIELDS, email: 'other@millrace.example' })).statusCode).toBe(404);
  });
});

describe('two who set up at once', () => {
  it('one does, the other is told', async () => {
    const made = await anApp();
    const answers = await Promise.all([
      send(made, { ...FIELDS, studio: 'Studio of the first' }),
      send(made, { ...FIELDS, studio: 'Studio of the second', email: 'wren@millrace.example', name: 'Wren' }),
    ]);
    const codes = answers.map(({ statusCode }) => statusCode).sort();
    expect(codes[0]).toBe(303);
    // 409 where both passed the door together, 404 where the first was done by then.
    expect([404, 409]).toContain(codes[1]);
    const { studios, people: everybody } = await everything(made);
    expect(studios).toHaveLength(1);
    expect(everybody).toHaveLength(1);
  });
});

describe('once it is set up', () => {
  it('nobody finds the page, whatever they are', async () => {
    const s = await aStudio();
    for (const person of [null, ...Object.values(s.people)]) {
      expect((await s.visit(person, '/setup')).statusCode).toBe(404);
      expect((await s.submit(person, '/setup', FIELDS)).statusCode).toBe(404);
      expect((await s.submit(person, '/setup', FIELDS, PARTIAL)).statusCode).toBe(404);
    }
  });
});
