import { RecipeFormPage } from '../../../views/materials/recipe-form.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { readRecipe, rowsFor, typedFrom, wantsMoreRows } from '../forms.ts';
import { onOffer } from '../ordinary.ts';
import { findRecipe, listMaterials, reviseRecipe } from '../service/index.ts';
import { recipeId } from './recipe.tsx';

export async function showRevision(visit: Visit, form?: FormState): Promise<Answer> {
  const [recipe, known] = await Promise.all([
    findRecipe(visit.read, recipeId(visit)),
    listMaterials(visit.read),
  ]);
  const { current, lines } = recipe;
  const materials = onOffer(
    known,
    lines.map(({ material }) => material),
  );
  const shown = form ?? emptyForm(typedFrom({ ...current, lines }));
  const props = { recipe: current, form: shown, rows: rowsFor(shown.typed), materials };
  return page(`Revise ${current.name}`, 'wall', <RecipeFormPage {...props} newKey={randomSecret()} />);
}

export async function writeRevision(visit: Visit): Promise<Answer> {
  const { typed, formSetting } = visit;
  if (wantsMoreRows(typed)) return showRevision(visit, emptyForm(typed));
  return visit.submit(
    (form) => showRevision(visit, form),
    async () => {
      const id = recipeId(visit);
      const command = readRecipe(typed, formSetting, await listMaterials(visit.read));
      await visit.act((act) => reviseRecipe(act, id, command));
      return go(`/recipes/${id}?done=saved`);
    },
  );
}
