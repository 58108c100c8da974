import type { Route } from '../core/routes.ts';
import { calendarRoutes } from './routes-calendar.ts';
import { firingRoutes } from './routes-firing.ts';
import { kilnPageRoutes } from './routes-kilns.ts';
import { loadRoutes } from './routes-loads.ts';

export const kilnRoutes: Route[] = [...kilnPageRoutes, ...loadRoutes, ...firingRoutes, ...calendarRoutes];
