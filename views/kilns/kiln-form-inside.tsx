import type { ComponentChildren } from 'preact';
import type { FormState } from '../../server/core/routes.ts';
import { isFilled } from '../../server/kilns/kiln-form.ts';
import { Beside, Check, Choice, NumberField, type Option, Select } from '../ui/field.tsx';
import { More } from '../ui/panel.tsx';
import { Group } from './kiln-parts.tsx';

// What is measured inside a kiln. Called, not mounted, as the rest of the form is.

const SHAPES: Option[] = [
  { value: 'round', label: 'Round' },
  { value: 'polygon', label: 'Many-sided' },
  { value: 'rectangle', label: 'Rectangle' },
];

/** Shape and number of the shelves. */
export function shelves() {
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

/** What the levels share. */
export function height() {
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

/** All there are, by height. */
export function posts(rows: number) {
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

/** Where they stand, if anybody said so. */
export function postPlaces(rows: number, form: FormState) {
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

/** What ware must not reach into. */
export function keepOuts(rows: number, form: FormState) {
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
