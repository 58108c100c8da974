import type { Reader } from '../../server/buckets/actions/reader.ts';
import { wayWords } from '../../server/buckets/sentences.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { ShownNotice } from '../../server/buckets/service/safety-gate.ts';
import type { FormState } from '../../server/core/routes.ts';
import { massUnit, volumeUnit } from '../../server/core/units.ts';
import { Form, NumberField, Submit } from '../ui/field.tsx';
import { Filter, Notice } from '../ui/panel.tsx';
import { UnreadNotices } from './bucket-notices.tsx';
import { DryCaution } from './next-step.tsx';
import { fullWords, SubPage, WhenAndNote } from './parts.tsx';
import { type Reclaim, RinseBack } from './rinse.tsx';

export const ADDITIONS = ['water', 'slurry', 'rinse', 'dry'] as const;
type Addition = (typeof ADDITIONS)[number];

const ADDITION_WORDS: Record<Addition, string> = {
  water: 'Water',
  slurry: 'Mixed slurry',
  rinse: 'Own rinse',
  dry: 'Dry glaze',
};

interface AddPageProps {
  bucket: BucketNow;
  /** What must be read before this goes in. */
  notices: readonly ShownNotice[];
  what: Addition;
  /** Where mixed rinse goes. */
  reclaim: Reclaim[];
  form: FormState;
  reader: Reader;
}

export function AddPage({ bucket, notices, what, reclaim, form, reader }: AddPageProps) {
  const at = `/buckets/${bucket.code}/add`;
  const words = { ...ADDITION_WORDS, ...(bucket.isReclaim && { rinse: 'Shared rinse' }) };
  return (
    <SubPage bucket={bucket} title={`Add ${words[what].toLowerCase()}`}>
      <UnreadNotices notices={notices} next={`${at}?what=${what}`} idempotencyKey={reader.key} />
      <p>In it: {fullWords(bucket, reader)}.</p>
      <Advice bucket={bucket} what={what} reader={reader} />
      {what === 'water' && bucket.verdict.state === 'ask-technician' && (
        <Notice title="Do not add water" tone="ask-technician">
          <p>{bucket.verdict.why}</p>
        </Notice>
      )}
      {reader.technician && (
        <Filter
          label="What"
          options={ADDITIONS.map((a) => ({
            href: `${at}?what=${a}`,
            label: words[a],
            current: a === what,
          }))}
        />
      )}
      {what === 'dry' && <DryCaution mesh={bucket.sieveMesh} />}
      {what === 'rinse' && <RinseBack bucket={bucket} reclaim={reclaim} />}
      <Form action={at} form={form} idempotencyKey={reader.key} hidden={{ kind: what }}>
        {what === 'dry' ? (
          <NumberField name="kilograms" label="Dry glaze" unit={massUnit(reader.units)} big autofocus />
        ) : (
          <NumberField name="litres" label={words[what]} unit={volumeUnit(reader.units)} big autofocus />
        )}
        {what === 'slurry' && (
          <NumberField name="specificGravity" label="Its SG" hint="Check it first: the amount hangs on it." />
        )}
        {what === 'rinse' && (
          <NumberField
            name="specificGravity"
            label="Its SG"
            hint="Left empty, this bucket needs a reading afterwards."
            optional
          />
        )}
        <Submit label="Record what went in" small="Then stir to the bottom and check SG." />
        <WhenAndNote form={form} />
      </Form>
      {reader.technician && (
        <p>
          <a href={`/buckets/${bucket.code}/draw-off`}>Take water or slurry out instead</a>
        </p>
      )}
    </SubPage>
  );
}

/** What is wanted of this kind, where the amount can be told. */
function Advice({ bucket, what, reader }: Pick<AddPageProps, 'bucket' | 'what' | 'reader'>) {
  const kind = ({ water: 'add-water', slurry: 'blend', dry: 'add-dry' } as Record<Addition, string>)[what];
  const way = [bucket.advice, ...bucket.alternatives].find((w) => w?.kind === kind);
  if (!way || bucket.verdict.askLevel) return null;
  const words = wayWords(way, { aim: bucket.target.aim, units: reader.units });
  return (
    <p>
      <b>{words.title}:</b> {words.small}.
    </p>
  );
}
