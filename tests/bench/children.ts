import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { type AddressInfo, createServer } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

/** What stops all that was started, last first. */
export type Stops = (() => Promise<void>)[];

const FLOOR = fileURLToPath(new URL('./floor.ts', import.meta.url));
const SERVICE = fileURLToPath(new URL('../../server/main.ts', import.meta.url));
const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** The service as it is run, on a database that is there; gives its port. */
export const startService = (stops: Stops, appUrl: string, ownerUrl: string) =>
  start(stops, SERVICE, { DATABASE_URL: appUrl, DATABASE_OWNER_URL: ownerUrl });

export const startFloor = (stops: Stops, appUrl: string, bytes: { page: number; answer: number }) =>
  start(stops, FLOOR, {
    DATABASE_URL: appUrl,
    PAGE_BYTES: String(bytes.page),
    ANSWER_BYTES: String(bytes.answer),
  });

async function start(stops: Stops, file: string, env: Record<string, string>): Promise<number> {
  const port = await freePort();
  const child = spawn(process.execPath, ['--import', 'tsx', file], {
    cwd: ROOT,
    env: { PATH: process.env.PATH, NODE_ENV: 'production', PORT: String(port), ...env },
    stdio: ['ignore', 'ignore', 'inherit'],
  });
  stops.push(() => end(child));
  for (const deadline = Date.now() + 30_000; !(await answers(port)); await sleep(100)) {
    if (child.exitCode !== null) throw new Error(`${file} ended with ${child.exitCode}.`);
    if (Date.now() > deadline) throw new Error(`${file} does not answer.`);
  }
  return port;
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

async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  server.close();
  await once(server, 'close');
  return port;
}
