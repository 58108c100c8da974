import { and, asc, desc, eq, gte, inArray, isNotNull, isNull, lt, ne, or, type SQL, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import { buckets } from '../../buckets/schema.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { files, people, studio } from '../../core/schema.ts';
import type { LedgerCoat } from '../coats.ts';
import type { PieceEventKind } from '../fold.ts';
import type { CoatFace } from '../route.ts';
import {
  clays,
  glazeTraits,
  groupPeople,
  groups,
  pieceEvents,
  pieceGlazes,
  pieceNotes,
  pieceOutcomes,
  pieces,
} from '../schema.ts';
import { AT_BENCH, type Stage } from '../stage.ts';

export type PieceColumns = typeof pieces.$inferSelect;
export type NewPiece = Omit<typeof pieces.$inferInsert, 'number' | 'batch' | 'lastEvent'>;
export type EventColumns = typeof pieceEvents.$inferInsert;

const owner = alias(people, 'owner');
const payer = alias(people, 'payer');
const registrar = alias(people, 'registrar');
const ownerGroup = alias(groups, 'owner_group');
const payerGroup = alias(groups, 'payer_group');

/** It has been through a bisque or another firing. */
export const isBisqued = sql<boolean>`exists (select 1 from piece_events e
  where e.piece_id = ${pieces.id} and e.stage in ('bisqued', 'fired'))`;
/** It was registered to be glazed raw and fired once. */
export const isOnce = sql<boolean>`coalesce((select (e.payload ->> 'once')::boolean from piece_events e
  where e.piece_id = ${pieces.id} and e.number = 1), false)`;
const looks = sql<'greenware' | 'bisque' | 'fired' | null>`(select e.payload ->> 'looks' from piece_events e
  where e.piece_id = ${pieces.id} and e.number = 1)`;
/** Of the event that led to the stage it is in. */
const reason = sql<string | null>`(select e.payload ->> 'reason' from piece_events e
  where e.piece_id = ${pieces.id} and e.stage = ${pieces.stage} order by e.number desc limit 1)`;
/** The newest word on its last firing; an older one may be put right later. */
const outcome = sql<string | null>`(select o.outcome from piece_outcomes o
  where o.piece_id = ${pieces.id} and o.load = (
    select e.load from piece_events e
    where e.piece_id = ${pieces.id} and e.kind = 'came-out' order by e.number desc limit 1)
  order by o.id desc limit 1)`;

/** Of what last planned its glazing, if nothing has ended that since. */
const plan = sql<unknown>`(select case when e.kind = 'planned' then e.payload end from piece_events e
  where e.piece_id = ${pieces.id} and e.kind in ('planned', 'glazed', 'came-out', 'another-firing')
  order by e.number desc limit 1)`;

const selectPieces = (db: Executor) =>
  db
    .select({
      piece: pieces,
      clay: clays,
      owner: { id: owner.id, name: owner.name },
      ownerGroup: { id: ownerGroup.id, name: ownerGroup.name },
      payer: { id: payer.id, name: payer.name },
      payerGroup: { id: payerGroup.id, name: payerGroup.name },
      registeredBy: { id: registrar.id, name: registrar.name },
      photo: files.sha256,
      note: pieceNotes.text,
      isBisqued,
      isOnce,
      looks,
      reason,
      outcome,
      plan,
    })
    .from(pieces)
    .innerJoin(registrar, eq(registrar.id, pieces.registeredBy))
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .leftJoin(owner, eq(owner.id, pieces.ownerId))
    .leftJoin(ownerGroup, eq(ownerGroup.id, pieces.ownerGroupId))
    .leftJoin(payer, eq(payer.id, pieces.payerId))
    .leftJoin(payerGroup, eq(payerGroup.id, pieces.payerGroupId))
    .leftJoin(files, eq(files.id, pieces.fileId))
    .leftJoin(pieceNotes, eq(pieceNotes.id, pieces.noteId));

export type PieceRow = Awaited<ReturnType<typeof selectPieces>>[number];

/** Which pieces, and how many of them. */
export interface PieceFilter {
  numbers?: readonly number[];
  /** Theirs, or a group's that concerns them. */
  ownedBy?: number;
  stages?: readonly Stage[];
  batch?: number;
  /** Numbered below this. */
  before?: number;
  limit?: number;
  /** Otherwise the newest number first. */
  oldestWaitFirst?: boolean;
}

const belongsTo = (personId: number): SQL | undefined =>
  or(
    eq(pieces.ownerId, personId),
    sql`${pieces.ownerGroupId} in (
      select ${groups.id} from ${groups} where ${groups.contactId} = ${personId}
      union select ${groupPeople.groupId} from ${groupPeople} where ${groupPeople.personId} = ${personId})`,
  );

export async function listPieces(db: Executor, filter: PieceFilter): Promise<PieceRow[]> {
  const { numbers, ownedBy, stages, batch, before, limit, oldestWaitFirst } = filter;
  if (numbers?.length === 0) return [];
  const found = selectPieces(db)
    .where(
      and(
        numbers && inArray(pieces.number, [...numbers]),
        ownedBy === undefined ? undefined : belongsTo(ownedBy),
        stages && inArray(pieces.stage, [...stages]),
        batch === undefined ? undefined : eq(pieces.batch, batch),
        before === undefined ? undefined : lt(pieces.number, before),
      ),
    )
    .orderBy(...(oldestWaitFirst ? [asc(pieces.waitingSince), asc(pieces.number)] : [desc(pieces.number)]));
  return limit === undefined ? found : found.limit(limit);
}

/** Which of these pieces belong to a person or to a group that concerns them. */
export async function ownAmong(
  db: Executor,
  personId: number,
  pieceIds: readonly number[],
): Promise<Set<number>> {
  if (pieceIds.length === 0) return new Set();
  const rows = await db
    .select({ id: pieces.id })
    .from(pieces)
    .where(and(inArray(pieces.id, [...pieceIds]), belongsTo(personId)));
  return new Set(rows.map(({ id }) => id));
}

const selectGlazes = (db: Executor) =>
  db
    .select({
      pieceId: pieceGlazes.pieceId,
      position: pieceGlazes.position,
      bucket: { id: buckets.id, code: buckets.code, name: buckets.name },
      bucketFrom: buckets.coneFrom,
      bucketTo: buckets.coneTo,
      ownName: pieceGlazes.ownName,
      ownFrom: pieceGlazes.ownConeFrom,
      ownTo: pieceGlazes.ownConeTo,
      isRunny: glazeTraits.isRunny,
      trayMm: glazeTraits.trayMm,
      tags: glazeTraits.tags,
      gravity: pieceGlazes.gravity,
      reading: pieceGlazes.reading,
      batchNumber: pieceGlazes.batchNumber,
      face: pieceGlazes.face,
      way: pieceGlazes.way,
      seconds: pieceGlazes.seconds,
      coatMm: pieceGlazes.coatMm,
      coatFrom: pieceGlazes.coatFrom,
      scratchMm: pieceGlazes.scratchMm,
      at: pieceGlazes.at,
      load: pieceGlazes.load,
    })
    .from(pieceGlazes)
    .leftJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
    .leftJoin(glazeTraits, eq(glazeTraits.bucketId, pieceGlazes.bucketId));

export type GlazeRow = Awaited<ReturnType<typeof selectGlazes>>[number];

/** The coats of glaze on these pieces, fired and raw, in the order they went on; not those that were wiped off. */
export async function glazesOn(db: Executor, pieceIds: readonly number[]): Promise<GlazeRow[]> {
  if (pieceIds.length === 0) return [];
  return selectGlazes(db)
    .where(and(inArray(pieceGlazes.pieceId, [...pieceIds]), isNull(pieceGlazes.endedAt)))
    .orderBy(asc(pieceGlazes.pieceId), asc(pieceGlazes.position));
}

/** Every coat these pieces ever had, in the order they went on, wiped off ones too, as their ledgers tell them. */
export async function coatsEver(
  db: Executor,
  pieceIds: readonly number[],
): Promise<(LedgerCoat & { pieceId: number })[]> {
  if (pieceIds.length === 0) return [];
  const { pieceId, position, face, way, seconds, coatMm, coatFrom, scratchMm, gravity, load, endedAt } =
    pieceGlazes;
  return db
    .select({
      pieceId,
      glaze: sql<string>`coalesce(${buckets.code}, 'own')`,
      face,
      way,
      seconds,
      coatMm,
      coatFrom,
      scratchMm,
      gravity,
      load,
      isEnded: sql<boolean>`${endedAt} is not null`,
    })
    .from(pieceGlazes)
    .leftJoin(buckets, eq(buckets.id, pieceGlazes.bucketId))
    .where(inArray(pieceId, [...pieceIds]))
    .orderBy(asc(pieceId), asc(position));
}

/**
 * Locks the rows of these pieces, in the one order that everybody takes. Rows that only refer to them, such as those of
 * a proposal, may be written meanwhile.
 */
export async function lockPieces(tx: Executor, numbers: readonly number[]): Promise<void> {
  if (numbers.length === 0) return;
  await tx
    .select({ id: pieces.id })
    .from(pieces)
    .where(inArray(pieces.number, [...numbers]))
    .orderBy(asc(pieces.id))
    .for('no key update');
}

/** How each piece came out of a load, by its number: the newest word counts. */
export async function outcomesOf(db: Executor, load: number): Promise<Map<number, string>> {
  const rows = await db
    .select({ number: pieces.number, outcome: pieceOutcomes.outcome })
    .from(pieceOutcomes)
    .innerJoin(pieces, eq(pieces.id, pieceOutcomes.pieceId))
    .where(eq(pieceOutcomes.load, load))
    .orderBy(asc(pieceOutcomes.id));
  return new Map(rows.map((row) => [row.number, row.outcome]));
}

/**
 * New pieces with the next numbers, all of one batch. Numbers have no gaps: the studio's row is locked for them.
 * In the order of their numbers.
 */
export async function insertPieces(
  tx: Executor,
  rows: readonly NewPiece[],
): Promise<{ id: number; number: number }[]> {
  await tx.select({ id: studio.id }).from(studio).for('update');
  const [last] = await tx
    .select({ number: pieces.number })
    .from(pieces)
    .orderBy(desc(pieces.number))
    .limit(1);
  const first = (last?.number ?? 0) + 1;
  const made = await tx
    .insert(pieces)
    .values(rows.map((row, at) => ({ ...row, number: first + at, batch: first, lastEvent: 1 })))
    .returning({ id: pieces.id, number: pieces.number });
  return made.sort((a, b) => a.number - b.number);
}

export async function updatePiece(tx: Executor, id: number, change: Partial<PieceColumns>): Promise<void> {
  await tx.update(pieces).set(change).where(eq(pieces.id, id));
}

export async function appendEvents(tx: Executor, rows: readonly EventColumns[]): Promise<void> {
  if (rows.length > 0) await tx.insert(pieceEvents).values([...rows]);
}

export interface StoredEvent {
  pieceId: number;
  number: number;
  kind: PieceEventKind;
  at: Instant;
  by: number;
  stage: Stage | null;
  load: number | null;
  payload: unknown;
}

const eventColumns = {
  pieceId: pieceEvents.pieceId,
  number: pieceEvents.number,
  kind: sql<PieceEventKind>`${pieceEvents.kind}`,
  at: pieceEvents.happenedAt,
  by: pieceEvents.by,
  stage: pieceEvents.stage,
  load: pieceEvents.load,
  payload: pieceEvents.payload,
};

/** The whole ledgers of these pieces, each in order. */
export async function ledgersOf(db: Executor, pieceIds: readonly number[]): Promise<StoredEvent[]> {
  if (pieceIds.length === 0) return [];
  return db
    .select(eventColumns)
    .from(pieceEvents)
    .where(inArray(pieceEvents.pieceId, [...pieceIds]))
    .orderBy(asc(pieceEvents.pieceId), asc(pieceEvents.number));
}

/** The whole ledgers of pieces that stand where they are glazed and were once planned or coated; of one person or all. */
export async function ledgersAtBench(
  db: Executor,
  personId: number | null,
): Promise<(StoredEvent & { pieceNumber: number })[]> {
  return db
    .select({ ...eventColumns, pieceNumber: pieces.number })
    .from(pieceEvents)
    .innerJoin(pieces, eq(pieces.id, pieceEvents.pieceId))
    .where(
      and(
        inArray(pieces.stage, [...AT_BENCH]),
        personId === null ? undefined : belongsTo(personId),
        sql`exists (select 1 from piece_events e
          where e.piece_id = ${pieces.id} and e.kind in ('planned', 'coated'))`,
      ),
    )
    .orderBy(asc(pieceEvents.pieceId), asc(pieceEvents.number));
}

/** Who was the last but this person to put a coat of this glaze here on one of these pieces, and on which; null for nobody. */
export async function sameCoat(
  db: Executor,
  pieceIds: readonly number[],
  { glaze, face, since, notBy }: { glaze: string; face: CoatFace; since: Instant; notBy: number },
): Promise<{ by: string; number: number } | null> {
  const [row] = await db
    .select({ by: people.name, number: pieces.number })
    .from(pieceEvents)
    .innerJoin(people, eq(people.id, pieceEvents.by))
    .innerJoin(pieces, eq(pieces.id, pieceEvents.pieceId))
    .where(
      and(
        inArray(pieceEvents.pieceId, [...pieceIds]),
        eq(pieceEvents.kind, 'coated'),
        gte(pieceEvents.happenedAt, since),
        ne(pieceEvents.by, notBy),
        sql`${pieceEvents.payload} -> 'coat' ->> 'glaze' = ${glaze}`,
        sql`${pieceEvents.payload} -> 'coat' ->> 'face' = ${face}`,
      ),
    )
    .orderBy(desc(pieceEvents.happenedAt), asc(pieces.number))
    .limit(1);
  return row ?? null;
}

/** What was done to one piece, with who did it, what they wrote and the photo they took; newest first. */
export async function historyOf(db: Executor, pieceId: number) {
  return db
    .select({ ...eventColumns, byName: people.name, note: pieceNotes.text, photo: files.sha256 })
    .from(pieceEvents)
    .innerJoin(people, eq(people.id, pieceEvents.by))
    .leftJoin(pieceNotes, eq(pieceNotes.id, pieceEvents.noteId))
    .leftJoin(files, eq(files.id, pieceEvents.fileId))
    .where(eq(pieceEvents.pieceId, pieceId))
    .orderBy(desc(pieceEvents.number));
}

const isRaw = and(isNull(pieceGlazes.load), isNull(pieceGlazes.endedAt));

/** These coats instead of the raw ones that were on a piece, over those that are fired; nothing is forgotten. */
export async function setGlazes(
  tx: Executor,
  pieceId: number,
  now: Instant,
  rows: readonly Omit<typeof pieceGlazes.$inferInsert, 'pieceId' | 'position' | 'load' | 'endedAt'>[],
): Promise<void> {
  const coats = await tx
    .select({ position: pieceGlazes.position })
    .from(pieceGlazes)
    .where(eq(pieceGlazes.pieceId, pieceId));
  const last = Math.max(0, ...coats.map(({ position }) => position));
  if (coats.length > 0)
    await tx
      .update(pieceGlazes)
      .set({ endedAt: now })
      .where(and(eq(pieceGlazes.pieceId, pieceId), isRaw));
  if (rows.length > 0)
    await tx
      .insert(pieceGlazes)
      .values(rows.map((row, at) => ({ ...row, pieceId, position: last + at + 1 })));
}

/** One more coat over those that are on a piece. */
export async function addGlaze(
  tx: Executor,
  pieceId: number,
  row: Omit<typeof pieceGlazes.$inferInsert, 'pieceId' | 'position' | 'load' | 'endedAt'>,
): Promise<void> {
  const position = sql<number>`(select coalesce(max(g.position), 0) + 1 from piece_glazes g where g.piece_id = ${pieceId})`;
  await tx.insert(pieceGlazes).values({ ...row, pieceId, position });
}

/** How thick one coat of a piece is. */
export async function changeGlaze(
  tx: Executor,
  pieceId: number,
  position: number,
  change: Partial<Pick<typeof pieceGlazes.$inferInsert, 'coatMm' | 'coatFrom' | 'scratchMm'>>,
): Promise<void> {
  await tx
    .update(pieceGlazes)
    .set(change)
    .where(and(eq(pieceGlazes.pieceId, pieceId), eq(pieceGlazes.position, position)));
}

/** What was raw on these pieces was fired in this load. */
export async function fireGlazes(tx: Executor, pieceIds: readonly number[], load: number): Promise<void> {
  if (pieceIds.length === 0) return;
  await tx
    .update(pieceGlazes)
    .set({ load })
    .where(and(inArray(pieceGlazes.pieceId, [...pieceIds]), isRaw));
}

/** The id of a new note about a piece, a kiln or a load; null where there are no words. */
export async function insertNote(tx: Executor, text: string | undefined): Promise<number | null> {
  if (text === undefined) return null;
  const [row] = await tx.insert(pieceNotes).values({ text }).returning({ id: pieceNotes.id });
  return (row as { id: number }).id;
}

export async function insertOutcomes(
  tx: Executor,
  rows: readonly (typeof pieceOutcomes.$inferInsert)[],
): Promise<void> {
  if (rows.length > 0) await tx.insert(pieceOutcomes).values([...rows]);
}

/** Whoever said of these pieces that they are theirs; first come first. */
export async function claimsOn(
  db: Executor,
  pieceIds: readonly number[],
): Promise<{ pieceId: number; id: number; name: string; at: Instant; note: string | null }[]> {
  if (pieceIds.length === 0) return [];
  return db
    .select({
      pieceId: pieceEvents.pieceId,
      id: people.id,
      name: people.name,
      at: pieceEvents.happenedAt,
      note: pieceNotes.text,
    })
    .from(pieceEvents)
    .innerJoin(people, eq(people.id, pieceEvents.by))
    .leftJoin(pieceNotes, eq(pieceNotes.id, pieceEvents.noteId))
    .where(and(inArray(pieceEvents.pieceId, [...pieceIds]), eq(pieceEvents.kind, 'claimed')))
    .orderBy(asc(pieceEvents.happenedAt), asc(pieceEvents.number));
}

/** What the newest piece that somebody registered was made of and is for; a start for the next one. */
export async function newestBy(db: Executor, personId: number) {
  const [row] = await db
    .select({
      clay: clays.name,
      ownClay: pieces.ownClay,
      kind: pieces.kind,
      cone: pieces.cone,
      atmosphere: pieces.atmosphere,
      mark: pieces.mark,
      place: pieces.place,
      group: groups.name,
    })
    .from(pieces)
    .leftJoin(clays, eq(clays.id, pieces.clayId))
    .leftJoin(groups, eq(groups.id, pieces.ownerGroupId))
    .where(
      and(eq(pieces.registeredBy, personId), or(isNotNull(pieces.ownerId), isNotNull(pieces.ownerGroupId))),
    )
    .orderBy(desc(pieces.number))
    .limit(1);
  return row ?? null;
}
