import { existsSync } from 'node:fs';
import { type Config, ConfigError, readConfig } from '../config.ts';
import { connect, type Database } from '../core/database.ts';
import { Refusal } from '../core/errors.ts';
import { attachBundled, BundledRefusal } from '../core/postgres.ts';

/**
 * Runs a command on the studio's database: that of DATABASE_URL, or the bundled one, which may be running
 * already. What was foreseen is said in a line; the exit code tells whether it went well.
 */
export async function onDatabase(work: (database: Database, config: Config) => Promise<void>): Promise<void> {
  try {
    const config = chooseConfig();
    const { appUrl, release } = config.databaseUrl
      ? { appUrl: config.databaseUrl, release: async () => {} }
      : await attachBundled(config.dataDir);
    const database = connect(appUrl, { max: 2 });
    try {
      await work(database, config);
    } finally {
      await database.close();
      await release();
    }
  } catch (error) {
    const foreseen =
      error instanceof Refusal || error instanceof ConfigError || error instanceof BundledRefusal;
    process.stderr.write(`${foreseen ? error.message : (error as Error).stack}\n`);
    process.exitCode = 1;
  }
}

/** As the service reads it; where only a demo has run here, as the demo does. */
function chooseConfig(): Config {
  const [studio, demo] = [readConfig(process.env), readConfig(process.env, ['--demo'])];
  return !existsSync(studio.dataDir) && existsSync(demo.dataDir) ? demo : studio;
}
