import { HOUR, type Instant, MINUTE } from './clock.ts';
import type { Role } from './policy.ts';
import { fromWallTime, toWallTime } from './wall-time.ts';

/** How somebody is told: by mail is by mail and in the inbox. */
export type Way = 'inbox' | 'mail' | 'none';

interface Told {
  words: string;
  roles: readonly Role[];
  /** Until a person chooses. */
  usual: Way;
  ways: readonly Way[];
  /** Of a mail, where its first sentence may not stand on a locked screen or in a list. */
  subject?: string;
}

const everyone: readonly Role[] = ['member', 'technician', 'manager'];
const staff: readonly Role[] = ['technician', 'manager'];
const any: readonly Way[] = ['inbox', 'mail', 'none'];
/** It is at least in the inbox. */
const kept: readonly Way[] = ['inbox', 'mail'];

/** What people are told of, and how each of them may choose to be told. */
export const TOLD = {
  'pick-up': {
    words: 'Your ware came out of a kiln, or waits to be fetched',
    roles: everyone,
    usual: 'mail',
    ways: any,
  },
  'own-things': {
    words: 'Others do something with your ware, your groups or what you asked for',
    roles: everyone,
    usual: 'inbox',
    ways: any,
  },
  open: {
    words: 'A load in a kiln that you fire may be cold enough to open',
    roles: everyone,
    usual: 'mail',
    ways: any,
  },
  notice: { words: 'A notice that you have not read', roles: everyone, usual: 'inbox', ways: kept },
  fees: {
    words: 'Statements, charges, and what is overdue',
    roles: everyone,
    usual: 'mail',
    ways: kept,
    subject: 'Your account',
  },
  'sign-in': { words: 'How you sign in was changed', roles: everyone, usual: 'mail', ways: ['mail'] },
  day: { words: 'What needs somebody, once a day', roles: staff, usual: 'mail', ways: any },
  stir: { words: 'Buckets in use that nobody stirred for days', roles: staff, usual: 'inbox', ways: any },
  reading: { words: 'Buckets whose reading is overdue', roles: staff, usual: 'inbox', ways: any },
  duty: { words: 'Safety duties that are due', roles: staff, usual: 'inbox', ways: any },
  safety: {
    words: 'Something happened: the safety log, a recalled lot',
    roles: staff,
    usual: 'mail',
    ways: kept,
  },
  service: {
    words: 'Mail or another system cannot be reached',
    roles: ['manager'],
    usual: 'inbox',
    ways: any,
  },
} as const satisfies Record<string, Told>;

export type ToldKind = keyof typeof TOLD;
export const TOLD_KINDS = Object.keys(TOLD) as ToldKind[];

/** Kinds of messages by what a person chooses for them; the others are about things of theirs. */
const CHOICE_OF: ReadonlyMap<string, ToldKind> = new Map([
  ['came-out', 'pick-up'],
  ['statement', 'fees'],
  ['reminder', 'fees'],
  ['stock.recall', 'safety'],
  ['safety-entry', 'safety'],
  ['safety-follow-up', 'safety'],
  ['hook', 'service'],
]);

const isKind = (name: string): name is ToldKind => Object.hasOwn(TOLD, name);

/** Which choice a message of this kind goes by. */
export const choiceOf = (kind: string): ToldKind =>
  isKind(kind) ? kind : (CHOICE_OF.get(kind) ?? 'own-things');

/** The ways in which a kind may be told. */
export const waysOf = (kind: ToldKind): readonly Way[] => TOLD[kind].ways;

/** How somebody is told of a kind: as they chose, if that is open to choice, else as usual. */
export function wayOf(kind: ToldKind, chosen: Way | null): Way {
  return chosen !== null && waysOf(kind).includes(chosen) ? chosen : TOLD[kind].usual;
}

/** Whether a role is ever told of a kind. */
export const concerns = (kind: ToldKind, role: Role): boolean =>
  (TOLD[kind].roles as readonly Role[]).includes(role);

/** What stands in a list or on a locked screen: the first sentence of a mail, or less. */
export function subjectOf(kind: ToldKind, words: string): string {
  const told: Told = TOLD[kind];
  if (told.subject !== undefined) return told.subject;
  const line = oneLine(words);
  const sentence = /^.{10,}?[.!?](?= |$)/u.exec(line)?.[0] ?? line;
  const letters = [...sentence.replace(/\.$/, '')];
  return letters.length <= SUBJECT ? letters.join('') : `${letters.slice(0, SUBJECT - 1).join('')}…`;
}

const SUBJECT = 120;

/** Words without line breaks or anything else that is no letter: a header takes them as they are. */
export const oneLine = (words: string): string => words.replaceAll(/[\p{Cc}\u2028\u2029]+/gu, ' ').trim();

/** Minutes after midnight on the studio's clock, both set or none. */
export interface Quiet {
  from: number | null;
  until: number | null;
}

/**
 * When a mail may go out: at once, or at the end of somebody's quiet time. The hours are those of the studio's wall, so
 * that a night in which the clocks change is shorter or longer by that.
 */
export function afterQuiet(now: Instant, { from, until }: Quiet, timeZone: string): Instant {
  if (from === null || until === null || from === until) return now;
  const wall = toWallTime(now, timeZone);
  const minute = Number(wall.slice(11, 13)) * 60 + Number(wall.slice(14, 16));
  const isOver = from > until;
  const isQuiet = isOver ? minute >= from || minute < until : minute >= from && minute < until;
  if (!isQuiet) return now;
  const day = isOver && minute >= from ? dayAfter(wall.slice(0, 10)) : wall.slice(0, 10);
  const end = atMinute(day, until, timeZone);
  // The hour that comes twice: this is its second time.
  return end > now ? end : end + HOUR;
}

/** When the studio's clock shows so many minutes after midnight of a day, or the first time after that it can show. */
export function atMinute(day: string, minute: number, timeZone: string): Instant {
  for (let later = minute; later < 24 * 60; later += 15) {
    const at = fromWallTime(`${day}T${clockText(later)}`, timeZone);
    if (at !== null) return at;
  }
  return atMinute(dayAfter(day), 0, timeZone);
}

/** `07:30` of 450 minutes. */
export const clockText = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;

/** The day after one, `2026-11-29` of `2026-11-28`; or so many days after it, or before. */
export const dayAfter = (day: string, days = 1): string =>
  new Date(Date.parse(`${day}T12:00:00Z`) + days * 24 * HOUR).toISOString().slice(0, 10);

// How mail that could not go out is tried again; common practice, but for the last: RFC 5321, 4.5.4.1 has a server try
// for four to five days.
const FIRST_WAIT = MINUTE;
const LONGEST_WAIT = HOUR;
const GIVE_UP_AFTER = 5 * 24 * HOUR;

/** When the try after so many comes: after 1, 2, 4 … minutes, and then every hour. */
export const nextTry = (tries: number, now: Instant): Instant =>
  now + Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** Math.min(20, Math.max(0, tries - 1)));

/** Whether mail made then is no longer worth a try. */
export const isTooOld = (madeAt: Instant, now: Instant): boolean => now - madeAt > GIVE_UP_AFTER;

const LINK = /^See: (\/\S*)$/gm;

/** Of a page of ours, as a line of a mail's words: its address is put in front when it goes out. */
export const linkLine = (href: string): string => `See: ${href}`;

/** The words of a mail with whole addresses, or with the way to go by hand where the studio has no address of its own. */
export const withAddresses = (body: string, origin: string | null): string =>
  body.replaceAll(LINK, (_line, path: string) =>
    origin === null ? `In Wareboard: ${path}` : `See: ${origin}${path}`,
  );

/** What every mail ends with. */
export const footer = (studio: string, origin: string | null): string =>
  [
    '-- ',
    `Sent by ${oneLine(studio)}. Answers to this mail are read by nobody here.`,
    origin === null
      ? 'Choose what reaches you on your own page, under What reaches you.'
      : `Choose what reaches you: ${origin}/me/told`,
  ].join('\n');
