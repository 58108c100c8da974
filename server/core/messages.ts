import { and, desc, eq, inArray, isNull, lte, sql } from 'drizzle-orm';
import type { Act, Read } from './actor.ts';
import type { Instant } from './clock.ts';
import { wake } from './jobs.ts';
import { mails, messages, people, studio, toldChoices } from './schema.ts';
import { afterQuiet, choiceOf, linkLine, oneLine, subjectOf, wayOf } from './told.ts';

/** Something a person is told. */
export interface Told {
  personIds: number[];
  kind: string;
  /** A whole sentence. */
  words: string;
  href: string;
  /** What a mail says instead, where it may be longer. */
  letter?: { subject: string; body: string };
}

/** What telling needs of an act; nobody: something told by the service itself. */
export type Teller = Pick<Act, 'tx' | 'now'> & { actor: Pick<Act['actor'], 'id'> | null };

/** Transactions that have the mail looked at once they are committed, however many people they tell. */
const woken = new WeakSet<object>();

/**
 * Tells each person in the way they chose for such things, in the transaction of the act it tells of: in their inbox, or
 * there and by mail; never whoever does the act, nor who is no longer here.
 */
export async function tell(teller: Teller, { personIds, kind, words, href, letter }: Told): Promise<void> {
  const others = [...new Set(personIds)].filter((id) => id !== teller.actor?.id);
  if (others.length === 0) return;
  const choice = choiceOf(kind);
  const { tx, now } = teller;
  const readers = await tx
    .select({
      id: people.id,
      way: toldChoices.way,
      quiet: { from: people.quietFrom, until: people.quietUntil },
      timeZone: studio.timeZone,
    })
    .from(people)
    .leftJoin(studio, sql`true`)
    .leftJoin(toldChoices, and(eq(toldChoices.personId, people.id), eq(toldChoices.kind, choice)))
    .where(and(inArray(people.id, others), eq(people.active, true)))
    .orderBy(people.id);
  const told = readers.filter(({ way }) => wayOf(choice, way) !== 'none');
  if (told.length === 0) return;
  await tx
    .insert(messages)
    .values(told.map(({ id: personId }) => ({ personId, at: now, kind, words, href })));
  const written = told.filter(({ way }) => wayOf(choice, way) === 'mail');
  if (written.length === 0) return;
  await tx.insert(mails).values(
    written.map(({ id: personId, quiet, timeZone }) => ({
      personId,
      kind,
      subject: letter?.subject ?? subjectOf(choice, words),
      body: letter?.body ?? `${oneLine(words)}\n\n${linkLine(href)}`,
      madeAt: now,
      dueAt: afterQuiet(now, quiet, timeZone ?? 'UTC'),
    })),
  );
  if (woken.has(tx)) return;
  woken.add(tx);
  await wake(tx, 'mail');
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
