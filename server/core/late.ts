import { createHash } from 'node:crypto';
import type { FastifyRequest } from 'fastify';
import { z } from 'zod';
import { DAY, type Instant } from './clock.ts';
import { Invalid, Malformed, NotAsMeant } from './errors.ts';
import { flag, instant, text } from './forms.ts';

/** What the browser says of a form that it kept while there was no network. */
const lateForm = z.strictObject({ madeAt: instant(), as: text(40), toldHeld: flag() });

export interface Late {
  /** When it was made. */
  madeAt: Instant;
  /** Whose it is: a `personMark`. */
  as: string;
  /** Whoever made it was told that the thing was out of use by then, and says that it was done all the same. */
  toldHeld: boolean;
}

/** Idempotency keys are kept for 30 days: a retry after that could record twice. */
const KEPT_AT_MOST = 25 * DAY;

/** Tells one person from another in a browser's own store, where their id has no place. */
export const personMark = (id: number): string =>
  createHash('sha256').update(`person ${id}`).digest('base64url').slice(0, 16);

/** What came late of a request, null of most. Throws `Malformed` where it cannot be read. */
export function lateOf({ headers }: Pick<FastifyRequest, 'headers'>): Late | null {
  const sent = headers['wareboard-late'];
  if (sent === undefined) return null;
  const read = lateForm.safeParse(asJson(String(sent)));
  if (!read.success) throw new Malformed('When this was made, and by whom, could not be read.');
  return read.data;
}

function asJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

/** Nothing that one person made is recorded as another's. Throws `NotAsMeant`. */
export function mustBeAsMeant(request: FastifyRequest, callerId: number): void {
  const late = lateOf(request);
  if (late !== null && late.as !== personMark(callerId))
    throw new NotAsMeant('Somebody else made this. It is recorded once they are signed in.');
}

/** When what came late happened. Throws `Invalid` where that is too long ago to tell a retry from a second act. */
export function whenMade({ madeAt }: Late, now: Instant): Instant {
  if (madeAt >= now - KEPT_AT_MOST) return madeAt;
  throw new Invalid([
    {
      path: 'happenedAt',
      message: 'This waited for more than 25 days. See whether it is recorded, and record it by hand if not.',
    },
  ]);
}
