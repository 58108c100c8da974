import type { Act } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Services } from '../../core/services.ts';
import { type Caller, endSessionsOf, revokeTokensOf } from '../../core/session.ts';
import { mustBeGoodPassword } from '../forms.ts';
import { endLinksOf, findPerson, lockPerson, updatePerson } from '../store.ts';
import { countAttempt, forgive } from './attempts.ts';

/** A new password ends every session, token and reset link that the old one had opened. */
export async function replacePassword(
  { tx, now }: Pick<Act, 'tx' | 'now'>,
  personId: number,
  passwordHash: string,
): Promise<void> {
  await updatePerson(tx, personId, { passwordHash });
  await endSessionsOf(tx, personId);
  await revokeTokensOf(tx, personId, now);
  await endLinksOf(tx, personId, now, { made: false });
}

/**
 * Needs the current password; wrong ones slow down as they do at sign-in. A repeated request finds its
 * current password wrong and changes nothing, so that it takes no idempotency key: what is kept with one
 * is a plain hash of all that was typed.
 */
export async function changePassword(
  { database, passwords }: Pick<Services, 'database' | 'passwords'>,
  { actor, now }: { actor: Caller; now: number },
  entry: { current: string; password: string; address: string },
): Promise<void> {
  mustBeAllowed(actor, 'own.page');
  const attempt = { email: actor.email, address: entry.address };
  await countAttempt(database, attempt, now);
  const before = (await findPerson(database.db, actor.email))?.passwordHash ?? null;
  if (!(await passwords.matches(before, entry.current)))
    throw new Invalid([{ path: 'current', message: 'This is not your current password.' }]);
  await forgive(database.db, attempt);
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
