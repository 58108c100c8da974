import { and, asc, desc, eq, isNull, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import type { Calibration } from '../float.ts';
import type { Cup, Instrument } from '../kinds.ts';
import { cups, floatCalibrations, floats, instruments } from '../schema.ts';

/** What cups, instruments and floats have in common. */
type GearTable = typeof cups | typeof instruments | typeof floats;

const inUse = (table: GearTable, code: string) =>
  and(sql`lower(${table.code}) = lower(${code})`, isNull(table.retiredAt));

async function retire(tx: Executor, table: GearTable, code: string, now: Instant): Promise<boolean> {
  const rows = await tx
    .update(table)
    .set({ retiredAt: now })
    .where(inUse(table, code))
    .returning({ id: table.id });
  return rows.length > 0;
}

export async function findCup(db: Executor, code: string): Promise<Cup | null> {
  const [row] = await db.select().from(cups).where(inUse(cups, code));
  return row ?? null;
}

export async function listCups(db: Executor): Promise<(Cup & { name: string })[]> {
  return db.select().from(cups).where(isNull(cups.retiredAt)).orderBy(asc(cups.code));
}

export async function insertCup(tx: Executor, row: typeof cups.$inferInsert): Promise<void> {
  await tx.insert(cups).values(row);
}

export const retireCup = (tx: Executor, code: string, now: Instant): Promise<boolean> =>
  retire(tx, cups, code, now);

export async function findInstrument(db: Executor, code: string): Promise<Instrument | null> {
  const [row] = await db.select().from(instruments).where(inUse(instruments, code));
  return row ?? null;
}

export async function listInstruments(db: Executor): Promise<Instrument[]> {
  const { kind, code, name, resolutionG, scale, division } = instruments;
  return db
    .select({ kind, code, name, resolutionG, scale, division })
    .from(instruments)
    .where(isNull(instruments.retiredAt))
    .orderBy(asc(instruments.code));
}

export async function insertInstrument(
  tx: Executor,
  row: Omit<typeof instruments.$inferInsert, 'id' | 'retiredAt'>,
): Promise<void> {
  await tx.insert(instruments).values(row);
}

export const retireInstrument = (tx: Executor, code: string, now: Instant): Promise<boolean> =>
  retire(tx, instruments, code, now);

export interface FloatRow {
  id: number;
  code: string;
  name: string;
  calibration: (Calibration & { madeAt: Instant }) | null;
}

const { points, intercept, slopePerMm, residual, madeAt } = floatCalibrations;
const newer = alias(floatCalibrations, 'newer');

const selectFloats = (db: Executor) =>
  db
    .select({
      id: floats.id,
      code: floats.code,
      name: floats.name,
      calibration: { points, intercept, slopePerMm, residual, madeAt },
    })
    .from(floats)
    .leftJoin(
      floatCalibrations,
      and(
        eq(floatCalibrations.floatId, floats.id),
        eq(
          floatCalibrations.id,
          db
            .select({ id: newer.id })
            .from(newer)
            .where(eq(newer.floatId, floats.id))
            .orderBy(desc(newer.madeAt), desc(newer.id))
            .limit(1),
        ),
      ),
    );

/** Each with its newest calibration. */
export const listFloats = (db: Executor): Promise<FloatRow[]> =>
  selectFloats(db).where(isNull(floats.retiredAt)).orderBy(asc(floats.code));

export async function findFloat(db: Executor, code: string): Promise<FloatRow | null> {
  const [row] = await selectFloats(db).where(inUse(floats, code));
  return row ?? null;
}

export async function insertFloat(tx: Executor, row: { code: string; name: string }): Promise<void> {
  await tx.insert(floats).values(row);
}

export const retireFloat = (tx: Executor, code: string, now: Instant): Promise<boolean> =>
  retire(tx, floats, code, now);

export async function insertCalibration(
  tx: Executor,
  row: Omit<typeof floatCalibrations.$inferInsert, 'id'>,
): Promise<void> {
  await tx.insert(floatCalibrations).values(row);
}
