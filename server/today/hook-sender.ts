import { lookup as systemLookup } from 'node:dns';
import { request as overHttp } from 'node:http';
import { request as overHttps } from 'node:https';
import { isIP, type LookupFunction } from 'node:net';
import { hostOf, mayReach } from './hook-address.ts';

/** What came of one try: a status where there was an answer, else why there was none. */
export type Outcome = { status: number } | { error: string };

export interface Sender {
  toPrivate: boolean;
  /** How names become addresses; that of the system if left out. */
  lookup?: LookupFunction;
  timeoutMs?: number;
}

const TIMEOUT_MS = 10_000;
/** So much of an answer is taken, and none of it kept. */
const MOST_BYTES = 2048;

class NotReached extends Error {
  readonly code = 'NOT_REACHED';
}

const WORDS: Record<string, string> = {
  NOT_REACHED: 'its address lies in a private network',
  TIMEOUT: 'no answer within 10 seconds',
  ENOTFOUND: 'its name leads nowhere',
  EAI_AGAIN: 'its name cannot be looked up',
  ECONNREFUSED: 'nobody answers there',
  ECONNRESET: 'it hung up',
  EPIPE: 'it hung up',
  EHOSTUNREACH: 'there is no way to it',
  ENETUNREACH: 'there is no way to it',
  ETIMEDOUT: 'no answer within 10 seconds',
};

/** In our own words: what the other side says may be anything. */
function explain(error: unknown): string {
  const code = String((error as { code?: unknown }).code ?? '');
  if (Object.hasOwn(WORDS, code)) return WORDS[code] as string;
  if (/CERT|TLS|SSL|SELF_SIGNED|UNABLE_TO|HOSTNAME/.test(code)) return 'its certificate is not good';
  if (code.startsWith('HPE_')) return 'what it answered is not HTTP';
  return 'it could not be reached';
}

/** Looks names up and lets only through what may be reached: it is this answer that is connected to, with no second look. */
function guarded({ lookup = systemLookup as LookupFunction, toPrivate }: Sender): LookupFunction {
  return (hostname, options, callback) =>
    lookup(hostname, { ...options, all: true }, (error, found) => {
      if (error) return callback(error, []);
      const addresses = Array.isArray(found) ? found : [{ address: found, family: isIP(found) }];
      const [first] = addresses;
      if (!first || !addresses.every(({ address }) => mayReach(address, { toPrivate })))
        return callback(new NotReached(), []);
      if (options.all) return callback(null, addresses);
      callback(null, first.address, first.family);
    });
}

/** One POST: no redirect is followed, and nothing of the answer is kept but its status. */
export function post(
  url: URL,
  headers: Record<string, string>,
  body: string,
  sender: Sender,
): Promise<Outcome> {
  const host = hostOf(url);
  // Node looks up names only, and connects to an address as it is.
  if (isIP(host) !== 0 && !mayReach(host, sender))
    return Promise.resolve({ error: WORDS.NOT_REACHED as string });
  return new Promise((resolve) => {
    const request = (url.protocol === 'https:' ? overHttps : overHttp)(url, {
      method: 'POST',
      agent: false,
      lookup: guarded(sender),
      headers: { ...headers, 'content-length': Buffer.byteLength(body) },
    });
    let status: number | undefined;
    const settle = (error?: unknown) => {
      clearTimeout(timer);
      request.destroy();
      resolve(status === undefined ? { error: explain(error) } : { status });
    };
    const timer = setTimeout(() => settle({ code: 'TIMEOUT' }), sender.timeoutMs ?? TIMEOUT_MS);
    request.on('error', settle);
    request.on('response', (answer) => {
      status = answer.statusCode;
      let bytes = 0;
      answer.on('data', (chunk: Buffer) => {
        bytes += chunk.length;
        if (bytes > MOST_BYTES) settle();
      });
      answer.on('error', settle);
      answer.on('close', () => settle());
    });
    request.end(body);
  });
}
