import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import { audit, people, sessions } from '../../server/core/schema.ts';
import { signInFailures } from '../../server/members/schema.ts';
import { forgetOldFailures } from '../../server/members/service/attempts.ts';
import { changePassword, replacePassword } from '../../server/members/service/passwords.ts';
import { signIn } from '../../server/members/service/sign-in.ts';
import { aStudio, PARTIAL, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const WRONG = 'The e-mail address or the password is not right.';
let serial = 0;
/** An address nobody has failed from yet. */
const elsewhere = () => `198.51.100.${++serial}`;

const tryFrom = (address: string, email: string, password: string, headers: Record<string, string> = {}) =>
  s.app.inject({
    method: 'POST',
    url: '/sign-in',
    remoteAddress: address,
    payload: new URLSearchParams({ email, password }).toString(),
    headers: {
      origin: 'http://localhost',
      host: 'localhost',
      'content-type': 'application/x-www-form-urlencoded',
      ...headers,
    },
  });
const cookieFrom = (answer: { headers: Record<string, unknown> }) =>
  String(answer.headers['set-cookie']).split(';')[0] as string;
const isSignedIn = async (cookie: string) =>
  (await s.app.inject({ url: '/me', headers: { cookie } })).statusCode === 200;
const failTimes = async (times: number, address: string, email: string) => {
  for (let n = 0; n < times; n++) {
    // Past any wait that is running, and well inside the window.
    s.clock.forward(n < 5 ? 0 : MINUTE);
    expect((await tryFrom(address, email, `wrong ${n}`)).statusCode).toBe(422);
  }
};

describe('signing in', () => {
  it('gives a session that scripts cannot read, and goes where one wanted to go', async () => {
    const ida = await s.aPerson();
    const form = await s.visit(null, '/sign-in?next=%2Fme');
    expect(form.body).toMatch(/name="next" value="\/me"/);
    expect(form.body).toMatch(/name="email"[^>]*autocomplete="username"/);
    expect(form.body).toMatch(/name="password"[^>]*autocomplete="current-password"/);
    const fields = { email: ` ${ida.email.toUpperCase()} `, password: PASSWORD, next: '/me' };
    const answer = await s.submit(null, '/sign-in', fields);
    expect(answer.statusCode).toBe(303);
    expect(answer.headers.location).toBe('/me');
    expect(String(answer.headers['set-cookie'])).toMatch(/^wareboard=\w+; HttpOnly; .*SameSite=Lax/);
    expect(await isSignedIn(cookieFrom(answer))).toBe(true);
    const rows = await s.database.db.select().from(audit).where(eq(audit.by, ida.id));
    expect(rows.map(({ act }) => act)).toEqual(['person.joined', 'person.signed-in']);
  });

  it('never leads to another site', async () => {
    const fields = { email: s.people.member.email, password: PASSWORD, next: '//elsewhere.example' };
    expect((await s.submit(null, '/sign-in', fields)).headers.location).toBe('/');
    const form = await s.visit(null, '/sign-in?next=https%3A%2F%2Felsewhere.example');
    expect(form.body).not.toContain('elsewhere.example');
  });

  it('sends whoever is signed in on', async () => {
    const answer = await s.visit(s.people.member, '/sign-in?next=/me');
    expect(answer.headers.location).toBe('/me');
  });

  it('rotates: the session this browser had before has ended', async () => {
    const ida = await s.aPerson();
    const answer = await s.submit(ida, '/sign-in', { email: ida.email, password: PASSWORD });
    expect(cookieFrom(answer)).not.toBe(ida.cookie);
    expect(await isSignedIn(ida.cookie)).toBe(false);
    expect(await isSignedIn(cookieFrom(answer))).toBe(true);
  });

  it('keeps only a hash of the session id', async () => {
    const ida = await s.aPerson();
    const id = ida.cookie.split('=')[1] as string;
    const rows = await s.database.db.select().from(sessions).where(eq(sessions.personId, ida.id));
    expect(rows).toHaveLength(1);
    expect(JSON.stringify(rows)).not.toContain(id);
  });

  it('works with htmx', async () => {
    const { email } = s.people.member;
    const answer = await s.submit(null, '/sign-in', { email, password: PASSWORD }, PARTIAL);
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['hx-location']).toBe('/');
    expect(await isSignedIn(cookieFrom(answer))).toBe(true);
    const refused = await s.submit(null, '/sign-in', { email, password: 'wrong' }, PARTIAL);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).not.toContain('<html');
  });

  it('is refused from a page of another site', async () => {
    const headers = { origin: 'https://elsewhere.example' };
    const answer = await tryFrom(elsewhere(), s.people.member.email, PASSWORD, headers);
    expect(answer.statusCode).toBe(403);
  });
});

describe('a refused sign-in', () => {
  it('says the same for a wrong password, an unknown address and somebody who has left', async () => {
    const [ida, gone] = [await s.aPerson(), await s.aPerson()];
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, gone.id));
    const address = elsewhere();
    const answers = [
      await tryFrom(address, ida.email, 'not her password'),
      await tryFrom(address, 'nobody@millrace.example', PASSWORD),
      await tryFrom(address, gone.email, PASSWORD),
    ];
    for (const answer of answers) {
      expect(answer.statusCode).toBe(422);
      expect(answer.headers['set-cookie']).toBeUndefined();
      expect(answer.body).toContain(WRONG);
    }
    const [first, ...others] = answers.map(({ body }) => body.replaceAll(/value="[^"]*@[^"]*"/g, ''));
    for (const other of others) expect(other).toBe(first);
  });

  it('comes back with the address but never the password', async () => {
    const answer = await tryFrom(elsewhere(), 'nobody@millrace.example', 'my secret of all');
    expect(answer.body).toContain('value="nobody@millrace.example"');
    expect(answer.body).not.toContain('my secret of all');
  });

  it('costs a password hash for an unknown address too', async () => {
    const asked: (string | null)[] = [];
    const passwords = {
      ...s.services.passwords,
      matches: async (stored: string | null) => {
        asked.push(stored);
        return false;
      },
    };
    const entry = { password: PASSWORD, address: elsewhere(), oldSession: null };
    for (const email of ['nobody@millrace.example', s.people.member.email])
      await expect(
        signIn({ ...s.services, passwords }, { ...entry, email }, s.clock.now()),
      ).rejects.toThrow();
    expect(asked).toEqual([null, expect.stringMatching(/^\$argon2id\$/)]);
  });
});

describe('slowing down', () => {
  it('lets five go by, then asks for longer and longer waits', async () => {
    const ida = await s.aPerson();
    const address = elsewhere();
    await failTimes(5, address, ida.email);
    const waits: number[] = [];
    for (let n = 0; n < 8; n++) {
      const answer = await tryFrom(address, ida.email, PASSWORD);
      expect(answer.statusCode).toBe(429);
      expect(Number(answer.headers['retry-after'])).toBeGreaterThan(0);
      const wait = Number(/Wait (\d+) second/.exec(answer.body)?.[1]);
      waits.push(wait);
      s.clock.forward(wait * 1000);
      expect((await tryFrom(address, ida.email, 'wrong')).statusCode).toBe(422);
    }
    expect(waits).toEqual([1, 2, 4, 8, 16, 32, 60, 60]);
  });

  it('never locks out: after the wait the right password is taken, and all is forgiven', async () => {
    const ida = await s.aPerson();
    const address = elsewhere();
    await failTimes(12, address, ida.email);
    expect((await tryFrom(address, ida.email, PASSWORD)).statusCode).toBe(429);
    s.clock.forward(MINUTE);
    expect((await tryFrom(address, ida.email, PASSWORD)).statusCode).toBe(303);
    await failTimes(5, address, ida.email);
  });

  it('does not keep a person out who signs in from elsewhere', async () => {
    const ida = await s.aPerson();
    await failTimes(8, elsewhere(), ida.email);
    expect((await tryFrom(elsewhere(), ida.email, PASSWORD)).statusCode).toBe(303);
  });

  it('does not say whether the account exists', async () => {
    const address = elsewhere();
    await failTimes(5, address, 'no-such-person@millrace.example');
    const answer = await tryFrom(address, 'no-such-person@millrace.example', 'wrong');
    expect(answer.statusCode).toBe(429);
  });

  it('counts tries that arrive together', async () => {
    const ida = await s.aPerson();
    const address = elsewhere();
    const answers = await Promise.all(
      Array.from({ length: 12 }, (_, n) => tryFrom(address, ida.email, `wrong ${n}`)),
    );
    expect(answers.filter(({ statusCode }) => statusCode === 422)).toHaveLength(5);
    expect(answers.filter(({ statusCode }) => statusCode === 429)).toHaveLength(7);
  });

  it('slows an address that tries many accounts', async () => {
    const address = elsewhere();
    for (let n = 0; n < 50; n++)
      expect((await tryFrom(address, `person-${n}@elsewhere.example`, 'wrong')).statusCode).toBe(422);
    expect((await tryFrom(address, s.people.member.email, PASSWORD)).statusCode).toBe(429);
    s.clock.forward(1000);
    expect((await tryFrom(address, s.people.member.email, PASSWORD)).statusCode).toBe(303);
  });

  it('takes the neighbours in one IPv6 network for one', async () => {
    const ida = await s.aPerson();
    for (let n = 0; n < 5; n++) await tryFrom(`2001:db8:7:7::${n}`, ida.email, 'wrong');
    expect((await tryFrom('2001:db8:7:7::99', ida.email, PASSWORD)).statusCode).toBe(429);
    expect((await tryFrom('2001:db8:7:8::99', ida.email, PASSWORD)).statusCode).toBe(303);
  });

  it('forgets after a quarter of an hour, and the rows go', async () => {
    const ida = await s.aPerson();
    const address = elsewhere();
    await failTimes(5, address, ida.email);
    s.clock.forward(15 * MINUTE);
    await failTimes(1, address, ida.email);
    await forgetOldFailures(s.database.db, s.clock.now());
    const left = await s.database.db.select().from(signInFailures).where(eq(signInFailures.email, ida.email));
    expect(left).toHaveLength(1);
    await forgetOldFailures(s.database.db, s.clock.now() + HOUR);
    expect(await s.database.db.select().from(signInFailures)).toHaveLength(0);
  });
});

describe('a password changed while somebody signs in with the old one', () => {
  /** Signs in, and changes the password after it was found to match. */
  const signInDuring = async (ida: Person, meanwhile: () => Promise<unknown>) => {
    const passwords = {
      ...s.services.passwords,
      matches: async (stored: string | null, password: string) => {
        const same = await s.services.passwords.matches(stored, password);
        await meanwhile();
        return same;
      },
    };
    const entry = { email: ida.email, password: PASSWORD, address: elsewhere(), oldSession: null };
    return signIn({ ...s.services, passwords }, entry, s.clock.now());
  };
  const sessionsOf = (ida: Person) =>
    s.database.db.select().from(sessions).where(eq(sessions.personId, ida.id));

  it('leaves no session behind', async () => {
    const ida = await s.aPerson();
    const changed = () => {
      const entry = { current: PASSWORD, password: 'four new jug handles' };
      const self = { actor: ida.caller, address: elsewhere(), now: s.clock.now() };
      return changePassword(s.services, self, entry);
    };
    await expect(signInDuring(ida, changed)).rejects.toThrow(WRONG);
    expect(await sessionsOf(ida)).toHaveLength(0);
  });

  it('leaves none even where the change is not committed yet', async () => {
    const ida = await s.aPerson();
    let commit = () => {};
    let changing: Promise<unknown> = Promise.resolve();
    const begun = () =>
      new Promise<void>((haveBegun) => {
        changing = s.database.transaction(async (tx) => {
          await replacePassword({ tx, now: s.clock.now() }, ida.id, 'another hash');
          const committing = new Promise<void>((resolve) => {
            commit = resolve;
          });
          haveBegun();
          await committing;
        });
      });
    const signingIn = signInDuring(ida, begun).catch((error: Error) => error.message);
    await expect
      .poll(async () => (await s.database.db.execute(`select 1 from pg_locks where not granted`)).length)
      .toBeGreaterThan(0);
    commit();
    expect(await signingIn).toContain(WRONG);
    await changing;
    expect(await sessionsOf(ida)).toHaveLength(0);
  });
});

describe('behind TLS', () => {
  it('the cookie is Secure and tied to this host', async () => {
    const tls = await aStudio({ PUBLIC_URL: 'https://glaze.millrace.example' });
    const { email } = tls.people.member;
    const headers = { host: 'glaze.millrace.example', origin: 'https://glaze.millrace.example' };
    const answer = await tls.submit(null, '/sign-in', { email, password: PASSWORD }, headers);
    expect(String(answer.headers['set-cookie'])).toMatch(
      /^__Host-wareboard=\w+; HttpOnly; .*Path=\/.*Secure/,
    );
  });
});
