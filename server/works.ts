import { lt } from 'drizzle-orm';
import type { FastifyBaseLogger } from 'fastify';
import { keepBackups, newestBackup } from './core/backups.ts';
import { forgetOldChanges } from './core/changes.ts';
import { DAY } from './core/clock.ts';
import { forgetOldKeys } from './core/idempotency.ts';
import { countJobs, type QueueName, type Work } from './core/jobs.ts';
import type { Standing } from './core/metrics.ts';
import { countMail, forgetOldMail, sendDueMail } from './core/outbox.ts';
import { reminders } from './core/schema.ts';
import type { Services } from './core/services.ts';
import { forgetOldFailures } from './members/service/attempts.ts';
import { sendDueCalls } from './today/service/hook-calls.ts';
import { remindEverybody } from './today/service/reminders.ts';

const REMINDERS_KEPT = 60 * DAY;

/** What the service does by itself, on one screen: each queue's work. `url` is where backups are read from. */
export const works = (services: Services, url: string, log: FastifyBaseLogger): Record<QueueName, Work> => ({
  tidy: () => tidy(services),
  backup: () => backUp(services, url, log),
  reminders: (stopping) => remindEverybody(services, stopping),
  mail: (stopping) => sendDueMail(services, { stopping }),
  hooks: (stopping) => sendDueCalls(services, { stopping }),
});

/** How that work stands, for whoever measures. */
export const standing = async ({ config, database, clock }: Services): Promise<Standing> => ({
  jobs: await countJobs(database),
  mail: await countMail(database.db),
  backupAt: config.backups === null ? null : await newestBackup(config.backups.folder, clock.now()),
});

async function tidy({ database: { db }, sessions, clock }: Services): Promise<void> {
  const now = clock.now();
  await sessions.tidy();
  await forgetOldKeys(db, now);
  await forgetOldFailures(db, now);
  await forgetOldChanges(db, now);
  await forgetOldMail(db, now);
  await db.delete(reminders).where(lt(reminders.at, now - REMINDERS_KEPT));
}

/** Takes the backup of the day where it is due. */
async function backUp({ config, clock }: Services, url: string, log: FastifyBaseLogger): Promise<void> {
  if (config.backups === null) return;
  const newest = await keepBackups({ url, ...config.backups, now: clock.now() });
  if (newest !== null && newest.file !== null) log.info({ file: newest.file }, 'backed up');
}
