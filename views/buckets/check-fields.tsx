import { lineAt } from '../../server/buckets/float.ts';
import type { Instrument } from '../../server/buckets/kinds.ts';
import type { BucketNow, CalibratedFloat } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Choice, NumberField, Select } from '../ui/field.tsx';
import { hydrometerReads, scaleAdds, scaleWords } from './gear-kinds.tsx';

/** What was typed for the last reading: the cup, the millilitres, the scale. */
export type Last = Record<string, unknown>;

export interface Cup {
  code: string;
  name: string;
  tareG: number;
  waterG: number;
}

export function CupFields({ cups, last }: { cups: Cup[]; last: Last }) {
  const chosen = cups.find((cup) => cup.code === last.vessel) ?? cups[0];
  return (
    <>
      <OneOf
        name="vessel"
        label="Which cup"
        value={chosen?.code}
        options={cups.map((cup) => ({
          value: cup.code,
          label: `${cup.name} (${cup.code})`,
          hint: `${cup.tareG} g empty`,
        }))}
      />
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

export function WeighedFields({ last }: { last: Last }) {
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

interface OnWhichScaleProps {
  scales: Instrument[];
  last: Last;
  /** What holds when none of them is chosen. */
  none: string;
}

/** The scale of a weighing, with the ± that its steps add to 100 mL. */
export function OnWhichScale({ scales, last, none }: OnWhichScaleProps) {
  if (scales.length === 0) return null;
  return (
    <Select
      name="instrument"
      label="On which scale"
      value={scales.find(({ code }) => code === last.instrument)?.code}
      none={none}
      options={scales.map(({ code, name, resolutionG }) => ({
        value: code,
        label: `${name} (${code}): steps of ${resolutionG} g, ${scaleAdds(resolutionG ?? 1, 100)} SG in 100 mL`,
      }))}
      optional
    />
  );
}

interface HydrometerFieldsProps {
  hydrometers: Instrument[];
  /** One that is none of the studio's. */
  another: boolean;
  last: Last;
  /** Address of this form for another hydrometer, and back. */
  at: string;
}

export function HydrometerFields({ hydrometers, another, last, at }: HydrometerFieldsProps) {
  const own = another ? [] : hydrometers;
  const only = own.length === 1 ? own[0] : undefined;
  return (
    <>
      <OneOf
        name="instrument"
        label="Which hydrometer"
        value={own.find(({ code }) => code === last.instrument)?.code ?? own[0]?.code}
        options={own.map((one) => ({
          value: one.code,
          label: `${one.name} (${one.code})`,
          hint: bring(one),
        }))}
      />
      <NumberField
        name="value"
        label="It reads"
        hint={`${only ? `${only.name} (${only.code}), ${bring(only)}. ` : ''}Float it free and spin it; read at the surface.`}
        unit={only?.scale && only.scale !== 'sg' ? scaleWords(only.scale) : undefined}
        big
        autofocus
      />
      {own.length === 0 && (
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
      )}
      {hydrometers.length > 0 && (
        <p class="hint">
          {another ? (
            <a href={`${at}?how=hydrometer`}>Read with one of the studio's</a>
          ) : (
            <a href={`${at}?how=hydrometer&with=another`}>Read with another one</a>
          )}
        </p>
      )}
    </>
  );
}

/** What a hydrometer brings to a reading. */
const bring = ({ scale, division }: Instrument): string =>
  `${scaleWords(scale ?? 'sg')} in steps of ${division}, ${hydrometerReads(scale ?? 'sg', division ?? 0)} SG`;

interface FloatFieldsProps {
  floats: CalibratedFloat[];
  target: BucketNow['target'];
  last: Last;
}

export function FloatFields({ floats, target, last }: FloatFieldsProps) {
  const chosen = floats.find(({ code }) => code === last.float) ?? floats[0];
  const lines = ({ calibration }: CalibratedFloat) =>
    `wanted ${lineAt(calibration, target.high)} to ${lineAt(calibration, target.low)}, aim ${lineAt(calibration, target.aim)}`;
  return (
    <>
      <OneOf
        name="float"
        label="Which float"
        value={chosen?.code}
        options={floats.map((float) => ({
          value: float.code,
          label: `${float.name} (${float.code})`,
          hint: lines(float),
        }))}
      />
      <p>
        Wet it first, bob it, and let it come to rest: once while it rises, once while it sinks.
        {floats.length === 1 && chosen && ` ${chosen.name} (${chosen.code}) here: ${lines(chosen)}.`}
      </p>
      <NumberField name="millimetres" label="mm under, rising" unit="mm" big autofocus />
      <NumberField
        name="replicates"
        index={0}
        label="mm under, sinking"
        hint="The two stand for how far the glaze drags on it; the middle counts."
        unit="mm"
        big
        optional
      />
    </>
  );
}

interface OneOfProps {
  name: string;
  label: string;
  value: string | undefined;
  options: { value: string; label: string; hint: string }[];
}

/** A choice that is not asked where there is nothing to choose. */
function OneOf({ options, ...choice }: OneOfProps) {
  if (options.length === 0) return null;
  if (options.length === 1) return <input type="hidden" name={choice.name} value={choice.value} />;
  return <Choice {...choice} options={options} />;
}

/** More of the same measurement: the mean counts, and their spread. */
export function Again({ form, what }: { form: FormState; what: string }) {
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
            aria-label={`${what}, ${['second', 'third', 'fourth'][i]} time`}
          />
        ))}
      </div>
    </fieldset>
  );
}

const plain = (value: unknown): string | number | undefined =>
  typeof value === 'string' || typeof value === 'number' ? value : undefined;
