import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { sql } from 'drizzle-orm';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { connect, isCurrent, migrate, readJournal } from '../../server/core/database.ts';
import { aDatabase, anApp } from '../helpers/studio.ts';

describe('migrations', () => {
  it('strictly rise in time: one that does not would be skipped in silence', () => {
    const times = readJournal().entries.map((entry) => entry.when);
    expect(times).toEqual([...new Set(times)].sort((a, b) => a - b));
  });

  it('each has its file, and no file is without its entry', () => {
    const files = readdirSync('migrations').filter((name) => name.endsWith('.sql'));
    expect(files.sort()).toEqual(readJournal().entries.map((entry) => `${entry.tag}.sql`));
  });

  it('were applied as they stand in their files', async () => {
    const { ownerUrl } = await aDatabase();
    const client = postgres(ownerUrl, { max: 1 });
    const applied = await client`select hash from drizzle.__drizzle_migrations order by id`;
    await client.end();
    const hashes = readJournal().entries.map(({ tag }) =>
      createHash('sha256')
        .update(readFileSync(`migrations/${tag}.sql`, 'utf8'))
        .digest('hex'),
    );
    expect(applied.map((row) => row.hash)).toEqual(hashes);
  });

  it('run once when five start at the same moment on an empty database', async () => {
    const { ownerUrl, appUrl } = await aDatabase();
    const client = postgres(ownerUrl, { max: 1, onnotice: () => {} });
    await client.unsafe('drop schema public cascade; drop schema drizzle cascade; create schema public');
    await Promise.all(Array.from({ length: 5 }, () => migrate(ownerUrl, appUrl)));
    const [row] = await client`select count(*)::int as n from drizzle.__drizzle_migrations`;
    expect(row?.n).toBe(readJournal().entries.length);
    await client.unsafe('delete from drizzle.__drizzle_migrations where id = 1');
    await client.end();
    const database = connect(appUrl);
    expect(await isCurrent(database.db)).toBe(false);
    await database.close();
  });
});

describe('a database that fails', () => {
  let made: Awaited<ReturnType<typeof anApp>>;
  beforeAll(async () => {
    made = await anApp();
  });

  it('answers 503 with a time to come back, and readiness says no', async () => {
    const { app, database } = made;
    const name = new URL(made.ownerUrl).pathname.slice(1);
    const elsewhere = new URL(made.ownerUrl);
    elsewhere.pathname = '/postgres';
    const client = postgres(elsewhere.href, { max: 1 });
    await client.unsafe(`alter database "${name}" allow_connections false`);
    await client`select pg_terminate_backend(pid) from pg_stat_activity where datname = ${name} and pid <> pg_backend_pid()`;
    const down = await app.inject({ url: '/api/v1/buckets' });
    expect(down.statusCode).toBe(503);
    expect(down.headers['retry-after']).toBe('5');
    expect((await app.inject('/readyz')).statusCode).toBe(503);
    expect((await app.inject('/healthz')).statusCode).toBe(200);
    await client.unsafe(`alter database "${name}" allow_connections true`);
    await client.end();
    await expect.poll(async () => (await app.inject('/readyz')).statusCode, { timeout: 15_000 }).toBe(200);
    await database.db.execute(sql`select 1`);
  });
});
