import type { Rounding } from '../core/money.ts';
import type { Atmosphere, FiringKind } from '../ware/firing.ts';
import type { IncomeKey } from './ledger.ts';

// What a price list says. Amounts are whole minor units of the studio's currency; rates and factors are decimal texts
// ('3.5'), which multiply exactly.

/** How a firing of one piece is priced. */
export type Basis =
  | { by: 'volume'; minorPer: string; unit: 'cm3' | 'litre' | 'in3' }
  | { by: 'area'; minorPer: string; unit: 'cm2' | 'in2' }
  | { by: 'weight'; minorPer: string; unit: 'kg' | 'lb' }
  /** The first band whose limit the bounding box does not pass; the last has none. */
  | { by: 'size'; bands: { name: string; upToCm3: number | null; minor: number }[] }
  /** Half shelves that a payer's footprints take in a load, at the cheapest, shared by footprint. */
  | {
      by: 'shelf';
      halfMinor: number;
      shelfMinor: number;
      loadMinor: number;
      /** Footprint that half a shelf takes, and half shelves of a whole load. */
      halfShelfCm2: number;
      halvesALoad: number;
    }
  /** Energy and wear of the whole load, shared by volume; the usual figures are for a quote. */
  | {
      by: 'cost';
      minorPerKwh: string;
      wearMinor: number;
      /** Of a firing with burners, in place of energy. */
      fuelMinor: number;
      usualKwh: number;
      usualLitres: number;
    }
  /** Nothing: it is in the price of something else. */
  | { by: 'included' };

/** How firings of these kinds are priced; the first line that fits counts. No kinds: all. */
export interface Line {
  code: string;
  name: string;
  kinds: FiringKind[];
  basis: Basis;
}

/** Multiplies a price where everything that it names fits. */
export interface Factor {
  name: string;
  factor: string;
  kinds: FiringKind[];
  /** From the coolest to the hottest cone, both included; null: no limit. */
  coneFrom: string | null;
  coneTo: string | null;
  atmosphere: Atmosphere | null;
  memberClass: string | null;
}

export const ITEM_KINDS = ['sale', 'card', 'dues', 'hire', 'damage', 'work'] as const;
/** A sale by quantity; a card of litres; what is due every month; a kiln lent out; a ruined shelf; an hour worked. */
export type ItemKind = (typeof ITEM_KINDS)[number];

/** Something else that has a price. */
export interface Item {
  code: string;
  name: string;
  kind: ItemKind;
  /** What one of it is: 'kg', 'bag', 'month', 'hour'. */
  unit: string;
  minor: number;
  /** Litres of firing that come with one. */
  litres: string | null;
  /** Of dues: who is charged without being put down for it; null: only who is put down. */
  memberClass: string | null;
  /** Where what it earns stands in the books; of work nothing is earned. */
  income: IncomeKey;
}

/** Where items of a kind stand in the books unless somebody chooses: litres come with clay. */
export function usualIncome({ kind, litres }: Pick<Item, 'kind' | 'litres'>): IncomeKey {
  if (kind === 'sale') return litres === null ? 'other' : 'clay';
  return kind === 'work' ? 'other' : kind;
}

export interface Tariff {
  v: 1;
  rounding: Rounding;
  /** Every price of a piece is rounded to a multiple of this, and is no less than the minimum. */
  stepMinor: number;
  minimumMinor: number;
  /** Included: the amounts on the list hold it already. */
  tax: { percent: string; included: boolean } | null;
  lines: Line[];
  factors: Factor[];
  /** Asked for within so many days of being registered. */
  rush: { withinDays: number; percent: string } | null;
  /** Litres of firing that a class has free each month; null: every class. */
  monthly: { memberClass: string | null; litres: string }[];
  items: Item[];
  /** What a payer gets back of what a piece was charged that the studio lost or ruined. */
  lossPercent: string;
  /** Of the firing it was lost in, or of every one it had. */
  lossOf: 'this-firing' | 'every-firing';
}
