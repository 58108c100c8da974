import { and, desc, eq, isNull, lte } from 'drizzle-orm';
import type { Act, Read } from './actor.ts';
import type { Instant } from './clock.ts';
import { messages } from './schema.ts';

/** Something a person is told. */
export interface Told {
  personIds: number[];
  kind: string;
  /** A whole sentence. */
  words: string;
  href: string;
}

/** Puts a message into each person's inbox, in the transaction of the act it tells of; never to who does the act. */
export async function tell({ tx, actor, now }: Act, { personIds, kind, words, href }: Told): Promise<void> {
  const others = [...new Set(personIds)].filter((id) => id !== actor.id);
  if (others.length === 0) return;
  await tx.insert(messages).values(others.map((personId) => ({ personId, at: now, kind, words, href })));
}

/** The newest messages of whoever asks. */
export async function ownMessages({ tx, actor }: Read, limit = 50) {
  return tx
    .select({
      id: messages.id,
      at: messages.at,
      words: messages.words,
      href: messages.href,
      readAt: messages.readAt,
    })
    .from(messages)
    .where(eq(messages.personId, actor.id))
    .orderBy(desc(messages.at), desc(messages.id))
    .limit(limit);
}

/** All that came up to an instant counts as read; without one, all there is. */
export async function readAllMessages({ tx, actor, now }: Act, upTo: Instant = now): Promise<void> {
  await tx
    .update(messages)
    .set({ readAt: now })
    .where(and(eq(messages.personId, actor.id), isNull(messages.readAt), lte(messages.at, upTo)));
}
