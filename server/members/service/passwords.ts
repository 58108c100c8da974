import type { Act } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Services } from '../../core/services.ts';
import { type Caller, endSessionsOf, revokeTokensOf } from '../../core/session.ts';
import { mustBeGoodPassword } from '../forms.ts';
import { endLinksOf } from '../store/links.ts';
import { findPerson, lockPerson, type Person, updatePerson } from '../store/people.ts';
import { endSteps } from '../store/sign-in.ts';
import { countAttempt, forgive } from './attempts.ts';
import { NOT_YOU, warn } from './warn.ts';

/** A new password ends every session, token, reset link and half-done sign-in that the old one had opened, and its owner hears of it. */
export async function replacePassword(
  { tx, now }: Pick<Act, 'tx' | 'now'>,
  personId: number,
  passwordHash: string,
): Promise<void> {
  await updatePerson(tx, personId, { passwordHash });
  await endSessionsOf(tx, personId, now);
  await endSteps(tx, personId);
  await revokeTokensOf(tx, personId, now);
  await endLinksOf(tx, personId, now, { made: false });
  await warn({ tx, now }, personId, `Your password was changed. ${NOT_YOU}`);
}

/** Whoever asks for something that takes more than their session, and the address they ask from. */
export interface Self {
  actor: Caller;
  address: string;
  now: Instant;
}

/**
 * Asks whoever is signed in for their password once more; wrong ones slow down as they do at sign-in. Gives their hash,
 * for who must know that it is the same still. Throws `Invalid` beside `path`.
 */
export async function provePassword(
  { database, passwords }: Pick<Services, 'database' | 'passwords'>,
  { actor, address, now }: Self,
  typed: { password: string; path: string },
): Promise<Person['passwordHash']> {
  const attempt = { email: actor.email, address };
  await countAttempt(database, attempt, now);
  const hash = (await findPerson(database.db, actor.email))?.passwordHash ?? null;
  if (!(await passwords.matches(hash, typed.password)) || hash === null)
    throw new Invalid([{ path: typed.path, message: 'This is not your current password.' }]);
  await forgive(database.db, attempt);
  return hash;
}

/**
 * Needs the current password. A repeated request finds its current password wrong and changes nothing, so that it takes
 * no idempotency key: what is kept with one is a plain hash of all that was typed.
 */
export async function changePassword(
  door: Pick<Services, 'database' | 'passwords'>,
  self: Self,
  entry: { current: string; password: string },
): Promise<void> {
  const { database, passwords } = door;
  const { actor, now } = self;
  mustBeAllowed(actor, 'own.page');
  const before = await provePassword(door, self, { password: entry.current, path: 'current' });
  if (entry.current === entry.password)
    throw new Invalid([{ path: 'password', message: 'This is your password already. Choose a new one.' }]);
  mustBeGoodPassword(entry.password, actor, actor.studio);
  const passwordHash = await passwords.hash(entry.password);
  await database.transaction(async (tx) => {
    const person = await lockPerson(tx, actor);
    if (person?.passwordHash !== before) throw new Conflict('Your password was changed a moment ago.');
    await replacePassword({ tx, now }, actor.id, passwordHash);
    await record({ tx, actor, now }, 'password.changed', `person:${actor.id}`);
  });
}
