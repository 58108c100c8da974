import type { Instant } from '../../core/clock.ts';
import { may } from '../../core/policy.ts';
import type { Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { toWallTime } from '../../core/wall-time.ts';

/** For whom a page of the safety log is made, as views need it. */
export interface LogReader {
  /** Keeps the log: reads all of it, follows up, closes, prints the register. */
  keeps: boolean;
  mayEditDuties: boolean;
  mayChangeSettings: boolean;
  timeZone: string;
  now: Instant;
  /** The studio's day, YYYY-MM-DD. */
  today: string;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const logReader = (visit: Visit): LogReader => ({
  keeps: may(visit.caller.role, 'log.keep'),
  mayEditDuties: may(visit.caller.role, 'duties.edit'),
  mayChangeSettings: may(visit.caller.role, 'safety.settings'),
  timeZone: visit.studio.timeZone,
  now: visit.now,
  today: toWallTime(visit.now, visit.studio.timeZone).slice(0, 10),
  key: randomSecret(),
});
