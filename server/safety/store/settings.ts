import type { Executor } from '../../core/database.ts';
import { safetySettings } from '../schema.ts';
import type { SafetySettings } from '../settings.ts';

/** What the studio chose, as it was stored; null while nothing was changed. */
export async function findSettings(db: Executor): Promise<unknown> {
  const [row] = await db.select({ value: safetySettings.value }).from(safetySettings);
  return row?.value ?? null;
}

export async function saveSettings(tx: Executor, value: SafetySettings): Promise<void> {
  await tx
    .insert(safetySettings)
    .values({ id: 1, value })
    .onConflictDoUpdate({ target: safetySettings.id, set: { value } });
}
