import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { Instrument } from '../../server/buckets/kinds.ts';
import type { BucketNow, CalibratedFloat } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Check, Form, NumberField, Submit } from '../ui/field.tsx';
import { Filter, Notice } from '../ui/panel.tsx';
import {
  Again,
  type Cup,
  CupFields,
  FloatFields,
  HydrometerFields,
  type Last,
  OnWhichScale,
  WeighedFields,
} from './check-fields.tsx';
import { bandWords, SubPage, WhenAndNote } from './parts.tsx';

export const METHODS = ['cup', 'weighed', 'hydrometer', 'float'] as const;
export type Method = (typeof METHODS)[number];

const METHOD_WORDS: Record<Method, string> = {
  cup: 'Brim-full cup',
  weighed: 'Grams and millilitres',
  hydrometer: 'Hydrometer',
  float: 'Float',
};

const MORE: Record<Method, string> = {
  cup: 'Scale, more weighings, temperature',
  weighed: 'Scale, more weighings, temperature',
  hydrometer: 'More readings, temperature',
  float: 'Temperature',
};

interface CheckPageProps {
  bucket: BucketNow;
  cups: Cup[];
  scales: Instrument[];
  hydrometers: Instrument[];
  floats: CalibratedFloat[];
  method: Method;
  /** A hydrometer that is none of the studio's. */
  another: boolean;
  last: Last;
  form: FormState;
  reader: Reader;
}

export function CheckPage(props: CheckPageProps) {
  const { bucket, cups, scales, hydrometers, floats, method, another, last, form, reader } = props;
  const at = `/buckets/${bucket.code}/check`;
  const has: Record<Method, boolean> = {
    cup: cups.length > 0,
    weighed: true,
    hydrometer: true,
    float: floats.length > 0,
  };
  const offered = METHODS.filter((m) => has[m]);
  const isGeneric = method === 'hydrometer' && (another || hydrometers.length === 0);
  const hidden = {
    method: method === 'cup' ? 'weighed' : method,
    // Says yes to this figure, and to no other that is typed instead.
    confirm: form.doubtful ? questioned(form) : undefined,
  };
  return (
    <SubPage bucket={bucket} title="Check SG">
      <p>Stir to the bottom first. Wanted: {bandWords(bucket.target)}.</p>
      <Form action={at} form={form} idempotencyKey={reader.key} hidden={hidden}>
        {method === 'cup' && <CupFields cups={cups} last={last} />}
        {method === 'weighed' && <WeighedFields last={last} />}
        {method === 'hydrometer' && (
          <HydrometerFields hydrometers={hydrometers} another={another} last={last} at={at} />
        )}
        {method === 'float' && <FloatFields floats={floats} target={bucket.target} last={last} />}
        <Check
          name="stirred"
          label="Stirred to the bottom just now"
          hint="Unticked, and with no stir in the last 2 min, it is kept but not used."
          checked
        />
        <Submit label={form.doubtful ? 'Yes, it is right: record it' : 'Record'} />
        <WhenAndNote form={form} summary={`${MORE[method]}, time, note`}>
          {(method === 'cup' || method === 'weighed') && (
            <OnWhichScale
              scales={scales}
              last={last}
              none={method === 'cup' ? 'The one the cup was weighed on' : 'Another, in steps of 1 g'}
            />
          )}
          {method !== 'float' && <Again form={form} what={method === 'hydrometer' ? 'Reading' : 'Grams'} />}
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
          {isGeneric && (
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
            Weigh any cup once, empty and full of water: <a href="/gear/cups">add it to the gear</a>.
          </p>
        </Notice>
      )}
    </SubPage>
  );
}

/** The figure that was asked about. */
function questioned({ typed }: FormState): string | undefined {
  const figure = typed.grams ?? typed.value ?? typed.millimetres;
  return typeof figure === 'string' ? figure : undefined;
}
