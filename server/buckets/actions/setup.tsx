import { SetUpPage } from '../../../views/buckets/setup.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';
import { recording } from './record.tsx';

export async function showSetUp(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `Set up ${bucket.name}`,
    'wall',
    <SetUpPage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}

export const recordSetUp = recording('setup', showSetUp);
