import { examineLedgers } from '../buckets/service/index.ts';
import { onDatabase } from './on-database.ts';

/** `npm run doctor`: computes every bucket anew from its ledger and says where the stored state differs. */
await onDatabase(async (database) => {
  const { buckets, events, faults } = await database.transaction(examineLedgers);
  for (const { code, differs } of faults)
    process.stdout.write(`Bucket ${code}: stored and computed state differ in ${differs.join(', ')}.\n`);
  process.stdout.write(
    `${buckets} buckets and ${events} events examined: ${faults.length || 'no'} faults.\n`,
  );
  if (faults.length > 0) process.exitCode = 1;
});
