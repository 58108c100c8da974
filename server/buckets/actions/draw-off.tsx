import { DrawOffPage } from '../../../views/buckets/draw-off.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** Advice leads here with its amount filled in. */
export async function showDrawOff(visit: Visit, form: FormState = emptyForm(visit.query)): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `Take from ${bucket.name}`,
    'wall',
    <DrawOffPage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}
