import type { Reader } from '../../server/buckets/actions/reader.ts';
import { flowBandText, flowText } from '../../server/buckets/flow.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { ago } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Choice, Form, NumberField, Submit } from '../ui/field.tsx';
import { SubPage, WhenAndNote } from './parts.tsx';

interface FlowPageProps {
  bucket: BucketNow;
  /** The studio's flow cups. */
  cups: { code: string; name: string }[];
  form: FormState;
  reader: Reader;
}

export function FlowPage({ bucket, cups, form, reader }: FlowPageProps) {
  const at = `/buckets/${bucket.code}`;
  const wanted =
    bucket.flow === null ? 'No band in seconds is set for it.' : `Wanted: ${flowBandText(bucket.flow)}.`;
  return (
    <SubPage bucket={bucket} title="Check flow">
      <p>Stir to the bottom first. Always the same flow cup, used the same way. {wanted}</p>
      <Form action={`${at}/flow`} form={form} idempotencyKey={reader.key}>
        <Cups cups={cups} />
        <NumberField
          name="seconds"
          label="Seconds through the cup"
          hint="Fill it to the brim, take the finger off the hole, stop when the stream first breaks."
          unit="s"
          big
          autofocus
          optional
        />
        <Choice
          name="word"
          label="Or in a word"
          options={[
            { value: 'thin', label: 'Thin', hint: 'runs off the hand like milk' },
            { value: 'cream', label: 'Cream', hint: 'coats the hand, then drips' },
            { value: 'custard', label: 'Custard', hint: 'falls off in lumps' },
            { value: 'gelled', label: 'Gelled', hint: 'stands, wobbles, hardly drips' },
          ]}
          optional
        />
        <Submit label="Record the flow" />
        <WhenAndNote form={form} />
      </Form>
    </SubPage>
  );
}

/** Which cup, where there are several; a single one goes without asking. */
function Cups({ cups }: Pick<FlowPageProps, 'cups'>) {
  const [only, ...more] = cups;
  if (only === undefined) return null;
  if (more.length === 0) return <input type="hidden" name="cup" value={only.code} />;
  return (
    <Choice
      name="cup"
      label="Which flow cup"
      value={only.code}
      options={cups.map(({ code, name }) => ({ value: code, label: `${name} (${code})` }))}
    />
  );
}

/** The flow and its band as one line of the bucket's care. */
export function flowWords({ facts, flow }: BucketNow, { now }: Reader): string {
  const seen =
    facts.flowAt === null
      ? 'not seen since something went in'
      : `${flowText(facts, null).replace(/^flow /, '')}, ${ago(facts.flowAt, now)}`;
  return flow === null ? seen : `wanted ${flowBandText(flow)}; ${seen}`;
}

/** For the technician: it runs fast where the water in it is no reason. */
export function FlowSentence({ bucket }: { bucket: BucketNow }) {
  const { flow, band } = bucket.verdict;
  if (flow !== 'runny' || band !== 'in') return null;
  const seen = flowText(bucket.facts, bucket.flow);
  return (
    <p>
      Right amount of water, but it runs fast: {seen}. If coats come out thin, a drop of saturated Epsom salts
      stiffens it (common practice, no source):{' '}
      <a href={`/buckets/${bucket.code}/additive`}>how, and record it</a>.
    </p>
  );
}
