import type { Actor } from './actor.ts';
import type { Instant } from './clock.ts';
import type { Executor } from './database.ts';
import { audit } from './schema.ts';

/** Appends one row: `subject` and `details` hold ids, codes and words of ours, never a person's name. */
export async function record(
  { tx, actor, now }: { tx: Executor; actor: Pick<Actor, 'id' | 'tokenId'> | null; now: Instant },
  act: string,
  subject: string,
  details: Record<string, string | number | boolean | null> = {},
): Promise<void> {
  await tx
    .insert(audit)
    .values({ at: now, by: actor?.id ?? null, tokenId: actor?.tokenId ?? null, act, subject, details });
}
