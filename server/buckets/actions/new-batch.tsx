import { NewBatchPage } from '../../../views/buckets/new-batch.tsx';
import type { Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fromLitres, type UnitSystem } from '../../core/units.ts';
import { listRecipes } from '../../materials/service/index.ts';
import { type BucketNow, batchForm, listBuckets, planNewBatch } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showNewBatch(visit: Visit, form?: FormState): Promise<Answer> {
  const [buckets, recipes] = await Promise.all([listBuckets(visit.read), listRecipes(visit.read)]);
  const reader = readerOf(visit);
  const shown = form ?? emptyForm(typedFor(buckets, visit.query.bucket, reader.units));
  return page(
    'New batch',
    'wall',
    <NewBatchPage buckets={buckets} recipes={recipes} form={shown} reader={reader} />,
  );
}

/** For a bucket: what it holds, as much as fits, at its aim. */
function typedFor(buckets: BucketNow[], code: Typed[string], units: UnitSystem): Typed {
  const bucket = buckets.find((b) => b.code === code);
  if (!bucket) return {};
  const { facts, capacityLitres, target } = bucket;
  const room = fromLitres(capacityLitres - (facts.litres ?? 0), units);
  return {
    bucket: bucket.code,
    recipe: String(facts.recipe?.id ?? ''),
    litres: room >= 1 ? String(Math.floor(room)) : '',
    aim: String(target.aim),
  };
}

export const planBatchFromForm = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewBatch(visit, form),
    async () => {
      const command = visit.form(batchForm);
      const number = await visit.act((act) => planNewBatch(act, command));
      return go(`/batches/${number}`);
    },
  );
