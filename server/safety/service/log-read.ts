import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioDay, studioTimeZone } from '../../core/session.ts';
import { addDays, dayStart } from '../../kilns/calendar.ts';
import { groupBy } from '../../ware/group.ts';
import {
  ENTRY_KINDS,
  type EntryKind,
  isLate,
  KINDS,
  type LaterKind,
  type Payload,
  type Standing,
  standingOf,
} from '../log.ts';
import * as store from '../store/log.ts';

/** A row about an entry. */
export interface Later {
  number: number;
  kind: LaterKind;
  at: Instant;
  by: string;
  byToken: boolean;
  words: string;
  owner: string | null;
  dueOn: string | null;
  restricts: boolean;
  strikes: boolean;
}

/** An entry as people see it, with how it stands now. */
export interface Entry {
  number: number;
  kind: EntryKind;
  happenedAt: Instant;
  recordedAt: Instant;
  by: string;
  byToken: boolean;
  /** Written by whoever asks. */
  isOwn: boolean;
  place: string;
  bucket: { code: string; name: string } | null;
  material: { id: number; name: string } | null;
  kiln: { code: string; name: string } | null;
  duty: { number: number; name: string } | null;
  restricted: boolean;
  what: string | null;
  action: string | null;
  payload: Payload;
  standing: Standing;
  isLate: boolean;
  /** The earliest first. */
  later: Later[];
  /** Hashes. */
  photos: string[];
}

export interface LogFilter extends Omit<store.EntryFilter, 'from' | 'until' | 'order' | 'limit'> {
  limit?: number | undefined;
  /** Days of the studio, both included. */
  from?: string | undefined;
  to?: string | undefined;
}

const NO_ENTRY = 'There is no entry with this number.';
const OPENS = ENTRY_KINDS.filter((kind) => KINDS[kind].opens);
const refuse = (path: string, message: string) => new Invalid([{ path, message }]);

const viewerOf = ({ actor }: Read): store.Viewer => ({ id: actor.id, keeps: may(actor.role, 'log.keep') });

/** A photo of an entry is for whoever may read that entry; any other file is none of the log's. */
export const mayOpenPhoto = async (read: Read, fileId: number): Promise<boolean> =>
  !(await store.isHiddenPhoto(read.tx, fileId, viewerOf(read)));

/** Whether whoever asks may write entries of a kind. */
export const mayWrite = ({ actor }: Read, kind: EntryKind): boolean =>
  may(actor.role, KINDS[kind].everyone ? 'log.write' : 'log.keep');

/**
 * The log as whoever asks may see it, the entry written last first; `next` is where to go on, null at the end. Throws
 * Invalid for a period that ends before it begins.
 */
export async function listLog(
  read: Read,
  { limit = 50, from, to, ...filter }: LogFilter = {},
): Promise<{ entries: Entry[]; next: number | null }> {
  mustBeAllowed(read.actor, 'safety.see');
  const period = await periodOf(read, { from, to });
  const rows = await store.listEntries(
    read.tx,
    viewerOf(read),
    { ...filter, ...period, limit: limit + 1 },
    OPENS,
  );
  const entries = await entriesOf(read, rows.slice(0, limit));
  return { entries, next: rows.length > limit ? (entries.at(-1)?.number ?? null) : null };
}

/** More entries than this are no page to print: a register is whole or says that it would not be. */
const MOST_IN_REGISTER = 10_000;

/**
 * Every entry that happened in a period, as it happened; for the register. Throws as `listLog`, and Invalid for a
 * period with more than `most` of them.
 */
export async function entriesByTime(
  read: Read,
  { from, to, ...filter }: Pick<LogFilter, 'from' | 'to' | 'withoutHealth' | 'kind' | 'open'>,
  most = MOST_IN_REGISTER,
): Promise<Entry[]> {
  mustBeAllowed(read.actor, 'log.keep');
  const period = await periodOf(read, { from, to });
  const rows = await store.listEntries(
    read.tx,
    viewerOf(read),
    { ...filter, ...period, limit: most + 1, order: 'by-time' },
    OPENS,
  );
  if (rows.length > most) throw refuse('from', `More than ${most} entries: choose a shorter period.`);
  return entriesOf(read, rows);
}

/** One entry with all about it. Throws NotFound for what is not there, or not for whoever asks. */
export async function findEntry(read: Read, number: number): Promise<Entry> {
  mustBeAllowed(read.actor, 'safety.see');
  const row = await store.findEntry(read.tx, viewerOf(read), number);
  const [entry] = row ? await entriesOf(read, [row]) : [];
  if (!entry) throw new NotFound(NO_ENTRY);
  return entry;
}

/** What an entry may name: buckets, kilns and materials in use. */
export async function entryChoices(read: Read): Promise<store.Choices> {
  mustBeAllowed(read.actor, 'log.write');
  const { buckets, kilns, materials } = await store.choices(read.tx);
  const { compare } = new Intl.Collator('en', { numeric: true, sensitivity: 'base' });
  const byName = <T extends { name: string }>(list: T[]) => list.sort((a, b) => compare(a.name, b.name));
  return { buckets: byName(buckets), kilns: byName(kilns), materials: byName(materials) };
}

/** Who may own a follow-up. */
export async function followUpOwners(read: Read): Promise<store.Keeper[]> {
  mustBeAllowed(read.actor, 'log.keep');
  return store.keepers(read.tx);
}

async function entriesOf(read: Read, rows: store.EntryRow[]): Promise<Entry[]> {
  const numbers = rows.map(({ number }) => number);
  const [laterRows, photos, today] = await Promise.all([
    store.laterRows(read.tx, numbers),
    store.photosOf(read.tx, numbers),
    studioDay(read),
  ]);
  const laterBy = groupBy(laterRows, (row) => row.about);
  const photosBy = groupBy(photos, ({ entry }) => entry);
  return rows.map((row) => {
    const kind = row.kind as EntryKind;
    const later = laterBy.get(row.number) ?? [];
    const standing = standingOf({ kind, payload: row.payload }, later);
    return {
      number: row.number,
      kind,
      happenedAt: row.happenedAt,
      recordedAt: row.recordedAt,
      by: row.by,
      byToken: row.byToken,
      isOwn: row.byId === read.actor.id,
      place: row.place,
      bucket: pair(row.bucketCode, row.bucketName, (code, name) => ({ code, name })),
      material: pair(row.materialId, row.materialName, (id, name) => ({ id, name })),
      kiln: pair(row.kilnCode, row.kilnName, (code, name) => ({ code, name })),
      duty: pair(row.dutyNumber, row.dutyName, (number, name) => ({ number, name })),
      restricted: row.restricted || later.some(({ restricted }) => restricted),
      what: row.what,
      action: row.action,
      payload: row.payload,
      standing,
      isLate: isLate(standing, today),
      later: later.map(toLater),
      photos: (photosBy.get(row.number) ?? []).map(({ sha256 }) => sha256),
    };
  });
}

const toLater = (row: store.EntryRow): Later => ({
  number: row.number,
  kind: row.kind as LaterKind,
  at: row.happenedAt,
  by: row.by,
  byToken: row.byToken,
  words: row.what ?? '',
  owner: row.owner,
  dueOn: row.dueOn,
  restricts: row.restricted,
  strikes: row.payload.strikes ?? false,
});

function pair<A, B, T>(a: A | null, b: B | null, make: (a: A, b: B) => T): T | null {
  return a === null || b === null ? null : make(a, b);
}

async function periodOf(
  read: Read,
  { from, to }: Pick<LogFilter, 'from' | 'to'>,
): Promise<Pick<store.EntryFilter, 'from' | 'until'>> {
  if (from === undefined && to === undefined) return {};
  if (from !== undefined && to !== undefined && to < from)
    throw refuse('to', 'This lies before the first day.');
  const timeZone = await studioTimeZone(read.tx);
  return {
    from: from === undefined ? undefined : dayStart(from, timeZone),
    until: to === undefined ? undefined : dayStart(addDays(to, 1), timeZone),
  };
}
