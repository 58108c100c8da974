import type { Instant } from '../../server/core/clock.ts';

/** A region is never older than this, stream or not, s: words such as "5 min ago" grow old by themselves. */
const EVERY = 60;

interface Region {
  /** The word of a topic that the page watches. */
  on: string;
  /** What answers with the region. */
  href: string;
  now?: Instant;
  /** When time alone changes what it says, next. */
  until?: Instant | null;
}

/**
 * Attributes of a region that asks for itself anew when what it shows has changed, as its time comes, and now and then.
 * A page with one watches its topic: see `watching`. Whoever types in it is left alone: see `wareboard.js`.
 */
export function liveRegion({ on, href, now = 0, until = null }: Region) {
  const left = until === null ? 0 : Math.ceil((until - now) / 1000);
  const soon = left > 0 && left < EVERY ? `, load delay:${left + 1}s` : '';
  return {
    'data-live': on,
    'hx-get': href,
    'hx-trigger': `changed-${on} from:#live, every ${EVERY}s${soon}`,
    'hx-target': 'this',
    'hx-swap': 'outerMorph',
  };
}
