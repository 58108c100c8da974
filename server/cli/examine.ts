import { examineLedgers } from '../buckets/service/index.ts';
import type { Database } from '../core/database.ts';
import { examineFees } from '../fees/service/examine.ts';
import { examineLoads } from '../kilns/service/index.ts';
import { examineStock } from '../materials/service/index.ts';
import { examineContainers } from '../safety/service/containers.ts';
import { examinePieces } from '../ware/service/index.ts';

/** What every ledger says against what is stored: a line for each difference, and what was looked at. */
export async function examine(database: Database): Promise<{ faults: string[]; looked: string }> {
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
  return {
    faults,
    looked: `${found.buckets} buckets and ${found.events} events examined, with stock, pieces, loads, containers and fees.`,
  };
}
