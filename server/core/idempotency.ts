import { createHash } from 'node:crypto';
import { and, eq, lt } from 'drizzle-orm';
import type { Act, Read } from './actor.ts';
import { DAY } from './clock.ts';
import type { Executor } from './database.ts';
import { Invalid } from './errors.ts';
import { idempotencyKeys } from './schema.ts';
import { given, statement } from './statement.ts';

const KEPT_FOR = 30 * DAY;

export interface Once {
  /** What the client sent to tell a retry from a second act; null: every request is a new act. */
  key: string | null;
  method: string;
  path: string;
  body: unknown;
}

/** Tells two requests apart that carry the same key. */
const fingerprintOf = ({ method, path, body }: Once): string =>
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
  const fingerprint = fingerprintOf(request);
  const mine = { personId: actor.id, key: request.key };
  const inserted = await keep(tx, { ...mine, fingerprint, answer: null, madeAt: now });
  if (inserted.length === 0) {
    const [stored] = await tx
      .select()
      .from(idempotencyKeys)
      .where(and(eq(idempotencyKeys.personId, mine.personId), eq(idempotencyKeys.key, mine.key)));
    if (stored?.fingerprint !== fingerprint)
      throw new Invalid(
        'This was sent before with other content: nothing was recorded again. Reload the page and send it anew.',
      );
    return { answer: stored.answer as T, replayed: true };
  }
  const answer = await work();
  tx.withCommit(keepAnswer(tx, { ...mine, answer: answer ?? null }));
  return { answer, replayed: false };
}

/** Whether this was answered before: a retry then need not prepare what it will not do. */
export async function isAnswered({ tx, actor }: Read, { key }: Pick<Once, 'key'>): Promise<boolean> {
  if (key === null) return false;
  const found = await tx
    .select({ key: idempotencyKeys.key })
    .from(idempotencyKeys)
    .where(and(eq(idempotencyKeys.personId, actor.id), eq(idempotencyKeys.key, key)));
  return found.length > 0;
}

const all = given(idempotencyKeys);
const keep = statement('idempotency_insert', (db) =>
  db.insert(idempotencyKeys).values(all).onConflictDoNothing().returning({ key: idempotencyKeys.key }),
);
const keepAnswer = statement('idempotency_answer', (db) =>
  db
    .update(idempotencyKeys)
    .set({ answer: all.answer })
    .where(and(eq(idempotencyKeys.personId, all.personId), eq(idempotencyKeys.key, all.key))),
);

export async function forgetOldKeys(db: Executor, now: number): Promise<void> {
  await db.delete(idempotencyKeys).where(lt(idempotencyKeys.madeAt, now - KEPT_FOR));
}
