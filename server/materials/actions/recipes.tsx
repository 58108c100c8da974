import { RecipesPage } from '../../../views/materials/recipes.tsx';
import { may } from '../../core/policy.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { listRecipes } from '../service/index.ts';

export async function showRecipes({ read, caller }: Visit): Promise<Answer> {
  const mayEdit = may(caller.role, 'recipes.edit');
  return page('Recipes', 'wall', <RecipesPage recipes={await listRecipes(read)} mayEdit={mayEdit} />);
}
