import { get, type Route } from '../core/routes.ts';
import { showHub } from './actions/hub.tsx';
import { showOverview } from './actions/overview.tsx';

export const overviewRoutes: Route[] = [
  get('/fees', 'fees.own', showHub),
  get('/fees/overview', 'fees.export', showOverview),
];
