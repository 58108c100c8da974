import type { Endpoint } from '../core/api.ts';
import { registerEndpoints } from './api-register.ts';
import { stockEndpoints } from './api-stock.ts';

export const materialEndpoints: Endpoint[] = [...registerEndpoints, ...stockEndpoints];
