import { z } from 'zod';
import type { Instant } from './clock.ts';
import { count } from './forms.ts';

/** An instant as JSON carries it; throws RangeError for what is no time. */
export const iso = (at: Instant): string => new Date(at).toISOString();

/** The same of what may not have happened yet. */
export const isoOrNull = (at: Instant | null): string | null => (at === null ? null : iso(at));

/** A whole number in an address or a query, from `min` to `max`. */
export const whole = (min: number, max: number) =>
  z
    .string()
    .regex(/^\d{1,10}$/, `A whole number from ${min} to ${max}.`)
    .transform(Number)
    .pipe(count(min, max));
