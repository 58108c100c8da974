import { desc, eq, isNotNull, sql } from 'drizzle-orm';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { tariffs } from '../schema.ts';

export type TariffRow = typeof tariffs.$inferSelect;

/** Every list that was put in force, without what it says. */
export const listsInForce = (db: Executor) =>
  db
    .select({
      number: tariffs.number,
      validFrom: tariffs.validFrom,
      validUntil: tariffs.validUntil,
      inForceAt: sql<number>`${tariffs.inForceAt}`.mapWith(tariffs.inForceAt),
    })
    .from(tariffs)
    .where(isNotNull(tariffs.inForceAt));

export async function tariffByNumber(db: Executor, number: number): Promise<TariffRow | null> {
  const [row] = await db.select().from(tariffs).where(eq(tariffs.number, number));
  return row ?? null;
}

export async function lockTariff(tx: Tx, number: number): Promise<TariffRow | null> {
  const [row] = await tx.select().from(tariffs).where(eq(tariffs.number, number)).for('update');
  return row ?? null;
}

/** Newest first, with who made each. */
export const allTariffs = (db: Executor) =>
  db
    .select({ row: tariffs, by: people.name })
    .from(tariffs)
    .innerJoin(people, eq(people.id, tariffs.madeBy))
    .orderBy(desc(tariffs.number));

export async function insertTariff(tx: Tx, row: typeof tariffs.$inferInsert): Promise<void> {
  await tx.insert(tariffs).values(row);
}

export async function updateTariff(
  tx: Tx,
  number: number,
  values: Partial<typeof tariffs.$inferInsert>,
): Promise<void> {
  await tx.update(tariffs).set(values).where(eq(tariffs.number, number));
}

export async function deleteTariff(tx: Tx, number: number): Promise<void> {
  await tx.delete(tariffs).where(eq(tariffs.number, number));
}
