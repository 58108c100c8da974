import { and, eq } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';

/** The e-mail address of somebody who is still here. */
export async function addressOf(db: Executor, personId: number): Promise<string | null> {
  const [row] = await db
    .select({ email: people.email })
    .from(people)
    .where(and(eq(people.id, personId), eq(people.active, true)));
  return row?.email ?? null;
}
