import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { type Instant, MINUTE } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Services } from '../../core/services.ts';
import { endSessionsOf } from '../../core/session.ts';
import { newKey, sixDigits, stepOfCode } from '../one-time-code.ts';
import { asRecoveryCode, newSet } from '../recovery-code.ts';
import { findPerson, lockPerson } from '../store/people.ts';
import {
  countRecoveryCodes,
  deleteFactor,
  findFactor,
  findRecoveryCode,
  hasFactor,
  lockFactor,
  putPendingFactor,
  replaceRecoveryCodes,
  updateFactor,
  useRecoveryCode,
} from '../store/second-factors.ts';
import { asksStaffForFactor } from '../store/studio.ts';
import { countCodeTry, forgiveCodes } from './attempts.ts';
import { provePassword, type Self } from './passwords.ts';
import { NOT_YOU, warn } from './warn.ts';

type Door = Pick<Services, 'database' | 'passwords'>;

/** A key that was shown must be confirmed by then. */
const KEY_WAITS = 15 * MINUTE;

export const WRONG_CODE =
  'This is not the code that your phone shows now. Wait for the next one, or type a recovery code that you have not used.';

const OWN_PAGE = '/me/second-factor';

export interface OwnFactor {
  /** Since when a code is asked for at the sign-in; null: it is not. */
  since: Instant | null;
  /** Recovery codes that were not used. */
  codesLeft: number;
  /** The studio asks technicians and managers for one. */
  isAskedOfStaff: boolean;
}

export async function ownFactor({ tx, actor }: Read): Promise<OwnFactor> {
  mustBeAllowed(actor, 'own.sign-in');
  return {
    since: (await findFactor(tx, actor.id))?.confirmedAt ?? null,
    codesLeft: await countRecoveryCodes(tx, actor.id),
    isAskedOfStaff: await asksStaffForFactor(tx),
  };
}

/** Gives a fresh key to whoever types their password: it counts for nothing until a code of it was typed. */
export async function beginFactor(door: Door, self: Self, password: string): Promise<string> {
  const { actor, now } = self;
  mustBeAllowed(actor, 'own.sign-in');
  await provePassword(door, self, { password, path: 'password' });
  const secret = newKey();
  const isPut = await door.database.transaction((tx) =>
    putPendingFactor(tx, { personId: actor.id, secret, madeAt: now }),
  );
  if (!isPut) throw new Conflict(IS_ON);
  return secret;
}

const IS_ON = 'Your second factor is on already.';

/**
 * From now on a code is asked for whenever this person signs in; whoever is signed in as them elsewhere is signed out.
 * `key` is what the page showed, so that a session alone, without the password, never learns it. Gives the recovery
 * codes, which only this answer ever holds.
 */
export async function confirmFactor(
  { database, passwords }: Door,
  { actor, now }: Self,
  { key, code }: { key: string; code: string },
): Promise<string[]> {
  mustBeAllowed(actor, 'own.sign-in');
  const factor = await findFactor(database.db, actor.id);
  if (factor && factor.confirmedAt !== null) throw new Conflict(`${IS_ON} You can make new recovery codes.`);
  if (factor?.secret !== key || factor.madeAt + KEY_WAITS <= now)
    throw new Conflict('This key has waited too long, or a newer one ended it. Begin again.');
  const digits = sixDigits(code);
  const step = digits === null ? null : stepOfCode(key, digits, now, factor.lastStep);
  if (step === null)
    throw new Invalid([
      {
        path: 'code',
        message: 'This is not the code that goes with the key. Does the clock of your phone go right?',
      },
    ]);
  const made = await makeCodes(passwords);
  await database.transaction(async (tx) => {
    await lockPerson(tx, actor);
    const latest = await lockFactor(tx, actor.id);
    if (latest?.secret !== key || latest.confirmedAt !== null) throw new Conflict(IS_ON);
    await updateFactor(tx, actor.id, { confirmedAt: now, lastStep: step });
    await replaceRecoveryCodes(tx, actor.id, made.kept);
    await endSessionsOf(tx, actor.id, now);
    await record({ tx, actor, now }, 'second-factor.set-up', `person:${actor.id}`);
    await warn({ tx, now }, actor.id, `You have a second factor now. ${NOT_YOU}`, OWN_PAGE);
  });
  return made.shown;
}

async function makeCodes(passwords: Services['passwords']) {
  const shown = newSet();
  const kept: { beginning: string; hash: string }[] = [];
  for (const one of shown) {
    const { beginning, code } = asRecoveryCode(one) as NonNullable<ReturnType<typeof asRecoveryCode>>;
    kept.push({ beginning, hash: await passwords.hash(code) });
  }
  return { shown, kept };
}

/** A new set of recovery codes; those of before end. Needs a code. */
export async function renewRecoveryCodes(door: Door, self: Self, code: string): Promise<string[]> {
  mustBeAllowed(self.actor, 'own.sign-in');
  return withCode(door, self, code, async (act) => {
    // Half a second of work, done for nobody whose code is wrong.
    const { shown, kept } = await makeCodes(door.passwords);
    await replaceRecoveryCodes(act.tx, act.actor.id, kept);
    await record(act, 'recovery-codes.made', `person:${act.actor.id}`);
    await warn(act, act.actor.id, `You have new recovery codes. ${NOT_YOU}`, OWN_PAGE);
    return shown;
  });
}

/** Needs the password and a code; whoever is signed in as them elsewhere is signed out. */
export async function endOwnFactor(
  door: Door,
  self: Self,
  { password, code }: { password: string; code: string },
): Promise<void> {
  mustBeAllowed(self.actor, 'own.sign-in');
  await provePassword(door, self, { password, path: 'password' });
  await withCode(door, self, code, async (act) => {
    await takeAway(act, act.actor.id);
    await warn(act, act.actor.id, `Your second factor has ended. ${NOT_YOU}`, OWN_PAGE);
  });
}

/** For somebody whose phone is lost, whom a manager knows to be who they are. They are signed out, and told. */
export async function endFactorOf(act: Act, { email }: { email: string }): Promise<void> {
  mustBeAllowed(act.actor, 'people.end-factor');
  if (email === act.actor.email)
    throw new Conflict('Your own is ended on your page, with your password and a code.');
  const id = await endByAddress(act, email);
  const words = `${act.actor.name} ended your second factor: you sign in without a code now. Set it up anew on your page. If you did not ask for this, tell them.`;
  await warn(act, id, words, OWN_PAGE);
}

/** From the server's own command line: the way back for a manager whom nobody else could let in. They are told, too. */
export async function endFactorAtTheServer(
  { tx, now }: Pick<Act, 'tx' | 'now'>,
  email: string,
): Promise<void> {
  const id = await endByAddress({ tx, now, actor: null }, email);
  await warn({ tx, now }, id, `Your second factor was ended at the server. ${NOT_YOU}`, OWN_PAGE);
}

/** Whether the person of this address is asked for a code when they sign in. */
export async function isCodeAskedOf(db: Executor, email: string): Promise<boolean> {
  const person = await findPerson(db, email);
  return person !== null && (await hasFactor(db, person.id));
}

type Maker = Pick<Act, 'tx' | 'now'> & { actor: Act['actor'] | null };

async function endByAddress(act: Maker, email: string): Promise<number> {
  const person = await lockPerson(act.tx, { email });
  if (!person) throw new NotFound('Nobody here has this e-mail address.');
  const factor = await lockFactor(act.tx, person.id);
  if (!factor?.confirmedAt) throw new Conflict('This person has no second factor.');
  await takeAway(act, person.id);
  return person.id;
}

async function takeAway(act: Maker, personId: number): Promise<void> {
  await deleteFactor(act.tx, personId);
  await endSessionsOf(act.tx, personId, act.now);
  await record(act, 'second-factor.ended', `person:${personId}`);
}

/** What was typed as a code, as far as it can be looked at before anything is locked. */
export type LookedAt = { digits: string } | { recoveryCode: number } | null;

/** A recovery code costs as much to look at as a password. */
export async function lookAtCode(
  { database, passwords }: Door,
  personId: number,
  typed: string,
): Promise<LookedAt> {
  const digits = sixDigits(typed);
  if (digits !== null) return { digits };
  const read = asRecoveryCode(typed);
  if (read === null) return null;
  const found = await findRecoveryCode(database.db, personId, read.beginning);
  const same = await passwords.matches(found?.hash ?? null, read.code);
  return found && same ? { recoveryCode: found.id } : null;
}

/** Takes a code, once and never again: says which kind it was; null: it is none of theirs, or was taken before. */
export async function takeCode(
  tx: Tx,
  personId: number,
  looked: LookedAt,
  now: Instant,
): Promise<'code' | 'recovery-code' | null> {
  const factor = await lockFactor(tx, personId);
  if (!factor?.confirmedAt || looked === null) return null;
  if ('recoveryCode' in looked) {
    if (!(await useRecoveryCode(tx, looked.recoveryCode, now))) return null;
    const left = await countRecoveryCodes(tx, personId);
    await warn(
      { tx, now },
      personId,
      `A recovery code of yours was used; ${left} of ten are left. ${NOT_YOU}`,
      OWN_PAGE,
    );
    return 'recovery-code';
  }
  const step = stepOfCode(factor.secret, looked.digits, now, factor.lastStep);
  if (step === null) return null;
  await updateFactor(tx, personId, { lastStep: step });
  return 'code';
}

/**
 * Takes a code of whoever asks and does `work`, in one transaction. Wrong codes slow down as wrong passwords do. Throws
 * `Invalid` beside `code`, and then nothing was done.
 */
export async function withCode<T>(
  door: Door,
  { actor, address, now }: Self,
  typed: string,
  work: (act: Act) => Promise<T>,
): Promise<T> {
  if (!(await hasFactor(door.database.db, actor.id))) throw new Conflict('You have no second factor.');
  const attempt = { email: actor.email, address };
  const isDigits = sixDigits(typed) !== null;
  await countCodeTry(door.database, { ...attempt, personId: actor.id, isDigits }, now);
  const looked = await lookAtCode(door, actor.id, typed);
  return door.database.transaction(async (tx) => {
    await lockPerson(tx, actor);
    if ((await takeCode(tx, actor.id, looked, now)) === null)
      throw new Invalid([{ path: 'code', message: WRONG_CODE }]);
    await forgiveCodes(tx, attempt, actor.id);
    return work({ tx, actor, now });
  });
}
