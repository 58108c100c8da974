import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { type Cell, CSV_START, csvLine } from '../../core/csv.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { fromStored } from '../events.ts';
import type { Entry } from '../kinds.ts';
import { eventWords } from '../sentences.ts';
import * as store from '../store/history.ts';

export type { HistoryFilter } from '../store/history.ts';

/** An event of any bucket, as people see it. */
export interface HistoryEvent extends Omit<store.HistoryRow, 'bucketId' | 'payload' | 'struck' | 'voidedBy'> {
  entry: Entry;
  /** The number of the event that strikes it out. */
  voidedBy: number | null;
  /** What it strikes out. */
  struck: Entry | null;
}

export interface HistoryChoices {
  buckets: { code: string; name: string }[];
  people: string[];
}

/** Rows that are read at a time for a file. */
const CHUNK = 500;
const names = new Intl.Collator('en', { numeric: true, sensitivity: 'base' });

/**
 * What happened at all buckets, newest first, a page at a time.
 * @param after what `next` of the page before was
 */
export async function showHistory(
  read: Read,
  filter: store.HistoryFilter,
  page: { limit: number; after: string | null },
): Promise<{ events: HistoryEvent[]; next: string | null; choices: HistoryChoices }> {
  mustBeAllowed(read.actor, 'buckets.see');
  const choices = await store.choices(read.tx);
  const after = page.after === null ? null : readCursor(page.after, choices.buckets);
  const rows = await store.history(read.tx, filter, page.limit + 1, after);
  const shown = rows.slice(0, page.limit);
  const last = shown.at(-1);
  return {
    events: shown.map(toEvent),
    next: last && rows.length > page.limit ? `${last.happenedAt}.${last.code}.${last.number}` : null,
    choices: { buckets: choices.buckets, people: choices.people.sort(names.compare) },
  };
}

/** A page may begin behind any event; what names none begins at the newest. */
function readCursor(text: string, buckets: { id: number; code: string }[]): store.Cursor | null {
  const [, at, code, number] = /^(\d{1,14})\.([A-Za-z0-9-]{1,12})\.(\d{1,9})$/.exec(text) ?? [];
  const bucket = buckets.find((b) => b.code === code);
  if (at === undefined || number === undefined || !bucket) return null;
  return { happenedAt: Number(at), bucketId: bucket.id, number: Number(number) };
}

const HEADER = [
  'bucket',
  'code',
  'number',
  'studio time',
  'happened at',
  'recorded at',
  'kind',
  'what',
  'specific gravity',
  'standard uncertainty',
  'method',
  'stirred',
  'litres',
  'kilograms',
  'pieces',
  'seconds',
  'by',
  'recorded through',
  'note',
  'struck out by number',
];

/** The filtered history as CSV, newest first: SI units, times of the studio's wall and UTC beside each other. */
export function exportHistory(
  read: Read,
  filter: store.HistoryFilter,
  timeZone: string,
): AsyncIterable<string> {
  mustBeAllowed(read.actor, 'buckets.export');
  return lines(read, filter, timeZone);
}

async function* lines(read: Read, filter: store.HistoryFilter, timeZone: string): AsyncGenerator<string> {
  yield CSV_START + csvLine(HEADER);
  let rows: store.HistoryRow[] = [];
  do {
    rows = await store.history(read.tx, filter, CHUNK, rows.at(-1) ?? null);
    yield rows.map((row) => csvLine(cells(toEvent(row), timeZone))).join('');
  } while (rows.length === CHUNK);
}

function cells(event: HistoryEvent, timeZone: string): Cell[] {
  const { entry } = event;
  const numbers = entry as { litres?: number; kilograms?: number; pieces?: number; seconds?: number | null };
  return [
    event.bucketName,
    event.code,
    event.number,
    toWallTime(event.happenedAt, timeZone).replace('T', ' '),
    utc(event.happenedAt),
    utc(event.recordedAt),
    event.kind,
    event.struck ? `Struck out: ${eventWords(event.struck, 'metric')}` : eventWords(entry, 'metric'),
    'specificGravity' in entry ? entry.specificGravity : null,
    'standardUncertainty' in entry ? entry.standardUncertainty : null,
    entry.kind === 'reading' ? entry.method : null,
    'stirred' in entry ? entry.stirred : null,
    numbers.litres ?? null,
    numbers.kilograms ?? null,
    numbers.pieces ?? null,
    numbers.seconds ?? null,
    event.by,
    event.atTablet ? 'wall tablet' : event.byToken ? 'token' : null,
    event.note,
    event.voidedBy,
  ];
}

const utc = (at: Instant): string => new Date(at).toISOString();

function toEvent({ bucketId: _, payload, struck, ...row }: store.HistoryRow): HistoryEvent {
  return {
    ...row,
    entry: fromStored({ ...row, v: 1, payload }),
    struck: struck && fromStored({ ...row, ...struck, v: 1 }),
  };
}
