import type { Instant } from '../core/clock.ts';
import { mass, type UnitSystem } from '../core/units.ts';

export type StockKind = 'delivery' | 'use' | 'count' | 'disposal' | 'recall' | 'recall-lifted' | 'void';

/** One row of a material's stock ledger, as far as it is reckoned with. */
export interface StockEvent {
  number: number;
  /** The number of the lot within the material. */
  lot: number;
  kind: StockKind;
  /** Whole milligrams delivered, used or thrown away, or found at a count; null where none are concerned. */
  mg: number | null;
  happenedAt: Instant;
  /** The number of the row it strikes out. */
  voids: number | null;
}

export interface LotState {
  /** On hand, in whole milligrams; never below zero. */
  mg: number;
  recalledAt: Instant | null;
  /** Numbers of the rows that took more than was there, since the last count. */
  doubts: number[];
}

const MG_A_KG = 1_000_000;

/** Kilograms as whole milligrams, in which stock is kept so that it can reach exactly zero. */
export const toMg = (kg: number): number => Math.round(kg * MG_A_KG);

/** Milligrams in kg. */
export const toKg = (mg: number): number => mg / MG_A_KG;

const NOTHING: LotState = { mg: 0, recalledAt: null, doubts: [] };

/**
 * A lot after one more event, which is neither a void nor voided. Total: what takes more than is there leaves nothing
 * and is kept as a doubt until the next count, which says what is there whatever was reckoned.
 */
export function stepLot(lot: LotState, { number, kind, mg, happenedAt }: StockEvent): LotState {
  const amount = mg ?? 0;
  switch (kind) {
    case 'delivery':
      return { ...lot, mg: lot.mg + amount };
    case 'use':
    case 'disposal':
      return amount > lot.mg
        ? { ...lot, mg: 0, doubts: [...lot.doubts, number] }
        : { ...lot, mg: lot.mg - amount };
    case 'count':
      return { ...lot, mg: amount, doubts: [] };
    case 'recall':
      return { ...lot, recalledAt: happenedAt };
    case 'recall-lifted':
      return { ...lot, recalledAt: null };
    case 'void':
      return lot;
  }
}

/**
 * What is on hand of each lot, by the lot's number: every event in the order in which things happened (those of the
 * same instant as they were written down), less what was struck out. The order in which they are given is of no matter.
 */
export function foldStock(events: readonly StockEvent[]): Map<number, LotState> {
  const struck = new Set(events.map(({ voids }) => voids));
  const lots = new Map<number, LotState>();
  for (const event of [...events].sort(inOrder)) {
    const before = lots.get(event.lot) ?? NOTHING;
    lots.set(event.lot, struck.has(event.number) ? before : stepLot(before, event));
  }
  return lots;
}

const inOrder = (a: StockEvent, b: StockEvent): number => a.happenedAt - b.happenedAt || a.number - b.number;

/** The same of the events of one lot; nothing on hand without any. */
export const foldLot = (events: readonly StockEvent[]): LotState =>
  [...foldStock(events).values()][0] ?? NOTHING;

/** What a lot is judged by; `expiresOn` is its last good day as YYYY-MM-DD. */
export interface Standing {
  onHandMg: number;
  expiresOn: string | null;
  recalledAt: Instant | null;
}

/** Whether the last good day is past; `today` as YYYY-MM-DD in studio time. A lot without a date never expires. */
export const isExpired = ({ expiresOn }: Pick<Standing, 'expiresOn'>, today: string): boolean =>
  expiresOn !== null && expiresOn < today;

/** Milligrams on hand of lots that are neither recalled nor expired: what may be weighed. */
export const usableMg = (lots: readonly Standing[], today: string): number =>
  lots.reduce(
    (sum, lot) => (lot.recalledAt === null && !isExpired(lot, today) ? sum + lot.onHandMg : sum),
    0,
  );

/** Whether less than the reorder level (kg; null: not watched) may be weighed. */
export const isLow = (reorderKg: number | null, lots: readonly Standing[], today: string): boolean =>
  reorderKg !== null && usableMg(lots, today) < toMg(reorderKg);

/** An amount of stock in words: kilograms or pounds, in metric units grams below a kilogram. */
export function stockWords(mg: number, units: UnitSystem): string {
  if (units === 'us' || mg >= MG_A_KG || mg === 0) return mass(toKg(mg), units);
  return `${Number((mg / 1000).toPrecision(3))} g`;
}

export const KIND_WORDS: Record<StockKind, string> = {
  delivery: 'Delivered',
  use: 'Used',
  count: 'Counted',
  disposal: 'Thrown away',
  recall: 'Recalled',
  'recall-lifted': 'Recall lifted',
  void: 'Struck out',
};
