import { waterToThin } from '../server/buckets/slurry.ts';
import { DAY, type Instant, MINUTE } from '../server/core/clock.ts';
import { fromWallTime, toWallTime } from '../server/core/wall-time.ts';
import { cup, type Deed, dip, hydrometer, jug, level, setUp, sieve, water } from './deeds.ts';
import { DEMO_PEOPLE, type DemoName } from './people.ts';

export interface Step {
  at: Instant;
  who: DemoName;
  deed: Deed;
  atTablet?: boolean;
}

/** Three ordinary weeks of a bucket, before what happened lately. */
export interface Weeks {
  startLitres: number;
  /** Gravity just after water went in; it rises from there as water leaves. */
  sg: number;
  risePerDay: number;
  /** Days ago on which somebody topped it up with water. */
  waterDays: number[];
  dipsPerDay: number;
  /** The last time somebody looked how full it is. */
  level: { daysAgo: number; litres: number };
  sievedDaysAgo?: number;
  /** Water that left at once one day, such as through a lid left off over a weekend: SG stays up by so much. */
  lidOff?: { daysAgo: number; by: number };
  /** The days the history covers, in days ago. */
  from?: number;
  to?: number;
}

const MEMBERS = DEMO_PEOPLE.filter(({ role }) => role === 'member').map(({ name }) => name);
const TECHNICIAN: DemoName = 'Wren';
/** Standard deviation of one careful reading from the next. */
const SCATTER = 0.0035;

/** What three weeks of a shared bucket look like: the same for the same code and day, whoever starts the demo. */
export function ordinaryWeeks(code: string, weeks: Weeks, now: Instant, timeZone: string): Step[] {
  const random = generator(code);
  const { from = 21, to = 2 } = weeks;
  const at = (daysAgo: number, hour: number) => onDay(now - daysAgo * DAY, hour, timeZone);
  const member = () => MEMBERS[Math.floor(random() * MEMBERS.length)] ?? TECHNICIAN;
  const litresOn = (daysAgo: number) => {
    const share = (from - daysAgo) / (from - weeks.level.daysAgo);
    return weeks.startLitres + share * (weeks.level.litres - weeks.startLitres);
  };
  const gravityOn = (daysAgo: number) => {
    const topped = weeks.waterDays.filter((day) => day > daysAgo).at(-1) ?? from;
    const { lidOff } = weeks;
    const lost = lidOff && daysAgo <= lidOff.daysAgo && topped > lidOff.daysAgo ? lidOff.by : 0;
    return weeks.sg + weeks.risePerDay * (topped - daysAgo) + lost;
  };
  const read = (sg: number, by: DemoName): Deed => {
    const seen = sg + SCATTER * normal(random);
    if (by === TECHNICIAN) return jug(seen);
    return random() < 0.25 ? hydrometer(seen) : cup(seen);
  };

  const steps: Step[] = [{ at: at(from, 9), who: TECHNICIAN, deed: setUp(weeks.startLitres, weeks.sg) }];
  for (let day = from; day >= to; day--) {
    const reader = random() < 0.3 ? TECHNICIAN : member();
    if (random() < 0.75 || day === from)
      steps.push({ at: at(day, 9.6 + 2 * random()), who: reader, deed: read(gravityOn(day), reader) });
    for (let left = weeks.dipsPerDay; random() < left; left--)
      steps.push({ at: at(day, 12.5 + 7 * random()), who: member(), deed: dip(pieces(random)) });
    if (weeks.waterDays.includes(day)) {
      const litres = waterToThin({ litres: litresOn(day), sg: gravityOn(day), target: weeks.sg });
      const who = member();
      steps.push({ at: at(day, 12), who, deed: water(Math.max(0.1, Math.round(litres * 20) / 20)) });
      steps.push({ at: at(day, 12.2), who, deed: read(weeks.sg, who) });
    }
    if (day === weeks.sievedDaysAgo) steps.push({ at: at(day, 20.5), who: TECHNICIAN, deed: sieve });
    if (day === weeks.level.daysAgo)
      steps.push({ at: at(day, 20.8), who: member(), deed: level(weeks.level.litres) });
  }
  return steps;
}

/** What happened lately, told in minutes before now, so that it holds whenever the demo starts. */
export const ago = (minutes: number, who: DemoName, deed: Deed) => ({
  minutes,
  who,
  deed,
  atTablet: false,
});

/** The same, tapped at the wall tablet. */
export const agoAtTablet = (...what: Parameters<typeof ago>) => ({ ...ago(...what), atTablet: true });

export const toSteps = (lately: ReturnType<typeof ago>[], now: Instant): Step[] =>
  lately.map(({ minutes, ...step }) => ({ ...step, at: now - minutes * MINUTE }));

function onDay(day: Instant, hour: number, timeZone: string): Instant {
  const date = toWallTime(day, timeZone).slice(0, 10);
  const minutes = Math.floor(hour * 60);
  const clock = [Math.floor(minutes / 60), minutes % 60].map((n) => String(n).padStart(2, '0')).join(':');
  return fromWallTime(`${date}T${clock}`, timeZone) ?? day;
}

function pieces(random: () => number) {
  const cups = Math.floor(random() * 4);
  const bowls = Math.floor(random() * 3);
  return { cups, bowls, large: cups + bowls === 0 ? 1 : 0 };
}

/** Numbers from 0 to 1 that look random and are the same for the same seed (the generator called mulberry32). */
export function generator(seed: string): () => number {
  let state = 0;
  for (const letter of seed) state = Math.imul(state ^ letter.charCodeAt(0), 0x9e3779b1) >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** A normal deviate (Box and Muller). */
export function normal(random: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
