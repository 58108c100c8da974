import type { Executor } from '../../core/database.ts';
import { wareSettings } from '../schema.ts';

/** What the studio chose, as it was stored; null while nothing was changed. */
export async function findSettings(db: Executor): Promise<unknown> {
  const [row] = await db.select({ value: wareSettings.value }).from(wareSettings);
  return row?.value ?? null;
}

export async function saveSettings(tx: Executor, value: object): Promise<void> {
  await tx
    .insert(wareSettings)
    .values({ id: 1, value })
    .onConflictDoUpdate({ target: wareSettings.id, set: { value } });
}
