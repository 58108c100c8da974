import { once } from 'node:events';
import { Agent, get } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import Fastify from 'fastify';
import { describe, expect, it } from 'vitest';
import { leave, mayLeave } from '../../server/core/leaving.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { anApp } from '../helpers/studio.ts';

/** An app with a route that answers when the test says so. */
async function anOpenApp() {
  const app = Fastify({ return503OnClosing: false });
  mayLeave(app);
  let finish = () => {};
  const isFinished = new Promise<void>((resolve) => {
    finish = resolve;
  });
  let begin = () => {};
  const isBegun = new Promise<void>((resolve) => {
    begin = resolve;
  });
  app.get('/quick', async () => 'quick');
  app.get('/slow', async () => {
    begin();
    await isFinished;
    return 'slow';
  });
  await app.listen({ host: '127.0.0.1', port: 0 });
  whenFileIsDone(async () => {
    finish();
    app.server.closeAllConnections();
    await app.close();
  });
  return { app, port: (app.server.address() as AddressInfo).port, isBegun, finish };
}

const ask = (port: number, path: string, agent?: Agent) =>
  new Promise<{ status: number | undefined; connection: string | undefined }>((resolve, reject) => {
    get({ port, path, agent }, (answer) => {
      answer.resume();
      answer.on('end', () => resolve({ status: answer.statusCode, connection: answer.headers.connection }));
    }).on('error', reject);
  });

const LONG = 60_000;

describe('leaving', () => {
  it('finishes what is being answered, and answers what still comes on an open connection', async () => {
    const { app, port, isBegun, finish } = await anOpenApp();
    const agent = new Agent({ keepAlive: true, maxSockets: 1 });
    const slow = ask(port, '/slow');
    expect(await ask(port, '/quick', agent)).toEqual({ status: 200, connection: 'keep-alive' });
    await isBegun;
    const left = leave(app, { delay: 1_000, patience: LONG });
    expect(await ask(port, '/quick', agent)).toEqual({ status: 200, connection: 'close' });
    let refused: unknown = null;
    while (refused === null)
      refused = await ask(port, '/quick').then(
        () => sleep(50, null),
        (error) => error.code,
      );
    expect(refused).toBe('ECONNREFUSED');
    finish();
    expect(await slow).toEqual({ status: 200, connection: 'close' });
    await left;
    expect(app.answering()).toBe(0);
    agent.destroy();
  });

  it('does not wait for connections on which nothing is asked', async () => {
    const { app, port } = await anOpenApp();
    const silent = connect(port, '127.0.0.1');
    const half = connect(port, '127.0.0.1');
    await Promise.all([once(silent, 'connect'), once(half, 'connect')]);
    half.write('GET /quick HTTP/1.1\r\n');
    const cut = [silent, half].map((one) =>
      once(
        one.on('error', () => {}),
        'close',
      ),
    );
    await leave(app, { delay: 0, patience: LONG });
    await Promise.all(cut);
  });

  it('cuts off an answer that takes longer than its patience', async () => {
    const { app, port, isBegun } = await anOpenApp();
    const slow = ask(port, '/slow');
    slow.catch(() => {});
    await isBegun;
    await leave(app, { delay: 0, patience: 200 });
    await expect(slow).rejects.toMatchObject({ code: 'ECONNRESET' });
  });

  it('an app that never listened ends at once', async () => {
    const app = Fastify();
    mayLeave(app);
    await app.ready();
    await leave(app, { delay: LONG, patience: LONG });
  });

  it('is not ready from then on, and lives', async () => {
    const { app } = await anApp();
    expect((await app.inject('/readyz')).statusCode).toBe(200);
    app.isLeaving = true;
    const { statusCode, headers, body } = await app.inject('/readyz');
    expect(statusCode).toBe(503);
    expect(headers.connection).toBe('close');
    expect(JSON.parse(body)).toEqual({ status: 'not ready' });
    expect((await app.inject('/healthz')).statusCode).toBe(200);
  });
});
