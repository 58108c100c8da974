import { randomUUID } from 'node:crypto';
import formbody from '@fastify/formbody';
import Fastify, {
  type FastifyInstance,
  type FastifyServerOptions,
  LogController,
  type RouteOptions,
} from 'fastify';
import { bucketEndpoints } from './buckets/api.ts';
import { bucketRoutes } from './buckets/routes.ts';
import { findBucket, lotWay } from './buckets/service/index.ts';
import { type Endpoint, registerApi } from './core/api.ts';
import { assetRoutes } from './core/assets.ts';
import { acceptUploads, fileRoutes } from './core/files.ts';
import { healthRoutes } from './core/health.ts';
import { guard, handleErrors, refuseAddress } from './core/http.ts';
import { mayLeave } from './core/leaving.ts';
import { liveRoutes, type Topic } from './core/live.ts';
import { offlineRoutes } from './core/offline.ts';
import { createRenderer, type Section } from './core/render.tsx';
import { type Route, registerRoutes } from './core/routes.ts';
import type { Services } from './core/services.ts';
import { feeEndpoints } from './fees/api.ts';
import { feeRoutes } from './fees/routes.ts';
import { fillFeeGates } from './fees/service/gate.ts';
import { kilnEndpoints } from './kilns/api.ts';
import { kilnRoutes } from './kilns/routes.ts';
import { loadWay, rowOf } from './kilns/service/index.ts';
import { materialEndpoints } from './materials/api.ts';
import { materialRoutes } from './materials/routes.ts';
import { fillLotTrace } from './materials/service/index.ts';
import { memberRoutes } from './members/routes.ts';
import { safetyEndpoints } from './safety/api.ts';
import { safetyRoutes } from './safety/routes.ts';
import { fillSafetyGates } from './safety/service/gate.ts';
import { todayRoutes } from './today/routes.ts';
import { wareEndpoints } from './ware/api.ts';
import { wareRoutes } from './ware/routes.ts';
import { fillLoadWords } from './ware/service/index.ts';

const SECTIONS: Section[] = [
  { id: 'today', href: '/today', label: 'Today', permission: 'today.see' },
  { id: 'wall', href: '/wall', label: 'Glaze wall', permission: 'buckets.see' },
  { id: 'ware', href: '/ware', label: 'Ware', permission: 'ware.own' },
  { id: 'kilns', href: '/kilns', label: 'Kilns', permission: 'kilns.see' },
  { id: 'safety', href: '/safety', label: 'Safety', permission: 'safety.see' },
  { id: 'fees', href: '/fees', label: 'Fees', permission: 'fees.own' },
  { id: 'people', href: '/people', label: 'People', permission: 'people.see' },
  { id: 'me', href: '/me', label: 'Me', permission: 'own.page' },
];

/** The API, by the folder of the feature. */
export const ENDPOINTS: Record<string, Endpoint[]> = {
  materials: materialEndpoints,
  buckets: bucketEndpoints,
  ware: wareEndpoints,
  kilns: kilnEndpoints,
  safety: safetyEndpoints,
  fees: feeEndpoints,
};

/** What an open screen may be told of. */
const TOPICS: Topic[] = [
  { word: 'wall', permission: 'buckets.see', atTablet: true, whats: ['bucket', 'notice'] },
  {
    word: 'bucket',
    permission: 'buckets.see',
    whats: ['notice'],
    one: { what: 'bucket', find: async (read, code) => (await findBucket(read, code)).id },
  },
  {
    word: 'load',
    permission: 'loads.see',
    whats: [],
    one: { what: 'load', find: async (read, number) => (await rowOf(read, Number(number))).id },
  },
  { word: 'kilns', permission: 'kilns.see', whats: ['load', 'kiln'] },
  { word: 'safety', permission: 'safety.see', whats: ['notice', 'duty', 'entry'] },
  {
    word: 'today',
    permission: 'today.see',
    whats: ['bucket', 'load', 'kiln', 'piece', 'notice', 'duty', 'entry'],
  },
];

export interface AppOptions {
  logger: FastifyServerOptions['logger'];
  onRoute?: (route: RouteOptions) => void;
}

/** The whole service; the process around it is `main.ts`. */
export async function buildApp(services: Services, options: AppOptions): Promise<FastifyInstance> {
  const app = Fastify({
    logger: options.logger ?? false,
    logController: new LogController({ disableRequestLogging: true }),
    genReqId: () => randomUUID().slice(-12),
    trustProxy: services.config.trustProxy,
    bodyLimit: 256 * 1024,
    requestTimeout: 30_000,
    // What comes on a connection that is open while the process ends is answered like anything else.
    return503OnClosing: false,
    allowErrorHandlerOverride: false,
    frameworkErrors: refuseAddress,
  });
  if (options.onRoute) app.addHook('onRoute', options.onRoute);
  mayLeave(app);
  await app.register(formbody);

  fillLotTrace(lotWay);
  fillLoadWords(loadWay);
  fillSafetyGates();
  fillFeeGates();
  services.metrics?.watch(app);
  const renderer = createRenderer(services.assets, SECTIONS);
  liveRoutes(app, services, TOPICS);
  guard(app, services);
  handleErrors(app, renderer.error);
  assetRoutes(app, services.assets);
  offlineRoutes(app, services.assets);
  healthRoutes(app, services);
  fileRoutes(app, services);
  const pages = [
    ...memberRoutes,
    ...materialRoutes,
    ...bucketRoutes,
    ...wareRoutes,
    ...kilnRoutes,
    ...safetyRoutes,
    ...feeRoutes,
    ...todayRoutes,
  ];
  const takesFiles = (route: Route) => route.takesFiles === true;
  registerRoutes(
    app,
    services,
    pages.filter((route) => !takesFiles(route)),
    renderer,
  );
  // In a scope of their own, so that no other route reads files.
  await app.register(async (scope) => {
    await acceptUploads(scope);
    registerRoutes(scope, services, pages.filter(takesFiles), renderer);
  });
  await app.register((scope) => registerApi(scope, services, Object.values(ENDPOINTS).flat()));
  return app;
}
