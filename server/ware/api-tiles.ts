import type { Endpoint } from '../core/api.ts';

export const tileEndpoints: Endpoint[] = [];
