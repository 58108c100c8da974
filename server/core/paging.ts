import { createHash } from 'node:crypto';
import { z } from 'zod';
import { Invalid } from './errors.ts';
import { whole } from './json.ts';

// One way through every list of the API that grows. It goes from the newest back, by the number of the last row that was
// seen: what is written meanwhile is newer than all that is still to come, so no row comes twice and none is left out.

const LARGEST = 2 ** 31 - 1;

/** The part of a query that asks for a page: at most so many rows, and usually. */
export const pageQuery = ({ most, usual }: { most: number; usual: number }) => ({
  limit: whole(1, most)
    .default(usual)
    .meta({ description: `Rows, at most ${most}` }),
  after: z
    .string()
    .regex(/^[\w-]{1,64}$/, 'What the header Link of the page before says.')
    .optional()
    .meta({
      description: 'Where the page before this one ended: from its header Link, which is the whole address',
    }),
  before: whole(1, LARGEST)
    .optional()
    .meta({ description: 'The same as the number in `next` of the page before' }),
});

export interface Page {
  limit: number;
  before?: number | undefined;
}

/** Of one list, so that what another one gave is not taken for a place in this one. */
const mark = (path: string): string => createHash('sha256').update(path).digest('base64url').slice(0, 8);

const toCursor = (path: string, before: number): string =>
  Buffer.from(`${mark(path)}${before}`).toString('base64url');

function fromCursor(path: string, cursor: string): number {
  const text = Buffer.from(cursor, 'base64url').toString('latin1');
  const before = Number(/^\d{1,10}$/.exec(text.slice(8))?.[0]);
  if (text.slice(0, 8) !== mark(path) || !(before >= 1 && before <= LARGEST))
    throw new Invalid([
      {
        path: 'after',
        message: 'Not from a page of this list: take it from the header Link of the one before.',
      },
    ]);
  return before;
}

/**
 * The page that is asked for, wherever its place is said.
 * @throws Invalid for a place that no page of this list gave
 */
export function askedPage<Q extends Page & { after?: string | undefined }>(
  url: string,
  { after, ...query }: Q,
): Omit<Q, 'after'> {
  if (after === undefined) return query;
  if (query.before !== undefined)
    throw new Invalid([{ path: 'after', message: 'Send after or before, not both.' }]);
  return { ...query, before: fromCursor(pathOf(url), after) };
}

/** The header Link of a page (RFC 8288) with the address of the next one; null: it was the last. */
export function nextLink(url: string, next: number | null): string | null {
  if (next === null) return null;
  const path = pathOf(url);
  const query = new URLSearchParams(url.slice(path.length + 1));
  query.delete('before');
  query.set('after', toCursor(path, next));
  return `<${path}?${query}>; rel="next"`;
}

const pathOf = (url: string): string => url.split('?', 1)[0] ?? url;
