import type { Instant } from '../../core/clock.ts';
import { may } from '../../core/policy.ts';
import type { Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import type { UnitSystem } from '../../core/units.ts';

/** For whom a page about containers is made, as views need it. */
export interface ContainerReader {
  /** May change, move, sieve back and throw away; others write down what they rinsed. */
  technician: boolean;
  mayPermitDrain: boolean;
  units: UnitSystem;
  timeZone: string;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const containerReader = (visit: Visit): ContainerReader => ({
  technician: may(visit.caller.role, 'containers.edit'),
  mayPermitDrain: may(visit.caller.role, 'containers.permit-drain'),
  units: visit.caller.units,
  timeZone: visit.studio.timeZone,
  now: visit.now,
  key: randomSecret(),
});
