import type { RuleSet } from './ghs.ts';
import type { LeachRules } from './leach.ts';

/** What a person is shown before they may do it here. */
export const VERBS = [
  'common',
  'dip',
  'add-water',
  'mix-dry',
  'spray',
  'load',
  'fire-electric',
  'fire-gas',
  'open-kiln',
] as const;
export type Verb = (typeof VERBS)[number];

export interface SafetySettings {
  /** Whose cut-offs mixtures are classified by. */
  rules: RuleSet;
  /** Whose limits for lead and cadmium are proposed first. */
  leachRules: LeachRules;
  /** Verbs that are refused to whoever was not shown them; the common rules stand for every one of them. */
  gated: Verb[];
  /** Months that an induction holds. */
  inductionMonths: number;
  /** A child is younger than this, years. */
  childAge: number;
  /** A sheet older than this is asked for again, years. */
  sheetYears: number;
}

/** Until a manager chooses: no verb is refused, for nobody could have been shown it yet. */
export const USUAL_SAFETY: SafetySettings = {
  rules: 'eu-clp',
  leachRules: 'eu-84-500',
  gated: [],
  inductionMonths: 12,
  childAge: 16,
  sheetYears: 3,
};
