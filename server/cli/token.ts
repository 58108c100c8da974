import { existsSync } from 'node:fs';
import { type Config, ConfigError, readConfig } from '../config.ts';
import { systemClock } from '../core/clock.ts';
import { connect } from '../core/database.ts';
import { Invalid, Refusal } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { attachBundled, BundledRefusal } from '../core/postgres.ts';
import { personForm } from '../members/forms.ts';
import { issueToken } from '../members/service/tokens.ts';

/** `npm run token -- EMAIL`: the last line printed is a token of that person, good for a year. */
async function main(args: string[]): Promise<void> {
  if (args.length !== 1) throw new Invalid('Say whose token it shall be: npm run token -- EMAIL');
  const { email } = parse(personForm, { email: args[0] });
  const { appUrl, release } = await databaseOf(chooseConfig());
  const database = connect(appUrl, { max: 1 });
  try {
    const now = systemClock.now();
    const name = `From the server, ${new Date(now).toISOString()}`;
    const token = await database.transaction((tx) => issueToken({ tx, now }, email, { name, days: 365 }));
    process.stdout.write(`A token of ${email}, good for a year and shown only now:\n${token}\n`);
  } finally {
    await database.close();
    await release();
  }
}

/** As the service reads it; where only a demo has run here, as the demo does. */
function chooseConfig(): Config {
  const [studio, demo] = [readConfig(process.env), readConfig(process.env, ['--demo'])];
  return !existsSync(studio.dataDir) && existsSync(demo.dataDir) ? demo : studio;
}

async function databaseOf(config: Config): Promise<{ appUrl: string; release(): Promise<void> }> {
  if (config.databaseUrl) return { appUrl: config.databaseUrl, release: async () => {} };
  return attachBundled(config.dataDir);
}

main(process.argv.slice(2)).catch((error) => {
  const foreseen =
    error instanceof Refusal || error instanceof ConfigError || error instanceof BundledRefusal;
  process.stderr.write(`${foreseen ? error.message : error.stack}\n`);
  process.exitCode = 1;
});
