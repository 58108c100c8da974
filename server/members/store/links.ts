import { and, eq, gt, isNull, or, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { links } from '../schema.ts';

export type Link = typeof links.$inferSelect;

export async function insertLink(tx: Tx, values: typeof links.$inferInsert): Promise<void> {
  await tx.insert(links).values(values);
}

/** A link with the address it was made for, and the name of the person it is about, if they are here yet. */
export type LinkHolder = Pick<Link, 'id' | 'personId' | 'usedAt' | 'expiresAt'> & {
  email: string;
  name: string | null;
};

export async function findLink(db: Executor, kind: Link['kind'], hash: string): Promise<LinkHolder | null> {
  const { id, personId, usedAt, expiresAt } = links;
  const email = sql<string>`coalesce(${links.email}, ${people.email})`;
  const [row] = await db
    .select({ id, personId, usedAt, expiresAt, email, name: people.name })
    .from(links)
    .leftJoin(people, eq(people.id, links.personId))
    .where(and(eq(links.kind, kind), eq(links.hash, hash)));
  return row ?? null;
}

export async function lockLink(tx: Tx, id: number): Promise<Link> {
  const [row] = await tx.select().from(links).where(eq(links.id, id)).for('update');
  return row as Link;
}

export async function useLink(tx: Tx, id: number, now: Instant): Promise<void> {
  await tx.update(links).set({ usedAt: now }).where(eq(links.id, id));
}

const open = (now: Instant) => and(isNull(links.usedAt), gt(links.expiresAt, now));

/** Addresses with an invitation that still works, and until when. */
export async function openInvitations(
  db: Executor,
  now: Instant,
): Promise<{ email: string | null; expiresAt: Instant }[]> {
  const { email, expiresAt } = links;
  return db
    .select({ email, expiresAt })
    .from(links)
    .where(and(eq(links.kind, 'invitation'), open(now)));
}

/** Ends the invitations to an address that are still open. */
export async function endInvitations(tx: Tx, email: string, now: Instant): Promise<void> {
  await tx
    .update(links)
    .set({ expiresAt: now })
    .where(and(eq(links.email, email), open(now)));
}

/** Ends the links that open a person's account, and with `made` those that this person handed out. */
export async function endLinksOf(
  tx: Tx,
  personId: number,
  now: Instant,
  o: { made: boolean },
): Promise<void> {
  const whose = or(eq(links.personId, personId), o.made ? eq(links.madeBy, personId) : undefined);
  await tx
    .update(links)
    .set({ expiresAt: now })
    .where(and(whose, open(now)));
}
