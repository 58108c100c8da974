import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { BucketSafety } from '../../server/buckets/service/safety-gate.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volume, volumeUnit } from '../../server/core/units.ts';
import { Beside, Check, Form, NumberField, Submit } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { ReadNotices, UnreadNotices } from './bucket-notices.tsx';
import { SubPage, WhenAndNote } from './parts.tsx';

interface DipPageProps {
  bucket: BucketNow;
  safety: BucketSafety;
  /** The dipping recorded in one tap that these numbers replace. */
  instead: number | undefined;
  form: FormState;
  reader: Reader;
}

export function DipPage({ bucket, safety, instead, form, reader }: DipPageProps) {
  const about = (litres: number) => `about ${volume(litres, reader.units)} each`;
  const { band } = bucket.verdict;
  return (
    <SubPage bucket={bucket} title="How many pieces?">
      <UnreadNotices
        notices={safety.notices}
        next={`/buckets/${bucket.code}/dip`}
        idempotencyKey={reader.key}
      />
      {band !== null && band !== 'in' && (
        <Notice tone={band === 'thick' ? 'too-thick' : 'too-thin'}>
          <p>{bucket.verdict.why}</p>
        </Notice>
      )}
      <Form
        action={`/buckets/${bucket.code}/dip`}
        form={form}
        idempotencyKey={reader.key}
        hidden={{ instead }}
      >
        <Beside>
          <NumberField name="cups" label="Cups" hint={about(0.05)} optional />
          <NumberField name="bowls" label="Bowls" hint={about(0.1)} optional />
          <NumberField name="large" label="Large" hint={about(0.25)} optional />
        </Beside>
        <NumberField name="pieces" label="Or pieces in all" hint="Counted as bowls." optional />
        <Check name="stirred" label="Stirred to the bottom before" checked />
        <Submit label={instead === undefined ? 'Record the dipping' : 'That is how many'} />
        <WhenAndNote form={form} summary="Litres, time, note">
          <NumberField
            name="litres"
            label="Glaze used"
            hint="Only if you measured it."
            unit={volumeUnit(reader.units)}
            optional
          />
        </WhenAndNote>
      </Form>
      <ReadNotices notices={safety.notices} />
    </SubPage>
  );
}
