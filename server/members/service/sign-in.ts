import type { Act, Actor } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Services } from '../../core/services.ts';
import { endSessionsOf } from '../../core/session.ts';
import { findPerson, lockPerson } from '../store.ts';
import { countAttempt, forgive } from './attempts.ts';

type Door = Pick<Services, 'database' | 'passwords' | 'sessions'>;

// Never says which part was wrong, or that somebody exists or has left.
const WRONG = 'The e-mail address or the password is not right. Check both and try again.';

/** Checks who it is, ends the session this browser had, and gives the cookie of a fresh one. */
export async function signIn(
  { database, passwords, sessions }: Door,
  entry: { email: string; password: string; address: string; oldSession: string | null },
  now: Instant,
): Promise<string> {
  await countAttempt(database, entry, now);
  const found = await findPerson(database.db, entry.email);
  const person = found?.active ? found : null;
  const right = await passwords.matches(person?.passwordHash ?? null, entry.password);
  if (!person || !right) throw new Invalid(WRONG);
  if (entry.oldSession) await sessions.end(entry.oldSession);
  const cookie = await sessions.start(person.id);
  const stillRight = await database.transaction(async (tx) => {
    // A password or standing that changed while we looked has ended the sessions it knew, but not this one.
    const latest = await lockPerson(tx, person);
    if (!latest?.active || latest.passwordHash !== person.passwordHash) return false;
    await forgive(tx, entry);
    await record(
      { tx, actor: { id: person.id, tokenId: null }, now },
      'person.signed-in',
      `person:${person.id}`,
    );
    return true;
  });
  if (stillRight) return cookie;
  await sessions.end(sessions.read(cookie) ?? '');
  throw new Invalid(WRONG);
}

export async function signOut(
  { database, sessions }: Door,
  actor: Actor | null,
  session: string | null,
  now: Instant,
): Promise<void> {
  if (session) await sessions.end(session);
  if (actor) await record({ tx: database.db, actor, now }, 'person.signed-out', `person:${actor.id}`);
}

export async function signOutEverywhere(act: Act): Promise<void> {
  mustBeAllowed(act.actor, 'own.page');
  await endSessionsOf(act.tx, act.actor.id);
  await record(act, 'person.signed-out-everywhere', `person:${act.actor.id}`);
}
