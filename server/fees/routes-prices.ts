import type { Route } from '../core/routes.ts';

export const priceRoutes: Route[] = [];
