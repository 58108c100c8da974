import type { BucketEvent } from './ledger.ts';

/** What goes wrong at a bucket, in the words of the button; the first stops its use at once. */
export const PROBLEMS = {
  contaminated: 'Sponge or wrong glaze fell in',
  lumps: 'Lumps',
  smell: 'Bad smell',
  'lid-off': 'Lid was left off',
} as const;
export type Problem = keyof typeof PROBLEMS;

/**
 * What puts each right afterwards; a technician's note does too. A reading cures no lumps, and one from an
 * unstirred bucket settles nothing.
 */
export const SETTLED_BY: Record<Problem, BucketEvent['kind'][]> = {
  contaminated: ['service', 'setup'],
  lumps: ['sieve', 'setup'],
  smell: ['sieve', 'setup'],
  'lid-off': ['reading', 'setup'],
};
