import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { ServiceState } from '../../server/buckets/ledger.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Choice, Form, type Option, Submit, TextArea } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { SubPage } from './parts.tsx';

const STATES: (Option & { value: ServiceState })[] = [
  { value: 'in-service', label: 'In service', hint: 'anybody may dip from it' },
  { value: 'on-test', label: 'On test', hint: 'a new batch, until a fired tile is accepted' },
  { value: 'do-not-use', label: 'Do not use', hint: 'say why; a tag is made to hang on it' },
  { value: 'retired', label: 'Retired', hint: 'off the wall; its ledger stays' },
];

interface ServicePageProps {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

export function ServicePage({ bucket, form, reader }: ServicePageProps) {
  const { service, batch } = bucket.facts;
  const waitsForTile = service === 'on-test' && batch !== null;
  const offered = STATES.filter(
    (s) =>
      s.value !== service &&
      (reader.technician || s.value === 'do-not-use') &&
      !(waitsForTile && s.value === 'in-service'),
  );
  return (
    <SubPage bucket={bucket} title={reader.technician ? 'May it be used?' : 'Stop its use'}>
      {service !== 'in-service' && (
        <Notice tone={bucket.verdict.state}>
          <p>{bucket.verdict.why}</p>
          {waitsForTile && reader.technician && (
            <p>
              <a href={`/buckets/${bucket.code}/tiles/new`}>Accept batch {batch} by a fired tile</a>: that
              puts it in service.
            </p>
          )}
        </Notice>
      )}
      {offered.length === 0 ? (
        <p>Only a technician puts it back in service.</p>
      ) : (
        <Form
          action={`/buckets/${bucket.code}/service`}
          form={form}
          idempotencyKey={reader.key}
          hidden={reader.technician ? {} : { state: 'do-not-use' }}
        >
          {reader.technician && <Choice name="state" label="From now on" options={offered} />}
          <TextArea
            name="reason"
            label="Why"
            hint="The next person at the bucket reads it."
            rows={2}
            maxlength={500}
            optional={reader.technician}
          />
          <Submit label={reader.technician ? 'Record it' : 'Do not use this bucket'} />
        </Form>
      )}
    </SubPage>
  );
}
