import { get, type Route } from '../core/routes.ts';
import { showBucketHazards, showRecipeHazards } from './actions/hazards.tsx';

export const hazardRoutes: Route[] = [
  get('/recipes/:id/hazards', 'safety.see', showRecipeHazards),
  get('/buckets/:code/hazards', 'safety.see', showBucketHazards),
];
