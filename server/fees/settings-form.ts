import { z } from 'zod';
import { choice, code, count, money, text } from '../core/forms.ts';
import { OWN_ACCOUNTS } from './ledger.ts';

export const MOST_MINOR = 1_000_000_000;

/** 'receivable', 'income:firing', 'tax:tax' …: every account that has a code of the studio's own bookkeeping. */
export const CODED_ACCOUNTS: readonly string[] = [
  'receivable',
  ...Object.entries(OWN_ACCOUNTS).flatMap(([kind, keys]) => keys.map((key) => `${kind}:${key}`)),
];

/** A class of payers: a short word. */
export const memberClass = () => text(30);

/** All that a studio chooses about its fees. */
export const feeSettingsBody = z.strictObject({
  classes: z
    .array(memberClass())
    .min(1, 'At least one class.')
    .max(12, 'At most twelve classes.')
    .refine(
      (names) => new Set(names.map((name) => name.toLowerCase())).size === names.length,
      'Each class once.',
    ),
  creditLimitMinor: money(0, MOST_MINOR),
  dueDays: count(0, 365),
  payWords: text(1000).or(z.literal('')),
  codes: z.partialRecord(choice(CODED_ACCOUNTS as [string, ...string[]]), text(20)),
  wearMinor: z.record(code(), money(0, MOST_MINOR)),
  delimiter: choice([',', ';', '\t']),
  decimalMark: choice(['.', ',']),
});
