import { and, desc, eq } from 'drizzle-orm';
import type { Actor } from './actor.ts';
import type { Instant } from './clock.ts';
import type { Executor } from './database.ts';
import { audit, people } from './schema.ts';

/** Appends one row: `subject` and `details` hold ids, codes and words of ours, never a person's name. */
export async function record(
  { tx, actor, now }: { tx: Executor; actor: Pick<Actor, 'id' | 'tokenId'> | null; now: Instant },
  act: string,
  subject: string,
  details: Record<string, string | number | boolean | null> = {},
): Promise<void> {
  await tx
    .insert(audit)
    .values({ at: now, by: actor?.id ?? null, tokenId: actor?.tokenId ?? null, act, subject, details });
}

/** The last time an act was done to a subject: when, by whom, and its details. */
export async function lastRecord(db: Executor, act: string, subject: string) {
  const [row] = await db
    .select({ at: audit.at, by: people.name, details: audit.details })
    .from(audit)
    .leftJoin(people, eq(people.id, audit.by))
    .where(and(eq(audit.act, act), eq(audit.subject, subject)))
    .orderBy(desc(audit.id))
    .limit(1);
  return row ? { ...row, details: row.details as Record<string, unknown> } : null;
}
