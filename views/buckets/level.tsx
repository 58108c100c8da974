import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volume, volumeUnit } from '../../server/core/units.ts';
import { Form, NumberField, Submit } from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { fullWords, SubPage } from './parts.tsx';

const QUARTERS = ['Empty', 'A quarter', 'Half', 'Three quarters', 'Full'];

interface LevelPageProps {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

export function LevelPage({ bucket, form, reader }: LevelPageProps) {
  const at = `/buckets/${bucket.code}/level`;
  const { shape, capacityLitres } = bucket;
  const came = (field: string) => (form.typed[field] === undefined ? undefined : form);
  return (
    <SubPage bucket={bucket} title="How full is it?">
      <p>By the ledger: {fullWords(bucket, reader)}.</p>
      <Form action={at} form={came('quarters')} idempotencyKey={`${reader.key}-quarters`} id="q">
        <div class="acts">
          {QUARTERS.map((words, quarters) => (
            <Submit
              key={words}
              look="plain"
              label={words}
              small={volume((quarters / 4) * capacityLitres, reader.units)}
              name="quarters"
              value={String(quarters)}
            />
          ))}
        </div>
      </Form>
      {shape && (
        <Panel title="By dip stick">
          <Form action={at} form={came('depthMm')} idempotencyKey={`${reader.key}-stick`} id="s">
            <NumberField
              name="depthMm"
              label="Wet mark on the stick"
              hint={`From the bottom; the bucket is ${shape.heightMm} mm deep.`}
              unit="mm"
            />
            <Submit label="Record the stick mark" look="plain" />
          </Form>
        </Panel>
      )}
      <Panel title="In litres">
        <Form action={at} form={came('litres')} idempotencyKey={`${reader.key}-litres`} id="l">
          <NumberField name="litres" label="In it now" unit={volumeUnit(reader.units)} />
          <Submit label="Record the level" look="plain" />
        </Form>
      </Panel>
    </SubPage>
  );
}
