import type { AddressInfo } from 'node:net';
import { DEMO_PEOPLE, seedDemo } from '../seed/millrace.ts';
import { buildApp } from './app.ts';
import { type Config, ConfigError, readConfig } from './config.ts';
import { loadAssets } from './core/assets.ts';
import { systemClock } from './core/clock.ts';
import { connect, migrate } from './core/database.ts';
import { scrub } from './core/http.ts';
import { startJobs } from './core/jobs.ts';
import { leave } from './core/leaving.ts';
import { createMetrics } from './core/metrics.ts';
import { createPasswords } from './core/passwords.ts';
import { BundledRefusal, type BundledServer, startBundled } from './core/postgres.ts';
import { randomSecret } from './core/secrets.ts';
import type { Services } from './core/services.ts';
import { createSessions, findStudio } from './core/session.ts';
import { standing, works } from './works.ts';

/** Milliseconds until whoever does not take their answer is cut off as the process ends. */
const PATIENCE = 25_000;
/** And after which it ends in any case. */
const LAST_PATIENCE = 30_000;

const say = (line: string) => process.stdout.write(`${line}\n`);

async function main(): Promise<void> {
  const config = readConfig(process.env, process.argv.slice(2));
  const stopping: (() => Promise<unknown>)[] = [];
  const stop = stopOnce(stopping, config.stopDelay + PATIENCE + LAST_PATIENCE);
  const bundled = config.databaseUrl
    ? null
    : await startBundled({
        dataDir: config.dataDir,
        mark: config.mode,
        onExit: (reason) => {
          if (!stop.begun()) fail(`${reason.message} Start Wareboard again: it recovers what was committed.`);
        },
      });
  for (const note of bundled?.notes ?? []) say(note);
  if (bundled) stopping.push(() => bundled.stop());
  process.on('SIGINT', () => void stop(0));
  process.on('SIGTERM', () => void stop(0));
  try {
    await serve(config, bundled, stopping);
  } catch (error) {
    say(explain(error));
    await stop(1);
  }
}

async function serve(config: Config, bundled: BundledServer | null, stopping: (() => Promise<unknown>)[]) {
  const appUrl = bundled?.appUrl ?? (config.databaseUrl as string);
  const ownerUrl = bundled?.ownerUrl ?? config.databaseOwnerUrl ?? appUrl;
  await migrate(ownerUrl, appUrl);
  const database = connect(appUrl);
  stopping.unshift(() => database.close());

  const services: Services = {
    config,
    database,
    clock: systemClock,
    sessions: createSessions(database, systemClock, { secure: config.publicUrl?.protocol === 'https:' }),
    passwords: await createPasswords(),
    assets: loadAssets(),
    setupKey: config.setupKey ?? randomSecret(),
    metrics: config.metricsPort === null ? null : createMetrics(),
  };
  const app = await buildApp(services, { logger: { level: config.logLevel } });
  // One request's mistake must not end what forty others are doing.
  process.on('unhandledRejection', (reason) => {
    services.metrics?.failedUnseen();
    app.log.error({ err: scrub(reason) }, 'failed, and nobody was waiting for it');
  });
  // Once the app stands: its features know one another from then on.
  if (config.mode === 'demo') await seedDemo(services);
  const jobs = await startJobs(database, works(services, appUrl, app.log), {
    error: (error, words) => app.log.error({ err: scrub(error) }, words),
  });
  stopping.unshift(() => jobs.stop());

  services.metrics?.asks(() => standing(services));
  const watcher = services.metrics?.server();
  if (watcher && config.metricsPort !== null) {
    stopping.unshift(() => watcher.close());
    await watcher.listen({ host: config.host, port: config.metricsPort }).catch((error) => {
      throw isTaken(error) ? new ConfigError('That METRICS_PORT is taken. Choose another.') : error;
    });
  }
  // First of all when it ends: what is being answered may need whatever else runs.
  stopping.unshift(() => leave(app, { delay: config.stopDelay, patience: PATIENCE }));
  const port = await listen(app, config);
  await announce(config, services, port);
}

async function listen(app: Awaited<ReturnType<typeof buildApp>>, config: Config): Promise<number> {
  for (let port = config.port; ; port++) {
    try {
      await app.listen({ host: config.host, port });
      return (app.server.address() as AddressInfo).port;
    } catch (error) {
      if (!isTaken(error) || config.portIsFixed || port >= config.port + 50) throw error;
    }
  }
}

const isTaken = (error: unknown): boolean => (error as { code?: string }).code === 'EADDRINUSE';

async function announce(config: Config, services: Services, port: number): Promise<void> {
  const host = config.host === '0.0.0.0' || config.host === '::' ? 'localhost' : config.host;
  const address = config.publicUrl?.origin ?? `http://${host.includes(':') ? `[${host}]` : host}:${port}`;
  if (port !== config.port && config.port !== 0)
    say(`Port ${config.port} is taken, so this runs on ${port}.`);
  say(`\nWareboard is at ${address}`);
  if (config.mode === 'demo') {
    say('\nMillrace Clay Commons, a demo studio. Sign in as:');
    for (const { role, email, password } of DEMO_PEOPLE)
      say(`  ${role.padEnd(10)}  ${email.padEnd(32)}  ${password}`);
  } else if (!(await findStudio(services.database.db))) {
    say(`\nThis studio is not set up yet. Open ${address}/setup and type this key: ${services.setupKey}`);
  }
  say('\nStop with Ctrl-C.');
}

/** Stops in the order given, once; a second signal, or `limit` milliseconds, ends the process at once. */
function stopOnce(
  steps: (() => Promise<unknown>)[],
  limit: number,
): ((code: number) => Promise<void>) & { begun(): boolean } {
  let begun = false;
  const stop = async (code: number) => {
    if (begun) process.exit(1);
    begun = true;
    setTimeout(() => fail('Something does not end, so this is left as it is.'), limit).unref();
    for (const step of [...steps]) await step().catch((error) => say(explain(error)));
    process.exit(code);
  };
  return Object.assign(stop, { begun: () => begun });
}

function explain(error: unknown): string {
  if (error instanceof ConfigError || error instanceof BundledRefusal) return error.message;
  const { code, message, stack } = error as { code?: string; message?: string; stack?: string };
  if (isTaken(error)) return 'That PORT is taken. Choose another, or leave PORT unset.';
  if (code === 'ECONNREFUSED' || code === 'ENOTFOUND' || code === '28P01')
    return `The database in DATABASE_URL does not answer: ${message}`;
  return stack ?? String(error);
}

function fail(line: string): void {
  say(line);
  process.exit(1);
}

main().catch((error) => fail(explain(error)));
