import type { DumpReport } from '../core/dump.ts';

/** '12,345 rows of 71 tables'. */
export function rowsWords({ tables }: Pick<DumpReport, 'tables'>): string {
  const all = Object.values(tables);
  const rows = all.reduce((sum, one) => sum + one.rows, 0);
  return `${rows.toLocaleString('en-GB')} rows of ${all.length} tables`;
}
