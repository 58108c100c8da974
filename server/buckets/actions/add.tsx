import { ADDITIONS, AddPage } from '../../../views/buckets/add.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket, listBuckets, safetyOf } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** Advice leads here with its amount filled in. */
export async function showAdd(visit: Visit, form: FormState = emptyForm(visit.query)): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  const reader = readerOf(visit);
  const wanted = ADDITIONS.find((a) => a === (form.typed.kind ?? form.typed.what));
  const what = wanted !== undefined && reader.technician ? wanted : 'water';
  const reclaim = what === 'rinse' ? (await listBuckets(visit.read)).filter((b) => b.isReclaim) : [];
  return page(
    `Add to ${bucket.name}`,
    'wall',
    <AddPage
      bucket={bucket}
      notices={what === 'dry' ? (await safetyOf(visit.read, bucket)).notices : []}
      what={what}
      reclaim={reclaim}
      form={form}
      reader={reader}
    />,
  );
}
