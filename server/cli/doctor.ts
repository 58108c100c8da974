import { examine } from './examine.ts';
import { onDatabase } from './on-database.ts';

/**
 * `npm run doctor`: computes every bucket, lot, piece, load and container anew from its ledger, checks every load's plan and
 * the books of fees, and says where what is stored differs.
 */
await onDatabase(async (database) => {
  const { faults, looked } = await examine(database);
  for (const fault of faults) process.stdout.write(`${fault}\n`);
  process.stdout.write(`${looked} ${faults.length || 'No'} faults.\n`);
  if (faults.length > 0) process.exitCode = 1;
});
