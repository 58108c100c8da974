import type { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Doubtful } from '../../core/errors.ts';
import { type Late, whenMade } from '../../core/late.ts';
import type { KINDS, KindPath } from '../kinds.ts';
import { factsOf, lockRow } from './now.ts';

/** What is done to the slurry itself: nobody should have, once the bucket was out of use. */
const ASKED = new Set<KindPath>(['stirs', 'readings', 'top-ups']);

/**
 * The body of an act that may have waited in a browser for the network, with the time at which it was made where
 * none was typed. Throws `Doubtful` where the bucket was out of use by then and whoever made it could not know:
 * told so, they may say that it was done all the same. What was made before that is no news, and is recorded.
 */
export async function asMade<P extends KindPath>(
  act: Act,
  code: string,
  path: P,
  body: z.output<(typeof KINDS)[P]['body']>,
  late: Late | null,
): Promise<z.output<(typeof KINDS)[P]['body']>> {
  if (late === null) return body;
  const made = whenMade(late, act.now);
  const happenedAt = (body as { happenedAt?: Instant }).happenedAt ?? made;
  if (ASKED.has(path) && !late.toldHeld) await askIfHeld(act, code, happenedAt);
  return { ...body, happenedAt };
}

async function askIfHeld(act: Act, code: string, happenedAt: Instant): Promise<void> {
  const { service, serviceSince } = factsOf((await lockRow(act, code)).state);
  if (service !== 'do-not-use' && service !== 'retired') return;
  if (serviceSince !== null && happenedAt < serviceSince) return;
  throw new Doubtful(
    '',
    service === 'retired'
      ? 'The bucket was retired by then. Was it done all the same?'
      : 'The bucket was marked "Do not use" by then. Was it done all the same?',
  );
}
