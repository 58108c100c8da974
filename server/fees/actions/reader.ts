import type { Instant } from '../../core/clock.ts';
import type { Typed } from '../../core/forms.ts';
import { may, type Permission } from '../../core/policy.ts';
import type { FormState, Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import type { UnitSystem } from '../../core/units.ts';

/** For whom a page about fees is made, as views need it. */
export interface FeeReader {
  id: number;
  currency: string;
  timeZone: string;
  units: UnitSystem;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
  may(permission: Permission): boolean;
}

export const feeReader = (visit: Visit): FeeReader => ({
  id: visit.caller.id,
  currency: visit.studio.currency,
  timeZone: visit.studio.timeZone,
  units: visit.caller.units,
  now: visit.now,
  key: randomSecret(),
  may: (permission) => may(visit.caller.role, permission),
});

/** The fingerprint of what a form showed, as it came back; null where none did. */
export const sentBack = (typed: Typed): string | null => [typed.seen].flat().at(-1) ?? null;

/** The fingerprint a form carries: once told that somebody changed it, its person has seen how it is `now`. */
export const seenIn = (form: FormState | undefined, now: string): string =>
  !form || form.errors.some(({ path }) => path === '') ? now : (sentBack(form.typed) ?? now);
