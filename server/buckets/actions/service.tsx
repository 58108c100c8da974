import { ServicePage } from '../../../views/buckets/service.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { KINDS } from '../kinds.ts';
import { findBucket, recordAct } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showService(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `Use of ${bucket.name}`,
    'wall',
    <ServicePage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}

/** What takes the bucket out of use leads to the tag to hang on it. */
export const changeService = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showService(visit, form),
    async () => {
      const code = visit.param('code');
      const body = visit.form(KINDS.service.body);
      const number = await visit.act(
        async (act) => (await recordAct(act, code, 'service', body)).event.number,
      );
      return go(`/buckets/${code}${body.state === 'do-not-use' ? '/tag' : ''}?did=${number}`);
    },
  );
