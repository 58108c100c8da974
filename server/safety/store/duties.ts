import { and, asc, desc, eq, isNull, max, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { duties, safetyEntries } from '../schema.ts';

export type DutyRow = typeof duties.$inferSelect & {
  /** When it was done last by what was not struck out, and by whom; null: never. */
  last: { number: number; at: Instant; by: string } | null;
};

/** The duties that did not end, each with the last time it was done. */
export async function listDuties(db: Executor): Promise<DutyRow[]> {
  const [rows, done] = await Promise.all([
    db.select().from(duties).where(isNull(duties.endedAt)).orderBy(asc(duties.everyDays), asc(duties.number)),
    lastDone(db),
  ]);
  const lasts = new Map(done.map(({ dutyId, number, at, by }) => [dutyId, { number, at, by }]));
  return rows.map((row) => ({ ...row, last: lasts.get(row.id) ?? null }));
}

const lastDone = (db: Executor) =>
  db
    .selectDistinctOn([duties.id], {
      dutyId: duties.id,
      number: safetyEntries.number,
      at: safetyEntries.happenedAt,
      by: people.name,
    })
    .from(safetyEntries)
    .innerJoin(duties, and(eq(duties.id, safetyEntries.dutyId), isNull(duties.endedAt)))
    .innerJoin(people, eq(people.id, safetyEntries.by))
    .where(
      sql`not exists (select 1 from safety_entries s where s.about = ${safetyEntries.number}
        and s.kind = 'amendment' and s.payload ? 'strikes')`,
    )
    .orderBy(asc(duties.id), desc(safetyEntries.happenedAt), desc(safetyEntries.number));

export async function findDuty(db: Executor, number: number): Promise<typeof duties.$inferSelect | null> {
  const [row] = await db.select().from(duties).where(eq(duties.number, number));
  return row ?? null;
}

/** Until the transaction ends nobody else makes a duty. */
export async function lockDuties(tx: Tx): Promise<void> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended('safety duties', 0))`);
}

/** Makes a duty with the next number. */
export async function insertDuty(tx: Tx, row: Omit<typeof duties.$inferInsert, 'number'>): Promise<number> {
  await lockDuties(tx);
  const [last] = await tx.select({ number: max(duties.number) }).from(duties);
  const number = (last?.number ?? 0) + 1;
  await tx.insert(duties).values({ ...row, number });
  return number;
}

/** False where it had ended before. */
export async function endDuty(tx: Tx, number: number, now: Instant): Promise<boolean> {
  const ended = await tx
    .update(duties)
    .set({ endedAt: now })
    .where(and(eq(duties.number, number), isNull(duties.endedAt)))
    .returning({ number: duties.number });
  return ended.length > 0;
}
