import { and, asc, desc, eq, gte, inArray, isNull, lt, ne, or, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../core/clock.ts';
import type { Executor } from '../core/database.ts';
import { people } from '../core/schema.ts';
import { given, statement } from '../core/statement.ts';
import { recipes, recipeVersions } from '../materials/schema.ts';
import { type BucketEvent, type Facts, STIR_LASTS } from './ledger.ts';
import { type Problem, SETTLED_BY } from './problems.ts';
import { bucketEvents, bucketNotes, bucketState, buckets } from './schema.ts';

export type BucketColumns = typeof buckets.$inferSelect;

export interface BucketRow {
  bucket: BucketColumns;
  state: typeof bucketState.$inferSelect;
  /** Why it is out of use, in the words of whoever took it out. */
  serviceReason: string | null;
  recipeName: string;
}

const serviceEvent = alias(bucketEvents, 'service_event');

const selectRows = (db: Executor) =>
  db
    .select({
      bucket: buckets,
      state: bucketState,
      serviceReason: bucketNotes.text,
      recipeName: recipes.name,
    })
    .from(buckets)
    .innerJoin(bucketState, eq(bucketState.bucketId, buckets.id))
    .innerJoin(recipes, eq(recipes.id, sql`(${bucketState.recipe} ->> 'id')::bigint`))
    .leftJoin(
      serviceEvent,
      and(eq(serviceEvent.bucketId, buckets.id), eq(serviceEvent.number, bucketState.serviceNumber)),
    )
    .leftJoin(bucketNotes, eq(bucketNotes.id, serviceEvent.noteId));

const theCode = sql.placeholder('code');
const hasCode = sql`lower(${buckets.code}) = lower(${theCode})`;

const findStatement = statement('bucket_find', (db) => selectRows(db).where(hasCode));

export async function find(db: Executor, code: string): Promise<BucketRow | null> {
  const [row] = await findStatement(db, { code });
  return row ?? null;
}

const lockStatement = statement('bucket_lock', (db) =>
  db
    .select({ id: bucketState.bucketId })
    .from(bucketState)
    .where(eq(bucketState.bucketId, sql`(select ${buckets.id} from ${buckets} where ${hasCode})`))
    .for('update'),
);

/** The bucket as it is once its state is locked, until the transaction ends. */
export async function lock(tx: Executor, code: string): Promise<BucketRow | null> {
  // Two statements, sent together: the second sees what whoever held the lock before has committed.
  const [, row] = await Promise.all([lockStatement(tx, { code }), find(tx, code)]);
  return row;
}

const listStatement = statement('bucket_list', (db) =>
  selectRows(db)
    .where(ne(bucketState.service, 'retired'))
    .orderBy(asc(buckets.place), asc(sql`lower(${buckets.name})`)),
);

export const list = (db: Executor): Promise<BucketRow[]> => listStatement(db, {});

export async function listRetired(db: Executor): Promise<BucketRow[]> {
  return selectRows(db)
    .where(eq(bucketState.service, 'retired'))
    .orderBy(asc(sql`lower(${buckets.name})`));
}

export async function insertBucket(
  tx: Executor,
  row: typeof buckets.$inferInsert,
  facts: Facts,
): Promise<void> {
  const [made] = await tx.insert(buckets).values(row).returning({ id: buckets.id });
  await tx.insert(bucketState).values({ bucketId: (made as { id: number }).id, ...facts });
}

export async function updateBucket(
  tx: Executor,
  id: number,
  row: Partial<typeof buckets.$inferInsert>,
): Promise<void> {
  await tx.update(buckets).set(row).where(eq(buckets.id, id));
}

const { bucketId: whichBucket, ...everyFact } = given(bucketState);
const saveStatement = statement('bucket_save', (db) =>
  db.update(bucketState).set(everyFact).where(eq(bucketState.bucketId, whichBucket)),
);

export async function saveState(tx: Executor, bucketId: number, facts: Facts): Promise<void> {
  await saveStatement(tx, { ...facts, bucketId });
}

export async function insertNote(tx: Executor, bucketId: number, text: string): Promise<number> {
  const [row] = await tx.insert(bucketNotes).values({ bucketId, text }).returning({ id: bucketNotes.id });
  return (row as { id: number }).id;
}

const appendOne = statement('bucket_append', (db) => db.insert(bucketEvents).values(given(bucketEvents)));

export type LedgerRow = typeof bucketEvents.$inferSelect;

export async function append(tx: Executor, rows: LedgerRow[]): Promise<void> {
  await Promise.all(rows.map((row) => appendOne(tx, row)));
}

/** Well under the 65,535 parameters that a statement may have. */
const ROWS_AT_ONCE = 500;

/** The same for thousands of rows, in few statements. */
export async function appendMany(tx: Executor, rows: LedgerRow[]): Promise<void> {
  for (let at = 0; at < rows.length; at += ROWS_AT_ONCE)
    await tx.insert(bucketEvents).values(rows.slice(at, at + ROWS_AT_ONCE));
}

export type StoredEvent = Pick<
  typeof bucketEvents.$inferSelect,
  'number' | 'happenedAt' | 'voids' | 'v' | 'payload'
>;

/** A whole ledger, for folding. */
export async function ledgerOf(tx: Executor, bucketId: number): Promise<StoredEvent[]> {
  const { number, happenedAt, voids, v, payload } = bucketEvents;
  return tx
    .select({ number, happenedAt, voids, v, payload })
    .from(bucketEvents)
    .where(eq(bucketEvents.bucketId, bucketId))
    .orderBy(asc(number));
}

export interface EventRow {
  number: number;
  kind: BucketEvent['kind'];
  happenedAt: Instant;
  recordedAt: Instant;
  by: string;
  byId: number;
  byToken: boolean;
  atTablet: boolean;
  note: string | null;
  v: number;
  payload: unknown;
  /** The number of the void that strikes it, or its partner, out. */
  voidedBy: number | null;
  /** False for a reading of an unstirred bucket. */
  counts: boolean;
}

const strikes = alias(bucketEvents, 'strikes');

const notVoided = (name: string) =>
  `not exists (select 1 from bucket_events x where x.bucket_id = ${name}.bucket_id
    and x.voids in (${name}.number, (${name}.payload ->> 'pairedWith')::int))`;

/**
 * Whether a reading counts, as the ledger folds it: stirred with it or shortly before, and not set up anew since.
 * Asked of the database, because the stir may lie outside the rows that a page shows.
 */
const counts = sql<boolean>`${sql.raw(`case
  when bucket_events.kind <> 'reading' or (bucket_events.payload ->> 'stirred')::boolean then true
  else exists (
    select 1 from bucket_events s
    where s.bucket_id = bucket_events.bucket_id
      and s.kind in ('stir', 'dipping', 'reading')
      and (s.kind = 'stir' or (s.payload ->> 'stirred')::boolean)
      and s.happened_at >= bucket_events.happened_at - interval '${STIR_LASTS} milliseconds'
      and (s.happened_at, s.number) < (bucket_events.happened_at, bucket_events.number)
      and ${notVoided('s')}
      and not exists (
        select 1 from bucket_events b
        where b.bucket_id = s.bucket_id and b.kind = 'setup'
          and (b.happened_at, b.number) > (s.happened_at, s.number)
          and (b.happened_at, b.number) < (bucket_events.happened_at, bucket_events.number)
          and ${notVoided('b')}
      )
  ) end`)}`;

const eventColumns = {
  number: bucketEvents.number,
  kind: bucketEvents.kind,
  happenedAt: bucketEvents.happenedAt,
  recordedAt: bucketEvents.recordedAt,
  by: people.name,
  byId: bucketEvents.by,
  byToken: sql<boolean>`${bucketEvents.tokenId} is not null`,
  atTablet: sql<boolean>`${bucketEvents.deviceId} is not null`,
  note: bucketNotes.text,
  v: bucketEvents.v,
  payload: bucketEvents.payload,
  voidedBy: strikes.number,
  counts,
};

const selectEvents = (db: Executor) =>
  db
    .select(eventColumns)
    .from(bucketEvents)
    .innerJoin(people, eq(people.id, bucketEvents.by))
    .leftJoin(bucketNotes, eq(bucketNotes.id, bucketEvents.noteId))
    .leftJoin(
      strikes,
      and(
        eq(strikes.bucketId, bucketEvents.bucketId),
        or(
          eq(strikes.voids, bucketEvents.number),
          sql`${strikes.voids} = (${bucketEvents.payload} ->> 'pairedWith')::int`,
        ),
      ),
    );

const ofTheCode = eq(bucketEvents.bucketId, sql`(select ${buckets.id} from ${buckets} where ${hasCode})`);

const eventsStatement = statement('bucket_events', (db) =>
  selectEvents(db)
    .where(and(ofTheCode, lt(bucketEvents.number, sql.placeholder('before'))))
    .orderBy(desc(bucketEvents.number))
    .limit(sql.placeholder('limit')),
);

/** Newest first: those numbered under `before`. */
export const events = (db: Executor, code: string, limit: number, before: number): Promise<EventRow[]> =>
  eventsStatement(db, { code, limit, before });

export async function event(db: Executor, bucketId: number, number: number): Promise<EventRow | null> {
  const [row] = await selectEvents(db).where(
    and(eq(bucketEvents.bucketId, bucketId), eq(bucketEvents.number, number)),
  );
  return row ?? null;
}

const trendStatement = statement('bucket_trend', (db) => {
  const { number, happenedAt, voids, v, payload, kind } = bucketEvents;
  return db
    .select({ number, happenedAt, voids, v, payload, counts })
    .from(bucketEvents)
    .where(
      and(
        ofTheCode,
        inArray(kind, ['reading', 'addition', 'draw-off', 'setup', 'recipe']),
        gte(happenedAt, sql.placeholder('since')),
        sql.raw(notVoided('bucket_events')),
      ),
    )
    .orderBy(desc(happenedAt), desc(number))
    .limit(sql.placeholder('limit'));
});

/** What the trend shows: readings and changes of composition since an instant, oldest first, less what is void. */
export async function trend(
  db: Executor,
  code: string,
  since: Instant,
  limit: number,
): Promise<(StoredEvent & { counts: boolean })[]> {
  const rows = await trendStatement(db, { code, since: new Date(since).toISOString(), limit });
  return rows.reverse();
}

/** Litres dipped out of each bucket since an instant, and when the first of them were. */
export async function usedSince(
  db: Executor,
  since: Instant,
): Promise<Map<number, { litres: number; first: Instant }>> {
  const rows = await db
    .select({
      bucketId: bucketEvents.bucketId,
      litres: sql<number>`sum(${bucketEvents.usedL})`,
      first: sql<Instant>`min(${bucketEvents.happenedAt})`.mapWith(bucketEvents.happenedAt),
    })
    .from(bucketEvents)
    .leftJoin(
      strikes,
      and(eq(strikes.bucketId, bucketEvents.bucketId), eq(strikes.voids, bucketEvents.number)),
    )
    .where(and(eq(bucketEvents.kind, 'dipping'), gte(bucketEvents.happenedAt, since), isNull(strikes.number)))
    .groupBy(bucketEvents.bucketId);
  return new Map(rows.map(({ bucketId, ...used }) => [bucketId, used]));
}

/** Problems reported and not put right since, newest first, less what is void. */
export async function openProblems(
  db: Executor,
): Promise<{ bucketId: number; number: number; at: Instant; problem: Problem }[]> {
  const later = alias(bucketEvents, 'later');
  const problem = sql<Problem>`${bucketEvents.payload} ->> 'problem'`;
  const putsRight = Object.entries(SETTLED_BY).map(([name, kinds]) =>
    and(sql`${problem} = ${name}`, inArray(later.kind, kinds)),
  );
  const settled = db
    .select({ one: sql`1` })
    .from(later)
    .innerJoin(people, eq(people.id, later.by))
    .where(
      and(
        eq(later.bucketId, bucketEvents.bucketId),
        sql`(${later.happenedAt}, ${later.number}) > (${bucketEvents.happenedAt}, ${bucketEvents.number})`,
        or(
          and(eq(later.kind, 'note'), ne(people.role, 'member'), sql`not ${later.payload} ? 'problem'`),
          and(or(...putsRight), sql`coalesce((${later.payload} ->> 'stirred')::boolean, true)`),
        ),
        sql.raw(notVoided('later')),
      ),
    );
  return db
    .select({
      bucketId: bucketEvents.bucketId,
      number: bucketEvents.number,
      at: bucketEvents.happenedAt,
      problem,
    })
    .from(bucketEvents)
    .where(
      and(
        eq(bucketEvents.kind, 'note'),
        sql`${bucketEvents.payload} ? 'problem'`,
        sql.raw(notVoided('bucket_events')),
        sql`not exists (${settled})`,
      ),
    )
    .orderBy(desc(bucketEvents.happenedAt), desc(bucketEvents.number));
}

/** Every bucket's id and code, for the doctor. */
export async function everyBucket(db: Executor): Promise<BucketRow[]> {
  return selectRows(db).orderBy(asc(buckets.id));
}

/** A version of a recipe, as a bucket starts with it. */
export async function startingRecipe(
  db: Executor,
  bucket: BucketColumns,
): Promise<{ solidsDensity: number; hasSolubles: boolean }> {
  const [row] = await db
    .select({ solidsDensity: recipeVersions.solidsDensityGCm3, hasSolubles: recipeVersions.hasSolubles })
    .from(recipeVersions)
    .where(
      and(
        eq(recipeVersions.recipeId, bucket.firstRecipeId),
        eq(recipeVersions.version, bucket.firstRecipeVersion),
      ),
    );
  return row as { solidsDensity: number; hasSolubles: boolean };
}
