import { eq } from 'drizzle-orm';
import type { Executor, Tx } from '../../core/database.ts';
import { feeAccounts, feeSettings } from '../schema.ts';

/** What the studio chose, as it was stored; null while nothing was changed. */
export async function findSettings(db: Executor): Promise<unknown> {
  const [row] = await db.select({ value: feeSettings.value }).from(feeSettings);
  return row?.value ?? null;
}

export async function saveSettings(tx: Tx, value: object): Promise<void> {
  await tx
    .insert(feeSettings)
    .values({ id: 1, value })
    .onConflictDoUpdate({ target: feeSettings.id, set: { value } });
}

/** Every class that somebody's account is in; null among them: somebody was put in none. */
export async function classesInUse(db: Executor): Promise<(string | null)[]> {
  const rows = await db
    .selectDistinct({ memberClass: feeAccounts.memberClass })
    .from(feeAccounts)
    .where(eq(feeAccounts.kind, 'payer'));
  return rows.map(({ memberClass }) => memberClass);
}
