/** What a cell may hold; a number is written with a decimal point and never quoted, null is an empty cell. */
export type Cell = string | number | boolean | null;

/** Excel takes a file for one of its own code page without it. */
export const CSV_START = '\uFEFF';

/** A spreadsheet that finds one of these at the start of a cell takes the rest for a formula and runs it. */
const FORMULA = /^[=+\-@\t\r\n＝＋－＠]/;
/** A semicolon or tab needs no quotes here, but parts cells where a comma is the decimal sign. */
const NEEDS_QUOTES = /[",;\t\r\n]/;

/**
 * One line as RFC 4180 writes it, with its line break. Text that begins like a formula gets an apostrophe in front.
 *
 * Source: RFC 4180 section 2.
 */
export function csvLine(cells: Cell[]): string {
  return `${cells.map(field).join(',')}\r\n`;
}

function field(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  const text = FORMULA.test(cell) ? `'${cell}` : cell;
  return NEEDS_QUOTES.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
