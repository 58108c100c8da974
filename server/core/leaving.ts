import { setTimeout as sleep } from 'node:timers/promises';
import type { FastifyInstance } from 'fastify';

declare module 'fastify' {
  interface FastifyInstance {
    /** It answers as ever, but wants no new connections: see `leave`. */
    isLeaving: boolean;
    /** Requests that are being answered, event streams too. */
    answering(): number;
  }
}

/** How long nothing must be going on until connections that only stay open are cut: a request may be on its way in. */
const QUIET = 500;
const EVERY = 50;

/** Lets `leave` end this app without losing a request. */
export function mayLeave(app: FastifyInstance): void {
  let answering = 0;
  app.decorate('isLeaving', false);
  app.decorate('answering', () => answering);
  app.server.on('request', (_request, answer) => {
    answering++;
    answer.once('close', () => answering--);
  });
  // A proxy keeps connections for later; the answer says that there is no later on this one.
  app.addHook('onSend', async (_request, reply) => {
    if (app.isLeaving) reply.header('connection', 'close');
  });
}

/**
 * Ends the app. `/readyz` says at once that this process is leaving, so that a proxy sends new requests elsewhere; until
 * `delay` is over they are still answered here. Then no connection is taken, and what is being answered is finished; who
 * is not done after `patience` is cut off. Both in milliseconds.
 */
export async function leave(app: FastifyInstance, o: { delay: number; patience: number }): Promise<void> {
  app.isLeaving = true;
  if (app.server.listening) await sleep(o.delay);
  const closed = app.close();
  let waited = 0;
  let quiet = 0;
  const looking = setInterval(() => {
    waited += EVERY;
    quiet = app.answering() === 0 ? quiet + EVERY : 0;
    if (quiet >= QUIET || waited >= o.patience) app.server.closeAllConnections();
  }, EVERY);
  try {
    await closed;
  } finally {
    clearInterval(looking);
  }
}
