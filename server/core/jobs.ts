import PgBoss from 'pg-boss';
import type postgres from 'postgres';
import type { Database, Executor } from './database.ts';
import type { Client, Pool } from './pool.ts';

interface Queue {
  /** When it is put on its way by itself, in UTC. */
  cron: string;
  /** One at a time, whoever does it; otherwise every process may work on it at once. */
  alone: boolean;
  /** Whoever has not finished by then is taken to have died, and it is done again. */
  minutes: number;
  /** How often a process looks for one. */
  everySeconds: number;
}

/**
 * What the service does by itself. Each is a look at what is due and does nothing where nothing is: a minute missed
 * while every process was down is made up for by the next, and done twice does no harm.
 */
export const QUEUES = {
  tidy: { cron: '11 * * * *', alone: true, minutes: 10, everySeconds: 30 },
  /** Has a lock of its own, which does not outlive its process. */
  backup: { cron: '23 * * * *', alone: false, minutes: 240, everySeconds: 30 },
  reminders: { cron: '*/15 * * * *', alone: true, minutes: 10, everySeconds: 30 },
  mail: { cron: '* * * * *', alone: false, minutes: 5, everySeconds: 2 },
  hooks: { cron: '* * * * *', alone: false, minutes: 5, everySeconds: 2 },
} as const satisfies Record<string, Queue>;

export type QueueName = keyof typeof QUEUES;

/** Does what is due in a queue. Ends early, at a place of its own choice, once the signal says that the process stops. */
export type Work = (stopping: AbortSignal) => Promise<unknown>;

export interface Jobs {
  /** Takes no new job, waits for those at work, at most `patience` ms, and hands back what is not finished then. */
  stop(patience?: number): Promise<void>;
}

interface Log {
  error(error: unknown, words: string): void;
}

const SCHEMA = 'pgboss';
const PATIENCE = 20_000;

const names = Object.keys(QUEUES) as QueueName[];

/**
 * Makes the tables of the queues, the queues and when each is due, as the owner of the database and under the lock of
 * the migrations. They stand in a schema of their own, which backups leave out: what is due is due again after a
 * restore.
 * @param client a connection of its own, as the owner
 * @param role who will work on them, where that is somebody else
 */
export async function prepareJobs(client: postgres.Sql, role: string | null): Promise<void> {
  const boss = new PgBoss({ schema: SCHEMA, db: spokenBy(client), schedule: false, supervise: false });
  await boss.start();
  for (const name of names) {
    const { cron, alone, minutes } = QUEUES[name];
    const options: PgBoss.Queue = {
      name,
      policy: alone ? 'stately' : 'standard',
      expireInSeconds: minutes * 60,
      retryLimit: 2,
      retryDelay: 1,
    };
    await boss.createQueue(name, options);
    await boss.updateQueue(name, options);
    await boss.schedule(name, cron);
  }
  for (const { name } of await boss.getSchedules())
    if (!names.some((known) => known === name)) await boss.unschedule(name);
  await boss.stop({ graceful: false });
  if (role !== null)
    await client.unsafe(`
      grant usage on schema ${SCHEMA} to "${role}";
      grant select, insert, update, delete on all tables in schema ${SCHEMA} to "${role}"`);
}

/** Never started: it only knows how a job is put down. */
const writer = new PgBoss({
  schema: SCHEMA,
  db: { executeSql: () => Promise.reject(new Error('No database.')) },
});

/**
 * Has a queue looked at as soon as the transaction is committed, and not at all if it is not. Where one is waiting
 * already and the queue is worked on by one at a time, that one will do.
 */
export async function wake(db: Executor, name: QueueName): Promise<void> {
  await writer.send(name, {}, { db: spokenBy(clientOf(db)) });
}

/**
 * Works on every queue until it is stopped, and puts what is due by the clock on its way; however many processes do so,
 * that happens once. Every queue is looked at once at the start.
 */
export async function startJobs(
  { db, client }: Database,
  works: Record<QueueName, Work>,
  log: Log,
): Promise<Jobs> {
  const stopping = new AbortController();
  let started = false;
  let failing = false;
  const strict = spokenBy(client);
  const sent = new Set<Promise<unknown>>();
  const boss = new PgBoss({
    schema: SCHEMA,
    migrate: false,
    archiveCompletedAfterSeconds: 60 * 60,
    deleteAfterDays: 2,
    maintenanceIntervalSeconds: 60,
    db: {
      async executeSql(text, values) {
        const answer = strict.executeSql(text, values);
        sent.add(answer);
        try {
          const rows = await answer;
          failing = false;
          return rows;
        } catch (error) {
          // Nobody waits for some of these, and an error that nobody takes would end the process. What was not
          // written down is done again.
          if (!started) throw error;
          if (!isTaken(error) && !failing) {
            failing = true;
            log.error(error, 'the queues cannot be reached');
          }
          return { rows: /count\(\*\) from results/i.test(text) ? [{ count: 0 }] : [] };
        } finally {
          sent.delete(answer);
        }
      },
    },
  });
  boss.on('error', (error) => {
    if (started) log.error(error, 'the queues failed');
  });
  await boss.start();
  for (const name of names) {
    const { alone, everySeconds } = QUEUES[name];
    await wake(db, name);
    await boss.work(name, { pollingIntervalSeconds: everySeconds, batchSize: alone ? 1 : 100 }, async () => {
      try {
        await works[name](stopping.signal);
      } catch (error) {
        log.error(error, `${name} failed`);
        throw error;
      }
    });
  }
  started = true;
  return {
    async stop(patience = PATIENCE) {
      stopping.abort();
      await boss.stop({ timeout: patience, close: false });
      await Promise.allSettled(sent);
    },
  };
}

/** How many jobs of each queue wait or are at work, and how many were given up in the last hour. */
export async function countJobs({
  client,
}: Database): Promise<{ queue: QueueName; waiting: number; failed: number }[]> {
  const rows: { name: string; waiting: string; failed: string }[] = await client.unsafe(`
    select name, count(*) filter (where state in ('created', 'retry', 'active')) as waiting,
      count(*) filter (where state = 'failed') as failed
    from ${SCHEMA}.job group by name`);
  return names.map((queue) => {
    const row = rows.find(({ name }) => name === queue);
    return { queue, waiting: Number(row?.waiting ?? 0), failed: Number(row?.failed ?? 0) };
  });
}

/** Somebody else is at work on the only one. */
const isTaken = (error: unknown): boolean => (error as { code?: string }).code === '23505';

/** The connection that a transaction runs on: a private field of drizzle 0.45.4, which is pinned for that. */
const clientOf = (db: Executor): Client => (db as unknown as { session: { client: Client } }).session.client;

/** Speaks the queues' SQL through our own driver. */
function spokenBy(client: Client): PgBoss.Db {
  return {
    async executeSql(text, values = []) {
      if (text.trimStart().startsWith('BEGIN')) return whole(client as Pool, text);
      return { rows: await client.unsafe(text, values.map(asText)) };
    },
  };
}

/** A text that begins and ends its own transaction, on one connection. */
async function whole(client: Pick<Pool, 'reserve'>, text: string): Promise<{ rows: never[] }> {
  const held = await client.reserve();
  try {
    await held.unsafe(text);
  } catch (error) {
    await held.unsafe('rollback').catch(() => {});
    throw error;
  } finally {
    held.release();
  }
  return { rows: [] };
}

/** As the queues' own driver would put it: what is neither text nor number is JSON, but for lists of ids. */
function asText(value: unknown): string | null {
  if (value === null || value === undefined) return null;
  if (Array.isArray(value)) return `{${value.map((one) => JSON.stringify(String(one))).join(',')}}`;
  return typeof value === 'object' ? JSON.stringify(value) : String(value);
}
