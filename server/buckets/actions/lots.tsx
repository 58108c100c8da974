import { LotsPage } from '../../../views/buckets/lots.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { lotsInBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showLots(visit: Visit): Promise<Answer> {
  const { bucket, lots } = await lotsInBucket(visit.read, visit.param('code'));
  return page(
    `Lots in ${bucket.name}`,
    'wall',
    <LotsPage bucket={bucket} lots={lots} reader={readerOf(visit)} />,
  );
}
