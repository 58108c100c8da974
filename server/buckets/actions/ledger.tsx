import { LedgerPage } from '../../../views/buckets/ledger.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { batchesBehind, findBucket, listEvents, mayVoid } from '../service/index.ts';
import { readerOf } from './reader.ts';

const ROWS = 50;

export async function showLedger(visit: Visit): Promise<Answer> {
  const code = visit.param('code');
  const { before } = visit.query;
  const from = typeof before === 'string' && /^\d{1,9}$/.test(before) ? Number(before) : null;
  const [bucket, ledger] = await Promise.all([
    findBucket(visit.read, code),
    listEvents(visit.read, code, { limit: ROWS, before: from }),
  ]);
  const batches = await batchesBehind(visit.read, bucket, ledger.events);
  const voidable = new Set(
    ledger.events.filter((e) => mayVoid(visit.read, { ...e, kind: e.entry.kind })).map((e) => e.number),
  );
  return page(
    `Ledger of ${bucket.name}`,
    'wall',
    <LedgerPage
      bucket={bucket}
      {...ledger}
      newest={from === null}
      batches={batches}
      voidable={voidable}
      reader={readerOf(visit)}
    />,
  );
}
