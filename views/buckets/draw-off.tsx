import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volumeUnit } from '../../server/core/units.ts';
import { Choice, Form, NumberField, Submit } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { fullWords, SubPage, WhenAndNote } from './parts.tsx';

interface DrawOffPageProps {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

export function DrawOffPage({ bucket, form, reader }: DrawOffPageProps) {
  return (
    <SubPage bucket={bucket} title="Take out">
      <p>In it: {fullWords(bucket, reader)}.</p>
      {bucket.facts.hasSolubles && (
        <Notice title="This recipe has solubles" tone="do-not-use">
          <p>Take no clear water off: what dissolved would leave with it, and the glaze would change.</p>
        </Notice>
      )}
      <Form action={`/buckets/${bucket.code}/draw-off`} form={form} idempotencyKey={reader.key}>
        <Choice
          name="what"
          label="What comes out"
          value="water"
          options={[
            { value: 'water', label: 'Clear water', hint: 'from the top, after a night of settling' },
            { value: 'slurry', label: 'Slurry', hint: 'stirred to the bottom first' },
          ]}
        />
        <NumberField name="litres" label="How much" unit={volumeUnit(reader.units)} big autofocus />
        <Choice
          name="to"
          label="Where it goes"
          value="rinse"
          options={[
            { value: 'rinse', label: 'Rinse store', hint: 'counted in its rinse bucket' },
            { value: 'batch', label: 'Next batch' },
            { value: 'waste', label: 'Waste', hint: 'never down the drain' },
          ]}
        />
        <Submit label="Record what came out" />
        <WhenAndNote form={form} />
      </Form>
    </SubPage>
  );
}
