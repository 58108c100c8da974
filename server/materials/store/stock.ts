import { and, asc, desc, eq, inArray, isNull, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { materialLots, materials, stockEvents, stockNotes } from '../schema.ts';
import type { StockEvent, StockKind } from '../stock.ts';

const materialColumns = {
  id: materials.id,
  name: materials.name,
  reorderKg: materials.reorderKg,
  lastStockNumber: materials.lastStockNumber,
  retiredAt: materials.retiredAt,
};

const selectMaterials = (db: Executor) => db.select(materialColumns).from(materials);
export type StockedMaterial = Awaited<ReturnType<typeof selectMaterials>>[number];

/** Every material, by name. */
export const listMaterials = async (db: Executor): Promise<StockedMaterial[]> =>
  selectMaterials(db).orderBy(asc(sql`lower(${materials.name})`));

export async function findMaterial(db: Executor, id: number): Promise<StockedMaterial | null> {
  const [row] = await selectMaterials(db).where(eq(materials.id, id));
  return row ?? null;
}

/** The material, with its stock locked against a second writer. */
export async function lockMaterial(tx: Executor, id: number): Promise<StockedMaterial | null> {
  const [row] = await selectMaterials(tx).where(eq(materials.id, id)).for('update');
  return row ?? null;
}

export async function updateMaterial(
  tx: Executor,
  id: number,
  row: Partial<Pick<typeof materials.$inferInsert, 'reorderKg' | 'lastStockNumber'>>,
): Promise<void> {
  await tx.update(materials).set(row).where(eq(materials.id, id));
}

export type LotRow = typeof materialLots.$inferSelect;

/** The lots of these materials, or of all, the newest first. */
export async function listLots(db: Executor, materialIds?: number[]): Promise<LotRow[]> {
  return db
    .select()
    .from(materialLots)
    .where(materialIds && inArray(materialLots.materialId, materialIds))
    .orderBy(asc(materialLots.materialId), desc(materialLots.number));
}

/** The lot of a material that bears this name, whatever its case. */
export async function findLotNamed(db: Executor, materialId: number, lot: string): Promise<LotRow | null> {
  const [row] = await db
    .select()
    .from(materialLots)
    .where(and(eq(materialLots.materialId, materialId), sql`lower(${materialLots.lot}) = lower(${lot})`));
  return row ?? null;
}

export async function insertLot(tx: Executor, row: Omit<LotRow, 'number'>): Promise<LotRow> {
  const next = sql`(select coalesce(max(${materialLots.number}), 0) + 1 from ${materialLots}
    where ${materialLots.materialId} = ${row.materialId})`;
  const [made] = await tx
    .insert(materialLots)
    .values({ ...row, number: next })
    .returning();
  return made as LotRow;
}

export async function updateLot(
  tx: Executor,
  { materialId, number }: Pick<LotRow, 'materialId' | 'number'>,
  row: Partial<Pick<LotRow, 'onHandMg' | 'recalledAt' | 'supplier' | 'expiresOn'>>,
): Promise<void> {
  await tx
    .update(materialLots)
    .set(row)
    .where(and(eq(materialLots.materialId, materialId), eq(materialLots.number, number)));
}

const ledgerColumns = {
  number: stockEvents.number,
  lot: stockEvents.lotNumber,
  kind: stockEvents.kind,
  mg: stockEvents.mg,
  happenedAt: stockEvents.happenedAt,
  voids: stockEvents.voids,
};

/** All that is reckoned of a material's stock, or of one lot of it. */
export async function eventsOf(db: Executor, materialId: number, lot?: number): Promise<StockEvent[]> {
  return db
    .select(ledgerColumns)
    .from(stockEvents)
    .where(
      and(
        eq(stockEvents.materialId, materialId),
        lot === undefined ? undefined : eq(stockEvents.lotNumber, lot),
      ),
    );
}

export async function insertEvent(tx: Executor, row: typeof stockEvents.$inferInsert): Promise<void> {
  await tx.insert(stockEvents).values(row);
}

export async function insertNote(tx: Executor, text: string): Promise<number> {
  const [row] = await tx.insert(stockNotes).values({ text }).returning({ id: stockNotes.id });
  return (row as { id: number }).id;
}

const strike = alias(stockEvents, 'strike');

/** A row of the ledger as people read it. */
export interface LedgerRow {
  number: number;
  lot: number;
  lotName: string;
  kind: StockKind;
  mg: number | null;
  happenedAt: Instant;
  recordedAt: Instant;
  by: string;
  byToken: boolean;
  batch: number | null;
  voids: number | null;
  /** The number of the row that struck it out. */
  voidedBy: number | null;
  note: string | null;
}

const selectLedger = (db: Executor) =>
  db
    .select({
      ...ledgerColumns,
      lotName: materialLots.lot,
      recordedAt: stockEvents.recordedAt,
      by: people.name,
      byToken: sql<boolean>`${stockEvents.tokenId} is not null`,
      batch: stockEvents.batch,
      voidedBy: strike.number,
      note: stockNotes.text,
    })
    .from(stockEvents)
    .innerJoin(
      materialLots,
      and(
        eq(materialLots.materialId, stockEvents.materialId),
        eq(materialLots.number, stockEvents.lotNumber),
      ),
    )
    .innerJoin(people, eq(people.id, stockEvents.by))
    .leftJoin(stockNotes, eq(stockNotes.id, stockEvents.noteId))
    .leftJoin(
      strike,
      and(eq(strike.materialId, stockEvents.materialId), eq(strike.voids, stockEvents.number)),
    );

/** Rows numbered under `before`, the one written last first; of one lot where one is named. */
export async function listEvents(
  db: Executor,
  materialId: number,
  { limit, before, lot }: { limit: number; before: number; lot?: number },
): Promise<LedgerRow[]> {
  return selectLedger(db)
    .where(
      and(
        eq(stockEvents.materialId, materialId),
        sql`${stockEvents.number} < ${before}`,
        lot === undefined ? undefined : eq(stockEvents.lotNumber, lot),
      ),
    )
    .orderBy(desc(stockEvents.number))
    .limit(limit);
}

export async function findEvent(db: Executor, materialId: number, number: number): Promise<LedgerRow | null> {
  const [row] = await selectLedger(db).where(
    and(eq(stockEvents.materialId, materialId), eq(stockEvents.number, number)),
  );
  return row ?? null;
}

/** The newest use of this much for a batch that was not struck out. */
export async function findUseFor(
  db: Executor,
  use: { materialId: number; lot: number; batch: number; mg: number },
): Promise<number | null> {
  const [row] = await selectLedger(db)
    .where(
      and(
        eq(stockEvents.materialId, use.materialId),
        eq(stockEvents.lotNumber, use.lot),
        eq(stockEvents.batch, use.batch),
        eq(stockEvents.mg, use.mg),
        eq(stockEvents.kind, 'use'),
        isNull(strike.number),
      ),
    )
    .orderBy(desc(stockEvents.number))
    .limit(1);
  return row?.number ?? null;
}

/** Active technicians and managers. */
export async function staffIds(db: Executor): Promise<number[]> {
  const rows = await db
    .select({ id: people.id })
    .from(people)
    .where(and(inArray(people.role, ['technician', 'manager']), eq(people.active, true)));
  return rows.map(({ id }) => id);
}
