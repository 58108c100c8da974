/** A process of its own that runs the bundled Postgres, for tests that kill it. Speaks in lines of JSON. */
import { setTimeout as sleep } from 'node:timers/promises';
import { type BundledOptions, startBundled } from '../../server/core/postgres.ts';

const say = (line: object) => process.stdout.write(`${JSON.stringify(line)}\n`);
const [, , options = '', then] = process.argv;

try {
  const server = await startBundled({
    ...(JSON.parse(options) as BundledOptions),
    onExit: (reason) => {
      say({ ended: reason.message });
      process.exit(3);
    },
  });
  say({ ownerUrl: server.ownerUrl, dataFolder: server.dataFolder });
  if (then === 'stay') await sleep(600_000);
} catch (error) {
  say({ refused: (error as Error).message, kind: (error as Error).name });
}
