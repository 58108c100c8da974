import { type NextAct, nextAct } from '../buckets/next-act.ts';
import { gravityFigure, takeOutWords, wayWords } from '../buckets/sentences.ts';
import type { Due } from '../buckets/service/index.ts';
import { ago, gravityText, STATE_WORDS, type StateName } from '../buckets/verdict.ts';
import type { Instant } from '../core/clock.ts';
import { type UnitSystem, volume } from '../core/units.ts';

/** Something that needs somebody, as the page says it: what is the matter, and the act that settles it. */
export interface DueWords {
  title: string;
  /** The state whose shape and colour stand beside the words; null where there is none for it. */
  state: StateName | null;
  what: string;
  act: { label: string; href: string };
}

interface Reader {
  units: UnitSystem;
  now: Instant;
}

/** A due thing in words, with a technician's act. */
export function dueWords(due: Due, reader: Reader): DueWords {
  const { bucket } = due;
  const at = `/buckets/${bucket.code}`;
  switch (due.why) {
    case 'tag':
      return {
        title: 'Tag to hang',
        state: 'do-not-use',
        what: `${bucket.verdict.why} Nobody standing at the bucket can see that yet.`,
        act: { label: 'Print the tag and hang it', href: `${at}/tag` },
      };
    case 'do-not-use':
      return {
        title: STATE_WORDS['do-not-use'],
        state: 'do-not-use',
        what: bucket.verdict.why,
        act: { label: 'Put it back in service, once it is right', href: `${at}/service` },
      };
    case 'problem':
      return {
        title: 'Problem reported',
        state: 'ask-technician',
        what: problemText(due, reader.now),
        act: { label: 'Put right? Note it', href: `${at}/problem` },
      };
    case 'too-thick':
    case 'too-thin':
      return {
        title: STATE_WORDS[due.why],
        state: due.why,
        what: gravityOf(due),
        act: { label: mendText(nextAct(bucket, 'technician'), due, reader), href: at },
      };
    case 'ask-technician':
      return {
        title: STATE_WORDS['ask-technician'],
        state: 'ask-technician',
        what: bucket.verdict.why,
        act: { label: 'Loosen it: a drop of deflocculant', href: `${at}/additive` },
      };
    case 'check':
      return {
        title: STATE_WORDS['needs-reading'],
        state: 'needs-reading',
        what: bucket.verdict.why,
        act: { label: 'Check SG', href: `${at}/check` },
      };
    case 'low':
      return { title: 'Running low', state: null, what: lowText(due, reader), act: mixMore(due) };
    case 'on-test':
      return {
        title: STATE_WORDS['on-test'],
        state: 'on-test',
        what: bucket.verdict.why,
        act: { label: 'Tile fired? Say how it came out', href: `${at}/tiles/new` },
      };
  }
}

function problemText({ problem }: Due, now: Instant): string {
  const what = problem ? `${problem.words}, ${ago(problem.at, now)}.` : '';
  return `${what} Put it right, then note what you did.`.trim();
}

function gravityOf({ bucket }: Due): string {
  const { gravity, gravityU } = bucket.facts;
  const { low, high } = bucket.target;
  const is = gravity === null ? '' : `SG ${gravityText(gravity, gravityU, bucket.target)}, `;
  return `${is}wanted ${gravityFigure(low)} to ${gravityFigure(high)}.`;
}

function mendText(next: NextAct, { bucket }: Due, { units }: Reader): string {
  switch (next.do) {
    case 'follow':
      return wayWords(next.way, { aim: bucket.target.aim, units }).title;
    case 'take-out':
      return takeOutWords(next.litres, units).title;
    case 'ask-level':
      return 'See how full it is first';
    default:
      return 'Check SG again';
  }
}

function lowText({ bucket, daysLeft }: Due, { units }: Reader): string {
  const litres = Math.round(10 * (bucket.facts.litres ?? 0)) / 10;
  const left = `About ${volume(litres, units)} of ${volume(bucket.capacityLitres, units)} left`;
  if (daysLeft === null || daysLeft === undefined)
    return `${left}. Nobody dipped from it in the last two weeks.`;
  return `${left}, ${daysText(daysLeft)} at the rate of the last two weeks.`;
}

function daysText(days: number): string {
  if (days < 1) return 'less than a day';
  const whole = Math.floor(days);
  return whole === 1 ? 'about a day' : `about ${whole} days`;
}

function mixMore({ bucket }: Due): DueWords['act'] {
  return { label: 'Mix a batch for it', href: `/batches/new?bucket=${bucket.code}` };
}
