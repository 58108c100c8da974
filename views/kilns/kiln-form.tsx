import type { ComponentChildren } from 'preact';
import type { FormState } from '../../server/core/routes.ts';
import type { KilnReader } from '../../server/kilns/actions/kiln-reader.ts';
import { isFilled } from '../../server/kilns/kiln-form.ts';
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
import { More, Panel } from '../ui/panel.tsx';
import { KilnDrawing } from './kiln-drawing.tsx';
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

const SHAPES: Option[] = [
  { value: 'round', label: 'Round' },
  { value: 'polygon', label: 'Many-sided' },
  { value: 'rectangle', label: 'Rectangle' },
];

function shelves() {
  return (
    <Group title="Shelves">
      <div class="shapes">
        <Choice name="shape" label="Shape of a full shelf" options={SHAPES} />
        <div class="for-round">
          <NumberField name="diameterMm" label="Across" unit="mm" hint="Round shelves only." optional />
        </div>
        <div class="for-polygon">
          <Beside>
            <NumberField name="sides" label="Sides" hint="Many-sided only." optional />
            <NumberField name="acrossFlatsMm" label="Across flats" unit="mm" hint="Side to side." optional />
          </Beside>
        </div>
        <div class="for-rectangle">
          <Beside>
            <NumberField name="shelfWidthMm" label="Width" unit="mm" hint="Rectangles only." optional />
            <NumberField name="shelfDepthMm" label="Depth" unit="mm" hint="Front to back." optional />
          </Beside>
        </div>
      </div>
      <Beside>
        <NumberField name="fullShelves" label="Full shelves" hint="How many there are." />
        <NumberField name="halfShelves" label="Half shelves" hint="Left and right together." />
        <NumberField name="shelfThicknessMm" label="Thickness" unit="mm" />
      </Beside>
      <Beside>
        <NumberField
          name="edgeGapMm"
          label="Free along the edge"
          unit="mm"
          hint="Ware keeps so far from the edge."
        />
        <NumberField
          name="splitGapMm"
          label="Free along the middle"
          unit="mm"
          hint="Between half shelves, both sides together."
        />
      </Beside>
    </Group>
  );
}

const TALL: Option[] = [
  { value: 'any', label: 'Wherever it fits best' },
  { value: 'top', label: 'At the top' },
  { value: 'bottom', label: 'At the bottom' },
];

function height() {
  return (
    <Group title="Height">
      <Beside>
        <NumberField
          name="usableHeightMm"
          label="Usable height"
          unit="mm"
          hint="From the chamber floor to the closed lid or roof."
        />
        <NumberField
          name="floorPostMm"
          label="Floor posts"
          unit="mm"
          hint="Under the lowest shelf; 12 to 25 is common."
        />
      </Beside>
      <Beside>
        <NumberField
          name="clearanceMm"
          label="Air under a shelf"
          unit="mm"
          hint="Above the tallest piece; 12 is common."
        />
        <NumberField name="topClearanceMm" label="Air under the lid" unit="mm" hint="40 is common." />
      </Beside>
      <Select name="tallLevel" label="The level with the tallest ware goes" options={TALL} />
    </Group>
  );
}

function posts(rows: number) {
  return (
    <Group title="Posts">
      <fieldset class="field lines pairs" id="f-posts">
        <legend>Heights</legend>
        <p class="hint">Count all there are of each height. Leave the rows you do not need.</p>
        {Array.from({ length: rows }, (_, i) => (
          <Beside key={`post ${i + 1}`}>
            <NumberField name={`postHeight${i + 1}`} label={`Height ${i + 1}, mm`} optional />
            <NumberField name={`postCount${i + 1}`} label="How many" optional />
          </Beside>
        ))}
      </fieldset>
      <NumberField
        name="postsPerShelf"
        label="Posts under one shelf"
        hint="A half shelf takes as many. 3 is common."
      />
      <Check
        name="stackedPosts"
        label="Two posts may stand on one another"
        hint="Only where they interlock or are glued: a stack that leans brings down the load."
      />
    </Group>
  );
}

const hasErrorIn = ({ errors }: FormState, prefix: string): boolean =>
  errors.some(({ path }) => path.startsWith(prefix));

function postPlaces(rows: number, form: FormState) {
  return (
    <Group title="Where posts stand">
      <p class="hint">
        The same spots on every level, each exactly above the one below. With none given: three a full shelf
        near its edge, and three for each half.
      </p>
      <More summary="Give the spots" open={isFilled(form.typed, 'postPositions') || hasErrorIn(form, 'spot')}>
        <p class="hint">
          <Origin /> A foot of 40 × 40 mm where it is left empty.
        </p>
        {lines(rows, 'lines four', (i) => (
          <>
            <NumberField name={`spotX${i}`} label={`Spot ${i}, x`} optional />
            <NumberField name={`spotY${i}`} label="y" optional />
            <NumberField name={`spotWidth${i}`} label="Width" optional />
            <NumberField name={`spotDepth${i}`} label="Depth" optional />
          </>
        ))}
        <Check name="spotsAnew" label="Forget these spots" hint="They are worked out anew from the shelf." />
      </More>
    </Group>
  );
}

const Origin = () => (
  <>
    x to the right and y to the back, in mm, to the middle of each: from the middle of a round or many-sided
    shelf, from the front left corner of a rectangle.
  </>
);

function keepOuts(rows: number, form: FormState) {
  return (
    <Group title="Places to keep free">
      <p class="hint">Thermocouple, spy holes and cone packs, each with the heights it is in the way at.</p>
      <More summary="Give the places" open={isFilled(form.typed, 'keepOuts') || hasErrorIn(form, 'keep')}>
        <p class="hint">
          <Origin /> Round, unless it has a depth. Heights are above the chamber floor; empty is all the way.
        </p>
        {lines(rows, 'lines three', (i) => (
          <>
            <NumberField name={`keepX${i}`} label={`Place ${i}, x`} optional />
            <NumberField name={`keepY${i}`} label="y" optional />
            <NumberField name={`keepAcross${i}`} label="Across" optional />
            <NumberField name={`keepDepth${i}`} label="Depth" optional />
            <NumberField name={`keepFrom${i}`} label="From" optional />
            <NumberField name={`keepTo${i}`} label="To" optional />
          </>
        ))}
      </More>
    </Group>
  );
}

/** Numbered rows of short fields. */
const lines = (count: number, look: string, row: (number: number) => ComponentChildren) => (
  <div class={look}>
    {Array.from({ length: count }, (_, i) => (
      <Beside key={`row ${i + 1}`}>{row(i + 1)}</Beside>
    ))}
  </div>
);

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
