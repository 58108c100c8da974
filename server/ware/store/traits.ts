import { and, asc, eq, sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { glazeConflicts, glazeTraits } from '../schema.ts';

type TraitRow = typeof glazeTraits.$inferSelect;
type ConflictRow = typeof glazeConflicts.$inferSelect;

export async function listTraits(db: Executor): Promise<TraitRow[]> {
  return db.select().from(glazeTraits);
}

export async function saveTrait(tx: Executor, { bucketId, ...trait }: TraitRow): Promise<void> {
  await tx
    .insert(glazeTraits)
    .values({ bucketId, ...trait })
    .onConflictDoUpdate({ target: glazeTraits.bucketId, set: trait });
}

export async function listConflicts(db: Executor): Promise<ConflictRow[]> {
  return db.select().from(glazeConflicts).orderBy(asc(glazeConflicts.tagA), asc(glazeConflicts.tagB));
}

/** False where there is a rule for these two already. */
export async function insertConflict(tx: Executor, rule: Omit<ConflictRow, 'id'>): Promise<boolean> {
  const made = await tx
    .insert(glazeConflicts)
    .values(rule)
    .onConflictDoNothing()
    .returning({ id: glazeConflicts.id });
  return made.length > 0;
}

/** False where there was no rule for these two. */
export async function deleteConflict(tx: Executor, tagA: string, tagB: string): Promise<boolean> {
  const gone = await tx
    .delete(glazeConflicts)
    .where(and(eq(glazeConflicts.tagA, tagA), eq(glazeConflicts.tagB, tagB)))
    .returning({ id: glazeConflicts.id });
  return gone.length > 0;
}

/** Words that glazes or rules use, in order. */
export async function knownTags(db: Executor): Promise<string[]> {
  const rows = await db.execute<{ tag: string }>(sql`
    select unnest(${glazeTraits.tags}) as tag from ${glazeTraits}
    union select ${glazeConflicts.tagA} from ${glazeConflicts}
    union select ${glazeConflicts.tagB} from ${glazeConflicts}
    order by 1`);
  return rows.map(({ tag }) => tag);
}
