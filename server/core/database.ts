import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { sql } from 'drizzle-orm';
import { bigint, customType, type PgDatabase } from 'drizzle-orm/pg-core';
import { drizzle, type PostgresJsQueryResultHKT } from 'drizzle-orm/postgres-js';
import { migrate as runMigrations } from 'drizzle-orm/postgres-js/migrator';
import postgres from 'postgres';
import type { Instant } from './clock.ts';
import { Conflict, Invalid, type Refusal, Unavailable } from './errors.ts';
import { prepareJobs } from './jobs.ts';
import { type Listening, listen } from './listening.ts';
import { createPool, type Pool } from './pool.ts';

/** What a store function takes as its first argument: the pool, or a transaction on it. */
export type Executor = PgDatabase<PostgresJsQueryResultHKT>;
/** A transaction. Use cases never see the pool. */
export type Tx = Executor & {
  /**
   * Takes statements that were sent and whose answer nobody waits for: the commit is sent right behind them. It
   * comes to nothing if one of them fails, and the transaction throws what that one threw.
   */
  withCommit(sent: Promise<unknown>): void;
};

export interface Database {
  db: Executor;
  /** The connections themselves, for what is not a query of ours. */
  client: Pool;
  /** Hears on a connection of its own what is told on these channels, until it is closed. */
  listen(channels: Readonly<Record<string, () => void>>): Promise<Listening>;
  /** One transaction; a serialisation failure or deadlock runs `work` again, up to three times in all. */
  transaction<T>(work: (tx: Tx) => Promise<T>): Promise<T>;
  close(): Promise<void>;
}

/** `timestamptz` to the millisecond, as an Instant. */
export const instant = customType<{ data: Instant; driverData: string }>({
  dataType: () => 'timestamptz(3)',
  toDriver: (value) => new Date(value).toISOString(),
  fromDriver: (value) => Date.parse(value),
});

export const bytes = customType<{ data: Buffer; driverData: Buffer }>({ dataType: () => 'bytea' });

/** An inside id: never shown, never in a URL. */
export const identity = () => bigint('id', { mode: 'number' }).primaryKey().generatedAlwaysAsIdentity();
export const reference = (name: string) => bigint(name, { mode: 'number' });

export const MIGRATIONS = fileURLToPath(new URL('../../migrations', import.meta.url));
const MIGRATION_LOCK = 7_266_202_611;

/** @param options.waitMs how long somebody waits for a connection before they are refused; null: as long as it takes */
export function connect(url: string, options: { max?: number; waitMs?: number | null } = {}): Database {
  const client = createPool(url, {
    max: options.max ?? 10,
    waitMs: options.waitMs === undefined ? 8_000 : options.waitMs,
    connection: {
      application_name: 'wareboard',
      TimeZone: 'UTC',
      statement_timeout: 15_000,
      idle_in_transaction_session_timeout: 15_000,
      // What is asked often is found by key, and is run faster than it is planned.
      plan_cache_mode: 'force_generic_plan',
    },
  });
  return {
    db: speaking(client),
    client,
    listen: (channels) => listen(url, channels),
    async transaction(work) {
      for (let attempt = 1; ; attempt++) {
        try {
          return await tryOnce(client, work);
        } catch (error) {
          if (attempt >= 3 || !isTransient(error)) throw error;
        }
      }
    },
    close: () => client.close(),
  };
}

/** Drizzle uses of the driver's client no more than our own connections have. */
const speaking = (client: object): Executor => drizzle(client as postgres.Sql);

async function tryOnce<T>(client: Pool, work: (tx: Tx) => Promise<T>): Promise<T> {
  const sent: Promise<unknown>[] = [];
  const withCommit = (statements: Promise<unknown>) => {
    statements.catch(() => {}); // looked at below
    sent.push(statements);
  };
  try {
    return await client.begin(async (scope) => {
      const answer = await work(Object.assign(speaking(scope), { withCommit }));
      if (sent.length > 0) await setImmediate(); // until the driver has really sent them
      return answer;
    });
  } finally {
    await Promise.all(sent);
  }
}

/** The `code` and constraint that Postgres gave, however the error is wrapped. */
export function databaseError(error: unknown): { code: string; constraint: string | null } | null {
  for (let e = error; e instanceof Error; e = e.cause) {
    const { code, constraint_name } = e as { code?: unknown; constraint_name?: unknown };
    if (typeof code === 'string')
      return { code, constraint: typeof constraint_name === 'string' ? constraint_name : null };
  }
  return null;
}

const IS_TAKEN = '23505';

/** What `work` answers; throws `refusal` where a name or code that must be the only one is in use. */
export async function unlessTaken<T>(work: Promise<T>, refusal: Refusal): Promise<T> {
  try {
    return await work;
  } catch (error) {
    throw databaseError(error)?.code === IS_TAKEN ? refusal : error;
  }
}

const isTransient = (error: unknown) => ['40001', '40P01'].includes(databaseError(error)?.code ?? '');

const UNREACHABLE =
  /^(08|57P|55000|25006|CONNECT|CONNECTION_|ECONN|EPIPE|EHOST|ENET|ENOTFOUND|EAI_AGAIN|ETIMEDOUT)/;

/** What cannot be done now and is no fault of whoever asked: by the first letters of the database's code. */
const NOT_NOW: [RegExp, string][] = [
  // Whether a commit on its way was taken is not known.
  [
    UNREACHABLE,
    'The database does not answer just now. Try again in a moment: the same form, or the same Idempotency-Key, is recorded once.',
  ],
  [/^40/, 'Too many people wrote at once. Nothing was recorded; try again.'],
  [
    /^53100/,
    'The disk of the database is full. Nothing was recorded. Whoever runs this server has to make room on it.',
  ],
  [/^(53|54000)/, 'The database has its hands full. Nothing was recorded; try again in a moment.'],
  [/^(57014|55P03)/, 'This took too long. Nothing was recorded; try again in a moment.'],
  [
    /^(58|XX00[12])/,
    'The database cannot use its files. Nothing was recorded. Whoever runs this server finds the reason in its log.',
  ],
];

/**
 * A database error as a person should meet it, or null where it is a fault of ours.
 * `hole` marks input that validation should have caught and that therefore belongs in the log.
 */
export function asRefusal(
  error: unknown,
): { refusal: Conflict | Invalid | Unavailable; hole: boolean } | null {
  const known = databaseError(error);
  if (!known) return null;
  if (known.code === IS_TAKEN) return { refusal: new Conflict('That is taken already.'), hole: false };
  const [, words] = NOT_NOW.find(([code]) => code.test(known.code)) ?? [];
  if (words !== undefined) return { refusal: new Unavailable(words), hole: false };
  if (known.code.startsWith('22'))
    return { refusal: new Invalid('A value here cannot be stored. Check what you typed.'), hole: true };
  return null;
}

interface Journal {
  entries: { when: number; tag: string }[];
}

/** The migrations of this release, oldest first. */
export const readJournal = (): Journal =>
  JSON.parse(readFileSync(`${MIGRATIONS}/meta/_journal.json`, 'utf8'));

/**
 * Brings the tables up to date as their owner, one process at a time, and lets the application's role use
 * them. Refuses a database that is not UTF8, a server older than 15, and a log that skipped a migration.
 * @param upTo so many of this release's migrations only, for tables as an older release had them
 */
export async function migrate(ownerUrl: string, appUrl: string, upTo?: number): Promise<void> {
  const folder = upTo === undefined ? MIGRATIONS : firstMigrations(upTo);
  const client = postgres(ownerUrl, { max: 1, onnotice: () => {} });
  try {
    const [server] = await client`
      select current_setting('server_encoding') as encoding, current_setting('server_version_num')::int as version`;
    if (server?.encoding !== 'UTF8')
      throw new Error(`The database's encoding is ${server?.encoding}; it must be UTF8.`);
    if (server.version < 150_000) throw new Error('Postgres 15 or newer is needed.');
    await client`select pg_advisory_lock(${MIGRATION_LOCK})`;
    await runMigrations(drizzle(client), { migrationsFolder: folder });
    if (!(await isCurrent(drizzle(client), upTo)))
      throw new Error('The database has not had every migration of this release.');
    const role = new URL(appUrl).username;
    const isOther = role !== new URL(ownerUrl).username;
    await prepareJobs(client, isOther ? role : null);
    if (isOther) {
      await client.unsafe(`
        grant usage on schema public, drizzle to "${role}";
        grant select on all tables in schema drizzle to "${role}";
        grant select, insert, update, delete on all tables in schema public to "${role}";
        grant usage, select on all sequences in schema public to "${role}"`);
    }
  } finally {
    await client.end({ timeout: 5 });
    if (folder !== MIGRATIONS) rmSync(folder, { recursive: true });
  }
}

/** A folder of its own with the oldest of them. */
function firstMigrations(count: number): string {
  const journal = readJournal();
  const entries = journal.entries.slice(0, count);
  const folder = mkdtempSync(join(tmpdir(), 'migrations-'));
  mkdirSync(join(folder, 'meta'));
  writeFileSync(join(folder, 'meta/_journal.json'), JSON.stringify({ ...journal, entries }));
  for (const { tag } of entries) copyFileSync(`${MIGRATIONS}/${tag}.sql`, join(folder, `${tag}.sql`));
  return folder;
}

/** Whether every migration of this release, and none less, has been applied (a newer release's are fine). */
export async function isCurrent(db: Executor, expected = readJournal().entries.length): Promise<boolean> {
  const [row] = await db.execute<{ applied: number }>(
    sql`select count(*)::int as applied from drizzle.__drizzle_migrations`,
  );
  return (row?.applied ?? 0) >= expected;
}
