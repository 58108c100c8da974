import type { Endpoint } from '../core/api.ts';
import { withExamples } from '../core/examples.ts';
import { containerEndpoints } from './api-containers.ts';
import { foodEndpoints } from './api-food.ts';
import { hazardEndpoints } from './api-hazards.ts';
import { inductionEndpoints } from './api-inductions.ts';
import { logEndpoints } from './api-log.ts';
import { noticeEndpoints } from './api-notices.ts';

export const safetyEndpoints: Endpoint[] = withExamples(
  [
    ...hazardEndpoints,
    ...noticeEndpoints,
    ...inductionEndpoints,
    ...logEndpoints,
    ...containerEndpoints,
    ...foodEndpoints,
  ],
  new URL('./api-examples.json', import.meta.url),
);
