import { type Instant, MINUTE } from '../../core/clock.ts';
import type { Database, Executor } from '../../core/database.ts';
import { TooMany } from '../../core/errors.ts';
import { network, waitSeconds } from '../slow-down.ts';
import {
  type Attempt,
  clearFailures,
  countFailures,
  deleteFailuresUntil,
  insertFailure,
  lockAddress,
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
    await lockAddress(tx, from);
    const since = now - WINDOW;
    const account = await countFailures(tx, { email, address: from }, since);
    const all = await countFailures(tx, { email: null, address: from }, since);
    const until = Math.max(
      (account.latest ?? 0) + 1000 * waitSeconds(account.failures, FREE_FOR_ACCOUNT),
      (all.latest ?? 0) + 1000 * waitSeconds(all.failures, FREE_FOR_ADDRESS),
    );
    const seconds = Math.ceil((until - now) / 1000);
    if (seconds > 0) {
      const wait = seconds === 1 ? '1 second' : `${seconds} seconds`;
      throw new TooMany(`Too many wrong passwords. Wait ${wait}, then try again.`, seconds);
    }
    await insertFailure(tx, { email, address: from, at: now });
  });
}

/** The password was right: what was mistyped before it no longer counts. */
export const forgive = (db: Executor, { email, address }: Attempt): Promise<void> =>
  clearFailures(db, { email, address: network(address) });

/** Removes the failures that no longer slow anybody down. */
export const forgetOldFailures = (db: Executor, now: Instant): Promise<void> =>
  deleteFailuresUntil(db, now - WINDOW);
