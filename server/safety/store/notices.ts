import { and, asc, desc, eq, gte, isNull, lte, not, or, type SQL, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import { bucketState, buckets } from '../../buckets/schema.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people, studio } from '../../core/schema.ts';
import { statement } from '../../core/statement.ts';
import { kilns } from '../../kilns/schema.ts';
import { materials, recipeLines } from '../../materials/schema.ts';
import { noticeReads, notices, noticeVersions } from '../schema.ts';
import type { ClassBasis } from '../worse.ts';

const newest = and(
  eq(noticeVersions.noticeId, notices.id),
  eq(noticeVersions.version, notices.latestVersion),
);

const readByPerson = sql<boolean>`exists (
  select 1 from ${noticeReads} where ${noticeReads.noticeId} = ${notices.id}
    and ${noticeReads.version} = ${notices.latestVersion}
    and ${noticeReads.personId} = ${sql.placeholder('person')})`;

/** Names no column of the query around it, so that it is asked once. */
const basesOfPerson = sql<ClassBasis[]>`(
  select coalesce(jsonb_agg(distinct r.basis), '[]'::jsonb) from notice_reads r
  where r.person_id = ${sql.placeholder('person')} and r.basis is not null)`;

/** The day on the studio's wall. */
const today = sql`to_char(${sql.placeholder('now')}::timestamptz at time zone ${studio.timeZone}, 'YYYY-MM-DD')`;

const inForce = sql`${noticeVersions.kind} = 'posted' and ${noticeVersions.validFrom} <= ${today}
  and (${noticeVersions.validTo} is null or ${noticeVersions.validTo} >= ${today})`;

const isOnRetired = sql`exists (select 1 from ${bucketState}
  where ${bucketState.bucketId} = ${notices.bucketId} and ${bucketState.service} = 'retired')`;

const shownColumns = {
  number: notices.number,
  scope: notices.scope,
  kilnId: notices.kilnId,
  version: noticeVersions.version,
  title: noticeVersions.title,
  dipping: noticeVersions.dipping,
  mixing: noticeVersions.mixing,
  cleaning: noticeVersions.cleaning,
  signalWord: noticeVersions.signalWord,
  pictograms: noticeVersions.pictograms,
  hCodes: noticeVersions.hCodes,
  basis: noticeVersions.basis,
  notForChildren: noticeVersions.notForChildren,
  own: readByPerson,
  bases: basesOfPerson,
};

/** On the bucket, on what its recipe is made of, in the room it stands in, or everywhere. */
const hangsAt = (at: Record<'bucket' | 'place' | 'recipe' | 'recipeVersion', SQL>) => sql`(
  ${notices.scope} = 'everywhere'
  or ${notices.bucketId} = ${at.bucket}
  or (${notices.scope} = 'material' and exists (
    select 1 from ${recipeLines} where ${recipeLines.materialId} = ${notices.materialId}
      and ${recipeLines.recipeId} = ${at.recipe} and ${recipeLines.version} = ${at.recipeVersion}))
  or (${notices.scope} = 'room' and starts_with(lower(${at.place}), lower(${notices.room})))
)`;

/** A bucket that is joined with its state. */
const ofJoined = {
  bucket: sql`${buckets.id}`,
  place: sql`${buckets.place}`,
  recipe: sql`(${bucketState.recipe} ->> 'id')::bigint`,
  recipeVersion: sql`(${bucketState.recipe} ->> 'version')::int`,
};

const atBucketStatement = statement('notices_at_bucket', (db) =>
  db
    .select(shownColumns)
    .from(notices)
    .innerJoin(noticeVersions, newest)
    .innerJoin(studio, sql`true`)
    .where(
      and(
        inForce,
        hangsAt({
          bucket: sql`${sql.placeholder('bucket')}`,
          place: sql`(select b.place from buckets b where b.id = ${sql.placeholder('bucket')})`,
          recipe: sql`${sql.placeholder('recipe')}`,
          recipeVersion: sql`${sql.placeholder('recipeVersion')}`,
        }),
      ),
    )
    .orderBy(asc(notices.number)),
);

export interface Where {
  bucket: number;
  recipe: number;
  recipeVersion: number;
  person: number;
  now: Instant;
}

/** What is in force at a bucket on the studio's day, with what this person has read. */
export const atBucket = (db: Executor, { now, ...where }: Where) =>
  atBucketStatement(db, { ...where, now: new Date(now).toISOString() });

const atCodeStatement = statement('notices_at_code', (db) =>
  db
    .select(shownColumns)
    .from(notices)
    .innerJoin(noticeVersions, newest)
    .innerJoin(studio, sql`true`)
    .innerJoin(buckets, sql`lower(${buckets.code}) = lower(${sql.placeholder('code')})`)
    .innerJoin(bucketState, eq(bucketState.bucketId, buckets.id))
    .where(and(inForce, hangsAt(ofJoined)))
    .orderBy(asc(notices.number)),
);

/** The same by the bucket's code. */
export const atCode = (db: Executor, code: string, person: number, now: Instant) =>
  atCodeStatement(db, { code, person, now: new Date(now).toISOString() });

const atBucketsStatement = statement('notices_at_buckets', (db) =>
  db
    .select({
      bucketId: buckets.id,
      basis: noticeVersions.basis,
      own: readByPerson,
      bases: basesOfPerson,
    })
    .from(notices)
    .innerJoin(noticeVersions, newest)
    .innerJoin(studio, sql`true`)
    .innerJoin(bucketState, sql`${bucketState.service} <> 'retired'`)
    .innerJoin(buckets, eq(buckets.id, bucketState.bucketId))
    .where(and(inForce, hangsAt(ofJoined))),
);

/** What is in force at each bucket of the wall, with what this person has read. */
export const atBuckets = (db: Executor, person: number, now: Instant) =>
  atBucketsStatement(db, { person, now: new Date(now).toISOString() });

/** Every notice in force, but for those on retired buckets, with what this person has read. */
export async function inForceFor(db: Executor, person: number, now: Instant) {
  return inForceStatement(db, { person, now: new Date(now).toISOString() });
}

const inForceStatement = statement('notices_in_force', (db) =>
  db
    .select(shownColumns)
    .from(notices)
    .innerJoin(noticeVersions, newest)
    .innerJoin(studio, sql`true`)
    .where(and(inForce, not(isOnRetired)))
    .orderBy(asc(notices.number)),
);

const author = alias(people, 'author');

const columns = {
  id: notices.id,
  number: notices.number,
  scope: notices.scope,
  bucketId: notices.bucketId,
  materialId: notices.materialId,
  kilnId: notices.kilnId,
  room: notices.room,
  bucketCode: buckets.code,
  bucketName: buckets.name,
  /** What is in the bucket now; null where it was never set up. */
  recipe: bucketState.recipe,
  bucketRetired: sql<boolean>`${isOnRetired}`,
  materialName: materials.name,
  kilnCode: kilns.code,
  kilnName: kilns.name,
  version: noticeVersions.version,
  kind: noticeVersions.kind,
  title: noticeVersions.title,
  dipping: noticeVersions.dipping,
  mixing: noticeVersions.mixing,
  cleaning: noticeVersions.cleaning,
  signalWord: noticeVersions.signalWord,
  pictograms: noticeVersions.pictograms,
  hCodes: noticeVersions.hCodes,
  pCodes: noticeVersions.pCodes,
  basis: noticeVersions.basis,
  validFrom: noticeVersions.validFrom,
  validTo: noticeVersions.validTo,
  notForChildren: noticeVersions.notForChildren,
  by: author.name,
  at: noticeVersions.at,
};

const selectNotices = (db: Executor) =>
  db
    .select(columns)
    .from(notices)
    .innerJoin(noticeVersions, eq(noticeVersions.noticeId, notices.id))
    .innerJoin(author, eq(author.id, noticeVersions.by))
    .leftJoin(buckets, eq(buckets.id, notices.bucketId))
    .leftJoin(bucketState, eq(bucketState.bucketId, notices.bucketId))
    .leftJoin(materials, eq(materials.id, notices.materialId))
    .leftJoin(kilns, eq(kilns.id, notices.kilnId));

export type NoticeRow = Awaited<ReturnType<typeof selectNotices>>[number];

/** Each notice in its newest version, the newest notice first: those numbered under `before`. */
export async function list(db: Executor, limit: number, before: number): Promise<NoticeRow[]> {
  return selectNotices(db)
    .where(and(newest, sql`${notices.number} < ${before}`))
    .orderBy(desc(notices.number))
    .limit(limit);
}

/** Notices that are in force on a day of the studio, YYYY-MM-DD, on no retired bucket, the newest first. */
export async function listHanging(db: Executor, day: string): Promise<NoticeRow[]> {
  return selectNotices(db)
    .where(
      and(
        newest,
        eq(noticeVersions.kind, 'posted'),
        lte(noticeVersions.validFrom, day),
        or(isNull(noticeVersions.validTo), gte(noticeVersions.validTo, day)),
        not(isOnRetired),
      ),
    )
    .orderBy(desc(notices.number));
}

/** Every version of one notice, the newest first; none where there is no such notice. */
export async function versions(db: Executor, number: number): Promise<NoticeRow[]> {
  return selectNotices(db).where(eq(notices.number, number)).orderBy(desc(noticeVersions.version));
}

/** Takes the notice's row lock, so that its versions follow one another. */
export async function lock(tx: Executor, number: number): Promise<void> {
  await tx.select({ id: notices.id }).from(notices).where(eq(notices.number, number)).for('update');
}

export type NewVersion = Omit<typeof noticeVersions.$inferInsert, 'noticeId' | 'version'>;

/** A notice with the next number and its first version. Numbers have no gaps. */
export async function insert(
  tx: Executor,
  where: Omit<typeof notices.$inferInsert, 'number' | 'latestVersion'>,
  version: NewVersion,
): Promise<number> {
  await tx.select({ id: studio.id }).from(studio).for('update');
  const number = sql`(select coalesce(max(${notices.number}), 0) + 1 from ${notices})`;
  const [made] = await tx
    .insert(notices)
    .values({ ...where, number, latestVersion: 1 })
    .returning({ id: notices.id, number: notices.number });
  const { id, number: given } = made as { id: number; number: number };
  await tx.insert(noticeVersions).values({ ...version, noticeId: id, version: 1 });
  return given;
}

export async function appendVersion(
  tx: Executor,
  noticeId: number,
  version: number,
  row: NewVersion,
): Promise<void> {
  await tx.insert(noticeVersions).values({ ...row, noticeId, version });
  await tx.update(notices).set({ latestVersion: version }).where(eq(notices.id, noticeId));
}

/** Reading twice is reading once. */
export async function insertRead(tx: Executor, row: typeof noticeReads.$inferInsert): Promise<void> {
  await tx.insert(noticeReads).values(row).onConflictDoNothing();
}

export interface ReadRow {
  personId: number;
  noticeId: number;
  version: number;
  basis: ClassBasis | null;
  at: Instant;
}

/** What active people, or one of them, have read, the newest reading first. */
export async function readsOf(db: Executor, personId: number | null): Promise<ReadRow[]> {
  return db
    .select({
      personId: noticeReads.personId,
      noticeId: noticeReads.noticeId,
      version: noticeReads.version,
      basis: noticeReads.basis,
      at: noticeReads.at,
    })
    .from(noticeReads)
    .innerJoin(people, and(eq(people.id, noticeReads.personId), eq(people.active, true)))
    .where(personId === null ? undefined : eq(noticeReads.personId, personId))
    .orderBy(desc(noticeReads.at));
}

export async function activePeople(db: Executor) {
  return db
    .select({ id: people.id, name: people.name, role: people.role })
    .from(people)
    .where(eq(people.active, true))
    .orderBy(asc(sql`lower(${people.name})`), asc(people.id));
}

export async function findMaterial(db: Executor, id: number) {
  const [row] = await db
    .select({ id: materials.id, name: materials.name })
    .from(materials)
    .where(eq(materials.id, id));
  return row ?? null;
}

/** To choose from. */
export async function listMaterials(db: Executor) {
  return db
    .select({ id: materials.id, name: materials.name })
    .from(materials)
    .where(sql`${materials.retiredAt} is null`)
    .orderBy(asc(sql`lower(${materials.name})`));
}

/** What is in each bucket that is not retired. */
export async function bucketsInUse(db: Executor) {
  return db
    .select({ id: buckets.id, code: buckets.code, name: buckets.name, recipe: bucketState.recipe })
    .from(buckets)
    .innerJoin(bucketState, eq(bucketState.bucketId, buckets.id))
    .where(sql`${bucketState.service} <> 'retired'`)
    .orderBy(asc(buckets.place), asc(sql`lower(${buckets.name})`));
}
