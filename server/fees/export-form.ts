import { z } from 'zod';
import type { Dialect } from '../core/csv.ts';
import { choice, day } from '../core/forms.ts';

const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t' } as const;
const MARKS = { point: '.', comma: ',' } as const;

/** What to export and how it is written; a delimiter or mark that is not said is the studio's own. */
export const exportForm = z.object({
  from: day(),
  to: day(),
  /** By the day something happened, or by the month it stands in, which a late correction changes. */
  by: choice(['day', 'month']).default('day'),
  delimiter: choice(['comma', 'semicolon', 'tab'])
    .transform((name) => DELIMITERS[name])
    .optional(),
  decimal: choice(['point', 'comma'])
    .transform((name) => MARKS[name])
    .optional(),
});
export type ExportWish = z.output<typeof exportForm>;

/** A dialect in the words of the form. */
export const dialectWords = ({ delimiter, decimalMark }: Dialect) => ({
  delimiter: ({ ',': 'comma', ';': 'semicolon', '\t': 'tab' } as const)[delimiter],
  decimal: ({ '.': 'point', ',': 'comma' } as const)[decimalMark],
});
