import type { Read } from '../../core/actor.ts';
import { DAY, HOUR, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { shownTime } from '../../core/wall-time.ts';
import { firingWords } from '../../ware/firing.ts';
import { upper } from '../../ware/words.ts';
import { sentence } from '../approval.ts';
import { coolingRead } from '../calendar.ts';
import { standing } from '../firing-record.ts';
import type { LoadState } from '../load-fold.ts';
import { DATE_ASKS_DAYS } from '../queue.ts';
import { daysUntil } from '../queue-value.ts';
import * as store from '../store/calendar.ts';
import { eventsOfKinds } from '../store/firing.ts';
import { timesAsked } from '../store/loads.ts';
import { type KilnOnBoard, showBoard } from './board.ts';
import type { OnCalendar } from './calendar.ts';
import { kilnsByIds } from './kilns.ts';
import { type GroupProspect, proposals } from './proposing.ts';

/** Something about a kiln or a load that needs somebody, with words for a list of what is to be done. */
export interface KilnDue {
  why:
    | 'latest-off'
    | 'hand-log'
    | 'past-off'
    | 'unload'
    | 'open'
    | 'calendar'
    | 'start'
    | 'load'
    | 'approve'
    | 'approve-later'
    | 'cooling'
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
  'latest-off',
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
  'cooling',
  'approve-later',
  'log',
];

// When these are worth a word: common practice, no source.
const LATE_BY = HOUR;
const SOON = DAY;
const APPROVED_WITHIN = DAY;
const LOG_AFTER = DAY;
const LOG_ASKED_FOR = 14 * DAY;
const FEW_READINGS = 3;

/** What needs somebody at the kilns, the most pressing first. */
export async function due(read: Read): Promise<KilnDue[]> {
  mustBeAllowed(read.actor, 'today.see');
  const [board, groups, timeZone, logs] = await Promise.all([
    showBoard(read),
    proposals(read),
    studioTimeZone(read.tx),
    missingLogs(read),
  ]);
  const wanted = await timesAsked(
    read.tx,
    board.loads.flatMap(({ id, state }) => (state === 'proposed' ? [id] : [])),
  );
  const at = (instant: Instant) => shownTime(instant, read.now, timeZone);
  const all = [
    ...board.kilns.flatMap((one) => kilnDues(one, read.now, at)),
    ...board.loads.flatMap((load) => loadDues(load, read.now, at)),
    ...board.loads.flatMap((load) =>
      load.state === 'proposed'
        ? approveDue(load, wanted.get(load.id)?.wantedBy ?? null, read.now, timeZone)
        : [],
    ),
    ...groups.flatMap(toPropose),
    ...logs,
  ];
  return all.sort((a, b) => ORDER.indexOf(a.why) - ORDER.indexOf(b.why));
}

const page = (load: number, path = ''): string => `/kilns/loads/${load}${path}`;

function kilnDues(
  { kiln, load, nextLineAt, offSince }: KilnOnBoard,
  now: Instant,
  at: (instant: Instant) => string,
): KilnDue[] {
  const dues: KilnDue[] = [];
  if (load && offSince !== null)
    dues.push({
      ...about('latest-off', load),
      title: 'Past its latest shut-off',
      what: `The burners were to be off by ${at(offSince)}, and are not noted as off. Go and look.`,
      act: { label: 'It is off: note it', href: page(load.number, '/shut-off') },
    });
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
      what: kiln.serviceCause ? sentence(kiln.serviceCause) : 'No cause was noted.',
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
  const { number, state, place, opens, openedAt, letsHandsIn, troubles, kiln } = load;
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
          act: letsHandsIn
            ? { label: 'Unload it', href: page(number, '/unload') }
            : { label: 'Type a reading', href: page(number, '/readings') },
        });
      else {
        const last = read
          ? `Last read ${Math.round(read.c)} °C, ${at(read.at)}.`
          : 'Nobody has read it since it was shut off.';
        dues.push(
          opens?.due
            ? {
                ...about('open', load),
                title: 'Check the pyrometer',
                what: `${last} It may be cold enough to open. That is an estimate.`,
                act: { label: 'Read it, then open', href: page(number, '/open') },
              }
            : {
                ...about('cooling', load),
                title: 'Cooling, check the pyrometer',
                what: opens
                  ? `${last} Cold enough to open from about ${at(opens.from)}. That is an estimate.`
                  : last,
                act: { label: 'Type a reading', href: page(number, '/readings') },
              },
        );
      }
      break;
    }
  }
  return dues;
}

/** A proposal reserves nothing until somebody looks it over: it is pressing when it fires, is wanted or waits too long. */
function approveDue(load: OnCalendar, wantedBy: string | null, now: Instant, timeZone: string): KilnDue {
  const { number, place, proposedAt } = load;
  const isWanted = wantedBy !== null && daysUntil(wantedBy, now, timeZone) <= DATE_ASKS_DAYS;
  const isPressing =
    (place !== null && place.startsAt < now + SOON) || isWanted || proposedAt <= now - APPROVED_WITHIN;
  const starts = place
    ? `It is to start ${shownTime(place.startsAt, now, timeZone)}.`
    : 'It is not on the calendar.';
  return {
    ...about(isPressing ? 'approve' : 'approve-later', load),
    title: 'Not approved yet',
    what: `Proposed ${shownTime(proposedAt, now, timeZone)}. ${isWanted ? `The first of it is wanted by ${wantedBy}. ` : ''}${starts}`,
    act: { label: 'Look it over', href: page(number) },
  };
}

/** Asked of what no proposal takes: one that waits for approval is told by itself. */
function toPropose({ firing, kilns }: GroupProspect): KilnDue[] {
  const [best] = kilns
    .filter(({ cannot, reasons }) => cannot.length === 0 && reasons.length > 0)
    .sort((a, b) => b.reasons.length - a.reasons.length || b.share - a.share);
  if (!best) return [];
  return [
    {
      why: 'propose',
      kiln: { code: best.kiln.code, name: best.kiln.name },
      load: null,
      title: 'A load can be made',
      what: `${upper(firingWords(firing))}, in ${best.kiln.name}. ${best.reasons.map((one) => one.words).join(' ')}`,
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
