import type { FastifyInstance } from 'fastify';
import Fastify from 'fastify';
import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client';
import type { Instant } from './clock.ts';

/** What the process measures of itself, for Prometheus; nothing in it names a person or what they typed. */
export interface Metrics {
  /** Counts and times every answer of this app, by the route's pattern. */
  watch(app: FastifyInstance): void;
  /** Something failed that nobody was waiting for. */
  failedUnseen(): void;
  /** So many screens are open, and are told when something changes. */
  streaming(count: number): void;
  /** Asked whenever somebody looks: what no process knows by itself. */
  asks(ask: () => Promise<Standing>): void;
  /** A server that answers /metrics and nothing else. */
  server(): FastifyInstance;
}

/** How the work stands that any process may do. */
export interface Standing {
  jobs: readonly { queue: string; waiting: number; failed: number }[];
  mail: { waiting: number; givenUp: number };
  /** When the newest backup of the day was made; null: there is none. */
  backupAt: Instant | null;
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
  const jobs = new Gauge({
    name: 'wareboard_jobs',
    help: 'Jobs that wait or are at work, and those that failed in the last hour',
    labelNames: ['queue', 'state'],
    registers: [registry],
  });
  const mail = new Gauge({
    name: 'wareboard_mails',
    help: 'Mail that waits, and mail that was given up',
    labelNames: ['state'],
    registers: [registry],
  });
  let ask: (() => Promise<Standing>) | null = null;
  const look = async () => {
    const standing = await ask?.();
    if (standing === undefined) return;
    for (const { queue, waiting, failed } of standing.jobs) {
      jobs.set({ queue, state: 'waiting' }, waiting);
      jobs.set({ queue, state: 'failed' }, failed);
    }
    mail.set({ state: 'waiting' }, standing.mail.waiting);
    mail.set({ state: 'given-up' }, standing.mail.givenUp);
    if (standing.backupAt !== null) backup.set(standing.backupAt / 1000);
  };
  const unseen = new Counter({
    name: 'wareboard_unseen_failures_total',
    help: 'Failures that no request was waiting for: each a mistake in Wareboard',
    registers: [registry],
  });
  const streams = new Gauge({
    name: 'wareboard_open_streams',
    help: 'Screens that are told when something changes',
    registers: [registry],
  });
  return {
    watch(app) {
      app.addHook('onResponse', async (request, reply) => {
        const { method, routeOptions } = request;
        // How long a screen stayed open is no time that anybody waited.
        if (routeOptions.config.isStream) return;
        answers.observe(
          { method, route: routeOptions.url ?? 'none', status: reply.statusCode },
          reply.elapsedTime / 1000,
        );
      });
    },
    failedUnseen: () => unseen.inc(),
    streaming: (count) => streams.set(count),
    asks(how) {
      ask = how;
    },
    server() {
      const app = Fastify({ logger: false });
      app.get('/metrics', async (_request, reply) => {
        reply.type(registry.contentType);
        // Where the database is away, the rest is told all the same.
        await look().catch(() => {});
        return registry.metrics();
      });
      return app;
    },
  };
}
