import type { Route } from '../core/routes.ts';
import { accountRoutes } from './routes-accounts.ts';
import { chargingRoutes } from './routes-charging.ts';
import { exportRoutes } from './routes-export.ts';
import { monthRoutes } from './routes-months.ts';
import { overviewRoutes } from './routes-overview.ts';
import { priceRoutes } from './routes-prices.ts';
import { quoteRoutes } from './routes-quote.ts';

export const feeRoutes: Route[] = [
  ...overviewRoutes,
  ...accountRoutes,
  ...quoteRoutes,
  ...chargingRoutes,
  ...priceRoutes,
  ...monthRoutes,
  ...exportRoutes,
];
