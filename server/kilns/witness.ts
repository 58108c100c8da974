import { coneOrder } from '../ware/cone.ts';
import { upper } from '../ware/words.ts';
import { coneAmount } from './cones.ts';

/** A cone as it stands, by the hour its tip points to: upright is twelve, tip level with the base is six. */
export const READINGS = ['standing', '1', '2', '3', '4', '5', 'down', 'flat'] as const;
export type ConeReading = (typeof READINGS)[number];

export const READING_WORDS: Record<ConeReading, string> = {
  standing: 'Standing',
  1: "1 o'clock",
  2: "2 o'clock",
  3: "3 o'clock",
  4: "4 o'clock",
  5: "5 o'clock",
  down: "Down, 6 o'clock",
  flat: 'Flat on the shelf',
};

/**
 * How much of a cone has bent, 0 (standing) to 1 (down): a sixth for each hour. That equal hours are equal shares of
 * the heat is common practice, no source. Flat is 1 as well, and may have been far more.
 */
export function bend(reading: ConeReading): number {
  if (reading === 'standing') return 0;
  return reading === 'down' || reading === 'flat' ? 1 : Number(reading) / 6;
}

/** A witness cone on a level. */
export interface Witness {
  cone: string;
  reading: ConeReading;
}

/** The cone that a level has reached, in the measure of `coneOrder`. */
export interface Reached {
  /** Best figure; where only one side is known, that side. */
  order: number;
  /** What the cones allow; null where none of them sets a limit to that side. */
  low: number | null;
  high: number | null;
  /** A cone says it itself; else it only lies somewhere within the limits. */
  direct: boolean;
  /** Two cones tell against each other, in words. */
  doubt: string | null;
}

/** A reading of the clock is good for about one hour: common practice, no source. */
const HOUR_OF_CONE = 1 / 6;

/**
 * The cone reached on a level, from all its cones: a bent one says it itself; one that is down or flat says "at least",
 * a standing one "not beyond the cone before".
 * @returns null without cones
 * @throws RangeError when one is no cone
 */
export function reachedBy(cones: readonly Witness[]): Reached | null {
  if (cones.length === 0) return null;
  const bent = cones.flatMap(({ cone, reading }) =>
    reading === 'standing' || reading === 'down' || reading === 'flat'
      ? []
      : coneOrder(cone) - 1 + bend(reading),
  );
  const atLeast = cones.flatMap(({ cone, reading }) =>
    reading === 'down' || reading === 'flat' ? coneOrder(cone) : [],
  );
  const atMost = cones.flatMap(({ cone, reading }) => (reading === 'standing' ? coneOrder(cone) - 1 : []));
  const [floor, ceiling] = [mostOf(atLeast), leastOf(atMost)];
  const doubt = doubtOf(cones);
  if (bent.length > 0) {
    const order = bent.reduce((sum, value) => sum + value, 0) / bent.length;
    const low = Math.min(order - HOUR_OF_CONE, ...bent);
    return { order, low, high: Math.max(order + HOUR_OF_CONE, ...bent), direct: true, doubt };
  }
  // Just down and not flat is the very end point.
  const justDown = mostOf(cones.flatMap(({ cone, reading }) => (reading === 'down' ? coneOrder(cone) : [])));
  if (justDown !== null && justDown === floor)
    return {
      order: justDown,
      low: justDown - HOUR_OF_CONE,
      high: justDown + HOUR_OF_CONE,
      direct: true,
      doubt,
    };
  if (floor === null || ceiling === null)
    return { order: (floor ?? ceiling) as number, low: floor, high: ceiling, direct: false, doubt };
  const [low, high] = floor <= ceiling ? [floor, ceiling] : [ceiling, floor];
  return { order: (low + high) / 2, low, high, direct: low === high, doubt };
}

/** The cones of one level; levels are named as the studio names them: 'top', 'middle', '3'. */
export interface LevelCones {
  level: string;
  cones: readonly Witness[];
}

export type Side = 'as wanted' | 'cool' | 'hot' | 'unclear';

export interface LevelJudgement {
  level: string;
  /** Cones off what was wanted, below zero for cool: what the cones prove at least. Null when they leave it open. */
  off: number | null;
  side: Side;
  /** Half a cone off or more. */
  flagged: boolean;
  reached: Reached;
  /** 'Top level: half a cone cool.' */
  words: string;
}

export interface Judgement {
  /** The cones decide; only without any does the log. */
  by: 'cones' | 'log' | 'nothing';
  flagged: boolean;
  levels: LevelJudgement[];
  /** What the log says beside them; null without one. */
  log: { off: number; flagged: boolean; words: string } | null;
  /** Hottest less coolest level, in cones; null with fewer than two that are clear. */
  spread: number | null;
}

/** A firing is called off from so many cones on: common practice, no source. */
export const FLAGGED_BY_CONES = 0.5;
export const FLAGGED_BY_LOG = 1;
// A third and a sixth make half a cone also where floating point has them a hair below.
const HAIR = 1e-9;

/**
 * Judges a firing by its witness cones, which are the truth, and beside them by its log.
 * @param logOrder equivalent cone of the log in the measure of `coneOrder`, null without one
 * @param wanted the cone that was fired for
 * @throws RangeError when a cone is none
 */
export function judge(levels: readonly LevelCones[], logOrder: number | null, wanted: string): Judgement {
  const aim = coneOrder(wanted);
  const judged = levels.flatMap(({ level, cones }) => {
    const reached = reachedBy(cones);
    return reached ? [levelJudgement(level, reached, aim)] : [];
  });
  const log = logOrder === null ? null : logJudgement(logOrder - aim);
  const orders = judged.filter(({ reached }) => reached.direct).map(({ reached }) => reached.order);
  return {
    by: judged.length > 0 ? 'cones' : log ? 'log' : 'nothing',
    flagged: judged.length > 0 ? judged.some(({ flagged }) => flagged) : (log?.flagged ?? false),
    levels: judged,
    log,
    spread: orders.length < 2 ? null : Math.max(...orders) - Math.min(...orders),
  };
}

function levelJudgement(level: string, reached: Reached, aim: number): LevelJudgement {
  const { order, direct } = reached;
  const [low, high] = [reached.low ?? Number.NEGATIVE_INFINITY, reached.high ?? Number.POSITIVE_INFINITY];
  const off = (direct ? order : Math.min(Math.max(aim, low), high)) - aim;
  if (!direct && off === 0) {
    const words = `${levelName(level)}: ${openWords(low - aim, high - aim)}.`;
    return { level, off: null, side: 'unclear', flagged: false, reached, words };
  }
  const amount = coneAmount(off);
  const side: Side = amount === '' ? 'as wanted' : off < 0 ? 'cool' : 'hot';
  const said = side === 'as wanted' ? side : `${amount} ${side}${direct ? '' : ' or more'}`;
  const flagged = Math.abs(off) >= FLAGGED_BY_CONES - HAIR;
  return { level, off, side, flagged, reached, words: `${levelName(level)}: ${said}.` };
}

/** What limits to both sides of what was wanted leave open; either may be infinite. */
function openWords(low: number, high: number): string {
  const [cool, hot] = [coneAmount(low), coneAmount(high)];
  if (high === Number.POSITIVE_INFINITY) return low === 0 ? 'as wanted or hotter' : `at most ${cool} cool`;
  if (low === Number.NEGATIVE_INFINITY) return high === 0 ? 'as wanted or cooler' : `at most ${hot} hot`;
  if (high === 0) return `at most ${cool} cool`;
  return low === 0 ? `at most ${hot} hot` : `between ${cool} cool and ${hot} hot`;
}

function logJudgement(off: number): { off: number; flagged: boolean; words: string } {
  const amount = coneAmount(off);
  const said = amount === '' ? 'as wanted' : `${amount} ${off < 0 ? 'cool' : 'hot'}`;
  return { off, flagged: Math.abs(off) >= FLAGGED_BY_LOG - HAIR, words: `By the log: ${said}.` };
}

/** A level that has been off to one side for some firings. */
export interface Drifting {
  level: string;
  side: 'cool' | 'hot';
  firings: number;
  /** The middle of how far it was off, in cones, above zero. */
  cones: number;
  /** 'Top level half a cone cool, five firings running.' */
  words: string;
}

/** A level counts as off from so many cones on, and is named after so many firings: common practice, no source. */
const OFF_FROM = 1 / 3;
export const FEWEST_RUNNING = 3;
const NUMBERS = ['three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten', 'eleven', 'twelve'];

/**
 * Levels of one kiln that have been off to the same side ever since some firings ago. A firing whose cones
 * say nothing clear of a level is passed over.
 * @param firings oldest first, each with how far its levels were off, in cones, below zero for cool
 * @returns the longest run first
 */
export function trend(firings: readonly (readonly Pick<LevelJudgement, 'level' | 'off'>[])[]): Drifting[] {
  const levels = [...new Set(firings.flatMap((firing) => firing.map(({ level }) => level)))];
  return levels
    .flatMap((level) => {
      const offs = firings.flatMap((firing) =>
        firing.flatMap((f) => (f.level === level && f.off !== null ? [f.off] : [])),
      );
      return drifting(level, offs.reverse());
    })
    .sort((a, b) => b.firings - a.firings);
}

function drifting(level: string, newestFirst: number[]): Drifting[] {
  const sign = Math.sign(newestFirst[0] ?? 0);
  const end = newestFirst.findIndex((off) => !(off * sign >= OFF_FROM - HAIR));
  const run = end === -1 ? newestFirst : newestFirst.slice(0, end);
  if (run.length < FEWEST_RUNNING) return [];
  const sizes = run.map(Math.abs).sort((a, b) => a - b);
  const cones =
    ((sizes[Math.floor(sizes.length / 2)] ?? 0) + (sizes[Math.ceil(sizes.length / 2) - 1] ?? 0)) / 2;
  const side = sign < 0 ? 'cool' : 'hot';
  const times = NUMBERS[run.length - 3] ?? String(run.length);
  const words = `${levelName(level)} ${coneAmount(cones)} ${side}, ${times} firings running.`;
  return [{ level, side, firings: run.length, cones, words }];
}

/** 'Top level', 'Level 3', 'Level 3, left half'. */
export function levelName(level: string): string {
  if (/^\d/.test(level)) return `Level ${level}`;
  return `${upper(level)} level`;
}

/**
 * What is odd about the cones of one level, in words: of two the harder bends less than the softer, unless both still
 * stand or both are down. Null where nothing is.
 * @throws RangeError when one is no cone
 */
export function doubtOf(cones: readonly Witness[]): string | null {
  const sorted = [...cones].sort((a, b) => coneOrder(a.cone) - coneOrder(b.cone));
  for (const [i, hotter] of sorted.entries()) {
    const cooler = sorted[i - 1];
    if (!cooler || coneOrder(cooler.cone) === coneOrder(hotter.cone)) continue;
    const [more, less] = [bend(hotter.reading), bend(cooler.reading)];
    if (more > less) return `Cone ${hotter.cone} has bent more than cone ${cooler.cone}. Look again.`;
    if (more === less && more > 0 && more < 1)
      return `Cone ${hotter.cone} has bent as much as cone ${cooler.cone}. Look again.`;
  }
  return null;
}

const mostOf = (values: number[]): number | null => (values.length === 0 ? null : Math.max(...values));
const leastOf = (values: number[]): number | null => (values.length === 0 ? null : Math.min(...values));
