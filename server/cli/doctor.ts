import { examineLedgers } from '../buckets/service/index.ts';
import { examineFees } from '../fees/service/examine.ts';
import { examineLoads } from '../kilns/service/index.ts';
import { examineStock } from '../materials/service/index.ts';
import { examineContainers } from '../safety/service/containers.ts';
import { examinePieces } from '../ware/service/index.ts';
import { onDatabase } from './on-database.ts';

/**
 * `npm run doctor`: computes every bucket, lot, piece, load and container anew from its ledger, checks every load's plan and
 * the books of fees, and says where what is stored differs.
 */
await onDatabase(async (database) => {
  const { found, stock, pieces, loads, containers, fees } = await database.transaction(async (tx) => ({
    found: await examineLedgers(tx),
    stock: await examineStock({ tx }),
    pieces: await examinePieces({ tx }),
    loads: await examineLoads({ tx }),
    containers: await examineContainers({ tx }),
    fees: await examineFees({ tx }),
  }));
  const faults = [
    ...found.faults.map(
      ({ code, differs }) => `Bucket ${code}: stored and computed state differ in ${differs.join(', ')}.`,
    ),
    ...pieces.map(
      ({ number, stored }) =>
        `Piece ${number}: stored and computed state differ in ${Object.keys(stored).join(', ')}.`,
    ),
    ...stock,
    ...containers,
    ...fees,
    ...loads.loads.map(({ number, wrong }) => `Load ${number}: ${wrong.join('; ')}.`),
    ...loads.reservations.map((one) => `Reserved on one side only: ${one}.`),
  ];
  for (const fault of faults) process.stdout.write(`${fault}\n`);
  process.stdout.write(
    `${found.buckets} buckets and ${found.events} events examined: ${faults.length || 'no'} faults, stock, pieces, loads, containers and fees included.\n`,
  );
  if (faults.length > 0) process.exitCode = 1;
});
