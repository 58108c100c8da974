import type { Endpoint } from '../core/api.ts';
import { withExamples } from '../core/examples.ts';
import { calendarEndpoints } from './api-calendar.ts';
import { firingEndpoints } from './api-firing.ts';
import { kilnsEndpoints } from './api-kilns.ts';
import { loadsEndpoints } from './api-loads.ts';

export const kilnEndpoints: Endpoint[] = withExamples(
  [...kilnsEndpoints, ...loadsEndpoints, ...firingEndpoints, ...calendarEndpoints],
  new URL('./api-examples.json', import.meta.url),
);
