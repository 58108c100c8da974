import type { Endpoint } from '../core/api.ts';
import { withExamples } from '../core/examples.ts';
import { registerEndpoints } from './api-register.ts';
import { stockEndpoints } from './api-stock.ts';

export const materialEndpoints: Endpoint[] = withExamples(
  [...registerEndpoints, ...stockEndpoints],
  new URL('./api-examples.json', import.meta.url),
);
