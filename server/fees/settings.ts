import { OWN_ACCOUNTS } from './ledger.ts';

/** What a studio chooses about its fees. */
export interface FeeSettings {
  /** By which price lists tell payers apart; the first is everybody's until they are put in another. */
  classes: string[];
  /** The most that a technician credits at once without a manager, minor units. */
  creditLimitMinor: number;
  /** Days after the end of its month until a charge is overdue. */
  dueDays: number;
  /** Below every statement: how to pay. */
  payWords: string;
  /** Codes of the studio's own bookkeeping by account: 'receivable', 'income:firing', 'tax:tax' … */
  codes: Record<string, string>;
  /** Wear of elements and furniture a firing, by the kiln's code, minor units; for the overview. */
  wearMinor: Record<string, number>;
  /** How exports are written. */
  delimiter: ',' | ';' | '\t';
  decimalMark: '.' | ',';
}

/** Until a manager chooses. The codes are in the order many charts of accounts have: common practice, no source. */
export const USUAL_FEES: FeeSettings = {
  classes: ['member', 'student', 'guest'],
  creditLimitMinor: 2000,
  dueDays: 14,
  payWords: '',
  codes: {
    receivable: '1100',
    'payment:cash': '1000',
    'payment:transfer': '1010',
    'payment:card-terminal': '1020',
    'tax:tax': '2200',
    ...Object.fromEntries(OWN_ACCOUNTS.income.map((key, i) => [`income:${key}`, String(4000 + 10 * i)])),
    ...Object.fromEntries(OWN_ACCOUNTS.relief.map((key, i) => [`relief:${key}`, String(4900 + 10 * i)])),
  },
  wearMinor: {},
  delimiter: ',',
  decimalMark: '.',
};
