import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Form, NumberField, Submit } from '../ui/field.tsx';
import { SubPage, WhenAndNote } from './parts.tsx';

interface SievePageProps {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

export function SievePage({ bucket, form, reader }: SievePageProps) {
  return (
    <SubPage bucket={bucket} title="Sieved">
      <Form action={`/buckets/${bucket.code}/sieve`} form={form} idempotencyKey={reader.key}>
        <NumberField name="mesh" label="Through" value={bucket.sieveMesh} unit="mesh" />
        <Submit label="Record that it was sieved" />
        <WhenAndNote form={form} />
      </Form>
    </SubPage>
  );
}
