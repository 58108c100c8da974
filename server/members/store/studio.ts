import type { Studio } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { studio } from '../../core/schema.ts';

export async function insertStudio(tx: Tx, values: Studio & { setUpAt: Instant }): Promise<boolean> {
  // Two at once wait for each other here, and the later one inserts nothing.
  const made = await tx.insert(studio).values(values).onConflictDoNothing().returning({ id: studio.id });
  return made.length > 0;
}

/** What a manager may change about the studio. */
export type StudioSettings = Omit<Studio, 'currency'> & { staffSecondFactor: boolean };

export async function updateStudio(tx: Tx, values: StudioSettings): Promise<void> {
  await tx.update(studio).set(values);
}

/** Whether technicians and managers must have a second factor here. */
export async function asksStaffForFactor(db: Executor): Promise<boolean> {
  const [row] = await db.select({ asks: studio.staffSecondFactor }).from(studio);
  return row?.asks ?? false;
}
