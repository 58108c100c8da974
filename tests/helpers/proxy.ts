import http from 'node:http';
import type { AddressInfo } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';

interface Upstream {
  port: number;
  isReady: boolean;
  agent: http.Agent;
}

export interface Doorkeeper {
  port: number;
  close(): Promise<void>;
}

/** How often it asks each process whether it is ready, in milliseconds. */
export const LOOKS_EVERY = 100;
const TRIES_FOR = 10_000;

/**
 * A proxy as simple as one may be: in turn to each process that says it is ready, tried elsewhere only where a
 * connection is refused. What was sent once is never sent again, not even a GET; what is lost on the way is a 502.
 */
export async function startProxy(ports: readonly number[], port = 0): Promise<Doorkeeper> {
  const upstreams = ports.map((each): Upstream => ({ port: each, isReady: true, agent: agent() }));
  let turn = 0;
  const next = (): Upstream | undefined => {
    const ready = upstreams.filter(({ isReady }) => isReady);
    return ready[turn++ % ready.length];
  };
  const looking = setInterval(() => {
    for (const upstream of upstreams) void look(upstream);
  }, LOOKS_EVERY);

  const server = http.createServer(async (request, answer) => {
    for (const until = Date.now() + TRIES_FOR; Date.now() < until; ) {
      const upstream = next();
      const was = upstream ? await pass(upstream, request, answer) : 'refused';
      if (was !== 'refused') return;
      if (upstream) upstream.isReady = false;
      await sleep(20);
    }
    if (!answer.headersSent) answer.writeHead(502);
    answer.end();
  });
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    async close() {
      clearInterval(looking);
      const closed = new Promise((resolve) => server.close(resolve));
      server.closeAllConnections();
      for (const upstream of upstreams) upstream.agent.destroy();
      await closed;
    },
  };
}

const agent = () => new http.Agent({ keepAlive: true });

async function look(upstream: Upstream): Promise<void> {
  const options = { port: upstream.port, path: '/readyz', agent: false, timeout: 2_000 };
  upstream.isReady = await new Promise((resolve) => {
    const asked = http.get(options, (answer) => {
      answer.resume();
      resolve(answer.statusCode === 200);
    });
    asked.on('timeout', () => asked.destroy());
    asked.on('error', () => resolve(false));
  });
}

/** `refused` where nothing was sent, so that another process may be asked. */
function pass(
  { port, agent }: Upstream,
  request: http.IncomingMessage,
  answer: http.ServerResponse,
): Promise<'passed' | 'refused'> {
  return new Promise((resolve) => {
    const { method, url: path, headers } = request;
    const { connection: _, ...passed } = headers;
    let isSent = false;
    const asked = http.request({ port, method, path, headers: passed, agent });
    const send = () => {
      isSent = true;
      request.pipe(asked);
    };
    asked.on('socket', (socket) => (socket.connecting ? socket.once('connect', send) : send()));
    asked.on('response', (got) => {
      const { connection: _, 'keep-alive': __, ...headers } = got.headers;
      answer.writeHead(got.statusCode ?? 502, headers);
      got.pipe(answer);
      got.on('error', () => answer.destroy());
      answer.on('close', () => resolve('passed'));
    });
    asked.on('error', () => {
      if (!isSent) return resolve('refused');
      if (!answer.headersSent) answer.writeHead(502);
      answer.end();
      resolve('passed');
    });
  });
}
