import type { ComponentChildren } from 'preact';
import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volumeUnit } from '../../server/core/units.ts';
import type { Version } from '../../server/materials/service/index.ts';
import {
  Beside,
  Check,
  Field,
  Form,
  NumberField,
  type Option,
  Select,
  Submit,
  TextArea,
} from '../ui/field.tsx';
import { Empty } from '../ui/panel.tsx';
import { Act } from '../ui/verdict.tsx';

interface Props {
  /** The bucket to change; null for a new one. */
  bucket: BucketNow | null;
  form: FormState;
  recipes: Version[];
  reader: Reader;
}

export function BucketFormPage({ bucket, form, recipes, reader }: Props) {
  const at = bucket ? `/buckets/${bucket.code}` : '/buckets';
  return (
    <>
      <h1>{bucket ? `Edit ${bucket.name}` : 'New bucket'}</h1>
      <p class="soft">
        {bucket
          ? 'What happened to it stays in its ledger as it was recorded.'
          : 'Code, name, recipe, aim and size are enough to begin with.'}
      </p>
      {recipes.length === 0 ? (
        <Empty title="A recipe comes first">
          <p>Its materials tell how heavy the dry glaze is, and so how much water to add.</p>
          <Act href="/recipes/new" label="Write a recipe" />
        </Empty>
      ) : (
        <Form action={bucket ? `${at}/edit` : '/buckets/new'} form={form} idempotencyKey={reader.key}>
          <div class="groups">
            <Which />
            <Glaze bucket={bucket} recipes={recipes} />
            <Size reader={reader} />
            <Firing />
            <Care typed={form.typed.mixMoreFraction} />
          </div>
          <Submit
            label={bucket ? 'Save' : 'Make this bucket'}
            small={bucket ? undefined : 'Next: say what is in it.'}
          />
        </Form>
      )}
      <p>
        <a href={bucket ? at : '/wall'}>{bucket ? `Back to ${bucket.name}` : 'Back to the glaze wall'}</a>
      </p>
    </>
  );
}

function Group({ title, children }: { title: string; children: ComponentChildren }) {
  return (
    <fieldset class="group">
      <legend>{title}</legend>
      <div class="form">{children}</div>
    </fieldset>
  );
}

function Which() {
  return (
    <Group title="Which bucket">
      <Beside>
        <Field name="code" label="Code" hint="Short, as on the lid: HG." maxlength={12} spellcheck={false} />
        <Field name="colour" type="color" label="Colour" hint="Near the fired glaze." />
      </Beside>
      <Field name="name" label="Name" maxlength={60} spellcheck={false} autocomplete="off" />
      <Field
        name="place"
        label="Place on the wall"
        hint="Such as: rack A. The wall can be sorted by it."
        maxlength={60}
        optional
      />
    </Group>
  );
}

function Glaze({ bucket, recipes }: Pick<Props, 'bucket' | 'recipes'>) {
  return (
    <Group title="Glaze">
      <RecipeChoice bucket={bucket} recipes={recipes} />
      <p class="hint">
        Not in the list? <a href="/recipes/new">Write a recipe</a> first.
      </p>
      <NumberField name="aim" label="Aim" unit="SG" hint="The specific gravity it dips best at." />
      <Beside>
        <NumberField name="low" label="Low" unit="SG" hint="Empty: 0.02 below." optional />
        <NumberField name="high" label="High" unit="SG" hint="Empty: 0.02 above." optional />
      </Beside>
    </Group>
  );
}

function RecipeChoice({ bucket, recipes }: Pick<Props, 'bucket' | 'recipes'>) {
  const has = bucket?.facts.recipe;
  const newer = recipes.find((r) => r.recipeId === has?.id && r.version !== has.version);
  const options = recipes.map((r): Option => {
    const version = r.version > 1 || r === newer ? `, version ${r.version}` : '';
    return { value: String(r.recipeId), label: `${r.name}${version}` };
  });
  if (has && newer) {
    return (
      <Select
        name="recipe"
        label="Recipe"
        none={`Keep ${bucket.recipeName}, version ${has.version}`}
        options={options}
        hint={`Version ${newer.version} was written since. Choose it once the bucket holds it; earlier readings keep their meaning.`}
        optional
      />
    );
  }
  return (
    <Select
      name="recipe"
      label="Recipe"
      options={options}
      {...(!bucket && { none: 'Choose a recipe' })}
      hint={bucket && 'Another recipe counts from now on; earlier readings keep their meaning.'}
    />
  );
}

function Size({ reader }: Pick<Props, 'reader'>) {
  return (
    <Group title="Size">
      <NumberField
        name="capacityLitres"
        label="Holds, filled as far as you would"
        unit={volumeUnit(reader.units)}
      />
      <p class="hint">
        With the inside measures a dip stick tells how full it is. Straight: leave the rim empty. Tapered:
        measure both.
      </p>
      <Beside>
        <NumberField name="bottomMm" label="Across the bottom" unit="mm" optional />
        <NumberField name="topMm" label="Across the rim" unit="mm" optional />
        <NumberField name="heightMm" label="Height" unit="mm" optional />
      </Beside>
    </Group>
  );
}

const ATMOSPHERES: Option[] = [
  { value: 'oxidation', label: 'Oxidation' },
  { value: 'reduction', label: 'Reduction' },
  { value: 'either', label: 'Either' },
];

function Firing() {
  return (
    <Group title="Firing">
      <Beside>
        <Field name="coneFrom" label="Cone" hint="Such as 04 or 6." maxlength={4} optional />
        <Field name="coneTo" label="To cone" hint="If it takes a range." maxlength={4} optional />
      </Beside>
      <Select name="atmosphere" label="Atmosphere" none="Not said" options={ATMOSPHERES} optional />
    </Group>
  );
}

function Care({ typed }: { typed: string | string[] | undefined }) {
  return (
    <Group title="Care">
      <Beside>
        <NumberField
          name="stirIntervalMinutes"
          label="Stir again every"
          unit="min"
          hint="5 is common; 2 for much frit and little clay."
        />
        <NumberField
          name="readingTrustedHours"
          label="A reading is trusted for"
          unit="h"
          hint="168 is a week."
        />
      </Beside>
      <Beside>
        <NumberField
          name="flowLow"
          label="Flow, fast limit"
          unit="s"
          hint="Through your flow cup, always the same one."
          optional
        />
        <NumberField
          name="flowHigh"
          label="Flow, slow limit"
          unit="s"
          hint="Slower than this is stiff. Empty: seconds are not judged."
          optional
        />
      </Beside>
      <Beside>
        <NumberField name="sieveMesh" label="Sieve" unit="mesh" hint="80 is common." />
        <Select
          name="mixMoreFraction"
          label="Mix more when down to"
          options={mixMoreOptions([typed ?? ''].flat().join(''))}
        />
      </Beside>
      <Field
        name="rinseBucket"
        label="Its rinse bucket"
        hint="Where tools and spills of this glaze are washed for return."
        maxlength={60}
        optional
      />
      <Check
        name="isReclaim"
        label="Mixed reclaim"
        hint="Leftovers of many glazes: shown as a surprise glaze. Shared rinse goes in here."
      />
      <TextArea
        name="careNotes"
        label="Care notes"
        hint="What somebody should know before dipping. Members see them on its page."
        maxlength={1000}
        optional
      />
    </Group>
  );
}

const MIX_MORE: Option[] = [
  { value: '0.25', label: 'a quarter' },
  { value: String(1 / 3), label: 'a third' },
  { value: '0.5', label: 'half' },
  { value: '0', label: 'do not remind' },
];

/** The usual shares, and the one it has where that is another. */
function mixMoreOptions(has: string): Option[] {
  const share = Number(has);
  if (has === '' || Number.isNaN(share) || MIX_MORE.some(({ value }) => value === has)) return MIX_MORE;
  return [...MIX_MORE, { value: has, label: `${Math.round(100 * share)} %` }];
}
