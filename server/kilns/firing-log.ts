// A controller's log comes in as many shapes as there are controllers. Each line is read by itself, so that one broken
// line costs one line; nothing here throws, whatever the file.

/** One reading of a log: seconds since its first one, °C in the kiln and, where the log has it, °C asked for. */
export interface LogPoint {
  atS: number;
  c: number;
  setC?: number;
}

export type Delimiter = ',' | ';' | '\t';
export type TimeForm = 'date-time' | 'clock' | 'elapsed' | 'seconds' | 'minutes' | 'hours' | 'milliseconds';
export type DateOrder = 'ymd' | 'dmy' | 'mdy';

/** How to read a log, as chosen in the preview. Columns count from 0. */
export interface LogChoice {
  delimiter: Delimiter;
  decimal: '.' | ',';
  /** Lines before the first reading, empty ones included. */
  skip: number;
  time: number;
  timeForm: TimeForm;
  /** Only for dates whose year does not come first. */
  dateOrder: DateOrder;
  temperature: number;
  setpoint?: number;
  unit: 'C' | 'F';
}

export interface LogColumn {
  /** From the heading, or 'Column 3'. */
  name: string;
  guess: 'time' | 'temperature' | 'setpoint' | null;
  /** The first few cells. */
  sample: string[];
}

/** Something that was not read: where, and why in words. Line 0 is the whole file, column null the whole line. */
export interface LogProblem {
  line: number;
  /** From 1, as a person counts. */
  column: number | null;
  why: string;
}

export interface LogPreview {
  columns: LogColumn[];
  /** What it was cut at. */
  delimiter: Delimiter;
  /** The first lines with readings, by cell. */
  rows: string[][];
  /** What the file looks like; null when no line holds both a time and a temperature. */
  choice: LogChoice | null;
  problems: LogProblem[];
}

/** A stretch without readings, much longer than the steps between the others. */
export interface LogGap {
  fromS: number;
  toS: number;
}

/** The studio's wall time of the first reading ('2026-03-07T14:05:00'), or with its zone the instant itself (ms). */
export type LogStart = { wall: string } | { at: number } | null;

export interface ParsedLog {
  points: LogPoint[];
  /** The first of them; `problemCount` counts all. */
  problems: LogProblem[];
  problemCount: number;
  gaps: LogGap[];
  gapCount: number;
  /** Known where the log writes dates. */
  start: LogStart;
}

/** Longer files are refused, in characters: a week of a reading a second is 20 million. */
export const MOST_LOG_CHARS = 25_000_000;
/** At most so many problems and gaps are listed; the rest is counted. */
export const MOST_SHOWN = 20;
/** A reading a second for eleven days. */
const MOST_LINES = 1_000_000;
const PREVIEW_ROWS = 8;
const LOOKED_AT = 200;
/** Columns beyond are not offered. */
export const MOST_COLUMNS = 40;
const MOST_CELL = 60;
const MOST_LINE = 10_000;
// No figure or time is longer; what is, never meets a pattern that could take long over it.
const MOST_FIGURE = 40;

const COLDEST_C = -60;
const HOTTEST_C = 1600;
const GAP_STEPS = 5;
const HALF_DAY_S = 12 * 3600;
const DAY_S = 24 * 3600;
const LONGEST_STEP_S = 7 * DAY_S;
// A clock that was set after the first readings: those few are dropped, not all that follow.
const FEW = 3;

const DELIMITERS: Delimiter[] = [';', '\t', ','];

/** What the first lines look like: columns, a guess for each, and a complete choice where the guess suffices. */
export function preview(text: string): LogPreview {
  const refusal = refusalOf(text);
  if (refusal) return { columns: [], delimiter: ',', rows: [], choice: null, problems: [refusal] };
  const lines: string[] = [];
  for (const line of linesOf(text)) {
    lines.push(line);
    if (lines.length === LOOKED_AT) break;
  }
  const { delimiter, skip } = layoutOf(lines);
  const data = lines
    .slice(skip)
    .map((line) => cellsOf(line, delimiter))
    .filter((cells) => cells?.some((cell) => cell !== '')) as string[][];
  const rows = data.slice(0, PREVIEW_ROWS).map((cells) => cells.slice(0, MOST_COLUMNS).map(cut));
  const width = Math.max(0, ...rows.map((cells) => cells.length));
  const heading = skip > 0 ? headingOf(lines.slice(0, skip), delimiter, width) : [];
  const names = Array.from({ length: width }, (_, i) => cut(heading[i] ?? '') || `Column ${i + 1}`);
  const decimal = decimalOf(data, delimiter);
  const columns = names.map((_, i) => data.map((cells) => cells[i] ?? ''));
  const guess = guessColumns(names, columns, decimal);
  const { time, temperature, setpoint } = guess;
  const choice: LogChoice | null =
    time === null || temperature === null
      ? null
      : {
          delimiter,
          decimal,
          skip,
          time,
          ...timeFormOf(names[time] ?? '', columns[time] ?? [], decimal, lastTimeOf(text, delimiter, time)),
          temperature,
          ...(setpoint !== null && { setpoint }),
          unit: unitOf(
            names[temperature] ?? '',
            columns[temperature] ?? [],
            decimal,
            text,
            delimiter,
            temperature,
          ),
        };
  const nothing: LogProblem = {
    line: 0,
    column: null,
    why: 'No line holds both a time and a temperature. Choose the columns by hand.',
  };
  return {
    columns: names.map((name, i) => ({
      name,
      guess: i === time ? 'time' : i === temperature ? 'temperature' : i === setpoint ? 'setpoint' : null,
      sample: (columns[i] ?? []).slice(0, 3).map(cut),
    })),
    delimiter,
    rows,
    choice,
    problems: choice ? [] : [nothing],
  };
}

/**
 * All readings of a log in their order, times counted in seconds from the first. A line that cannot be read, or whose
 * time goes back, is left out and named; a clock without a date goes on at midnight.
 */
export function parseLog(text: string, choice: LogChoice): ParsedLog {
  const points: LogPoint[] = [];
  const problems: LogProblem[] = [];
  let problemCount = 0;
  let start: LogStart = null;
  const refuse = (line: number, column: number | null, why: string) => {
    problemCount++;
    if (problems.length < MOST_SHOWN) problems.push({ line, column, why });
  };
  const refusal = refusalOf(text);
  if (refusal) return { points, problems: [refusal], problemCount: 1, gaps: [], gapCount: 0, start };

  let number = 0;
  let [first, last, days] = [0, 0, 0];
  for (const line of linesOf(text)) {
    number++;
    if (number > MOST_LINES) {
      refuse(number, null, `From line ${MOST_LINES.toLocaleString('en')} on nothing was read.`);
      break;
    }
    if (number <= choice.skip || isBlank(line)) continue;
    const cells = cellsOf(line, choice.delimiter);
    if (cells === null) {
      refuse(number, null, 'A quotation mark is not closed, or the line is far too long.');
      continue;
    }
    const timeCell = cells[choice.time];
    const temperatureCell = cells[choice.temperature];
    if (timeCell === undefined || temperatureCell === undefined) {
      const missing = timeCell === undefined ? choice.time : choice.temperature;
      refuse(
        number,
        missing + 1,
        `The line has only ${cells.length} ${cells.length === 1 ? 'cell' : 'cells'}.`,
      );
      continue;
    }
    const time = readTime(timeCell, choice);
    if (time === null) {
      refuse(number, choice.time + 1, `Not a time: ${quoted(timeCell)}.`);
      continue;
    }
    const c = readTemperature(temperatureCell, choice);
    if (typeof c === 'string') {
      refuse(number, choice.temperature + 1, c);
      continue;
    }
    let at = time + days * DAY_S;
    if (points.length > 0 && choice.timeForm === 'clock' && last - at > HALF_DAY_S) {
      days++;
      at += DAY_S;
    }
    if (points.length > 0 && at - last > LONGEST_STEP_S) {
      if (points.length > FEW) {
        refuse(number, choice.time + 1, `More than a week after the line before: ${quoted(timeCell)}.`);
        continue;
      }
      refuse(
        number - 1,
        choice.time + 1,
        'More than a week before the next line. What stands above is left out.',
      );
      points.length = 0;
    }
    if (points.length > 0 && at < last) {
      refuse(number, choice.time + 1, `Earlier than the line before: ${quoted(timeCell)}.`);
      continue;
    }
    if (points.length === 0) {
      first = at;
      start = startOf(timeCell, choice);
    }
    last = at;
    const point: LogPoint = { atS: Math.round((at - first) * 1000) / 1000, c };
    const set = choice.setpoint === undefined ? undefined : cells[choice.setpoint];
    // A set point that cannot be read is no reason to lose the reading: it is blank while a kiln cools.
    const setC = set === undefined ? '' : readTemperature(set, choice);
    if (typeof setC === 'number') point.setC = setC;
    points.push(point);
  }
  return { points, problems, problemCount, ...gapsOf(points), start };
}

/**
 * At most `most` of the points, first and last, the highest and the lowest of each stretch of time among them, so that
 * no peak is lost. What is kept stays in its order and unchanged.
 * @param most at least 4
 * @throws RangeError when it is less
 */
export function thin<P extends { atS: number; c: number }>(points: readonly P[], most: number): P[] {
  if (!(most >= 4)) throw new RangeError('A curve is thinned to four points at least.');
  if (points.length <= most) return [...points];
  const [first, end] = [points[0] as P, points.at(-1) as P];
  const buckets = Math.floor((most - 2) / 2);
  const span = end.atS - first.atS;
  const kept: P[] = [first];
  let [bucket, low, high] = [0, -1, -1];
  const close = () => {
    if (low === -1) return;
    for (const i of low === high ? [low] : [Math.min(low, high), Math.max(low, high)])
      kept.push(points[i] as P);
    [low, high] = [-1, -1];
  };
  for (let i = 1; i < points.length - 1; i++) {
    const { atS, c } = points[i] as P;
    const mine = span > 0 ? Math.min(Math.floor(((atS - first.atS) / span) * buckets), buckets - 1) : 0;
    if (mine !== bucket) {
      close();
      bucket = mine;
    }
    if (low === -1 || c < (points[low] as P).c) low = i;
    if (high === -1 || c > (points[high] as P).c) high = i;
  }
  close();
  kept.push(end);
  return kept;
}

/** Stretches longer than five times the middle step. */
function gapsOf(points: LogPoint[]): { gaps: LogGap[]; gapCount: number } {
  const steps = new Float64Array(Math.max(points.length - 1, 0));
  let count = 0;
  for (let i = 1; i < points.length; i++) {
    const step = (points[i] as LogPoint).atS - (points[i - 1] as LogPoint).atS;
    if (step > 0) steps[count++] = step;
  }
  const sorted = steps.subarray(0, count).sort();
  const middle = sorted[Math.floor(count / 2)] ?? 0;
  const gaps: LogGap[] = [];
  let gapCount = 0;
  for (let i = 1; i < points.length; i++) {
    const [before, after] = [points[i - 1] as LogPoint, points[i] as LogPoint];
    if (after.atS - before.atS <= GAP_STEPS * middle) continue;
    gapCount++;
    if (gaps.length < MOST_SHOWN) gaps.push({ fromS: before.atS, toS: after.atS });
  }
  return { gaps, gapCount };
}

function refusalOf(text: string): LogProblem | null {
  if (text.length > MOST_LOG_CHARS)
    return {
      line: 0,
      column: null,
      why: `The file is longer than ${MOST_LOG_CHARS / 1e6} million characters.`,
    };
  if (text.trim() === '') return { line: 0, column: null, why: 'The file is empty.' };
  if (text.slice(0, 4000).includes('\0'))
    return { line: 0, column: null, why: 'This is no text file. Export the log as CSV.' };
  return null;
}

/** Lines without their ends, whichever end they have, one at a time: a log may hold a million. */
function* linesOf(text: string): Generator<string> {
  const end = text.includes('\n') ? '\n' : '\r';
  let from = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  while (from < text.length) {
    const found = text.indexOf(end, from);
    const to = found === -1 ? text.length : found;
    yield text.slice(from, end === '\n' && text.charCodeAt(to - 1) === 13 && to > from ? to - 1 : to);
    from = to + 1;
  }
}

/** The trimmed cells of one line; null when a quotation mark is left open or it is too long to be one. */
function cellsOf(line: string, delimiter: Delimiter): string[] | null {
  if (line.length > MOST_LINE) return null;
  if (!line.includes('"')) return line.split(delimiter).map((cell) => cell.trim());
  const cells: string[] = [];
  let at = 0;
  for (;;) {
    while (line[at] === ' ') at++;
    let cell = '';
    if (line[at] === '"') {
      for (at++; line[at] !== '"' || line[at + 1] === '"'; at++) {
        if (at >= line.length) return null;
        if (line[at] === '"') at++;
        cell += line[at];
      }
      at++;
    }
    const next = line.indexOf(delimiter, at);
    cells.push((cell + line.slice(at, next === -1 ? line.length : next)).trim());
    if (next === -1) return cells;
    at = next + 1;
  }
}

const isBlank = (line: string): boolean => /^[\s,;]*$/.test(line);
const cut = (cell: string): string => (cell.length > MOST_CELL ? `${cell.slice(0, MOST_CELL)}…` : cell);
const quoted = (cell: string): string =>
  cell === '' ? 'nothing there' : `"${cell.length > 20 ? `${cell.slice(0, 20)}…` : cell}"`;

const WHOLE_OR_POINT = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,2})?$/i;
const GROUPED = {
  '.': /^[+-]?\d{1,3}(?:[, ]\d{3})+(?:\.\d+)?$/,
  ',': /^[+-]?\d{1,3}(?:[. ]\d{3})+(?:,\d+)?$/,
};

/** A number by the chosen decimal sign, thousands grouped or not; NaN when it is none. */
function readNumber(cell: string, decimal: '.' | ','): number {
  if (cell.length > MOST_FIGURE) return Number.NaN;
  if (decimal === '.' && WHOLE_OR_POINT.test(cell)) return Number(cell);
  if (GROUPED[decimal].test(cell))
    return Number(cell.replace(decimal === '.' ? /[, ]/g : /[. ]/g, '').replace(',', '.'));
  if (decimal === ',' && !cell.includes('.') && WHOLE_OR_POINT.test(cell.replace(',', '.')))
    return Number(cell.replace(',', '.'));
  return Number.NaN;
}

const UNIT = /\s*(?:°\s*|deg\.?\s*)?([CFcf])$|\s*(?:°|deg)$/;

const withoutUnit = (cell: string): string => (cell.length > MOST_FIGURE ? cell : cell.replace(UNIT, ''));

/** °C, or why not. */
function readTemperature(cell: string, { decimal, unit }: LogChoice): number | string {
  const value = readNumber(withoutUnit(cell), decimal);
  if (Number.isNaN(value)) return `Not a temperature: ${quoted(cell)}.`;
  const c = unit === 'F' ? ((value - 32) * 5) / 9 : value;
  if (!(c >= COLDEST_C && c <= HOTTEST_C)) return `No kiln is at ${quoted(cell)}.`;
  return Math.round(c * 100) / 100;
}

const CLOCK = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d{1,6})?)?\s*([AaPp]\.?[Mm]\.?)?$/;
const ELAPSED = /^(\d{1,4}):([0-5]?\d)(?::([0-5]?\d)(?:[.,]\d{1,6})?)?$/;
const DATE_TIME =
  /^(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})[T ,]+(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d{1,9})?)?\s*([AaPp]\.?[Mm]\.?)?\s*(Z|[+-]\d{2}:?\d{2})?$/;

const FACTORS: Partial<Record<TimeForm, number>> = {
  seconds: 1,
  minutes: 60,
  hours: 3600,
  milliseconds: 0.001,
};

/** Seconds from some beginning that is the same for the whole log; null when it is no time. */
function readTime(cell: string, { timeForm, dateOrder, decimal }: LogChoice): number | null {
  if (cell.length > MOST_FIGURE) return null;
  const factor = FACTORS[timeForm];
  if (factor !== undefined) {
    const value = readNumber(cell, decimal);
    return value >= 0 ? value * factor : null;
  }
  if (timeForm === 'elapsed') {
    const [, h, min, s = '0'] = ELAPSED.exec(cell) ?? [];
    return h === undefined ? null : Number(h) * 3600 + Number(min) * 60 + Number(s);
  }
  if (timeForm === 'clock') {
    const [, h, min, s = '0', half] = CLOCK.exec(cell) ?? [];
    return h === undefined ? null : secondsOfDay(Number(h), Number(min), Number(s), half);
  }
  return readDateTime(cell, dateOrder)?.s ?? null;
}

/** When the first reading was taken, where its cell has a date. */
function startOf(cell: string, { timeForm, dateOrder }: LogChoice): LogStart {
  const read = timeForm === 'date-time' ? readDateTime(cell, dateOrder) : null;
  if (read === null) return null;
  return read.zoned ? { at: read.s * 1000 } : { wall: new Date(read.s * 1000).toISOString().slice(0, 19) };
}

function secondsOfDay(hour: number, min: number, s: number, half: string | undefined): number | null {
  if (min > 59 || s > 59 || hour > (half ? 12 : 23) || (half && hour === 0)) return null;
  const h = half ? (hour % 12) + (/^p/i.test(half) ? 12 : 0) : hour;
  return h * 3600 + min * 60 + s;
}

/** Seconds since 1970, of the wall where the cell names no zone. */
function readDateTime(cell: string, order: DateOrder): { s: number; zoned: boolean } | null {
  const [, a, b, c, h, min, s = '0', half, zone] = DATE_TIME.exec(cell) ?? [];
  if (a === undefined || b === undefined || c === undefined) return null;
  const parts =
    a.length > 2 ? [a, b, c] : order === 'mdy' ? [c, a, b] : order === 'dmy' ? [c, b, a] : [a, b, c];
  const [year, month, day] = parts.map(Number) as [number, number, number];
  const full = year < 100 ? 2000 + year : year;
  const ofDay = secondsOfDay(Number(h), Number(min), Number(s), half);
  if (ofDay === null || full < 1900 || full > 2200) return null;
  const midnight = Date.UTC(full, month - 1, day);
  const date = new Date(midnight);
  if (date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
  const seconds = midnight / 1000 + ofDay;
  return { s: zone === undefined ? seconds : seconds - offsetS(zone), zoned: zone !== undefined };
}

function offsetS(zone: string): number {
  if (zone === 'Z') return 0;
  const minutes = Number(zone.slice(1, 3)) * 60 + Number(zone.slice(-2));
  return (zone.startsWith('-') ? -minutes : minutes) * 60;
}

// From here on only guesses for the preview.

const looksLikeTime = (cell: string): boolean =>
  cell.length <= MOST_FIGURE && (CLOCK.test(cell) || ELAPSED.test(cell) || DATE_TIME.test(cell));
const isNumber = (cell: string, decimal: '.' | ','): boolean =>
  cell !== '' && !Number.isNaN(readNumber(withoutUnit(cell), decimal));
const isAnyNumber = (cell: string): boolean => isNumber(cell, '.') || isNumber(cell, ',');

/** A line with a reading: two cells that are a time or a number, at least. */
function isReading(cells: string[] | null): boolean {
  let found = 0;
  for (const cell of cells ?? []) if (looksLikeTime(cell) || isAnyNumber(cell)) found++;
  return found >= 2;
}

/** The delimiter by which most lines are readings, and how many lines come before the first of them. */
function layoutOf(lines: string[]): { delimiter: Delimiter; skip: number } {
  const tried = DELIMITERS.map((delimiter) => {
    const readings = lines.map((line) => isReading(cellsOf(line, delimiter)));
    const split = lines.filter((line) => (cellsOf(line, delimiter)?.length ?? 0) > 1).length;
    return { delimiter, readings, count: readings.filter(Boolean).length, split };
  });
  // Where no line reads as times and temperatures, its columns are chosen by hand: there must be some.
  const best = tried.reduce((a, b) =>
    b.count > a.count || (b.count === a.count && b.split > a.split) ? b : a,
  );
  // A preamble may hold a line of two numbers; the readings begin where the next line is one too.
  const from = best.readings.findIndex((is, i) => is && (best.readings[i + 1] ?? true));
  return { delimiter: best.delimiter, skip: Math.max(from, 0) };
}

/** The last line before the readings that has about as many cells as they have. */
function headingOf(before: string[], delimiter: Delimiter, width: number): string[] {
  const rows = before.map((line) => cellsOf(line, delimiter) ?? []);
  return (
    rows.findLast(
      (cells) => cells.length >= Math.min(2, width) && cells.some((cell) => /\p{L}/u.test(cell)),
    ) ?? []
  );
}

function decimalOf(data: string[][], delimiter: Delimiter): '.' | ',' {
  const numbers = data.flat().map(withoutUnit);
  const commas = numbers.filter((cell) => /^[+-]?\d+,\d+$/.test(cell));
  if (commas.length === 0 || numbers.some((cell) => /^[+-]?\d+\.\d+$/.test(cell))) return '.';
  // '1,222' may be grouped; where some comma does not stand before three digits, it is none.
  const grouped = commas.every((cell) => GROUPED['.'].test(cell));
  const plain = numbers.some((cell) => /^\d{1,3}$/.test(cell));
  return grouped && (plain || delimiter === ',') ? '.' : ',';
}

const TIME_NAME =
  /time|zeit|uhr|elapsed|date|clock|stamp|heure|hora|\b(?:h|hrs?|hours?|min|minutes?|s|sec|seconds?)\b/i;
const SET_NAME = /set|soll|target|program|\bsp\b|\bsv\b/i;
const TEMPERATURE_NAME = /temp|°|\bpv\b|\btc\s*\d?\b|actual|ist|thermo|kiln|probe|deg|\b[cf]\b/i;
const ELAPSED_NAME = /elapsed|duration|run|dauer|since/i;

function guessColumns(
  names: string[],
  columns: string[][],
  decimal: '.' | ',',
): { time: number | null; temperature: number | null; setpoint: number | null } {
  const share = (cells: string[], is: (cell: string) => boolean) => {
    const filled = cells.filter((cell) => cell !== '');
    return filled.length === 0 ? 0 : filled.filter(is).length / filled.length;
  };
  const numeric = columns.map((cells) => share(cells, (cell) => isNumber(cell, decimal)) > 0.6);
  const times = columns.map((cells) => share(cells, looksLikeTime) > 0.6);
  const rising = columns.map((cells) => {
    const values = cells.map((cell) => readNumber(cell, decimal)).filter((value) => !Number.isNaN(value));
    return values.length > 1 && values.every((value, i) => i === 0 || value >= (values[i - 1] as number));
  });
  const all = names.map((_, i) => i);
  const pick = (...rules: ((i: number) => boolean | undefined)[]) => {
    for (const rule of rules) {
      const found = all.find(rule);
      if (found !== undefined) return found;
    }
    return null;
  };
  const named = (i: number, pattern: RegExp) => pattern.test(names[i] ?? '');
  const time = pick(
    (i) => times[i],
    (i) => numeric[i] && named(i, TIME_NAME) && !named(i, /temp/i),
    (i) => numeric[i] && rising[i] && !named(i, TEMPERATURE_NAME),
    (i) => numeric[i] && rising[i],
  );
  const temperature = pick(
    (i) => i !== time && numeric[i] && named(i, TEMPERATURE_NAME) && !named(i, SET_NAME),
    (i) => i !== time && numeric[i] && !named(i, SET_NAME),
    (i) => i !== time && numeric[i],
  );
  // A set point is blank while the kiln cools, so one figure is enough.
  const setpoint = pick(
    (i) =>
      i !== time &&
      i !== temperature &&
      named(i, SET_NAME) &&
      columns[i]?.some((cell) => isNumber(cell, decimal)),
  );
  return { time, temperature, setpoint };
}

function timeFormOf(
  name: string,
  cells: string[],
  decimal: '.' | ',',
  lastCell: string,
): { timeForm: TimeForm; dateOrder: DateOrder } {
  const filled = cells.filter((cell) => cell !== '');
  const dateOrder = dateOrderOf([...filled, lastCell]);
  const most = (is: (cell: string) => boolean) => filled.filter(is).length > filled.length / 2;
  if (most((cell) => DATE_TIME.test(cell))) return { timeForm: 'date-time', dateOrder };
  if (most(looksLikeTime)) {
    const beyondADay = [...filled, lastCell].some((cell) => Number(ELAPSED.exec(cell)?.[1]) > 23);
    const fromZero = /^0{1,2}:00(?::0\d)?$/.test(filled[0] ?? '');
    const elapsed = beyondADay || fromZero || ELAPSED_NAME.test(name);
    return { timeForm: elapsed ? 'elapsed' : 'clock', dateOrder };
  }
  const value = (cell: string | undefined) => readNumber(cell ?? '', decimal);
  const span = (value(lastCell) || value(filled.at(-1))) - value(filled[0]);
  return { timeForm: numericForm(name, span, value(filled[0])), dateOrder };
}

/** By the heading; else the unit in which the log is as long as a firing. */
function numericForm(name: string, span: number, first: number): TimeForm {
  if (first > 1e11) return 'milliseconds';
  if (/\bms\b|millis/i.test(name)) return 'milliseconds';
  if (/\b(?:s|secs?|seconds?|sek\w*)\b/i.test(name)) return 'seconds';
  if (/\b(?:m|mins?|minutes?|minuten)\b/i.test(name)) return 'minutes';
  if (/\b(?:h|hrs?|hours?|stunden|std)\b/i.test(name)) return 'hours';
  if (span <= 72) return 'hours';
  return span <= 72 * 60 ? 'minutes' : 'seconds';
}

/** The order by which the dates exist and the log is shortest. */
function dateOrderOf(cells: string[]): DateOrder {
  const dated = cells.filter((cell) => DATE_TIME.test(cell));
  if (dated.length === 0 || /^\d{4}/.test(dated[0] ?? '')) return 'ymd';
  const orders: DateOrder[] = ['dmy', 'mdy', 'ymd'];
  const spans = orders.map((order) => {
    const times = dated.map((cell) => readDateTime(cell, order)?.s);
    if (times.some((at) => at === undefined)) return Number.POSITIVE_INFINITY;
    const [first, last] = [times[0] as number, times.at(-1) as number];
    return last < first ? Number.POSITIVE_INFINITY : last - first;
  });
  return orders[spans.indexOf(Math.min(...spans))] ?? 'dmy';
}

const END_OF_FILE = 4000;

/** The cells of a column in the last lines, without walking through all of them. */
function lastCellsOf(text: string, delimiter: Delimiter, column: number): string[] {
  const lines = [...linesOf(text.slice(-END_OF_FILE))].slice(text.length > END_OF_FILE ? 1 : 0);
  return lines.map((line) => cellsOf(line, delimiter)?.[column] ?? '').filter((cell) => cell !== '');
}

const lastTimeOf = (text: string, delimiter: Delimiter, column: number): string =>
  lastCellsOf(text, delimiter, column).at(-1) ?? '';

// Hotter than any studio's kiln in °C, and where a cold kiln stands in °F.
const SURELY_F = 1450;
const COLD_F = { from: 45, to: 110 };

function unitOf(
  name: string,
  cells: string[],
  decimal: '.' | ',',
  text: string,
  delimiter: Delimiter,
  column: number,
): 'C' | 'F' {
  const sign =
    /(?:°|deg\w*\.?\s*|\(|\b)([CF])\b/i.exec(name)?.[1] ??
    /\d\s*°?\s*([CF])$/i.exec(cut(cells[0] ?? ''))?.[1];
  if (sign) return sign.toUpperCase() === 'F' ? 'F' : 'C';
  if (/fahrenheit/i.test(name)) return 'F';
  if (/celsius|centigrade/i.test(name)) return 'C';
  const values = (some: string[]) =>
    some.map((cell) => readNumber(cell, decimal)).filter((value) => !Number.isNaN(value));
  const [start, end] = [values(cells), values(lastCellsOf(text, delimiter, column))];
  if (Math.max(0, ...start, ...end) > SURELY_F) return 'F';
  const first = start[0] ?? 0;
  return first >= COLD_F.from && first <= COLD_F.to ? 'F' : 'C';
}
