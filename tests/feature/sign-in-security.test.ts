import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY, MINUTE } from '../../server/core/clock.ts';
import { people, sessions } from '../../server/core/schema.ts';
import { invite, makeResetLink } from '../../server/members/service/links.ts';
import { signIn } from '../../server/members/service/sign-in.ts';
import { aFactor, type Factor } from '../helpers/second-factor.ts';
import { aStudio, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';
import { aTablet } from '../helpers/tablet.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const fill = (url: string) => url.replace(/:number|:id/, '1').replace(/:\w+/g, 'none');
type Answer = Awaited<ReturnType<Studio['visit']>>;
const NEW_PASSWORD = 'seven quiet glaze lids';
let serial = 0;
/** An address nobody has failed from yet. */
const elsewhere = () => `198.18.0.${++serial}`;

const send = (
  url: string,
  fields: Record<string, string>,
  headers: Record<string, string> = {},
  address = elsewhere(),
) =>
  s.app.inject({
    method: 'POST',
    url,
    remoteAddress: address,
    payload: new URLSearchParams(fields).toString(),
    headers: {
      origin: 'http://localhost',
      host: 'localhost',
      'content-type': 'application/x-www-form-urlencoded',
      ...headers,
    },
  });
const typePassword = (
  person: Pick<Person, 'email'>,
  more: Record<string, string> = {},
  headers = {},
  address?: string,
) => send('/sign-in', { email: person.email, password: PASSWORD, ...more }, headers, address);
const setCookies = (answer: Answer): string[] => [answer.headers['set-cookie'] ?? []].flat().map(String);
const cookieFrom = (answer: Answer, name = 'wareboard'): string => {
  const found = setCookies(answer).find((one) => one.startsWith(`${name}=`));
  return found?.split(';')[0] ?? '';
};
const isSignedIn = async (cookie: string) =>
  (await s.app.inject({ url: '/me', headers: { cookie } })).statusCode === 200;
const resetPath = async (person: Person) => {
  const { secret } = await s.as(s.people.manager, (act) => makeResetLink(act, { email: person.email }));
  return `/reset/${secret}`;
};
const welcomePath = async (email: string) => {
  const { secret } = await s.as(s.people.manager, (act) => invite(act, { email, role: 'member' }));
  return `/welcome/${secret}`;
};

describe('an id that somebody was handed before they signed in', () => {
  const planted = ['0123456789abcdefghij', 'x'.repeat(40), '../../etc'];

  it('is never theirs afterwards, whichever way they come in', async () => {
    for (const id of planted) {
      const headers = { cookie: `wareboard=${id}; wareboard-code=${id}` };
      const [ida, wren, bo] = [await s.aPerson(), await s.aPerson(), await s.aPerson()];
      const phone = await aFactor(s, wren);
      const asked = await typePassword(wren, {}, headers);
      const step = cookieFrom(asked, 'wareboard-code');
      const newcomer = { name: 'Ash', password: NEW_PASSWORD };
      const answers = [
        await typePassword(ida, {}, headers),
        await send('/sign-in/code', { code: phone.shows() }, { cookie: `wareboard=${id}; ${step}` }),
        await send(await resetPath(bo), { password: NEW_PASSWORD }, headers),
        await send(await welcomePath(`new-${++serial}@millrace.example`), newcomer, headers),
      ];
      for (const answer of answers) {
        expect(answer.statusCode).toBe(303);
        const fresh = cookieFrom(answer);
        expect(fresh).toMatch(/^wareboard=\w{20,}$/);
        expect(fresh).not.toContain(id);
        expect(await isSignedIn(fresh)).toBe(true);
      }
      expect(await isSignedIn(`wareboard=${id}`)).toBe(false);
    }
  });

  it('ends even where it was a session of somebody: each sign-in has an id of its own', async () => {
    const [ida, thief] = [await s.aPerson(), await s.aPerson()];
    const answer = await typePassword(ida, {}, { cookie: thief.cookie });
    expect(cookieFrom(answer)).not.toBe(thief.cookie);
    expect(await isSignedIn(thief.cookie)).toBe(false);
    const again = await typePassword(ida, {}, { cookie: cookieFrom(answer) });
    expect(cookieFrom(again)).not.toBe(cookieFrom(answer));
    expect(await isSignedIn(cookieFrom(answer))).toBe(false);
  });

  it('ends nothing where the sign-in is refused, or waits for a code', async () => {
    const [ida, wren] = [await s.aPerson(), await s.aPerson()];
    await aFactor(s, wren);
    const wrong = await send('/sign-in', { email: ida.email, password: 'wrong' }, { cookie: ida.cookie });
    expect(wrong.statusCode).toBe(422);
    expect(setCookies(wrong)).toEqual([]);
    await typePassword(wren, {}, { cookie: ida.cookie });
    expect(await isSignedIn(ida.cookie)).toBe(true);
  });

  it('is of no use among others of the same name', async () => {
    const ida = await s.aPerson();
    for (const cookie of [
      `wareboard=planted; ${ida.cookie}`,
      `${ida.cookie}; wareboard=planted`,
      ';;=;',
      'wareboard',
    ]) {
      const { statusCode } = await s.app.inject({ url: '/me', headers: { cookie } });
      expect([200, 303], cookie).toContain(statusCode);
    }
  });
});

describe('signing out everywhere', () => {
  it('ends every session, says how many, and ends nobody else’s', async () => {
    const [ida, bo] = [await s.aPerson(), await s.aPerson()];
    const others = [await typePassword(ida), await typePassword(ida)].map((answer) => cookieFrom(answer));
    expect((await s.visit(ida, '/me')).body).toContain('You are signed in in 3 browsers.');
    const out = await s.submit(ida, '/me/sign-out-everywhere', {});
    expect(out.headers.location).toBe('/sign-in?out=3');
    expect((await s.visit(null, '/sign-in?out=3')).body).toContain('Signed out in 3 browsers.');
    for (const cookie of [ida.cookie, ...others]) expect(await isSignedIn(cookie)).toBe(false);
    expect(await isSignedIn(bo.cookie)).toBe(true);
  });

  it('does not count what has run out', async () => {
    const ida = await s.aPerson();
    await typePassword(ida);
    await s.database.db
      .update(sessions)
      .set({ expiresAt: s.clock.now() - 1 })
      .where(eq(sessions.personId, ida.id));
    const fresh = await typePassword(ida);
    const out = await s.submit({ ...ida, cookie: cookieFrom(fresh) }, '/me/sign-out-everywhere', {});
    expect(out.headers.location).toBe('/sign-in?out=1');
    expect((await s.visit(null, '/sign-in?out=1')).body).toContain(
      'Signed out in this browser, the only one.',
    );
  });

  it('says nothing that an address makes up', async () => {
    for (const out of ['0', '-1', '1e3', '99999', '3 of 4', '<b>3</b>', ''])
      expect((await s.visit(null, `/sign-in?out=${encodeURIComponent(out)}`)).body).not.toContain(
        'Signed out',
      );
    expect((await s.visit(null, '/sign-in?out=1&out=2')).body).not.toContain('Signed out');
  });
});

describe('what ends at once', () => {
  const ends = {
    'their own new password': (ida: Person) =>
      s.submit(ida, '/me/password', { current: PASSWORD, password: NEW_PASSWORD }),
    'a new password by a link': async (ida: Person) => send(await resetPath(ida), { password: NEW_PASSWORD }),
    'another role': ({ email }: Person) =>
      s.submit(s.people.manager, '/people/role', { email, role: 'technician' }),
    'being deactivated': ({ email }: Person) =>
      s.submit(s.people.manager, '/people/activity', { email, active: 'no' }),
  };

  it.each(Object.entries(ends))(
    'with %s: sessions, tokens, links and half-done sign-ins',
    async (_what, end) => {
      const ida = await s.aPerson();
      const phone = await aFactor(s, ida);
      const step = cookieFrom(await typePassword(ida), 'wareboard-code');
      const link = await resetPath(ida);
      expect(await isSignedIn(ida.cookie)).toBe(true);
      expect((await s.api(ida, 'GET', '/buckets')).statusCode).toBe(200);
      expect((await end(ida)).statusCode).toBe(303);
      expect(await isSignedIn(ida.cookie)).toBe(false);
      expect((await s.api(ida, 'GET', '/buckets')).statusCode).toBe(401);
      expect((await send('/sign-in/code', { code: phone.shows() }, { cookie: step })).headers.location).toBe(
        '/sign-in?code=ended',
      );
      expect((await s.visit(null, link)).statusCode).toBe(410);
    },
  );
});

describe('cookies', () => {
  it.each([
    ['plain http', undefined, /^wareboard(-code|-tablet)?=/],
    ['https', 'https://glaze.millrace.example', /^__Host-wareboard(-code|-tablet)?=/],
  ])('over %s have the flags they need, whichever they are', async (_how, url, name) => {
    const own = await aStudio(url ? { PUBLIC_URL: url } : {});
    const host = url ? new URL(url).host : 'localhost';
    const headers = { host, origin: url ?? 'http://localhost' };
    const wren = await own.aPerson('technician');
    const fields = { email: wren.email, password: PASSWORD };
    const byPassword = await own.submit(null, '/sign-in', fields, headers);
    await aFactor(own, wren);
    const signedIn = { ...headers, cookie: wren.cookie };
    const answers = [
      byPassword,
      await own.submit(null, '/sign-in', fields, headers),
      await own.submit(null, '/sign-out', {}, headers),
      await own.submit(null, '/devices/here', { name: 'By the sink' }, signedIn),
      await own.app.inject({ url: '/sign-in/code', headers: { host } }),
    ];
    const all = answers.flatMap(setCookies);
    expect(all).toHaveLength(6);
    for (const one of all) {
      expect(one).toMatch(name);
      expect(one).toContain('; HttpOnly');
      expect(one).toMatch(/; Path=\/(;|$)/);
      expect(one).toMatch(/; SameSite=(Lax|Strict)/);
      expect(one).not.toMatch(/; Domain=/i);
      expect(/; Secure(;|$)/.test(one)).toBe(url !== undefined);
    }
  });
});

describe('next=', () => {
  const lures = [
    '//evil.example',
    '///evil.example',
    '/\\evil.example',
    '\\\\evil.example',
    '/\\/evil.example',
    '%2f%2fevil.example',
    '/%2f/evil.example',
    '/%5cevil.example',
    '/.//evil.example',
    '/..//evil.example',
    '/\t/evil.example',
    '/\n/evil.example',
    '\t//evil.example',
    ' //evil.example',
    'https://evil.example/',
    'https:evil.example',
    'http://localhost@evil.example/',
    '//localhost@evil.example',
    'javascript:alert(1)',
    'JaVaScRiPt:alert(1)',
    '/javascript:alert(1)//',
    'data:text/html,<script>alert(1)</script>',
    'vbscript:x',
    '/wall\r\nSet-Cookie: wareboard=evil',
    '/wall\r\n\r\n<script>alert(1)</script>',
    '/wall%0d%0aSet-Cookie:evil=1',
    '"><script>alert(1)</script>',
  ];
  let ida: Person;
  let wren: Person;
  let phone: Factor;
  beforeAll(async () => {
    [ida, wren] = [await s.aPerson(), await s.aPerson()];
    phone = await aFactor(s, wren);
  });

  const staysHere = (answer: Answer) => {
    const to = new URL(String(answer.headers.location), 'http://localhost');
    expect(to.origin).toBe('http://localhost');
    expect(String(answer.headers.location)).not.toMatch(/[\r\n\t\\]|^\/\//);
    expect(setCookies(answer).join()).not.toContain('evil');
  };

  it.each(lures)('%j leads nowhere but to a path of ours', async (next) => {
    s.clock.forward(MINUTE);
    staysHere(await s.visit(ida, `/sign-in?next=${encodeURIComponent(next)}`));
    const page = await s.visit(null, `/sign-in?next=${encodeURIComponent(next)}`);
    expect(page.body).not.toContain('<script>');
    const kept = /name="next" value="([^"]*)"/.exec(page.body)?.[1] ?? '/';
    expect(new URL(kept.replaceAll('&amp;', '&'), 'http://localhost').origin).toBe('http://localhost');
    staysHere(await typePassword(ida, { next }));
    const asked = await typePassword(wren, { next });
    staysHere(asked);
    const cookie = cookieFrom(asked, 'wareboard-code');
    expect(
      (await s.app.inject({ url: `/sign-in/code?next=${encodeURIComponent(next)}`, headers: { cookie } }))
        .body,
    ).not.toContain('<script>');
    staysHere(await send('/sign-in/code', { code: phone.shows(), next }, { cookie }));
  });

  it('is kept where it is ours', async () => {
    expect((await typePassword(ida, { next: '/wall?sort=place' })).headers.location).toBe('/wall?sort=place');
    const asked = await s.visit(null, '/wall?sort=place');
    expect(asked.headers.location).toBe('/sign-in?next=%2Fwall%3Fsort%3Dplace');
  });
});

describe('guessing', () => {
  it('from one address keeps the true owner out nowhere else, and not for long there', async () => {
    const ida = await s.aPerson();
    const [attacker, home] = [elsewhere(), elsewhere()];
    for (let n = 0; n < 40; n++) {
      await send('/sign-in', { email: ida.email, password: `guess ${n}` }, {}, attacker);
      expect((await typePassword(ida, {}, {}, home)).statusCode).toBe(303);
    }
    const slowed = await typePassword(ida, {}, {}, attacker);
    expect(slowed.statusCode).toBe(429);
    s.clock.forward(1000 * Number(slowed.headers['retry-after']));
    expect((await typePassword(ida, {}, {}, attacker)).statusCode).toBe(303);
  });

  it('from a hundred addresses locks no account', async () => {
    const ida = await s.aPerson();
    for (let n = 0; n < 100; n++) await send('/sign-in', { email: ida.email, password: `guess ${n}` });
    expect((await typePassword(ida)).statusCode).toBe(303);
  });

  it('gets a password looked at no more than five times at once, then once a minute', async () => {
    const ida = await s.aPerson();
    const address = elsewhere();
    let looked = 0;
    for (let second = 0; second < 14 * 60; second += 15) {
      const { statusCode } = await send(
        '/sign-in',
        { email: ida.email, password: `guess ${second}` },
        {},
        address,
      );
      if (statusCode === 422) looked++;
      s.clock.forward(15_000);
    }
    // Five that are free, seven while the wait doubles to a minute (123 s in all), then one a minute.
    expect(looked).toBeLessThanOrEqual(5 + 7 + 12);
    expect(looked).toBeGreaterThan(12);
  });
});

describe('a known and an unknown account', () => {
  const countingHashes = () => {
    const looked: boolean[] = [];
    const passwords: Studio['services']['passwords'] = {
      ...s.services.passwords,
      matches: async (stored, password) => {
        looked.push(stored !== null);
        return s.services.passwords.matches(stored, password);
      },
    };
    return { looked, services: { ...s.services, passwords } };
  };

  it('cost one hash each, whatever is wrong, and the right password costs no more', async () => {
    const [ida, gone, wren] = [await s.aPerson(), await s.aPerson(), await s.aPerson()];
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, gone.id));
    await aFactor(s, wren);
    const cases: [string, string, boolean][] = [
      [ida.email, 'wrong', true],
      [wren.email, 'wrong', true],
      [gone.email, PASSWORD, false],
      ['nobody@millrace.example', PASSWORD, false],
      [ida.email, PASSWORD, true],
      [wren.email, PASSWORD, true],
    ];
    for (const [email, password, isKnown] of cases) {
      const { looked, services } = countingHashes();
      const entry = { email, password, address: elsewhere(), oldSession: null };
      await signIn(services, entry, s.clock.now()).catch(() => null);
      expect(looked, email).toEqual([isKnown]);
    }
  });

  it('are answered alike at every door that is open to strangers', async () => {
    const ida = await s.aPerson();
    const [known, unknown] = [ida.email, ida.email.replace('@', '-not@')];
    const same = (a: Answer, b: Answer) => {
      expect(b.statusCode).toBe(a.statusCode);
      expect(Object.keys(b.headers).sort()).toEqual(Object.keys(a.headers).sort());
      const plain = ({ body }: Answer) =>
        body
          .replaceAll(known, '')
          .replaceAll(unknown, '')
          .replace(/Request [\w-]+/, '');
      expect(plain(b)).toBe(plain(a));
    };
    const wrong = (email: string) => send('/sign-in', { email, password: 'wrong' });
    same(await wrong(known), await wrong(unknown));
    // Links are handed out by staff alone; a stranger who asks for one is sent to sign in.
    for (const door of ['/people/reset-link', '/people/invite', '/people/second-factor/end']) {
      const ask = (email: string) => send(door, { email, role: 'member' });
      same(await ask(known), await ask(unknown));
      expect((await ask(known)).headers.location).toBe('/sign-in');
    }
    // A link is known or not; whose it is, only its holder learns.
    for (const kind of ['reset', 'welcome']) {
      const [a, b] = [
        await s.visit(null, `/${kind}/${'x'.repeat(27)}`),
        await s.visit(null, `/${kind}/none`),
      ];
      same(a, b);
      expect(a.statusCode).toBe(404);
    }
  });

  it('are slowed down alike', async () => {
    const ida = await s.aPerson();
    const waits = async (email: string) => {
      const address = elsewhere();
      const seen: unknown[] = [];
      for (let n = 0; n < 8; n++) {
        const { statusCode, headers } = await send(
          '/sign-in',
          { email, password: `wrong ${n}` },
          {},
          address,
        );
        seen.push([statusCode, headers['retry-after']]);
      }
      return seen;
    };
    expect(await waits('nobody-at-all@millrace.example')).toEqual(await waits(ida.email));
  });
});

describe('a link for a new password', () => {
  it('works once, for a day, for the person it was made for, and for nothing else', async () => {
    const [ida, bo] = [await s.aPerson(), await s.aPerson()];
    const path = await resetPath(ida);
    // Looking at it, as a preview does, uses nothing up.
    for (let n = 0; n < 3; n++) expect((await s.visit(null, path)).statusCode).toBe(200);
    expect((await s.visit(null, path.replace('reset', 'welcome'))).statusCode).toBe(404);
    expect(
      (await send(path.replace('reset', 'welcome'), { name: 'Bo', password: NEW_PASSWORD })).statusCode,
    ).toBe(404);
    // Whoever is signed in, and whatever the form adds: it is Ida's password that changes.
    const done = await send(
      path,
      { password: NEW_PASSWORD, email: bo.email, personId: String(bo.id) },
      { cookie: bo.cookie },
    );
    expect(done.statusCode).toBe(303);
    const me = await s.app.inject({ url: '/me', headers: { cookie: cookieFrom(done) } });
    expect(me.body).toContain(ida.email);
    expect((await typePassword(bo)).statusCode).toBe(303);
    expect((await send(path, { password: `${NEW_PASSWORD} too` })).statusCode).toBe(409);
    const late = await resetPath(ida);
    s.clock.forward(DAY);
    expect((await send(late, { password: NEW_PASSWORD })).statusCode).toBe(409);
  });

  it('is kept as a hash, and comes with no referrer and no cache', async () => {
    const ida = await s.aPerson();
    const path = await resetPath(ida);
    const rows = JSON.stringify(await s.database.db.execute('select * from links'));
    expect(rows).not.toContain(path.slice('/reset/'.length));
    const page = await s.visit(null, path);
    expect(page.headers['cache-control']).toBe('no-store');
    expect(page.headers['referrer-policy']).toBe('same-origin');
  });
});

describe('a form from another site', () => {
  const unsafe = () => s.routes.filter(({ method }) => !['GET', 'HEAD', 'OPTIONS'].includes(method));
  const origins: [string, Record<string, string>][] = [
    ['no origin', {}],
    ['another site', { origin: 'https://evil.example' }],
    ['a name that begins like ours', { origin: 'http://localhost.evil.example' }],
    ['another port', { origin: 'http://localhost:81' }],
    ['an opaque origin', { origin: 'null' }],
    ['nonsense', { origin: 'localhost' }],
    ['cross-site', { 'sec-fetch-site': 'cross-site' }],
    ['same-site', { 'sec-fetch-site': 'same-site' }],
    [
      'another site that says same-origin',
      { origin: 'https://evil.example', 'sec-fetch-site': 'same-origin' },
    ],
  ];

  it.each(origins)('with a cookie and %s is refused at every route that writes', async (_what, headers) => {
    const maro = await s.aPerson('manager');
    const tablet = await aTablet(s);
    let forms = 0;
    for (const { method, url } of unsafe())
      for (const cookie of [maro.cookie, tablet.cookie]) {
        const answer = await s.app.inject({
          method: method as 'POST',
          url: fill(url),
          payload: 'password=x',
          headers: {
            host: 'localhost',
            cookie,
            'content-type': 'application/x-www-form-urlencoded',
            ...headers,
          },
        });
        const what = `${method} ${url}`;
        // Programs send a token and no cookie: a cookie is nothing there.
        if (url.startsWith('/api/')) expect([401, 404, 415], what).toContain(answer.statusCode);
        else expect(answer.statusCode, what).toBe(403);
        forms++;
      }
    expect(forms).toBeGreaterThan(100);
    expect(await isSignedIn(maro.cookie)).toBe(true);
  });

  it('reaches nothing that changes by being looked at', () => {
    const methods = new Set(s.routes.map(({ method }) => method));
    expect([...methods].sort()).toEqual(['GET', 'HEAD', 'POST']);
  });
});

describe('a page of ours in a frame of another site', () => {
  it('is refused by every answer of every route, refusals too', async () => {
    const { manager } = s.people;
    const pages = s.routes.filter(({ method }) => method === 'GET');
    for (const { url, permission } of [...pages, { url: '/nowhere' }, { url: '/api/v1/nowhere' }] as const)
      for (const who of permission === 'public' ? [null] : [manager, null]) {
        const { headers, statusCode } = await s.visit(who, fill(url));
        const what = `${url} ${statusCode}`;
        expect(String(headers['content-security-policy']), what).toMatch(/frame-ancestors 'none'|sandbox/);
        expect(headers['x-content-type-options'], what).toBe('nosniff');
      }
    const refused = await s.submit(
      manager,
      '/me/password',
      { current: 'x', password: 'y' },
      { origin: 'http://evil.example' },
    );
    expect(refused.statusCode).toBe(403);
    expect(refused.headers['content-security-policy']).toContain("frame-ancestors 'none'");
  }, 120_000);
});
