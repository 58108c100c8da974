// What the safety data sheets of a material say about themselves: which is the newest, and until when it is trusted.

/** A row of the list of sheets: one that came, or what was found out about the newest one later. */
export interface SheetRow {
  number: number;
  kind: 'sheet' | 'reviewed' | 'newer-exists';
  /** Days as YYYY-MM-DD. */
  issuedOn: string | null;
  reviewOn: string | null;
}

/** Where a material stands: its newest sheet by that one's own date, and the day from which it is asked for again. */
export type SheetNow<R extends SheetRow> =
  | { state: 'none'; sheet: null; reviewOn: null }
  | { state: 'newer-exists' | 'current'; sheet: R; reviewOn: string | null }
  | { state: 'look-again'; sheet: R; reviewOn: string };

/**
 * Where a material stands with its sheets. The sheet of the latest date counts; what was noted after it came moves the
 * day it is asked for again, or says that a newer one exists until somebody finds that it holds after all.
 * @param rows in any order
 * @param today YYYY-MM-DD on the studio's calendar
 */
export function sheetNow<R extends SheetRow>(rows: readonly R[], today: string): SheetNow<R> {
  const sheet = rows
    .filter(({ kind }) => kind === 'sheet')
    .reduce<R | null>((best, row) => (best === null || isNewer(row, best) ? row : best), null);
  if (!sheet) return { state: 'none', sheet, reviewOn: null };
  const later = rows
    .filter(({ kind, number }) => kind !== 'sheet' && number > sheet.number)
    .sort((a, b) => a.number - b.number);
  let { reviewOn } = sheet;
  let isReplaced = false;
  for (const row of later) {
    isReplaced = row.kind === 'newer-exists';
    if (row.kind === 'reviewed') reviewOn = row.reviewOn ?? reviewOn;
  }
  if (isReplaced) return { state: 'newer-exists', sheet, reviewOn };
  if (reviewOn !== null && reviewOn <= today) return { state: 'look-again', sheet, reviewOn };
  return { state: 'current', sheet, reviewOn };
}

const isNewer = (a: SheetRow, b: SheetRow): boolean => {
  const [left, right] = [a.issuedOn ?? '', b.issuedOn ?? ''];
  return left === right ? a.number > b.number : left > right;
};

/** The same day so many years on, YYYY-MM-DD; 29 February becomes the 28th where that year has none. */
export function yearsOn(day: string, years: number): string {
  const [year = 0, month = 1, date = 1] = day.split('-').map(Number);
  const last = new Date(Date.UTC(year + years, month, 0)).getUTCDate();
  const two = (n: number) => String(n).padStart(2, '0');
  return `${year + years}-${two(month)}-${two(Math.min(date, last))}`;
}
