import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { type Cell, CSV_START, csvLine } from '../../core/csv.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { KINDS, STANDING_WORDS, TOPIC_WORDS } from '../log.ts';
import { type Entry, entriesByTime, type Later, type LogFilter } from './log-read.ts';

const HEADER = [
  'number',
  'about number',
  'kind',
  'studio time',
  'happened at',
  'recorded at',
  'by',
  'recorded through',
  'place',
  'bucket',
  'material',
  'kiln',
  'duty',
  'restricted',
  'what',
  'done at once',
  'topic',
  'outcome',
  'substance',
  'less than',
  'value',
  'unit',
  'method',
  'minutes',
  'quantity',
  'quantity unit',
  'way out',
  'reference',
  'owner',
  'due on',
  'stands',
  'photos',
];

/**
 * The log of a period as CSV, as it happened, each amendment, follow-up and closing in a line of its own behind its
 * entry. Times of the studio's wall and UTC beside each other. Throws as `entriesByTime`, before the first line.
 */
export async function exportLog(
  read: Read,
  filter: Parameters<typeof entriesByTime>[1] & LogFilter,
): Promise<AsyncIterable<string>> {
  mustBeAllowed(read.actor, 'log.keep');
  const [entries, timeZone] = await Promise.all([entriesByTime(read, filter), studioTimeZone(read.tx)]);
  return lines(entries, timeZone);
}

async function* lines(entries: Entry[], timeZone: string): AsyncGenerator<string> {
  yield CSV_START + csvLine(HEADER);
  for (const entry of entries)
    yield [entryCells(entry, timeZone), ...entry.later.map((row) => laterCells(entry, row, timeZone))]
      .map(csvLine)
      .join('');
}

function entryCells(entry: Entry, timeZone: string): Cell[] {
  const { topic, outcome, measured, waste } = entry.payload;
  return [
    entry.number,
    null,
    KINDS[entry.kind].words,
    wall(entry.happenedAt, timeZone),
    utc(entry.happenedAt),
    utc(entry.recordedAt),
    entry.by,
    entry.byToken ? 'token' : null,
    entry.place,
    entry.bucket?.code ?? null,
    entry.material?.name ?? null,
    entry.kiln?.code ?? null,
    entry.duty?.name ?? null,
    entry.restricted,
    entry.what,
    entry.action,
    topic ? TOPIC_WORDS[topic].words : null,
    outcome ?? null,
    measured?.substance ?? null,
    measured?.below ?? null,
    measured?.value ?? null,
    measured?.unit ?? null,
    measured?.method ?? null,
    measured?.minutes ?? null,
    waste?.quantity ?? null,
    waste?.unit ?? null,
    waste?.way ?? null,
    waste?.reference ?? null,
    entry.standing.owner,
    entry.standing.dueOn,
    STANDING_WORDS[entry.standing.state],
    entry.photos.length,
  ];
}

function laterCells(entry: Entry, row: Later, timeZone: string): Cell[] {
  const cells: Cell[] = HEADER.map(() => null);
  const put = (name: string, cell: Cell) => {
    cells[HEADER.indexOf(name)] = cell;
  };
  put('number', row.number);
  put('about number', entry.number);
  put('kind', row.strikes ? 'struck out' : row.kind);
  put('studio time', wall(row.at, timeZone));
  put('happened at', utc(row.at));
  put('recorded at', utc(row.at));
  put('by', row.by);
  put('recorded through', row.byToken ? 'token' : null);
  put('restricted', entry.restricted);
  put('what', row.words);
  put('owner', row.owner);
  put('due on', row.dueOn);
  return cells;
}

const utc = (at: Instant): string => new Date(at).toISOString();
const wall = (at: Instant, timeZone: string): string => toWallTime(at, timeZone).replace('T', ' ');
