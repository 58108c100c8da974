import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Check, Choice, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { Filter, Notice } from '../ui/panel.tsx';
import { bandWords, SubPage, WhenAndNote } from './parts.tsx';

export const METHODS = ['cup', 'weighed', 'hydrometer'] as const;
export type Method = (typeof METHODS)[number];

const METHOD_WORDS: Record<Method, string> = {
  cup: 'Brim-full cup',
  weighed: 'Grams and millilitres',
  hydrometer: 'Hydrometer',
};

interface Cup {
  code: string;
  name: string;
  tareG: number;
  waterG: number;
}

interface CheckPageProps {
  bucket: BucketNow;
  cups: Cup[];
  method: Method;
  /** What was typed for the last reading: the cup, the millilitres, the scale. */
  last: Record<string, unknown>;
  form: FormState;
  reader: Reader;
}

export function CheckPage({ bucket, cups, method, last, form, reader }: CheckPageProps) {
  const at = `/buckets/${bucket.code}/check`;
  const offered = METHODS.filter((m) => m !== 'cup' || cups.length > 0);
  const hidden = {
    method: method === 'hydrometer' ? 'hydrometer' : 'weighed',
    // Says yes to this figure, and to no other that is typed instead.
    confirm: form.doubtful ? questioned(form) : undefined,
  };
  return (
    <SubPage bucket={bucket} title="Check SG">
      <p>Stir to the bottom first. Wanted: {bandWords(bucket.target)}.</p>
      <Form action={at} form={form} idempotencyKey={reader.key} hidden={hidden}>
        {method === 'cup' && <CupFields cups={cups} last={last} />}
        {method === 'weighed' && <WeighedFields last={last} />}
        {method === 'hydrometer' && <HydrometerFields last={last} />}
        <Check
          name="stirred"
          label="Stirred to the bottom just now"
          hint="Unticked, and with no stir in the last 2 min, it is kept but not used."
          checked
        />
        <Submit label={form.doubtful ? 'Yes, it is right: record it' : 'Record'} />
        <WhenAndNote form={form} summary="More weighings, temperature, time, note">
          <Again form={form} method={method} />
          <NumberField
            name="temperatureC"
            label="Temperature of the glaze"
            hint="Without it 20 °C is taken."
            unit="°C"
            optional
          />
          {method === 'weighed' && (
            <>
              <NumberField
                name="resolutionGrams"
                label="The scale shows steps of"
                hint="Without it 1 g."
                unit="g"
                optional
              />
              <NumberField
                name="toleranceMillilitres"
                label="The vessel is good to"
                hint="Without it 1 mL more or less."
                unit="mL"
                optional
              />
            </>
          )}
          {method === 'hydrometer' && (
            <NumberField
              name="division"
              label="One division of its scale"
              hint="In units of the scale."
              optional
            />
          )}
        </WhenAndNote>
      </Form>
      <Filter
        label="How"
        options={offered.map((m) => ({
          href: `${at}?how=${m}`,
          label: METHOD_WORDS[m],
          current: m === method,
        }))}
      />
      {cups.length === 0 && reader.technician && (
        <Notice title="A cup makes this one number">
          <p>
            Weigh any cup once, empty and full of water: <a href="/gear">add it to the gear</a>.
          </p>
        </Notice>
      )}
    </SubPage>
  );
}

/** The figure that was asked about. */
function questioned({ typed }: FormState): string | undefined {
  const figure = typed.grams ?? typed.value;
  return typeof figure === 'string' ? figure : undefined;
}

function CupFields({ cups, last }: { cups: Cup[]; last: Record<string, unknown> }) {
  const chosen = cups.find((cup) => cup.code === last.vessel) ?? cups[0];
  return (
    <>
      {cups.length === 1 ? (
        <input type="hidden" name="vessel" value={chosen?.code} />
      ) : (
        <Choice
          name="vessel"
          label="Which cup"
          value={chosen?.code}
          options={cups.map((cup) => ({
            value: cup.code,
            label: `${cup.name} (${cup.code})`,
            hint: `${cup.tareG} g empty`,
          }))}
        />
      )}
      <NumberField
        name="grams"
        label="Cup and glaze together"
        hint={
          cups.length === 1
            ? `${chosen?.name} (${chosen?.code}): fill to the brim, wipe it dry outside, weigh. Empty it weighs ${chosen?.tareG} g.`
            : 'Fill to the brim, wipe it dry outside, weigh.'
        }
        unit="g"
        big
        autofocus
      />
    </>
  );
}

function WeighedFields({ last }: { last: Record<string, unknown> }) {
  return (
    <>
      <NumberField
        name="grams"
        label="Glaze weighs"
        hint="Without the vessel: set the scale to zero with it empty."
        unit="g"
        big
        autofocus
      />
      <NumberField name="millilitres" label="in" value={plain(last.millilitres) ?? 100} unit="mL" />
    </>
  );
}

function HydrometerFields({ last }: { last: Record<string, unknown> }) {
  return (
    <>
      <NumberField
        name="value"
        label="It reads"
        hint="Float it free and spin it; read at the surface."
        big
        autofocus
      />
      <Select
        name="scale"
        label="Scale"
        value={String(plain(last.scale) ?? 'sg')}
        options={[
          { value: 'sg', label: 'Specific gravity' },
          { value: 'twaddell', label: '°Twaddell' },
          { value: 'baume', label: '°Baumé' },
        ]}
      />
    </>
  );
}

/** More of the same measurement: the mean counts, and their spread. */
function Again({ form, method }: { form: FormState; method: Method }) {
  const typed = [form.typed.replicates ?? []].flat();
  const errors = form.errors.filter(({ path }) => path.startsWith('replicates'));
  return (
    <fieldset class="field">
      <legend>
        Measured again<span class="optional"> (optional)</span>
      </legend>
      {errors.map(({ path, message }) => (
        <p key={path} class="error">
          {message}
        </p>
      ))}
      <div class="beside">
        {[0, 1, 2].map((i) => (
          <input
            key={i}
            class="input"
            id={`f-replicates-${i}`}
            name="replicates"
            type="text"
            inputMode="decimal"
            autocomplete="off"
            value={typed[i]}
            aria-label={`${method === 'hydrometer' ? 'Reading' : 'Grams'}, ${['second', 'third', 'fourth'][i]} time`}
          />
        ))}
      </div>
    </fieldset>
  );
}

const plain = (value: unknown): string | number | undefined =>
  typeof value === 'string' || typeof value === 'number' ? value : undefined;
