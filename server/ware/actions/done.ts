import type { MovePath } from '../service/index.ts';

/** What is said of pieces once it was done, after their numbers. */
export const DONE: Record<MovePath, string> = {
  drying: 'drying',
  'ask-dry': 'handed in, a technician feels whether it is dry',
  hole: 'has a hole',
  glazes: 'glazed',
  'hand-in': 'handed in for the firing',
  'another-firing': 'goes on',
  'pick-up': 'picked up',
  'here-again': 'here again',
  dry: 'bone dry',
  return: 'given back',
  yes: 'a yes, on a tray',
  flag: 'kept back',
  unflag: 'not kept back any more',
  refire: 'to be fired again',
  'left-behind': 'with what was left behind',
  lost: 'lost',
  assign: 'has an owner',
  measure: 'measured',
};
