import { execFile, spawnSync } from 'node:child_process';
import type { AddressInfo } from 'node:net';
import { beforeAll, describe, expect, it } from 'vitest';
import { ANSWERS, preparation, STEPS } from '../../server/members/device-guide.ts';
import { issueToken } from '../../server/members/service/tokens.ts';
import { unescaped } from '../helpers/html.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
let origin: string;
let token: string;
beforeAll(async () => {
  s = await aStudio();
  await s.app.listen({ host: '127.0.0.1', port: 0 });
  origin = `http://127.0.0.1:${(s.app.server.address() as AddressInfo).port}`;
  await s.aBucket({ code: 'HG', sg: 1.46, stirredMinutesAgo: 30 });
  token = await s.database.transaction((tx) =>
    issueToken({ tx, now: s.clock.now() }, s.people.member.email, {
      name: 'Scale',
      days: 90,
      scopes: ['buckets:record', 'buckets:read'],
    }),
  );
});

const events = async () =>
  (await s.api(s.people.member, 'GET', '/buckets/HG/events?limit=50')).json().events as { kind: string }[];

/** Runs a command of the guide as somebody would who copied it; gives status and body. */
async function run(command: string): Promise<{ status: number; body: string }> {
  const script = `${preparation(origin).replace('YOUR-TOKEN', token)}\n${command} -w '\\n%{http_code}'`;
  const out = await new Promise<string>((resolve, reject) => {
    execFile('sh', ['-c', script], { timeout: 20_000 }, (error, stdout, stderr) =>
      error ? reject(new Error(`${command}\n${stderr}`)) : resolve(stdout),
    );
  });
  const lines = out.split('\n');
  return { status: Number(lines.at(-1)), body: lines.slice(0, -1).join('\n') };
}

describe('the guide for instruments', () => {
  it('is led to from where tokens are made, and shows each command and answer', async () => {
    const { member } = s.people;
    expect((await s.visit(member, '/me')).body).toContain('href="/guide/devices"');
    const page = unescaped((await s.visit(member, '/guide/devices', { host: new URL(origin).host })).body);
    expect(page).toContain(preparation(origin));
    for (const { command } of STEPS) expect(page).toContain(command);
    for (const [, words] of ANSWERS) expect(page).toContain(words);
    expect((await s.visit(null, '/guide/devices')).headers.location).toContain('/sign-in');
  });

  it.skipIf(spawnSync('curl', ['--version']).error !== undefined)(
    'has commands that work as they stand, one after the other',
    async () => {
      const before = (await events()).filter(({ kind }) => kind === 'reading').length;
      const bodies: string[] = [];
      for (const { title, command, answered } of STEPS) {
        const { status, body } = await run(command);
        expect(status, `${title}: ${body}`).toBe(answered);
        bodies.push(body);
      }
      // Sent twice with one key, recorded once.
      expect(JSON.parse(bodies[1] as string)).toEqual(JSON.parse(bodies[0] as string));
      expect((await events()).filter(({ kind }) => kind === 'reading').length - before).toBe(3);
      expect(JSON.parse(bodies[3] as string)).toMatchObject({ title: 'Is this right?' });
      expect(JSON.parse(bodies[5] as string).errors[0]).toMatchObject({ path: 'grams' });
      expect(JSON.parse(bodies[6] as string)).toMatchObject({ code: 'HG' });
    },
  );

  it('tells the truth about the other answers', async () => {
    const send = (how: { token?: string; code?: string; key?: string; grams?: number }) =>
      s.app.inject({
        method: 'POST',
        url: `/api/v1/buckets/${how.code ?? 'HG'}/readings`,
        headers: {
          authorization: `Bearer ${how.token ?? token}`,
          ...(how.key && { 'idempotency-key': how.key }),
        },
        payload: { method: 'weighed', grams: how.grams ?? 1790, millilitres: 1000, confirm: true },
      });
    expect((await send({ token: 'x'.repeat(27) })).statusCode).toBe(401);
    const reader = await s.database.transaction((tx) =>
      issueToken({ tx, now: s.clock.now() }, s.people.member.email, {
        name: 'Reader',
        days: 90,
        scopes: ['buckets:read'],
      }),
    );
    const refused = await send({ token: reader });
    expect([refused.statusCode, refused.json().detail]).toEqual([
      403,
      'This token lacks the scope buckets:record.',
    ]);
    expect((await send({ code: 'NONE' })).statusCode).toBe(404);
    expect((await send({ key: 'one' })).statusCode).toBe(201);
    const again = await send({ key: 'one' });
    expect([again.statusCode, again.headers['idempotency-replayed']]).toEqual([201, 'true']);
    expect((await send({ key: 'one', grams: 1780 })).statusCode).toBe(422);
    const asked = await s.api(s.people.member, 'GET', '/buckets/HG');
    for (const header of ['ratelimit-limit', 'ratelimit-remaining', 'ratelimit-reset'])
      expect(asked.headers[header], header).toMatch(/^\d+$/);
  });
});
