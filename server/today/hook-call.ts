import { createHash, createHmac } from 'node:crypto';
import { HOUR, type Instant, MINUTE } from '../core/clock.ts';

// What another system of the studio is told of a change, how it is signed, and when it is tried again.

/** What a hook may be told of. */
export const WHATS = ['bucket', 'load', 'kiln', 'piece', 'notice', 'duty', 'entry'] as const;
export type What = (typeof WHATS)[number];

/** `test` is sent by hand; `everything`: too long ago to say what changed, so it is best to look at all of it. */
export type CallKind = What | 'test' | 'everything';

export interface Call {
  /** Of the call in the database; what is sent hides it. */
  callId: number;
  what: CallKind;
  /** A bucket's or kiln's code, the number of the others; '' of a test and of everything. */
  subject: string;
  changedAt: Instant;
}

/** Where the subject of a call is found: a path of the API, or of a page where it has none. */
export function hrefOf(what: CallKind, subject: string): string {
  const at = encodeURIComponent(subject);
  switch (what) {
    case 'bucket':
      return `/api/v1/buckets/${at}`;
    case 'load':
      return `/api/v1/loads/${at}`;
    case 'kiln':
      return `/api/v1/kilns/${at}`;
    case 'piece':
      return `/api/v1/pieces/${at}`;
    case 'notice':
      return `/api/v1/notices/${at}`;
    case 'entry':
      return `/api/v1/safety-log/${at}`;
    case 'duty':
      return '/safety/duties';
    case 'test':
    case 'everything':
      return '/api/v1/openapi.json';
  }
}

/** The same for every try of one call, different for every other call of any hook, and telling nothing. */
export const sentId = (secret: string, callId: number): string =>
  `call_${createHmac('sha256', secret).update(`id ${callId}`).digest('base64url').slice(0, 24)}`;

/** What is sent: a signal without a word about people. Whoever wants to know more asks the API, with a token. */
export const sentBody = (secret: string, { callId, what, subject, changedAt }: Call): string =>
  JSON.stringify({
    id: sentId(secret, callId),
    what,
    subject,
    changedAt: new Date(changedAt).toISOString(),
    href: hrefOf(what, subject),
  });

/**
 * The value of the header `webhook-signature`, by the Standard Webhooks specification, 1.0: 'v1,' and the base64 of the
 * HMAC-SHA256 over id, timestamp and body with dots between.
 * @param secret as that specification writes it: 'whsec_' and the base64 of the key
 * @param timestamp seconds since 1970
 */
export function signature(secret: string, id: string, timestamp: number, body: string): string {
  const key = Buffer.from(secret.replace(/^whsec_/, ''), 'base64');
  return `v1,${createHmac('sha256', key).update(`${id}.${timestamp}.${body}`).digest('base64')}`;
}

/** After the first try, the second …; common practice, no source. The last one is about thirty hours after the first. */
const WAITS = [MINUTE, 5 * MINUTE, 30 * MINUTE, 2 * HOUR, 5 * HOUR, 10 * HOUR, 13 * HOUR];
export const MOST_TRIES = WAITS.length + 1;

/**
 * When a call is tried again after so many tries; null: it is given up. A tenth earlier or later by the hash of its id,
 * so that what failed together does not come back together.
 */
export function triedAgainAt(callId: number, tries: number, now: Instant): Instant | null {
  const wait = WAITS[tries - 1];
  if (wait === undefined) return null;
  const share = createHash('sha256').update(`${callId} ${tries}`).digest().readUInt16BE() / 0xffff;
  return Math.round(now + wait * (0.9 + 0.2 * share));
}
