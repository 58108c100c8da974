import { DAY, type Instant, MINUTE } from '../../core/clock.ts';
import type { Database, Executor } from '../../core/database.ts';
import { TooMany } from '../../core/errors.ts';
import { network, PIN_WAITS, type Waits, waitSeconds, waitWords } from '../slow-down.ts';
import {
  type Attempt,
  clearFailures,
  clearFailuresOf,
  countFailures,
  deleteFailuresUntil,
  deleteStepsUntil,
  insertFailure,
  lockTries,
} from '../store/sign-in.ts';

const WINDOW = 15 * MINUTE;
const FREE_FOR_ACCOUNT = 5;
/** A whole studio may share one address, and a class all forgets its passwords on the same evening. */
const FREE_FOR_ADDRESS = 50;

/** Failures that slow a try down: how many are free, and how long the waits are after those. */
interface Brake {
  of: Parameters<typeof countFailures>[1];
  free: number;
  waits?: Waits;
}

/**
 * Counts a try before it is looked at, so that many at once cannot slip through together. Throws `TooMany` where a wait
 * is still running, and such a try does not count.
 */
async function countTry(
  database: Database,
  { locks, window, brakes, failures }: Tries,
  now: Instant,
  words: (wait: string) => string,
): Promise<void> {
  await database.transaction(async (tx) => {
    // Always in this order, so that no two wait for each other.
    for (const lock of locks) await lockTries(tx, lock);
    let until = 0;
    for (const { of, free, waits } of brakes) {
      const { failures: count, latest } = await countFailures(tx, of, now - window);
      until = Math.max(until, (latest ?? 0) + 1000 * waitSeconds(count, free, waits));
    }
    const seconds = Math.ceil((until - now) / 1000);
    if (seconds > 0) throw new TooMany(words(waitWords(seconds)), seconds);
    for (const failure of failures) await insertFailure(tx, { ...failure, at: now });
  });
}

interface Tries {
  locks: string[];
  /** Milliseconds for which a failure counts. */
  window: number;
  brakes: Brake[];
  /** What is noted of this try until it is forgiven. */
  failures: Attempt[];
}

function atAddress({ email, address }: Attempt): Tries {
  const from = network(address);
  return {
    locks: [`sign-in ${from}`],
    window: WINDOW,
    brakes: [
      { of: { email, address: from }, free: FREE_FOR_ACCOUNT },
      { of: { email: null, address: from }, free: FREE_FOR_ADDRESS },
    ],
    failures: [{ email, address: from }],
  };
}

/** Counts a try of a password; `forgive` takes it back when the password was right. Throws `TooMany`. */
export const countAttempt = (database: Database, attempt: Attempt, now: Instant): Promise<void> =>
  countTry(
    database,
    atAddress(attempt),
    now,
    (wait) => `Too many wrong passwords. Wait ${wait}, then try again.`,
  );

/** The password was right: what was mistyped before it no longer counts. */
export const forgive = (db: Executor, { email, address }: Attempt): Promise<void> =>
  clearFailures(db, { email, address: network(address) });

/** Of one person's codes so many may be wrong within a quarter of an hour, wherever they are typed. */
const FREE_CODES = 10;
const codesOf = (personId: number) => `code ${personId}`;

/**
 * Counts a try of a second factor's code, for account and address as one of a password. Six digits are few, and whoever
 * types them knows the password already: they also count for the person wherever they are typed. A recovery code does
 * not wait for that, since nobody guesses it: so nobody keeps a person out. Throws `TooMany`.
 */
export async function countCodeTry(
  database: Database,
  { personId, isDigits, ...attempt }: Attempt & { personId: number; isDigits: boolean },
  now: Instant,
): Promise<void> {
  const tries = atAddress(attempt);
  if (isDigits) {
    const anywhere = { email: codesOf(personId), address: 'anywhere' };
    tries.locks.push(anywhere.email);
    tries.brakes.push({ of: anywhere, free: FREE_CODES });
    tries.failures.push(anywhere);
  }
  await countTry(
    database,
    tries,
    now,
    (wait) => `Too many wrong codes. Wait ${wait}, then type the code that your phone shows by then.`,
  );
}

/** The code was right. */
export async function forgiveCodes(db: Executor, attempt: Attempt, personId: number): Promise<void> {
  await forgive(db, attempt);
  await clearFailuresOf(db, codesOf(personId));
}

const PIN_WINDOW = DAY;
const FREE_FOR_PERSON = 3;
/** Several people mistype at one tablet on the same day. */
const FREE_FOR_TABLET = 10;

interface PinTry {
  personId: number;
  deviceId: number;
}

/** No e-mail address has a space in it, and no network is called so: these never meet those of a sign-in. */
const PIN = 'pin ';
const pinOf = (personId: number) => `${PIN}${personId}`;
const tablet = (deviceId: number) => `tablet ${deviceId}`;

/** Counts a try of a person's PIN: for the person at every tablet, for the tablet for everybody. Throws `TooMany`. */
export async function countPinTry(
  database: Database,
  { personId, deviceId }: PinTry,
  now: Instant,
): Promise<void> {
  const [email, address] = [pinOf(personId), tablet(deviceId)];
  const tries = {
    locks: [email, address],
    window: PIN_WINDOW,
    brakes: [
      { of: { email, address: null }, free: FREE_FOR_PERSON, waits: PIN_WAITS },
      { of: { email: null, address }, free: FREE_FOR_TABLET, waits: PIN_WAITS },
    ],
    failures: [{ email, address }],
  };
  await countTry(database, tries, now, (wait) => `Too many wrong PINs. Wait ${wait}, or sign in instead.`);
}

/** The PIN was right. */
export const forgivePin = (db: Executor, personId: number): Promise<void> =>
  clearFailuresOf(db, pinOf(personId));

/** Removes the failures that no longer slow anybody down, and the sign-ins that nobody finished. */
export async function forgetOldFailures(db: Executor, now: Instant): Promise<void> {
  await deleteFailuresUntil(db, now - WINDOW, { notBeginning: PIN });
  await deleteFailuresUntil(db, now - PIN_WINDOW, { beginning: PIN });
  await deleteStepsUntil(db, now);
}
