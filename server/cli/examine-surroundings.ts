import { access, constants, stat, statfs } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Config } from '../config.ts';
import { backupName, newestBackup } from '../core/backups.ts';
import { type Clock, DAY, HOUR, type Instant, MINUTE } from '../core/clock.ts';
import type { Database } from '../core/database.ts';
import { countJobs } from '../core/jobs.ts';
import { reach } from '../core/mail.ts';
import type { Findings } from './examine-tables.ts';
import { wholeMebibytes } from './sizes.ts';

// Common practice, no source.
const LEAST_FREE = 512 * 2 ** 20;
const CLOCKS_DIFFER = 5_000;
const BACKUP_AGE = 2 * DAY;
const MAIL_WAITS = DAY;

/** A folder whose disk must not get full. */
export interface Place {
  words: string;
  folder: string;
}

/**
 * What the service stands on, besides its tables: room on the disks, backups, the clock, the mail server, jobs.
 * @param places folders on disks of this machine that the service writes to
 */
export async function examineSurroundings(
  database: Database,
  config: Config,
  places: readonly Place[],
  clock: Clock,
): Promise<Findings> {
  const now = clock.now();
  const all = await Promise.all([
    ...places.map(({ words, folder }) => room(words, folder, LEAST_FREE)),
    backups(database, config, now),
    clocks(database, clock),
    mail(database, config, now),
    jobs(database),
  ]);
  return { faults: all.flatMap(({ faults }) => faults), notes: all.flatMap(({ notes }) => notes) };
}

const fault = (words: string): Findings => ({ faults: [words], notes: [] });
const fine: Findings = { faults: [], notes: [] };

async function room(words: string, folder: string, least: number): Promise<Findings> {
  const free = await freeIn(folder);
  if (free === null) return fault(`${words}: ${folder} cannot be looked at.`);
  if (free >= least) return fine;
  return fault(
    `${words}: only ${wholeMebibytes(free)} are free on the disk of ${folder}; ${wholeMebibytes(least)} should be.`,
  );
}

/** Bytes that are free where this folder is, or will be made. */
async function freeIn(folder: string): Promise<number | null> {
  try {
    const { bavail, bsize } = await statfs(folder);
    return bavail * bsize;
  } catch (error) {
    const isMissing = (error as NodeJS.ErrnoException).code === 'ENOENT';
    return isMissing && dirname(folder) !== folder ? freeIn(dirname(folder)) : null;
  }
}

async function backups({ client }: Database, { backups: kept }: Config, now: Instant): Promise<Findings> {
  if (kept === null)
    return { faults: [], notes: ['No backups are kept by themselves: BACKUP_DIR is not set.'] };
  const { folder } = kept;
  let newest: Instant | null;
  try {
    await access(folder, constants.R_OK | constants.W_OK);
    newest = await newestBackup(folder, now);
  } catch {
    return fault(`Backups: ${folder} is not there, or not to be written to.`);
  }
  if (newest === null) {
    const [studio] = await client.unsafe<{ isNew: boolean }[]>(
      'select set_up_at > to_timestamp($1::float8 / 1000) as "isNew" from studio',
      [now - BACKUP_AGE],
    );
    if (studio?.isNew !== false) return { faults: [], notes: [`Backups: there is none in ${folder} yet.`] };
    return fault(`Backups: there is none in ${folder}.`);
  }
  const age = now - newest;
  const { size } = await stat(join(folder, backupName(newest)));
  const space = await room('Backups', folder, Math.max(LEAST_FREE, 2 * size));
  if (age <= BACKUP_AGE) return space;
  return {
    ...space,
    faults: [`Backups: the newest is ${Math.floor(age / HOUR)} hours old.`, ...space.faults],
  };
}

async function clocks({ client }: Database, clock: Clock): Promise<Findings> {
  const asked = clock.now();
  const [row] = await client.unsafe<{ at: string }[]>(
    'select (extract(epoch from clock_timestamp()) * 1000)::text as at',
  );
  const now = clock.now();
  const at = Number(row?.at);
  const apart = Math.max(asked - at, at - now);
  if (apart > CLOCKS_DIFFER)
    return fault(`Clocks: the database's differs from this machine's by ${Math.round(apart / 1000)} s.`);
  const [ahead] = await client.unsafe<{ n: number }[]>(
    'select count(*)::int as n from bucket_events where recorded_at > to_timestamp($1::float8 / 1000)',
    [now + 5 * MINUTE],
  );
  if (!ahead || ahead.n === 0) return fine;
  return {
    faults: [],
    notes: [`${ahead.n} bucket events were recorded later than now: a clock was wrong once.`],
  };
}

async function mail({ client }: Database, { mail: settings }: Config, now: Instant): Promise<Findings> {
  if (settings === null)
    return { faults: [], notes: ['Mail goes nowhere and is kept to be read: SMTP_URL is not set.'] };
  const why = await reach(settings);
  const [row] = await client.unsafe<{ n: number }[]>(
    `select count(*)::int as n from mails
      where sent_at is null and given_up_at is null and made_at < to_timestamp($1::float8 / 1000)
        and due_at < to_timestamp($2::float8 / 1000)`,
    [now - MAIL_WAITS, now],
  );
  const faults = why === null ? [] : [`Mail: the server does not take us: ${why}`];
  if (row && row.n > 0) faults.push(`Mail: ${row.n} have waited for more than a day.`);
  return { faults, notes: [] };
}

async function jobs(database: Database): Promise<Findings> {
  const counted = await countJobs(database);
  const failed = counted.filter((one) => one.failed > 0);
  return {
    faults: failed.map(
      (one) =>
        `Jobs: ${one.queue} was given up ${one.failed} times of late; the log of the service says why.`,
    ),
    notes: [],
  };
}
