/** A point in time: milliseconds since 1970-01-01T00:00:00Z. */
export type Instant = number;

export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

/** Clocks differ: what lies no further ahead by somebody's is now. Common practice, no source. */
export const FUTURE = 5 * MINUTE;

export interface Clock {
  now(): Instant;
}

export const systemClock: Clock = { now: () => Date.now() };
