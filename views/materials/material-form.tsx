import type { FormState } from '../../server/core/routes.ts';
import type { rowsFor } from '../../server/materials/facts-form.ts';
import { H_TEXTS, HAZARD_CLASSES } from '../../server/materials/hazards.ts';
import { Caution } from '../safety/parts.tsx';
import { Beside, Choice, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { More, Notice } from '../ui/panel.tsx';

interface Props {
  /** The material that gets a new version; null for a new one. */
  material: { id: number; name: string; version: number } | null;
  form: FormState;
  rows: ReturnType<typeof rowsFor>;
  newKey: string;
}

/** What is known of a material, as its supplier's sheet says it. */
export function MaterialFormPage({ material, form, rows, newKey }: Props) {
  const at = material ? `/materials/${material.id}` : '/materials';
  return (
    <>
      <h1>{material ? `${material.name}: what is known now` : 'New material'}</h1>
      <Caution />
      {material && material.version > 0 && (
        <Notice title={`Version ${material.version} stays as it is`}>
          <p>This becomes version {material.version + 1}. Mixtures are classified by the newest.</p>
        </Notice>
      )}
      <Form
        action={material ? `${at}/edit` : '/materials/new'}
        form={form}
        idempotencyKey={newKey}
        hidden={{ rows: rows.extra, basedOn: single(form.typed.basedOn) ?? material?.version }}
      >
        {name()}
        {substances(rows.substances)}
        {classified()}
        {hazards(rows.hazards)}
        {ranges(rows.ranges, Boolean(form.typed.rangeOf1) || hasError(form, 'range'))}
        {acute()}
        {limits(rows.limits)}
        {handling()}
        <datalist id="classes">
          {Object.keys(HAZARD_CLASSES).map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
        <datalist id="hcodes">
          {Object.entries(H_TEXTS).map(([code, words]) => (
            <option key={code} value={code}>
              {words}
            </option>
          ))}
        </datalist>
        <Submit label={material ? `Save version ${material.version + 1}` : 'Save material'} />
        <Submit label="More rows" look="plain" name="more" value="yes" />
      </Form>
      <p>
        <a href={at}>{material ? `Back to ${material.name}` : 'All materials'}</a>
      </p>
    </>
  );
}

const single = (value: string | string[] | undefined) => [value ?? []].flat().at(-1);

const hasError = ({ errors }: FormState, start: string) => errors.some(({ path }) => path.startsWith(start));

const each = (rows: number) => Array.from({ length: rows }, (_, i) => i + 1);

// The parts are called, not mounted: what is wrong is listed with the labels found among the form's own children.

function name() {
  return (
    <>
      <Field name="name" label="Name" maxlength={60} spellcheck={false} autocomplete="off" />
      <NumberField
        name="density"
        label="Density of its particles"
        unit="g/cm³"
        hint="Of the mineral, not of the heap: whiting is 2.71."
      />
      <TextArea
        name="otherNames"
        label="Other names"
        hint="One a line, as they stand on bags and in old recipes."
        rows={2}
        maxlength={800}
        optional
      />
    </>
  );
}

function substances(rows: number) {
  return (
    <fieldset class="field lines">
      <legend>What it consists of</legend>
      <p class="hint">Section 3 of the sheet. Shares by mass, together at most 100 %.</p>
      {each(rows).map((n) => (
        <Beside key={n}>
          <Field
            name={`substance${n}`}
            label={`Substance ${n}`}
            maxlength={120}
            autocomplete="off"
            optional
          />
          <Field
            name={`cas${n}`}
            label={`CAS number ${n}`}
            maxlength={12}
            autocomplete="off"
            spellcheck={false}
            optional
          />
          <NumberField name={`percent${n}`} label={`Share ${n}`} unit="%" optional />
        </Beside>
      ))}
    </fieldset>
  );
}

function classified() {
  return (
    <>
      <Choice
        name="classification"
        label="What the sheet says of hazards"
        value="unknown"
        options={[
          { value: 'classified', label: 'Classified', hint: 'write its classes below' },
          { value: 'none', label: 'Not classified', hint: 'the sheet says so' },
          { value: 'unknown', label: 'Unknown', hint: 'no sheet was read yet' },
        ]}
      />
      <TextArea
        name="source"
        label="Where this was read"
        hint="Whose sheet or list, and of what date."
        rows={2}
        maxlength={300}
        optional
      />
    </>
  );
}

function hazards(rows: number) {
  return (
    <fieldset class="field lines classes">
      <legend>Hazard classes</legend>
      <p class="hint">
        Section 2 of the sheet, such as STOT RE 1 with H372. “From” only where the sheet sets its own share; M
        only for the aquatic classes.
      </p>
      {each(rows).map((n) => (
        <Beside key={n}>
          <Field
            name={`class${n}`}
            label={`Class ${n}`}
            list="classes"
            maxlength={40}
            autocomplete="off"
            spellcheck={false}
            optional
          />
          <Field
            name={`hcode${n}`}
            label={`H code ${n}`}
            list="hcodes"
            maxlength={8}
            autocomplete="off"
            spellcheck={false}
            optional
          />
          <NumberField name={`from${n}`} label={`From ${n}`} unit="%" optional />
          <NumberField name={`m${n}`} label={`M ${n}`} optional />
          <Field name={`note${n}`} label={`Note ${n}`} maxlength={120} autocomplete="off" optional />
        </Beside>
      ))}
    </fieldset>
  );
}

function ranges(rows: number, isOpen: boolean) {
  return (
    <More summary="Other classes in a range of shares" open={isOpen}>
      <fieldset class="field lines classes">
        <legend>Ranges</legend>
        <p class="hint">
          Where the sheet says: STOT RE 2, H373, from 0.1 % to below 10 %, beside its STOT RE 1, H372.
        </p>
        {each(rows).map((n) => (
          <Beside key={n}>
            <Field
              name={`rangeClass${n}`}
              label={`Range ${n}: class`}
              list="classes"
              maxlength={40}
              autocomplete="off"
              spellcheck={false}
              optional
            />
            <Field
              name={`rangeHcode${n}`}
              label={`H code of range ${n}`}
              list="hcodes"
              maxlength={8}
              autocomplete="off"
              spellcheck={false}
              optional
            />
            <NumberField name={`rangeFrom${n}`} label={`From ${n}`} unit="%" optional />
            <NumberField name={`rangeBelow${n}`} label={`Below ${n}`} unit="%" optional />
            <Field
              name={`rangeOf${n}`}
              label={`Beside the class with H code, range ${n}`}
              maxlength={8}
              autocomplete="off"
              spellcheck={false}
              optional
            />
          </Beside>
        ))}
      </fieldset>
    </More>
  );
}

function acute() {
  return (
    <>
      <fieldset class="field lines">
        <legend>Acute toxicity estimates</legend>
        <p class="hint">
          Section 11: an ATE, LD50 or LC50. Left empty, the usual figure of the class is taken.
        </p>
        <Beside>
          <NumberField name="ateOral" label="Swallowed, mg/kg" optional />
          <NumberField name="ateDermal" label="On the skin, mg/kg" optional />
          <NumberField name="ateInhalation" label="Inhaled, mg/L or ppm" optional />
          <Select
            name="ateForm"
            label="Inhaled as"
            none="Not said"
            options={[
              { value: 'dust-mist', label: 'Dust or mist, mg/L' },
              { value: 'vapour', label: 'Vapour, mg/L' },
              { value: 'gas', label: 'Gas, ppm' },
            ]}
            optional
          />
        </Beside>
      </fieldset>
      <TextArea
        name="pStatements"
        label="P-statements"
        hint="Codes, such as P261, P305+P351+P338."
        rows={2}
        maxlength={800}
        optional
      />
    </>
  );
}

function limits(rows: number) {
  return (
    <fieldset class="field lines classes">
      <legend>Limits in the air at work</legend>
      <p class="hint">Section 8 of the sheet, or the law where you are.</p>
      {each(rows).map((n) => (
        <Beside key={n}>
          <Field name={`limitOf${n}`} label={`Limit ${n} of`} maxlength={80} autocomplete="off" optional />
          <NumberField name={`limitValue${n}`} label={`At most ${n}`} optional />
          <Select
            name={`limitUnit${n}`}
            label={`Unit ${n}`}
            none="Unit"
            options={['mg/m³', 'µg/m³', 'ppm'].map((value) => ({ value, label: value }))}
            optional
          />
          <Select
            name={`limitAveraging${n}`}
            label={`Averaged ${n}`}
            none="Averaged"
            options={[
              { value: '8 h', label: 'over 8 hours' },
              { value: '15 min', label: 'over 15 minutes' },
              { value: 'ceiling', label: 'never above' },
            ]}
            optional
          />
          <Field name={`limitSource${n}`} label={`Source ${n}`} maxlength={120} autocomplete="off" optional />
        </Beside>
      ))}
    </fieldset>
  );
}

function handling() {
  return (
    <>
      <Field name="supplier" label="Supplier" maxlength={80} autocomplete="off" optional />
      <TextArea name="ppe" label="What to wear" rows={2} maxlength={300} optional />
      <TextArea name="storage" label="Where and how it is kept" rows={2} maxlength={300} optional />
      <TextArea name="incompatible" label="What it must not meet" rows={2} maxlength={300} optional />
    </>
  );
}
