import { RetiredPage } from '../../../views/buckets/retired.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { listRetired } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showRetired(visit: Visit): Promise<Answer> {
  const buckets = await listRetired(visit.read);
  return page('Retired buckets', 'wall', <RetiredPage buckets={buckets} reader={readerOf(visit)} />);
}
