import { existsSync } from 'node:fs';
import { mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import postgres from 'postgres';
import { DAY, HOUR, type Instant } from './clock.ts';
import { type DumpReport, writeDump } from './dump.ts';

const NAME = /^wareboard-(\d{4}-\d{2}-\d{2})-(\d{2})(\d{2})\.backup$/;
/** One a day; a little less, so that the hour of the day does not creep. */
const EVERY = DAY - HOUR;
const BACKUP_LOCK = 7_266_202_612;
/** What stands behind the name until one is whole. */
const PART = '.part';

/** Writes a backup under its own name only once it is whole and on the disk. Throws where there is such a file. */
export async function backUpTo(url: string, file: string, now: Instant): Promise<DumpReport> {
  const part = file + PART;
  try {
    // Opened before there is a stream, which would end the process where the folder does not take it.
    const handle = await open(part, 'w', 0o600);
    const report = await writeDump(url, handle.createWriteStream(), new Date(now)).finally(() =>
      handle.close(),
    );
    await onDisk(part);
    if (existsSync(file)) throw new Error(`${file} exists.`);
    await rename(part, file);
    await onDisk(dirname(file));
    return report;
  } catch (error) {
    await rm(part, { force: true }).catch(() => {});
    throw error;
  }
}

async function onDisk(path: string): Promise<void> {
  const handle = await open(path, 'r');
  await handle.sync().finally(() => handle.close());
}

export const backupName = (now: Instant): string => {
  const [day = '', time = ''] = new Date(now).toISOString().split('T');
  return `wareboard-${day}-${time.slice(0, 2)}${time.slice(3, 5)}.backup`;
};

/** When a backup was made, by its name; null for any other file. */
export function madeAt(name: string): Instant | null {
  const [, day, hours, minutes] = NAME.exec(name) ?? [];
  const at = day === undefined ? Number.NaN : Date.parse(`${day}T${hours}:${minutes}:00Z`);
  return Number.isNaN(at) ? null : at;
}

/**
 * Backups that need not be kept: all but the newest of each of the last `days` days that have one, and the first of
 * each of the last twelve months that have one. Other files are none of ours.
 */
export function toDrop(names: readonly string[], days: number): string[] {
  const ours = names.filter((name) => madeAt(name) !== null).sort();
  const newestOf = new Map(ours.map((name) => [name.slice(0, 'wareboard-2026-11-28'.length), name]));
  const firstOf = new Map(ours.toReversed().map((name) => [name.slice(0, 'wareboard-2026-11'.length), name]));
  const kept = new Set([
    ...[...newestOf.values()].sort().slice(-days),
    ...[...firstOf.values()].sort().slice(-12),
  ]);
  return ours.filter((name) => !kept.has(name));
}

/** What lies in the folder, but for what is named after a day to come. */
const backupsIn = async (folder: string, now: Instant): Promise<string[]> =>
  (await readdir(folder)).filter((name) => (madeAt(name) ?? now) <= now);

/** When the newest backup of the day was made; null: there is none. */
export async function newestBackup(folder: string, now: Instant): Promise<Instant | null> {
  const names = existsSync(folder) ? await backupsIn(folder, now) : [];
  const times = names.flatMap((name) => madeAt(name) ?? []);
  return times.length === 0 ? null : Math.max(...times);
}

/** Removes what processes left that ended in the middle of a backup. */
async function clearParts(folder: string): Promise<void> {
  const left = (await readdir(folder)).filter(
    (name) => name.endsWith(PART) && madeAt(name.slice(0, -PART.length)) !== null,
  );
  await Promise.all(left.map((name) => rm(join(folder, name)).catch(() => {})));
}

/**
 * Takes the backup of the day where it is due and drops what need not be kept. However many processes ask, one of them
 * does it; one that is named after a day to come, since a clock was wrong once, is none of the day and stays.
 * @returns when the newest one was made, and its file if it is new; null while another process looks
 */
export async function keepBackups(o: {
  url: string;
  folder: string;
  days: number;
  now: Instant;
}): Promise<{ at: Instant; file: string | null } | null> {
  const sql = postgres(o.url, { max: 1, onnotice: () => {} });
  try {
    const [lock] = await sql`select pg_try_advisory_lock(${BACKUP_LOCK}) as is`;
    if (!lock?.is) return null;
    await mkdir(o.folder, { recursive: true, mode: 0o700 });
    const newest = (await newestBackup(o.folder, o.now)) ?? 0;
    if (newest > o.now - EVERY) return { at: newest, file: null };
    await clearParts(o.folder);
    const file = join(o.folder, backupName(o.now));
    await backUpTo(o.url, file, o.now);
    await Promise.all(
      toDrop(await backupsIn(o.folder, o.now), o.days).map((name) => rm(join(o.folder, name))),
    );
    return { at: o.now, file };
  } finally {
    await sql.end({ timeout: 5 });
  }
}
