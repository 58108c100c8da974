import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type { LoadEvent } from '../../server/kilns/service/index.ts';
import type { LoadEventKind } from '../../server/kilns/service/load-ledger.ts';
import { Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { listed } from './load-words.ts';
import { floorName } from './plan-parts.tsx';

const WORDS: Record<Exclude<LoadEventKind, 'changed' | 'level-loaded' | 'void' | 'reading'>, string> = {
  proposed: 'Proposed',
  planned: 'Put on the calendar',
  approved: 'Approved',
  loaded: 'Loaded',
  checked: 'Checked before firing',
  started: 'Started',
  'gas-reading': 'Hand log',
  log: 'Log read in',
  witness: 'Witness cones read',
  'shut-off': 'Shut off',
  opened: 'Opened',
  outcomes: 'Outcomes noted',
  unloaded: 'Unloaded',
  cancelled: 'Cancelled',
};

const CHANGES: Record<string, (piece: string) => string> = {
  move: (piece) => `${piece} moved`,
  'put-in': (piece) => `${piece} put in`,
  'take-out': (piece) => `${piece} taken out`,
  'leave-out': (piece) => `${piece} left out`,
  pin: (piece) => `${piece} pinned to its level`,
  unpin: (piece) => `${piece} unpinned`,
  repack: () => 'Packed again',
  schedule: () => 'Another schedule chosen',
};

/** What an event says, in a few words. */
export function loadEventWords({
  kind,
  payload,
  voids,
}: Pick<LoadEvent, 'kind' | 'payload' | 'voids'>): string {
  const told = (payload ?? {}) as Record<string, unknown>;
  switch (kind) {
    case 'changed':
      return CHANGES[String(told.did)]?.(`Piece ${told.piece}`) ?? 'Changed';
    case 'level-loaded': {
      const notIn = Array.isArray(told.notIn) ? told.notIn.map(String) : [];
      const name = floorName({ level: Number(told.level), part: told.part as 'full' });
      return `${name} loaded, ${notIn.length === 0 ? 'all of it' : `all but ${listed(notIn)}`}`;
    }
    case 'reading':
      return typeof told.celsius === 'number' ? `Read ${Math.round(told.celsius)} °C` : 'Read';
    case 'planned':
      return told.startsAt === null ? 'Taken off the calendar' : WORDS.planned;
    case 'void':
      return `Number ${voids} struck out`;
    default:
      return WORDS[kind];
  }
}

/** What was done with a load, the newest first. Members see its states only. */
export function LoadEvents({ events, reader }: { events: LoadEvent[]; reader: LoadReader }) {
  const struck = new Set(events.map(({ voids }) => voids));
  const shown = events.filter(({ state }) => reader.mayPlan || state !== null).reverse();
  if (shown.length === 0) return null;
  return (
    <Panel title="What happened">
      <Table
        columns={[{ label: 'When' }, { label: 'What', main: true }, { label: 'Who' }]}
        rows={shown.map((event) => ({
          key: event.number,
          struck: struck.has(event.number),
          cells: [
            shownTime(event.happenedAt, reader.now, reader.timeZone),
            <>
              {loadEventWords(event)}
              {event.note && <small class="soft"> “{event.note}”</small>}
              {event.photo && (
                <>
                  {' '}
                  <a href={`/files/${event.photo}`}>photo</a>
                </>
              )}
            </>,
            event.by,
          ],
        }))}
      />
    </Panel>
  );
}
