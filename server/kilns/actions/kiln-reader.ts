import type { Instant } from '../../core/clock.ts';
import { NotFound } from '../../core/errors.ts';
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

/** A number in an address. @throws NotFound where there is none */
export function numberIn(visit: Visit, name = 'number'): number {
  const raw = visit.param(name);
  if (!/^[1-9]\d{0,8}$/.test(raw)) throw new NotFound('There is nothing with this number.');
  return Number(raw);
}
