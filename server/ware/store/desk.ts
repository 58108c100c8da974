import { and, asc, eq, inArray, isNotNull, isNull, lt, not, or, type SQL, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { pieces } from '../schema.ts';
import { WAITING } from '../stage.ts';
import { isBisqued } from './pieces.ts';

const waits = inArray(pieces.stage, [...WAITING]);
const isAsked = isNotNull(pieces.waitingSince);
const isDamp = and(isNull(pieces.dryAt), not(isBisqued));

/** Where pieces lie that a technician looks after: what makes one of a list. */
export const LISTS = {
  waits,
  /** Neither fired nor felt to be dry, and handed in. What is glazed raw is felt as it is handed in for its one firing. */
  toFeel: and(or(waits, and(eq(pieces.stage, 'drying'), isAsked)), isDamp),
  drying: and(eq(pieces.stage, 'drying'), not(isAsked), isDamp),
  flagged: and(
    isNotNull(pieces.flag),
    or(waits, inArray(pieces.stage, ['drying', 'returned', 'fired', 'no-name'])),
  ),
  returned: eq(pieces.stage, 'returned'),
  refire: eq(pieces.stage, 'refire'),
  fired: eq(pieces.stage, 'fired'),
  noName: eq(pieces.stage, 'no-name'),
} satisfies Record<string, SQL | undefined>;

/** Fired before this, and still here. */
export const firedBefore = (before: Instant): SQL | undefined =>
  and(LISTS.fired, lt(pieces.stageSince, before));

export const sinceWait = sql<Instant>`coalesce(${pieces.waitingSince}, ${pieces.stageSince})`;
export const sinceStage = sql<Instant>`${pieces.stageSince}`;

/** How many there are, and the numbers of those that have been there longest. */
export interface Counted {
  count: number;
  numbers: number[];
}

/** @param after only those that come after this piece; the count is of all of them */
export async function longest(
  db: Executor,
  where: SQL | undefined,
  since: SQL<Instant>,
  { limit, after }: { limit: number; after?: number | undefined },
): Promise<Counted> {
  const counted = db.select({ count: sql<number>`count(*)::int` }).from(pieces).where(where);
  const isLater =
    after === undefined
      ? undefined
      : sql`(${since}, ${pieces.number}) > (select ${since}, ${pieces.number} from ${pieces} where ${pieces.number} = ${after})`;
  const first = db
    .select({ number: pieces.number })
    .from(pieces)
    .where(and(where, isLater))
    .orderBy(asc(since), asc(pieces.number))
    .limit(limit);
  const [[row], rows] = await Promise.all([counted, limit === 0 ? [] : first]);
  return { count: row?.count ?? 0, numbers: rows.map(({ number }) => number) };
}

/** The e-mail address of somebody who is still here. */
export async function addressOf(db: Executor, personId: number): Promise<string | null> {
  const [row] = await db
    .select({ email: people.email })
    .from(people)
    .where(and(eq(people.id, personId), eq(people.active, true)));
  return row?.email ?? null;
}
