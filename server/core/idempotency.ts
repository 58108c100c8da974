import { createHash } from 'node:crypto';
import { and, eq, lt } from 'drizzle-orm';
import type { Act } from './actor.ts';
import { DAY } from './clock.ts';
import type { Executor } from './database.ts';
import { Invalid } from './errors.ts';
import { idempotencyKeys } from './schema.ts';

const KEPT_FOR = 30 * DAY;

export interface Once {
  /** What the client sent to tell a retry from a second act; null: every request is a new act. */
  key: string | null;
  fingerprint: string;
}

/** Tells two requests apart that carry the same key. */
export const fingerprint = (method: string, path: string, body: unknown): string =>
  createHash('sha256')
    .update(`${method} ${path}\n${JSON.stringify(body ?? null)}`)
    .digest('base64url');

/**
 * Runs `work` once for its key, in the transaction of `act`: a retry gets the stored answer, which must
 * survive JSON. Only successes are stored, since a failure rolls the key back too.
 */
export async function once<T>(
  act: Act,
  request: Once,
  work: () => Promise<T>,
): Promise<{ answer: T; replayed: boolean }> {
  if (request.key === null) return { answer: await work(), replayed: false };
  const { tx, actor, now } = act;
  const mine = and(eq(idempotencyKeys.personId, actor.id), eq(idempotencyKeys.key, request.key));
  const inserted = tx
    .insert(idempotencyKeys)
    .values({ personId: actor.id, key: request.key, fingerprint: request.fingerprint, madeAt: now })
    .onConflictDoNothing()
    .returning({ key: idempotencyKeys.key })
    .prepare('idempotency_insert')
    .execute();
  if ((await inserted).length === 0) {
    const [stored] = await tx.select().from(idempotencyKeys).where(mine);
    if (stored?.fingerprint !== request.fingerprint)
      throw new Invalid(
        'This was sent before with other content: nothing was recorded again. Reload the page and send it anew.',
      );
    return { answer: stored.answer as T, replayed: true };
  }
  const answer = await work();
  await tx
    .update(idempotencyKeys)
    .set({ answer: answer ?? null })
    .where(mine)
    .prepare('idempotency_answer')
    .execute();
  return { answer, replayed: false };
}

export async function forgetOldKeys(db: Executor, now: number): Promise<void> {
  await db.delete(idempotencyKeys).where(lt(idempotencyKeys.madeAt, now - KEPT_FOR));
}
