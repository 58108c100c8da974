import { type SQL, sql } from 'drizzle-orm';
import type { Executor } from '../../core/database.ts';
import { feeAccounts, feeBooks, feeEntries, feeLitres, feePostings } from '../schema.ts';

/** What does not agree within the books: numbers of entries, and of accounts for litres. */
export async function examine(db: Executor) {
  const numbers = async (query: SQL): Promise<number[]> =>
    (await db.execute<{ number: number }>(query)).map(({ number }) => Number(number));
  const [sums] = await db.execute<{ counted: number; last: number; books: number; whole: string }>(sql`
    select (select count(*)::int from ${feeEntries}) as counted,
      (select coalesce(max(number), 0) from ${feeEntries}) as last,
      coalesce((select last_entry from ${feeBooks}), 0) as books,
      (select coalesce(sum(amount_minor), 0)::text from ${feePostings}) as whole`);
  return {
    // Numbers are unique, so they have no gap where as many were given as the last one says.
    counted: sums?.counted === sums?.last ? (sums?.counted ?? 0) : -1,
    books: sums?.books ?? 0,
    whole: sums?.whole ?? '0',
    unbalanced: await numbers(sql`
      select e.number from ${feeEntries} e left join ${feePostings} p on p.entry_id = e.id
      group by e.id, e.number, e.account_id, e.amount_minor
      having coalesce(sum(p.amount_minor), 0) <> 0
        or coalesce(sum(p.amount_minor) filter (where p.account_id = e.account_id), 0) <> e.amount_minor
      order by e.number limit 100`),
    misplaced: await numbers(sql`
      select distinct e.number from ${feeEntries} e join ${feePostings} p on p.entry_id = e.id
      where p.period <> e.period order by 1 limit 100`),
    voids: await numbers(sql`
      select v.number from ${feeEntries} v join ${feeEntries} e on e.id = v.voids
      where v.kind <> 'void' or e.kind = 'void' or v.account_id <> e.account_id or v.number < e.number
        or v.net_minor <> -e.net_minor or v.tax_minor <> -e.tax_minor
      union select number from ${feeEntries} where kind = 'void' and voids is null
      order by 1 limit 100`),
    litres: await numbers(sql`
      select distinct a.number from ${feeLitres} g
      join ${feeAccounts} a on a.id = g.account_id
      where g.grant_id is null and g.source <> 'month'
        and g.cm3 + coalesce((select sum(u.cm3) from ${feeLitres} u where u.grant_id = g.id), 0) < 0
      order by 1 limit 100`),
  };
}
