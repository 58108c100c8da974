import { SievePage } from '../../../views/buckets/sieve.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showSieve(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `Sieve ${bucket.name}`,
    'wall',
    <SievePage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}
