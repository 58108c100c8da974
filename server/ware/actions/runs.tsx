import { RunsPage } from '../../../views/ware/runs.tsx';
import { listBuckets } from '../../buckets/service/index.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { addRunPair, listRunPairs, removeRunPair, runForm, runPair } from '../service/runs.ts';

const DONE: Record<string, string> = {
  added: 'These two are on the list from now on.',
  removed: 'These two are off the list.',
};

/** Glazes that run where they overlap. */
export async function showRuns(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [pairs, buckets] = await Promise.all([listRunPairs(visit.read), listBuckets(visit.read)]);
  return page(
    'Glazes that run together',
    'ware',
    <RunsPage
      pairs={pairs}
      buckets={buckets}
      form={form}
      mayEdit={may(visit.caller.role, 'ware.edit')}
      done={visit.done(DONE)}
      newKey={randomSecret()}
    />,
  );
}

/** Adds a pair. */
export const addRun = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRuns(visit, form),
    async () => {
      const command = visit.form(runForm);
      await visit.act((act) => addRunPair(act, command));
      return go('/ware/runs?done=added');
    },
  );

/** Takes a pair away. */
export const takeRunAway = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRuns(visit, { typed: {}, errors: form.errors.map((error) => ({ ...error, path: '' })) }),
    async () => {
      const pair = visit.form(runPair);
      await visit.act((act) => removeRunPair(act, pair));
      return go('/ware/runs?done=removed');
    },
  );

/** The address a pair is taken away at, opened by itself, leads to the list. */
export const backToRuns = async (): Promise<Answer> => go('/ware/runs');
