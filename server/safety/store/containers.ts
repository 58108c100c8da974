import { aliasedTable, and, asc, desc, eq, getTableColumns, inArray, isNull, lt, or, sql } from 'drizzle-orm';
import { bucketEvents, buckets } from '../../buckets/schema.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import type { ContainerPayload } from '../container.ts';
import { containerEvents, containers, drainPermissions, safetyNotes } from '../schema.ts';

export interface ContainerRow {
  container: typeof containers.$inferSelect;
  parent: { id: number; code: string; name: string; isReclaim: boolean } | null;
}

const select = (db: Executor) =>
  db
    .select({
      container: getTableColumns(containers),
      parent: { id: buckets.id, code: buckets.code, name: buckets.name, isReclaim: buckets.isReclaim },
    })
    .from(containers)
    .leftJoin(buckets, eq(buckets.id, containers.parentBucketId));

const hasCode = (code: string) => sql`lower(${containers.code}) = lower(${code})`;

export async function findContainer(db: Executor, code: string): Promise<ContainerRow | null> {
  const [row] = await select(db).where(hasCode(code));
  return row ?? null;
}

/** Locks these containers in ascending order, until the transaction ends; nobody else appends to their ledgers. */
export async function lockContainers(tx: Executor, ids: number[]): Promise<ContainerRow[]> {
  await tx
    .select({ id: containers.id })
    .from(containers)
    .where(inArray(containers.id, ids))
    .orderBy(asc(containers.id))
    .for('update');
  return containersByIds(tx, ids);
}

export async function listContainers(db: Executor, { retired = false } = {}): Promise<ContainerRow[]> {
  return select(db)
    .where(retired ? undefined : isNull(containers.retiredAt))
    .orderBy(asc(containers.place), asc(sql`lower(${containers.name})`));
}

export async function containersByIds(db: Executor, ids: number[]): Promise<ContainerRow[]> {
  return select(db).where(inArray(containers.id, ids));
}

/** Those in use of this kind; for a rinse bucket those of this parent. The oldest first. */
export async function idsOf(
  db: Executor,
  which: { kind: 'rinse'; bucketId: number } | { kind: 'reclaim' | 'waste' },
): Promise<number[]> {
  const rows = await db
    .select({ id: containers.id })
    .from(containers)
    .where(
      and(
        isNull(containers.retiredAt),
        eq(containers.kind, which.kind),
        which.kind === 'rinse' ? eq(containers.parentBucketId, which.bucketId) : undefined,
      ),
    )
    .orderBy(asc(containers.id));
  return rows.map(({ id }) => id);
}

export async function insertContainer(tx: Executor, row: typeof containers.$inferInsert): Promise<void> {
  await tx.insert(containers).values(row);
}

export async function updateContainer(
  tx: Executor,
  id: number,
  row: Partial<typeof containers.$inferInsert>,
): Promise<void> {
  await tx.update(containers).set(row).where(eq(containers.id, id));
}

const strikes = aliasedTable(containerEvents, 'strikes');

export type ContainerEventRow = Omit<typeof containerEvents.$inferSelect, 'kind'> & {
  kind: ContainerPayload['kind'];
  byName: string;
  note: string | null;
  bucketCode: string | null;
  bucketName: string | null;
  /** The number of the row that struck this one out. */
  voidedBy: number | null;
};

const selectEvents = (db: Executor) =>
  db
    .select({
      ...getTableColumns(containerEvents),
      kind: sql<ContainerPayload['kind']>`${containerEvents.kind}`,
      byName: people.name,
      note: safetyNotes.text,
      bucketCode: buckets.code,
      bucketName: buckets.name,
      voidedBy: strikes.number,
    })
    .from(containerEvents)
    .innerJoin(people, eq(people.id, containerEvents.by))
    .leftJoin(safetyNotes, eq(safetyNotes.id, containerEvents.noteId))
    .leftJoin(buckets, eq(buckets.id, containerEvents.bucketId))
    .leftJoin(
      strikes,
      and(eq(strikes.containerId, containerEvents.containerId), eq(strikes.voids, containerEvents.number)),
    );

/** The newest rows by number, at most so many, those before `before` only. */
export async function listEvents(
  db: Executor,
  containerId: number,
  { limit, before }: { limit: number; before: number | null },
): Promise<ContainerEventRow[]> {
  return selectEvents(db)
    .where(
      and(
        eq(containerEvents.containerId, containerId),
        before === null ? undefined : lt(containerEvents.number, before),
      ),
    )
    .orderBy(desc(containerEvents.number))
    .limit(limit);
}

export async function findEvent(
  db: Executor,
  containerId: number,
  number: number,
): Promise<ContainerEventRow | null> {
  const [row] = await selectEvents(db).where(
    and(eq(containerEvents.containerId, containerId), eq(containerEvents.number, number)),
  );
  return row ?? null;
}

export type StoredContainerEvent = Pick<
  typeof containerEvents.$inferSelect,
  'containerId' | 'number' | 'happenedAt' | 'v' | 'payload'
>;

/** Whole ledgers, for folding. */
export async function ledgersOf(db: Executor, ids: number[]): Promise<Map<number, StoredContainerEvent[]>> {
  const ledgers = new Map<number, StoredContainerEvent[]>(ids.map((id) => [id, []]));
  if (ids.length === 0) return ledgers;
  const { containerId, number, happenedAt, v, payload } = containerEvents;
  const rows = await db
    .select({ containerId, number, happenedAt, v, payload })
    .from(containerEvents)
    .where(inArray(containerId, ids))
    .orderBy(asc(containerId), asc(number));
  for (const row of rows) ledgers.get(row.containerId)?.push(row);
  return ledgers;
}

/** Rows that stand for a row of a bucket's ledger and were not struck out. */
export async function standingFor(
  db: Executor,
  bucketId: number,
  bucketEvent: number,
): Promise<{ containerId: number; number: number }[]> {
  return db
    .select({ containerId: containerEvents.containerId, number: containerEvents.number })
    .from(containerEvents)
    .leftJoin(
      strikes,
      and(eq(strikes.containerId, containerEvents.containerId), eq(strikes.voids, containerEvents.number)),
    )
    .where(
      and(
        eq(containerEvents.bucketId, bucketId),
        eq(containerEvents.bucketEvent, bucketEvent),
        isNull(strikes.number),
      ),
    );
}

/** Rows whose bucket's row was struck out while they were not, or the other way round. */
export async function halfStruck(db: Executor): Promise<{ code: string; number: number }[]> {
  const bucketStrikes = aliasedTable(bucketEvents, 'bucket_strikes');
  return db
    .select({ code: containers.code, number: containerEvents.number })
    .from(containerEvents)
    .innerJoin(containers, eq(containers.id, containerEvents.containerId))
    .leftJoin(
      bucketEvents,
      and(
        eq(bucketEvents.bucketId, containerEvents.bucketId),
        eq(bucketEvents.number, containerEvents.bucketEvent),
      ),
    )
    .leftJoin(
      strikes,
      and(eq(strikes.containerId, containerEvents.containerId), eq(strikes.voids, containerEvents.number)),
    )
    .leftJoin(
      bucketStrikes,
      and(
        eq(bucketStrikes.bucketId, containerEvents.bucketId),
        eq(bucketStrikes.voids, containerEvents.bucketEvent),
      ),
    )
    .where(
      and(
        sql`${containerEvents.bucketEvent} is not null`,
        or(
          isNull(bucketEvents.number),
          sql`(${strikes.number} is null) <> (${bucketStrikes.number} is null)`,
        ),
      ),
    );
}

export async function append(tx: Executor, row: typeof containerEvents.$inferInsert): Promise<void> {
  await tx.insert(containerEvents).values(row);
}

export interface PermissionRow {
  containerId: number;
  authority: string;
  /** YYYY-MM-DD. */
  validTo: string;
  by: string;
  at: number;
}

/** What managers recorded about drains, the newest first. */
export async function permissionsOf(db: Executor, ids: number[]): Promise<PermissionRow[]> {
  if (ids.length === 0) return [];
  const { containerId, authority, validTo, at } = drainPermissions;
  return db
    .select({ containerId, authority, validTo, by: people.name, at })
    .from(drainPermissions)
    .innerJoin(people, eq(people.id, drainPermissions.by))
    .where(inArray(containerId, ids))
    .orderBy(desc(drainPermissions.id));
}

export async function insertPermission(
  tx: Executor,
  row: typeof drainPermissions.$inferInsert,
): Promise<void> {
  await tx.insert(drainPermissions).values(row);
}
