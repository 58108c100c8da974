import { type FieldError, Invalid } from '../../core/errors.ts';
import { fromWallTime } from '../../core/wall-time.ts';
import type { Delimiter, Line, Table } from './table.ts';

/** A column of a file. `key` is what the schema calls it, the path of an error about it. */
export interface Column {
  key: string;
  /** In plain words; case, blanks and punctuation do not matter. */
  header: string;
  /** Other words for it. */
  also?: string[];
  /** 'word': one of a few, whatever its case. */
  reads: 'text' | 'word' | 'number' | 'yes-no' | 'time';
  isRequired?: boolean;
}

/** Something wrong with one line of a file. */
export interface Fault {
  line: number;
  /** As the file calls it; null: the line as a whole. */
  column: string | null;
  message: string;
}

/** What the cells of a line hold, by the keys of their columns; an empty cell is absent. */
export type Values = Record<string, unknown>;

/** Which cell of a line holds what. */
export interface Layout {
  places: { at: number; column: Column; named: string }[];
  /** Cells of the header. */
  width: number;
  faults: Fault[];
}

/** `Capacity (litres)` and `capacity_litres` are the same. */
const plain = (header: string): string =>
  header
    .normalize('NFKC')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]/gu, '');

const namesOf = ({ header, also = [] }: Column): string[] => [header, ...also].map(plain);

/** How many of a header's cells name a column of these. */
export const knownIn = (header: Line, columns: readonly Column[]): number => {
  const known = new Set(columns.flatMap(namesOf));
  return header.cells.filter((cell) => known.has(plain(cell))).length;
};

/** What each cell of the header names; every column that is unknown, there twice or missing is a fault. */
export function layOut({ header, lines }: Table, columns: readonly Column[]): Layout {
  const faults: Fault[] = [];
  const places: Layout['places'] = [];
  const fault = (column: string | null, message: string) =>
    faults.push({ line: header.line, column, message });
  for (const [at, cell] of header.cells.entries()) {
    const named = quoted(cell);
    if (plain(cell) === '') {
      const used = lines.find(({ cells }) => (cells[at] ?? '').trim() !== '');
      if (used) fault(null, `Column ${at + 1} has no name, yet line ${used.line} has something in it.`);
      continue;
    }
    const column = columns.find((one) => namesOf(one).includes(plain(cell)));
    if (!column) fault(named, `No column is called this here. ${nearest(cell, columns)}`);
    else if (places.some((place) => place.column === column)) fault(named, 'This column is there twice.');
    else places.push({ at, column, named });
  }
  for (const column of columns)
    if (column.isRequired && !places.some((place) => place.column === column))
      fault(column.header, 'This column is missing.');
  return { places, width: header.cells.length, faults };
}

function nearest(cell: string, columns: readonly Column[]): string {
  const wanted = plain(cell).slice(0, 60);
  const ranked = columns
    .flatMap((column) => namesOf(column).map((name) => ({ column, away: distance(wanted, name) })))
    .sort((a, b) => a.away - b.away);
  const best = ranked[0];
  return best && best.away <= Math.max(2, wanted.length / 2)
    ? `Is it “${best.column.header}”?`
    : `Known are ${columns.map(({ header }) => header).join(', ')}.`;
}

/** Letters to insert, drop or change to make one word of the other (Levenshtein 1966). */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (const [i, letter] of [...a].entries()) {
    const above = row;
    row = [i + 1];
    for (let j = 1; j <= b.length; j++) {
      const changed = (above[j - 1] as number) + (letter === b[j - 1] ? 0 : 1);
      row.push(Math.min(changed, (above[j] as number) + 1, (row[j - 1] as number) + 1));
    }
  }
  return row[b.length] as number;
}

/** What somebody else's file says, as it may stand in a message: short, and nothing that moves a cursor. */
export const quoted = (text: string): string => {
  const shown = text.trim().replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/gu, ' ');
  return shown.length > 40 ? `${shown.slice(0, 40)}…` : shown;
};

export interface Reading {
  timeZone: string;
  delimiter: Delimiter;
}

/**
 * The cells of a line by the keys of their columns: numbers with point or comma, yes and no, times of the studio's
 * clock as ISO 8601, and the rest as text. `read` makes of them what is to be brought in, by the schemas of pages and
 * API; what it refuses is told with the column that its path names.
 * @returns what `read` made, null where there are faults
 */
export function readLine<T>(
  { line, cells }: Line,
  { places, width }: Layout,
  reading: Reading,
  read: (values: Values) => T,
): { value: T | null; faults: Fault[] } {
  const spare = cells.slice(width).some((cell) => cell.trim() !== '');
  if (spare || cells.length < width) {
    const why = spare ? ` Is a ${NAMES[reading.delimiter]} in a cell without quotes?` : '';
    const message = `The first line has ${width} cells, this one ${cells.length}.${why}`;
    return { value: null, faults: [{ line, column: null, message }] };
  }
  const values: Values = {};
  const found = new Map<string, FieldError>();
  for (const { at, column } of places) {
    const raw = (cells[at] ?? '').trim();
    try {
      if (raw !== '') values[column.key] = cellValue(raw, column, reading);
      else if (column.isRequired) throw new Invalid('Is empty.');
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      found.set(column.key, { path: column.key, message: error.message });
      // Something stands there: nobody shall be told that it is missing as well.
      if (raw !== '') values[column.key] = raw;
    }
  }
  const errors = [...found.values()];
  let value: T | null = null;
  try {
    value = read(values);
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    // Of a cell that could not be read the schema has nothing better to say.
    errors.push(...error.errors.filter(({ path }) => !found.has(keyOf(path, places) ?? '')));
  }
  return { value: errors.length > 0 ? null : value, faults: faultsOf(line, errors, places) };
}

const NAMES: Record<Delimiter, string> = { ',': 'comma', ';': 'semicolon', '\t': 'tab' };

/** Errors by path as faults of a line. */
export const faultsOf = (line: number, errors: readonly FieldError[], places: Layout['places']): Fault[] =>
  errors.map(({ path, message }) => {
    const key = keyOf(path, places);
    const place = places.find(({ column }) => column.key === key);
    return { line, column: place?.named ?? (path === '' ? null : (key ?? path)), message };
  });

/** Of `flow.low` flowLow, of `target.aim` aim, of `hazards.0.hCode` hazards; undefined where the file has none of them. */
const keyOf = (path: string, places: Layout['places']): string | undefined => {
  const joined = path.replace(/\.([a-z])/g, (_, letter: string) => letter.toUpperCase());
  const keys = [joined, ...path.split('.').reverse()];
  return keys.find((key) => places.some(({ column }) => column.key === key));
};

const SPREADSHEET_FAULT = /^#(N\/A|REF!|VALUE!|DIV\/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!)/i;

function cellValue(raw: string, { reads }: Column, reading: Reading): unknown {
  if (raw.startsWith('=')) throw new Invalid('A formula instead of what comes of it. Save the values.');
  if (SPREADSHEET_FAULT.test(raw)) throw new Invalid('The spreadsheet could not work this out.');
  switch (reads) {
    case 'number':
      return numberOf(raw, reading.delimiter);
    case 'yes-no':
      return yesOrNo(raw);
    case 'time':
      return timeOf(raw, reading.timeZone);
    case 'word':
      return raw.toLowerCase();
    case 'text':
      return raw;
  }
}

function numberOf(raw: string, delimiter: Delimiter): number {
  // Where commas part the cells, a comma in a cell is not sure to be the decimal mark.
  if (delimiter === ',' && /^[+-]?[1-9]\d{0,2},\d{3}$/.test(raw))
    throw new Invalid('Write 1234 or 1.234: a comma could mean either.');
  if (!/^[+-]?\d{1,15}([.,]\d{1,20})?$/.test(raw)) throw new Invalid('Not a number such as 1.46.');
  return Number(raw.replace(',', '.'));
}

const YES = ['yes', 'y', 'true', '1'];
const NO = ['no', 'n', 'false', '0'];

function yesOrNo(raw: string): boolean {
  const word = raw.toLowerCase();
  if (YES.includes(word)) return true;
  if (NO.includes(word)) return false;
  throw new Invalid('Yes or no.');
}

const WALL = /^(\d{4}-\d\d-\d\d)[T ](\d\d?):(\d\d)(?::(\d\d)(?:\.0+)?)?$/;
const WITH_OFFSET = /^\d{4}-\d\d-\d\dT\d\d:\d\d.*(?:Z|[+-]\d\d:\d\d)$/;

/** As `instant()` takes it; the schema says whether a time with an offset is one. */
function timeOf(raw: string, timeZone: string): string {
  if (WITH_OFFSET.test(raw)) return raw;
  const [, date, hour, minute, second = '00'] = WALL.exec(raw) ?? [];
  if (date === undefined || hour === undefined || Number(second) > 59)
    throw new Invalid('A time by the studio’s clock, such as 2026-11-28 14:30.');
  const at = fromWallTime(`${date}T${hour.padStart(2, '0')}:${minute}`, timeZone);
  if (at === null) throw new Invalid('No such time: the clocks were put forward then, or it is no date.');
  return new Date(at + 1000 * Number(second)).toISOString();
}
