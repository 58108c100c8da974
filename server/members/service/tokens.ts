import type { Act, Actor } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { DAY } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed, type Scope } from '../../core/policy.ts';
import { randomSecret, secretHash } from '../../core/secrets.ts';
import type { Services } from '../../core/services.ts';
import { lockPerson } from '../store/people.ts';
import { hasFactor } from '../store/second-factors.ts';
import { insertToken, liveTokens, revokeToken } from '../store/tokens.ts';
import type { Self } from './passwords.ts';
import { withCode } from './second-factor.ts';

/** What a token shall be: its name tells one person's tokens apart. */
export interface TokenWish {
  name: string;
  /** Null: until it is revoked. */
  days: number | null;
  /** Null: whatever the person may do. */
  scopes: Scope[] | null;
}

/**
 * Makes a token of the one who asks. Only this answer ever holds it. A token outlives the session it is made in and signs
 * in without a code, so that whoever has a second factor types a code for it. Throws `Invalid` beside `code` or `name`.
 */
export async function makeToken(
  door: Pick<Services, 'database' | 'passwords'>,
  self: Self,
  wish: TokenWish & { code: string | undefined },
): Promise<string> {
  const { actor, now } = self;
  mustBeAllowed(actor, 'own.tokens');
  if (!(await hasFactor(door.database.db, actor.id)))
    return door.database.transaction((tx) => makeOwn({ tx, actor, now }, wish));
  if (wish.code === undefined)
    throw new Invalid([{ path: 'code', message: 'Type the code that your phone shows now.' }]);
  return withCode(door, self, wish.code, (act) => makeOwn(act, wish));
}

async function makeOwn(act: Act, wish: TokenWish): Promise<string> {
  // Held, so that two of one name cannot be made at once.
  await lockPerson(act.tx, act.actor);
  const mine = await liveTokens(act.tx, act.actor.id, act.now);
  if (mine.some(({ name }) => name === wish.name))
    throw new Invalid([
      {
        path: 'name',
        message: 'You have a token of this name. If you did not copy it, revoke it and make another.',
      },
    ]);
  return issue(act, act.actor.id, wish);
}

/** Makes a token for a person from the server's own command line, where nobody is signed in. */
export async function issueToken(
  { tx, now }: Pick<Act, 'tx' | 'now'>,
  email: string,
  wish: TokenWish,
): Promise<string> {
  const person = await lockPerson(tx, { email });
  if (!person) throw new NotFound(`Nobody here has the e-mail address ${email}.`);
  if (!person.active) throw new Conflict('This person is not active.');
  return issue({ tx, now, actor: null }, person.id, wish);
}

async function issue(
  act: Pick<Act, 'tx' | 'now'> & { actor: Actor | null },
  personId: number,
  { name, days, scopes }: TokenWish,
): Promise<string> {
  const secret = randomSecret();
  await insertToken(act.tx, {
    personId,
    name,
    hash: secretHash(secret),
    scopes,
    createdAt: act.now,
    expiresAt: days === null ? null : act.now + days * DAY,
  });
  await record(act, 'token.issued', `person:${personId}`, { days, scopes: scopes?.join(' ') ?? null });
  return secret;
}

export async function endToken(act: Act, { name }: { name: string }): Promise<void> {
  mustBeAllowed(act.actor, 'own.tokens');
  if (!(await revokeToken(act.tx, act.actor.id, name, act.now)))
    throw new NotFound('You have no such token, or it has ended already.');
  await record(act, 'token.revoked', `person:${act.actor.id}`);
}
