import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';

export interface Service {
  process: ChildProcess;
  /** Everything it has printed so far. */
  output(): string;
  address: string;
  ended: Promise<{ code: number | null; signal: NodeJS.Signals | null }>;
}

/** Ends what a test started and a failure left running. */
const running = new Set<ChildProcess>();
process.on('exit', () => {
  for (const child of running) child.kill('SIGKILL');
});

/** `npm start` or `npm run demo`, as a person runs it, once it says where it is. */
export const startService = (script: 'start' | 'demo', env: Record<string, string>): Promise<Service> =>
  started(runScript(['run', script], env), `npm run ${script}`);

/** One process of the service without npm around it, on a database that is there. */
export const startProcess = (env: Record<string, string>, more: string[] = []): Promise<Service> =>
  started(run(process.execPath, [...more, '--import', 'tsx', 'server/main.ts'], env), 'the process');

async function started(service: Omit<Service, 'address'>, what: string): Promise<Service> {
  const deadline = Date.now() + 240_000;
  for (;;) {
    const address = /Wareboard is at (\S+)/.exec(service.output())?.[1];
    if (address && /Stop with Ctrl-C/.test(service.output())) return { ...service, address };
    if (service.process.exitCode !== null || Date.now() > deadline)
      throw new Error(`${what} did not start:\n${service.output()}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Any npm script, running. */
export const runScript = (args: string[], env: Record<string, string>): Omit<Service, 'address'> =>
  run('npm', args, env);

function run(program: string, args: string[], env: Record<string, string>): Omit<Service, 'address'> {
  const { PORT: _, HOST: __, DATA_DIR: ___, DATABASE_URL: ____, ...inherited } = process.env;
  const child = spawn(program, args, {
    env: { ...inherited, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  running.add(child);
  let output = '';
  const listen = (chunk: Buffer) => {
    output += chunk;
  };
  child.stdout.on('data', listen);
  child.stderr.on('data', listen);
  const ended = once(child, 'close').then(([code, signal]) => {
    running.delete(child);
    return { code, signal };
  });
  return { process: child, output: () => output, ended };
}
