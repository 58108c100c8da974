import type { Entry } from './words.ts';

// A payer's month on one page: what it began with, every entry, what it ends with. Minor units, above zero owed.

/** Where an entry stands on a statement, and which of a month's totals it counts in. */
export type Part = 'charges' | 'credits' | 'payments';

/**
 * The part of a statement that an entry stands in. A strike-out stands where what it strikes out stands, with the other
 * sign, since it counts against the same account.
 *
 * @param against the studio's own account that its net amount stands on
 */
export function partOf(against: string): Part {
  if (against.startsWith('payment:')) return 'payments';
  return against.startsWith('relief:') ? 'credits' : 'charges';
}

/** What a statement needs of an entry. */
export type StatementEntry = Pick<
  Entry,
  | 'number'
  | 'kind'
  | 'amountMinor'
  | 'netMinor'
  | 'taxMinor'
  | 'voids'
  | 'about'
  | 'tariffId'
  | 'line'
  | 'payload'
>;

/** Tax that is in a month's charges and credits, by rate. */
export interface TaxSum {
  /** Decimal text; null where the entry's price list says none. */
  percent: string | null;
  netMinor: bigint;
  taxMinor: bigint;
}

export type PartTotals = Record<Part, bigint>;

export interface Statement<E> {
  openingMinor: bigint;
  /** Oldest first. */
  parts: Record<Part, E[]>;
  totals: PartTotals;
  /** Rates of which any tax was charged or given back, highest last. */
  taxes: TaxSum[];
  closingMinor: bigint;
}

/**
 * The statement of a payer's month. Its closing balance is the opening one and every amount between.
 *
 * @param openingMinor what the account stood at when the month began
 * @param entries those that stand in the month, in any order; corrections of earlier months are among them
 * @param percentOf the tax rate of a price list by its id
 */
export function statementFrom<E extends StatementEntry>(
  openingMinor: bigint,
  entries: readonly E[],
  percentOf: (tariffId: number) => string | null = () => null,
): Statement<E> {
  const parts: Record<Part, E[]> = { charges: [], credits: [], payments: [] };
  const totals: PartTotals = { charges: 0n, credits: 0n, payments: 0n };
  const taxes = new Map<string | null, TaxSum>();
  for (const entry of [...entries].sort((a, b) => a.number - b.number)) {
    const part = partOf(entry.payload.against);
    parts[part].push(entry);
    totals[part] += entry.amountMinor;
    if (entry.taxMinor === 0n) continue;
    const percent = entry.tariffId === null ? null : percentOf(entry.tariffId);
    const sum = taxes.get(percent) ?? { percent, netMinor: 0n, taxMinor: 0n };
    sum.netMinor += entry.netMinor;
    sum.taxMinor += entry.taxMinor;
    taxes.set(percent, sum);
  }
  return {
    openingMinor,
    parts,
    totals,
    taxes: [...taxes.values()].sort((a, b) => Number(a.percent ?? -1) - Number(b.percent ?? -1)),
    closingMinor: openingMinor + totals.charges + totals.credits + totals.payments,
  };
}

/** What a correction corrects: the number of the entry it strikes out or gives back of; null for any other entry. */
export const correctsOf = ({ voids, about }: Pick<Entry, 'voids' | 'about'>): number | null => voids ?? about;

/** What a month came to, all payers together. */
export interface MonthTotals {
  period: string;
  entries: number;
  openingMinor: bigint;
  parts: PartTotals;
  closingMinor: bigint;
  /** What the month moved on the studio's own accounts, by 'income:firing' and the like; income counts down. */
  accounts: Record<string, bigint>;
}

/** As a closing keeps it: amounts are texts, since JSON has no whole numbers of any size. */
export interface StoredTotals {
  v: 1;
  entries: number;
  openingMinor: string;
  charges: string;
  credits: string;
  payments: string;
  closingMinor: string;
  accounts: Record<string, string>;
  /** Closing balances by the payers' account numbers; who is at nothing and had nothing is left out. */
  payers: Record<string, string>;
}

/** A month's totals to be kept with its closing. */
export function toStored(totals: MonthTotals, payers: ReadonlyMap<number, bigint>): StoredTotals {
  const texts = (entries: Iterable<readonly [string | number, bigint]>): Record<string, string> =>
    Object.fromEntries([...entries].map(([key, minor]) => [String(key), String(minor)]));
  const { entries, openingMinor, parts, closingMinor, accounts } = totals;
  return {
    v: 1,
    entries,
    openingMinor: String(openingMinor),
    charges: String(parts.charges),
    credits: String(parts.credits),
    payments: String(parts.payments),
    closingMinor: String(closingMinor),
    accounts: texts(Object.entries(accounts)),
    payers: texts(payers),
  };
}

/** What was frozen at one closing and is otherwise now. */
export interface Difference {
  what: 'charges' | 'credits' | 'payments' | 'closingMinor';
  beforeMinor: bigint;
  afterMinor: bigint;
}

const COMPARED = ['charges', 'credits', 'payments', 'closingMinor'] as const;

/** How a month's totals at a later closing differ from those at an earlier one; nothing where they agree. */
export const differences = (before: StoredTotals, after: StoredTotals): Difference[] =>
  COMPARED.map((what) => ({
    what,
    beforeMinor: BigInt(before[what]),
    afterMinor: BigInt(after[what]),
  })).filter(({ beforeMinor, afterMinor }) => beforeMinor !== afterMinor);

/** The payers' account numbers whose closing balance a later closing changed. */
export function payersChanged(before: StoredTotals | null, after: StoredTotals): number[] {
  const numbers = new Set([...Object.keys(before?.payers ?? {}), ...Object.keys(after.payers)]);
  return [...numbers]
    .filter((number) => (before?.payers[number] ?? '0') !== (after.payers[number] ?? '0'))
    .map(Number);
}
