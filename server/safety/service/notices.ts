import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice, code, count, day, flag, text } from '../../core/forms.ts';
import { tell } from '../../core/messages.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { hasRead, type NoticeScope, type Standing, standing } from '../notice.ts';
import * as store from '../store/notices.ts';
import type { ClassBasis } from '../worse.ts';
import {
  changeSince,
  classificationOf,
  draftedFrom,
  findTarget,
  type Target,
  targetOf,
} from './notice-target.ts';

export * from './notice-target.ts';
export * from './notices-due.ts';
export * from './notices-shown.ts';

const NO_NOTICE = 'There is no notice with this number.';
const SCOPES = ['bucket', 'material', 'kiln', 'room', 'everywhere'] as const satisfies NoticeScope[];

const title = () => text(120);
const line = () => text(240).optional();

const words = {
  title: title(),
  dipping: line(),
  mixing: line(),
  cleaning: line(),
  validFrom: day().optional(),
  validTo: day().optional(),
  notForChildren: flag().default(false),
  /** The classes that the words were drafted from, as the form showed them: what was read is what is posted. */
  drafted: text(2000).optional(),
};

export const wordsBody = z.strictObject(words);
export const noticeBody = z.strictObject({
  scope: choice(SCOPES),
  bucket: code().optional(),
  material: count(1, 2 ** 31 - 1).optional(),
  kiln: code().optional(),
  room: text(60).optional(),
  ...words,
});
export type NoticeCommand = z.output<typeof noticeBody>;
type Words = z.output<typeof wordsBody>;

export interface NoticeNow extends store.NoticeRow {
  target: Target;
  standing: Standing;
  /** Whether anybody is asked to read it: it is in force, on no retired bucket. */
  asked: boolean;
  /** Whether whoever asks has still to read it. */
  unread: boolean;
}

export interface NoticePage {
  notice: NoticeNow;
  /** Earlier versions too, the newest first. */
  versions: store.NoticeRow[];
  /** What its classification says by now that it does not; null where it stands for none or nothing changed. */
  change: { appeared: string[]; vanished: string[] } | null;
  unknown: string[];
  /** What print adds beside the statements of the classes, from what is known of the mixture now. */
  supplement: string[];
}

/** Posts a notice; answers with its number. Who posts it has read it. */
export async function postNotice(act: Act, command: NoticeCommand): Promise<number> {
  mustBeAllowed(act.actor, 'notices.post');
  const target = await findTarget(act, command);
  const { scope, bucketId, materialId, kilnId, room } = target;
  const row = await versionRow(act, target, command);
  const number = await store.insert(act.tx, { scope, bucketId, materialId, kilnId, room }, row);
  await readAsAuthor(act, number);
  await record(act, 'notice.post', subject(number), { scope, version: 1 });
  return number;
}

/** Posts the next version of a notice, of one that was taken down too. The versions before stay as they were. */
export async function reviseNotice(act: Act, number: number, command: Words): Promise<number> {
  mustBeAllowed(act.actor, 'notices.post');
  await store.lock(act.tx, number);
  const before = await newestOf(act, number);
  const row = await versionRow(act, targetOf(before), command);
  const version = before.version + 1;
  await store.appendVersion(act.tx, before.id, version, row);
  await readAsAuthor(act, number);
  await record(act, 'notice.revise', subject(number), { version });
  return version;
}

/** Takes a notice down: nobody is asked to read it any more, and its history stays. */
export async function withdrawNotice(act: Act, number: number): Promise<void> {
  mustBeAllowed(act.actor, 'notices.post');
  await store.lock(act.tx, number);
  const before = await newestOf(act, number);
  if (before.kind === 'withdrawn') throw new Conflict('This notice was taken down already.');
  const { title, dipping, mixing, cleaning, signalWord, pictograms, hCodes, pCodes } = before;
  const { basis, validFrom, validTo, notForChildren } = before;
  const version = before.version + 1;
  await store.appendVersion(act.tx, before.id, version, {
    ...{ title, dipping, mixing, cleaning, signalWord, pictograms, hCodes, pCodes },
    ...{ basis, validFrom, validTo, notForChildren },
    kind: 'withdrawn',
    by: act.actor.id,
    tokenId: act.actor.tokenId,
    at: act.now,
  });
  await record(act, 'notice.withdraw', subject(number), { version });
}

const subject = (number: number) => `notice:${number}`;

async function versionRow(act: Act, target: Target, command: Words): Promise<store.NewVersion> {
  const { title, dipping = '', mixing = '', cleaning = '', notForChildren, drafted } = command;
  const classified = await classificationOf(act, target);
  if (drafted !== undefined && drafted !== draftedFrom(classified))
    throw new Conflict(
      'What it is classified as changed while you wrote. Look at the classes again, then post it.',
    );
  const validFrom = command.validFrom ?? (await studioDay(act));
  const validTo = command.validTo ?? null;
  if (validTo !== null && validTo < validFrom)
    throw new Invalid([{ path: 'validTo', message: 'It ends before it begins.' }]);
  return {
    kind: 'posted',
    ...{ title, dipping, mixing, cleaning, notForChildren, validFrom, validTo },
    signalWord: classified?.signalWord ?? null,
    pictograms: classified?.pictograms ?? [],
    hCodes: classified?.hCodes ?? [],
    pCodes: classified?.pCodes ?? [],
    basis: classified?.basis ?? null,
    by: act.actor.id,
    tokenId: act.actor.tokenId,
    at: act.now,
  };
}

async function readAsAuthor(act: Act, number: number): Promise<void> {
  const { id, version, basis } = await newestOf(act, number);
  await keepRead(act, id, version, basis);
}

const keepRead = (act: Act, noticeId: number, version: number, basis: ClassBasis | null): Promise<void> =>
  store.insertRead(act.tx, {
    ...{ noticeId, version, basis },
    personId: act.actor.id,
    at: act.now,
    tokenId: act.actor.tokenId,
  });

/**
 * Says that whoever asks has read a notice as it is now.
 * @param version the one they were shown, where that is known
 * @throws Conflict where another one was posted since
 */
export async function readNotice(act: Act, number: number, version?: number): Promise<void> {
  mustBeAllowed(act.actor, 'notices.read');
  const notice = await newestOf(act, number);
  if (notice.kind === 'withdrawn') throw new Conflict('This notice was taken down.');
  if (version !== undefined && version !== notice.version)
    throw new Conflict('This notice was changed since you opened it. Read it as it is now.');
  await keepRead(act, notice.id, notice.version, notice.basis);
}

async function newestOf({ tx }: Read, number: number): Promise<store.NoticeRow> {
  const [newest] = await store.versions(tx, number);
  if (!newest) throw new NotFound(NO_NOTICE);
  return newest;
}

/** What one person has read, in the shape that `hasRead` takes. */
const readsBy = (rows: readonly store.ReadRow[], row: Pick<store.NoticeRow, 'id' | 'version'>) => ({
  own: rows.some((read) => read.noticeId === row.id && read.version === row.version),
  bases: rows.flatMap(({ basis }) => basis ?? []),
});

const toNow = (row: store.NoticeRow, day: string, reads: readonly store.ReadRow[]): NoticeNow => {
  const stands = standing(row, day);
  const asked = stands === 'in-force' && !row.bucketRetired;
  return {
    ...row,
    target: targetOf(row),
    standing: stands,
    asked,
    unread: asked && !hasRead(row.basis, readsBy(reads, row)),
  };
};

/** Notices, the newest first, with what whoever asks has read of them. */
export async function listNotices(
  read: Read,
  page: { limit: number; before: number | null },
): Promise<{ notices: NoticeNow[]; next: number | null }> {
  mustBeAllowed(read.actor, 'notices.read');
  const [rows, reads, day] = await Promise.all([
    store.list(read.tx, page.limit + 1, page.before ?? 2 ** 31 - 1),
    store.readsOf(read.tx, read.actor.id),
    studioDay(read),
  ]);
  const notices = rows.slice(0, page.limit).map((row) => toNow(row, day, reads));
  return { notices, next: rows.length > page.limit ? (notices.at(-1)?.number ?? null) : null };
}

/** A notice with its history, and whether what it stands for changed since. */
export async function showNotice(read: Read, number: number): Promise<NoticePage> {
  mustBeAllowed(read.actor, 'notices.read');
  const [versions, reads, day] = await Promise.all([
    store.versions(read.tx, number),
    store.readsOf(read.tx, read.actor.id),
    studioDay(read),
  ]);
  const [newest] = versions;
  if (!newest) throw new NotFound(NO_NOTICE);
  const notice = toNow(newest, day, reads);
  const classified = await classificationOf(read, notice.target);
  return {
    notice,
    versions,
    change: changeSince(notice.basis, classified),
    unknown: classified?.unknown ?? [],
    supplement: classified?.supplement ?? [],
  };
}

export interface NoticeReader {
  id: number;
  name: string;
  role: string;
  /** When they read this version, or one of the same class; null: not yet. */
  readAt: Instant | null;
}

/** Everybody who may act here, and whether they have read a notice: those who have not come first. */
export async function readersOf(
  read: Read,
  number: number,
): Promise<{ notice: NoticeNow; readers: NoticeReader[] }> {
  mustBeAllowed(read.actor, 'notices.post');
  const [row, reads, people, day] = await Promise.all([
    newestOf(read, number),
    store.readsOf(read.tx, null),
    store.activePeople(read.tx),
    studioDay(read),
  ]);
  const byPerson = byReader(reads);
  const readers = people.map(({ id, name, role }) => {
    const own = byPerson.get(id) ?? [];
    return { id, name, role, readAt: readAt(row, own) };
  });
  return {
    notice: toNow(row, day, byPerson.get(read.actor.id) ?? []),
    readers: [...readers.filter((r) => r.readAt === null), ...readers.filter((r) => r.readAt !== null)],
  };
}

function byReader(reads: readonly store.ReadRow[]): Map<number, store.ReadRow[]> {
  const by = new Map<number, store.ReadRow[]>();
  for (const one of reads) {
    const own = by.get(one.personId);
    if (own) own.push(one);
    else by.set(one.personId, [one]);
  }
  return by;
}

/** The newest reading by which a person has read a notice. */
function readAt(row: store.NoticeRow, own: readonly store.ReadRow[]): Instant | null {
  const counts = own.filter((one) => hasRead(row.basis, readsBy([one], row)));
  return counts[0]?.at ?? null;
}

/** Reminds everybody who has still to read a notice; answers how many that are. */
export async function remindReaders(act: Act, number: number): Promise<number> {
  const { notice, readers } = await readersOf(act, number);
  if (!notice.asked)
    throw new Conflict(
      `${notice.bucketRetired ? 'Its bucket is retired' : 'This notice is not in force'}: nobody is asked to read it.`,
    );
  const late = readers.filter((reader) => reader.readAt === null).map(({ id }) => id);
  await tell(act, {
    personIds: late,
    kind: 'notice',
    words: `A notice waits to be read: ${notice.title}.`,
    href: `/notices/${number}`,
  });
  await record(act, 'notice.remind', subject(number), { people: late.length });
  return late.length;
}

/** A notice in force that some have still to read. */
export interface UnreadNotice {
  number: number;
  version: number;
  title: string;
  /** When it was put up as it is now. */
  at: Instant;
  personIds: number[];
}

/** Every notice in force with those who have not read it. */
export async function unreadByAll(read: Read): Promise<UnreadNotice[]> {
  mustBeAllowed(read.actor, 'notices.post');
  const day = await studioDay(read);
  const [hanging, reads, people] = await Promise.all([
    store.listHanging(read.tx, day),
    store.readsOf(read.tx, null),
    store.activePeople(read.tx),
  ]);
  const readsOf = byReader(reads);
  return hanging.flatMap((row) => {
    const personIds = people.flatMap(({ id }) =>
      hasRead(row.basis, readsBy(readsOf.get(id) ?? [], row)) ? [] : [id],
    );
    const { number, version, title, at } = row;
    return personIds.length === 0 ? [] : [{ number, version, title, at, personIds }];
  });
}
