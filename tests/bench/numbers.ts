export const median = (values: number[]): number => percentile(values, 50);

/** By nearest rank; NaN of nothing. */
export function percentile(values: number[], p: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.max(0, Math.ceil((p / 100) * sorted.length) - 1)] ?? Number.NaN;
}

export const ms = (value: number): string => value.toFixed(value < 10 ? 2 : 1);
export const times = (value: number): string => `${value.toFixed(2)}x`;
export const whole = (value: number): string => Math.round(value).toLocaleString('en');

/** Rows under a heading, the first column to the left and the others to the right. */
export function table(heading: string[], rows: string[][]): string {
  const widths = heading.map((_, i) => Math.max(...[heading, ...rows].map((row) => row[i]?.length ?? 0)));
  const line = (row: string[]) =>
    row.map((cell, i) => (i === 0 ? cell.padEnd(widths[i] ?? 0) : cell.padStart(widths[i] ?? 0))).join('  ');
  return [heading, widths.map((w) => '-'.repeat(w)), ...rows].map(line).join('\n');
}
