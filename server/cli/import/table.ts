import { isUtf8 } from 'node:buffer';
import { CsvError, parse } from 'csv-parse/sync';
import { Invalid } from '../../core/errors.ts';

/** One record of a file: where it begins, counted from 1 as an editor does, and its cells as they were typed. */
export interface Line {
  line: number;
  cells: string[];
}

/** A file as it was written: what parts its cells, the line of its column names, and everything below. */
export interface Table {
  delimiter: Delimiter;
  header: Line;
  lines: Line[];
}

export type Delimiter = ',' | ';' | '\t';
const DELIMITERS: Delimiter[] = [',', ';', '\t'];

/** 100,000 readings are about 5 MB. Common practice, no source. */
export const MOST_BYTES = 20 * 1024 * 1024;
/** One record. A quote that is never closed swallows the rest of the file: this stops it. */
const LONGEST_RECORD = 100_000;

const NEWLINE = 0x0a;

/**
 * The cells of a file that a spreadsheet saved as text: RFC 4180 with commas, semicolons or tabs, any line break, with
 * or without a byte order mark, a first line such as `sep=;`, or a line break at the end. Records in which nothing is
 * written are left out.
 * @throws Invalid where it is no such file, with the line where that can be told
 */
export function readTable(bytes: Buffer): Table {
  const text = decoded(bytes).replace(/\r\n?/g, '\n'); // the parser counts CRLF inside quotes as two lines
  const { delimiter, body } = dialectOf(text);
  const [header, ...lines] = recordsOf(body, delimiter).filter(({ cells }) =>
    cells.some((c) => c.trim() !== ''),
  );
  if (!header) throw new Invalid('The file is empty: its first line names the columns.');
  return { delimiter, header, lines };
}

function decoded(bytes: Buffer): string {
  if (bytes.length > MOST_BYTES)
    throw new Invalid(`The file is larger than ${MOST_BYTES / 1024 / 1024} MB: cut it into several.`);
  if (bytes.subarray(0, 4).toString('latin1') === 'PK\x03\x04')
    throw new Invalid('This is a workbook, not text: save the sheet as CSV (UTF-8).');
  if (!isUtf8(bytes))
    throw new Invalid(
      `line ${lineWhere(bytes, (line) => !isUtf8(line))}: not UTF-8. Save the file as CSV (UTF-8).`,
    );
  if (bytes.includes(0))
    throw new Invalid(
      `line ${lineWhere(bytes, (line) => line.includes(0))}: holds a zero byte. Save it as CSV (UTF-8).`,
    );
  return new TextDecoder().decode(bytes);
}

/** The number of the first line of which this holds; no UTF-8 character has a line feed among its bytes. */
function lineWhere(bytes: Buffer, holds: (line: Buffer) => boolean): number {
  let line = 1;
  for (let start = 0; start < bytes.length; line++) {
    const end = bytes.indexOf(NEWLINE, start);
    const stop = end === -1 ? bytes.length : end;
    if (holds(bytes.subarray(start, stop))) return line;
    start = stop + 1;
  }
  return line;
}

/** What parts the cells: what a `sep=` line says (its line is emptied, not removed), else what the header has most of. */
function dialectOf(text: string): { delimiter: Delimiter; body: string } {
  const said = /^"?sep=(.)"?(?=\n|$)/i.exec(text);
  if (said) {
    const delimiter = DELIMITERS.find((one) => one === said[1]);
    if (delimiter === undefined)
      throw new Invalid('line 1: cells are parted by commas, semicolons or tabs, by nothing else.');
    return { delimiter, body: text.slice(said[0].length) };
  }
  const header = (/\S.*/.exec(text)?.[0] ?? '').replace(/"[^"]*"/g, '');
  const found = (delimiter: Delimiter) => header.split(delimiter).length;
  const delimiter = DELIMITERS.reduce((best, one) => (found(one) > found(best) ? one : best));
  return { delimiter, body: text };
}

function recordsOf(text: string, delimiter: Delimiter): Line[] {
  const records: Line[] = [];
  let ended = 0;
  try {
    parse(text, {
      delimiter,
      relax_column_count: true,
      skip_empty_lines: true,
      max_record_size: LONGEST_RECORD,
      on_record: (cells: string[], { lines }) => {
        const breaks = cells.reduce((sum, cell) => sum + cell.split('\n').length - 1, 0);
        records.push({ line: lines - breaks, cells });
        ended = lines;
        return null; // kept above, with its line
      },
    });
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const begins = nextLine(text, ended);
    throw new Invalid(`line ${begins}: ${WORDS[error.code] ?? 'cannot be read as CSV.'}`);
  }
  return records;
}

/** The first line after this one that is not empty: where the record that failed begins. */
function nextLine(text: string, ended: number): number {
  const after = text.split('\n').slice(ended);
  const blank = after.findIndex((line) => line !== '');
  return ended + 1 + Math.max(blank, 0);
}

const WORDS: Record<string, string> = {
  CSV_QUOTE_NOT_CLOSED: 'a quote is opened here and never closed.',
  CSV_INVALID_CLOSING_QUOTE:
    'a quote ends in the middle of a cell. A quote inside a quoted cell is written twice.',
  INVALID_OPENING_QUOTE:
    'a quote stands in a cell that has none around it. Put the cell in quotes, and this one twice.',
  CSV_MAX_RECORD_SIZE: `longer than ${LONGEST_RECORD.toLocaleString('en')} characters. Is a quote opened and never closed?`,
};
