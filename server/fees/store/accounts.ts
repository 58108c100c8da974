import { and, asc, eq, inArray, type SQL, sql } from 'drizzle-orm';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { groups } from '../../ware/schema.ts';
import { feeAccounts, feeEntries } from '../schema.ts';
import { concerns } from './entries.ts';
import { type PayerRow, selectPayers } from './ledger.ts';

const isPayer = eq(feeAccounts.kind, 'payer');

/** Payers' accounts that concern one person, or all of them, by number. */
export async function listPayers(
  db: Executor,
  personId: number | null,
  more: { number?: number; personId?: number } = {},
): Promise<PayerRow[]> {
  return selectPayers(db)
    .where(
      and(
        isPayer,
        personId === null ? undefined : concerns(personId),
        more.number === undefined ? undefined : eq(feeAccounts.number, more.number),
        more.personId === undefined ? undefined : eq(feeAccounts.personId, more.personId),
      ),
    )
    .orderBy(asc(feeAccounts.number));
}

/** Whose e-mail address this is, active or not. */
export async function personByEmail(db: Executor, email: string): Promise<{ id: number } | null> {
  const [row] = await db.select({ id: people.id }).from(people).where(eq(people.email, email.toLowerCase()));
  return row ?? null;
}

/** What every payer owes, above zero, or has in credit; without ids those that concern one person, or all. */
export async function balances(
  db: Executor,
  { personId, accountIds }: { personId: number | null; accountIds?: readonly number[] },
): Promise<{ accountId: number; balanceMinor: bigint }[]> {
  const rows = await db
    .select({
      accountId: feeAccounts.id,
      balanceMinor: sql<string>`coalesce(sum(${feeEntries.amountMinor}), 0)`,
    })
    .from(feeAccounts)
    // An entry's amount is its payer's side: the database checks it, and there are fewer of them.
    .leftJoin(feeEntries, eq(feeEntries.accountId, feeAccounts.id))
    .where(
      and(
        isPayer,
        personId === null ? undefined : concerns(personId),
        accountIds === undefined ? undefined : inArray(feeAccounts.id, [...accountIds]),
      ),
    )
    .groupBy(feeAccounts.id);
  return rows.map(({ accountId, balanceMinor }) => ({ accountId, balanceMinor: BigInt(balanceMinor) }));
}

export async function updateMemberClass(tx: Tx, id: number, memberClass: string | null): Promise<void> {
  await tx.update(feeAccounts).set({ memberClass }).where(eq(feeAccounts.id, id));
}

/** Active people and groups in use that have no account yet, whose name holds these words. */
export async function holdersWithout(db: Executor, words: string, limit: number) {
  const like = (name: SQL | typeof people.name | typeof groups.name) =>
    sql`position(lower(${words}) in lower(${name})) > 0`;
  const [persons, shared] = await Promise.all([
    db
      .select({ id: people.id, name: people.name })
      .from(people)
      .leftJoin(feeAccounts, eq(feeAccounts.personId, people.id))
      .where(and(eq(people.active, true), sql`${feeAccounts.id} is null`, like(people.name)))
      .orderBy(asc(people.name), asc(people.id))
      .limit(limit),
    db
      .select({ id: groups.id, name: groups.name })
      .from(groups)
      .leftJoin(feeAccounts, eq(feeAccounts.groupId, groups.id))
      .where(and(sql`${groups.retiredAt} is null`, sql`${feeAccounts.id} is null`, like(groups.name)))
      .orderBy(asc(groups.name), asc(groups.id))
      .limit(limit),
  ]);
  return { persons, groups: shared };
}

/** Whether there is such a person, or a group, in use. */
export async function isHolder(db: Executor, { kind, id }: { kind: 'person' | 'group'; id: number }) {
  const rows =
    kind === 'person'
      ? await db
          .select({ id: people.id })
          .from(people)
          .where(and(eq(people.id, id), eq(people.active, true)))
      : await db
          .select({ id: groups.id })
          .from(groups)
          .where(and(eq(groups.id, id), sql`${groups.retiredAt} is null`));
  return rows.length > 0;
}
