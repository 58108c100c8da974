import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { count, text } from '../../core/forms.ts';
import { tell } from '../../core/messages.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import * as store from '../store/groups.ts';

/** A household or a class that pieces belong to. */
export interface Group {
  id: number;
  kind: 'household' | 'class';
  name: string;
  /** The teacher of a class, or who answers for a household. */
  contact: { id: number; name: string };
  /** Besides the contact. */
  people: { id: number; name: string }[];
  isRetired: boolean;
  /** Whoever asks is its contact or in it. */
  isMine: boolean;
  /** Whoever asks may change it: its contact, or a technician. */
  mayChange: boolean;
  /** Whoever asks may register pieces for it: contact, anybody of a household, or a technician. */
  mayRegister: boolean;
}

const MOST_HOUSEHOLDS = 5;
const MOST_PEOPLE = 60;

export const householdForm = z.strictObject({ name: text(60) });
export const classForm = z.strictObject({ name: text(60), contact: text(254) });
export const groupForm = z.strictObject({ name: text(60), contact: text(254).optional() });
export const whoForm = z.strictObject({ who: text(254) });
export const personForm = z.strictObject({ person: count(1, 2 ** 31 - 1) });

/** Groups in use: for technicians all, for anybody else those they are contact of or in. */
export async function listGroups(read: Read): Promise<Group[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return seen(read, await store.listGroups(read.tx, reach(read)));
}

/** One group, retired or not. Throws NotFound for a group that does not concern whoever asks. */
export async function findGroup(read: Read, id: number): Promise<Group> {
  mustBeAllowed(read.actor, 'ware.own');
  const row = await store.findGroup(read.tx, id, reach(read));
  const [group] = row ? await seen(read, [row]) : [];
  if (!group) throw new NotFound('There is no such group.');
  return group;
}

/** Whom to tell about a group's pieces: the contact, and in a household everybody. */
export async function groupReaders(read: Read, id: number): Promise<number[]> {
  const row = await store.findGroup(read.tx, id, null);
  if (!row) return [];
  const others = row.kind === 'household' ? await store.peopleIn(read.tx, [id]) : [];
  return [row.contact.id, ...others.map((person) => person.id)];
}

/** A household of whoever acts; answers its id. */
export async function makeHousehold(act: Act, { name }: z.output<typeof householdForm>): Promise<number> {
  mustBeAllowed(act.actor, 'ware.own');
  const own = await store.listGroups(act.tx, act.actor.id);
  const answered = own.filter(({ kind, contact }) => kind === 'household' && contact.id === act.actor.id);
  if (answered.length >= MOST_HOUSEHOLDS)
    throw new Conflict(`You answer for ${MOST_HOUSEHOLDS} households: end one first.`);
  return insert(act, 'household', name, act.actor.id);
}

/** A class and who teaches it; answers its id. */
export async function makeClass(act: Act, { name, contact }: z.output<typeof classForm>): Promise<number> {
  mustBeAllowed(act.actor, 'ware.edit');
  const teacher = await onePerson(act, contact, 'contact');
  const id = await insert(act, 'class', name, teacher.id);
  await tell(act, {
    personIds: [teacher.id],
    kind: 'group',
    words: `You teach ${name}: you can register pieces for it.`,
    href: `/ware/groups/${id}`,
  });
  return id;
}

/** Another name, or, by a technician, somebody else to answer for it. */
export async function changeGroup(
  act: Act,
  id: number,
  { name, contact }: z.output<typeof groupForm>,
): Promise<void> {
  const group = await lockToChange(act, id);
  const next = contact === undefined ? group.contact : await onePerson(act, contact, 'contact');
  if (next.id !== group.contact.id) {
    mustBeAllowed(act.actor, 'ware.edit');
    await store.deleteGroupPerson(act.tx, id, next.id);
  }
  await freeName(store.updateGroup(act.tx, id, { name, contactId: next.id }));
  await record(act, 'group.change', `group:${id}`, { contact: next.id });
}

/** Adds somebody by e-mail address or name; they are told, and may leave by themselves. Answers their id. */
export async function addToGroup(act: Act, id: number, { who }: z.output<typeof whoForm>): Promise<number> {
  const group = await lockToChange(act, id);
  const person = await onePerson(act, who, 'who');
  const isIn = person.id === group.contact.id || group.people.some((one) => one.id === person.id);
  if (isIn) throw new Invalid([{ path: 'who', message: `${person.name} is in it already.` }]);
  if (group.people.length >= MOST_PEOPLE) throw new Conflict(`At most ${MOST_PEOPLE} people.`);
  await store.insertGroupPerson(act.tx, id, person.id);
  await record(act, 'group.add-person', `group:${id}`, { person: person.id });
  await tell(act, {
    personIds: [person.id],
    kind: 'group',
    words: `${act.actor.name} added you to ${group.name}.`,
    href: `/ware/groups/${id}`,
  });
  return person.id;
}

/** Takes somebody out: its contact or a technician does, and anybody themselves. */
export async function removeFromGroup(
  act: Act,
  id: number,
  { person }: z.output<typeof personForm>,
): Promise<void> {
  await (person === act.actor.id ? findGroup(act, id) : lockToChange(act, id));
  if (!(await store.deleteGroupPerson(act.tx, id, person)))
    throw new NotFound('This person is not in the group.');
  await record(act, 'group.remove-person', `group:${id}`, { person });
}

/** No longer offered; pieces that belong to it keep it. */
export async function retireGroup(act: Act, id: number): Promise<void> {
  await lockToChange(act, id);
  await store.updateGroup(act.tx, id, { retiredAt: act.now });
  await record(act, 'group.retire', `group:${id}`);
}

/** Names that a technician may choose a teacher from; members type the name they know. */
export async function namesToChoose(read: Read): Promise<string[]> {
  return may(read.actor.role, 'people.see') ? store.namesOfPeople(read.tx) : [];
}

/** Null: every group. */
const reach = ({ actor }: Read): number | null => (may(actor.role, 'ware.see-all') ? null : actor.id);

async function seen(read: Read, rows: store.GroupRow[]): Promise<Group[]> {
  const { id: me, role } = read.actor;
  const everybody = await store.peopleIn(
    read.tx,
    rows.map(({ id }) => id),
  );
  const isTechnician = may(role, 'ware.edit');
  return rows.map(({ id, kind, name, contact, retiredAt }) => {
    const people = everybody.flatMap((one) => (one.groupId === id ? [{ id: one.id, name: one.name }] : []));
    const isContact = contact.id === me;
    const isIn = people.some((person) => person.id === me);
    return {
      id,
      kind,
      name,
      contact,
      people,
      isRetired: retiredAt !== null,
      isMine: isContact || isIn,
      mayChange: retiredAt === null && (isContact || isTechnician),
      mayRegister: retiredAt === null && (isContact || isTechnician || (kind === 'household' && isIn)),
    };
  });
}

async function lockToChange(act: Act, id: number): Promise<Group> {
  await store.lockGroup(act.tx, id);
  const group = await findGroup(act, id);
  if (group.isRetired) throw new Conflict(`${group.name} has been ended.`);
  if (!group.mayChange) throw new Forbidden(`${group.contact.name} or a technician changes this.`);
  return group;
}

async function insert(act: Act, kind: Group['kind'], name: string, contactId: number): Promise<number> {
  const id = await freeName(store.insertGroup(act.tx, { kind, name, contactId, madeAt: act.now }));
  await record(act, 'group.make', `group:${id}`, { kind, contact: contactId });
  return id;
}

/** Whether two names are one: no two groups or clays differ only in the case of theirs. */
export const sameName = (a: string, b: string): boolean => a.toLowerCase() === b.toLowerCase();

/** Who is called so, or has this e-mail address. Throws Invalid beside the field for nobody, or more than one. */
export async function onePerson(
  { tx }: Act,
  who: string,
  path: string,
): Promise<{ id: number; name: string }> {
  const [person, other] = await store.findPeople(tx, who);
  if (!person)
    throw new Invalid([
      { path, message: 'Nobody here has this name or e-mail address. Check the spelling.' },
    ]);
  if (other)
    throw new Invalid([
      { path, message: `More than one person here is called ${person.name}: type the e-mail address.` },
    ]);
  return person;
}

const freeName = <T>(work: Promise<T>): Promise<T> =>
  unlessTaken(
    work,
    new Conflict('Another group has this name, perhaps one that was ended. Choose another.', 'name'),
  );
