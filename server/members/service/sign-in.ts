import type { Act, Actor } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { type Instant, MINUTE } from '../../core/clock.ts';
import type { Tx } from '../../core/database.ts';
import { Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { randomSecret, secretHash } from '../../core/secrets.ts';
import type { Services } from '../../core/services.ts';
import { endSessionsOf } from '../../core/session.ts';
import { sixDigits } from '../one-time-code.ts';
import { findPerson, lockPerson, type Person } from '../store/people.ts';
import { hasFactor } from '../store/second-factors.ts';
import { type Attempt, deleteStep, findStep, insertStep, lockStep, updateStep } from '../store/sign-in.ts';
import { countAttempt, countCodeTry, forgiveCodes } from './attempts.ts';
import { lookAtCode, takeCode, WRONG_CODE } from './second-factor.ts';
import { warn } from './warn.ts';

type Door = Pick<Services, 'database' | 'passwords' | 'sessions'>;

// Never says which part was wrong, or that somebody exists or has left.
const WRONG = 'The e-mail address or the password is not right. Check both and try again.';

const CODES_REFUSED =
  'Somebody typed your password and then five wrong codes. If that was not you, change your password now: it is known.';

/** So long a code is asked for after the password, ms. */
export const STEP_LASTS = 5 * MINUTE;
const TRIES = 5;

/** The cookie of a fresh session, or what the browser keeps while a code is asked for. */
export type SignedIn = { session: string } | { step: string };

/**
 * Checks who it is. With a second factor there is no session yet: the password has only opened the page that asks for
 * a code, and stays counted as a failure until that code is right. Throws `Invalid`.
 */
export async function signIn(
  door: Door,
  entry: Attempt & { password: string; oldSession: string | null },
  now: Instant,
): Promise<SignedIn> {
  const { database, passwords } = door;
  await countAttempt(database, entry, now);
  const found = await findPerson(database.db, entry.email);
  const person = found?.active ? found : null;
  const right = await passwords.matches(person?.passwordHash ?? null, entry.password);
  if (!person || !right) throw new Invalid(WRONG);
  if (!(await hasFactor(database.db, person.id)))
    return { session: await open(door, person, { ...entry, by: 'password' }, now) };
  const step = await database.transaction(async (tx) =>
    (await isUnchanged(tx, person)) ? beginStep(tx, person.id, now) : null,
  );
  if (step === null) throw new Invalid(WRONG);
  return { step };
}

/** Asks whoever opened a link for a new password for their code as well, where they have a factor; null: they have none. */
export const askForCode = (
  { database }: Pick<Door, 'database'>,
  personId: number,
  now: Instant,
): Promise<string | null> =>
  database.transaction(async (tx) => {
    const person = await lockPerson(tx, { id: personId });
    return person?.active && (await hasFactor(tx, personId)) ? beginStep(tx, personId, now) : null;
  });

async function beginStep(tx: Tx, personId: number, now: Instant): Promise<string> {
  const secret = randomSecret();
  await insertStep(tx, { hash: secretHash(secret), personId, expiresAt: now + STEP_LASTS });
  return secret;
}

/** Whether a code is still asked for in a browser that keeps this. */
export const isStepOpen = async (
  { database }: Pick<Door, 'database'>,
  step: string,
  now: Instant,
): Promise<boolean> => (await findStep(database.db, secretHash(step), now)) !== null;

/**
 * The second half of a sign-in. A wrong code throws `Invalid` beside `code`; null: after five of them, after five
 * minutes, or once the password was changed, it begins anew with the password.
 */
export async function finishSignIn(
  door: Door,
  entry: { step: string; code: string; address: string; oldSession: string | null },
  now: Instant,
): Promise<{ session: string; by: 'code' | 'recovery-code' } | null> {
  const { database } = door;
  const hash = secretHash(entry.step);
  const begun = await findStep(database.db, hash, now);
  if (!begun) return null;
  const attempt = { email: begun.email, address: entry.address };
  const isDigits = sixDigits(entry.code) !== null;
  await countCodeTry(database, { ...attempt, personId: begun.personId, isDigits }, now);
  const looked = await lookAtCode(door, begun.personId, entry.code);
  const done = await database.transaction(async (tx) => {
    // The person first, as everywhere.
    const person = await lockPerson(tx, { id: begun.personId });
    const step = await lockStep(tx, hash);
    if (!person?.active || !step || step.expiresAt <= now) return 'ended';
    const by = await takeCode(tx, person.id, looked, now);
    if (by !== null) {
      await deleteStep(tx, hash);
      return { person, by };
    }
    if (step.tries + 1 < TRIES) {
      await updateStep(tx, hash, step.tries + 1);
      return 'wrong';
    }
    await deleteStep(tx, hash);
    await record({ tx, actor: null, now }, 'sign-in.codes-refused', `person:${person.id}`);
    await warn({ tx, now }, person.id, CODES_REFUSED);
    return 'ended';
  });
  if (done === 'ended') return null;
  if (done === 'wrong') throw new Invalid([{ path: 'code', message: WRONG_CODE }]);
  const { person, by } = done;
  return { session: await open(door, person, { ...attempt, oldSession: entry.oldSession, by }, now), by };
}

/** Ends the session this browser had, and gives the cookie of a fresh one. */
async function open(
  { database, sessions }: Door,
  person: Person,
  { oldSession, by, ...attempt }: Attempt & { oldSession: string | null; by: string },
  now: Instant,
): Promise<string> {
  if (oldSession) await sessions.end(oldSession);
  const cookie = await sessions.start(person.id);
  const stillRight = await database.transaction(async (tx) => {
    // What changed while we looked has ended the sessions it knew, but not this one.
    if (!(await isUnchanged(tx, person))) return false;
    if (by === 'password' && (await hasFactor(tx, person.id))) return false;
    await forgiveCodes(tx, { email: person.email, address: attempt.address }, person.id);
    const actor = { id: person.id, tokenId: null };
    await record({ tx, actor, now }, 'person.signed-in', `person:${person.id}`, { by });
    return true;
  });
  if (stillRight) return cookie;
  await sessions.end(sessions.read(cookie) ?? '');
  throw new Invalid(WRONG);
}

/** Whether a person's password and standing are as they were when we looked; holds them so. */
async function isUnchanged(tx: Tx, before: Person): Promise<boolean> {
  const latest = await lockPerson(tx, before);
  return latest?.active === true && latest.passwordHash === before.passwordHash;
}

export async function signOut(
  { database, sessions }: Pick<Door, 'database' | 'sessions'>,
  actor: Actor | null,
  session: string | null,
  now: Instant,
): Promise<void> {
  if (session) await sessions.end(session);
  if (actor) await record({ tx: database.db, actor, now }, 'person.signed-out', `person:${actor.id}`);
}

/** Says in how many browsers they were signed in. */
export async function signOutEverywhere(act: Act): Promise<number> {
  mustBeAllowed(act.actor, 'own.sign-in');
  const ended = await endSessionsOf(act.tx, act.actor.id, act.now);
  await record(act, 'person.signed-out-everywhere', `person:${act.actor.id}`, { ended });
  return ended;
}
