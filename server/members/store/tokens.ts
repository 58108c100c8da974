import { and, desc, eq, gt, isNull, or } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { tokens } from '../../core/schema.ts';

export async function insertToken(
  tx: Tx,
  values: Omit<typeof tokens.$inferInsert, 'revokedAt'>,
): Promise<void> {
  await tx.insert(tokens).values(values);
}

export interface LiveToken {
  name: string;
  scopes: string[] | null;
  createdAt: Instant;
  expiresAt: Instant | null;
}

const live = (personId: number, now: Instant) =>
  and(
    eq(tokens.personId, personId),
    isNull(tokens.revokedAt),
    or(isNull(tokens.expiresAt), gt(tokens.expiresAt, now)),
  );

export async function liveTokens(db: Executor, personId: number, now: Instant): Promise<LiveToken[]> {
  const { name, scopes, createdAt, expiresAt } = tokens;
  return db
    .select({ name, scopes, createdAt, expiresAt })
    .from(tokens)
    .where(live(personId, now))
    .orderBy(desc(tokens.createdAt));
}

export async function revokeToken(tx: Tx, personId: number, name: string, now: Instant): Promise<boolean> {
  const revoked = await tx
    .update(tokens)
    .set({ revokedAt: now })
    .where(and(live(personId, now), eq(tokens.name, name)))
    .returning({ id: tokens.id });
  return revoked.length > 0;
}
