import { and, asc, eq, isNull, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { clays } from '../schema.ts';

export type ClayRow = typeof clays.$inferSelect;

/** By name; retired ones only where asked for. */
export async function listClays(db: Executor, withRetired: boolean): Promise<ClayRow[]> {
  return db
    .select()
    .from(clays)
    .where(withRetired ? undefined : isNull(clays.retiredAt))
    .orderBy(asc(sql`lower(${clays.name})`));
}

export async function findClay(db: Executor, id: number): Promise<ClayRow | null> {
  const [row] = await db.select().from(clays).where(eq(clays.id, id));
  return row ?? null;
}

/** The clay with its row locked until the end of the transaction. */
export async function lockClay(tx: Executor, id: number): Promise<ClayRow | null> {
  const [row] = await tx.select().from(clays).where(eq(clays.id, id)).for('update');
  return row ?? null;
}

export async function insertClay(
  tx: Executor,
  values: Omit<typeof clays.$inferInsert, 'id' | 'retiredAt'>,
): Promise<number> {
  const [row] = await tx.insert(clays).values(values).returning({ id: clays.id });
  return (row as { id: number }).id;
}

export async function updateClay(tx: Executor, id: number, values: Partial<ClayRow>): Promise<void> {
  await tx.update(clays).set(values).where(eq(clays.id, id));
}

/** Leaves a clay that is retired already as it is. */
export async function retireClay(tx: Executor, id: number, now: Instant): Promise<void> {
  await tx
    .update(clays)
    .set({ retiredAt: now })
    .where(and(eq(clays.id, id), isNull(clays.retiredAt)));
}
