import { BatchesPage } from '../../../views/buckets/batches.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { listBatches } from '../service/index.ts';
import { readerOf } from './reader.ts';

const ROWS = 50;

export async function showBatches(visit: Visit): Promise<Answer> {
  const { before } = visit.query;
  const from = typeof before === 'string' && /^\d{1,9}$/.test(before) ? Number(before) : null;
  const list = await listBatches(visit.read, { limit: ROWS, before: from });
  return page('Batches', 'wall', <BatchesPage {...list} isNewest={from === null} reader={readerOf(visit)} />);
}
