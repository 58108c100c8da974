import { and, eq, inArray, isNull, or, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import type { Grant, LitreUse } from '../litres.ts';
import { feeEntries, feeLitres } from '../schema.ts';

/** Litres of firing that come with what was just sold: with a card, or with clay by the bag. */
export async function grantLitres(
  { tx, now }: Act,
  sold: { accountId: number; source: 'card' | 'clay'; cm3: number; entryId: number },
): Promise<void> {
  if (sold.cm3 <= 0) return;
  const [entry] = await tx
    .select({ period: feeEntries.period })
    .from(feeEntries)
    .where(eq(feeEntries.id, sold.entryId));
  if (!entry) throw new Error('Litres are granted by an entry.');
  await tx.insert(feeLitres).values({ ...sold, period: entry.period, at: now });
}

/** Litres that an account bought and has left, the oldest grant first; what is used up is left out. */
export async function litresOf(
  { tx }: Pick<Read, 'tx'>,
  accountId: number,
): Promise<(Grant & { grantedCm3: number })[]> {
  const use = alias(feeLitres, 'use');
  const rows = await tx
    .select({
      id: feeLitres.id,
      source: feeLitres.source,
      at: feeLitres.at,
      grantedCm3: feeLitres.cm3,
      leftCm3: sql<number>`${feeLitres.cm3} + coalesce(sum(${use.cm3}), 0)`.mapWith(Number),
    })
    .from(feeLitres)
    .leftJoin(use, eq(use.grantId, feeLitres.id))
    .where(
      and(
        eq(feeLitres.accountId, accountId),
        isNull(feeLitres.grantId),
        inArray(feeLitres.source, ['card', 'clay']),
      ),
    )
    .groupBy(feeLitres.id)
    .orderBy(feeLitres.at, feeLitres.id);
  return rows.filter(({ leftCm3 }) => leftCm3 > 0) as (Grant & { grantedCm3: number })[];
}

/** Of a month's free litres: what an account used, cm³. */
export async function usedInMonth(db: Executor, accountId: number, period: string): Promise<number> {
  const [row] = await db
    .select({ cm3: sql<number>`coalesce(-sum(${feeLitres.cm3}), 0)`.mapWith(Number) })
    .from(feeLitres)
    .where(
      and(eq(feeLitres.accountId, accountId), eq(feeLitres.source, 'month'), eq(feeLitres.period, period)),
    );
  return row?.cm3 ?? 0;
}

interface Movement {
  accountId: number;
  entryId: number;
  period: string;
  at: Instant;
}

/** What a charge took out of included litres, or below zero what was given back. */
export async function insertUses(
  db: Executor,
  movements: readonly (Movement & { uses: readonly LitreUse[] })[],
): Promise<void> {
  const rows = movements.flatMap(({ uses, ...movement }) =>
    uses.map(({ source, grantId, cm3 }) => ({ ...movement, source, grantId, cm3: -cm3 })),
  );
  if (rows.length > 0) await db.insert(feeLitres).values(rows);
}

/** Litres that charges took and that did not come back, by the charge. */
export async function usesOf(
  db: Executor,
  entryIds: readonly number[],
): Promise<(LitreUse & { accountId: number; period: string; chargeId: number })[]> {
  if (entryIds.length === 0) return [];
  const ids = [...entryIds];
  const charge = sql<number>`case when ${inArray(feeEntries.about, ids)} then ${feeEntries.about} else ${feeEntries.id} end`;
  const rows = await db
    .select({
      chargeId: charge.mapWith(Number),
      accountId: feeLitres.accountId,
      source: feeLitres.source,
      grantId: feeLitres.grantId,
      period: feeLitres.period,
      cm3: sql<number>`-sum(${feeLitres.cm3})`.mapWith(Number),
    })
    .from(feeLitres)
    .innerJoin(feeEntries, eq(feeEntries.id, feeLitres.entryId))
    .where(or(inArray(feeEntries.id, ids), inArray(feeEntries.about, ids)))
    .groupBy(sql`1`, feeLitres.accountId, feeLitres.source, feeLitres.grantId, feeLitres.period);
  return rows.filter(({ cm3 }) => cm3 !== 0);
}

/**
 * Undoes what an entry did to included litres, for one that is struck out: what a charge used and did not get back
 * since, what a credit gave back, or the litres that came with a sale, as far as nobody used them. Undone once; nothing
 * to undo is no error.
 */
export async function returnLitres({ tx, now }: Act, entryId: number): Promise<void> {
  const grants = await tx
    .select()
    .from(feeLitres)
    .where(
      and(
        eq(feeLitres.entryId, entryId),
        isNull(feeLitres.grantId),
        sql`${feeLitres.cm3} > 0`,
        sql`${feeLitres.source} <> 'month'`,
      ),
    );
  for (const grant of grants) {
    const [left] = (await litresOf({ tx }, grant.accountId)).filter(({ id }) => id === grant.id);
    if (left)
      await tx.insert(feeLitres).values({
        accountId: grant.accountId,
        source: grant.source,
        grantId: grant.id,
        cm3: -left.leftCm3,
        period: grant.period,
        entryId,
        at: now,
      });
  }
  if (grants.length > 0) return;
  if (await isOfStruck(tx, entryId)) return;
  for (const { accountId, period, source, grantId, cm3 } of await usesOf(tx, [entryId]))
    await insertUses(tx, [{ accountId, period, entryId, at: now, uses: [{ source, grantId, cm3: -cm3 }] }]);
}

/** Whether it corrects an entry that is struck out itself: that took everything with it. */
async function isOfStruck(db: Executor, entryId: number): Promise<boolean> {
  const strike = alias(feeEntries, 'strike');
  const rows = await db
    .select({ id: strike.id })
    .from(feeEntries)
    .innerJoin(strike, eq(strike.voids, feeEntries.about))
    .where(eq(feeEntries.id, entryId));
  return rows.length > 0;
}
