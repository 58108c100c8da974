import { AdditivePage } from '../../../views/buckets/additive.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showAdditive(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `Loosen or stiffen ${bucket.name}`,
    'wall',
    <AdditivePage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}
