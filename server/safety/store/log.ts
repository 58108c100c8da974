import {
  aliasedTable,
  and,
  asc,
  desc,
  eq,
  gte,
  inArray,
  isNull,
  lt,
  max,
  ne,
  or,
  type SQL,
  sql,
} from 'drizzle-orm';
import { bucketState, buckets } from '../../buckets/schema.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import { kilns } from '../../kilns/schema.ts';
import { materials } from '../../materials/schema.ts';
import type { EntryKind, LaterKind, Payload } from '../log.ts';
import { duties, safetyEntries, safetyNotes, safetyPhotos } from '../schema.ts';

/** Who looks: whoever does not keep the log finds what they wrote, and what is not about somebody's health. */
export interface Viewer {
  id: number;
  keeps: boolean;
}

export interface EntryRow {
  number: number;
  kind: EntryKind | LaterKind;
  about: number | null;
  happenedAt: Instant;
  recordedAt: Instant;
  byId: number;
  by: string;
  byToken: boolean;
  place: string;
  bucketCode: string | null;
  bucketName: string | null;
  materialId: number | null;
  materialName: string | null;
  kilnCode: string | null;
  kilnName: string | null;
  dutyNumber: number | null;
  dutyName: string | null;
  restricted: boolean;
  what: string | null;
  action: string | null;
  ownerId: number | null;
  owner: string | null;
  dueOn: string | null;
  payload: Payload;
}

export interface EntryFilter {
  kind?: EntryKind | undefined;
  /** Only what still waits for somebody. */
  open?: boolean | undefined;
  /** Only what whoever looks wrote. */
  own?: boolean | undefined;
  from?: Instant | undefined;
  /** The first instant that is too late. */
  until?: Instant | undefined;
  before?: number | undefined;
  /** Leaves out what is about somebody's health, whoever asks. */
  withoutHealth?: boolean | undefined;
  limit: number;
  order?: 'newest' | 'by-time';
}

const actions = aliasedTable(safetyNotes, 'actions');
const owners = aliasedTable(people, 'owners');

const select = (db: Executor) =>
  db
    .select({
      number: safetyEntries.number,
      kind: sql<EntryRow['kind']>`${safetyEntries.kind}`,
      about: safetyEntries.about,
      happenedAt: safetyEntries.happenedAt,
      recordedAt: safetyEntries.recordedAt,
      byId: people.id,
      by: people.name,
      byToken: sql<boolean>`${safetyEntries.tokenId} is not null`,
      place: safetyEntries.place,
      bucketCode: buckets.code,
      bucketName: buckets.name,
      materialId: materials.id,
      materialName: materials.name,
      kilnCode: kilns.code,
      kilnName: kilns.name,
      dutyNumber: duties.number,
      dutyName: duties.name,
      restricted: safetyEntries.restricted,
      what: safetyNotes.text,
      action: actions.text,
      ownerId: safetyEntries.ownerId,
      owner: owners.name,
      dueOn: safetyEntries.dueOn,
      payload: sql<Payload>`${safetyEntries.payload}`,
    })
    .from(safetyEntries)
    .innerJoin(people, eq(people.id, safetyEntries.by))
    .leftJoin(buckets, eq(buckets.id, safetyEntries.bucketId))
    .leftJoin(materials, eq(materials.id, safetyEntries.materialId))
    .leftJoin(kilns, eq(kilns.id, safetyEntries.kilnId))
    .leftJoin(duties, eq(duties.id, safetyEntries.dutyId))
    .leftJoin(safetyNotes, eq(safetyNotes.id, safetyEntries.whatId))
    .leftJoin(actions, eq(actions.id, safetyEntries.actionId))
    .leftJoin(owners, eq(owners.id, safetyEntries.ownerId));

// An entry is restricted from the start, or since an amendment said so.
const isRestricted = sql`(${safetyEntries.restricted} or exists (select 1 from safety_entries r
  where r.about = ${safetyEntries.number} and r.restricted))`;

const isSeenBy = ({ id, keeps }: Viewer): SQL | undefined =>
  keeps ? undefined : or(eq(safetyEntries.by, id), sql`not ${isRestricted}`);

/** As `standingOf` says it: open, or followed up and not closed. */
const stillWaits = (opens: readonly EntryKind[]): SQL => sql`not exists (select 1 from safety_entries s
    where s.about = ${safetyEntries.number} and s.kind = 'amendment' and s.payload ? 'strikes')
  and coalesce(
    (select l.kind = 'follow-up' from safety_entries l
      where l.about = ${safetyEntries.number} and l.kind in ('follow-up', 'closing')
      order by l.number desc limit 1),
    ${inArray(safetyEntries.kind, [...opens])}
      or coalesce(${safetyEntries.payload} ->> 'outcome' = 'needs-work', false))`;

/** Entries that somebody may see, without the rows about them. `opens`: kinds that wait from the start. */
export async function listEntries(
  db: Executor,
  viewer: Viewer,
  filter: EntryFilter,
  opens: readonly EntryKind[],
): Promise<EntryRow[]> {
  const { kind, open, own, from, until, before, withoutHealth, limit, order = 'newest' } = filter;
  return select(db)
    .where(
      and(
        isNull(safetyEntries.about),
        isSeenBy(viewer),
        kind && eq(safetyEntries.kind, kind),
        open ? stillWaits(opens) : undefined,
        own ? eq(safetyEntries.by, viewer.id) : undefined,
        from === undefined ? undefined : gte(safetyEntries.happenedAt, from),
        until === undefined ? undefined : lt(safetyEntries.happenedAt, until),
        before === undefined ? undefined : lt(safetyEntries.number, before),
        withoutHealth ? sql`not ${isRestricted}` : undefined,
      ),
    )
    .orderBy(
      ...(order === 'newest'
        ? [desc(safetyEntries.number)]
        : [asc(safetyEntries.happenedAt), asc(safetyEntries.number)]),
    )
    .limit(limit);
}

/** What was written about these entries, the earliest first. */
export async function laterRows(db: Executor, numbers: readonly number[]): Promise<EntryRow[]> {
  if (numbers.length === 0) return [];
  return select(db)
    .where(inArray(safetyEntries.about, [...numbers]))
    .orderBy(asc(safetyEntries.number));
}

/** An entry by its number, through whoever looks: what they may not see is not there. */
export async function findEntry(db: Executor, viewer: Viewer, number: number): Promise<EntryRow | null> {
  const [row] = await select(db).where(
    and(eq(safetyEntries.number, number), isNull(safetyEntries.about), isSeenBy(viewer)),
  );
  return row ?? null;
}

/** Photos of entries, as hashes, in the order in which they came. */
export async function photosOf(
  db: Executor,
  numbers: readonly number[],
): Promise<{ entry: number; sha256: string }[]> {
  if (numbers.length === 0) return [];
  return db
    .select({ entry: safetyPhotos.entry, sha256: files.sha256 })
    .from(safetyPhotos)
    .innerJoin(files, eq(files.id, safetyPhotos.fileId))
    .where(inArray(safetyPhotos.entry, [...numbers]))
    .orderBy(asc(safetyPhotos.entry), asc(files.id));
}

/** Whether a file is a photo of entries, and of none that this person may see. */
export async function isHiddenPhoto(db: Executor, fileId: number, viewer: Viewer): Promise<boolean> {
  const seen = isSeenBy(viewer);
  if (!seen) return false;
  const [row] = await db
    .select({ hidden: sql<boolean | null>`bool_and(not (${seen}))` })
    .from(safetyPhotos)
    .innerJoin(safetyEntries, eq(safetyEntries.number, safetyPhotos.entry))
    .where(eq(safetyPhotos.fileId, fileId));
  return row?.hidden === true;
}

/** Lets those who write into the log take turns, so that its numbers have no gaps; answers the next one. */
export async function nextNumber(tx: Tx): Promise<number> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended('safety log', 0))`);
  const [row] = await tx.select({ last: max(safetyEntries.number) }).from(safetyEntries);
  return (row?.last ?? 0) + 1;
}

export async function insertEntry(tx: Tx, row: typeof safetyEntries.$inferInsert): Promise<void> {
  await tx.insert(safetyEntries).values(row);
}

/** False where the entry has this photo already. */
export async function insertPhoto(tx: Tx, entry: number, fileId: number): Promise<boolean> {
  const made = await tx
    .insert(safetyPhotos)
    .values({ entry, fileId })
    .onConflictDoNothing()
    .returning({ entry: safetyPhotos.entry });
  return made.length > 0;
}

// What an entry may be about, and whom it concerns

export async function bucketId(db: Executor, code: string): Promise<number | null> {
  const [row] = await db
    .select({ id: buckets.id })
    .from(buckets)
    .where(sql`lower(${buckets.code}) = lower(${code})`);
  return row?.id ?? null;
}

export async function kilnId(db: Executor, code: string): Promise<number | null> {
  const [row] = await db
    .select({ id: kilns.id })
    .from(kilns)
    .where(sql`lower(${kilns.code}) = lower(${code})`);
  return row?.id ?? null;
}

export async function hasMaterial(db: Executor, id: number): Promise<boolean> {
  const rows = await db.select({ id: materials.id }).from(materials).where(eq(materials.id, id));
  return rows.length > 0;
}

export interface Choices {
  buckets: { code: string; name: string }[];
  kilns: { code: string; name: string }[];
  materials: { id: number; name: string }[];
}

/** What is in use and may be named in an entry. */
export async function choices(db: Executor): Promise<Choices> {
  const [allBuckets, allKilns, allMaterials] = await Promise.all([
    db
      .select({ code: buckets.code, name: buckets.name })
      .from(buckets)
      .innerJoin(bucketState, eq(bucketState.bucketId, buckets.id))
      .where(ne(bucketState.service, 'retired')),
    db.select({ code: kilns.code, name: kilns.name }).from(kilns).where(isNull(kilns.retiredAt)),
    db.select({ id: materials.id, name: materials.name }).from(materials).where(isNull(materials.retiredAt)),
  ]);
  return { buckets: allBuckets, kilns: allKilns, materials: allMaterials };
}

export interface Keeper {
  id: number;
  name: string;
  email: string;
}

/** Those who keep the log: technicians and managers who are here. */
export async function keepers(db: Executor): Promise<Keeper[]> {
  return db
    .select({ id: people.id, name: people.name, email: people.email })
    .from(people)
    .where(and(inArray(people.role, ['technician', 'manager']), eq(people.active, true)))
    .orderBy(asc(people.name), asc(people.id));
}
