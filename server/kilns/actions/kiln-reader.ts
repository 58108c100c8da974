import type { Instant } from '../../core/clock.ts';
import { may } from '../../core/policy.ts';
import type { Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';

/** For whom a page about kilns is made, as views need it. */
export interface KilnReader {
  /** May change kilns, schedules and settings, and note care. */
  mayEdit: boolean;
  timeZone: string;
  currency: string;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const kilnReader = (visit: Visit): KilnReader => ({
  mayEdit: may(visit.caller.role, 'kilns.edit'),
  timeZone: visit.studio.timeZone,
  currency: visit.studio.currency,
  now: visit.now,
  key: randomSecret(),
});
