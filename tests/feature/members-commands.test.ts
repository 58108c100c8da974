import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { eq } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { connect, type Database, migrate } from '../../server/core/database.ts';
import { startBundled } from '../../server/core/postgres.ts';
import { people, tokens } from '../../server/core/schema.ts';
import { secretHash } from '../../server/core/secrets.ts';
import { createPerson } from '../../server/members/service/people.ts';
import { runCommand, type Settings } from '../helpers/command.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

const run = (args: string[], settings: Settings) => runCommand('token', args, settings);
const lastLine = (text: string) => text.trimEnd().split('\n').at(-1) as string;

describe('with DATABASE_URL', () => {
  let s: Studio;
  let url: string;
  beforeAll(async () => {
    s = await aStudio();
    url = s.services.config.databaseUrl as string;
  });

  it('prints a token last, which works for a year', async () => {
    const { member } = s.people;
    const { code, stdout, stderr } = await run([member.email.toUpperCase()], { DATABASE_URL: url });
    expect(stderr).toBe('');
    expect(code).toBe(0);
    const token = lastLine(stdout);
    expect((await s.services.sessions.findByToken(token))?.id).toBe(member.id);
    const [row] = await s.database.db
      .select()
      .from(tokens)
      .where(eq(tokens.hash, secretHash(token)));
    expect(row?.createdAt).toBeGreaterThan(Date.now() - HOUR);
    expect((row?.expiresAt ?? 0) - (row?.createdAt ?? 0)).toBe(365 * DAY);
    expect((await s.visit(member, '/me')).body).toContain('From the server, ');
  });

  it('limits it to a scope, and says so', async () => {
    const { manager } = s.people;
    const { code, stdout } = await run([manager.email, 'fees:read'], { DATABASE_URL: url });
    expect(code).toBe(0);
    expect(stdout).toContain(`A token of ${manager.email} for fees:read, good for a year`);
    const found = await s.services.sessions.findByToken(lastLine(stdout));
    expect(found).toMatchObject({ id: manager.id, scopes: ['fees:read'] });
  });

  it('limits it to several', async () => {
    const { member } = s.people;
    const { stdout } = await run([member.email, 'ware:read', 'buckets:read'], { DATABASE_URL: url });
    const found = await s.services.sessions.findByToken(lastLine(stdout));
    expect(found?.scopes).toEqual(['buckets:read', 'ware:read']);
  });

  it.each([
    [['nobody@millrace.example'], 'Nobody here has the e-mail address nobody@millrace.example.'],
    [['not an address'], 'An e-mail address, such as'],
    [[], 'npm run token -- EMAIL'],
    [['a@millrace.example', 'b@millrace.example'], 'npm run token -- EMAIL [SCOPE …], with buckets:read'],
    [['a@millrace.example', 'fees:read', 'more'], 'npm run token -- EMAIL'],
  ])('%j is refused in words', async (args, words) => {
    const { code, stdout, stderr } = await run(args, { DATABASE_URL: url });
    expect(code).toBe(1);
    expect(stdout).toBe('');
    expect(stderr).toContain(words);
    expect(stderr.trim().split('\n')).toHaveLength(1);
  });

  it('makes none for somebody who has left', async () => {
    const ida = await s.aPerson();
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, ida.id));
    const { code, stderr } = await run([ida.email], { DATABASE_URL: url });
    expect(code).toBe(1);
    expect(stderr).toBe('This person is not active.\n');
  });
});

describe('a reset link from the server', () => {
  it('lets a manager back in whom nobody else could help, once', async () => {
    const s = await aStudio();
    const settings = {
      DATABASE_URL: s.services.config.databaseUrl as string,
      PUBLIC_URL: 'http://localhost',
    };
    const { code, stdout, stderr } = await runCommand('reset-link', [s.people.manager.email], settings);
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    const { pathname, origin } = new URL(lastLine(stdout));
    expect(origin).toBe('http://localhost');
    const password = 'eleven hanging kiln shelves';
    expect((await s.submit(null, pathname, { password })).statusCode).toBe(303);
    const { email } = s.people.manager;
    expect((await s.submit(null, '/sign-in', { email, password })).statusCode).toBe(303);
    expect((await s.submit(null, pathname, { password: `${password} again` })).statusCode).not.toBe(303);
    const nobody = await runCommand('reset-link', ['nobody@millrace.example'], settings);
    expect(nobody).toEqual({ code: 1, stdout: '', stderr: 'Nobody here has this e-mail address.\n' });
  });
});

describe('with the bundled Postgres', () => {
  const email = 'ida@millrace.example';
  let cwd: string;
  let server: Awaited<ReturnType<typeof startBundled>>;
  let database: Database;
  beforeAll(async () => {
    cwd = await mkdtemp(join(tmpdir(), 'wareboard-token-'));
    // For root, Postgres runs as another account: in a closed folder it would leave its cluster elsewhere.
    await chmod(cwd, 0o755);
    server = await startBundled({ dataDir: join(cwd, 'data-demo'), mark: 'demo', fsync: false });
    await migrate(server.ownerUrl, server.appUrl);
    database = connect(server.appUrl, { max: 1 });
    const person = { name: 'Ida', email, role: 'member', passwordHash: 'none' } as const;
    await database.transaction((tx) => createPerson(tx, person, Date.now()));
  });
  afterAll(async () => {
    await server.stop();
    await rm(cwd, { recursive: true, force: true });
  });

  it('works beside the running server, where only a demo has run', async () => {
    const { stdout, stderr } = await run([email], { cwd });
    expect(stderr).toBe('');
    const rows = await database.db.select({ hash: tokens.hash }).from(tokens);
    expect(rows.map(({ hash }) => hash)).toContain(secretHash(lastLine(stdout)));
  });

  it('works in the folder that DATA_DIR names, with no server running', async () => {
    await database.close();
    await server.stop();
    const { code, stdout, stderr } = await run([email], { DATA_DIR: join(cwd, 'data-demo') });
    expect(stderr).toBe('');
    expect(code).toBe(0);
    expect(lastLine(stdout)).toMatch(/^[\w-]{27}$/);
  });

  it('says where it looked when there is nothing', async () => {
    const { code, stderr } = await run([email], { DATA_DIR: join(cwd, 'elsewhere') });
    expect(code).toBe(1);
    expect(stderr).toContain(join(cwd, 'elsewhere'));
  });
});
