/** A number that is exact as it is written, such as an amount of money: '-4.80'. */
export interface Decimal {
  decimal: string;
}

/** What a cell may hold; a number is never taken for text, null is an empty cell. */
export type Cell = string | number | boolean | Decimal | null;

/** What parts cells, and what parts a whole number from its decimals. */
export interface Dialect {
  delimiter: ',' | ';' | '\t';
  decimalMark: '.' | ',';
}

const RFC_4180: Dialect = { delimiter: ',', decimalMark: '.' };

/** Excel takes a file for one of its own code page without it. */
export const CSV_START = '\uFEFF';

export const CSV_TYPE = 'text/csv; charset=utf-8; header=present';

/** A spreadsheet that finds one of these at the start of a cell takes the rest for a formula and runs it. */
const FORMULA = /^[=+\-@\t\r\n＝＋－＠]/;
/** All delimiters, whichever is used: a spreadsheet may be set to another. */
const NEEDS_QUOTES = /[",;\t\r\n]/;

/**
 * What writes one line, with its line break, as RFC 4180 has it but for the delimiter and the decimal mark of this
 * dialect. Text that begins like a formula gets an apostrophe in front; a number below zero is a number and gets none.
 *
 * Source: RFC 4180 section 2.
 */
export const csvLines =
  ({ delimiter, decimalMark }: Dialect) =>
  (cells: Cell[]): string =>
    `${cells.map((cell) => field(cell, delimiter, decimalMark)).join(delimiter)}\r\n`;

/** One line with commas and decimal points. */
export const csvLine: (cells: Cell[]) => string = csvLines(RFC_4180);

function field(cell: Cell, delimiter: string, mark: string): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? figure(String(cell), delimiter, mark) : '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  if (typeof cell === 'object') return figure(cell.decimal, delimiter, mark);
  const text = FORMULA.test(cell) ? `'${cell}` : cell;
  return NEEDS_QUOTES.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function figure(text: string, delimiter: string, mark: string): string {
  const marked = mark === '.' ? text : text.replace('.', mark);
  return marked.includes(delimiter) ? `"${marked}"` : marked;
}
