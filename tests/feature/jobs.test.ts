import { PassThrough } from 'node:stream';
import { expect, test } from 'vitest';
import { connect, type Database } from '../../server/core/database.ts';
import { readDump, writeDump } from '../../server/core/dump.ts';
import { countJobs, QUEUES, type QueueName, startJobs, type Work, wake } from '../../server/core/jobs.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { aDatabase, anEmptyDatabase } from '../helpers/studio.ts';

/** A database that several processes work on; each has connections of its own. */
async function aPlace() {
  const { appUrl, ownerUrl } = await aDatabase();
  const failures: unknown[] = [];
  const open = () => {
    const database = connect(appUrl, { max: 4 });
    whenFileIsDone(() => database.close());
    return database;
  };
  async function aProcess(own: Partial<Record<QueueName, Work>> = {}) {
    const names = Object.keys(QUEUES) as QueueName[];
    const works = Object.fromEntries(names.map((name) => [name, own[name] ?? (async () => {})]));
    const log = { error: (error: unknown) => failures.push(error) };
    const jobs = await startJobs(open(), works as Record<QueueName, Work>, log);
    whenFileIsDone(() => jobs.stop(1000));
    return jobs;
  }
  return { database: open(), aProcess, failures, ownerUrl };
}

const statesOf = async ({ client }: Database, queue: QueueName): Promise<string[]> => {
  const rows = await client.unsafe('select state::text from pgboss.job where name = $1 order by state', [
    queue,
  ]);
  return rows.map(({ state }) => state);
};

/** Waits until something holds that a process does by itself. */
async function until(holds: () => boolean | Promise<boolean>): Promise<void> {
  await expect.poll(holds, { timeout: 20_000, interval: 50 }).toBe(true);
}

function aGate() {
  let open = () => {};
  const opened = new Promise<void>((resolve) => {
    open = resolve;
  });
  return { opened, open };
}

test('every queue is looked at when a process starts, by the role that may make no tables', async () => {
  const { aProcess, database, failures } = await aPlace();
  const seen = new Set<QueueName>();
  const names = Object.keys(QUEUES) as QueueName[];
  const jobs = await aProcess(Object.fromEntries(names.map((name) => [name, async () => seen.add(name)])));
  await until(() => seen.size === names.length);
  await jobs.stop();
  expect(await countJobs(database)).toEqual(names.map((queue) => ({ queue, waiting: 0, failed: 0 })));
  expect(failures).toEqual([]);
});

test('what one at a time does is done by one at a time, however many processes there are', async () => {
  const { aProcess, database } = await aPlace();
  const gate = aGate();
  let atOnce = 0;
  let most = 0;
  let runs = 0;
  const reminders = async () => {
    runs += 1;
    most = Math.max(most, ++atOnce);
    await gate.opened;
    atOnce -= 1;
  };
  const first = await aProcess({ reminders });
  await until(() => runs === 1);
  const others = await Promise.all([aProcess({ reminders }), aProcess({ reminders })]);
  for (let i = 0; i < 5; i++) await wake(database.db, 'reminders');
  // The one at work, and a single one that will look again after it.
  expect(await statesOf(database, 'reminders')).toEqual(['active', 'created']);
  gate.open();
  await Promise.all([first, ...others].map((jobs) => jobs.stop()));
  expect(most).toBe(1);
});

test('a queue is woken with the transaction, or not at all', async () => {
  const { aProcess, database } = await aPlace();
  let looks = 0;
  await aProcess({ mail: async () => ++looks });
  await until(() => looks === 1);
  await expect(
    database.transaction(async (tx) => {
      await wake(tx, 'mail');
      throw new Error('The act fails.');
    }),
  ).rejects.toThrow('The act fails.');
  expect(await statesOf(database, 'mail')).toEqual(['completed']);
  await database.transaction((tx) => wake(tx, 'mail'));
  await until(() => looks >= 2);
});

test('what does not finish while a process stops is handed back, and somebody else does it', async () => {
  const { aProcess, database } = await aPlace();
  const gate = aGate();
  let told: AbortSignal | null = null;
  const first = await aProcess({
    mail: (stopping) => {
      told = stopping;
      return gate.opened;
    },
  });
  await until(() => told !== null);
  await first.stop(1000);
  expect(told).toMatchObject({ aborted: true });
  expect(await statesOf(database, 'mail')).toEqual(['retry']);
  const next = await aProcess();
  await until(async () => (await statesOf(database, 'mail')).every((state) => state === 'completed'));
  await next.stop();
  gate.open();
});

test('what fails is tried again and then counted as failed; the process goes on', async () => {
  const { aProcess, database, failures } = await aPlace();
  let tries = 0;
  const jobs = await aProcess({
    hooks: async () => {
      tries += 1;
      throw new Error('Not today.');
    },
  });
  await until(async () => (await statesOf(database, 'hooks')).includes('failed'));
  expect(tries).toBeGreaterThanOrEqual(3);
  expect(failures.map(String)).toContain('Error: Not today.');
  const counted = (await countJobs(database)).find(({ queue }) => queue === 'hooks');
  expect(counted?.failed).toBeGreaterThan(0);
  await jobs.stop();
});

test('a restored database has its queues made anew: what is due is due, and old jobs are not there', async () => {
  const { database, ownerUrl } = await aPlace();
  await wake(database.db, 'mail');
  const file = new PassThrough();
  const { ownerUrl: emptyOwner, appUrl } = await anEmptyDatabase();
  const kept = writeDump(ownerUrl, file, new Date('2026-11-28T12:00:00Z'));
  const { tables } = await readDump(emptyOwner, appUrl, file);
  await kept;
  expect(Object.keys(tables).filter((name) => /job|queue|archive/.test(name))).toEqual([]);
  const restored = connect(appUrl, { max: 2 });
  whenFileIsDone(() => restored.close());
  expect(await statesOf(restored, 'mail')).toEqual([]);
  let looks = 0;
  const idle = async () => {};
  const jobs = await startJobs(
    restored,
    { tidy: idle, backup: idle, reminders: idle, hooks: idle, mail: async () => ++looks },
    { error: (error) => expect(error).toBeNull() },
  );
  await until(() => looks === 1);
  await jobs.stop();
});
