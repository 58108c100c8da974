import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { FastifyInstance, InjectOptions, LightMyRequestResponse } from 'fastify';
import type { TestClock } from './app.ts';
import { whenFileIsDone } from './closing.ts';

/** What the other process is asked. */
export type Question =
  | { open: { id: number; appUrl: string; env: NodeJS.ProcessEnv } }
  | { close: { id: number } }
  | { ask: { id: number; now: number; options: InjectOptions | string } };

export interface Answered {
  statusCode: number;
  statusMessage: string;
  headers: Record<string, string | string[]>;
  body: string;
  rawPayload: Uint8Array;
  cookies: object[];
}

/** One for each worker of the run, which loads the product once. */
let other: ChildProcess | null = null;
let serial = 0;
const waiting = new Map<number, { resolve: (answer: never) => void; reject: (error: Error) => void }>();

function theOther(): ChildProcess {
  if (other) return other;
  other = fork(fileURLToPath(new URL('./other-process-child.ts', import.meta.url)), {
    execArgv: ['--import', 'tsx'],
    serialization: 'advanced',
  });
  other.on('message', ({ n, answer, error }: { n: number; answer: never; error?: string }) => {
    const asked = waiting.get(n);
    waiting.delete(n);
    if (error === undefined) asked?.resolve(answer);
    else asked?.reject(new Error(`In the other process: ${error}`));
  });
  other.unref();
  other.channel?.unref();
  return other;
}

function tell<T>(question: Question): Promise<T> {
  const n = ++serial;
  const child = theOther();
  child.channel?.ref();
  return new Promise<T>((resolve, reject) => {
    waiting.set(n, { resolve: resolve as never, reject });
    child.send({ n, question });
  }).finally(() => {
    if (waiting.size === 0) child.channel?.unref();
  });
}

/**
 * From now on every second request to this app is answered by the same app in another process, on the same database and
 * at the same time of day: what only one process knows is then found out by the tests there are.
 */
export async function shareWithAnother(
  app: FastifyInstance,
  o: { appUrl: string; env: NodeJS.ProcessEnv; clock: TestClock },
): Promise<void> {
  const id = ++serial;
  await tell({ open: { id, appUrl: o.appUrl, env: o.env } });
  whenFileIsDone(() => tell({ close: { id } }));
  const own = app.inject.bind(app);
  let turn = 0;
  const inject = async (options: InjectOptions | string) => {
    if (turn++ % 2 === 0 || !canBeSent(options)) return own(options);
    const answer = await tell<Answered>({ ask: { id, now: o.clock.now(), options } });
    const rawPayload = Buffer.from(answer.rawPayload);
    return { ...answer, rawPayload, payload: answer.body, json: () => JSON.parse(answer.body) };
  };
  Object.assign(app, { inject: inject as unknown as (o: InjectOptions) => Promise<LightMyRequestResponse> });
}

const canBeSent = (options: InjectOptions | string): boolean =>
  typeof options === 'string' ||
  typeof (options.payload as { pipe?: unknown } | undefined)?.pipe !== 'function';
