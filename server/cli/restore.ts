import { createReadStream, existsSync } from 'node:fs';
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { readConfig } from '../config.ts';
import { connect } from '../core/database.ts';
import { type DumpReport, readDump } from '../core/dump.ts';
import { Invalid } from '../core/errors.ts';
import { attachBundled, startBundled } from '../core/postgres.ts';
import { examine } from './examine.ts';
import { givenServer, sayingWhy } from './on-database.ts';
import { rowsWords } from './rows-words.ts';

/**
 * `npm run restore -- FILE`: fills an empty database with what a backup kept. With `--drill` it is a database of its
 * own, thrown away again: whether the backup could be restored, tried without touching anything.
 */
await sayingWhy(async () => {
  const args = process.argv.slice(2);
  const [file, ...more] = args.filter((arg) => arg !== '--drill');
  if (file === undefined || more.length > 0)
    throw new Invalid('Say what from: npm run restore -- FILE, or --drill FILE to try it only');
  if (!existsSync(file)) throw new Invalid(`There is no file ${file}.`);
  const isDrill = args.includes('--drill');
  const report = await (isDrill ? drill(file) : restore(file));
  process.stdout.write(
    `${rowsWords(report)}, as they were on ${report.madeAt.slice(0, 16).replace('T', ' at ')} UTC, ${
      isDrill ? 'could be restored: every row was counted and summed again' : 'are restored'
    }.\n`,
  );
});

async function restore(file: string): Promise<DumpReport> {
  const config = readConfig(process.env);
  const { dataDir } = config;
  const server =
    givenServer(config) ??
    (existsSync(join(dataDir, 'server.json')) ? await attachBundled(dataDir) : await fresh(dataDir));
  try {
    return await fill(file, server);
  } finally {
    await server.release();
  }
}

async function drill(file: string): Promise<DumpReport> {
  const folder = await mkdtemp(join(tmpdir(), 'restore-drill-'));
  // Postgres runs as another account when this runs as root.
  await chmod(folder, 0o755);
  try {
    const server = await fresh(folder);
    try {
      return await fill(file, server);
    } finally {
      await server.release();
    }
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

async function fresh(dataDir: string) {
  const { ownerUrl, appUrl, stop } = await startBundled({ dataDir, mark: 'studio' });
  return { ownerUrl, appUrl, release: stop };
}

/** Restores, then lets the ledgers say whether everything that is computed from them is as it should be. */
async function fill(
  file: string,
  { ownerUrl, appUrl }: { ownerUrl: string; appUrl: string },
): Promise<DumpReport> {
  const report = await readDump(ownerUrl, appUrl, createReadStream(file));
  const database = connect(appUrl, { max: 2, waitMs: null });
  try {
    const { faults, looked } = await examine(database);
    process.stdout.write(`${[looked, ...faults].join('\n')}\n`);
    if (faults.length > 0) process.exitCode = 1;
  } finally {
    await database.close();
  }
  return report;
}
