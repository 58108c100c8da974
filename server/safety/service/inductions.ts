import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { choice, day, email, text } from '../../core/forms.ts';
import { may, mustBeAllowed, type Permission } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { listKilns } from '../../kilns/service/index.ts';
import type { SafetyDue } from '../../materials/due.ts';
import { lacking, refusalWords, SOON_DAYS, type Standing, standing, VERB_WORDS } from '../induction.ts';
import { type SafetySettings, VERBS, type Verb } from '../settings.ts';
import * as store from '../store/inductions.ts';
import { insertNote } from '../store/notes.ts';
import { safetySettings, settingsIn } from './settings.ts';

export const inductionsForm = z.strictObject({
  people: z
    .array(email(), { error: 'Tick at least one person.' })
    .min(1, 'Tick at least one person.')
    .max(200, 'At most 200.'),
  verbs: z
    .array(choice(VERBS), { error: 'Tick at least one thing they were shown.' })
    .min(1, 'Tick at least one thing they were shown.')
    .max(VERBS.length, `At most ${VERBS.length}.`),
  givenOn: day(),
});

export const strikeOutForm = z.strictObject({ reason: text(300) });

/**
 * One question to the database; none of the answer is kept.
 * @throws Forbidden for whoever was not shown how, or too long ago, where the studio asks for it
 */
export async function mustBeInducted({ tx, actor, now }: Act, verb: Verb): Promise<void> {
  const gate = await store.gateOf(tx, actor.id, verb);
  if (!gate) return;
  const settings = settingsIn(gate.settings);
  const today = toWallTime(now, gate.timeZone).slice(0, 10);
  const missing = lacking(settings, verb, { common: gate.common, [verb]: gate.own }, today);
  if (missing.length > 0) throw new Forbidden(refusalWords(verb, missing, settings.inductionMonths));
}

/** How somebody stands with one verb. */
export interface VerbStanding {
  verb: Verb;
  standing: Standing;
  /** YYYY-MM-DD; null: never. */
  givenOn: string | null;
  until: string | null;
  by: string | null;
  /** Whether the studio asks for it. */
  isGated: boolean;
  /** Whether it is anything this person does here. */
  concerns: boolean;
}

export interface PersonInductions {
  id: number;
  name: string;
  email: string;
  verbs: VerbStanding[];
}

/** Who may do a thing at all; firing a kiln is for those it names. */
const DONE_BY: Partial<Record<Verb, Permission>> = {
  'mix-dry': 'buckets.add-other',
  load: 'loads.load',
};

/** Tells of everybody whether a verb is anything they do here. */
async function whomItConcerns(read: Read): Promise<(person: store.PersonRow, verb: Verb) => boolean> {
  const kilns = await listKilns(read);
  const firers = (power: 'electric' | 'gas') =>
    new Set(kilns.filter((kiln) => kiln.power === power).flatMap((kiln) => kiln.firers.map(({ id }) => id)));
  const electric = firers('electric');
  const gas = firers('gas');
  return ({ id, role }, verb) => {
    if (verb === 'fire-electric') return electric.has(id);
    if (verb === 'fire-gas') return gas.has(id);
    if (verb === 'open-kiln') return electric.has(id) || gas.has(id) || may(role, 'firings.record');
    const permission = DONE_BY[verb];
    return permission === undefined || may(role, permission);
  };
}

async function standings(
  read: Read,
  settings: SafetySettings,
  wanted: number | null,
): Promise<PersonInductions[]> {
  const [people, newest, concerns, today] = await Promise.all([
    store.activePeople(read.tx),
    store.newestInductions(read.tx, wanted),
    whomItConcerns(read),
    studioDay(read),
  ]);
  const rows = new Map(newest.map((row) => [`${row.personId} ${row.verb}`, row]));
  return people
    .filter(({ id }) => wanted === null || id === wanted)
    .map((person) => ({
      id: person.id,
      name: person.name,
      email: person.email,
      verbs: VERBS.map((verb) => {
        const row = rows.get(`${person.id} ${verb}`);
        return {
          verb,
          ...standing(row?.givenOn ?? null, settings.inductionMonths, today),
          givenOn: row?.givenOn ?? null,
          by: row?.by ?? null,
          isGated: settings.gated.includes(verb),
          concerns: concerns(person, verb),
        };
      }),
    }));
}

/** Everybody who is here with how they stand with every verb, and what is asked for. */
export async function listStandings(
  read: Read,
): Promise<{ settings: SafetySettings; people: PersonInductions[] }> {
  mustBeAllowed(read.actor, 'inductions.give');
  const settings = await safetySettings(read);
  return { settings, people: await standings(read, settings, null) };
}

/** How whoever asks stands with every verb. */
export async function ownInductions(
  read: Read,
): Promise<{ settings: SafetySettings; verbs: VerbStanding[] }> {
  const settings = await safetySettings(read);
  const [own] = await standings(read, settings, read.actor.id);
  return { settings, verbs: own?.verbs ?? [] };
}

/** By verb: how many of those who do it would be stopped today if it were asked for, and how many do it. */
export interface Stopped {
  verb: Verb;
  stopped: number;
  of: number;
}

export async function countStopped(read: Read): Promise<Stopped[]> {
  mustBeAllowed(read.actor, 'inductions.give');
  const { people } = await listStandings(read);
  return VERBS.map((verb) => {
    const theirs = people.flatMap(({ verbs }) => verbs.filter((one) => one.verb === verb && one.concerns));
    return { verb, stopped: theirs.filter(isMissing).length, of: theirs.length };
  });
}

const isMissing = ({ standing: now }: VerbStanding): boolean => now === 'never' || now === 'over';

/**
 * Notes that people were shown things on a day, by whoever writes it down: they need not have been shown themselves,
 * for somebody must be the first.
 */
export async function giveInductions(act: Act, command: z.output<typeof inductionsForm>): Promise<void> {
  mustBeAllowed(act.actor, 'inductions.give');
  const { givenOn } = command;
  if (givenOn > (await studioDay(act)))
    throw new Invalid([{ path: 'givenOn', message: 'That day is still to come.' }]);
  const people = await store.activePeople(act.tx);
  const ids = [...new Set(command.people)].map((address) => {
    const person = people.find((one) => one.email === address);
    if (!person) throw new Invalid([{ path: 'people', message: `Nobody here has the address ${address}.` }]);
    return person.id;
  });
  const verbs = VERBS.filter((verb) => command.verbs.includes(verb));
  const about = { givenOn, by: act.actor.id, at: act.now };
  await store.insertInductions(
    act.tx,
    ids.flatMap((personId) => verbs.map((verb) => ({ personId, verb, ...about }))),
  );
  await record(act, 'inductions.given', 'inductions', {
    people: ids.join(' '),
    verbs: verbs.join(' '),
    on: givenOn,
  });
}

const PAGE = 20;

export type ListedInduction = store.ListedInduction;

/** As they were written down, the latest first; `next` is the id to go on before. */
export async function listInductions(
  read: Read,
  { before = null, limit = PAGE }: { before?: number | null | undefined; limit?: number } = {},
): Promise<{ inductions: ListedInduction[]; next: number | null }> {
  mustBeAllowed(read.actor, 'safety.see');
  const personId = may(read.actor.role, 'inductions.give') ? null : read.actor.id;
  const rows = await store.listInductions(read.tx, { before, limit: limit + 1, personId });
  const inductions = rows.slice(0, limit);
  return { inductions, next: rows.length > limit ? (inductions.at(-1)?.id ?? null) : null };
}

export async function findInduction(read: Read, id: number): Promise<ListedInduction> {
  mustBeAllowed(read.actor, 'inductions.give');
  const row = await store.findInduction(read.tx, id);
  if (!row) throw new NotFound('There is no induction with this number.');
  return row;
}

/** Strikes out what was written down wrongly; it stays, with the reason. @throws Conflict when it is struck out already */
export async function strikeOutInduction(
  act: Act,
  id: number,
  { reason }: z.output<typeof strikeOutForm>,
): Promise<void> {
  await findInduction(act, id);
  const noteId = await insertNote(act.tx, reason);
  await unlessTaken(
    store.insertVoid(act.tx, { id, by: act.actor.id, at: act.now, noteId }),
    new Conflict('This is struck out already.'),
  );
  await record(act, 'induction.struck-out', `induction:${id}`);
}

/** What has run out or soon will of what people here do, and a word while nothing is asked for. */
export async function inductionsDue(read: Read): Promise<SafetyDue[]> {
  const settings = await safetySettings(read);
  const people = await standings(read, settings, null);
  const href = '/safety/inductions';
  const of = (wanted: Standing) =>
    people.flatMap(({ name, verbs }) => {
      const theirs = verbs.filter((one) => one.concerns && one.standing === wanted);
      return theirs.length === 0 ? [] : [{ name, verbs: theirs }];
    });
  const due = (wanted: 'over' | 'soon', title: string): SafetyDue[] => {
    const found = of(wanted);
    if (found.length === 0) return [];
    const named = found.slice(0, MOST_NAMED).map(wordsOf).join('; ');
    const more = found.length - MOST_NAMED;
    const what = `${found.length === 1 ? '1 person' : `${found.length} people`}: ${named}${more > 0 ? ` and ${more} more` : ''}.`;
    return [{ title, what, act: { label: 'Inductions', href } }];
  };
  return [
    ...due('over', 'Inductions have run out'),
    ...due('soon', `Inductions run out within ${SOON_DAYS} days`),
    ...(settings.gated.length === 0
      ? [
          {
            title: 'Nothing here asks for an induction yet',
            what: NOT_GATED,
            act: { label: 'Note inductions', href: `${href}/new` },
          },
        ]
      : []),
  ];
}

const MOST_NAMED = 3;

const wordsOf = ({ name, verbs }: { name: string; verbs: VerbStanding[] }): string =>
  `${name} (${verbs.map(({ verb }) => VERB_WORDS[verb].name.toLowerCase()).join(', ')})`;

const NOT_GATED = 'Note the inductions people have had; then a manager switches it on.';
