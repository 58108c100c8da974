import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { offBandWords } from '../bisque.ts';
import { byFiring, firingWords } from '../firing.ts';
import { formWords } from '../presets.ts';
import { offBandToGlaze } from '../store/bisque-tests.ts';
import { claimed, overdue, returned, type Tally, toFeel, toFetch } from '../store/due.ts';
import { daysWords } from '../words.ts';
import { groupReaders } from './groups.ts';
import { wareSettings } from './settings.ts';
import { asksForYes, waitingNow } from './waiting.ts';

/** How long ware may wait before somebody looks why: common practice, no source. */
const LONG_WAIT = 14 * DAY;
const RETURNED_LONG = 7 * DAY;

/** Something about ware that needs somebody, with words for a list of what is to be done. */
export interface WareDue {
  why: 'feel-dry' | 'claims' | 'yes-asked' | 'bisque-off' | 'not-fetched' | 'long-wait' | 'returned';
  /** How many pieces. */
  count: number;
  /** Since when the first of them. */
  oldest: Instant;
  title: string;
  what: string;
  act: { href: string; label: string };
}

type Words = Pick<WareDue, 'title' | 'what' | 'act'>;

/**
 * What needs somebody on the desk, the most pressing first; what needs nobody is left out. Only counts are read, so
 * that it may be asked for every minute.
 */
export async function due(read: Read): Promise<WareDue[]> {
  mustBeAllowed(read.actor, 'today.see');
  const { tx, now } = read;
  const settings = await wareSettings(read);
  const { uncollectedDays } = settings;
  const [feel, claims, late, back, offBand, waiting] = await Promise.all([
    toFeel(tx),
    claimed(tx),
    overdue(tx, now - uncollectedDays * DAY),
    returned(tx),
    offBandToGlaze(tx),
    waitingNow(read, settings, 0),
  ]);
  const pieces = (count: number) => formWords('other', count);
  const all: (WareDue | null)[] = [
    thing('feel-dry', feel, (count) => ({
      title: 'Feel what is dry',
      what: `${pieces(count)} on the drying rack, said to be dry.`,
      act: { href: '/ware/desk/dry', label: 'Dry rack' },
    })),
    thing('claims', claims, (count) => ({
      title: 'Whose is it',
      what: `${pieces(count)} of the shelf without names ${count === 1 ? 'was' : 'were'} claimed.`,
      act: { href: '/ware/desk/no-name', label: 'Shelf without names' },
    })),
    thing('yes-asked', sum(waiting.filter(asksForYes)), (count) => ({
      title: "Needs a technician's yes",
      what: `${pieces(count)} of a clay or with a glaze nobody here knows, or with coats that may run.`,
      act: { href: '/ware/desk/yes', label: 'Look at them' },
    })),
    ...offBand.map(({ clay, load, percent, low, high, count, at }) =>
      thing('bisque-off', { count, oldest: at }, () => ({
        title: 'Bisque out of its band',
        what: `${pieces(count)} of ${clay.name} not glazed yet. ${offBandWords(load, percent, { low, high }) ?? ''}`,
        act: { href: `/clays/${clay.id}/bisque`, label: 'See the test' },
      })),
    ),
    ...byFiring(waiting).map(({ firing, items }) =>
      thing('long-wait', sum(items.filter(({ open }) => open.length === 0)), (count, oldest) =>
        now - oldest > LONG_WAIT
          ? {
              title: 'Waits for a kiln',
              what: `${pieces(count)} ready for ${firingWords(firing)}, the first for ${days(now - oldest)}.`,
              act: { href: '/ware/desk', label: 'The desk' },
            }
          : null,
      ),
    ),
    thing('not-fetched', late, (count) => ({
      title: 'Not fetched',
      what: `${pieces(count)} fired more than ${uncollectedDays} days ago.`,
      act: { href: '/ware/desk/fetch', label: 'Put them away' },
    })),
    thing('returned', back, (count, oldest) =>
      now - oldest > RETURNED_LONG
        ? {
            title: 'Returned and left',
            what: `${pieces(count)} given back, the first ${days(now - oldest)} ago.`,
            act: { href: '/ware/desk', label: 'The desk' },
          }
        : null,
    ),
  ];
  return all.filter((one) => one !== null);
}

const sum = (parts: readonly Tally[]): Tally => ({
  count: parts.reduce((total, { count }) => total + count, 0),
  oldest: parts.reduce<Instant | null>(
    (first, { oldest }) => (oldest === null ? first : Math.min(first ?? oldest, oldest)),
    null,
  ),
});

function thing(
  why: WareDue['why'],
  { count, oldest }: Tally,
  say: (count: number, oldest: Instant) => Words | null,
): WareDue | null {
  const words = oldest === null ? null : say(count, oldest);
  return words && oldest !== null ? { why, count, oldest, ...words } : null;
}

const days = (ms: number): string => daysWords(Math.floor(ms / DAY));

/** When somebody is told again that their ware lies here: common practice, no source. */
const FETCH_AFTER = 7 * DAY;

/** A fired piece that nobody fetched, and whom it concerns. */
export interface ToFetch {
  number: number;
  since: Instant;
  /** It is put away soon, or was. */
  isLate: boolean;
  personIds: number[];
}

/** Fired pieces that have lain here for a week or more, by number. */
export async function waitsToBeFetched(read: Read): Promise<ToFetch[]> {
  mustBeAllowed(read.actor, 'today.see');
  const [pieces, { uncollectedDays }] = await Promise.all([
    toFetch(read.tx, read.now - FETCH_AFTER),
    wareSettings(read),
  ]);
  const groups = new Map<number, number[]>();
  for (const id of new Set(pieces.flatMap(({ groupId }) => groupId ?? [])))
    groups.set(id, await groupReaders(read, id));
  return pieces.map(({ number, since, personId, groupId }) => ({
    number,
    since,
    isLate: since < read.now - uncollectedDays * DAY,
    personIds: personId === null ? (groups.get(groupId ?? 0) ?? []) : [personId],
  }));
}
