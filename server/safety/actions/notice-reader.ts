import type { Instant } from '../../core/clock.ts';
import { may } from '../../core/policy.ts';
import type { Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';

/** For whom a page about notices is made, as views need it. */
export interface NoticeReader {
  mayPost: boolean;
  timeZone: string;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const noticeReader = (visit: Visit): NoticeReader => ({
  mayPost: may(visit.caller.role, 'notices.post'),
  timeZone: visit.studio.timeZone,
  now: visit.now,
  key: randomSecret(),
});
