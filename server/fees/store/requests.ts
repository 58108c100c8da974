import { and, asc, desc, eq, isNotNull, isNull, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { groups, pieces } from '../../ware/schema.ts';
import { feeAccounts, feeEntries, feeNotes, feeRequests } from '../schema.ts';

const asker = alias(people, 'asker');
const decider = alias(people, 'decider');
const word = alias(feeNotes, 'word');

const selectRequests = (db: Executor) =>
  db
    .select({
      request: feeRequests,
      account: {
        id: feeAccounts.id,
        number: sql<number>`${feeAccounts.number}`,
        name: sql<string>`coalesce(${people.name}, ${groups.name})`,
      },
      why: feeNotes.text,
      by: { id: asker.id, name: asker.name },
      decidedBy: decider.name,
      word: word.text,
      entry: feeEntries.number,
      piece: pieces.number,
    })
    .from(feeRequests)
    .innerJoin(feeAccounts, eq(feeAccounts.id, feeRequests.accountId))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .innerJoin(feeNotes, eq(feeNotes.id, feeRequests.noteId))
    .innerJoin(asker, eq(asker.id, feeRequests.by))
    .leftJoin(decider, eq(decider.id, feeRequests.decidedBy))
    .leftJoin(word, sql`${word.id} = (${feeRequests.payload} ->> 'wordId')::bigint`)
    .leftJoin(feeEntries, eq(feeEntries.id, feeRequests.entryId))
    .leftJoin(pieces, eq(pieces.id, feeRequests.pieceId))
    .$dynamic();

export type RequestRow = Awaited<ReturnType<typeof selectRequests>>[number];

/** What waits, oldest first, or what was decided, newest first. */
export async function listRequests(
  db: Executor,
  { decided, limit, accountId }: { decided: boolean; limit: number; accountId?: number | undefined },
): Promise<RequestRow[]> {
  return selectRequests(db)
    .where(
      and(
        decided ? isNotNull(feeRequests.decision) : isNull(feeRequests.decision),
        accountId === undefined ? undefined : eq(feeRequests.accountId, accountId),
      ),
    )
    .orderBy(decided ? desc(feeRequests.decidedAt) : asc(feeRequests.id), desc(feeRequests.id))
    .limit(limit);
}

export async function requestByNumber(db: Executor, number: number): Promise<RequestRow | null> {
  const [row] = await selectRequests(db).where(eq(feeRequests.number, number));
  return row ?? null;
}

/** Locks a request until the transaction ends, if there is one. */
export async function lockRequest(tx: Tx, number: number): Promise<void> {
  await tx
    .select({ id: feeRequests.id })
    .from(feeRequests)
    .where(eq(feeRequests.number, number))
    .for('update');
}

export async function insertRequest(tx: Tx, row: typeof feeRequests.$inferInsert): Promise<void> {
  await tx.insert(feeRequests).values(row);
}

export async function updateRequest(
  tx: Tx,
  id: number,
  values: Partial<typeof feeRequests.$inferInsert>,
): Promise<void> {
  await tx.update(feeRequests).set(values).where(eq(feeRequests.id, id));
}
