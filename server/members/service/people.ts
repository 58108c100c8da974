import type { Act, Actor, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { Conflict, Forbidden, NotFound } from '../../core/errors.ts';
import { mustBeAllowed, type Role } from '../../core/policy.ts';
import { endSessionsOf, revokeTokensOf, theStudio } from '../../core/session.ts';
import { endLinksOf } from '../store/links.ts';
import {
  allPeople,
  insertPerson,
  type ListedPerson,
  lockManagers,
  lockPerson,
  type Person,
  updatePerson,
} from '../store/people.ts';
import { endSteps } from '../store/sign-in.ts';

export type { ListedPerson };

export interface NewPerson {
  name: string;
  email: string;
  role: Role;
  passwordHash: string;
}

/** The person whom an invitation, the first set-up or a seed brings in. */
export async function createPerson(tx: Tx, person: NewPerson, now: Instant): Promise<number> {
  const id = await insertPerson(tx, { ...person, joinedAt: now });
  await record({ tx, actor: { id, tokenId: null }, now }, 'person.joined', `person:${id}`, {
    role: person.role,
  });
  return id;
}

/** Everybody by name, as people here sort names; whoever has left comes last. */
export async function listPeople({ tx, actor }: Read): Promise<ListedPerson[]> {
  mustBeAllowed(actor, 'people.see');
  const { compare } = new Intl.Collator('en', { sensitivity: 'base', numeric: true });
  const everybody = await allPeople(tx);
  return everybody.sort(
    (a, b) => Number(b.active) - Number(a.active) || compare(a.name, b.name) || a.id - b.id,
  );
}

/**
 * Who acts at the server's own command line, where nobody is signed in: the manager of this address, or, where none is
 * given, the only manager there is.
 */
export async function managerAtTheServer(tx: Executor, email: string | null): Promise<Actor> {
  const everybody = await allPeople(tx);
  const managers = everybody.filter(({ role, active }) => role === 'manager' && active);
  const named = email === null ? managers : managers.filter((one) => one.email === email);
  const [manager] = named;
  if (!manager && email !== null) throw new Forbidden(`${email} is no manager here.`);
  if (!manager) throw new Conflict('The studio is not set up yet: it has no manager.');
  if (named.length > 1)
    throw new Conflict('There are several managers: say which of them does this, with --as EMAIL.');
  const { id, name, role, units } = manager;
  return {
    id,
    name,
    email: manager.email,
    role,
    units: units ?? (await theStudio(tx)).units,
    tokenId: null,
    deviceId: null,
  };
}

export async function changeRole(act: Act, { email, role }: { email: string; role: Role }): Promise<void> {
  mustBeAllowed(act.actor, 'people.set-role');
  const person = await lockForManager(act, email, role !== 'manager');
  if (person.role === role) return;
  await updatePerson(act.tx, person.id, { role });
  await shutOut(act, person.id);
  await record(act, 'person.role', `person:${person.id}`, { from: person.role, to: role });
}

export async function changeActivity(
  act: Act,
  { email, active }: { email: string; active: boolean },
): Promise<void> {
  mustBeAllowed(act.actor, 'people.deactivate');
  const person = await lockForManager(act, email, !active);
  if (person.active === active) return;
  await updatePerson(act.tx, person.id, { active });
  await shutOut(act, person.id);
  await record(act, active ? 'person.reactivated' : 'person.deactivated', `person:${person.id}`);
}

/**
 * The person to change, once it is certain that the one who asks is still a manager and that a studio
 * without one is not what comes of it. The locks make two managers who remove each other take turns.
 */
async function lockForManager(act: Act, email: string, leaves: boolean): Promise<Person> {
  const managers = await lockManagers(act.tx);
  if (!managers.includes(act.actor.id)) throw new Forbidden('This needs a manager.');
  const person = await lockPerson(act.tx, { email });
  if (!person) throw new NotFound('Nobody here has this e-mail address.');
  if (leaves && managers.length === 1 && managers[0] === person.id)
    throw new Conflict('This is the last manager. Make somebody else a manager first.');
  return person;
}

/** Whatever a person held open with their old standing ends with it. */
async function shutOut({ tx, now }: Act, personId: number): Promise<void> {
  await endSessionsOf(tx, personId, now);
  await endSteps(tx, personId);
  await revokeTokensOf(tx, personId, now);
  await endLinksOf(tx, personId, now, { made: true });
}
