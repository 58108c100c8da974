import type { Instant } from '../core/clock.ts';
import { fromWallTime } from '../core/wall-time.ts';

// The ledger of fees: balanced entries, each with a payer. Amounts are minor units; above zero somebody owes more.

export const ACCOUNT_KINDS = ['payer', 'income', 'tax', 'payment', 'relief'] as const;
export type AccountKind = (typeof ACCOUNT_KINDS)[number];

/** The studio's own accounts: what came in for what, tax, where money arrived, what was let off. */
export const OWN_ACCOUNTS = {
  income: ['firing', 'glaze', 'clay', 'card', 'dues', 'hire', 'damage', 'other'],
  tax: ['tax'],
  payment: ['cash', 'transfer', 'card-terminal'],
  relief: ['loss', 'work', 'goodwill', 'write-off'],
} as const;
export type IncomeKey = (typeof OWN_ACCOUNTS)['income'][number];
export type PaymentKey = (typeof OWN_ACCOUNTS)['payment'][number];
export type ReliefKey = (typeof OWN_ACCOUNTS)['relief'][number];
/** 'income:firing', 'payment:cash' … */
export type OwnAccount = `income:${IncomeKey}` | 'tax:tax' | `payment:${PaymentKey}` | `relief:${ReliefKey}`;

export const ENTRY_KINDS = [
  'firing',
  'sale',
  'dues',
  'charge',
  'damage',
  'credit',
  'loss-credit',
  'work-credit',
  'payment',
  'refund',
  'void',
] as const;
/**
 * A piece out of a load; items by quantity; what is due every month; a charge by hand; a ruined shelf; a credit by hand,
 * for a loss, for work; money received; money given back; a strike-out.
 */
export type EntryKind = (typeof ENTRY_KINDS)[number];

/** The most that an entry comes to, minor units: the database refuses more. */
export const MOST_OF_ENTRY = 1_000_000_000_000n;

/** One side of an entry. */
export interface Posting {
  account: 'payer' | OwnAccount;
  amountMinor: bigint;
}

/**
 * The sides of an entry: what the payer owes more by it, against the account it is for and tax. They sum to zero, and
 * one of nothing has none.
 *
 * @param against where the net amount goes
 */
export function sidesOf(against: OwnAccount, netMinor: bigint, taxMinor: bigint): Posting[] {
  const sides: Posting[] = [
    { account: 'payer', amountMinor: netMinor + taxMinor },
    { account: against, amountMinor: -netMinor },
    { account: 'tax:tax', amountMinor: -taxMinor },
  ];
  return sides.filter(({ amountMinor }) => amountMinor !== 0n);
}

/** The month of a day, or the first that is open where that is closed: 'YYYY-MM'. */
export function periodFor(day: string, closedThrough: string | null): string {
  const month = day.slice(0, 7);
  return closedThrough === null || month > closedThrough ? month : monthAfter(closedThrough);
}

/** '2026-12' → '2027-01' */
export function monthAfter(period: string, by = 1): string {
  const [year, month] = period.split('-').map(Number) as [number, number];
  const months = year * 12 + month - 1 + by;
  return `${String(Math.floor(months / 12)).padStart(4, '0')}-${String((months % 12) + 1).padStart(2, '0')}`;
}

/**
 * When a month begins on the studio's clock; where midnight is skipped, an hour after it.
 * @throws RangeError for what is no month
 */
export function monthStart(period: string, timeZone: string): Instant {
  const at = fromWallTime(`${period}-01T00:00`, timeZone) ?? fromWallTime(`${period}-01T01:00`, timeZone);
  if (at === null) throw new RangeError(`${period} is no month.`);
  return at;
}
