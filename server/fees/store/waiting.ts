import { and, asc, eq, gte, isNull, lt, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { loadPieces, loads } from '../../kilns/schema.ts';
import { pieces } from '../../ware/schema.ts';
import { feeEntries, feeRequests, tariffs } from '../schema.ts';

// What waits for somebody: for the desk, and before a month is closed.

/**
 * Numbers of loads emptied from one instant until before another, or ever since, with a piece that was never charged, though somebody
 * pays for it and the price list of the day it was fired has a line for such firings.
 */
export async function loadsNotCharged(
  db: Executor,
  { from, until, timeZone }: { from: Instant; until?: Instant; timeZone: string },
): Promise<number[]> {
  const firedOn = sql`(coalesce(${loads.startedAt}, ${loads.shutOffAt}, ${loads.unloadedAt}) at time zone ${timeZone})::date`;
  // The order is that of `listOn`.
  const isPriced = sql`exists (select 1 from (select t.value -> 'lines' as lines from ${tariffs} t
      where t.in_force_at is not null and t.valid_from <= ${firedOn}
        and (t.valid_until is null or t.valid_until >= ${firedOn})
      order by t.valid_from desc, t.in_force_at desc, t.number desc limit 1) list,
    jsonb_array_elements(list.lines) line
    where line -> 'kinds' = '[]' or line -> 'kinds' @> to_jsonb(${loads.kind}))`;
  const isMissing = sql`exists (select 1 from ${loadPieces} lp join ${pieces} p on p.id = lp.piece_id
    where lp.load_id = ${loads.id} and lp.is_in is distinct from false
      and num_nonnulls(p.payer_id, p.payer_group_id, p.owner_id, p.owner_group_id) > 0
      and not exists (select 1 from ${feeEntries} e
        where e.kind = 'firing' and e.piece_id = lp.piece_id and e.load = ${loads.number}))`;
  const rows = await db
    .select({ number: loads.number })
    .from(loads)
    .where(
      and(
        eq(loads.state, 'unloaded'),
        gte(loads.unloadedAt, from),
        until === undefined ? undefined : lt(loads.unloadedAt, until),
        isPriced,
        isMissing,
      ),
    )
    .orderBy(asc(loads.number));
  return rows.map(({ number }) => number);
}

/** Requests asked before an instant, or ever, that nobody decided yet. */
export async function requestsWaiting(db: Executor, before?: Instant): Promise<number> {
  const [row] = await db
    .select({ count: sql<number>`count(*)::int` })
    .from(feeRequests)
    .where(and(isNull(feeRequests.decision), before === undefined ? undefined : lt(feeRequests.at, before)));
  return row?.count ?? 0;
}
