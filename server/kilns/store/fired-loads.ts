import { and, asc, eq, gte, lt, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { pieces } from '../../ware/schema.ts';
import { loadPieces, loads } from '../schema.ts';

/** Emptied loads with the volume of what stood in them. */
export async function emptiedBetween(db: Executor, from: Instant, until: Instant) {
  return db
    .select({
      number: loads.number,
      kilnId: loads.kilnId,
      scheduleId: loads.scheduleId,
      emptiedAt: loads.unloadedAt,
      mm3: sql<number>`coalesce(sum(${pieces.widthMm} * ${pieces.depthMm} * ${pieces.heightMm}), 0)`,
    })
    .from(loads)
    .leftJoin(loadPieces, and(eq(loadPieces.loadId, loads.id), sql`${loadPieces.isIn} is not false`))
    .leftJoin(pieces, eq(pieces.id, loadPieces.pieceId))
    .where(and(gte(loads.unloadedAt, from), lt(loads.unloadedAt, until)))
    .groupBy(loads.id)
    .orderBy(asc(loads.number));
}
