import { RecipeFormPage } from '../../../views/materials/recipe-form.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { readNewRecipe, rowsFor, wantsMoreRows } from '../forms.ts';
import { onOffer } from '../ordinary.ts';
import { createRecipe, listMaterials } from '../service/index.ts';

export async function showNewRecipe({ read }: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const materials = onOffer(await listMaterials(read));
  const rows = rowsFor(form.typed);
  return page(
    'New recipe',
    'wall',
    <RecipeFormPage recipe={null} form={form} rows={rows} materials={materials} newKey={randomSecret()} />,
  );
}

export async function writeNewRecipe(visit: Visit): Promise<Answer> {
  const { typed, formSetting } = visit;
  if (wantsMoreRows(typed)) return showNewRecipe(visit, emptyForm(typed));
  return visit.submit(
    (form) => showNewRecipe(visit, form),
    async () => {
      const { name, command } = readNewRecipe(typed, formSetting, await listMaterials(visit.read));
      const made = await visit.act((act) => createRecipe(act, name, command));
      return go(`/recipes/${made.recipeId}?done=saved`);
    },
  );
}
