import type { FastifyInstance } from 'fastify';
import { isCurrent } from './database.ts';
import type { Services } from './services.ts';

/** `/healthz`: the process lives. `/readyz`: the database answers and has every migration, and the process stays. */
export function healthRoutes(app: FastifyInstance, { database }: Services): void {
  app.get('/healthz', { config: { permission: 'public' } }, () => ({ status: 'alive' }));
  app.get('/readyz', { config: { permission: 'public' } }, async (_request, reply) => {
    const ready = !app.isLeaving && (await isCurrent(database.db).catch(() => false));
    return reply.code(ready ? 200 : 503).send({ status: ready ? 'ready' : 'not ready' });
  });
}
