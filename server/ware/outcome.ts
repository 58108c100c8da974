import type { Firing, FiringKind } from './firing.ts';

/** How a piece came out of a firing. */
export const OUTCOMES = [
  'good',
  'crack',
  'crawl',
  'craze',
  'run',
  'stuck',
  'bloat',
  'burst',
  'other',
] as const;
export type Outcome = (typeof OUTCOMES)[number];

export const OUTCOME_WORDS: Record<Outcome, string> = {
  good: 'Good',
  crack: 'Cracked',
  crawl: 'Glaze crawled',
  craze: 'Glaze crazed',
  run: 'Glaze ran',
  stuck: 'Stuck',
  bloat: 'Bloated',
  burst: 'Burst',
  other: 'Something else',
};

/** What went wrong in a firing, in words that stand alone; null where it came out well or has not been fired. */
export function faultWords(outcome: Outcome | null): string | null {
  if (outcome === null || outcome === 'good') return null;
  return outcome === 'other' ? 'Not as it should be' : OUTCOME_WORDS[outcome];
}

/**
 * Where a piece is after a firing of this kind: out of a bisque it goes on to glazing, unless bisque is all that was
 * wanted, it burst, or whoever unloaded it says that it is beyond use; out of every other firing it is fired.
 */
export function stageAfter(
  fired: FiringKind,
  final: Firing,
  outcome: Outcome,
  isBeyondUse = false,
): 'bisqued' | 'fired' {
  if (fired !== 'bisque' || final.kind === 'bisque') return 'fired';
  return outcome === 'burst' || isBeyondUse ? 'fired' : 'bisqued';
}
