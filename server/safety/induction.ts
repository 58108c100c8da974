import { DAY } from '../core/clock.ts';
import type { SafetySettings, Verb } from './settings.ts';

/** What each is called: as a heading, and after "shown". */
export const VERB_WORDS: Record<Verb, { name: string; shown: string }> = {
  common: { name: 'Common rules', shown: 'the common rules' },
  dip: { name: 'Dip', shown: 'how to dip' },
  'add-water': { name: 'Add water', shown: 'how to add water' },
  'mix-dry': { name: 'Mix dry glaze', shown: 'how to mix dry glaze' },
  spray: { name: 'Spray', shown: 'how to spray' },
  load: { name: 'Load a kiln', shown: 'how to load a kiln' },
  'fire-electric': { name: 'Fire an electric kiln', shown: 'how to fire an electric kiln' },
  'fire-gas': { name: 'Fire a gas kiln', shown: 'how to fire a gas kiln' },
  'open-kiln': { name: 'Open a kiln', shown: 'how to open a kiln' },
};

/** What is done at a bucket, whose tag says what to mind whether or not anybody was shown. */
const AT_BUCKET: readonly Verb[] = ['dip', 'add-water', 'mix-dry', 'spray'];

/** An induction that ends within so many days is asked for again; common practice, no source. */
export const SOON_DAYS = 30;

const asDay = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/**
 * The last day that an induction holds, as is its first: the same day of the month so many months on, or the last day
 * of a month that is shorter.
 * @param givenOn YYYY-MM-DD
 * @param months whole, 0 or more
 */
export function lastDay(givenOn: string, months: number): string {
  const [year, month, day] = givenOn.split('-').map(Number) as [number, number, number];
  const endOfMonth = Date.UTC(year, month + months, 0);
  return asDay(Math.min(Date.UTC(year, month - 1 + months, day), endOfMonth));
}

/** 'soon': it holds, but for no more than SOON_DAYS. */
export type Standing = 'held' | 'soon' | 'over' | 'never';

/**
 * How an induction stands on a day.
 * @param givenOn the newest one's day, YYYY-MM-DD; null: none was given
 * @param today YYYY-MM-DD, of the studio
 */
export function standing(
  givenOn: string | null,
  months: number,
  today: string,
): { standing: Standing; until: string | null } {
  if (givenOn === null) return { standing: 'never', until: null };
  const until = lastDay(givenOn, months);
  const left = (Date.parse(until) - Date.parse(today)) / DAY;
  return { standing: left < 0 ? 'over' : left <= SOON_DAYS ? 'soon' : 'held', until };
}

/**
 * What somebody lacks to do a thing, the common rules first; nothing where it is not asked for.
 * @param newest the day of the newest induction by verb, YYYY-MM-DD; missing: none
 */
export function lacking(
  settings: Pick<SafetySettings, 'gated' | 'inductionMonths'>,
  verb: Verb,
  newest: Partial<Record<Verb, string | null>>,
  today: string,
): Verb[] {
  const { gated, inductionMonths } = settings;
  if (!gated.includes(verb)) return [];
  const asked: Verb[] = gated.includes('common') ? [...new Set<Verb>(['common', verb])] : [verb];
  return asked.filter((one) => {
    const now = standing(newest[one] ?? null, inductionMonths, today).standing;
    return now === 'never' || now === 'over';
  });
}

/** Why somebody is stopped, and what to do about it. @param missing at least one */
export function refusalWords(verb: Verb, missing: readonly Verb[], months: number): string {
  const what = missing.map((one) => VERB_WORDS[one].shown).join(' and ');
  const ago = months === 1 ? 'a month' : `${months} months`;
  const tag = AT_BUCKET.includes(verb)
    ? ' Nothing is recorded until then; the tag on the bucket says what to mind.'
    : '';
  return `You have not been shown ${what} here, or it is more than ${ago} ago. Ask a technician.${tag}`;
}

/** The names that somebody wrote one a line. */
export const namesIn = (lines: string): string[] =>
  lines
    .split(/\r\n|\r|\n/)
    .map((line) => line.trim())
    .filter((line) => line !== '');
