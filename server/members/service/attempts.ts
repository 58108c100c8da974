import { DAY, type Instant, MINUTE } from '../../core/clock.ts';
import type { Database, Executor } from '../../core/database.ts';
import { TooMany } from '../../core/errors.ts';
import { network, PIN_WAITS, waitSeconds, waitWords } from '../slow-down.ts';
import {
  type Attempt,
  clearFailures,
  clearFailuresOf,
  countFailures,
  deleteFailuresUntil,
  insertFailure,
  lockTries,
} from '../store.ts';

const WINDOW = 15 * MINUTE;
const FREE_FOR_ACCOUNT = 5;
/** A whole studio may share one address, and a class all forgets its passwords on the same evening. */
const FREE_FOR_ADDRESS = 50;

/**
 * Counts a try of a password before it is looked at, so that many at once cannot slip through together;
 * `forgive` takes it back when the password was right. Throws `TooMany` where a wait is still running,
 * and such a try does not count.
 */
export async function countAttempt(
  database: Database,
  { email, address }: Attempt,
  now: Instant,
): Promise<void> {
  const from = network(address);
  await database.transaction(async (tx) => {
    await lockTries(tx, `sign-in ${from}`);
    const since = now - WINDOW;
    const account = await countFailures(tx, { email, address: from }, since);
    const all = await countFailures(tx, { email: null, address: from }, since);
    const until = Math.max(
      (account.latest ?? 0) + 1000 * waitSeconds(account.failures, FREE_FOR_ACCOUNT),
      (all.latest ?? 0) + 1000 * waitSeconds(all.failures, FREE_FOR_ADDRESS),
    );
    const seconds = Math.ceil((until - now) / 1000);
    if (seconds > 0)
      throw new TooMany(`Too many wrong passwords. Wait ${waitWords(seconds)}, then try again.`, seconds);
    await insertFailure(tx, { email, address: from, at: now });
  });
}

/** The password was right: what was mistyped before it no longer counts. */
export const forgive = (db: Executor, { email, address }: Attempt): Promise<void> =>
  clearFailures(db, { email, address: network(address) });

const PIN_WINDOW = DAY;
const FREE_FOR_PERSON = 3;
/** Several people mistype at one tablet on the same day. */
const FREE_FOR_TABLET = 10;

interface PinTry {
  personId: number;
  deviceId: number;
}

/** No e-mail address has a space in it, and no network begins so: these never meet those of a sign-in. */
const PIN = 'pin ';
const pinOf = (personId: number) => `${PIN}${personId}`;
const tablet = (deviceId: number) => `tablet ${deviceId}`;

/** Counts a try of a person's PIN, before it is looked at: for the person at every tablet, for the tablet for everybody. */
export async function countPinTry(
  database: Database,
  { personId, deviceId }: PinTry,
  now: Instant,
): Promise<void> {
  const [email, address] = [pinOf(personId), tablet(deviceId)];
  await database.transaction(async (tx) => {
    // Always in this order, so that no two wait for each other.
    await lockTries(tx, email);
    await lockTries(tx, address);
    const since = now - PIN_WINDOW;
    const person = await countFailures(tx, { email, address: null }, since);
    const all = await countFailures(tx, { email: null, address }, since);
    const until = Math.max(
      (person.latest ?? 0) + 1000 * waitSeconds(person.failures, FREE_FOR_PERSON, PIN_WAITS),
      (all.latest ?? 0) + 1000 * waitSeconds(all.failures, FREE_FOR_TABLET, PIN_WAITS),
    );
    const seconds = Math.ceil((until - now) / 1000);
    if (seconds > 0)
      throw new TooMany(`Too many wrong PINs. Wait ${waitWords(seconds)}, or sign in instead.`, seconds);
    await insertFailure(tx, { email, address, at: now });
  });
}

/** The PIN was right. */
export const forgivePin = (db: Executor, personId: number): Promise<void> =>
  clearFailuresOf(db, pinOf(personId));

/** Removes the failures that no longer slow anybody down. */
export async function forgetOldFailures(db: Executor, now: Instant): Promise<void> {
  await deleteFailuresUntil(db, now - WINDOW, { notBeginning: PIN });
  await deleteFailuresUntil(db, now - PIN_WINDOW, { beginning: PIN });
}
