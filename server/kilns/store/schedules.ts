import { and, asc, desc, eq, getTableColumns, inArray, isNull, type SQL } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people, studio } from '../../core/schema.ts';
import { schedules } from '../schema.ts';

export type ScheduleRow = typeof schedules.$inferSelect & { madeByName: string };

const select = (db: Executor, which: SQL | undefined) =>
  db
    .select({ ...getTableColumns(schedules), madeByName: people.name })
    .from(schedules)
    .innerJoin(people, eq(people.id, schedules.madeBy))
    .where(which)
    .orderBy(asc(schedules.kind), desc(schedules.number));

/** The newest first within each kind; the retired ones only where asked for. */
export const listSchedules = (db: Executor, { retired }: { retired: boolean }): Promise<ScheduleRow[]> =>
  select(db, retired ? undefined : isNull(schedules.retiredAt));

export const schedulesByIds = async (db: Executor, ids: number[]): Promise<ScheduleRow[]> =>
  ids.length === 0 ? [] : select(db, inArray(schedules.id, ids));

export async function findSchedule(db: Executor, number: number): Promise<ScheduleRow | null> {
  const [row] = await select(db, eq(schedules.number, number));
  return row ?? null;
}

/** A schedule with the next number. Numbers have no gaps: the studio's row is locked for it. */
export async function insertSchedule(
  tx: Executor,
  row: Omit<typeof schedules.$inferInsert, 'number'>,
): Promise<number> {
  await tx.select({ id: studio.id }).from(studio).for('update');
  const [last] = await tx
    .select({ number: schedules.number })
    .from(schedules)
    .orderBy(desc(schedules.number))
    .limit(1);
  const number = (last?.number ?? 0) + 1;
  await tx.insert(schedules).values({ ...row, number });
  return number;
}

/** Whether there was one in use to retire. */
export async function retireSchedule(tx: Executor, number: number, now: Instant): Promise<boolean> {
  const rows = await tx
    .update(schedules)
    .set({ retiredAt: now })
    .where(and(eq(schedules.number, number), isNull(schedules.retiredAt)))
    .returning({ id: schedules.id });
  return rows.length > 0;
}
