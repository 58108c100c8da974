import { FlowPage } from '../../../views/buckets/flow.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket, listInstruments } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showFlow(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [bucket, instruments] = await Promise.all([
    findBucket(visit.read, visit.param('code')),
    listInstruments(visit.read),
  ]);
  const cups = instruments.filter(({ kind }) => kind === 'flow-cup');
  return page(
    `Flow of ${bucket.name}`,
    'wall',
    <FlowPage bucket={bucket} cups={cups} form={form} reader={readerOf(visit)} />,
  );
}
