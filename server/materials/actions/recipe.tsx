import { RecipePageView } from '../../../views/materials/recipe.tsx';
import { NotFound } from '../../core/errors.ts';
import { may } from '../../core/policy.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { findRecipe, knownLines } from '../service/index.ts';

const NUMBER = /^[1-9]\d{0,8}$/;

export async function showRecipe(visit: Visit): Promise<Answer> {
  const { version } = visit.query;
  if (version !== undefined && !NUMBER.test(String(version)))
    throw new NotFound('There is no such version of this recipe.');
  const recipe = await findRecipe(
    visit.read,
    recipeId(visit),
    version === undefined ? undefined : Number(version),
  );
  const known = await knownLines(visit.read, recipe.current.recipeId, recipe.current.version);
  return page(
    recipe.current.name,
    'wall',
    <RecipePageView
      recipe={recipe}
      known={known}
      mayEdit={may(visit.caller.role, 'recipes.edit')}
      saved={visit.query.done === 'saved'}
      now={visit.now}
      timeZone={visit.studio.timeZone}
    />,
  );
}

export function recipeId(visit: Visit): number {
  const id = visit.param('id');
  if (!NUMBER.test(id)) throw new NotFound('There is no such recipe.');
  return Number(id);
}
