import { ProblemPage } from '../../../views/buckets/problem.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { KINDS } from '../kinds.ts';
import { asMade, findBucket, recordAct } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showProblem(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return page(
    `Problem with ${bucket.name}`,
    'wall',
    <ProblemPage bucket={bucket} form={form} reader={readerOf(visit)} />,
  );
}

/** What takes the bucket out of use leads to the tag to hang on it. */
export const reportProblem = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showProblem(visit, form),
    async () => {
      const code = visit.param('code');
      const body = visit.form(KINDS.problems.body);
      const { late } = visit;
      const done = await visit.act(async (act) => {
        const made = await asMade(act, code, 'problems', body, late);
        const { event, bucket } = await recordAct(act, code, 'problems', made);
        return { number: event.number, stopped: event.entry.kind === 'service', code: bucket.code };
      });
      return go(`/buckets/${done.code}${done.stopped ? '/tag' : ''}?did=${done.number}`);
    },
  );
