import { DAY, type Instant } from '../core/clock.ts';
import { atMinute, dayAfter, linkLine, oneLine, type ToldKind } from '../core/told.ts';
import { toWallTime } from '../core/wall-time.ts';
import { piecesWords } from '../ware/presets.ts';
import { daysWords, upper } from '../ware/words.ts';

/** Something that somebody is to be reminded of. */
export interface Occasion {
  kind: Extract<ToldKind, 'pick-up' | 'open' | 'notice' | 'stir' | 'reading' | 'duty'>;
  /** The same as long as it is the same occasion: nobody is told of it twice. */
  key: string;
  personIds: readonly number[];
  /** A short name for it, for a list of several. */
  name: string;
  href: string;
  /** Since when; null where that is not known. */
  since: Instant | null;
}

/** One message about one or more occasions of a kind. */
export interface Reminder {
  personId: number;
  kind: Occasion['kind'];
  /** Which message of this kind of the day it is: one process takes it. */
  turn: string;
  /** What it tells of, kept so that it is not told again. */
  keys: string[];
  words: string;
  href: string;
}

// How often: common practice, no source.

/** Loads may be ready at any hour; so many messages about them a day. */
const OPEN_A_DAY = 4;
/** After this much of a day has gone by, its list is not worth sending any more. */
const LATEST = DAY / 4;
const NOTICE_AFTER = DAY;
const NOTICE_AGAIN = 7 * DAY;
const NAMED = 5;

/**
 * Whether the day's list and reminders are due, and of which day: from that time on the studio's clock for six hours,
 * past midnight where it is late.
 */
export function dayDue(now: Instant, digestAt: number, timeZone: string): { day: string; isDue: boolean } {
  const today = toWallTime(now, timeZone).slice(0, 10);
  for (const day of [today, dayAfter(today, -1)]) {
    const at = atMinute(day, digestAt, timeZone);
    if (now >= at && now < at + LATEST) return { day, isDue: true };
  }
  return { day: today, isDue: false };
}

/** Which of a notice's reminders it is time for: none, one after a day, another after a week. */
export function noticeTurn(postedAt: Instant, now: Instant): number {
  if (now < postedAt + NOTICE_AFTER) return 0;
  return now < postedAt + NOTICE_AGAIN ? 1 : 2;
}

/**
 * What each person is reminded of now: of what they were not told, everything of a kind in one message, and of one kind
 * once a day; a load that may be opened is told of at once, up to four times a day.
 * @param known keys of what each person was told
 * @param isDayDue whether it is the time of day for what can wait
 */
export function remindersOf(
  occasions: readonly Occasion[],
  known: ReadonlyMap<number, ReadonlySet<string>>,
  { day, isDayDue, now }: { day: string; isDayDue: boolean; now: Instant },
): Reminder[] {
  const byPerson = new Map<string, { personId: number; kind: Occasion['kind']; all: Occasion[] }>();
  for (const occasion of occasions) {
    if (occasion.kind !== 'open' && !isDayDue) continue;
    for (const personId of new Set(occasion.personIds)) {
      if (known.get(personId)?.has(occasion.key)) continue;
      const id = `${personId} ${occasion.kind}`;
      const one = byPerson.get(id) ?? { personId, kind: occasion.kind, all: [] };
      if (!one.all.some(({ key }) => key === occasion.key)) one.all.push(occasion);
      byPerson.set(id, one);
    }
  }
  return [...byPerson.values()].flatMap(({ personId, kind, all }): Reminder[] => {
    const turn = turnOf(kind, day, known.get(personId) ?? new Set());
    if (turn === null) return [];
    const [first] = all;
    if (!first) return [];
    return [
      {
        personId,
        kind,
        turn,
        keys: all.map(({ key }) => key),
        words: wordsFor(kind, all, now),
        href: all.length === 1 ? first.href : PAGES[kind],
      },
    ];
  });
}

/** The key of the message of the day that comes next; null where there were enough. */
function turnOf(kind: Occasion['kind'], day: string, known: ReadonlySet<string>): string | null {
  for (let turn = 1; turn <= (kind === 'open' ? OPEN_A_DAY : 1); turn++) {
    const key = `${kind}:${day}:${turn}`;
    if (!known.has(key)) return key;
  }
  return null;
}

const PAGES: Record<Occasion['kind'], string> = {
  'pick-up': '/ware',
  open: '/kilns',
  notice: '/notices',
  stir: '/wall',
  reading: '/wall',
  duty: '/safety/duties',
};

function wordsFor(kind: Occasion['kind'], all: readonly Occasion[], now: Instant): string {
  const names = listOf(all.map(({ name }) => name));
  const isOne = all.length === 1;
  switch (kind) {
    case 'stir':
      return `${names} ${isOne ? 'is' : 'are'} in use and ${isOne ? 'was' : 'were'} not stirred for days. Stir to the bottom before it sets hard.`;
    case 'reading':
      return `${names} ${isOne ? 'is' : 'are'} in use, and the reading is overdue. Check SG.`;
    case 'duty':
      return isOne ? `A duty is due: ${names}.` : `${all.length} duties are due: ${names}.`;
    case 'notice':
      return isOne
        ? `A notice waits to be read: ${names}.`
        : `${all.length} notices wait to be read: ${names}.`;
    case 'open':
      return `${names} may be cold enough to open. That is an estimate: read the pyrometer first.`;
    case 'pick-up': {
      const since = Math.min(...all.map((one) => one.since ?? now));
      const what = upper(piecesWords(all.map(({ name }) => Number(name))));
      return `${what} ${isOne ? 'waits' : 'wait'} to be fetched${isOne ? '' : ', the first'} for ${daysWords(Math.floor((now - since) / DAY))}.`;
    }
  }
}

/** 'A, B and C', and how many more there are where they are many. */
function listOf(names: readonly string[]): string {
  const shown = names.length > NAMED + 1 ? names.slice(0, NAMED) : names;
  const rest = names.length - shown.length;
  const all = rest > 0 ? [...shown, `${rest} more`] : shown;
  return all.length < 2 ? (all[0] ?? '') : `${all.slice(0, -1).join(', ')} and ${all.at(-1)}`;
}

/** A part of the day's list. */
export interface DayPart {
  title: string;
  things: { title: string; what: string }[];
}

const SHOWN_OF_PART = 20;

/** The day's list as a message and as a mail; null where nothing needs anybody. */
export function dayWords(
  parts: readonly DayPart[],
): { words: string; letter: { subject: string; body: string } } | null {
  const full = parts.filter(({ things }) => things.length > 0);
  const total = full.reduce((sum, { things }) => sum + things.length, 0);
  if (total === 0) return null;
  const subject = `${total} ${total === 1 ? 'thing needs' : 'things need'} somebody today`;
  const body = full.map(({ title, things }) => {
    const shown = things.slice(0, SHOWN_OF_PART);
    const rest = things.length - shown.length;
    return [
      title,
      ...shown.map((thing) => oneLine(`- ${thing.title}: ${thing.what}`)),
      ...(rest > 0 ? [`- and ${rest} more`] : []),
    ].join('\n');
  });
  return {
    words: `${subject}: ${listOf(full.map(({ title, things }) => `${title.toLowerCase()} ${things.length}`))}.`,
    letter: { subject, body: [...body, linkLine('/today')].join('\n\n') },
  };
}
