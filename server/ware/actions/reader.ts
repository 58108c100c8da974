import type { Instant } from '../../core/clock.ts';
import { may } from '../../core/policy.ts';
import type { Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import type { UnitSystem } from '../../core/units.ts';

/** For whom a page of ware is made, as views need it. */
export interface Reader {
  /** May decide about everybody's ware. */
  technician: boolean;
  units: UnitSystem;
  timeZone: string;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const readerOf = (visit: Visit): Reader => ({
  technician: may(visit.caller.role, 'ware.decide'),
  units: visit.caller.units,
  timeZone: visit.studio.timeZone,
  now: visit.now,
  key: randomSecret(),
});
