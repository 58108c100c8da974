import { existsSync } from 'node:fs';
import { type Config, ConfigError, readConfig } from '../config.ts';
import { connect, type Database } from '../core/database.ts';
import { DumpRefusal } from '../core/dump.ts';
import { Refusal } from '../core/errors.ts';
import { attachBundled, BundledRefusal } from '../core/postgres.ts';

/** Runs a command on the studio's database: that of DATABASE_URL, or the bundled one, which may be running already. */
export const onDatabase = (
  work: (database: Database, config: Config, ownerUrl: string) => Promise<void>,
): Promise<void> =>
  sayingWhy(async () => {
    const config = chooseConfig();
    const { appUrl, ownerUrl, release } = givenServer(config) ?? (await attachBundled(config.dataDir));
    const database = connect(appUrl, { max: 2, waitMs: null });
    try {
      await work(database, config, ownerUrl);
    } finally {
      await database.close();
      await release();
    }
  });

/** The server that DATABASE_URL names; null where the bundled one is used. */
export const givenServer = ({ databaseUrl, databaseOwnerUrl }: Config) =>
  databaseUrl === null
    ? null
    : { appUrl: databaseUrl, ownerUrl: databaseOwnerUrl ?? databaseUrl, release: async () => {} };

/** Runs a command: what was foreseen is said in a line, and the exit code tells whether it went well. */
export async function sayingWhy(work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    const isForeseen = [Refusal, ConfigError, BundledRefusal, DumpRefusal].some(
      (kind) => error instanceof kind,
    );
    process.stderr.write(`${isForeseen ? (error as Error).message : (error as Error).stack}\n`);
    process.exitCode = 1;
  }
}

/** As the service reads it; where only a demo has run here, as the demo does. */
function chooseConfig(): Config {
  const [studio, demo] = [readConfig(process.env), readConfig(process.env, ['--demo'])];
  return !existsSync(studio.dataDir) && existsSync(demo.dataDir) ? demo : studio;
}
