import type { FormState } from '../../server/core/routes.ts';
import type { Material } from '../../server/materials/ordinary.ts';
import type { Version } from '../../server/materials/service/index.ts';
import { Beside, Check, Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { More, Notice } from '../ui/panel.tsx';

interface Props {
  /** The recipe that gets a new version; null for a new one. */
  recipe: Version | null;
  form: FormState;
  rows: number;
  materials: Material[];
  newKey: string;
}

export function RecipeFormPage({ recipe, form, rows, materials, newKey }: Props) {
  const action = recipe ? `/recipes/${recipe.recipeId}/revise` : '/recipes/new';
  const retired = materials.flatMap(({ name, isRetired }) => (isRetired ? [name] : []));
  const onlyDensity = Boolean(form.typed.solidsDensity);
  return (
    <>
      <h1>{recipe ? `${recipe.name}: version ${recipe.version + 1}` : 'New recipe'}</h1>
      {recipe && (
        <Notice title={`Version ${recipe.version} stays as it is`}>
          <p>Buckets keep the version they have until you choose the recipe anew on their page.</p>
        </Notice>
      )}
      <Form action={action} form={form} idempotencyKey={newKey} hidden={{ rows }}>
        {!recipe && <Field name="name" label="Name" maxlength={80} spellcheck={false} autocomplete="off" />}
        <fieldset class="field lines" id="f-lines">
          <legend>Materials</legend>
          <p class="hint">
            Parts by weight; additions over 100 are normal. Leave the density empty for a material from the
            list, and the rows you do not need.
          </p>
          {retired.length > 0 && (
            <p class="hint">
              Used no more: {retired.join(', ')}. {retired.length === 1 ? 'It stays' : 'They stay'} in this
              recipe until you put something else in {retired.length === 1 ? 'its' : 'their'} place.
            </p>
          )}
          {Array.from({ length: rows }, (_, i) => (
            <Line key={`line ${i + 1}`} number={i + 1} />
          ))}
        </fieldset>
        <datalist id="materials">
          {materials.map(({ name, density, isRetired }) => (
            <option key={name} value={name}>
              {density} g/cm³{isRetired && ', retired'}
            </option>
          ))}
        </datalist>
        <Check
          name="hasSolubles"
          label="Something in it dissolves"
          hint="Soda ash, borax, pearl ash, unwashed wood ash. Clear water is then never taken off the bucket: it would carry the solubles away."
        />
        <More summary="Materials not known" open={onlyDensity}>
          <NumberField
            name="solidsDensity"
            label="Density of the dry glaze"
            unit="g/cm³"
            hint="Only when no materials are listed above. Most glazes lie between 2.5 and 2.8."
            optional
          />
        </More>
        <Submit label={recipe ? `Save version ${recipe.version + 1}` : 'Save recipe'} />
        <Submit label="More rows" look="plain" name="more" value="yes" />
      </Form>
    </>
  );
}

function Line({ number }: { number: number }) {
  return (
    <Beside>
      <Field
        name={`material${number}`}
        label={`Material ${number}`}
        list="materials"
        maxlength={60}
        autocomplete="off"
        spellcheck={false}
        optional
      />
      <NumberField name={`parts${number}`} label="Parts" optional />
      <NumberField name={`density${number}`} label="Density, g/cm³" optional />
    </Beside>
  );
}
