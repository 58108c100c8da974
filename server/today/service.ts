import { type Due, due } from '../buckets/service/index.ts';
import type { Read } from '../core/actor.ts';
import { mustBeAllowed } from '../core/policy.ts';

export interface Today {
  buckets: Due[];
}

/** What needs somebody, gathered from every feature; each says for itself what is worst. */
export async function today(read: Read): Promise<Today> {
  mustBeAllowed(read.actor, 'today.see');
  return { buckets: await due(read) };
}
