import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { type AddressInfo, createServer } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

/** What stops all that was started, last first. */
export type Stops = (() => Promise<void>)[];

const FLOOR = fileURLToPath(new URL('./floor.ts', import.meta.url));
const PROXY = fileURLToPath(new URL('./proxy.ts', import.meta.url));
const PROBE = fileURLToPath(new URL('./probe.ts', import.meta.url));
const SERVICE = fileURLToPath(new URL('../../server/main.ts', import.meta.url));
const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** The service as it is run, on a database that is there; gives its port. */
export const startService = async (stops: Stops, appUrl: string, ownerUrl: string): Promise<number> =>
  (await startWatched(stops, appUrl, ownerUrl)).port;

export interface Watched {
  port: number;
  pid: number;
  /** Bytes in use on its heap, and held by the process, after everything that can be was collected. */
  memory(): Promise<{ heapUsed: number; rss: number }>;
}

/** The same, with a look into it. */
export async function startWatched(stops: Stops, appUrl: string, ownerUrl: string): Promise<Watched> {
  const env = { DATABASE_URL: appUrl, DATABASE_OWNER_URL: ownerUrl, API_RATE_LIMIT: '0' };
  const { child, port } = await start(stops, SERVICE, env, [
    '--expose-gc',
    '--import',
    'tsx',
    '--import',
    PROBE,
  ]);
  return {
    port,
    pid: child.pid as number,
    async memory() {
      const answered = once(child, 'message');
      child.send('memory');
      const [memory] = await answered;
      return memory;
    },
  };
}

export const startFloor = async (
  stops: Stops,
  appUrl: string,
  bytes: { page: number; answer: number },
): Promise<number> => {
  const env = { DATABASE_URL: appUrl, PAGE_BYTES: String(bytes.page), ANSWER_BYTES: String(bytes.answer) };
  return (await start(stops, FLOOR, env)).port;
};

/** A proxy in front of services, in a process of its own. */
export async function startProxyProcess(
  stops: Stops,
  ports: number[],
): Promise<{ port: number; pid: number }> {
  const { child, port } = await start(stops, PROXY, { UPSTREAMS: ports.join(' ') });
  return { port, pid: child.pid as number };
}

async function start(
  stops: Stops,
  file: string,
  env: Record<string, string>,
  node: string[] = ['--import', 'tsx'],
): Promise<{ child: ChildProcess; port: number }> {
  const port = await freePort();
  const child = spawn(process.execPath, [...node, file], {
    cwd: ROOT,
    env: { PATH: process.env.PATH, NODE_ENV: 'production', PORT: String(port), ...env },
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
  });
  stops.push(() => end(child));
  for (const deadline = Date.now() + 90_000; !(await answers(port)); await sleep(100)) {
    if (child.exitCode !== null) throw new Error(`${file} ended with ${child.exitCode}.`);
    if (Date.now() > deadline) throw new Error(`${file} does not answer.`);
  }
  return { child, port };
}

async function end(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const ended = once(child, 'exit');
  child.kill('SIGTERM');
  const patience = setTimeout(() => child.kill('SIGKILL'), 10_000);
  await ended;
  clearTimeout(patience);
}

const answers = (port: number): Promise<boolean> =>
  fetch(`http://127.0.0.1:${port}/healthz`).then(
    () => true,
    () => false,
  );

export async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  server.close();
  await once(server, 'close');
  return port;
}
