import { groupBy } from '../ware/group.ts';

/** A share with what it rests on. */
export interface Share {
  faulty: number;
  all: number;
  /** faulty / all; 0 of nothing. */
  share: number;
  /** What the true share hardly lies outside of, 0 … 1. */
  low: number;
  high: number;
}

/** Two-sided 95 % of the normal distribution. */
const Z = 1.959_964;

/** With fewer pieces a share says next to nothing: common practice, no source. */
export const FEWEST_TO_SAY = 10;

/**
 * A share of so many, with its 95 % score interval.
 * Source: E. B. Wilson, "Probable inference, the law of succession, and statistical inference", J. Am. Stat. Assoc. 22
 * (1927), 209–212.
 * @throws RangeError when it is not between 0 and all
 */
export function shareOf(faulty: number, all: number): Share {
  if (!(faulty >= 0 && faulty <= all)) throw new RangeError(`${faulty} of ${all} is no share.`);
  if (all === 0) return { faulty, all, share: 0, low: 0, high: 1 };
  const share = faulty / all;
  const z2 = (Z * Z) / all;
  const middle = (share + z2 / 2) / (1 + z2);
  const half = (Z * Math.sqrt((share * (1 - share) + z2 / 4) / all)) / (1 + z2);
  // At the ends the interval ends there too, whatever floating point makes of it.
  return {
    faulty,
    all,
    share,
    low: faulty === 0 ? 0 : middle - half,
    high: faulty === all ? 1 : middle + half,
  };
}

/** What goes with a fault: one bucket, one reading, one level … */
export interface FaultRow {
  key: string;
  share: Share;
  /** How many of each fault, the most frequent first. */
  outcomes: { outcome: string; count: number }[];
  /** More often than all pieces together, beyond what chance explains. */
  standsOut: boolean;
}

/** All there are, and how many of each outcome, the most frequent first. */
export function totals(counts: readonly { outcome: string; count: number }[]): {
  all: number;
  outcomes: { outcome: string; count: number }[];
} {
  const byOutcome = new Map<string, number>();
  for (const { outcome, count } of counts) byOutcome.set(outcome, (byOutcome.get(outcome) ?? 0) + count);
  return {
    all: counts.reduce((sum, { count }) => sum + count, 0),
    outcomes: [...byOutcome]
      .map(([outcome, count]) => ({ outcome, count }))
      .sort((a, b) => b.count - a.count || (a.outcome < b.outcome ? -1 : 1)),
  };
}

/**
 * Counts by key and outcome, some of them in several rows, as shares, worst first by what is certain of them: one of
 * one does not lead.
 * @param isFault which outcomes are asked for
 */
export function faultRows(
  counts: readonly { key: string; outcome: string; count: number }[],
  overall: number,
  isFault: (outcome: string) => boolean,
): FaultRow[] {
  return [...groupBy(counts, ({ key }) => key)]
    .map(([key, rows]) => {
      const { all, outcomes } = totals(rows);
      const faults = outcomes.filter(({ outcome }) => isFault(outcome));
      const share = shareOf(
        faults.reduce((sum, { count }) => sum + count, 0),
        all,
      );
      return {
        key,
        share,
        outcomes: faults,
        standsOut: share.all >= FEWEST_TO_SAY && share.low > overall,
      };
    })
    .sort(
      (a, b) =>
        b.share.low - a.share.low ||
        b.share.share - a.share.share ||
        b.share.all - a.share.all ||
        (a.key < b.key ? -1 : 1),
    );
}
