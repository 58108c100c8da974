import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { massUnit, volume, volumeUnit } from '../../server/core/units.ts';
import { Beside, Form, NumberField, Submit } from '../ui/field.tsx';
import { Notice, Panel } from '../ui/panel.tsx';
import { SubPage, WhenAndNote } from './parts.tsx';

interface Props {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

/** Two ways to say what is in a bucket; a refused form comes back in its own place. */
export function SetUpPage({ bucket, form, reader }: Props) {
  const action = `/buckets/${bucket.code}/setup`;
  const fresh: FormState = { typed: {}, errors: [] };
  const isBatch = form.typed.from === 'batch';
  const [filled, batch] = isBatch ? [fresh, form] : [form, fresh];
  return (
    <SubPage bucket={bucket} title="What is in it?">
      {bucket.facts.litres !== null && (
        <Notice title="This starts the reckoning anew">
          <p>
            By the ledger it holds about {volume(bucket.facts.litres, reader.units)}. After a set-up the
            earlier readings no longer count, and it needs a new one. For a level you have just seen, record{' '}
            <a href={`/buckets/${bucket.code}/level`}>how full it is</a> instead.
          </p>
        </Notice>
      )}
      <div class="split">
        <Panel title="A bucket that is mixed already">
          <Form
            action={action}
            form={filled}
            id="filled"
            idempotencyKey={`${reader.key}-filled`}
            hidden={{ from: 'gravity' }}
          >
            <NumberField
              name="litres"
              label="How much is in it"
              unit={volumeUnit(reader.units)}
              hint={`It holds ${volume(bucket.capacityLitres, reader.units)}.`}
            />
            <NumberField
              name="specificGravity"
              label="Specific gravity"
              unit="SG"
              hint="As near as you know; a reading puts it right."
            />
            <WhenAndNote form={filled} />
            <Submit label="Record" />
          </Form>
        </Panel>
        <Panel title="A batch you have just weighed">
          <Form
            action={action}
            form={batch}
            id="batch"
            idempotencyKey={`${reader.key}-batch`}
            hidden={{ from: 'batch' }}
          >
            <Beside>
              <NumberField name="dryKg" label="Dry glaze" unit={massUnit(reader.units)} />
              <NumberField name="waterLitres" label="Water" unit={volumeUnit(reader.units)} />
            </Beside>
            <p class="hint">
              Litres and gravity follow, with {bucket.facts.solidsDensity.toFixed(2)} g/cm³ for the dry glaze.
            </p>
            <WhenAndNote form={batch} />
            <Submit label="Record the batch" />
          </Form>
          <p>
            A batch with a sheet is poured in from <a href="/batches">its sheet</a>, so that it is known ever
            after.
          </p>
          <p>
            Then <a href={`/buckets/${bucket.code}/service`}>put it on test</a> until a fired tile is
            accepted.
          </p>
        </Panel>
      </div>
    </SubPage>
  );
}
