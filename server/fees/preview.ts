import type { FiringKind } from '../ware/firing.ts';
import { type LoadToPrice, type PieceInLoad, priceLoad } from './price.ts';
import type { Tariff } from './tariff.ts';

// What a month's firings would have cost by another price list. Nothing is charged by looking.

/** A piece of a load as it was fired. */
export interface PreviewPiece extends PieceInLoad {
  number: number;
  form: string;
  /** What it was charged; null: it was in the load, but not charged in this month. */
  chargedMinor: bigint | null;
}

export interface PreviewLoad extends LoadToPrice {
  number: number;
  pieces: PreviewPiece[];
}

export interface PreviewRow {
  piece: number;
  load: number;
  form: string;
  kind: FiringKind;
  cone: string;
  memberClass: string | null;
  cm3: number;
  beforeMinor: bigint;
  afterMinor: bigint;
  /** The draft has no price for it. */
  isUnpriced: boolean;
}

export interface PreviewSum {
  name: string;
  count: number;
  beforeMinor: bigint;
  afterMinor: bigint;
}

export interface Preview {
  /** Every piece that was charged, by load and piece. */
  rows: PreviewRow[];
  total: PreviewSum;
  byKind: PreviewSum[];
  byClass: PreviewSum[];
  /** Those whose price would rise or fall most, the largest first. */
  risers: PreviewRow[];
  fallers: PreviewRow[];
  unpriced: number;
}

const MOST_CHANGED = 5;

/**
 * A month's loads priced anew by a list, beside what was charged. Whole loads are priced, so that shares of a whole
 * are what charging by this list would have made them; only what was charged is compared. Minor units, tax included.
 * @param currency ISO 4217
 */
export function preview(tariff: Tariff, currency: string, loads: readonly PreviewLoad[]): Preview {
  const rows = loads.flatMap(({ number: load, pieces, kWh, power }) => {
    const prices = priceLoad(tariff, currency, pieces, { kWh, power });
    return pieces.flatMap((piece, i): PreviewRow[] => {
      const price = prices[i];
      if (piece.chargedMinor === null || !price) return [];
      return [
        {
          piece: piece.number,
          load,
          form: piece.form,
          kind: piece.kind,
          cone: piece.cone,
          memberClass: piece.memberClass,
          cm3: price.cm3,
          beforeMinor: piece.chargedMinor,
          afterMinor: price.amountMinor,
          isUnpriced: price.line === null,
        },
      ];
    });
  });
  rows.sort((a, b) => a.load - b.load || a.piece - b.piece);
  const changed = rows
    .filter((row) => changeOf(row) !== 0n)
    .sort((a, b) => compare(changeOf(b), changeOf(a)));
  return {
    rows,
    total: sumOf('All', rows),
    byKind: sums(rows, ({ kind }) => kind),
    byClass: sums(rows, ({ memberClass }) => memberClass ?? ''),
    risers: changed.filter((row) => changeOf(row) > 0n).slice(0, MOST_CHANGED),
    fallers: changed
      .filter((row) => changeOf(row) < 0n)
      .reverse()
      .slice(0, MOST_CHANGED),
    unpriced: rows.filter(({ isUnpriced }) => isUnpriced).length,
  };
}

/** Above zero it would cost more. */
export const changeOf = ({
  beforeMinor,
  afterMinor,
}: Pick<PreviewRow, 'beforeMinor' | 'afterMinor'>): bigint => afterMinor - beforeMinor;

const compare = (a: bigint, b: bigint): number => (a < b ? -1 : a > b ? 1 : 0);

function sumOf(name: string, rows: readonly PreviewRow[]): PreviewSum {
  let [beforeMinor, afterMinor] = [0n, 0n];
  for (const row of rows) {
    beforeMinor += row.beforeMinor;
    afterMinor += row.afterMinor;
  }
  return { name, count: rows.length, beforeMinor, afterMinor };
}

function sums(rows: readonly PreviewRow[], nameOf: (row: PreviewRow) => string): PreviewSum[] {
  const groups = new Map<string, PreviewRow[]>();
  for (const row of rows) {
    const name = nameOf(row);
    const group = groups.get(name);
    if (group) group.push(row);
    else groups.set(name, [row]);
  }
  return [...groups].map(([name, group]) => sumOf(name, group));
}
