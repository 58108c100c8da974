import { Secret, TOTP } from 'otpauth';
import type { Instant } from '../core/clock.ts';

// Codes that a phone counts from a key and the time, by RFC 6238 in the form that every such app knows: SHA-1, six
// digits, a new code every 30 seconds. The arithmetic is otpauth's.

const DIGITS = 6;
const STEP_SECONDS = 30;
/** Clocks of phones go wrong by seconds: RFC 6238, 5.2, lets one step pass on either side. */
const DRIFT_STEPS = 1;
/** RFC 4226, 4: 160 bits are recommended. */
const KEY_BYTES = 20;

const counter = (key: string, more: { issuer?: string; label?: string } = {}): TOTP =>
  new TOTP({
    ...more,
    secret: Secret.fromBase32(key),
    algorithm: 'SHA1',
    digits: DIGITS,
    period: STEP_SECONDS,
  });

/** A fresh key in base 32, 32 letters and digits. */
export const newKey = (): string => new Secret({ size: KEY_BYTES }).base32;

/** The key as people copy it by eye: groups of four. */
export const keyInGroups = (key: string): string => key.replace(/.{4}(?=.)/g, '$& ');

/**
 * What an app reads from the QR code: whose codes they are, and the key. The issuer stands in it twice, and a colon in
 * it would part it from the person.
 */
export const keyAddress = (key: string, { studio, email }: { studio: string; email: string }): string =>
  counter(key, { issuer: studio.replaceAll(':', ' '), label: email.replaceAll(':', ' ') }).toString();

/** The digits of a code, however they were parted; null: this is no code of six digits. */
export function sixDigits(typed: string): string | null {
  const digits = typed.replace(/[\s-]/g, '');
  return /^\d{6}$/.test(digits) ? digits : null;
}

/**
 * The time step (30 s since 1970) whose code this is, at most one step off, and after the last one that was taken; null:
 * the code is wrong, too old, or was taken before.
 */
export function stepOfCode(key: string, digits: string, now: Instant, lastStep: number): number | null {
  const off = counter(key).validate({ token: digits, timestamp: now, window: DRIFT_STEPS });
  if (off === null) return null;
  const step = Math.floor(now / (STEP_SECONDS * 1000)) + off;
  return step > lastStep ? step : null;
}
