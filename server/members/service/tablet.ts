import type { Act, Actor, Studio } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import type { Device } from '../../core/device.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { randomSecret, secretHash } from '../../core/secrets.ts';
import type { Services } from '../../core/services.ts';
import { pinProblem } from '../pin.ts';
import { activePeople, findByCard, lockPerson, type Nameable, updatePerson } from '../store/people.ts';
import { countPinTry, forgivePin } from './attempts.ts';

// Who stands at a paired tablet. A tapped name proves nothing: until a PIN does, everybody is a member there.

/** A name to tap. */
export interface Name {
  /** What this tablet calls the person; no other tablet does. */
  handle: string;
  name: string;
  /** Tells two of the same name apart. */
  joinedAt: Instant | null;
}

/** Everybody who may be tapped, by name. */
export async function listNames(db: Executor, device: Device): Promise<Name[]> {
  const everybody = await activePeople(db);
  const { compare } = new Intl.Collator('en', { sensitivity: 'base', numeric: true });
  const namesakes = (name: string) => everybody.filter((p) => compare(p.name, name) === 0).length;
  return everybody
    .sort((a, b) => compare(a.name, b.name) || a.id - b.id)
    .map((person) => ({
      handle: handleOf(device, person),
      name: person.name,
      joinedAt: namesakes(person.name) > 1 ? person.joinedAt : null,
    }));
}

/** Somebody at a tablet, with what they may do there by name alone. */
export interface AtTablet {
  handle: string;
  actor: Actor;
  hasPin: boolean;
}

type Place = { db: Executor; device: Device; studio: Studio };

export async function findAtTablet(place: Place, handle: string): Promise<AtTablet> {
  const everybody = await activePeople(place.db);
  const person = everybody.find((p) => handleOf(place.device, p) === handle);
  if (!person) throw new NotFound('Nobody of this name is here any more. Choose the name again.');
  return atTablet(place, person);
}

/** Whoever recorded something, to be asked for their PIN. */
export async function findAtTabletById(place: Place, personId: number): Promise<AtTablet> {
  const person = (await activePeople(place.db)).find(({ id }) => id === personId);
  if (!person) throw new NotFound('Whoever recorded this is not active any more. Ask a technician.');
  return atTablet(place, person);
}

/** The holder of a card, by the secret in its QR code or the whole address. */
export async function findByScan(place: Place, scanned: string): Promise<AtTablet> {
  const secret = /[\w-]{20,64}$/.exec(scanned.trim())?.[0];
  const person = secret === undefined ? null : await findByCard(place.db, secretHash(secret));
  if (!person)
    throw new Invalid([
      {
        path: 'card',
        message: 'This card is not known here, or a newer one ended it. Tap your name instead.',
      },
    ]);
  return atTablet(place, person);
}

/** What a technician's or manager's PIN adds to a name: their own standing. */
export async function provePin(
  { database, passwords }: Pick<Services, 'database' | 'passwords'>,
  { actor }: AtTablet,
  device: Device,
  pin: string,
  now: Instant,
): Promise<Actor> {
  await countPinTry(database, { personId: actor.id, deviceId: device.id }, now);
  const person = (await activePeople(database.db)).find(({ id }) => id === actor.id);
  const right = await passwords.matches(person?.pinHash ?? null, pin);
  if (!person || !right)
    throw new Invalid([{ path: 'pin', message: 'This is not the PIN that goes with the name.' }]);
  await forgivePin(database.db, person.id);
  return { ...actor, role: person.role };
}

function atTablet({ device, studio }: Place, person: Nameable): AtTablet {
  const { id, name, email } = person;
  return {
    handle: handleOf(device, person),
    actor: { id, name, email, role: 'member', units: studio.units, tokenId: null, deviceId: device.id },
    hasPin: person.pinHash !== null,
  };
}

const handleOf = (device: Device, { id }: Pick<Nameable, 'id'>): string =>
  secretHash(`${device.hash} ${id}`).slice(0, 16);

/** Sets the four digits of the one who asks; a PIN of before ends. */
export async function setPin(
  { database, passwords }: Pick<Services, 'database' | 'passwords'>,
  { actor, now }: { actor: Actor; now: Instant },
  pin: string,
): Promise<void> {
  mustBeAllowed(actor, 'own.page');
  const problem = pinProblem(pin);
  if (problem) throw new Invalid([{ path: 'pin', message: problem }]);
  const pinHash = await passwords.hash(pin);
  await database.transaction(async (tx) => {
    await updatePerson(tx, actor.id, { pinHash });
    await forgivePin(tx, actor.id);
    await record({ tx, actor, now }, 'pin.set', `person:${actor.id}`);
  });
}

export async function endPin(act: Act): Promise<void> {
  mustBeAllowed(act.actor, 'own.page');
  await updatePerson(act.tx, act.actor.id, { pinHash: null });
  await record(act, 'pin.ended', `person:${act.actor.id}`);
}

/** A new card of the one who asks; an older one ends. Only this answer ever holds its secret. */
export async function makeCard(act: Act): Promise<string> {
  mustBeAllowed(act.actor, 'own.page');
  const secret = randomSecret();
  await updatePerson(act.tx, act.actor.id, { cardHash: secretHash(secret) });
  await record(act, 'card.made', `person:${act.actor.id}`);
  return secret;
}

export async function endCard(act: Act): Promise<void> {
  mustBeAllowed(act.actor, 'own.page');
  const person = await lockPerson(act.tx, act.actor);
  if (!person?.cardHash) throw new Conflict('You have no card that could be ended.');
  await updatePerson(act.tx, act.actor.id, { cardHash: null });
  await record(act, 'card.ended', `person:${act.actor.id}`);
}
