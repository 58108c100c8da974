import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Choice, Form, NumberField, Submit } from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { SubPage, WhenAndNote } from './parts.tsx';

interface AdditivePageProps {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

export function AdditivePage({ bucket, form, reader }: AdditivePageProps) {
  const at = `/buckets/${bucket.code}`;
  const { state, flow, why } = bucket.verdict;
  return (
    <SubPage bucket={bucket} title="Loosen or stiffen it">
      {state === 'ask-technician' && <p>{why}</p>}
      <Panel title="A drop at a time">
        <ol>
          <li>
            Stir hard to the bottom and <a href={`${at}/flow`}>check the flow</a> again: some glazes gel only
            at rest.
          </li>
          <li>
            Still stiff: a drop or two of deflocculant. Runs fast: a drop or two of saturated Epsom salts.
          </li>
          <li>Stir, wait ten minutes, check again. Only then the next drop.</li>
        </ol>
        <p class="soft">Common practice, no source. Too much deflocculant and it settles hard as a brick.</p>
      </Panel>
      <Form action={`${at}/additive`} form={form} idempotencyKey={reader.key}>
        <Choice
          name="what"
          label="What went in"
          value={flow === 'runny' ? 'epsom' : 'deflocculant'}
          options={[
            { value: 'deflocculant', label: 'To loosen', hint: 'deflocculant' },
            { value: 'epsom', label: 'To stiffen', hint: 'saturated Epsom salts' },
          ]}
        />
        <NumberField
          name="millilitres"
          label="How much"
          hint="Twenty drops are about 1 mL (common practice, no source)."
          unit="mL"
          big
          autofocus
        />
        <Submit label="Record what went in" small="Then stir, wait and check the flow." />
        <WhenAndNote form={form} />
      </Form>
    </SubPage>
  );
}
