import type { Reader } from '../../server/buckets/actions/reader.ts';
import { flowBandText } from '../../server/buckets/flow.ts';
import { type Ask, type Place, roundAddress } from '../../server/buckets/round.ts';
import { cardWords } from '../../server/buckets/sentences.ts';
import type { RoundStop } from '../../server/buckets/service/index.ts';
import { ago, gravityText, STATE_WORDS } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Plate } from '../ui/card.tsx';
import { Check, Form, NumberField, Submit } from '../ui/field.tsx';
import { Flash, More } from '../ui/panel.tsx';
import { bandWords } from './parts.tsx';
import { reasons, Tools } from './round.tsx';

interface RoundCheckPageProps {
  stop: RoundStop;
  place: Place;
  ask: Ask;
  /** Whether the flow is asked for beside SG, or instead of it. */
  flow: 'only' | 'too' | null;
  tools: Ask[];
  /** The bucket before, where something was just recorded. */
  done: RoundStop | null;
  form: FormState;
  reader: Reader;
}

/** One bucket of the round: which it is, what it was, and one number to type. */
export function RoundCheckPage({ stop, place, ask, flow, tools, done, form, reader }: RoundCheckPageProps) {
  const { bucket } = stop;
  const at = roundAddress('/round/check', place);
  const hidden = flow === 'only' ? {} : { ...ask.fixed, confirm: form.doubtful ? 'yes' : undefined };
  const last = place.at + 1 === place.of.length;
  return (
    <>
      {done && <Done stop={done} reader={reader} />}
      <p class="soft">
        {place.at + 1} of {place.of.length}
        {bucket.place && ` · ${bucket.place}`}
      </p>
      <Plate name={bucket.name} code={bucket.code} colour={bucket.colour}>
        {reasons(stop, reader)}
      </Plate>
      <p>{lastWords(stop, reader)}</p>
      <Form action={at} form={form} idempotencyKey={reader.key} hidden={hidden}>
        {flow !== 'only' && (
          <NumberField name={ask.field} label={ask.label} hint={ask.tool} unit={ask.unit} big autofocus />
        )}
        {flow !== null && (
          <NumberField
            name="seconds"
            label="Flow through the cup"
            hint={bucket.flow === null ? undefined : `Wanted ${flowBandText(bucket.flow)}.`}
            unit="s"
            big={flow === 'only'}
            autofocus={flow === 'only'}
            optional={flow === 'too'}
          />
        )}
        {flow !== 'only' && <Check name="stirred" label="Stirred to the bottom just now" checked />}
        <Submit label={form.doubtful ? 'Yes, it is right: next' : last ? 'Record and finish' : 'Next'} />
      </Form>
      <p class="row">
        <a class="plain" href={roundAddress('/round/check', { ...place, at: place.at + 1 })}>
          Skip
        </a>
        {place.at > 0 && (
          <a class="plain" href={roundAddress('/round/check', { ...place, at: place.at - 1 })}>
            Back one
          </a>
        )}
        <a class="plain" href={roundAddress('/round/done', place)}>
          Stop here
        </a>
      </p>
      {flow !== 'only' && (
        <More summary="Measure with something else">
          <Tools path="/round/check" place={place} tools={tools} />
        </More>
      )}
    </>
  );
}

function lastWords({ bucket }: RoundStop, reader: Reader): string {
  const { gravity, gravityU, gravityBasis, readingAt } = bucket.facts;
  const wanted = `Wanted SG ${bandWords(bucket.target)}.`;
  if (gravity === null) return wanted;
  const how = gravityBasis === 'predicted' || readingAt === null ? 'predicted' : ago(readingAt, reader.now);
  return `Last SG ${gravityText(gravity, gravityU)}, ${how}. ${wanted}`;
}

/** What came of the bucket before, said while its lid is still off. */
function Done({ stop: { bucket }, reader }: { stop: RoundStop; reader: Reader }) {
  const { state } = bucket.verdict;
  const { gravity, gravityU } = bucket.facts;
  const read = gravity === null ? '' : `SG ${gravityText(gravity, gravityU)}. `;
  return <Flash words={`${bucket.name}: ${read}${STATE_WORDS[state]}: ${cardWords(bucket, reader).next}.`} />;
}
