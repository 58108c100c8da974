import { and, asc, desc, eq, gte, inArray, isNotNull, isNull, lt, or, sql } from 'drizzle-orm';
import { buckets } from '../../buckets/schema.ts';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { changes, hookCalls, hooks, people } from '../../core/schema.ts';
import { kilns, loads } from '../../kilns/schema.ts';
import { duties, notices } from '../../safety/schema.ts';
import { pieces } from '../../ware/schema.ts';
import type { Call, CallKind, What } from '../hook-call.ts';

export type Hook = typeof hooks.$inferSelect;

const oldestOpen = sql<string>`pg_snapshot_xmin(pg_current_snapshot())`;

/** It is told of what changes from now on. */
export async function insertHook(
  tx: Tx,
  values: Pick<Hook, 'name' | 'url' | 'secret' | 'whats' | 'madeBy' | 'madeAt'>,
): Promise<number> {
  const [row] = await tx
    .insert(hooks)
    .values({ ...values, seenTo: oldestOpen, seenAt: values.madeAt })
    .returning({ id: hooks.id });
  return (row as { id: number }).id;
}

/** Until the end of the transaction nobody else makes a hook, so that no two get one name. */
export async function lockNames(tx: Tx): Promise<void> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended('hooks', 0))`);
}

/** Without their secrets: no page and no list needs one. */
export async function listHooks(db: Executor) {
  return db
    .select({
      id: hooks.id,
      name: hooks.name,
      url: hooks.url,
      whats: hooks.whats,
      madeAt: hooks.madeAt,
      by: people.name,
      pausedAt: hooks.pausedAt,
      pausedWhy: hooks.pausedWhy,
    })
    .from(hooks)
    .innerJoin(people, eq(people.id, hooks.madeBy))
    .where(isNull(hooks.endedAt))
    .orderBy(asc(hooks.id));
}

export async function lastCalls(db: Executor, hookId: number, limit: number) {
  return db
    .select({
      what: hookCalls.what,
      subject: hookCalls.subject,
      changedAt: hookCalls.changedAt,
      dueAt: hookCalls.dueAt,
      tries: hookCalls.tries,
      status: hookCalls.status,
      lastError: hookCalls.lastError,
      doneAt: hookCalls.doneAt,
      givenUpAt: hookCalls.givenUpAt,
    })
    .from(hookCalls)
    .where(eq(hookCalls.hookId, hookId))
    .orderBy(desc(hookCalls.id))
    .limit(limit);
}

/** One that has not ended, by its name or id, held until the end of the transaction. */
export async function lockHook(tx: Tx, by: { name: string } | { id: number }): Promise<Hook | null> {
  const [row] = await tx
    .select()
    .from(hooks)
    .where(and('id' in by ? eq(hooks.id, by.id) : eq(hooks.name, by.name), isNull(hooks.endedAt)))
    .orderBy(asc(hooks.id))
    .limit(1)
    .for('update');
  return row ?? null;
}

export async function updateHook(
  tx: Tx,
  id: number,
  values: Partial<Pick<Hook, 'failures' | 'pausedAt' | 'pausedWhy' | 'endedAt'>>,
): Promise<void> {
  await tx.update(hooks).set(values).where(eq(hooks.id, id));
}

/** Ids of those that are to be told of changes now. */
export async function listening(db: Executor): Promise<number[]> {
  const rows = await db
    .select({ id: hooks.id })
    .from(hooks)
    .where(and(isNull(hooks.endedAt), isNull(hooks.pausedAt)))
    .orderBy(asc(hooks.id));
  return rows.map(({ id }) => id);
}

/** One of them, held; null where it is none any more or somebody else has it just now. */
export async function takeListening(tx: Tx, id: number): Promise<Hook | null> {
  const [row] = await tx
    .select()
    .from(hooks)
    .where(and(eq(hooks.id, id), isNull(hooks.endedAt), isNull(hooks.pausedAt)))
    .for('update', { skipLocked: true });
  return row ?? null;
}

export interface Change {
  what: What;
  subjectId: number;
  at: Instant;
}

/**
 * What changed in transactions from `hook.seenTo` on that are over, each subject once, and up to where that is. What is
 * still open, and whatever began after it, is for the next time: nothing is told twice or missed.
 */
export async function changesSince(
  tx: Tx,
  hook: Pick<Hook, 'seenTo' | 'whats'>,
): Promise<{ upTo: string; found: Change[] }> {
  const rows = await tx.execute<{ up_to: string; what: What | null; subject_id: string; at: string }>(sql`
    with seen as (select ${oldestOpen} as up_to)
    select seen.up_to::text, c.what, c.subject_id, c.at
    from seen left join (
      select what, subject_id, max(at) as at
      from ${changes}, seen
      where xid >= ${hook.seenTo}::xid8 and xid < seen.up_to and what in ${hook.whats}
      group by what, subject_id
    ) c on true
    order by c.at, c.what, c.subject_id`);
  return {
    upTo: rows[0]?.up_to ?? hook.seenTo,
    found: rows.flatMap(({ what, subject_id, at }) =>
      what === null ? [] : [{ what, subjectId: Number(subject_id), at: Date.parse(at) }],
    ),
  };
}

export async function markSeen(tx: Tx, id: number, seenTo: string, seenAt: Instant): Promise<void> {
  await tx.update(hooks).set({ seenTo, seenAt }).where(eq(hooks.id, id));
}

const BY = {
  bucket: (db: Executor, ids: number[]) =>
    db.select({ id: buckets.id, subject: buckets.code }).from(buckets).where(inArray(buckets.id, ids)),
  kiln: (db: Executor, ids: number[]) =>
    db.select({ id: kilns.id, subject: kilns.code }).from(kilns).where(inArray(kilns.id, ids)),
  load: (db: Executor, ids: number[]) =>
    db.select({ id: loads.id, subject: loads.number }).from(loads).where(inArray(loads.id, ids)),
  piece: (db: Executor, ids: number[]) =>
    db.select({ id: pieces.id, subject: pieces.number }).from(pieces).where(inArray(pieces.id, ids)),
  notice: (db: Executor, ids: number[]) =>
    db.select({ id: notices.id, subject: notices.number }).from(notices).where(inArray(notices.id, ids)),
  duty: (db: Executor, ids: number[]) =>
    db.select({ id: duties.id, subject: duties.number }).from(duties).where(inArray(duties.id, ids)),
  // Its number is its key.
  entry: async (_db: Executor, ids: number[]) => ids.map((id) => ({ id, subject: id })),
} satisfies Record<What, unknown>;

/** What things are called outside, by their ids. */
export async function subjectsOf(db: Executor, what: What, ids: number[]): Promise<Map<number, string>> {
  if (ids.length === 0) return new Map();
  const rows: { id: number; subject: string | number }[] = await BY[what](db, ids);
  return new Map(rows.map(({ id, subject }) => [id, String(subject)]));
}

export interface NewCall {
  what: CallKind;
  subject: string;
  changedAt: Instant;
}

/**
 * Puts calls down. What waits for its first try already is told with it: one that was tried may be under way, and may
 * have been answered by a look from before.
 */
export async function addCalls(tx: Tx, hookId: number, calls: NewCall[], now: Instant): Promise<void> {
  for (const { what, subject, changedAt } of calls) {
    const folded = await tx
      .update(hookCalls)
      .set({ changedAt })
      .where(
        and(
          eq(hookCalls.hookId, hookId),
          eq(hookCalls.what, what),
          eq(hookCalls.subject, subject),
          eq(hookCalls.tries, 0),
          isNull(hookCalls.doneAt),
          isNull(hookCalls.givenUpAt),
        ),
      )
      .returning({ id: hookCalls.id });
    if (folded.length === 0)
      await tx.insert(hookCalls).values({ hookId, what, subject, changedAt, dueAt: now });
  }
}

export interface DueCall extends Call {
  hookId: number;
  /** With this one. */
  tries: number;
  url: string;
  secret: string;
}

/**
 * Takes calls that are due, the longest due first: until `heldUntil` nobody else does, and then they are due again, for
 * whoever took them must have died.
 */
export async function takeDue(
  db: Executor,
  { now, heldUntil, limit }: { now: Instant; heldUntil: Instant; limit: number },
): Promise<DueCall[]> {
  const rows = await db.execute<{
    id: string;
    hook_id: string;
    what: CallKind;
    subject: string;
    changed_at: string;
    tries: number;
    url: string;
    secret: string;
  }>(sql`
    with due as (
      select c.id, h.url, h.secret
      from hook_calls c join hooks h on h.id = c.hook_id
      where c.done_at is null and c.given_up_at is null and c.due_at <= ${new Date(now).toISOString()}::timestamptz
        and h.ended_at is null and (h.paused_at is null or c.what = 'test')
      order by c.due_at, c.id
      limit ${limit}
      for update of c skip locked
    )
    update hook_calls c set tries = c.tries + 1, due_at = ${new Date(heldUntil).toISOString()}::timestamptz
    from due where due.id = c.id
    returning c.id, c.hook_id, c.what, c.subject, c.changed_at, c.tries, due.url, due.secret`);
  return rows.map((row) => ({
    callId: Number(row.id),
    hookId: Number(row.hook_id),
    what: row.what,
    subject: row.subject,
    changedAt: Date.parse(row.changed_at),
    tries: row.tries,
    url: row.url,
    secret: row.secret,
  }));
}

export async function updateCall(
  tx: Tx,
  callId: number,
  values: Partial<
    Pick<typeof hookCalls.$inferSelect, 'status' | 'lastError' | 'dueAt' | 'doneAt' | 'givenUpAt'>
  >,
): Promise<void> {
  await tx.update(hookCalls).set(values).where(eq(hookCalls.id, callId));
}

/** What is over, or was for a hook that has ended, and was about changes before then. */
export async function forgetCallsBefore(db: Executor, before: Instant): Promise<void> {
  await db
    .delete(hookCalls)
    .where(
      and(
        lt(hookCalls.changedAt, before),
        or(
          isNotNull(hookCalls.doneAt),
          isNotNull(hookCalls.givenUpAt),
          inArray(hookCalls.hookId, db.select({ id: hooks.id }).from(hooks).where(isNotNull(hooks.endedAt))),
        ),
      ),
    );
}

/** Tests sent to a hook since. */
export async function testsSince(db: Executor, hookId: number, since: Instant): Promise<number> {
  const rows = await db
    .select({ id: hookCalls.id })
    .from(hookCalls)
    .where(and(eq(hookCalls.hookId, hookId), eq(hookCalls.what, 'test'), gte(hookCalls.changedAt, since)));
  return rows.length;
}
