import type { Act, Read, Studio } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed, type Role } from '../../core/policy.ts';
import { randomSecret, secretHash } from '../../core/secrets.ts';
import type { Services } from '../../core/services.ts';
import { mustBeGoodPassword } from '../forms.ts';
import {
  endInvitations,
  endLinksOf,
  findLink,
  insertLink,
  type Link,
  type LinkHolder,
  lockLink,
  openInvitations,
  useLink,
} from '../store/links.ts';
import { findPerson, lockPerson, type Person } from '../store/people.ts';
import { replacePassword } from './passwords.ts';
import { createPerson } from './people.ts';

const VALID_FOR = DAY;

/** A link to hand over: its secret is known here and to whoever is given it, and never stored. */
export interface IssuedLink {
  secret: string;
  expiresAt: Instant;
}

/** A second invitation to the same address ends the first. */
export async function invite(act: Act, { email, role }: { email: string; role: Role }): Promise<IssuedLink> {
  mustBeAllowed(act.actor, role === 'member' ? 'people.invite-member' : 'people.invite-staff');
  const known = await findPerson(act.tx, email);
  if (known)
    throw new Invalid([
      {
        path: 'email',
        message: known.active
          ? 'Somebody with this address is here already. A reset link lets them choose a new password.'
          : 'Somebody with this address was here before. A manager can let them back in.',
      },
    ]);
  await endInvitations(act.tx, email, act.now);
  const issued = await issue(act, { kind: 'invitation', email, role });
  await record(act, 'link.invitation', 'link', { role });
  return issued;
}

/** Who was invited and has not come yet: until when the invitation works, by address. */
export async function listInvited({ tx, actor, now }: Read): Promise<Map<string, Instant>> {
  mustBeAllowed(actor, 'people.invite-member');
  const open = await openInvitations(tx, now);
  return new Map(open.map(({ email, expiresAt }) => [email ?? '', expiresAt]));
}

/** A second link for the same person ends the first. */
export async function makeResetLink(
  act: Act,
  { email }: { email: string },
): Promise<IssuedLink & Pick<Person, 'name'>> {
  mustBeAllowed(act.actor, 'people.reset-member');
  const person = await lockActive(act.tx, email);
  if (person.role !== 'member') mustBeAllowed(act.actor, 'people.reset-staff');
  return { ...(await replaceResetLink(act, person)), name: person.name };
}

/** From the server's own command line: the way back for a manager whom nobody else could let in. */
export async function makeResetLinkAtTheServer(
  { tx, now }: Pick<Act, 'tx' | 'now'>,
  email: string,
): Promise<IssuedLink> {
  return replaceResetLink({ tx, now, actor: null }, await lockActive(tx, email));
}

async function lockActive(tx: Tx, email: string): Promise<Person> {
  const person = await lockPerson(tx, { email });
  if (!person) throw new NotFound('Nobody here has this e-mail address.');
  if (!person.active) throw new Conflict('This person is not active. A manager can let them back in first.');
  return person;
}

type Maker = Pick<Act, 'tx' | 'now'> & { actor: Act['actor'] | null };

async function replaceResetLink(act: Maker, person: Person): Promise<IssuedLink> {
  await endLinksOf(act.tx, person.id, act.now, { made: false });
  const issued = await issue(act, { kind: 'reset', personId: person.id });
  await record(act, 'link.reset', `person:${person.id}`);
  return issued;
}

async function issue(
  { tx, actor, now }: Maker,
  values: Pick<Link, 'kind'> & Partial<Pick<Link, 'email' | 'role' | 'personId'>>,
): Promise<IssuedLink> {
  const secret = randomSecret();
  const expiresAt = now + VALID_FOR;
  const madeBy = actor?.id ?? null;
  await insertLink(tx, { ...values, hash: secretHash(secret), madeBy, madeAt: now, expiresAt });
  return { secret, expiresAt };
}

/** Whether a link still opens something, and if not, why. */
export type Standing = 'open' | 'used' | 'ended';

const standing = ({ usedAt, expiresAt }: Pick<Link, 'usedAt' | 'expiresAt'>, now: Instant): Standing => {
  if (usedAt !== null) return 'used';
  return expiresAt > now ? 'open' : 'ended';
};

/** Whom a link was made for, and whether it still works. */
export async function lookAtLink(
  db: Executor,
  kind: Link['kind'],
  secret: string,
  now: Instant,
): Promise<LinkHolder & { standing: Standing }> {
  const link = await findLink(db, kind, secretHash(secret));
  if (!link)
    throw new NotFound('This link is not known here. Was all of it copied? If so, ask for a new one.');
  return { ...link, standing: standing(link, now) };
}

type Setting = Pick<Services, 'database' | 'passwords'> & { studio: Pick<Studio, 'name'>; now: Instant };

/** Makes the invited person; of two who accept at once, one does. Gives their id. */
export async function acceptInvitation(
  { database, passwords, studio, now }: Setting,
  { secret, name, password }: { secret: string; name: string; password: string },
): Promise<number> {
  const { email, ...link } = await lookAtLink(database.db, 'invitation', secret, now);
  mustBeOpen(link);
  mustBeGoodPassword(password, { name, email }, studio);
  const passwordHash = await passwords.hash(password);
  return database.transaction(async (tx) => {
    const { role } = await spend(tx, link.id, now);
    return createPerson(tx, { name, email, role: role as Role, passwordHash }, now);
  });
}

/** Sets a new password and ends whatever the old one had opened. Gives the person's id. */
export async function resetPassword(
  { database, passwords, studio, now }: Setting,
  { secret, password }: { secret: string; password: string },
): Promise<number> {
  const link = await lookAtLink(database.db, 'reset', secret, now);
  mustBeOpen(link);
  mustBeGoodPassword(password, { name: link.name ?? '', email: link.email }, studio);
  const passwordHash = await passwords.hash(password);
  const personId = link.personId as number;
  return database.transaction(async (tx) => {
    // The person first, as everywhere, so that a deactivation at the same moment cannot lock the other way.
    await lockPerson(tx, { id: personId });
    await spend(tx, link.id, now);
    await replacePassword({ tx, now }, personId, passwordHash);
    await record({ tx, actor: { id: personId, tokenId: null }, now }, 'password.reset', `person:${personId}`);
    return personId;
  });
}

function mustBeOpen(link: { standing: Standing }): void {
  if (link.standing !== 'open') throw new Conflict('This link does not work any more.');
}

async function spend(tx: Tx, id: number, now: Instant): Promise<Link> {
  const link = await lockLink(tx, id);
  mustBeOpen({ standing: standing(link, now) });
  await useLink(tx, id, now);
  return link;
}
