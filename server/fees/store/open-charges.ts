import { sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { feeEntries } from '../schema.ts';

/** What of a month's charges an account still owes. */
export interface OpenOfMonth {
  period: string;
  openMinor: bigint;
}

/**
 * What `allocate` says is open, by account and month, of many accounts in one question: a credit of an entry goes to
 * that entry first, its rest and every payment to the oldest charges.
 */
export async function openByMonth(
  db: Executor,
  accountIds: readonly number[],
): Promise<Map<number, OpenOfMonth[]>> {
  const open = new Map<number, OpenOfMonth[]>(accountIds.map((id) => [id, []]));
  if (accountIds.length === 0) return open;
  const ids = sql.join(
    accountIds.map((id) => sql`${id}`),
    sql`, `,
  );
  const rows = await db.execute<{ account_id: string; period: string; open: string }>(sql`
    with valid as (
      select e.id, e.account_id, e.number, e.day, e.period, e.amount_minor, e.about
      from ${feeEntries} e left join ${feeEntries} v on v.voids = e.id
      where e.account_id in (${ids}) and e.voids is null and v.id is null
    ), charges as (
      select c.*, c.amount_minor - coalesce(own.minor, 0) as left_minor
      from valid c left join (
        select account_id, about, -sum(amount_minor) as minor from valid
        where amount_minor < 0 and about is not null group by account_id, about
      ) own on own.about = c.id and own.account_id = c.account_id
      where c.amount_minor > 0
    ), pool as (
      select account_id, sum(minor) as minor from (
        select p.account_id, -p.amount_minor as minor from valid p
          left join charges c on c.id = p.about and c.account_id = p.account_id
          where p.amount_minor < 0 and c.id is null
        union all
        select account_id, -left_minor from charges where left_minor < 0
      ) given group by account_id
    ), owed as (
      select c.account_id, c.period, greatest(c.left_minor, 0) as minor,
        sum(greatest(c.left_minor, 0)) over (partition by c.account_id order by c.day, c.number)
          - coalesce(p.minor, 0) as beyond
      from charges c left join pool p on p.account_id = c.account_id
    )
    select account_id, period, sum(least(minor, beyond))::text as open
    from owed where beyond > 0 and minor > 0 group by account_id, period order by account_id, period`);
  for (const row of rows)
    open.get(Number(row.account_id))?.push({ period: row.period, openMinor: BigInt(row.open) });
  return open;
}
