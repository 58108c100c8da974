import type { Instant } from '../core/clock.ts';
import { decimalParts } from '../core/money.ts';
import type { Tariff } from './tariff.ts';

// Firing that was paid for beforehand: a price list's monthly litres, a bag of clay with its firing, a card. Whole cm³.

/** Litres that somebody bought and has not used up. */
export interface Grant {
  id: number;
  source: 'card' | 'clay';
  leftCm3: number;
  at: Instant;
}

/** A part of a firing that included litres pay for. */
export interface LitreUse {
  source: 'month' | 'card' | 'clay';
  /** Of 'month': null, since only its use is kept. */
  grantId: number | null;
  cm3: number;
}

/** What a payer has left before a firing; each draw leaves less. */
export interface LitresLeft {
  monthCm3: number;
  grants: Grant[];
}

/** '12.5' litres in whole cm³, down to the last one: 12500. Throws RangeError for what is no decimal text. */
export function cm3OfLitres(litres: string): number {
  const { digits, places } = decimalParts(litres);
  return Number((digits * 1000n) / 10n ** BigInt(places));
}

/** Litres for people, to a tenth: '12.5 L'. @param cm3 whole cm³ */
export const litresText = (cm3: number): string => `${(Math.round(cm3 / 100) / 10).toFixed(1)} L`;

/**
 * Litres that a class has free in a month by this price list, cm³: its own row, else the one for every class, else 0.
 */
export function monthlyCm3({ monthly }: Pick<Tariff, 'monthly'>, memberClass: string | null): number {
  const row =
    (memberClass !== null && monthly.find((one) => one.memberClass === memberClass)) ||
    monthly.find((one) => one.memberClass === null);
  return row ? cm3OfLitres(row.litres) : 0;
}

const ORDER: Record<Grant['source'], number> = { clay: 0, card: 1 };

/**
 * Takes a firing out of what is left: this month's litres first, since they end with it, then what came with clay, then
 * cards, the oldest first. Uses sum to the lesser of what is wanted and what is left, and none is of nothing.
 *
 * @param wantedCm3 the bounding box of the piece; a part of a cm³ is not taken
 */
export function drawLitres(
  left: LitresLeft,
  wantedCm3: number,
): { uses: LitreUse[]; coveredCm3: number; left: LitresLeft } {
  let wanted = Math.max(0, Math.floor(wantedCm3));
  const uses: LitreUse[] = [];
  const take = (available: number, use: Omit<LitreUse, 'cm3'>): number => {
    const cm3 = Math.min(wanted, Math.max(0, available));
    if (cm3 > 0) uses.push({ ...use, cm3 });
    wanted -= cm3;
    return available - cm3;
  };
  const monthCm3 = take(left.monthCm3, { source: 'month', grantId: null });
  const grants = [...left.grants]
    .sort((a, b) => ORDER[a.source] - ORDER[b.source] || a.at - b.at || a.id - b.id)
    .map((grant) => ({
      ...grant,
      leftCm3: take(grant.leftCm3, { source: grant.source, grantId: grant.id }),
    }));
  const coveredCm3 = uses.reduce((sum, { cm3 }) => sum + cm3, 0);
  return { uses, coveredCm3, left: { monthCm3, grants } };
}

/** The share of each use that goes back, whole cm³, rounded down. @param percent decimal text, '100' for all */
export function litresBack(uses: readonly LitreUse[], percent: string): LitreUse[] {
  const { digits, places } = decimalParts(percent);
  const part = (cm3: number) => Number((BigInt(cm3) * digits) / (100n * 10n ** BigInt(places)));
  return uses.flatMap((use) => {
    const cm3 = part(use.cm3);
    return cm3 > 0 ? [{ ...use, cm3 }] : [];
  });
}
