import { examineLedgers } from '../buckets/service/index.ts';
import { examineLoads } from '../kilns/service/index.ts';
import { examinePieces } from '../ware/service/index.ts';
import { onDatabase } from './on-database.ts';

/**
 * `npm run doctor`: computes every bucket, piece and load anew from its ledger, checks every load's plan, and says where
 * what is stored differs.
 */
await onDatabase(async (database) => {
  const { found, pieces, loads } = await database.transaction(async (tx) => ({
    found: await examineLedgers(tx),
    pieces: await examinePieces({ tx }),
    loads: await examineLoads({ tx }),
  }));
  const faults = [
    ...found.faults.map(
      ({ code, differs }) => `Bucket ${code}: stored and computed state differ in ${differs.join(', ')}.`,
    ),
    ...pieces.map(
      ({ number, stored }) =>
        `Piece ${number}: stored and computed state differ in ${Object.keys(stored).join(', ')}.`,
    ),
    ...loads.loads.map(({ number, wrong }) => `Load ${number}: ${wrong.join('; ')}.`),
    ...loads.reservations.map((one) => `Reserved on one side only: ${one}.`),
  ];
  for (const fault of faults) process.stdout.write(`${fault}\n`);
  process.stdout.write(
    `${found.buckets} buckets and ${found.events} events examined: ${faults.length || 'no'} faults, pieces and loads included.\n`,
  );
  if (faults.length > 0) process.exitCode = 1;
});
