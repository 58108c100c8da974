import type { Executor } from '../../core/database.ts';
import { kilnSettings } from '../schema.ts';

/** What the studio chose, as it was stored; null while nothing was changed. */
export async function findSettings(db: Executor): Promise<unknown> {
  const [row] = await db.select({ value: kilnSettings.value }).from(kilnSettings);
  return row?.value ?? null;
}

export async function saveSettings(tx: Executor, value: object): Promise<void> {
  await tx
    .insert(kilnSettings)
    .values({ id: 1, value })
    .onConflictDoUpdate({ target: kilnSettings.id, set: { value } });
}
