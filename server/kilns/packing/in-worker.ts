import { Worker } from 'node:worker_threads';
import { LIMIT_MS, type Plan, type Problem } from './problem.ts';

/** Why a worker brought no plan. */
export type StopReason = 'took too long' | 'called off' | 'died';

/** What `packInWorker` rejects with when no plan came back. */
export class PackingStopped extends Error {
  readonly reason: StopReason;
  constructor(reason: StopReason, cause?: unknown) {
    super(`The packing stopped: ${reason}.`, { cause });
    this.name = 'PackingStopped';
    this.reason = reason;
  }
}

/** For starting the thread, and for the one step that runs over the limit. */
const GRACE_MS = 15_000;
/** Steps take no set time: such a run may take this long. */
const STEPS_MS = 600_000;
const MEMORY_MB = 1024;

let last: Promise<unknown> = Promise.resolve();

/**
 * `solve` in a thread of its own, so that the service goes on answering; one thread at a time, further calls wait their
 * turn. Never hangs.
 * @throws PackingStopped when it took far longer than its limit, was called off by the signal, or the thread died;
 *   RangeError for a problem that makes no sense
 */
export function packInWorker(problem: Problem, { signal }: { signal?: AbortSignal } = {}): Promise<Plan> {
  const turn = last.then(() => run(problem, signal));
  last = turn.catch(() => {});
  return turn;
}

/** A thread does not inherit the loader of TypeScript in Node 20: it registers it before it reads worker.ts. */
function entry(): string {
  const loader = import.meta.resolve('tsx/esm/api');
  const worker = new URL('./worker.ts', import.meta.url).href;
  const code = `import { register } from ${JSON.stringify(loader)}; register(); await import(${JSON.stringify(worker)});`;
  return `data:text/javascript,${encodeURIComponent(code)}`;
}

function run(problem: Problem, signal: AbortSignal | undefined): Promise<Plan> {
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(new PackingStopped('called off'));
      return;
    }
    const worker = new Worker(new URL(entry()), {
      workerData: problem,
      resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB },
    });
    const limit = problem.iterations === undefined ? (problem.timeLimitMs ?? LIMIT_MS) + GRACE_MS : STEPS_MS;
    const end = (settle: () => void) => {
      clearTimeout(timer);
      signal?.removeEventListener('abort', callOff);
      settle();
      void worker.terminate();
    };
    const callOff = () => end(() => reject(new PackingStopped('called off')));
    const timer = setTimeout(() => end(() => reject(new PackingStopped('took too long'))), limit);
    signal?.addEventListener('abort', callOff, { once: true });
    worker.once('message', (plan: Plan) => end(() => resolve(plan)));
    worker.once('error', (error) =>
      end(() => reject(error instanceof RangeError ? error : new PackingStopped('died', error))),
    );
    worker.once('exit', () => end(() => reject(new PackingStopped('died'))));
  });
}
