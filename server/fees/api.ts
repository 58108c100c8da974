import type { Endpoint } from '../core/api.ts';
import { withExamples } from '../core/examples.ts';
import { accountEndpoints } from './api-accounts.ts';
import { exportEndpoints } from './api-export.ts';
import { priceEndpoints } from './api-prices.ts';
import { quoteEndpoints } from './api-quote.ts';

export const feeEndpoints: Endpoint[] = withExamples(
  [...quoteEndpoints, ...accountEndpoints, ...exportEndpoints, ...priceEndpoints],
  new URL('./api-examples.json', import.meta.url),
);
