import type { Read } from '../../core/actor.ts';
import { DAY, HOUR, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { findStudio } from '../../core/session.ts';
import { shownTime } from '../../core/wall-time.ts';
import { firingWords } from '../../ware/firing.ts';
import { coolingRead } from '../calendar.ts';
import { standing } from '../firing-record.ts';
import type { LoadState } from '../schema.ts';
import * as store from '../store/calendar.ts';
import { eventsOfKinds } from '../store/firing.ts';
import { type KilnOnBoard, showBoard } from './board.ts';
import type { OnCalendar } from './calendar.ts';
import { kilnsByIds } from './kilns.ts';
import { type GroupProspect, proposals } from './proposing.ts';

/** Something about a kiln or a load that needs somebody, with words for a list of what is to be done. */
export interface KilnDue {
  why:
    | 'hand-log'
    | 'past-off'
    | 'unload'
    | 'open'
    | 'calendar'
    | 'start'
    | 'load'
    | 'approve'
    | 'out-of-service'
    | 'propose'
    | 'log';
  kiln: { code: string; name: string };
  load: { number: number; state: LoadState } | null;
  title: string;
  what: string;
  act: { label: string; href: string };
}

/** The order in which they are told: what burns first. */
const ORDER: readonly KilnDue['why'][] = [
  'hand-log',
  'past-off',
  'unload',
  'open',
  'calendar',
  'start',
  'load',
  'approve',
  'out-of-service',
  'propose',
  'log',
];

// When these are worth a word: common practice, no source.
const LATE_BY = HOUR;
const SOON = DAY;
const LOG_AFTER = DAY;
const LOG_ASKED_FOR = 14 * DAY;
const FEW_READINGS = 3;

/** What needs somebody at the kilns, the most pressing first. */
export async function due(read: Read): Promise<KilnDue[]> {
  mustBeAllowed(read.actor, 'today.see');
  const [board, groups, studio, logs] = await Promise.all([
    showBoard(read),
    proposals(read),
    findStudio(read.tx),
    missingLogs(read),
  ]);
  const at = (instant: Instant) => shownTime(instant, read.now, studio?.timeZone ?? 'UTC');
  const all = [
    ...board.kilns.flatMap((one) => kilnDues(one, read.now, at)),
    ...board.loads.flatMap((load) => loadDues(load, read.now, at)),
    ...groups.flatMap(toPropose),
    ...logs,
  ];
  return all.sort((a, b) => ORDER.indexOf(a.why) - ORDER.indexOf(b.why));
}

const page = (load: number, path = ''): string => `/kilns/loads/${load}${path}`;

function kilnDues(
  { kiln, load, nextLineAt }: KilnOnBoard,
  now: Instant,
  at: (instant: Instant) => string,
): KilnDue[] {
  const dues: KilnDue[] = [];
  if (load && nextLineAt !== null && nextLineAt < now)
    dues.push({
      ...about('hand-log', load),
      title: 'Hand log is late',
      what: `A line was due ${at(nextLineAt)}. Never unattended with burners lit.`,
      act: { label: 'Write a line', href: page(load.number, '/gas') },
    });
  if (kiln.service === 'out-of-service')
    dues.push({
      why: 'out-of-service',
      kiln: { code: kiln.code, name: kiln.name },
      load: null,
      title: 'Out of service',
      what: kiln.serviceCause ? `${kiln.serviceCause.replace(/\.$/, '')}.` : 'No cause was noted.',
      act: { label: 'Mended? Note it', href: `/kilns/${kiln.code}/care` },
    });
  return dues;
}

const about = (why: KilnDue['why'], { number, state, kiln }: OnCalendar) => ({
  why,
  kiln: { code: kiln.code, name: kiln.name },
  load: { number, state },
});

function loadDues(load: OnCalendar, now: Instant, at: (instant: Instant) => string): KilnDue[] {
  const { number, state, place, opens, openedAt, troubles, kiln } = load;
  const dues: KilnDue[] = [];
  const plan = { label: 'Another time for it', href: page(number, '/plan') };
  const starts = place ? `It is to start ${at(place.startsAt)}.` : 'It is not on the calendar.';
  const isSoon = place === null || place.startsAt < now + SOON;
  if (troubles.length > 0)
    dues.push({
      ...about('calendar', load),
      title: 'Does not fit the calendar',
      what: troubles.join(' '),
      act: plan,
    });
  switch (state) {
    case 'proposed':
      if (place && isSoon)
        dues.push({
          ...about('approve', load),
          title: 'Not approved yet',
          what: starts,
          act: { label: 'Look it over', href: page(number) },
        });
      break;
    case 'approved':
      if (isSoon)
        dues.push({
          ...about('load', load),
          title: 'To be loaded',
          what: starts,
          act: { label: 'Load it', href: page(number, '/load') },
        });
      break;
    case 'loaded':
      if (isSoon)
        dues.push({
          ...about('start', load),
          title: 'Loaded, not started',
          what: place && place.startsAt < now - LATE_BY ? `It was to start ${at(place.startsAt)}.` : starts,
          act: { label: 'The list before firing', href: page(number, '/check') },
        });
      break;
    case 'firing': {
      const off = load.startedAt === null || !load.takes ? null : load.startedAt + load.takes.hours * HOUR;
      if (off !== null && off + LATE_BY < now)
        dues.push({
          ...about('past-off', load),
          title: 'Still firing',
          what: `By its schedule ${kiln.name} was to end ${at(off)}. Look at it.`,
          act: { label: 'Read the pyrometer', href: page(number, '/readings') },
        });
      break;
    }
    case 'cooling': {
      const read = coolingRead(load);
      if (openedAt !== null)
        dues.push({
          ...about('unload', load),
          title: 'Opened, not emptied',
          what: read ? `Last read ${Math.round(read.c)} °C, ${at(read.at)}.` : `Opened ${at(openedAt)}.`,
          act: { label: 'Unload it', href: page(number, '/unload') },
        });
      else if (opens?.due)
        dues.push({
          ...about('open', load),
          title: 'Check the pyrometer',
          what: `${read ? `Last read ${Math.round(read.c)} °C, ${at(read.at)}.` : 'Nobody has read it since it was shut off.'} It may be cool enough to open. That is an estimate.`,
          act: { label: 'Read it, then open', href: page(number, '/open') },
        });
      break;
    }
  }
  return dues;
}

function toPropose({ firing, kilns }: GroupProspect): KilnDue[] {
  if (kilns.some(({ proposed }) => proposed.length > 0)) return [];
  const [best] = kilns
    .filter(({ cannot, reasons }) => cannot.length === 0 && reasons.length > 0)
    .sort((a, b) => b.reasons.length - a.reasons.length || b.share - a.share);
  if (!best) return [];
  const words = firingWords(firing);
  return [
    {
      why: 'propose',
      kiln: { code: best.kiln.code, name: best.kiln.name },
      load: null,
      title: 'A load can be made',
      what: `${words.charAt(0).toUpperCase()}${words.slice(1)}, in ${best.kiln.name}. ${best.reasons.map((one) => one.words).join(' ')}`,
      act: { label: 'Propose a load', href: '/kilns/loads' },
    },
  ];
}

/** Firings of which nothing tells how hot it was: no log, and hardly a reading. */
async function missingLogs(read: Read): Promise<KilnDue[]> {
  const loads = await store.emptiedWithoutLog(read.tx, {
    from: read.now - LOG_ASKED_FOR,
    to: read.now - LOG_AFTER,
  });
  const [kilns, events] = await Promise.all([
    kilnsByIds(
      read,
      loads.map(({ kilnId }) => kilnId),
    ),
    eventsOfKinds(
      read.tx,
      loads.map(({ id }) => id),
      ['reading', 'gas-reading'],
    ),
  ]);
  return loads.flatMap(({ id, number, kilnId }): KilnDue[] => {
    const kiln = kilns.get(kilnId);
    const readings = standing(events.filter(({ loadId }) => loadId === id));
    if (!kiln || readings.length >= FEW_READINGS) return [];
    return [
      {
        why: 'log',
        kiln: { code: kiln.code, name: kiln.name },
        load: { number, state: 'unloaded' },
        title: 'No log yet',
        what: 'Bring in what the controller wrote: it tells how hot it was, and how this kiln cools.',
        act: { label: 'Bring in the log', href: page(number, '/log') },
      },
    ];
  });
}
