import { randomUUID } from 'node:crypto';
import http from 'node:http';
import https from 'node:https';
import { setTimeout as sleep } from 'node:timers/promises';

export interface Sent {
  method: 'GET' | 'POST';
  path: string;
  headers: Record<string, string>;
  body?: string;
}

interface Answer {
  status: number;
  text: string;
  headers: http.IncomingHttpHeaders;
}

/** Where people reach the service; `insecure` takes any certificate. */
export interface Door {
  port: number;
  host?: string;
  insecure?: boolean;
}

/** Requests on connections that are kept open, as a browser or a program sends them. */
export function client({ port, host = `127.0.0.1:${port}`, insecure }: Door) {
  const { request, Agent } = insecure ? https : http;
  const agent = new Agent({ keepAlive: true });
  const servername = host.replace(/:\d+$/, '');
  return {
    send: ({ method, path, headers, body }: Sent): Promise<Answer> =>
      new Promise((resolve, reject) => {
        const asked = request({
          ...{ host: '127.0.0.1', port, method, path, agent },
          headers: {
            host,
            ...headers,
            ...(body !== undefined && { 'content-length': Buffer.byteLength(body) }),
          },
          ...(insecure && { rejectUnauthorized: false, servername }),
        });
        asked.on('response', (answer) => {
          let text = '';
          answer.setEncoding('utf8').on('data', (chunk) => {
            text += chunk;
          });
          answer.on('end', () => resolve({ status: answer.statusCode ?? 0, text, headers: answer.headers }));
          answer.on('error', reject);
        });
        asked.on('error', reject);
        asked.end(body);
      }),
    close: () => agent.destroy(),
  };
}

export interface Busy {
  /** Ends when every request that is under way has its answer. */
  stop(): Promise<Traffic>;
}

export interface Traffic {
  answered: number;
  /** What was not answered with 2xx: which request, and how it went. */
  lost: string[];
  /** The numbers of the stirs that were acknowledged, by bucket, each with the key it was sent with. */
  stirs: Map<string, { number: number; key: string }[]>;
}

/**
 * So many people who stir, read and look, one request after another, until they are told to stop. Every stir has a key
 * of its own.
 */
export function keepBusy(
  door: Door,
  o: { people: { token: string; cookie: string }[]; clients: number; codes: string[]; pauseMs: number },
): Busy {
  const traffic: Traffic = { answered: 0, lost: [], stirs: new Map(o.codes.map((code) => [code, []])) };
  let busy = true;
  const one = async (n: number) => {
    const { send, close } = client(door);
    const { token, cookie } = o.people[n % o.people.length] as (typeof o.people)[number];
    const authorization = `Bearer ${token}`;
    for (let i = n; busy; i++) {
      const code = o.codes[i % o.codes.length] as string;
      const key = randomUUID();
      const rounds: Sent[] = [
        stir(code, token, key),
        { method: 'GET', path: `/api/v1/buckets/${code}`, headers: { authorization } },
        { method: 'GET', path: `/buckets/${code}`, headers: { cookie } },
      ];
      for (const sent of rounds) {
        const what = `${sent.method} ${sent.path}`;
        try {
          const { status, text } = await send(sent);
          traffic.answered++;
          if (status < 200 || status > 299) traffic.lost.push(`${what}: ${status} ${text.slice(0, 200)}`);
          else if (sent.method === 'POST') traffic.stirs.get(code)?.push({ number: numberOf(text), key });
        } catch (error) {
          traffic.lost.push(`${what}: ${(error as Error).message}`);
        }
        await sleep(o.pauseMs);
      }
    }
    close();
  };
  const all = Promise.all(Array.from({ length: o.clients }, (_, n) => one(n)));
  return {
    async stop() {
      busy = false;
      await all;
      return traffic;
    },
  };
}

export const stir = (code: string, token: string, key: string): Sent => ({
  method: 'POST',
  path: `/api/v1/buckets/${code}/stirs`,
  headers: {
    authorization: `Bearer ${token}`,
    'content-type': 'application/json',
    'idempotency-key': key,
  },
  body: '{}',
});

export const numberOf = (answer: string): number =>
  (JSON.parse(answer) as { event: { number: number } }).event.number;

/** Every event of a bucket that the API tells of, the oldest first. */
export async function eventsOf(door: Door, code: string, token: string) {
  const { send, close } = client(door);
  const events: { number: number; kind: string }[] = [];
  for (let before = ''; ; ) {
    const path = `/api/v1/buckets/${code}/events?limit=200${before}`;
    const { text } = await send({ method: 'GET', path, headers: { authorization: `Bearer ${token}` } });
    const page = JSON.parse(text) as { events: typeof events; next: number | string | null };
    events.push(...page.events);
    if (page.next === null) break;
    before = `&before=${page.next}`;
  }
  close();
  return events.sort((a, b) => a.number - b.number);
}
