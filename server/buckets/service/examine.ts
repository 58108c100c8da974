import { isDeepStrictEqual } from 'node:util';
import type { Tx } from '../../core/database.ts';
import type { Facts } from '../ledger.ts';
import * as store from '../store.ts';
import { factsOf } from './now.ts';
import { refold } from './record.ts';

export interface Examination {
  buckets: number;
  events: number;
  /** Buckets whose stored state is not what their ledger gives, and in which facts. */
  faults: { code: string; differs: string[] }[];
}

/** Computes every bucket anew from its ledger and compares. Changes nothing. */
export async function examineLedgers(tx: Tx): Promise<Examination> {
  const rows = await store.everyBucket(tx);
  const found: Examination = { buckets: rows.length, events: 0, faults: [] };
  for (const row of rows) {
    const stored = factsOf(row.state);
    const computed = await refold(tx, row);
    found.events += computed.lastNumber;
    const differs = (Object.keys(computed) as (keyof Facts)[]).filter(
      (fact) => !isDeepStrictEqual(stored[fact], computed[fact]),
    );
    if (differs.length > 0) found.faults.push({ code: row.bucket.code, differs });
  }
  return found;
}
