import type { Route } from '../core/routes.ts';
import { containerRoutes } from './routes-containers.ts';
import { foodRoutes } from './routes-food.ts';
import { hazardRoutes } from './routes-hazards.ts';
import { inductionRoutes } from './routes-inductions.ts';
import { logRoutes } from './routes-log.ts';
import { noticeRoutes } from './routes-notices.ts';

export const safetyRoutes: Route[] = [
  ...logRoutes,
  ...noticeRoutes,
  ...inductionRoutes,
  ...hazardRoutes,
  ...containerRoutes,
  ...foodRoutes,
];
