import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import { showExposure } from './actions/exposure.tsx';
import { saveTest, saveVoid, showNewTest, showTest, showTests, showVoid } from './actions/food.tsx';

export const foodRoutes: Route[] = [
  get('/safety/exposure', 'safety.see', showExposure),
  get('/safety/food', 'food.see', showTests),
  get('/safety/food/new', 'food.record', (visit) => showNewTest(visit)),
  postWithFiles('/safety/food/new', 'food.record', saveTest),
  get('/safety/food/:number', 'food.see', showTest),
  get('/safety/food/:number/void', 'food.record', (visit) => showVoid(visit)),
  post('/safety/food/:number/void', 'food.record', saveVoid),
];
