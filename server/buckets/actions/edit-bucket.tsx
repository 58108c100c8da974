import { BucketFormPage } from '../../../views/buckets/bucket-form.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { listRecipes } from '../../materials/service/index.ts';
import { toCommand, typedFrom } from '../bucket-form.ts';
import { bucketForm, editBucket, findBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showEdit(visit: Visit, form?: FormState): Promise<Answer> {
  const [bucket, recipes] = await Promise.all([
    findBucket(visit.read, visit.param('code')),
    listRecipes(visit.read),
  ]);
  const { recipe } = bucket.facts;
  const newer = recipes.some((r) => r.recipeId === recipe?.id && r.version !== recipe.version);
  const reader = readerOf(visit);
  const shown = form ?? emptyForm(typedFrom(bucket, reader.units, newer));
  return page(
    `Edit ${bucket.name}`,
    'wall',
    <BucketFormPage bucket={bucket} form={shown} recipes={recipes} reader={reader} />,
  );
}

export const saveBucket = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showEdit(visit, form),
    async () => {
      const { command, recipe } = toCommand(visit.form(bucketForm));
      const code = await visit.act((act) => editBucket(act, visit.param('code'), command, recipe));
      return go(`/buckets/${code}`);
    },
  );
