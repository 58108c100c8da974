import { desc, eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { MINUTE } from '../../server/core/clock.ts';
import { isForTablets } from '../../server/core/policy.ts';
import { audit, messages, secondFactors, sessions } from '../../server/core/schema.ts';
import { recoveryCodes, signInFailures, signInSteps } from '../../server/members/schema.ts';
import { forgetOldFailures } from '../../server/members/service/attempts.ts';
import { changeActivity } from '../../server/members/service/people.ts';
import { runCommand } from '../helpers/command.ts';
import { aFactor, type Factor, phoneShows } from '../helpers/second-factor.ts';
import { aStudio, PARTIAL, PASSWORD, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const FORM = {
  origin: 'http://localhost',
  host: 'localhost',
  'content-type': 'application/x-www-form-urlencoded',
};
let serial = 0;
/** An address nobody has failed from yet. */
const elsewhere = () => `203.0.113.${++serial}`;
type Answer = Awaited<ReturnType<Studio['visit']>>;

const send = (
  url: string,
  fields: Record<string, string>,
  {
    cookie,
    address = elsewhere(),
    ...more
  }: { cookie?: string; address?: string } & Record<string, string> = {},
): Promise<Answer> =>
  s.app.inject({
    method: 'POST',
    url,
    remoteAddress: address,
    payload: new URLSearchParams(fields).toString(),
    headers: { ...FORM, ...(cookie ? { cookie } : {}), ...more },
  });

/** The cookies that an answer sets, by name; '' where it takes one back. */
const cookies = (answer: Answer): Map<string, string> =>
  new Map(
    [answer.headers['set-cookie'] ?? []].flat().map((one) => {
      const [pair = ''] = String(one).split(';');
      return pair.split('=', 2) as [string, string];
    }),
  );
const sessionOf = (answer: Answer) => {
  const value = cookies(answer).get('wareboard');
  return value ? `wareboard=${value}` : null;
};
/** Types the password; the cookie that the code page needs. */
async function begin(person: Person, address = elsewhere(), next = ''): Promise<string> {
  const fields = { email: person.email, password: PASSWORD, ...(next && { next }) };
  const answer = await send('/sign-in', fields, { address });
  expect(answer.statusCode).toBe(303);
  expect(answer.headers.location).toMatch(/^\/sign-in\/code/);
  return `wareboard-code=${cookies(answer).get('wareboard-code')}`;
}
const typeCode = (cookie: string, code: string, address = elsewhere(), more: Record<string, string> = {}) =>
  send('/sign-in/code', { code, ...more }, { cookie, address });
const isSignedIn = async (cookie: string | null) =>
  cookie !== null && (await s.app.inject({ url: '/me', headers: { cookie } })).statusCode === 200;
const acts = async (person: Person) =>
  (
    await s.database.db
      .select()
      .from(audit)
      .where(eq(audit.subject, `person:${person.id}`))
  ).map(({ act }) => act);
const wrongCode = ({ shows }: Factor) => {
  const near = [-30, 0, 30].map((off) => shows(off));
  return ['000000', '111111', '222222', '333333'].find((code) => !near.includes(code)) as string;
};
async function withFactor(role: Person['role'] = 'technician'): Promise<[Person, Factor]> {
  const person = await s.aPerson(role);
  return [person, await aFactor(s, person)];
}

const shownKey = (body: string) => /name="secondFactorKey" value="([A-Z2-7]{32})"/.exec(body)?.[1] as string;

describe('setting it up', () => {
  const shownCodes = (body: string) =>
    [...body.matchAll(/<code>([\w-]+)<\/code>/g)].map((m) => m[1] as string);

  it('takes the password, then a code of the key that is shown; then ten recovery codes are shown once', async () => {
    const wren = await s.aPerson('technician');
    expect((await s.visit(wren, '/me')).body).toContain('Set up a second factor');
    expect((await s.visit(wren, '/me/second-factor')).body).toContain('Show me the key');

    const shown = await s.submit(wren, '/me/second-factor', { password: PASSWORD });
    expect(shown.statusCode).toBe(200);
    expect(shown.headers['cache-control']).toBe('no-store');
    const key = shownKey(shown.body);
    expect(shown.body).toContain(key.match(/.{4}/g)?.join(' '));
    expect(shown.body).toMatch(/inputmode="numeric"/i);
    expect(shown.body).toMatch(/autocomplete="one-time-code"/);
    expect(shown.body).toContain('<svg class="qr"');
    // Nothing is asked for yet.
    expect((await send('/sign-in', { email: wren.email, password: PASSWORD })).headers.location).toBe('/');
    expect((await s.visit(wren, '/me/second-factor')).body).not.toContain(key);

    const confirmed = await s.submit(wren, '/me/second-factor/confirm', {
      secondFactorKey: key,
      code: phoneShows(key, s.clock.now()),
    });
    expect(confirmed.statusCode).toBe(200);
    expect(confirmed.headers['cache-control']).toBe('no-store');
    const codes = shownCodes(confirmed.body);
    expect(codes).toHaveLength(10);
    expect(await isSignedIn(wren.cookie)).toBe(false);
    expect(await isSignedIn(sessionOf(confirmed))).toBe(true);
    const page = await s.visit({ ...wren, cookie: sessionOf(confirmed) as string }, '/me/second-factor');
    expect(page.body).toContain('10 of ten are left.');
    for (const one of [key, ...codes]) expect(page.body).not.toContain(one);
    expect(await acts(wren)).toContain('second-factor.set-up');
    // Hashed at rest, and in nothing else that is kept.
    for (const table of ['recovery_codes', 'idempotency_keys', 'audit', 'messages']) {
      const rows = JSON.stringify(await s.database.db.execute(`select * from ${table}`));
      for (const code of codes) {
        expect(rows).not.toContain(code);
        expect(rows).not.toContain(code.replaceAll('-', ''));
      }
      expect(rows).not.toContain(key);
    }
  });

  it('is refused with a wrong password, and wrong ones slow down', async () => {
    const wren = await s.aPerson('technician');
    for (let n = 0; n < 5; n++) {
      const refused = await s.submit(wren, '/me/second-factor', { password: `wrong ${n}` });
      expect(refused.statusCode).toBe(422);
      expect(refused.body).toContain('This is not your current password.');
    }
    expect((await s.submit(wren, '/me/second-factor', { password: PASSWORD })).statusCode).toBe(429);
    expect(
      await s.database.db.select().from(secondFactors).where(eq(secondFactors.personId, wren.id)),
    ).toEqual([]);
  });

  it('shows the key again where the code was mistyped, and no other key', async () => {
    const wren = await s.aPerson('technician');
    const confirm = (secondFactorKey: string, code: string) =>
      s.submit(wren, '/me/second-factor/confirm', { secondFactorKey, code });
    const key = shownKey((await s.submit(wren, '/me/second-factor', { password: PASSWORD })).body);
    const mistyped = await confirm(key, 'not one');
    expect(mistyped.statusCode).toBe(422);
    expect(mistyped.body).toContain('Does the clock of your phone go right?');
    expect(shownKey(mistyped.body)).toBe(key);
    // A session alone never learns the key: whoever does not know it is shown nothing.
    const guessed = await confirm('A'.repeat(32), '123456');
    expect(guessed.statusCode).toBe(409);
    expect(guessed.body).not.toContain(key);
    for (const nonsense of ['', '<b>', 'a'.repeat(500), '\0'])
      expect((await confirm(nonsense, '123456')).statusCode).toBeGreaterThanOrEqual(400);
    expect((await confirm(key, phoneShows(key, s.clock.now()))).statusCode).toBe(200);
  });

  it('takes no key that a newer one ended, or that waited for a quarter of an hour', async () => {
    const wren = await s.aPerson('technician');
    const ask = async () =>
      shownKey((await s.submit(wren, '/me/second-factor', { password: PASSWORD })).body);
    const confirm = (key: string) =>
      s.submit(wren, '/me/second-factor/confirm', {
        secondFactorKey: key,
        code: phoneShows(key, s.clock.now()),
      });
    const [first, second] = [await ask(), await ask()];
    expect((await confirm(first)).statusCode).toBe(409);
    s.clock.forward(15 * MINUTE);
    const late = await confirm(second);
    expect(late.statusCode).toBe(409);
    expect(late.body).toContain('Begin again.');
    expect((await confirm(await ask())).statusCode).toBe(200);
  });

  it('happens once, however often it is sent, and never over one that is on', async () => {
    const wren = await s.aPerson('technician');
    const key = shownKey((await s.submit(wren, '/me/second-factor', { password: PASSWORD })).body);
    const fields = { secondFactorKey: key, code: phoneShows(key, s.clock.now()) };
    const answers = await Promise.all(
      [1, 2, 3].map(() => s.submit(wren, '/me/second-factor/confirm', fields)),
    );
    expect(answers.filter(({ statusCode }) => statusCode === 200)).toHaveLength(1);
    const cookie = sessionOf(answers.find(({ statusCode }) => statusCode === 200) as Answer) as string;
    const again = await s.submit({ ...wren, cookie }, '/me/second-factor', { password: PASSWORD });
    expect(again.statusCode).toBe(409);
    expect(again.body).toContain('Your second factor is on already.');
    const [row] = await s.database.db.select().from(secondFactors).where(eq(secondFactors.personId, wren.id));
    expect(row?.secret).toBe(key);
  });

  it('is open to members as well', async () => {
    const [ida, phone] = await withFactor('member');
    const done = await typeCode(await begin(ida), phone.shows());
    expect(done.headers.location).toBe('/');
    expect(await isSignedIn(sessionOf(done))).toBe(true);
  });
});

describe('signing in with one', () => {
  it('gives no session for the password alone', async () => {
    const [wren] = await withFactor();
    const before = await s.database.db.select().from(sessions).where(eq(sessions.personId, wren.id));
    const fields = { email: wren.email, password: PASSWORD, next: '/today' };
    const answer = await send('/sign-in', fields);
    expect(answer.headers.location).toBe('/sign-in/code?next=%2Ftoday');
    expect(sessionOf(answer)).toBeNull();
    const cookie = String(answer.headers['set-cookie']);
    expect(cookie).toMatch(/^wareboard-code=[\w-]{20,}; Path=\/; Max-Age=300; HttpOnly; SameSite=Lax$/);
    expect(await s.database.db.select().from(sessions).where(eq(sessions.personId, wren.id))).toEqual(before);
    // What the browser keeps meanwhile opens nothing, by whichever name.
    const [pair = ''] = cookie.split(';');
    for (const held of [pair, pair.replace('wareboard-code', 'wareboard'), pair.replace('-code', '-tablet')])
      expect((await s.app.inject({ url: '/wall', headers: { cookie: held } })).statusCode).toBe(303);
    expect(JSON.stringify(await s.database.db.select().from(signInSteps))).not.toContain(pair.split('=')[1]);
  });

  it('goes on with the code to where one wanted to go, and takes the half-done sign-in back', async () => {
    const [wren, phone] = await withFactor();
    const cookie = await begin(wren, elsewhere(), '/today');
    const page = await s.app.inject({ url: '/sign-in/code?next=%2Ftoday', headers: { cookie } });
    expect(page.body).toMatch(/inputmode="numeric"/i);
    expect(page.body).toMatch(/autocomplete="one-time-code"/);
    expect(page.body).toContain('name="next" value="/today"');
    expect(page.headers['cache-control']).toBe('no-store');
    const done = await typeCode(cookie, phone.shows(), elsewhere(), { next: '/today' });
    expect(done.statusCode).toBe(303);
    expect(done.headers.location).toBe('/today');
    expect(cookies(done).get('wareboard-code')).toBe('');
    expect(await isSignedIn(sessionOf(done))).toBe(true);
    expect(await s.database.db.select().from(signInSteps).where(eq(signInSteps.personId, wren.id))).toEqual(
      [],
    );
    const [last] = (await s.database.db.select().from(audit).where(eq(audit.by, wren.id))).slice(-1);
    expect(last).toMatchObject({ act: 'person.signed-in', details: { by: 'code' } });
  });

  it('never leads to another site', async () => {
    const [wren, phone] = await withFactor();
    const cookie = await begin(wren);
    const page = await s.app.inject({ url: '/sign-in/code?next=//elsewhere.example', headers: { cookie } });
    expect(page.body).not.toContain('elsewhere.example');
    const done = await typeCode(cookie, phone.shows(), elsewhere(), { next: '//elsewhere.example' });
    expect(done.headers.location).toBe('/');
  });

  it('works with htmx', async () => {
    const [wren, phone] = await withFactor();
    const asked = await send('/sign-in', { email: wren.email, password: PASSWORD }, PARTIAL);
    expect(asked.headers['hx-location']).toBe('/sign-in/code');
    const cookie = `wareboard-code=${cookies(asked).get('wareboard-code')}`;
    const wrong = await send('/sign-in/code', { code: wrongCode(phone) }, { cookie, ...PARTIAL });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).not.toContain('<html');
    const done = await send('/sign-in/code', { code: phone.shows() }, { cookie, ...PARTIAL });
    expect(done.headers['hx-location']).toBe('/');
    expect(await isSignedIn(sessionOf(done))).toBe(true);
  });

  it('takes a code of one step before or after, however it is parted, and none further off', async () => {
    const [wren, phone] = await withFactor();
    s.clock.forward(5 * MINUTE);
    for (const off of [-90, -60, 60, 90]) {
      const refused = await typeCode(await begin(wren), phone.shows(off));
      expect(refused.statusCode, String(off)).toBe(422);
    }
    const early = phone.shows(-30);
    const done = await typeCode(await begin(wren), ` ${early.slice(0, 3)} ${early.slice(3)} `);
    expect(await isSignedIn(sessionOf(done))).toBe(true);
    expect(await isSignedIn(sessionOf(await typeCode(await begin(wren), phone.shows(30))))).toBe(true);
  });

  it('takes no code twice, even by two at the same moment', async () => {
    const [wren, phone] = await withFactor();
    const both = [await begin(wren), await begin(wren)];
    const answers = await Promise.all(both.map((cookie) => typeCode(cookie, phone.shows())));
    expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([303, 422]);
    expect(answers.filter((answer) => sessionOf(answer) !== null)).toHaveLength(1);
    expect((await typeCode(await begin(wren), phone.shows())).statusCode).toBe(422);
    // Nor one from before it.
    expect((await typeCode(await begin(wren), phone.shows(-30))).statusCode).toBe(422);
    s.clock.forward(30_000);
    expect((await typeCode(await begin(wren), phone.shows())).statusCode).toBe(303);
  });

  it("takes nobody else's code", async () => {
    const [[wren], [, other]] = [await withFactor(), await withFactor()];
    const cookie = await begin(wren);
    expect((await typeCode(cookie, other.shows())).statusCode).toBe(422);
    expect((await typeCode(cookie, other.recovery[0] as string)).statusCode).toBe(422);
  });

  it('says the same for a code of any wrong kind', async () => {
    const [wren, phone] = await withFactor();
    const used = phone.recovery[0] as string;
    expect((await typeCode(await begin(wren), used)).statusCode).toBe(303);
    const bodies: string[] = [];
    for (const code of [wrongCode(phone), used, 'AAAA-AAAA-AAAA', 'no code at all', '٣٣٣٣٣٣', '1e5']) {
      const answer = await typeCode(await begin(wren), code);
      expect(answer.statusCode, code).toBe(422);
      expect(sessionOf(answer)).toBeNull();
      bodies.push(answer.body.replaceAll(/value="[^"]*"/g, ''));
    }
    expect(new Set(bodies).size).toBe(1);
  });

  it('ends after five wrong codes, and begins anew with the password', async () => {
    const [wren, phone] = await withFactor();
    const cookie = await begin(wren);
    for (let n = 0; n < 4; n++) expect((await typeCode(cookie, wrongCode(phone))).statusCode).toBe(422);
    const fifth = await typeCode(cookie, wrongCode(phone));
    expect(fifth.headers.location).toBe('/sign-in?code=ended');
    expect(cookies(fifth).get('wareboard-code')).toBe('');
    expect((await typeCode(cookie, phone.shows())).headers.location).toBe('/sign-in?code=ended');
    expect((await s.visit(null, '/sign-in?code=ended')).body).toContain('Begin again.');
    expect(await acts(wren)).toContain('sign-in.codes-refused');
    expect((await typeCode(await begin(wren), phone.shows())).statusCode).toBe(303);
  });

  it('counts wrong codes that arrive together', async () => {
    const [wren, phone] = await withFactor();
    const cookie = await begin(wren);
    const answers = await Promise.all(Array.from({ length: 8 }, () => typeCode(cookie, wrongCode(phone))));
    expect(answers.filter(({ statusCode }) => statusCode === 422)).toHaveLength(4);
    expect(answers.filter(({ statusCode }) => statusCode === 303)).toHaveLength(4);
    expect(answers.every((answer) => sessionOf(answer) === null)).toBe(true);
  });

  it('ends after five minutes, and its row goes', async () => {
    const [wren, phone] = await withFactor();
    const cookie = await begin(wren);
    s.clock.forward(5 * MINUTE);
    expect((await typeCode(cookie, phone.shows())).headers.location).toBe('/sign-in?code=ended');
    const page = await s.app.inject({ url: '/sign-in/code', headers: { cookie } });
    expect(page.headers.location).toBe('/sign-in?code=ended');
    const rows = () => s.database.db.select().from(signInSteps).where(eq(signInSteps.personId, wren.id));
    expect(await rows()).toHaveLength(1);
    await forgetOldFailures(s.database.db, s.clock.now());
    expect(await rows()).toHaveLength(0);
  });

  it('ends once the password is changed, the person has left, or a manager ended the factor', async () => {
    const changed: ((person: Person) => Promise<unknown>)[] = [
      (person) => s.submit(person, '/me/password', { current: PASSWORD, password: 'four new jug handles' }),
      ({ email }) => s.as(s.people.manager, (act) => changeActivity(act, { email, active: false })),
      ({ email }) => s.submit(s.people.manager, '/people/second-factor/end', { email }),
    ];
    for (const change of changed) {
      const [wren, phone] = await withFactor();
      const cookie = await begin(wren);
      await change(wren);
      const answer = await typeCode(cookie, phone.shows());
      expect(answer.headers.location).toBe('/sign-in?code=ended');
      expect(sessionOf(answer)).toBeNull();
    }
  });

  it('is nothing without its cookie, or with one of nobody', async () => {
    const headers: Record<string, string>[] = [
      {},
      { cookie: `wareboard-code=${'x'.repeat(27)}` },
      { cookie: 'wareboard-code=' },
    ];
    for (const more of headers) {
      expect((await s.app.inject({ url: '/sign-in/code', headers: more })).headers.location).toBe(
        '/sign-in?code=ended',
      );
      expect((await send('/sign-in/code', { code: '123456' }, more)).headers.location).toBe(
        '/sign-in?code=ended',
      );
    }
  });

  it('carries its cookie for this host alone behind TLS', async () => {
    const tls = await aStudio({ PUBLIC_URL: 'https://glaze.millrace.example' });
    const wren = await tls.aPerson('technician');
    await aFactor(tls, wren);
    const headers = { host: 'glaze.millrace.example', origin: 'https://glaze.millrace.example' };
    const answer = await tls.submit(null, '/sign-in', { email: wren.email, password: PASSWORD }, headers);
    expect(String(answer.headers['set-cookie'])).toMatch(
      /^__Host-wareboard-code=[\w-]+; Path=\/; Max-Age=300; HttpOnly; SameSite=Lax; Secure$/,
    );
  });
});

describe('slowing down at the code', () => {
  it('counts as the password does for account and address, the right password too, until the code is right', async () => {
    const [wren, phone] = await withFactor();
    const address = elsewhere();
    const cookie = await begin(wren, address);
    for (let n = 0; n < 4; n++)
      expect((await typeCode(cookie, wrongCode(phone), address)).statusCode).toBe(422);
    const slowed = await typeCode(cookie, phone.shows(), address);
    expect(slowed.statusCode).toBe(429);
    expect(slowed.headers['retry-after']).toBe('1');
    expect(slowed.body).toContain('Too many wrong codes. Wait 1 second');
    expect((await send('/sign-in', { email: wren.email, password: PASSWORD }, { address })).statusCode).toBe(
      429,
    );
    s.clock.forward(1000);
    expect((await typeCode(cookie, phone.shows(), address)).statusCode).toBe(303);
    const left = await s.database.db
      .select()
      .from(signInFailures)
      .where(eq(signInFailures.email, wren.email));
    expect(left.filter((row) => row.address === address)).toEqual([]);
  });

  it('slows six digits down for a person wherever they are typed, but no recovery code', async () => {
    const [wren, phone] = await withFactor();
    let cookie = '';
    for (let n = 0; n < 10; n++) {
      if (n % 4 === 0) cookie = await begin(wren);
      expect((await typeCode(cookie, wrongCode(phone))).statusCode).toBe(422);
    }
    const waits: number[] = [];
    for (let n = 0; n < 8; n++) {
      const fresh = await begin(wren);
      const slowed = await typeCode(fresh, wrongCode(phone));
      expect(slowed.statusCode).toBe(429);
      waits.push(Number(slowed.headers['retry-after']));
      s.clock.forward(1000 * (waits.at(-1) as number));
      expect((await typeCode(await begin(wren), wrongCode(phone))).statusCode).toBe(422);
    }
    expect(waits).toEqual([1, 2, 4, 8, 16, 32, 60, 60]);
    // Whoever guesses keeps nobody out.
    expect((await typeCode(await begin(wren), phone.recovery[3] as string)).statusCode).toBe(303);
    s.clock.forward(30_000);
    expect((await typeCode(await begin(wren), phone.shows())).statusCode).toBe(303);
  });

  it('keeps nobody out who does not know the password', async () => {
    const [wren, phone] = await withFactor();
    for (let n = 0; n < 15; n++) await send('/sign-in', { email: wren.email, password: `wrong ${n}` });
    expect((await typeCode(await begin(wren), phone.shows())).statusCode).toBe(303);
  });
});

describe('recovery codes', () => {
  it('let in once each, and say how many are left', async () => {
    const [wren, { recovery }] = await withFactor();
    const typed = (recovery[0] as string).toLowerCase().replaceAll('-', ' ');
    const done = await typeCode(await begin(wren), typed, elsewhere(), { next: '/today' });
    expect(done.headers.location).toBe('/me/second-factor?done=recovered');
    const page = await s.app.inject({
      url: '/me/second-factor?done=recovered',
      headers: { cookie: sessionOf(done) as string },
    });
    expect(page.body).toContain('9 of ten are left.');
    expect(page.body).toContain('which is used up now');
    expect((await typeCode(await begin(wren), recovery[0] as string)).statusCode).toBe(422);
    const both = [await begin(wren), await begin(wren)];
    const answers = await Promise.all(both.map((cookie) => typeCode(cookie, recovery[1] as string)));
    expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([303, 422]);
    for (const code of recovery.slice(2))
      expect((await typeCode(await begin(wren), code)).statusCode).toBe(303);
    expect(
      (await s.visit({ ...wren, cookie: sessionOf(done) as string }, '/me/second-factor')).body,
    ).toContain('None is left.');
  });

  it('are offered a field of their own, since a phone would offer digits alone', async () => {
    const [wren] = await withFactor();
    const cookie = await begin(wren);
    const page = await s.app.inject({ url: '/sign-in/code?kind=recovery', headers: { cookie } });
    expect(page.body).toContain('Recovery code');
    expect(page.body).not.toMatch(/inputmode/i);
  });

  it('are made anew for a code, and the old ones end', async () => {
    const [wren, phone] = await withFactor();
    expect((await s.submit(wren, '/me/second-factor/codes', { code: wrongCode(phone) })).statusCode).toBe(
      422,
    );
    const made = await s.submit(wren, '/me/second-factor/codes', { code: phone.shows() });
    expect(made.statusCode).toBe(200);
    const fresh = [...made.body.matchAll(/<code>([\w-]+)<\/code>/g)].map((m) => m[1] as string);
    expect(fresh).toHaveLength(10);
    expect((await s.submit(wren, '/me/second-factor/codes', { code: phone.shows() })).statusCode).toBe(422);
    expect((await typeCode(await begin(wren), phone.recovery[0] as string)).statusCode).toBe(422);
    expect((await typeCode(await begin(wren), fresh[0] as string)).statusCode).toBe(303);
    expect(await acts(wren)).toContain('recovery-codes.made');
  });
});

describe('ending it', () => {
  it('takes password and code, and signs out everywhere else', async () => {
    const [wren, phone] = await withFactor();
    const elsewhereToo = (await s.services.sessions.start(wren.id)).split(';')[0] as string;
    const end = (password: string, code: string) =>
      s.submit(wren, '/me/second-factor/end', { password, code });
    expect((await end('wrong', phone.shows())).body).toContain('This is not your current password.');
    expect((await end(PASSWORD, wrongCode(phone))).body).toContain('This is not the code');
    const done = await end(PASSWORD, phone.shows());
    expect(done.headers.location).toBe('/me/second-factor?done=ended');
    expect(await isSignedIn(wren.cookie)).toBe(false);
    expect(await isSignedIn(elsewhereToo)).toBe(false);
    expect(await isSignedIn(sessionOf(done))).toBe(true);
    expect((await send('/sign-in', { email: wren.email, password: PASSWORD })).headers.location).toBe('/');
    for (const table of [secondFactors, recoveryCodes])
      expect(await s.database.db.select().from(table).where(eq(table.personId, wren.id))).toEqual([]);
    expect(await acts(wren)).toContain('second-factor.ended');
    const cookie = sessionOf(done) as string;
    const nothing = await s.submit({ ...wren, cookie }, '/me/second-factor/codes', { code: '123456' });
    expect(nothing.statusCode).toBe(409);
    expect(nothing.body).toContain('You have no second factor.');
  });

  it('is not done by a new password, nor by a link for one', async () => {
    const [wren, phone] = await withFactor();
    const { body } = await s.submit(s.people.manager, '/people/reset-link', { email: wren.email });
    const path = /value="http:\/\/localhost(\/reset\/[\w-]+)"/.exec(body)?.[1] as string;
    const password = 'seven quiet glaze lids';
    const reset = await send(path, { password });
    expect(reset.headers.location).toBe('/sign-in/code');
    expect(sessionOf(reset)).toBeNull();
    const cookie = `wareboard-code=${cookies(reset).get('wareboard-code')}`;
    expect(await isSignedIn(sessionOf(await typeCode(cookie, phone.shows())))).toBe(true);
    const again = await send('/sign-in', { email: wren.email, password });
    expect(again.headers.location).toBe('/sign-in/code');
  });

  it('is done by a manager for somebody else, who is signed out and told', async () => {
    const [wren] = await withFactor();
    const { manager, technician, member } = s.people;
    const end = (by: Person, email = wren.email) => s.submit(by, '/people/second-factor/end', { email });
    for (const by of [technician, member]) expect((await end(by)).statusCode).toBe(403);
    expect((await s.visit(manager, '/people')).body).toContain('with a second factor');
    expect((await s.visit(technician, '/people')).body).not.toContain('with a second factor');
    expect((await end(manager)).headers.location).toBe('/people?done=factor');
    expect(await isSignedIn(wren.cookie)).toBe(false);
    const told = await s.database.db.select().from(messages).where(eq(messages.personId, wren.id));
    expect(told.map(({ words, href }) => [words, href]).at(-1)).toEqual([
      expect.stringContaining('Maro ended your second factor'),
      '/me/second-factor',
    ]);
    const rows = await s.database.db
      .select()
      .from(audit)
      .where(eq(audit.subject, `person:${wren.id}`));
    expect(rows.find(({ act }) => act === 'second-factor.ended')?.by).toBe(manager.id);
    expect((await send('/sign-in', { email: wren.email, password: PASSWORD })).headers.location).toBe('/');
    expect((await end(manager)).statusCode).toBe(409);
    expect((await end(manager, 'nobody@millrace.example')).statusCode).toBe(404);
  });

  it("is not done with a manager's own that way", async () => {
    const [maro] = await withFactor('manager');
    const answer = await s.submit(maro, '/people/second-factor/end', { email: maro.email });
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('with your password and a code');
  });

  it('is done at the server for a manager whom nobody else could help', async () => {
    const [maro] = await withFactor('manager');
    const settings = {
      DATABASE_URL: s.services.config.databaseUrl as string,
      PUBLIC_URL: 'http://localhost',
    };
    const link = await runCommand('reset-link', [maro.email], settings);
    expect(link.stdout).toContain('if the phone is lost, add --second-factor.');
    const { code, stdout, stderr } = await runCommand(
      'reset-link',
      [maro.email, '--second-factor'],
      settings,
    );
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(stdout).toContain('Their second factor has ended.');
    const told = await s.database.db.select().from(messages).where(eq(messages.personId, maro.id));
    expect(told.map(({ words }) => words)).toContainEqual(expect.stringContaining('was ended at the server'));
    const path = new URL(stdout.trimEnd().split('\n').at(-1) as string).pathname;
    const answer = await send(path, { password: 'eleven hanging kiln shelves' });
    expect(answer.headers.location).toBe('/');
    expect(await isSignedIn(sessionOf(answer))).toBe(true);
    const none = await runCommand('reset-link', [maro.email, '--second-factor'], settings);
    expect(none).toEqual({ code: 1, stdout: '', stderr: 'This person has no second factor.\n' });
  });
});

describe('whoever it is about', () => {
  it('is told of everything that is done about how they sign in, themselves included', async () => {
    const [wren, phone] = await withFactor();
    const lastTold = async () => {
      const rows = await s.database.db
        .select()
        .from(messages)
        .where(eq(messages.personId, wren.id))
        .orderBy(desc(messages.id));
      return rows[0]?.words;
    };
    expect(await lastTold()).toContain('You have a second factor now.');
    const cookie = await begin(wren);
    for (let n = 0; n < 5; n++) await typeCode(cookie, wrongCode(phone));
    expect(await lastTold()).toContain('Somebody typed your password and then five wrong codes.');
    await typeCode(await begin(wren), phone.recovery[0] as string);
    expect(await lastTold()).toContain('A recovery code of yours was used; 9 of ten are left.');
    await s.submit(wren, '/me/second-factor/codes', { code: phone.shows() });
    expect(await lastTold()).toContain('You have new recovery codes.');
    s.clock.forward(30_000);
    const ended = await s.submit(wren, '/me/second-factor/end', { password: PASSWORD, code: phone.shows() });
    expect(await lastTold()).toContain('Your second factor has ended.');
    const now = { ...wren, cookie: sessionOf(ended) as string };
    await s.submit(now, '/me/password', { current: PASSWORD, password: 'seven quiet glaze lids' });
    expect(await lastTold()).toContain('Your password was changed.');
  });
});

describe('a token', () => {
  const make = (person: Person, fields: Record<string, string> = {}) =>
    s.submit(person, '/me/tokens', {
      name: `logger ${++serial}`,
      expires: '30',
      may: 'everything',
      ...fields,
    });

  it('asks for a code where there is a factor, and for nothing more where there is none', async () => {
    const [wren, phone] = await withFactor();
    expect((await s.visit(wren, '/me')).body).toMatch(/id="token-code"/);
    const without = await make(wren);
    expect(without.statusCode).toBe(422);
    expect(without.body).toContain('Type the code that your phone shows now.');
    expect((await make(wren, { code: wrongCode(phone) })).statusCode).toBe(422);
    expect((await make(wren, { code: phone.shows() })).body).toContain('Your new token');
    expect((await make(wren, { code: phone.shows() })).statusCode).toBe(422);
    const ida = await s.aPerson();
    expect((await s.visit(ida, '/me')).body).not.toMatch(/id="token-code"/);
    expect((await make(ida)).body).toContain('Your new token');
  });

  it('whose name is taken uses no code up', async () => {
    const [wren, phone] = await withFactor();
    expect((await make(wren, { name: 'test', code: phone.shows() })).body).toContain(
      'You have a token of this name',
    );
    expect((await make(wren, { code: phone.shows() })).body).toContain('Your new token');
  });
});

describe('a studio that asks technicians and managers for it', () => {
  let own: Studio;
  let maro: Person;
  const settings = { name: 'Millrace', timeZone: 'Europe/London', units: 'metric' };
  beforeAll(async () => {
    own = await aStudio();
    maro = own.people.manager;
    const first = await own.submit(maro, '/studio', { ...settings, staffSecondFactor: 'yes' });
    expect(first.statusCode).toBe(422);
    expect(first.body).toContain('Set up your own second factor first');
    await aFactor(own, maro);
    const saved = await own.submit(maro, '/studio', { ...settings, staffSecondFactor: 'yes' });
    expect(saved.headers.location).toBe('/studio?done=saved');
    expect((await own.visit(maro, '/studio')).body).toMatch(/name="staffSecondFactor"[^>]* checked/);
  });

  it('leads whoever has none to it right after the password', async () => {
    const wren = await own.aPerson('technician');
    const fields = { email: wren.email, password: PASSWORD, next: '/wall' };
    expect((await own.submit(null, '/sign-in', fields)).headers.location).toBe('/me/second-factor');
    const page = await own.visit(wren, '/me/second-factor');
    expect(page.body).toContain('Set it up to go on');
    for (const [path, status] of [
      ['/today', 303],
      ['/people', 303],
      ['/buckets/new', 303],
      ['/wall', 200],
      ['/me', 200],
    ] as const) {
      const answer = await own.visit(wren, path);
      expect(answer.statusCode, path).toBe(status);
      if (status === 303) expect(answer.headers.location).toBe('/me/second-factor');
      else expect(answer.body).toContain('You see this as a member does');
    }
    expect((await own.visit(wren, '/people', PARTIAL)).headers['hx-redirect']).toBe('/me/second-factor');
  });

  const fill = (url: string) => url.replace(/:number|:id/, '1').replace(/:\w+/g, 'none');

  it('lets them write nothing but what the second factor and signing out take', async () => {
    const open: string[] = [];
    const wren = await own.aPerson('technician');
    for (const { method, url, permission } of own.routes) {
      if (method !== 'POST' || permission === 'public' || url.startsWith('/api/')) continue;
      const answer = await own.submit(wren, fill(url), {});
      if (answer.statusCode === 403) continue;
      open.push(url);
      wren.cookie = (await own.services.sessions.start(wren.id)).split(';')[0] as string;
    }
    expect(open.sort()).toEqual([
      '/me/second-factor',
      '/me/second-factor/codes',
      '/me/second-factor/confirm',
      '/me/second-factor/end',
      '/me/sign-out-everywhere',
    ]);
  }, 120_000);

  it('shows them no page that a member may not see', async () => {
    const [member, wren] = [await own.aPerson('member'), await own.aPerson('technician')];
    let led = 0;
    for (const { method, url, permission } of own.routes) {
      if (method !== 'GET' || permission === 'public' || url.startsWith('/api/')) continue;
      const theirs = await own.visit(wren, fill(url));
      const members = await own.visit(member, fill(url));
      if (members.statusCode === 403 && !isForTablets(permission)) {
        expect(theirs.headers.location, url).toBe('/me/second-factor');
        led++;
      } else expect(theirs.statusCode, url).toBe(members.statusCode);
    }
    expect(led).toBeGreaterThan(50);
  }, 120_000);

  it('opens everything once it is set up, from that very answer on', async () => {
    const ash = await own.aPerson('technician');
    const shown = await own.submit(ash, '/me/second-factor', { password: PASSWORD });
    const secondFactorKey = shownKey(shown.body);
    const code = phoneShows(secondFactorKey, own.clock.now());
    const confirmed = await own.submit(ash, '/me/second-factor/confirm', { secondFactorKey, code });
    expect(confirmed.body).not.toContain('You see this as a member does');
    expect(confirmed.body).toContain('href="/today"');
    const wren = await own.aPerson('technician');
    await aFactor(own, wren);
    const page = await own.visit(wren, '/today');
    expect(page.statusCode).toBe(200);
    expect(page.body).not.toContain('You see this as a member does');
  });

  it('asks no member, and stops no token that a program has', async () => {
    const [ida, wren] = [await own.aPerson('member'), await own.aPerson('technician')];
    expect((await own.visit(ida, '/wall')).body).not.toContain('You see this as a member does');
    expect((await own.submit(ida, '/me', { name: 'Ida', units: 'us' })).statusCode).toBe(303);
    expect((await own.api(wren, 'GET', '/buckets')).statusCode).toBe(200);
    expect((await own.submit(wren, '/me/tokens', { name: 'another', expires: '30' })).statusCode).toBe(403);
  });

  it('asks whoever becomes a technician, from the next sign-in on', async () => {
    const ida = await own.aPerson('member');
    await own.submit(maro, '/people/role', { email: ida.email, role: 'technician' });
    const fields = { email: ida.email, password: PASSWORD };
    expect((await own.submit(null, '/sign-in', fields)).headers.location).toBe('/me/second-factor');
  });

  it('goes back by the same tick', async () => {
    const wren = await own.aPerson('technician');
    expect((await own.visit(wren, '/today')).statusCode).toBe(303);
    expect((await own.submit(maro, '/studio', settings)).statusCode).toBe(303);
    expect((await own.visit(wren, '/today')).statusCode).toBe(200);
    const rows = await own.database.db.select().from(audit).where(eq(audit.subject, 'studio'));
    expect(rows.map(({ details }) => (details as { staffSecondFactor?: boolean }).staffSecondFactor)).toEqual(
      [true, false],
    );
  });
});
