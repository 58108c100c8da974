import { LevelPage } from '../../../views/buckets/level.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showLevel(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `How full is ${bucket.name}?`,
    'wall',
    <LevelPage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}
