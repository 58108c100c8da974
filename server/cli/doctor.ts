import { systemClock } from '../core/clock.ts';
import { clusterOf } from '../core/postgres.ts';
import { examine } from './examine.ts';
import { examineSurroundings } from './examine-surroundings.ts';
import { examineMigrations, examineTables } from './examine-tables.ts';
import { onDatabase } from './on-database.ts';

/**
 * `npm run doctor`: computes every bucket, lot, piece, load and container anew from its ledger, checks every load's plan and
 * the books of fees, and says where what is stored differs. Looks as well at the tables' own rules, and at what the
 * service stands on: disks, backups, clocks, mail, jobs. Ends with 0 where nothing is wrong, 1 where something is, and 2
 * where it could not look. With `-- --json` it says the same as one JSON object.
 */
const say = (line: string) => process.stdout.write(`${line}\n`);
let isDone = false;
await onDatabase(async (database, config) => {
  const places =
    config.databaseUrl === null ? [{ words: 'Database', folder: clusterOf(config.dataDir) }] : [];
  const surroundings = await examineSurroundings(database, config, places, systemClock);
  const old = await examineMigrations(database);
  const tables = old.length > 0 ? { faults: old, notes: [] } : await examineTables(database);
  const ledgers = old.length > 0 ? { faults: [], looked: 'No ledgers examined.' } : await examine(database);
  const faults = [...surroundings.faults, ...tables.faults, ...ledgers.faults];
  const notes = [...surroundings.notes, ...tables.notes];
  if (process.argv.includes('--json')) say(JSON.stringify({ faults, notes, looked: ledgers.looked }));
  else {
    for (const line of faults) say(line);
    for (const line of notes) say(`By the way: ${line}`);
    say(`${ledgers.looked} ${faults.length || 'No'} faults.`);
  }
  process.exitCode = faults.length > 0 ? 1 : 0;
  isDone = true;
});
if (!isDone) process.exitCode = 2;
