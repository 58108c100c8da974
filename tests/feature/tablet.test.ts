import { and, eq } from 'drizzle-orm';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { bucketEvents, buckets } from '../../server/buckets/schema.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { PERMISSIONS, type Permission } from '../../server/core/policy.ts';
import { audit, devices, people, sessions } from '../../server/core/schema.ts';
import { signInFailures } from '../../server/members/schema.ts';
import { forgetOldFailures } from '../../server/members/service/attempts.ts';
import { preparePairing } from '../../server/members/service/devices.ts';
import { changeActivity } from '../../server/members/service/people.ts';
import { aStudio, PARTIAL, type Person, type Studio } from '../helpers/studio.ts';
import { aTablet, atTablet, giveCard, givePin, handleOf } from '../helpers/tablet.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const tabletCookieIn = (answer: { headers: Record<string, unknown> }) => {
  const all = [answer.headers['set-cookie'] ?? []].flat().map(String);
  return all.find((cookie) => cookie.startsWith('wareboard-tablet='));
};
const isAtTheWall = async (cookie: string) => (await s.visit(null, '/tablet', { cookie })).statusCode === 200;
const codeIn = (body: string) => /<output>([A-Z0-9-]+)<\/output>/.exec(body)?.[1] as string;
const eventsOf = async (code: string) =>
  s.database.db
    .select({
      number: bucketEvents.number,
      kind: bucketEvents.kind,
      by: bucketEvents.by,
      deviceId: bucketEvents.deviceId,
      payload: bucketEvents.payload,
    })
    .from(bucketEvents)
    .innerJoin(buckets, and(eq(buckets.id, bucketEvents.bucketId), eq(buckets.code, code)))
    .orderBy(bucketEvents.number);

describe('pairing', () => {
  it('gives a code that works once, and a cookie that no script can read', async () => {
    const made = await s.submit(s.people.technician, '/devices', { name: 'By the sink' });
    expect(made.statusCode).toBe(200);
    const code = codeIn(made.body);
    const listed = (await s.visit(s.people.technician, '/devices')).body;
    expect(listed).toContain('not yet: its code works until');
    expect(listed).not.toContain(code);

    expect((await s.visit(null, `/pair?code=${code}`)).body).toContain(`value="${code}"`);
    const paired = await s.submit(null, '/pair', { code: code.toLowerCase().replace('-', ' ') });
    expect(paired.statusCode).toBe(303);
    expect(paired.headers.location).toBe('/tablet?paired');
    const cookie = tabletCookieIn(paired) as string;
    expect(cookie).toMatch(/HttpOnly; SameSite=Lax/);
    const kept = cookie.split(';')[0] as string;
    expect((await s.visit(null, '/tablet?paired', { cookie: kept })).body).toContain(
      'this is By the sink now',
    );

    const again = await s.submit(null, '/pair', { code });
    expect(again.statusCode).toBe(422);
    expect(again.body).toContain('No tablet waits for this code.');
    const [row] = await s.database.db.select().from(devices).where(eq(devices.name, 'By the sink'));
    expect(row?.hash).not.toContain(kept.split('=')[1]);
    const acts = (
      await s.database.db
        .select()
        .from(audit)
        .where(eq(audit.subject, `device:${row?.id}`))
    ).map((a) => a.act);
    expect(acts).toEqual(['device.prepared', 'device.paired']);
  });

  it('is done by one of two screens that type the code at once', async () => {
    const made = await s.as(s.people.technician, (act) => preparePairing(act, 'Twice at once'));
    const answers = await Promise.all([1, 2, 3].map(() => s.submit(null, '/pair', { code: made.code })));
    expect(answers.map((a) => a.statusCode).sort()).toEqual([303, 422, 422]);
  });

  it('is over a quarter of an hour after the code was made', async () => {
    const made = await s.as(s.people.technician, (act) => preparePairing(act, 'Too late'));
    s.clock.forward(15 * MINUTE);
    expect((await s.submit(null, '/pair', { code: made.code })).statusCode).toBe(422);
    expect((await s.visit(s.people.technician, '/devices')).body).not.toContain('Too late');
  });

  it('slows down who guesses at codes', async () => {
    const from = { 'x-forwarded-for': '' };
    let last = 0;
    for (let n = 0; n < 8; n++)
      last = (await s.submit(null, '/pair', { code: `GUESS-${n}` }, from)).statusCode;
    expect(last).toBe(429);
    s.clock.forward(HOUR);
  });

  it('of this very screen ends the session on it, and what it was paired as before', async () => {
    const wren = await s.aPerson('technician');
    const before = await aTablet(s, 'What it was');
    const answer = await s.submit(
      wren,
      '/devices/here',
      { name: 'What it is' },
      {
        cookie: `${wren.cookie}; ${before.cookie}`,
      },
    );
    expect(answer.statusCode).toBe(303);
    expect(await isAtTheWall(before.cookie)).toBe(false);
    expect(await isAtTheWall((tabletCookieIn(answer) as string).split(';')[0] as string)).toBe(true);
    expect(await s.database.db.select().from(sessions).where(eq(sessions.personId, wren.id))).toEqual([]);
  });

  it('is for technicians, and no two tablets of one name', async () => {
    expect((await s.submit(s.people.member, '/devices', { name: 'Mine' })).statusCode).toBe(403);
    expect((await s.submit(s.people.member, '/devices/here', { name: 'Mine' })).statusCode).toBe(403);
    await aTablet(s, 'Glaze room door');
    const twice = await s.submit(s.people.technician, '/devices', { name: 'glaze room DOOR' });
    expect(twice.statusCode).toBe(422);
    expect(twice.body).toContain('A tablet of this name is on the list.');
    expect(twice.body).toContain('value="glaze room DOOR"');
    expect((await s.submit(s.people.technician, '/devices/here', { name: ' ' })).body).toContain(
      'Write something here.',
    );
  });
});

describe('a revoked tablet', () => {
  it('ends with its next request, and says so', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const tablet = await aTablet(s);
    const { visit, submit } = atTablet(s, tablet);
    const handle = await handleOf(s, tablet, code, 'Ida');
    const ended = await s.submit(s.people.technician, '/devices/revoke', { name: tablet.name });
    expect(ended.headers.location).toBe('/devices?ended');
    for (const url of [
      '/',
      '/wall',
      '/tablet',
      `/buckets/${code}`,
      `/tablet/buckets/${code}`,
      `/tablet/buckets/${code}/dip`,
    ])
      expect((await visit(url)).headers.location, url).toBe('/unpaired');
    expect((await visit('/tablet', PARTIAL)).headers['hx-redirect']).toBe('/unpaired');
    const before = await eventsOf(code);
    expect((await submit(`/tablet/buckets/${code}/dip`, { as: handle })).headers.location).toBe('/unpaired');
    expect(await eventsOf(code)).toEqual(before);
    expect((await visit('/unpaired')).body).toContain('This tablet is not paired any more');
    expect((await s.submit(s.people.technician, '/devices/revoke', { name: tablet.name })).statusCode).toBe(
      404,
    );
  });
});

describe('what a paired tablet may do with nobody signed in', () => {
  const VERBS = ['dip', 'check', 'water', 'problem'];
  const PINNED = ['note', 'use', 'take-back/:number', 'notices/:number'];
  const fill = (url: string, code: string) => url.replace(':code', code).replace(/:\w+/g, '1');

  it('is these routes and no other', () => {
    const open = s.routes.filter(
      (r) => r.method !== 'HEAD' && (PERMISSIONS[r.permission as Permission] ?? ['x']).length === 0,
    );
    expect(open.map((r) => `${r.permission} ${r.method} ${r.url}`).sort()).toEqual(
      [
        'tablet.see GET /tablet',
        'tablet.see GET /card/:secret',
        'tablet.see GET /tablet/live',
        'tablet.see GET /tablet/buckets/:code',
        ...VERBS.flatMap((verb) => [
          `tablet.act GET /tablet/buckets/:code/${verb}`,
          `tablet.act POST /tablet/buckets/:code/${verb}`,
        ]),
        ...PINNED.flatMap((act) => [
          `tablet.pin GET /tablet/buckets/:code/${act}`,
          `tablet.pin POST /tablet/buckets/:code/${act}`,
        ]),
      ].sort(),
    );
  });

  it('is refused by every other route, page, form and API alike, and nothing changes', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const tablet = await aTablet(s);
    const handle = await handleOf(s, tablet, code, 'Wren');
    const { visit, submit } = atTablet(s, tablet);
    const before = await everything();
    let tried = 0;
    for (const { method, url, permission } of s.routes) {
      if (permission === 'public' || permission.startsWith('tablet.')) continue;
      tried++;
      const target = fill(url, code);
      const fields = {
        as: handle,
        pin: '0000',
        litres: '1',
        kind: 'water',
        state: 'retired',
        reason: 'x',
        note: 'x',
        name: 'x',
      };
      const answer = method === 'POST' ? await submit(target, fields) : await visit(target);
      const what = `${method} ${url}: ${answer.statusCode} ${answer.headers.location}`;
      if (url.startsWith('/api/') || url === '/live') expect(answer.statusCode, what).toBe(401);
      else {
        expect(answer.statusCode, what).toBe(303);
        const instead = ['/', '/wall', '/buckets/:code'].includes(url) && method !== 'POST';
        expect(answer.headers.location, what).toMatch(instead ? /^\/tablet/ : /^\/sign-in/);
      }
    }
    expect(tried).toBeGreaterThan(60);
    expect(await everything()).toEqual(before);
  });

  it('is nothing that needs a PIN, without the right one', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const tablet = await aTablet(s);
    const { submit } = atTablet(s, tablet);
    const ida = await s.aPerson('member', 'Ida of the PINs');
    const handle = await handleOf(s, tablet, code, ida.name);
    await submit(`/tablet/buckets/${code}/dip`, { as: handle });
    const last = (await eventsOf(code)).at(-1)?.number;
    const before = await everything();
    const tries: [string, Record<string, string>][] = [
      ['note', { note: 'Ida was here' }],
      ['use', { state: 'do-not-use', reason: 'Ida says so' }],
      [`take-back/${last}`, {}],
    ];
    for (const pin of [undefined, '', '4071'])
      for (const [path, fields] of tries) {
        const answer = await submit(`/tablet/buckets/${code}/${path}`, {
          as: handle,
          ...fields,
          ...(pin === undefined ? {} : { pin }),
        });
        expect([422, 429], `${path} ${pin}`).toContain(answer.statusCode);
      }
    expect(await everything()).toEqual(before);
  });

  it('never reaches those pages for somebody who is signed in elsewhere', async () => {
    const answer = await s.visit(s.people.manager, '/tablet');
    expect(answer.statusCode).toBe(403);
    expect(answer.body).toContain('This page is for the tablet at the wall.');
    expect((await s.visit(null, '/tablet')).headers.location).toBe('/sign-in?next=%2Ftablet');
  });

  it('leaves whoever signs in on it as they are anywhere', async () => {
    const tablet = await aTablet(s);
    const { member } = s.people;
    const headers = { cookie: `${tablet.cookie}; ${member.cookie}` };
    const wall = await s.visit(null, '/wall', headers);
    expect(wall.statusCode).toBe(200);
    expect(wall.body).toContain('Signed in as');
    expect((await s.visit(null, '/people', headers)).statusCode).toBe(403);
    const out = await s.submit(
      null,
      '/sign-out',
      {},
      { cookie: `${tablet.cookie}; ${(await s.services.sessions.start(member.id)).split(';')[0]}` },
    );
    expect(out.headers.location).toBe('/tablet');
  });

  async function everything() {
    const all = await Promise.all([
      s.database.db.select().from(bucketEvents),
      s.database.db.select().from(people),
      s.database.db.select().from(devices),
      s.database.db.select().from(audit),
      s.database.db.select().from(buckets),
    ]);
    return all
      .map((rows) => rows.length)
      .concat(0, JSON.stringify(all[1]).length, JSON.stringify(all[4]).length);
  }
});

describe('the four verbs', () => {
  let code: string;
  let tablet: Awaited<ReturnType<typeof aTablet>>;
  let person: Person;
  let handle: string;
  beforeAll(async () => {
    code = await s.aBucket({ sg: 1.52 });
    tablet = await aTablet(s);
    person = await s.aPerson('technician', 'Noor');
    handle = await handleOf(s, tablet, code, 'Noor');
  });
  const post = (verb: string, fields: Record<string, string>, headers = {}) =>
    atTablet(s, tablet).submit(`/tablet/buckets/${code}/${verb}`, { as: handle, ...fields }, headers);
  const last = async () => (await eventsOf(code)).at(-1);

  it.each([
    ['dip', {}, 'dipping', 'stirred, dipped 1 piece'],
    ['check', { method: 'weighed', grams: '150', millilitres: '100', stirred: 'yes' }, 'reading', 'SG 1.50'],
    ['water', { litres: '0,75' }, 'addition', 'added 0.75 L of water'],
    ['problem', { problem: 'lumps' }, 'note', 'lumps'],
  ])(
    '%s is recorded as the person tapped, at the wall tablet, and leads back to the wall',
    async (verb, fields, kind, words) => {
      const answer = await post(verb, fields);
      expect(answer.statusCode, answer.body).toBe(303);
      const event = await last();
      expect(event).toMatchObject({ kind, by: person.id });
      expect(event?.deviceId).not.toBeNull();
      expect(answer.headers.location).toBe(`/tablet?did=${code}.${event?.number}`);
      const { visit } = atTablet(s, tablet);
      const wall = await visit(String(answer.headers.location));
      expect(wall.body).toContain('Noor: ');
      expect(wall.body).toContain(words);
      expect((await visit(`/tablet/buckets/${code}`)).body).toContain('Noor, at the wall tablet');
      s.clock.forward(3 * MINUTE);
      expect((await visit(String(answer.headers.location))).body).not.toContain('Take it back');
    },
  );

  it('take nothing else from a form: no time, no note, no other kind', async () => {
    const extra = {
      happenedAt: '2001-01-01T10:00',
      note: 'In their name',
      kind: 'dry',
      kilograms: '3',
      pieces: '900',
    };
    expect((await post('water', { ...extra, litres: '0.5' })).statusCode).toBe(303);
    expect(await last()).toMatchObject({ payload: { kind: 'addition', what: 'water', litres: 0.5 } });
    expect((await post('dip', extra)).statusCode).toBe(303);
    expect(await last()).toMatchObject({ payload: { kind: 'dipping', pieces: 1 } });
    const ledger = await s.visit(s.people.technician, `/buckets/${code}/ledger`);
    expect(ledger.body).not.toContain('In their name');
    expect(ledger.body).not.toContain('2001');
  });

  it('are done once by a double tap', async () => {
    const before = (await eventsOf(code)).length;
    const twice = await Promise.all([
      post('dip', { key: 'a-double-tap' }),
      post('dip', { key: 'a-double-tap' }),
    ]);
    expect(twice.map((a) => a.headers.location)).toEqual([
      twice[0]?.headers.location,
      twice[0]?.headers.location,
    ]);
    expect((await eventsOf(code)).length).toBe(before + 1);
  });

  it('bring back what was typed, with the reason', async () => {
    const answer = await post('water', { litres: 'a jug' });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('value="a jug"');
    expect(answer.body).toContain('Type a number.');
    const odd = await post('check', { method: 'weighed', grams: '190', millilitres: '100', stirred: 'yes' });
    expect(odd.statusCode).toBe(409);
    expect(odd.body).toContain('Yes, it is right: record it');
  });

  it('ask again for a name that nobody here has', async () => {
    const answer = await post('dip', { as: 'nobody-at-all-00' });
    expect(answer.statusCode).toBe(404);
    expect(answer.body).toContain('Choose the name again.');
    expect((await post('dip', { as: '' })).headers.location).toBe(`/tablet/buckets/${code}/dip`);
  });

  it('know nobody who has left, and call nobody the same on two tablets', async () => {
    const gone = await s.aPerson('member', 'Gone Tomorrow');
    const theirs = await handleOf(s, tablet, code, gone.name);
    const other = await aTablet(s);
    expect(await handleOf(s, other, code, gone.name)).not.toBe(theirs);
    await s.as(s.people.manager, (act) => changeActivity(act, { email: gone.email, active: false }));
    expect((await post('dip', { as: theirs })).statusCode).toBe(404);
    expect((await atTablet(s, tablet).visit(`/tablet/buckets/${code}/dip`)).body).not.toContain(
      'Gone Tomorrow',
    );
  });

  it('show names by their first letter, and tell namesakes apart', async () => {
    for (const name of ['Émile', 'Edda', 'Bo', 'Bo', 'Cleo', 'Dov', 'Fay', 'Gil', 'Hana'])
      await s.aPerson('member', name);
    const { visit } = atTablet(s, tablet);
    const all = await visit(`/tablet/buckets/${code}/dip`);
    expect(all.body).toContain('?initial=E');
    expect(all.body.match(/here since/g)).toHaveLength(2);
    const filtered = await visit(`/tablet/buckets/${code}/dip?initial=E`);
    expect(filtered.body).toContain('Émile');
    expect(filtered.body).toContain('Edda');
    expect(filtered.body).not.toContain('Cleo');
    expect(all.body).not.toContain('@millrace.example');
  });

  it('go back to the wall by themselves, without scripts too', async () => {
    const { visit } = atTablet(s, tablet);
    for (const url of ['', '/dip', '/problem'].map((path) => `/tablet/buckets/${code}${path}`))
      expect((await visit(url)).body).toContain(
        '<noscript><meta http-equiv="refresh" content="60;url=/tablet"/></noscript>',
      );
    expect((await visit(`/tablet/buckets/${code}/water?as=${handle}`)).body).toContain(
      'content="180;url=/tablet"',
    );
    expect((await s.visit(s.people.member, '/wall')).body).not.toContain('http-equiv="refresh"');
  });

  it('offer no dipping where a bucket must not be used', async () => {
    const stopped = await s.aBucket({ sg: 1.46 });
    const { submit, visit } = atTablet(s, tablet);
    expect(
      (await submit(`/tablet/buckets/${stopped}/problem`, { as: handle, problem: 'contaminated' }))
        .statusCode,
    ).toBe(303);
    expect((await visit(`/tablet/buckets/${stopped}`)).body).not.toContain('Stirred, dipping');
    const refused = await submit(`/tablet/buckets/${stopped}/dip`, { as: handle });
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toContain('a dipping cannot be recorded');
  });
});

describe('a card', () => {
  it('acts as its holder, by the camera and by a scanner that types', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const tablet = await aTablet(s);
    const { visit, submit } = atTablet(s, tablet);
    const petra = await s.aPerson('member', 'Petra');
    const secret = await giveCard(s, petra);

    const camera = await visit(`/card/${secret}`);
    expect(camera.headers.location).toBe(`/tablet?as=${await handleOf(s, tablet, code, 'Petra')}`);
    const wall = await visit(String(camera.headers.location));
    expect(wall.body).toContain('Petra: which bucket?');
    expect(wall.body).toContain(`/tablet/buckets/${code}?as=`);

    const typed = await submit(`/tablet/buckets/${code}/dip`, {
      card: ` https://glaze.millrace.example/card/${secret} `,
    });
    expect(typed.statusCode).toBe(303);
    expect((await eventsOf(code)).at(-1)).toMatchObject({ kind: 'dipping', by: petra.id });
    const check = await submit(`/tablet/buckets/${code}/check`, { card: secret });
    expect(check.headers.location).toMatch(/\/check\?as=/);
  });

  it('ends with the next one, and an unknown one leads back to the names', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const { submit, visit } = atTablet(s, await aTablet(s));
    const lowell = await s.aPerson('member', 'Lowell');
    const old = await giveCard(s, lowell);
    await giveCard(s, lowell);
    const answer = await submit(`/tablet/buckets/${code}/dip`, { card: old });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('This card is not known here');
    expect(answer.body).toContain('>Lowell');
    expect((await visit(`/card/${old}`)).statusCode).toBe(422);
    expect((await s.submit(lowell, '/me/card/end', {})).headers.location).toBe('/me?done=no-card');
    expect((await s.submit(lowell, '/me/card/end', {})).statusCode).toBe(409);
  });

  it('opens nothing on a screen that is no tablet', async () => {
    const secret = await giveCard(s, s.people.manager);
    expect((await s.visit(null, `/card/${secret}`)).headers.location).toMatch(/^\/sign-in/);
    expect((await s.visit(s.people.member, `/card/${secret}`)).statusCode).toBe(403);
  });

  it('is printed only where its address leads somewhere', async () => {
    expect((await s.visit(s.people.member, '/me')).body).toContain('Cards can be made once');
    expect((await s.submit(s.people.member, '/me/card', {})).statusCode).toBe(409);
    const online = await aStudio({ PUBLIC_URL: 'http://glaze.millrace.example' });
    const host = { host: 'glaze.millrace.example', origin: 'http://glaze.millrace.example' };
    const made = await online.submit(online.people.member, '/me/card', {}, host);
    expect(made.statusCode).toBe(200);
    expect(made.body).toContain('<svg class="qr"');
    expect(made.body).toContain('Ida');
  });
});

describe('a PIN', () => {
  const setup = async (role: 'member' | 'technician' = 'member') => {
    const code = await s.aBucket({ sg: 1.46 });
    const tablet = await aTablet(s);
    const who = await s.aPerson(role);
    await givePin(s, who, '4071');
    const handle = await handleOf(s, tablet, code, who.name);
    const act = (path: string, pin: string, fields: Record<string, string> = {}) =>
      atTablet(s, tablet).submit(`/tablet/buckets/${code}/${path}`, { as: handle, pin, ...fields });
    return { code, tablet, who, handle, act };
  };

  it('lets a person take back what they recorded there, and then no more', async () => {
    const { code, tablet, who, handle, act } = await setup();
    await atTablet(s, tablet).submit(`/tablet/buckets/${code}/dip`, { as: handle });
    const number = (await eventsOf(code)).at(-1)?.number;
    const page = await atTablet(s, tablet).visit(`/tablet/buckets/${code}/take-back/${number}`);
    expect(page.body).toContain(`PIN of ${who.name}`);
    expect((await act(`take-back/${number}`, '4072')).statusCode).toBe(422);
    const done = await act(`take-back/${number}`, '4071');
    expect(done.statusCode).toBe(303);
    expect((await eventsOf(code)).at(-1)).toMatchObject({ kind: 'void', by: who.id });
    expect((await atTablet(s, tablet).visit(String(done.headers.location))).body).toContain(
      'Struck out: stirred, dipped',
    );
    expect((await act(`take-back/${number}`, '4071')).statusCode).toBe(409);
    expect((await act('take-back/1', '4071')).statusCode).toBe(404);
  });

  it('keeps a note and stops a bucket in its owner’s name, with the standing they have', async () => {
    const { code, who, act } = await setup();
    expect((await act('note', '4071', { note: 'Smells of the river' })).statusCode).toBe(303);
    expect((await act('use', '4071', { state: 'do-not-use', reason: 'Too many lumps' })).statusCode).toBe(
      303,
    );
    expect((await eventsOf(code)).at(-1)).toMatchObject({ kind: 'service', by: who.id });
    expect((await act('use', '4071', { state: 'in-service' })).statusCode).toBe(403);
    const { code: other, act: asTechnician } = await setup('technician');
    await asTechnician('use', '4071', { state: 'do-not-use', reason: 'Looking at it' });
    expect((await asTechnician('use', '4071', { state: 'in-service' })).statusCode).toBe(303);
    expect((await eventsOf(other)).at(-1)).toMatchObject({ payload: { state: 'in-service' } });
  });

  it('is not asked for before the rest of the form is right', async () => {
    const { act } = await setup();
    for (let n = 0; n < 6; n++) expect((await act('note', '0000', { note: ' ' })).statusCode).toBe(422);
    expect((await act('note', '4071', { note: 'Now it is' })).statusCode).toBe(303);
  });

  it('is slow to guess for one person, on every tablet, and never locked', async () => {
    const { code, who, handle, act } = await setup();
    for (let n = 0; n < 3; n++) expect((await act('note', `000${n}`, { note: 'x' })).statusCode).toBe(422);
    const slowed = await act('note', '4071', { note: 'x' });
    expect(slowed.statusCode).toBe(429);
    expect(slowed.headers['retry-after']).toBe('15');
    expect(slowed.body).toContain('Wait 15 seconds');
    expect(slowed.body).toContain('>x</textarea>');
    const other = await aTablet(s);
    const there = await handleOf(s, other, code, who.name);
    const elsewhere = await atTablet(s, other).submit(`/tablet/buckets/${code}/note`, {
      as: there,
      pin: '4071',
      note: 'x',
    });
    expect(elsewhere.statusCode).toBe(429);
    s.clock.forward(15_000);
    expect((await act('note', '9999', { note: 'x' })).statusCode).toBe(422);
    expect((await act('note', '4071', { note: 'x' })).headers['retry-after']).toBe('30');
    s.clock.forward(30_000);
    expect((await act('note', '4071', { note: 'x' })).statusCode).toBe(303);
    expect((await act('note', '0000', { note: 'x' })).statusCode).toBe(422);
    expect(handle).not.toBe(there);
  });

  it('is slow to guess at one tablet, whoever is tried', async () => {
    const tablet = await aTablet(s);
    const code = await s.aBucket({ sg: 1.46 });
    const tried: number[] = [];
    for (let n = 0; n < 11; n++) {
      const who = await s.aPerson('member', `Guessed ${n}`);
      await givePin(s, who, '4071');
      const handle = await handleOf(s, tablet, code, who.name);
      const fields = { as: handle, pin: '2580', note: 'x' };
      tried.push((await atTablet(s, tablet).submit(`/tablet/buckets/${code}/note`, fields)).statusCode);
    }
    expect(tried).toEqual([...Array(10).fill(422), 429]);
  });

  it('is slow to guess again for a day, after which the tries are forgotten', async () => {
    const { who, act } = await setup();
    const mine = () =>
      s.database.db
        .select()
        .from(signInFailures)
        .where(eq(signInFailures.email, `pin ${who.id}`));
    for (let n = 0; n < 3; n++) await act('note', `000${n}`, { note: 'x' });
    await forgetOldFailures(s.database.db, s.clock.now() + DAY - 1);
    expect(await mine()).toHaveLength(3);
    await forgetOldFailures(s.database.db, s.clock.now() + DAY);
    expect(await mine()).toHaveLength(0);
  });

  it('cannot be tried many times at once', async () => {
    const { act } = await setup();
    const answers = await Promise.all(
      Array.from({ length: 8 }, (_, n) => act('note', `100${n}`, { note: 'x' })),
    );
    expect(answers.filter((a) => a.statusCode === 422)).toHaveLength(3);
    expect(answers.filter((a) => a.statusCode === 429)).toHaveLength(5);
  });

  it('is set by its owner, kept as a slow hash, in no key of a form, and ended', async () => {
    const ida = await s.aPerson();
    const set = (pin: string) => s.submit(ida, '/me/pin', { pin, key: 'a-key-of-a-form' });
    for (const pin of ['', '12', '12345', 'abcd', '1234', '9876', '0000', '7777', '1212', '1984', '٤٠٧١'])
      expect((await set(pin)).statusCode, pin).toBe(422);
    expect((await set('4071')).headers.location).toBe('/me?done=pin');
    const [row] = await s.database.db.select().from(people).where(eq(people.id, ida.id));
    expect(row?.pinHash).toMatch(/^\$argon2id\$/);
    expect((await s.visit(ida, '/me')).body).toContain('Change the PIN');
    expect((await s.submit(ida, '/me/pin/end', {})).headers.location).toBe('/me?done=no-pin');
    const [after] = await s.database.db.select().from(people).where(eq(people.id, ida.id));
    expect(after?.pinHash).toBeNull();
  });
});

it('whatever is typed or scanned at a tablet, the server does not fail and nothing comes out as markup', async () => {
  const code = await s.aBucket({ sg: 1.46 });
  const tablet = await aTablet(s);
  await givePin(s, s.people.member, '4071');
  const as = await handleOf(s, tablet, code, 'Ida');
  const { visit, submit } = atTablet(s, tablet);
  const urls = s.routes.filter((r) => r.permission.startsWith('tablet.') && r.method !== 'HEAD');
  const awkward = fc.oneof(
    fc.constantFrom(
      '"><script>alert(1)</script>',
      '\0',
      '\ud800',
      '',
      '-1',
      '9'.repeat(400),
      '%00',
      as,
      code,
      '4071',
    ),
    fc.string({ unit: 'binary' }),
  );
  const names = [
    'as',
    'card',
    'pin',
    'litres',
    'grams',
    'method',
    'with',
    'problem',
    'note',
    'state',
    'reason',
    'key',
  ];
  const fields = fc.dictionary(fc.constantFrom(...names, 'did', 'initial', '__proto__'), awkward, {
    maxKeys: 6,
  });
  const spot = fc.constantFrom(code, '1', '-1', 'none', '%00', encodeURIComponent('<img src=x>'));
  await fc.assert(
    fc.asyncProperty(fc.constantFrom(...urls), spot, fields, async (route, at, typed) => {
      const url = route.url.replace(/:\w+/g, at);
      const query = new URLSearchParams(
        Object.entries(typed).map(([name, value]) => [name, value.toWellFormed()]),
      );
      const answer =
        route.method === 'POST' ? await submit(url, { as, ...typed }) : await visit(`${url}?${query}`);
      expect(answer.statusCode, `${route.method} ${url} ${JSON.stringify(typed)}`).toBeLessThan(500);
      expect(answer.body).not.toContain('<script>alert');
    }),
    { numRuns: 200 },
  );
});
