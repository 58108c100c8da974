import type { Executor } from '../../core/database.ts';
import * as store from '../store/examine.ts';

/** For the doctor: what is amiss in the books of fees, each in a sentence. */
export async function examineFees({ tx }: { tx: Executor }): Promise<string[]> {
  const { counted, books, unbalanced, misplaced, voids, litres, whole } = await store.examine(tx);
  return [
    ...(counted === books
      ? []
      : [`Fees: the numbers of entries have a gap, or end elsewhere than at ${books}.`]),
    ...(whole === '0' ? [] : [`Fees: all accounts together come to ${whole}, not to nothing.`]),
    ...unbalanced.map((number) => `Fee entry ${number}: its sides do not sum to zero, or not to its amount.`),
    ...misplaced.map((number) => `Fee entry ${number}: a side stands in another month.`),
    ...voids.map((number) => `Fee entry ${number}: does not strike out exactly what it names.`),
    ...litres.map((number) => `Fee account ${number}: more litres used than it was granted.`),
  ];
}
