import { and, desc, eq, getTableColumns, inArray, sql } from 'drizzle-orm';
import type { Act } from '../../core/actor.ts';
import type { Executor } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import { firingLogs } from '../schema.ts';

export type LogRow = typeof firingLogs.$inferSelect;

/** A controller's file as it came, packed: what it says may be read once more with other columns. */
const PACKED = 'application/gzip';

/** Keeps a packed log under the hash of its bytes, once however often it is sent. */
export async function keepFile(
  { tx, actor, now }: Act,
  { bytes, sha256 }: { bytes: Buffer; sha256: string },
): Promise<void> {
  await tx
    .insert(files)
    .values({ sha256, type: PACKED, bytes, madeBy: actor.id, madeAt: now })
    .onConflictDoNothing();
}

export async function findFile(db: Executor, sha256: string): Promise<{ id: number; bytes: Buffer } | null> {
  const [row] = await db
    .select({ id: files.id, bytes: files.bytes })
    .from(files)
    .where(and(eq(files.sha256, sha256), eq(files.type, PACKED)));
  return row ?? null;
}

export async function insertLog(tx: Executor, row: typeof firingLogs.$inferInsert): Promise<void> {
  await tx.insert(firingLogs).values(row);
}

/** The log of a load that counts, and who brought it in; null before the first. */
export async function newestLog(db: Executor, loadId: number): Promise<(LogRow & { byName: string }) | null> {
  const [row] = await db
    .select({ ...getTableColumns(firingLogs), byName: people.name })
    .from(firingLogs)
    .innerJoin(people, eq(people.id, firingLogs.madeBy))
    .where(eq(firingLogs.loadId, loadId))
    .orderBy(desc(firingLogs.madeAt), desc(firingLogs.id))
    .limit(1);
  return row ?? null;
}

/** The fit of the cooling from the log that counts of each of these loads; null where there was none to fit. */
export async function coolingFits(
  db: Executor,
  loadIds: readonly number[],
): Promise<{ loadId: number; fit: unknown }[]> {
  if (loadIds.length === 0) return [];
  return db
    .selectDistinctOn([firingLogs.loadId], {
      loadId: firingLogs.loadId,
      fit: sql<unknown>`${firingLogs.findings} -> 'cooling'`,
    })
    .from(firingLogs)
    .where(inArray(firingLogs.loadId, [...loadIds]))
    .orderBy(firingLogs.loadId, desc(firingLogs.madeAt), desc(firingLogs.id));
}
