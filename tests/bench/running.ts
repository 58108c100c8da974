import { cpus } from 'node:os';
import type { Stops } from './children.ts';

export const say = (line: string): boolean => process.stdout.write(`${line}\n`);

/** Runs a bench; whatever becomes of it, what it started is stopped, the latest first. */
export async function run(bench: (stops: Stops) => Promise<void>): Promise<void> {
  const stops: Stops = [];
  const stopAll = async () => {
    for (let stop = stops.pop(); stop; stop = stops.pop()) await stop().catch((error) => say(String(error)));
  };
  for (const signal of ['SIGINT', 'SIGTERM'] as const)
    process.once(signal, () => void stopAll().then(() => process.exit(1)));
  try {
    await bench(stops);
  } finally {
    await stopAll();
  }
}

/** When and on what it was measured. */
export function measuredOn({ quick = false } = {}): string {
  const day = new Date().toISOString().slice(0, 10);
  const processor = `${cpus().length} x ${cpus()[0]?.model.trim()}`;
  return `${day}, ${processor}, Node ${process.versions.node}${quick ? ', QUICK: only a smoke run' : ''}`;
}
