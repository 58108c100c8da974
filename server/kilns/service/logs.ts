import { createHash } from 'node:crypto';
import { promisify } from 'node:util';
import { gunzip, gzip } from 'node:zlib';
import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { FUTURE, type Instant } from '../../core/clock.ts';
import { Conflict, NotFound } from '../../core/errors.ts';
import { choice, count, instant, quantity, sha256 } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { fromWallTime, shownTime } from '../../core/wall-time.ts';
import { CHARTS, type ChartCode } from '../cones.ts';
import { type Findings, findingsOf, topAfterOff, USUAL_CHART } from '../findings.ts';
import {
  type Delimiter,
  type LogChoice,
  type LogPoint,
  type LogPreview,
  MOST_COLUMNS,
  MOST_LOG_CHARS,
  MOST_SHOWN,
  type ParsedLog,
  parseLog,
  preview,
  thin,
} from '../firing-log.ts';
import * as store from '../store/logs.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import { findLoad, type LoadNow } from './load-page.ts';
import { refused, rowOf } from './loads.ts';
import { kilnSettings } from './settings.ts';

const [pack, unpack] = [promisify(gzip), promisify(gunzip)];

/** As many points of a log are kept: one every quarter of a minute for a firing of thirty hours. */
export const MOST_KEPT = 8000;
/** As many points come in one request; longer logs come in parts. */
const MOST_SENT = 20_000;
/** As much text comes in one request. */
const MOST_PASTED = 200_000;

const DELIMITERS: Record<string, Delimiter> = { comma: ',', semicolon: ';', tab: '\t' };

/** Columns count from 1, as people do. */
const choiceFields = {
  delimiter: choice(['comma', 'semicolon', 'tab']),
  decimal: choice(['point', 'comma']),
  /** Lines before the first reading. */
  skip: count(0, 100_000),
  time: count(1, MOST_COLUMNS),
  timeForm: choice(['date-time', 'clock', 'elapsed', 'seconds', 'minutes', 'hours', 'milliseconds']),
  dateOrder: choice(['ymd', 'dmy', 'mdy']).default('ymd'),
  temperature: count(1, MOST_COLUMNS),
  unit: choice(['C', 'F']),
};

const chart = () => choice(Object.keys(CHARTS) as [ChartCode, ...ChartCode[]]).default(USUAL_CHART);
const hash = sha256('Choose the log again.');
/** Printable or not: whatever a controller writes; the lines are judged one by one. */
const logText = () =>
  z
    .string({ error: 'Paste the log here.' })
    .max(
      MOST_PASTED,
      `At most ${MOST_PASTED / 1000} thousand characters: send a longer log as a file or in parts.`,
    )
    .refine((value) => value.trim() !== '', 'Paste the log here.');

export const pasteForm = z.strictObject({ text: logText() });

export const importForm = z.strictObject({
  /** The log that was sent before. */
  file: hash,
  ...choiceFields,
  startsAt: instant().optional(),
  chart: chart(),
});
type ImportCommand = z.output<typeof importForm>;

export const delimiterTyped = (delimiter: Delimiter): string =>
  delimiter === ',' ? 'comma' : delimiter === ';' ? 'semicolon' : 'tab';

/** What the form of a previewed log is first filled with. */
export const choiceTyped = (c: LogChoice): Record<keyof typeof choiceFields, string> => ({
  delimiter: delimiterTyped(c.delimiter),
  decimal: c.decimal === '.' ? 'point' : 'comma',
  skip: String(c.skip),
  time: String(c.time + 1),
  timeForm: c.timeForm,
  dateOrder: c.dateOrder,
  temperature: String(c.temperature + 1),
  unit: c.unit,
});

const choiceOf = (command: Omit<ImportCommand, 'file' | 'startsAt' | 'chart'>): LogChoice => ({
  delimiter: DELIMITERS[command.delimiter] ?? ',',
  decimal: command.decimal === 'comma' ? ',' : '.',
  skip: command.skip,
  time: command.time - 1,
  timeForm: command.timeForm,
  dateOrder: command.dateOrder,
  temperature: command.temperature - 1,
  unit: command.unit,
});

/** A file as text, in whichever of the usual encodings a controller or a spreadsheet wrote it. */
export function textOf(bytes: Buffer): string {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

/** Packs a log for `keepLog`. @throws Invalid beside `path` for what is no log at all */
export async function packLog(text: string, path: string): Promise<{ bytes: Buffer; sha256: string }> {
  const { columns, problems } = preview(text);
  if (columns.length === 0) throw refused(path, problems[0]?.why ?? 'Nothing is in it.');
  if (columns.length === 1)
    throw refused(
      path,
      'It has one column only: nothing tells times from temperatures. Commas, semicolons or tabs do.',
    );
  const bytes = await pack(text);
  return { bytes, sha256: createHash('sha256').update(bytes).digest('hex') };
}

/**
 * Keeps a log until its columns are chosen, and after that as what the firing was judged by.
 * @throws Conflict for a load that was not started
 */
export async function keepLog(
  act: Act,
  number: number,
  packed: { bytes: Buffer; sha256: string },
): Promise<void> {
  mustBeAllowed(act.actor, 'firings.record');
  mustBeIn(await rowOf(act, number));
  await store.keepFile(act, packed);
}

async function kept(read: Read, hashOf: string): Promise<{ id: number; text: string }> {
  const file = hash.safeParse(hashOf).success ? await store.findFile(read.tx, hashOf) : null;
  if (!file) throw new NotFound('This log is not here: send it again.');
  const text = await unpack(file.bytes, { maxOutputLength: 4 * MOST_LOG_CHARS });
  return { id: file.id, text: text.toString('utf8') };
}

/** What a log that was sent looks like. @throws NotFound */
export async function previewLog(read: Read, hashOf: string): Promise<LogPreview> {
  mustBeAllowed(read.actor, 'firings.record');
  return preview((await kept(read, hashOf)).text);
}

/** A log read and judged, with nothing stored of it yet. */
export interface PreparedLog {
  source: 'import' | 'api';
  fileId: number | null;
  startsAt: Instant;
  points: [atS: number, celsius: number][];
  pointCount: number;
  findings: Findings;
  /** What could not be read, the first of it by line. */
  problems: ParsedLog['problems'];
  /** That it tells against what was noted of the firing; it is kept all the same. */
  doubt: string | null;
}

const STATES = ['firing', 'cooling', 'unloaded'] as const;

/**
 * Reads all of a log by the chosen columns. Takes up to a second: call it outside any transaction, and store what it
 * answers with `saveLog`.
 * @throws Invalid where nothing of it can be read by them, or nobody says when it begins
 */
export async function prepareLog(read: Read, number: number, command: ImportCommand): Promise<PreparedLog> {
  mustBeAllowed(read.actor, 'firings.record');
  const load = await findLoad(read, number);
  mustBeIn(load);
  const { id, text } = await kept(read, command.file);
  const parsed = parseLog(text, choiceOf(command));
  return prepared(read, load, parsed, { ...command, source: 'import', fileId: id, at: 'startsAt' });
}

function mustBeIn({ number, state }: Pick<LoadNow, 'number' | 'state'>): void {
  if (!STATES.some((one) => one === state))
    throw new Conflict(`Load ${number} is ${state}: a log belongs to a firing that was started.`);
}

async function prepared(
  read: Read,
  load: LoadNow,
  { points, problems, problemCount, gaps, gapCount, start }: ParsedLog,
  from: {
    source: PreparedLog['source'];
    fileId: number | null;
    startsAt?: Instant | undefined;
    chart: ChartCode;
    /** The field beside which stands what is wrong with its time. */
    at: 'startsAt' | 'points';
  },
): Promise<PreparedLog> {
  if (points.length === 0) {
    const [first] = problems;
    throw refused(
      'time',
      `No line could be read by these columns${first ? `. Line ${first.line}: ${first.why}` : '.'}`,
    );
  }
  const timeZone = await studioTimeZone(read.tx);
  const startsAt = from.startsAt ?? beginOf(start, timeZone) ?? load.startedAt;
  if (startsAt === null) throw refused('startsAt', 'The log has no date: say when it begins.');
  if (startsAt > read.now + FUTURE) throw refused(from.at, 'The log begins in the future.');
  if (startsAt + 1000 * (points.at(-1)?.atS ?? 0) > read.now + FUTURE)
    throw refused(
      from.at,
      `The log reaches into the future, from ${shownTime(startsAt, read.now, timeZone)} on: its clock or its beginning is wrong.`,
    );
  const found = await judged(read, load, points, { startsAt, chart: from.chart });
  return {
    source: from.source,
    fileId: from.fileId,
    startsAt,
    points: thin(points, MOST_KEPT).map(({ atS, c }) => [atS, c]),
    pointCount: points.length,
    findings: { ...found, gaps, gapCount, problemCount },
    problems,
    doubt: topAfterOff(startsAt, found.facts, load.shutOffAt),
  };
}

async function judged(
  read: Read,
  load: LoadNow,
  points: readonly LogPoint[],
  { startsAt, chart: code }: { startsAt: Instant; chart: ChartCode },
) {
  const { lidShutAboveC } = await kilnSettings(read);
  const { startedAt, schedule } = load;
  const segments = schedule?.segments ?? null;
  const found = findingsOf(points, { startsAt, startedAt, segments, chart: code, lidShutAboveC });
  if (!found) throw refused('time', 'All readings have the same time: choose another column for it.');
  return found;
}

function beginOf(start: ParsedLog['start'], timeZone: string): Instant | null {
  if (start === null) return null;
  if ('at' in start) return start.at;
  const minute = fromWallTime(start.wall, timeZone);
  return minute === null ? null : minute + Number(start.wall.slice(17)) * 1000;
}

/** Stores a log that was read; the newest one of a load counts. */
export async function saveLog(act: Act, number: number, made: PreparedLog): Promise<void> {
  mustBeAllowed(act.actor, 'firings.record');
  const load = await lockLoad(act, number);
  mustBe(load, STATES, 'given a log');
  const { problems: _, doubt: __, fileId, ...row } = made;
  await store.insertLog(act.tx, { ...row, loadId: load.id, madeBy: act.actor.id, madeAt: act.now });
  await append(act, load, {
    kind: 'log',
    payload: { points: made.pointCount, source: made.source },
    fileId,
  });
}

export const sendLogForm = z.strictObject({
  /** °C at points in time, in any order; at most 20,000 a request. */
  points: z
    .array(z.strictObject({ at: instant(), celsius: quantity(-60, 1600) }))
    .min(1, 'At least one.')
    .max(MOST_SENT, `At most ${MOST_SENT} a request: send the rest with "more": true.`)
    .optional(),
  /** Or the text of a controller's file. */
  csv: logText().optional(),
  /** How to read that, where its first lines do not tell. */
  columns: z.strictObject(choiceFields).optional(),
  startsAt: instant().optional(),
  chart: chart(),
  /** These points go on from those that were sent before; without it they are in place of them. */
  more: z.boolean({ error: 'Yes or no.' }).default(false),
});

/**
 * A log over the API: points or a file's text, whole or in parts. Findings are computed from the points sent and, with
 * `more`, those kept of the parts before.
 * @throws Invalid where it is neither or both
 */
export async function sendLog(
  act: Act,
  number: number,
  command: z.output<typeof sendLogForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'firings.log');
  const { points, csv, columns, startsAt, more } = command;
  if ((points === undefined) === (csv === undefined))
    throw refused('points', 'Send points, or the text of a log as "csv": one of the two.');
  const row = await lockLoad(act, number);
  mustBe(row, STATES, 'given a log');
  const load = await findLoad(act, number);
  const sent = csv === undefined ? fromPoints(points ?? []) : fromText(csv, columns);
  const before = more ? await store.newestLog(act.tx, row.id) : null;
  if (more && !before) throw new Conflict('Nothing was sent before that this could go on from.');
  const made = await prepared(act, load, sent, {
    source: 'api',
    fileId: null,
    startsAt: points === undefined ? startsAt : undefined,
    chart: command.chart,
    at: points === undefined ? 'startsAt' : 'points',
  });
  await saveLog(act, number, before ? await joined(act, load, before, made, sent.points) : made);
}

async function joined(
  act: Act,
  load: LoadNow,
  before: store.LogRow,
  made: PreparedLog,
  sent: readonly LogPoint[],
): Promise<PreparedLog> {
  const startsAt = Math.min(before.startsAt, made.startsAt);
  const shifted = (points: readonly LogPoint[], from: Instant) =>
    points.map(({ atS, c }) => ({ atS: atS + (from - startsAt) / 1000, c }));
  const all = inOrder([
    ...shifted(
      before.points.map(([atS, c]) => ({ atS, c })),
      before.startsAt,
    ),
    ...shifted(sent, made.startsAt),
  ]);
  const earlier = before.findings as Findings;
  const moved = ({ gaps }: Findings, from: Instant) =>
    gaps.map(({ fromS, toS }) => {
      const by = (from - startsAt) / 1000;
      return { fromS: fromS + by, toS: toS + by };
    });
  const found = await judged(act, load, all, { startsAt, chart: made.findings.chart });
  return {
    ...made,
    startsAt,
    points: thin(all, MOST_KEPT).map(({ atS, c }) => [atS, c]),
    pointCount: before.pointCount - before.points.length + all.length,
    findings: {
      ...found,
      gaps: [...moved(earlier, before.startsAt), ...moved(made.findings, made.startsAt)].slice(0, MOST_SHOWN),
      gapCount: earlier.gapCount + made.findings.gapCount,
      problemCount: earlier.problemCount + made.findings.problemCount,
    },
  };
}

/** By time, each time once: a part that is sent twice changes nothing. */
const inOrder = (points: LogPoint[]): LogPoint[] =>
  points.sort((a, b) => a.atS - b.atS).filter(({ atS }, i, all) => i === 0 || atS !== all[i - 1]?.atS);

function fromPoints(points: readonly { at: Instant; celsius: number }[]): ParsedLog {
  const first = points.reduce((least, { at }) => Math.min(least, at), Number.POSITIVE_INFINITY);
  return {
    points: inOrder(points.map(({ at, celsius }) => ({ atS: (at - first) / 1000, c: celsius }))),
    problems: [],
    problemCount: 0,
    gaps: [],
    gapCount: 0,
    start: { at: first },
  };
}

function fromText(csv: string, columns: Parameters<typeof choiceOf>[0] | undefined): ParsedLog {
  const guessed = columns ? choiceOf(columns) : preview(csv).choice;
  if (!guessed)
    throw refused('csv', 'Its columns are not clear from the first lines: name them in "columns".');
  return parseLog(csv, guessed);
}

/** The log of a load that counts. */
export interface FiringLog {
  source: 'import' | 'api';
  startsAt: Instant;
  /** Thinned; what was found rests on all of them. */
  points: { atS: number; c: number }[];
  pointCount: number;
  findings: Findings;
  by: string;
  at: Instant;
}

/** The log of a load that counts; null before the first. @throws NotFound where there is no such load */
export async function findLog(read: Read, number: number): Promise<FiringLog | null> {
  mustBeAllowed(read.actor, 'loads.see');
  const { id } = await rowOf(read, number);
  const row = await store.newestLog(read.tx, id);
  if (!row) return null;
  const { source, startsAt, points, pointCount, findings, byName, madeAt } = row;
  return {
    source,
    startsAt,
    points: points.map(([atS, c]) => ({ atS, c })),
    pointCount,
    findings: findings as Findings,
    by: byName,
    at: madeAt,
  };
}
