import type { Route } from '../core/routes.ts';

export const exportRoutes: Route[] = [];
