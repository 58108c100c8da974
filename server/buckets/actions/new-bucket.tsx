import { BucketFormPage } from '../../../views/buckets/bucket-form.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { listRecipes } from '../../materials/service/index.ts';
import { NEW_BUCKET, toCommand } from '../bucket-form.ts';
import { bucketForm, createBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showNewBucket(visit: Visit, form: FormState = emptyForm(NEW_BUCKET)): Promise<Answer> {
  const recipes = await listRecipes(visit.read);
  return page(
    'New bucket',
    'wall',
    <BucketFormPage bucket={null} form={form} recipes={recipes} reader={readerOf(visit)} />,
  );
}

export const makeBucket = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewBucket(visit, form),
    async () => {
      const { command, recipe } = toCommand(visit.form(bucketForm));
      const code = await visit.act(async (act) => (await createBucket(act, command, recipe)).code);
      return go(`/buckets/${code}/setup`);
    },
  );
