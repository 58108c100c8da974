import { once } from 'node:events';
import { connect, type Socket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';

/** A request as it goes over the wire. */
export function request(method: string, path: string, headers: Record<string, string>, body = ''): Buffer {
  const lines = Object.entries({
    host: '127.0.0.1',
    ...headers,
    ...(body && { 'content-type': 'application/json', 'content-length': String(Buffer.byteLength(body)) }),
  }).map(([name, value]) => `${name}: ${value}\r\n`);
  return Buffer.from(`${method} ${path} HTTP/1.1\r\n${lines.join('')}\r\n${body}`);
}

/** One kept-alive connection that sends one request at a time; node:http would cost more than the floor. */
class Client {
  readonly #socket: Socket;
  #chunks: Buffer[] = [];
  #awaited: { resolve: (answer: Buffer) => void; reject: (error: Error) => void } | null = null;

  private constructor(socket: Socket) {
    this.#socket = socket;
    socket.setNoDelay(true);
    socket.setTimeout(30_000, () => socket.destroy(new Error('No answer within 30 s.')));
    socket.on('data', (chunk) => this.#take(chunk));
    for (const event of ['error', 'close'])
      socket.on(event, (error) =>
        this.#awaited?.reject(error instanceof Error ? error : new Error('The server hung up.')),
      );
  }

  static async open(port: number): Promise<Client> {
    const socket = connect(port, '127.0.0.1');
    await once(socket, 'connect');
    return new Client(socket);
  }

  send(bytes: Buffer): Promise<Buffer> {
    return new Promise((resolve, reject) => {
      this.#awaited = { resolve, reject };
      this.#socket.write(bytes);
    });
  }

  close(): void {
    this.#awaited = null;
    this.#socket.destroy();
  }

  #take(chunk: Buffer): void {
    this.#chunks.push(chunk);
    const answer = this.#chunks.length === 1 ? chunk : Buffer.concat(this.#chunks);
    const headEnd = answer.indexOf('\r\n\r\n');
    if (headEnd < 0) return;
    const length = /\r\ncontent-length: (\d+)/i.exec(answer.toString('latin1', 0, headEnd))?.[1];
    if (length === undefined) this.#awaited?.reject(new Error('An answer without Content-Length.'));
    if (answer.length < headEnd + 4 + Number(length)) return;
    this.#chunks = [];
    this.#awaited?.resolve(answer);
  }
}

export interface Target {
  port: number;
  /** The nth request of a client. */
  next(client: number, n: number): Buffer;
}

export interface Firing {
  clients: number;
  /** For so long, in milliseconds; or so many requests in all. */
  forMs?: number;
  requests?: number;
  /**
   * Each client sends one every so many milliseconds, whether or not the one before was quick; what it takes counts from
   * when it was to be sent. Without it, the next is sent when the one before is answered.
   */
  everyMs?: number;
}

/** Sends one request after another on each connection; the milliseconds that each took. Throws if one is refused. */
export async function fire(target: Target, o: Firing): Promise<number[]> {
  const took: number[] = [];
  const { everyMs, forMs = Number.POSITIVE_INFINITY, requests = Number.POSITIVE_INFINITY } = o;
  const clients = await Promise.all(Array.from({ length: o.clients }, () => Client.open(target.port)));
  const first = performance.now();
  const until = first + forMs;
  let sent = 0;
  try {
    await Promise.all(
      clients.map(async (client, i) => {
        // Not all of them in the same moment.
        const offset = ((everyMs ?? 0) * i) / o.clients;
        for (let n = 0; ; n++) {
          const due = first + offset + n * (everyMs ?? 0);
          if (everyMs !== undefined && due > performance.now()) await sleep(due - performance.now());
          const begun = everyMs === undefined ? performance.now() : due;
          if (begun >= until || sent++ >= requests) break;
          const answer = await client.send(target.next(i, n));
          const ended = performance.now();
          mustBeSuccess(answer);
          took.push(ended - begun);
        }
      }),
    );
  } finally {
    for (const client of clients) client.close();
  }
  return took;
}

/** The bytes of one answer's body. */
export async function sizeOf(target: Target): Promise<number> {
  const client = await Client.open(target.port);
  try {
    const answer = await client.send(target.next(0, 0));
    mustBeSuccess(answer);
    return answer.length - answer.indexOf('\r\n\r\n') - 4;
  } finally {
    client.close();
  }
}

function mustBeSuccess(answer: Buffer): void {
  // "HTTP/1.1 2.."
  if (answer[9] !== 0x32) throw new Error(`Refused: ${answer.toString('utf8').slice(0, 2000)}`);
}
