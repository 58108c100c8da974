import type { Endpoint } from '../core/api.ts';
import { accountEndpoints } from './api-accounts.ts';
import { exportEndpoints } from './api-export.ts';
import { priceEndpoints } from './api-prices.ts';
import { quoteEndpoints } from './api-quote.ts';

export const feeEndpoints: Endpoint[] = [
  ...quoteEndpoints,
  ...accountEndpoints,
  ...exportEndpoints,
  ...priceEndpoints,
];
