import type { FormState } from '../../server/core/routes.ts';
import type { KilnReader } from '../../server/kilns/actions/kiln-reader.ts';
import type { KilnNow } from '../../server/kilns/service/index.ts';
import {
  Beside,
  Check,
  Choice,
  Field,
  Form,
  NumberField,
  type Option,
  Select,
  Submit,
  TextArea,
} from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { KilnDrawing } from './kiln-drawing.tsx';
import { height, keepOuts, postPlaces, posts, shelves } from './kiln-form-inside.tsx';
import { Group } from './kiln-parts.tsx';

interface Props {
  /** The kiln to change; null for a new one. */
  kiln: Pick<KilnNow, 'code' | 'name'> | null;
  /** Tells whether somebody else changed it since. */
  seen: string | undefined;
  form: FormState;
  rows: { posts: number; postPositions: number; keepOuts: number };
  people: { name: string; email: string }[];
  /** What is drawn beside the form, if it can be. */
  drawn: Parameters<typeof KilnDrawing>[0]['kiln'] | null;
  reader: KilnReader;
}

export function KilnFormPage({ kiln, seen, form, rows, people, drawn, reader }: Props) {
  const at = kiln ? `/kilns/${kiln.code}` : '/kilns';
  return (
    <>
      <h1>{kiln ? `Edit ${kiln.name}` : 'New kiln'}</h1>
      <p class="soft narrow">
        {kiln
          ? 'Loads that are proposed already stay as they are. What you change counts for the next ones.'
          : 'Measure inside, in mm. What is filled in already is common; change it where your kiln is otherwise.'}
      </p>
      <div class={drawn ? 'kiln-edit' : undefined}>
        {drawn && (
          // Whoever asked for it below is taken to it.
          <div tabIndex={-1} autofocus={form.typed.draw !== undefined}>
            <Panel title="To scale">
              <KilnDrawing kiln={drawn} id="drawn" />
            </Panel>
          </div>
        )}
        <Form
          action={kiln ? `${at}/edit` : '/kilns/new'}
          form={form}
          idempotencyKey={reader.key}
          hidden={{ seen }}
        >
          <div class="groups">
            {whichKiln()}
            {shelves()}
            {height()}
            {posts(rows.posts)}
            {postPlaces(rows.postPositions, form)}
            {keepOuts(rows.keepOuts, form)}
            {firing()}
            {power()}
            <Firers people={people} form={form} />
          </div>
          <Submit label={kiln ? 'Save' : 'Make this kiln'} />
          <div class="row">
            <Submit label="Show drawing" look="plain" name="draw" value="yes" />
            <Submit label="More rows" look="plain" name="more" value="yes" />
          </div>
        </Form>
      </div>
      <p>
        <a href={at}>{kiln ? `Back to ${kiln.name}` : 'Back to the kilns'}</a>
      </p>
    </>
  );
}

// The parts are called, not mounted: what is wrong is listed with the labels found among the form's own children.

const OPENS: Option[] = [
  { value: 'top', label: 'From the top' },
  { value: 'front', label: 'From the front' },
];

const SIDES: Option[] = [
  { value: 'front', label: 'Front' },
  { value: 'back', label: 'Back' },
  { value: 'left', label: 'Left' },
  { value: 'right', label: 'Right' },
];

function whichKiln() {
  return (
    <Group title="Which kiln">
      <Beside>
        <Field
          name="code"
          label="Code"
          hint="Short, as written on it: K1."
          maxlength={12}
          spellcheck={false}
        />
        <Field name="name" label="Name" maxlength={60} spellcheck={false} autocomplete="off" />
      </Beside>
      <Choice name="opens" label="Loaded" options={OPENS} />
      <Select
        name="controls"
        label="Controls are at the"
        options={SIDES}
        hint="Front is where you stand to load it, the lower edge of every drawing."
      />
    </Group>
  );
}

function firing() {
  return (
    <Group title="Firing">
      <Field name="maxCone" label="Hottest cone" hint="From its plate, such as 10." maxlength={4} />
      <fieldset class="field">
        <legend>Atmospheres</legend>
        <Check name="oxidation" label="Oxidation" />
        <Check name="reduction" label="Reduction" />
      </fieldset>
    </Group>
  );
}

const POWER: Option[] = [
  { value: 'electric', label: 'Electric' },
  { value: 'gas', label: 'Gas' },
];

function power() {
  return (
    <Group title="Power">
      <div class="powers">
        <Choice name="power" label="Fired by" options={POWER} />
        <div class="for-electric">
          <Beside>
            <NumberField name="kilowatts" label="Power" unit="kW" hint="From its plate." />
            <NumberField name="volts" label="Voltage" unit="V" optional />
            <NumberField
              name="dutyPercent"
              label="On for"
              unit="%"
              hint="Of a whole firing, if you have metered it."
              optional
            />
          </Beside>
        </div>
      </div>
      <TextArea
        name="emergency"
        label="In an emergency"
        hint="What is shut first, and whom to phone. A kiln with burners needs it."
        maxlength={500}
        optional
      />
    </Group>
  );
}

/** Several ticks under one name. */
function Firers({ people, form }: { people: Props['people']; form: FormState }) {
  const ticked = [form.typed.firers ?? []].flat();
  const error = form.errors.find(({ path }) => path.startsWith('firers'))?.message;
  return (
    <Group title="Who may fire it">
      <fieldset class="field" aria-describedby={error ? 'f-firers-error' : undefined}>
        <legend>Shown how, and trusted with it</legend>
        <p class="hint">
          Only they start this kiln, read it and open it before it is cold. Being a technician is not enough.
        </p>
        {error && (
          <p class="error" id="f-firers-error">
            {error}
          </p>
        )}
        <div class="firers-list">
          {people.map(({ name, email }, i) => (
            <div key={email} class="field check">
              <label>
                <input
                  type="checkbox"
                  id={i === 0 ? 'f-firers' : undefined}
                  name="firers"
                  value={email}
                  checked={ticked.includes(email)}
                />
                <span>
                  {name}
                  <small>{email}</small>
                </span>
              </label>
            </div>
          ))}
        </div>
      </fieldset>
    </Group>
  );
}
