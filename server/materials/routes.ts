import { get, post, type Route } from '../core/routes.ts';
import { showNewRecipe, writeNewRecipe } from './actions/new-recipe.tsx';
import { showRecipe } from './actions/recipe.tsx';
import { showRecipes } from './actions/recipes.tsx';
import { showRevision, writeRevision } from './actions/revise.tsx';
import { registerRoutes } from './routes-register.ts';
import { stockRoutes } from './routes-stock.ts';

export const materialRoutes: Route[] = [
  get('/recipes', 'recipes.see', showRecipes),
  get('/recipes/new', 'recipes.edit', (visit) => showNewRecipe(visit)),
  post('/recipes/new', 'recipes.edit', writeNewRecipe),
  get('/recipes/:id', 'recipes.see', showRecipe),
  get('/recipes/:id/revise', 'recipes.edit', (visit) => showRevision(visit)),
  post('/recipes/:id/revise', 'recipes.edit', writeRevision),

  ...registerRoutes,
  ...stockRoutes,
];
