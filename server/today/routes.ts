import { get, type Route } from '../core/routes.ts';
import { showToday } from './actions/today.tsx';

export const todayRoutes: Route[] = [get('/today', 'today.see', showToday)];
