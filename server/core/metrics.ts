import type { FastifyInstance } from 'fastify';
import Fastify from 'fastify';
import { collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client';
import type { Instant } from './clock.ts';

/** What the process measures of itself, for Prometheus; nothing in it names a person or what they typed. */
export interface Metrics {
  /** Counts and times every answer of this app, by the route's pattern. */
  watch(app: FastifyInstance): void;
  /** When the newest backup of the day was made. */
  backedUp(at: Instant): void;
  /** A server that answers /metrics and nothing else. */
  server(): FastifyInstance;
}

export function createMetrics(): Metrics {
  const registry = new Registry();
  collectDefaultMetrics({ register: registry });
  const answers = new Histogram({
    name: 'http_request_duration_seconds',
    help: 'Time from a request to its answer',
    labelNames: ['method', 'route', 'status'],
    buckets: [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
    registers: [registry],
  });
  const backup = new Gauge({
    name: 'wareboard_last_backup_timestamp_seconds',
    help: 'When the newest backup of the day was made',
    registers: [registry],
  });
  return {
    watch(app) {
      app.addHook('onResponse', async (request, reply) => {
        const { method, routeOptions } = request;
        answers.observe(
          { method, route: routeOptions.url ?? 'none', status: reply.statusCode },
          reply.elapsedTime / 1000,
        );
      });
    },
    backedUp: (at) => backup.set(at / 1000),
    server() {
      const app = Fastify({ logger: false });
      app.get('/metrics', async (_request, reply) => {
        reply.type(registry.contentType);
        return registry.metrics();
      });
      return app;
    },
  };
}
