import { z } from 'zod';
import type { Instant } from './clock.ts';
import { count } from './forms.ts';

/** An instant as JSON carries it; throws RangeError for what is no time. */
export const iso = (at: Instant): string => new Date(at).toISOString();

/** The same of what may not have happened yet. */
export const isoOrNull = (at: Instant | null): string | null => (at === null ? null : iso(at));

/** A value as JSON with its keys sorted, the same for the same value: Postgres has an order of its own. */
export const sortedJson = (value: unknown): string =>
  JSON.stringify(value, (_, inner: unknown) =>
    inner !== null && typeof inner === 'object' && !Array.isArray(inner)
      ? Object.fromEntries(Object.entries(inner).sort(([a], [b]) => (a < b ? -1 : 1)))
      : inner,
  );

/** A whole number in an address or a query, from `min` to `max`. */
export const whole = (min: number, max: number) =>
  z
    .string()
    .regex(/^\d{1,10}$/, `A whole number from ${min} to ${max}.`)
    .transform(Number)
    .pipe(count(min, max));
