import type { RouteOptions } from 'fastify';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { loadAssets } from '../../server/core/assets.ts';
import type { Clock, Instant } from '../../server/core/clock.ts';
import { connect } from '../../server/core/database.ts';
import { createMetrics } from '../../server/core/metrics.ts';
import { createPasswords } from '../../server/core/passwords.ts';
import type { Services } from '../../server/core/services.ts';
import { createSessions } from '../../server/core/session.ts';

/** A clock that stands still until a test moves it. */
export class TestClock implements Clock {
  #now: Instant = Date.now();
  now(): Instant {
    return this.#now;
  }
  forward(ms: number): void {
    this.#now += ms;
  }
  setTo(now: Instant): void {
    this.#now = now;
  }
}

/** The app as tests run it, on a database that is there. */
export async function anAppOn(
  appUrl: string,
  env: NodeJS.ProcessEnv = {},
  onRoute?: (route: RouteOptions) => void,
) {
  const clock = new TestClock();
  const database = connect(appUrl);
  const config = readConfig({ ...env, DATABASE_URL: appUrl });
  const services: Services = {
    config,
    database,
    clock,
    sessions: createSessions(database, clock, { secure: config.publicUrl?.protocol === 'https:' }),
    passwords: await createPasswords({ cheap: true }),
    assets: loadAssets(),
    setupKey: 'the-key-from-the-log',
    metrics: config.metricsPort === null ? null : createMetrics(),
  };
  const app = await buildApp(services, { logger: false, ...(onRoute && { onRoute }) });
  await app.ready();
  return { app, services, clock, database };
}
