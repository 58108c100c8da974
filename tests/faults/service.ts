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
const started = new Set<ChildProcess>();
process.on('exit', () => {
  for (const child of started) child.kill('SIGKILL');
});

/** `npm start` or `npm run demo`, as a person runs it, once it says where it is. */
export async function startService(script: 'start' | 'demo', env: Record<string, string>): Promise<Service> {
  const service = runScript(['run', script], env);
  const deadline = Date.now() + 60_000;
  for (;;) {
    const address = /Wareboard is at (\S+)/.exec(service.output())?.[1];
    if (address && /Stop with Ctrl-C/.test(service.output())) return { ...service, address };
    if (service.process.exitCode !== null || Date.now() > deadline)
      throw new Error(`npm run ${script} did not start:\n${service.output()}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Any npm script, running. */
export function runScript(args: string[], env: Record<string, string>): Omit<Service, 'address'> {
  const { PORT: _, HOST: __, DATA_DIR: ___, DATABASE_URL: ____, ...inherited } = process.env;
  const child = spawn('npm', args, {
    env: { ...inherited, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  started.add(child);
  let output = '';
  const listen = (chunk: Buffer) => {
    output += chunk;
  };
  child.stdout.on('data', listen);
  child.stderr.on('data', listen);
  const ended = once(child, 'close').then(([code, signal]) => {
    started.delete(child);
    return { code, signal };
  });
  return { process: child, output: () => output, ended };
}
