import { chmod, mkdtemp, rm, statfs } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import postgres from 'postgres';
import type { TestProject } from 'vitest/node';
import { migrate } from '../../server/core/database.ts';
import { startBundled } from '../../server/core/postgres.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** The template database, by a role that may make databases; and the application's role on it. */
    adminUrl: string;
    appUrl: string;
  }
}

/** One server for the whole run: bundled, or in a container with TEST_DATABASE=docker. */
export default async function start(project: TestProject): Promise<() => Promise<void>> {
  const server = process.env.TEST_DATABASE === 'docker' ? await inContainer() : await bundled();
  try {
    await migrate(server.ownerUrl, server.appUrl);
  } catch (error) {
    await server.stop();
    throw error;
  }
  project.provide('adminUrl', server.adminUrl);
  project.provide('appUrl', server.appUrl);
  return server.stop;
}

async function bundled() {
  const dataDir = await mkdtemp(join(await quickPlace(), 'wareboard-test-'));
  // Postgres runs as another account when the tests run as root.
  await chmod(dataDir, 0o755);
  const server = await startBundled({ dataDir, mark: 'test', fsync: false });
  const adminUrl = new URL(server.adminUrl);
  adminUrl.pathname = new URL(server.ownerUrl).pathname;
  return {
    ...server,
    adminUrl: adminUrl.href,
    async stop() {
      await server.stop();
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}

/** Memory where there is plenty: a database is a thousand files, copied in 30 ms there and in 500 ms on some disks. */
async function quickPlace(): Promise<string> {
  const memory = '/dev/shm';
  const free = await statfs(memory).then(
    ({ bavail, bsize }) => bavail * bsize,
    () => 0,
  );
  return free > 4 * 2 ** 30 ? memory : tmpdir();
}

async function inContainer() {
  const { PostgreSqlContainer } = await import('@testcontainers/postgresql');
  const container = await new PostgreSqlContainer('postgres:17-bookworm')
    .withDatabase('wareboard')
    .withCommand(['postgres', '-c', 'fsync=off', '-c', 'max_connections=200'])
    .start();
  const adminUrl = container.getConnectionUri();
  const admin = postgres(adminUrl, { max: 1, onnotice: () => {} });
  await admin`create role app login password 'app'`;
  await admin.end();
  const appUrl = new URL(adminUrl);
  appUrl.username = 'app';
  appUrl.password = 'app';
  return {
    adminUrl,
    ownerUrl: adminUrl,
    appUrl: appUrl.href,
    stop: async () => void (await container.stop()),
  };
}
