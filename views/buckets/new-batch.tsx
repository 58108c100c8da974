import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volumeUnit } from '../../server/core/units.ts';
import type { Version } from '../../server/materials/service/index.ts';
import { Beside, Form, NumberField, Select, Submit } from '../ui/field.tsx';

interface Props {
  buckets: BucketNow[];
  recipes: Version[];
  form: FormState;
  reader: Reader;
}

export function NewBatchPage({ buckets, recipes, form, reader }: Props) {
  return (
    <>
      <h1>New batch</h1>
      <p class="soft narrow">
        From the recipe and the litres wanted follow the grams of every material and the water. Nothing is
        recorded at a bucket until the batch is poured into it.
      </p>
      <Form action="/batches/new" form={form} idempotencyKey={reader.key}>
        <Select
          name="bucket"
          label="For which bucket"
          none="None yet"
          hint="It gives the recipe and the aim, where you leave those empty."
          options={buckets.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
          optional
        />
        <Select
          name="recipe"
          label="Recipe"
          none="The bucket’s own"
          options={recipes.map(({ recipeId, name, version }) => ({
            value: String(recipeId),
            label: `${name}, version ${version}`,
          }))}
          optional
        />
        <Beside>
          <NumberField name="litres" label="Wanted" unit={volumeUnit(reader.units)} hint="Of mixed glaze." />
          <NumberField name="aim" label="Aim" unit="SG" hint="Empty: the bucket’s." optional />
        </Beside>
        <Submit label="Make the sheet" />
      </Form>
      <p>
        <a href="/batches">All batches</a>
      </p>
    </>
  );
}
