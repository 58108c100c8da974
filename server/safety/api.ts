import type { Endpoint } from '../core/api.ts';
import { containerEndpoints } from './api-containers.ts';
import { foodEndpoints } from './api-food.ts';
import { hazardEndpoints } from './api-hazards.ts';
import { inductionEndpoints } from './api-inductions.ts';
import { logEndpoints } from './api-log.ts';
import { noticeEndpoints } from './api-notices.ts';

export const safetyEndpoints: Endpoint[] = [
  ...hazardEndpoints,
  ...noticeEndpoints,
  ...inductionEndpoints,
  ...logEndpoints,
  ...containerEndpoints,
  ...foodEndpoints,
];
