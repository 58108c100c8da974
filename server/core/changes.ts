import { sql } from 'drizzle-orm';
import { DAY, type Instant } from './clock.ts';
import type { Executor } from './database.ts';
import { changes } from './schema.ts';

type What = (typeof changes.$inferSelect)['what'];

/** Something that changed: a kind, and the inside id of the one of it. */
export interface Change {
  what: What;
  subjectId: number;
}

/**
 * How far somebody was told, as `era-transaction`: every change of an earlier transaction. An era is one run of one
 * database's server, since transactions are numbered anew in another database, and may be after a fail-over.
 */
export type Mark = string;

/** So long are changes kept. */
const KEPT = 3 * DAY;
/** More than this at once, and it is said that everything changed. */
const MOST = 5_000;

const MARK = /^(\d{1,10}\.\d{1,16})-(\d{1,18})$/;

interface Seen {
  /** Where to go on from. */
  mark: Mark;
  /** Null: anything may have changed, since what was kept does not reach back to where it was asked from. */
  changes:
    | (Change & {
        id: number;
        /** Will be seen once more from `mark`: another transaction was open that began before it ended. */
        comesAgain: boolean;
      })[]
    | null;
}

/**
 * What was committed since a mark, as one snapshot shows it, and the mark to go on from. A mark that is no mark, or of
 * another era, or older than what is kept, or that was never given out, answers that anything may have changed.
 * @param from null: only the mark is wanted
 */
export async function changesSince(db: Executor, from: Mark | null): Promise<Seen> {
  const [, era = '', xid = '0'] = MARK.exec(from ?? '') ?? [];
  const [row] = await db.execute<{
    era: string;
    next: string;
    is_kept: boolean;
    found: [id: number, what: What, subjectId: number, comesAgain: boolean][];
  }>(sql`
    with here as (
      select pg_snapshot_xmin(pg_current_snapshot()) as next, pg_snapshot_xmax(pg_current_snapshot()) as beyond,
        (select oid from pg_database where datname = current_database())::text || '.'
          || floor(extract(epoch from pg_postmaster_start_time()) * 1000)::bigint as era
    ), found as (
      select id, what, subject_id, xid >= (select next from here) as comes_again
      from changes
      -- A restored database may hold rows of transactions that are yet to come in this one.
      where xid >= ${xid}::xid8 and xid < (select beyond from here) and ${from !== null && era !== ''}
      order by id limit ${MOST + 1}
    )
    select era, next,
      ${xid}::xid8 <= next and (
        ${xid}::xid8 >= coalesce((select min(xid) from changes), '0'::xid8)
        or exists (select 1 from changes where id = 1)
      ) as is_kept,
      coalesce((select json_agg(json_build_array(id, what, subject_id, comes_again)) from found), '[]') as found
    from here`);
  if (!row) throw new Error('The database did not say how far it is.');
  const isProven = from === null || (row.era === era && row.is_kept && row.found.length <= MOST);
  return {
    mark: `${row.era}-${row.next}`,
    changes: isProven
      ? row.found.map(([id, what, subjectId, comesAgain]) => ({ id, what, subjectId, comesAgain }))
      : null,
  };
}

/**
 * Removes changes older than three days. By transaction, so that what stays reaches back to its oldest without a gap;
 * the newest always stays.
 */
export async function forgetOldChanges(db: Executor, now: Instant): Promise<void> {
  const kept = new Date(now - KEPT).toISOString();
  await db.execute(sql`
    delete from ${changes} where ${changes.at} < ${kept} and (
      ${changes.xid} < coalesce(
        (select min(c.xid) from changes c where c.at >= ${kept}), (select max(c.xid) from changes c))
      or ${changes.xid} >= pg_snapshot_xmax(pg_current_snapshot()))`);
}
