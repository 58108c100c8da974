import { and, asc, desc, eq, gte, inArray, isNotNull, isNull, lte, or } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import type { LoadState } from '../load-fold.ts';
import { calendarFeeds, firingLogs, kilns, loads } from '../schema.ts';

/** A load without its plan: what the calendar and the board ask for again and again. */
const columns = {
  id: loads.id,
  number: loads.number,
  lastEvent: loads.lastEvent,
  kilnId: loads.kilnId,
  state: loads.state,
  kind: loads.kind,
  cone: loads.cone,
  atmosphere: loads.atmosphere,
  scheduleId: loads.scheduleId,
  startsAt: loads.startsAt,
  freeAt: loads.freeAt,
  proposedAt: loads.proposedAt,
  approvedAt: loads.approvedAt,
  loadedAt: loads.loadedAt,
  startedAt: loads.startedAt,
  shutOffAt: loads.shutOffAt,
  openedAt: loads.openedAt,
  unloadedAt: loads.unloadedAt,
  measuredC: loads.measuredC,
  measuredAt: loads.measuredAt,
};

export type BriefRow = Pick<typeof loads.$inferSelect, keyof typeof columns>;

const LIVE: LoadState[] = ['proposed', 'approved', 'loaded', 'firing', 'cooling'];

/** Every load that is not done with, and those that were emptied since; by number. */
export async function loadsSince(db: Executor, since: Instant): Promise<BriefRow[]> {
  return db
    .select(columns)
    .from(loads)
    .where(or(inArray(loads.state, LIVE), and(eq(loads.state, 'unloaded'), gte(loads.unloadedAt, since))))
    .orderBy(asc(loads.number));
}

/** Loads that were planned and are cancelled since. */
export async function cancelledSince(db: Executor, since: Instant): Promise<BriefRow[]> {
  return db
    .select(columns)
    .from(loads)
    .where(and(eq(loads.state, 'cancelled'), isNotNull(loads.startsAt), gte(loads.cancelledAt, since)))
    .orderBy(asc(loads.number));
}

export async function loadsByNumbers(db: Executor, numbers: readonly number[]): Promise<BriefRow[]> {
  if (numbers.length === 0) return [];
  return db
    .select(columns)
    .from(loads)
    .where(inArray(loads.number, [...numbers]));
}

/** The newest typed reading of each kiln, whatever became of its load. */
export async function newestReadings(db: Executor): Promise<{ kilnId: number; c: number; at: Instant }[]> {
  const rows = await db
    .selectDistinctOn([loads.kilnId], { kilnId: loads.kilnId, c: loads.measuredC, at: loads.measuredAt })
    .from(loads)
    .where(and(isNotNull(loads.measuredC), isNotNull(loads.measuredAt)))
    .orderBy(loads.kilnId, desc(loads.measuredAt));
  return rows.flatMap(({ kilnId, c, at }) => (c === null || at === null ? [] : [{ kilnId, c, at }]));
}

/** Every kiln's row, locked by ascending id: whoever places a load sees all places there are. */
export async function lockKilns(tx: Executor): Promise<void> {
  await tx.select({ id: kilns.id }).from(kilns).orderBy(asc(kilns.id)).for('no key update');
}

/** Whose feed this hash is, while it is not revoked and the person is active. */
export async function feedOwner(db: Executor, hash: string) {
  const [row] = await db
    .select({ id: people.id, name: people.name, email: people.email, role: people.role })
    .from(calendarFeeds)
    .innerJoin(people, and(eq(people.id, calendarFeeds.personId), eq(people.active, true)))
    .where(and(eq(calendarFeeds.hash, hash), isNull(calendarFeeds.revokedAt)));
  return row ?? null;
}

/** When a person's own link was made; null without one. */
export async function liveFeed(db: Executor, personId: number): Promise<Instant | null> {
  const [row] = await db
    .select({ madeAt: calendarFeeds.madeAt })
    .from(calendarFeeds)
    .where(and(eq(calendarFeeds.personId, personId), isNull(calendarFeeds.revokedAt)))
    .orderBy(desc(calendarFeeds.madeAt))
    .limit(1);
  return row?.madeAt ?? null;
}

export async function insertFeed(
  tx: Executor,
  row: { personId: number; hash: string; madeAt: Instant },
): Promise<void> {
  await tx.insert(calendarFeeds).values(row);
}

/** Ends every link of a person; answers whether there was one. */
export async function revokeFeeds(tx: Executor, personId: number, now: Instant): Promise<boolean> {
  const ended = await tx
    .update(calendarFeeds)
    .set({ revokedAt: now })
    .where(and(eq(calendarFeeds.personId, personId), isNull(calendarFeeds.revokedAt)))
    .returning({ id: calendarFeeds.id });
  return ended.length > 0;
}

/** Loads that were emptied in this span and of which no controller's log was brought in; by number. */
export async function emptiedWithoutLog(
  db: Executor,
  { from, to }: { from: Instant; to: Instant },
): Promise<{ id: number; number: number; kilnId: number; unloadedAt: Instant }[]> {
  const rows = await db
    .select({
      id: loads.id,
      number: loads.number,
      kilnId: loads.kilnId,
      unloadedAt: loads.unloadedAt,
    })
    .from(loads)
    .leftJoin(firingLogs, eq(firingLogs.loadId, loads.id))
    .where(
      and(
        eq(loads.state, 'unloaded'),
        gte(loads.unloadedAt, from),
        lte(loads.unloadedAt, to),
        isNull(firingLogs.id),
      ),
    )
    .orderBy(asc(loads.number));
  return rows.map((row) => ({ ...row, unloadedAt: row.unloadedAt ?? to }));
}
