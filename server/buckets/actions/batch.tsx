import { BatchSheetPage } from '../../../views/buckets/batch.tsx';
import type { Act } from '../../core/actor.ts';
import { NotFound } from '../../core/errors.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  abandonBatch,
  abandonForm,
  countersign,
  listBuckets,
  pourBatch,
  pourForm,
  safetyOf,
  showBatch,
  takeBack,
  takenBackForm,
  weighedForm,
  weighLine,
} from '../service/index.ts';
import { readerOf } from './reader.ts';

function numberOf(visit: Visit): number {
  const raw = visit.param('number');
  if (!/^[1-9]\d{0,8}$/.test(raw)) throw new NotFound('There is no batch with this number.');
  return Number(raw);
}

export async function showBatchSheet(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [contents, buckets] = await Promise.all([
    showBatch(visit.read, numberOf(visit)),
    listBuckets(visit.read),
  ]);
  const into = buckets.find(({ code }) => code === form.typed.bucket);
  return page(
    `Batch ${contents.batch.number}`,
    'wall',
    <BatchSheetPage
      {...contents}
      buckets={buckets}
      notices={into ? (await safetyOf(visit.read, into)).notices : []}
      form={form}
      personId={visit.caller.id}
      reader={readerOf(visit)}
    />,
  );
}

/** One step of a batch, then its sheet again where it was left; what is refused is said on the sheet. */
const step =
  (work: (visit: Visit, number: number) => (act: Act) => Promise<void>) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => showBatchSheet(visit, form),
      async () => {
        const number = numberOf(visit);
        await visit.act(work(visit, number));
        const { position } = visit.typed;
        const place = position === undefined ? '' : `#line-${encodeURIComponent(String(position))}`;
        return go(`/batches/${number}${place}`);
      },
    );

export const tickLine = step((visit, number) => {
  const { confirm, ...typed } = visit.typed;
  // A yes counts for the lot that was asked about.
  const isSame = confirm !== undefined && confirm === (typed.lot ?? '');
  const line = visit.form(weighedForm, { ...typed, ...(isSame && { confirm: 'yes' }) });
  return (act) => weighLine(act, number, line);
});

export const takeLineBack = step((visit, number) => {
  const { position } = visit.form(takenBackForm);
  return (act) => takeBack(act, number, position);
});

export const countersignBatch = step((_visit, number) => (act) => countersign(act, number));

export const giveUpBatch = step((visit, number) => {
  const { reason } = visit.form(abandonForm);
  return (act) => abandonBatch(act, number, reason);
});

export const pourIntoBucket = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showBatchSheet(visit, form),
    async () => {
      const body = visit.form(pourForm);
      const done = await visit.act(async (act) => {
        const { bucket, use } = await pourBatch(act, numberOf(visit), body);
        return { code: bucket.code, use };
      });
      return go(`/buckets/${done.code}?did=${done.use}`);
    },
  );

/** The address a step is sent to, opened by itself, leads to the sheet. */
export const backToSheet = async (visit: Visit): Promise<Answer> => go(`/batches/${numberOf(visit)}`);
