/** A process of its own that works on the queues of a database, for tests that kill it. Sends mail and nothing else. */
import { readConfig } from '../../server/config.ts';
import { systemClock } from '../../server/core/clock.ts';
import { connect } from '../../server/core/database.ts';
import { startJobs } from '../../server/core/jobs.ts';
import { sendDueMail } from '../../server/core/outbox.ts';

const config = readConfig(process.env);
const database = connect(process.env.DATABASE_URL ?? '', { max: 3 });
const idle = async () => {};
await startJobs(
  database,
  {
    tidy: idle,
    backup: idle,
    reminders: idle,
    hooks: idle,
    mail: (stopping) => sendDueMail({ config, database, clock: systemClock }, { stopping }),
  },
  { error: (error, words) => process.stdout.write(`${words}: ${String(error)}\n`) },
);
process.stdout.write('works\n');
