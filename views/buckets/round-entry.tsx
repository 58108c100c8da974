import type { Reader } from '../../server/buckets/actions/reader.ts';
import { type Ask, flowAsked, type Place, roundAddress } from '../../server/buckets/round.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Beside, Check, Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { More } from '../ui/panel.tsx';
import { bandWords } from './parts.tsx';
import { type RoundLine, Tools } from './round.tsx';

interface RoundEntryPageProps {
  lines: RoundLine[];
  place: Place;
  /** Some buckets are not on the form. */
  more: boolean;
  /** The studio's date, YYYY-MM-DD. */
  today: string;
  tools: Ask[];
  form: FormState;
  reader: Reader;
}

/** A whole clipboard sheet: a row a bucket, each with its number and the time it was read. */
export function RoundEntryPage({ lines, place, more, today, tools, form, reader }: RoundEntryPageProps) {
  const at = roundAddress('/round/entry', { of: place.of, with: place.with });
  return (
    <>
      <h1>Type in the sheet</h1>
      <p class="soft narrow">Rows left empty are not recorded. All others are recorded together, or none.</p>
      <More summary="Measured with something else">
        <Tools path="/round/entry" place={{ ...place, at: 0 }} tools={tools} />
      </More>
      <Form action={at} form={form} idempotencyKey={reader.key}>
        <Field type="date" name="date" label="Day it was read" value={today} />
        {lines.map((line) => (
          <div key={line.bucket.code} class="sheet-row">
            {rowFields(line, form)}
          </div>
        ))}
        <Check
          name="stirred"
          label="Each was stirred to the bottom first"
          hint="Unticked, they are kept but not used."
          checked
        />
        <Submit label="Record them" />
      </Form>
      <p class="row">
        {more && (
          <a class="plain" href="/round/entry?all=yes">
            Show every bucket
          </a>
        )}
        <a class="plain" href="/round">
          Back to the round
        </a>
      </p>
    </>
  );
}

/** Not a component of its own: the form finds its labels among its children. */
function rowFields({ bucket, ask, why }: RoundLine, form: FormState) {
  const { code, name, target, flow } = bucket;
  const asked =
    form.errors.some(({ path }) => path === `confirm-${code}`) || Boolean(form.typed[`confirm-${code}`]);
  const watched = flow !== null || flowAsked(why) !== null || form.typed[`flow-${code}`] !== undefined;
  return (
    <>
      <input type="hidden" name={`how-${code}`} value={ask.id} />
      <Beside>
        <NumberField
          name={`number-${code}`}
          label={`${name} ${code}`}
          hint={`${ask.tool}, wanted SG ${bandWords(target)}`}
          unit={ask.unit}
          optional
        />
        {watched && <NumberField name={`flow-${code}`} label={`Flow, ${code}`} unit="s" optional />}
        <Field type="time" name={`time-${code}`} label={`Time, ${code}`} optional />
      </Beside>
      {asked && (
        <Check
          name={`confirm-${code}`}
          label={`${name} ${code}`}
          hint="Tick it if you looked again and it is right."
        />
      )}
    </>
  );
}
