import { spawnSync } from 'node:child_process';
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { eq, sql } from 'drizzle-orm';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { bucketEvents, buckets } from '../../server/buckets/schema.ts';
import { examine } from '../../server/cli/examine.ts';
import { databaseError, migrate } from '../../server/core/database.ts';
import { startBundled } from '../../server/core/postgres.ts';
import { idempotencyKeys } from '../../server/core/schema.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { aDatabase, aStudio, type Studio } from '../helpers/studio.ts';
import { aLink, type Link } from './link.ts';
import { descendants } from './processes.ts';

const REST = { timeout: 20_000 };

/** A stir by the API under a key of its own. */
const stir = (s: Studio, code: string, key: string) =>
  s.api(s.people.member, 'POST', `/buckets/${code}/stirs`, {}, { 'idempotency-key': key });

async function stirsOf(s: Studio, code: string): Promise<number> {
  const rows = await s.database.db
    .select({ kind: bucketEvents.kind })
    .from(bucketEvents)
    .innerJoin(buckets, eq(buckets.id, bucketEvents.bucketId))
    .where(eq(buckets.code, code));
  return rows.filter(({ kind }) => kind === 'stir').length;
}

/** Every place of the pool answers, and more at once than it has. */
async function isAsBefore(s: Studio, code: string): Promise<void> {
  await expect.poll(async () => (await s.visit(null, '/readyz')).statusCode, REST).toBe(200);
  const answers = await Promise.all(
    Array.from({ length: 25 }, (_, i) =>
      i % 2
        ? s.visit(s.people.member, `/buckets/${code}`)
        : s.api(s.people.member, 'POST', `/buckets/${code}/stirs`, {}),
    ),
  );
  expect(answers.map(({ statusCode }) => statusCode)).toEqual(answers.map((_, i) => (i % 2 ? 200 : 201)));
  expect((await examine(s.database)).faults).toEqual([]);
}

/** Stirs of many at once, each sent again under its key until it is answered. */
async function persist(s: Studio, code: string, howMany: number): Promise<void> {
  await Promise.all(
    Array.from({ length: howMany }, async (_, i) => {
      for (let tries = 1; ; tries++) {
        const { statusCode, headers } = await stir(s, code, `${code}-${i}`);
        if (statusCode === 201) return;
        expect(statusCode).toBe(503);
        expect(headers['retry-after']).toBe('5');
        if (tries > 200) throw new Error('never answered');
        await new Promise((resolve) => setTimeout(resolve, 20));
      }
    }),
  );
}

describe('a database that stands still', () => {
  it('is said to be away, then goes on, and nothing is lost or done twice', { timeout: 60_000 }, async () => {
    const dataDir = await mkdtemp(join(tmpdir(), 'wareboard-still-'));
    // For root, Postgres runs as another account: in a closed folder it would leave its cluster elsewhere.
    await chmod(dataDir, 0o755);
    const server = await startBundled({ dataDir, mark: 'test', fsync: false });
    whenFileIsDone(async () => {
      await server.stop();
      await rm(dataDir, { recursive: true, force: true });
    });
    await migrate(server.ownerUrl, server.appUrl);
    const s = await aStudio({}, server);
    const code = await s.aBucket({ sg: 1.46 });
    await isAsBefore(s, code);
    const before = await stirsOf(s, code);

    const servers = () =>
      descendants(process.pid).filter(({ pid, name }) => name === 'postgres' && isOf(pid, server.dataFolder));
    const all = servers();
    expect(all.length).toBeGreaterThan(3);
    for (const { pid } of all) process.kill(pid, 'SIGSTOP');
    try {
      const asked = [
        s.visit(s.people.member, `/buckets/${code}`),
        s.visit(s.people.member, '/wall'),
        s.api(s.people.member, 'GET', `/buckets/${code}`),
        ...Array.from({ length: 15 }, (_, i) => stir(s, code, `while-still-${i}`)),
        s.submit(s.people.member, `/buckets/${code}/stir`, { key: 'a-form-while-still' }),
      ];
      expect((await s.visit(null, '/healthz')).statusCode).toBe(200);
      // All of them answer while the database stands still: it goes on only below.
      for (const answer of await Promise.all(asked)) {
        expect(answer.statusCode).toBe(503);
        expect(answer.headers['retry-after']).toBe('5');
        expect(answer.body).toContain('The database does not answer just now. Try again in a moment');
      }
      expect((await s.visit(null, '/readyz')).statusCode).toBe(503);
      expect((await s.visit(s.people.member, '/wall')).statusCode).toBe(503);
    } finally {
      for (const { pid } of all) process.kill(pid, 'SIGCONT');
    }
    await expect.poll(async () => (await s.visit(null, '/readyz')).statusCode, REST).toBe(200);
    for (let i = 0; i < 15; i++) expect((await stir(s, code, `while-still-${i}`)).statusCode).toBe(201);
    expect(await stirsOf(s, code)).toBe(before + 15);
    await isAsBefore(s, code);
  });
});

/** Whether a process of Postgres works on this cluster. */
function isOf(pid: number, cluster: string): boolean {
  const { stdout } = spawnSync('readlink', [`/proc/${pid}/cwd`], { encoding: 'utf8' });
  return stdout.trim() === cluster;
}

describe('a network with gaps', () => {
  let s: Studio;
  let link: Link;
  beforeAll(async () => {
    const database = await aDatabase();
    link = await aLink(database.appUrl);
    s = await aStudio({}, { ...database, appUrl: link.through(database.appUrl) });
  });

  it('an answer lost after the commit: sent again under its key, it counts once', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    for (const [fate, kept] of [
      ['is cut before', 0],
      ['is cut after', 1],
    ] as const) {
      const before = await stirsOf(s, code);
      link.atCommit = () => fate;
      const lost = await stir(s, code, `lost-${fate.replaceAll(' ', '-')}`);
      link.atCommit = () => 'passes';
      expect([lost.statusCode, lost.headers['retry-after']]).toEqual([503, '5']);
      await expect.poll(() => stirsOf(s, code), REST).toBe(before + kept);
      const again = await stir(s, code, `lost-${fate.replaceAll(' ', '-')}`);
      expect([again.statusCode, again.headers['idempotency-replayed']]).toEqual([
        201,
        kept ? 'true' : undefined,
      ]);
      expect(await stirsOf(s, code)).toBe(before + 1);
    }
    await isAsBefore(s, code);
  });

  it('cuts at every third commit: each act is there once', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const before = await stirsOf(s, code);
    let commits = 0;
    link.atCommit = () =>
      commits > 60
        ? 'passes'
        : ((['passes', 'is cut before', 'is cut after'] as const)[commits++ % 3] ?? 'passes');
    await persist(s, code, 40);
    expect(commits).toBeGreaterThan(60);
    link.atCommit = () => 'passes';
    expect(await stirsOf(s, code)).toBe(before + 40);
    await isAsBefore(s, code);
  });

  it('every connection cut again and again, in the middle of whatever runs', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const before = await stirsOf(s, code);
    const done = persist(s, code, 60);
    let cuts = 0;
    const cutting = setInterval(() => link.cut(cuts++ % 2 ? 'reset' : 'closed'), 30);
    await new Promise((resolve) => setTimeout(resolve, 600));
    clearInterval(cutting);
    await done;
    expect(cuts).toBeGreaterThan(5);
    expect(await stirsOf(s, code)).toBe(before + 60);
    await isAsBefore(s, code);
  });

  it('nothing passes and nobody says so: told apart from an answer that takes its time', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const slow = s.database.db.execute(sql`select pg_sleep(4)`);
    await expect(slow).resolves.toHaveLength(1);
    link.isDead = true;
    const [page, act] = await Promise.all([
      s.visit(s.people.member, `/buckets/${code}`),
      stir(s, code, 'nothing-passes'),
    ]);
    expect([page.statusCode, act.statusCode]).toEqual([503, 503]);
    link.isDead = false;
    await isAsBefore(s, code);
  });
});

describe('a way between that forgets connections', () => {
  it('they are given up, and new ones taken, though nobody ever says so', { timeout: 120_000 }, async () => {
    const database = await aDatabase();
    const link = await aLink(database.appUrl);
    const s = await aStudio({}, { ...database, appUrl: link.through(database.appUrl) });
    const code = await s.aBucket({ sg: 1.46 });
    link.forget();
    const { statusCode, headers } = await stir(s, code, 'forgotten');
    expect([statusCode, headers['retry-after']]).toEqual([503, '5']);
    await expect
      .poll(async () => (await stir(s, code, 'forgotten')).statusCode, { timeout: 60_000 })
      .toBe(201);
    expect(await stirsOf(s, code)).toBe(2);
  });
});

describe('a connection that ends in the middle of a transaction', () => {
  it('takes that transaction with it and nothing else, whatever was left of it', async () => {
    const s = await aStudio();
    const row = (key: string) => ({
      personId: s.people.member.id,
      key,
      fingerprint: 'x',
      answer: null,
      madeAt: s.clock.now(),
    });
    const killer = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
    const rounds = Array.from({ length: 30 }, (_, i) => i);
    for (const i of rounds) {
      const others = Promise.all(
        rounds.map((other) =>
          s.database.transaction((tx) => tx.insert(idempotencyKeys).values(row(`beside-${i}-${other}`))),
        ),
      );
      const ended = s.database.transaction(async (tx) => {
        await tx.insert(idempotencyKeys).values(row(`first-${i}`));
        const [own] = await tx.execute<{ pid: number }>(sql`select pg_backend_pid() as pid`);
        const asked = tx.execute(sql`select pg_sleep(${i % 2 ? 20 : 0})`).catch(() => {});
        await killer`select pg_terminate_backend(${Number(own?.pid)}, 10000)`;
        await asked;
        // What a use case does that takes a failure for one of its own.
        await tx
          .insert(idempotencyKeys)
          .values(row(`second-${i}`))
          .catch(() => {});
        await tx.insert(idempotencyKeys).values(row(`third-${i}`));
      });
      await expect(ended).rejects.toSatisfy((error) =>
        /^(CONN|ECONN|EPIPE|57P01)/.test(databaseError(error)?.code ?? ''),
      );
      await others;
    }
    await killer.end();
    const found = await s.database.db.select({ key: idempotencyKeys.key }).from(idempotencyKeys);
    const keys = found.map(({ key }) => key);
    expect(keys.filter((key) => !key.startsWith('beside-'))).toEqual([]);
    expect(keys).toHaveLength(rounds.length ** 2);
  });

  it('lists come and go as they did', async () => {
    const { database } = await aStudio();
    const texts = ['a', 'b,"c" \\ {d}', '', 'NULL', ' é '];
    const [row] = await database.client.unsafe(
      `select $1::text[] as texts, array[1, null, 3] as numbers, array[true, false] as flags,
        array[10000000000000000]::bigint[] as big, '{}'::int[] as none, array[1.5]::float8[] as parts`,
      [texts],
    );
    expect({ ...row }).toEqual({
      texts,
      numbers: [1, null, 3],
      flags: [true, false],
      big: ['10000000000000000'],
      none: [],
      parts: [1.5],
    });
  });
});

describe('no connection to be had', () => {
  it('whoever waits too long is told to come back, and the rest is as before', {
    timeout: 60_000,
  }, async () => {
    const s = await aStudio();
    const code = await s.aBucket({ sg: 1.46 });
    await isAsBefore(s, code);
    const before = await stirsOf(s, code);
    let letGo = () => {};
    const held = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    const holding = Array.from({ length: 10 }, () =>
      s.database.transaction(async (tx) => {
        await tx.execute(sql`select 1`);
        await held;
      }),
    );
    const asked = await Promise.all([
      s.visit(s.people.member, `/buckets/${code}`),
      stir(s, code, 'nothing-free'),
    ]);
    for (const answer of asked) {
      expect(answer.statusCode).toBe(503);
      expect(answer.headers['retry-after']).toBe('5');
      expect(answer.body).toContain('Nothing was recorded');
    }
    expect((await s.visit(null, '/healthz')).statusCode).toBe(200);
    letGo();
    await Promise.all(holding);
    expect(await stirsOf(s, code)).toBe(before);
    await isAsBefore(s, code);
  });

  it('the server has no place free', async () => {
    const database = await aDatabase();
    const s = await aStudio({}, database);
    const code = await s.aBucket({ sg: 1.46 });
    const name = new URL(database.ownerUrl).pathname.slice(1);
    const owner = postgres(database.ownerUrl, { max: 1, onnotice: () => {} });
    const limit = (places: number) => owner.unsafe(`alter database "${name}" connection limit ${places}`);
    await limit(0);
    await owner`select pg_terminate_backend(pid) from pg_stat_activity
      where datname = ${name} and pid <> pg_backend_pid()`;
    for (const answer of await Promise.all([
      s.visit(s.people.member, `/buckets/${code}`),
      stir(s, code, 'no-place'),
    ])) {
      expect(answer.statusCode).toBe(503);
      expect(answer.headers['retry-after']).toBe('5');
    }
    await limit(-1);
    await owner.end();
    await isAsBefore(s, code);
  });
});
