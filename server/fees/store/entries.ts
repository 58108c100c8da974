import { and, desc, eq, gte, inArray, lt, type SQL, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { kilns } from '../../kilns/schema.ts';
import { groupPeople, groups, pieces } from '../../ware/schema.ts';
import { feeAccounts, feeEntries, feeNotes, tariffs } from '../schema.ts';

const writer = alias(people, 'writer');
const voided = alias(feeEntries, 'voided');
const voider = alias(feeEntries, 'voider');
const corrected = alias(feeEntries, 'corrected');

export interface EntryFilter {
  accountId?: number | undefined;
  /** The month they stand in, 'YYYY-MM'. */
  period?: string | undefined;
  load?: number | undefined;
  pieceId?: number | undefined;
  numbers?: readonly number[] | undefined;
  /** The ids of entries that they correct. */
  about?: readonly number[] | undefined;
  /** Only entries with a lower number. */
  before?: number | undefined;
  limit?: number | undefined;
}

/** The account is this person's, a household's they answer for or are in, or a class's they teach. */
export const concerns = (personId: number): SQL =>
  sql`(${feeAccounts.personId} = ${personId} or exists (select 1 from ${groups} g where g.id = ${feeAccounts.groupId}
    and (g.contact_id = ${personId} or (g.kind = 'household' and exists (select 1 from ${groupPeople} gp
      where gp.group_id = g.id and gp.person_id = ${personId})))))`;

/** Entries, newest first; those of accounts that concern one person, or of all. */
export async function listEntries(db: Executor, filter: EntryFilter, personId: number | null) {
  const { accountId, period, load, pieceId, numbers, about, before, limit } = filter;
  const query = db
    .select({
      entry: feeEntries,
      accountNumber: sql<number>`${feeAccounts.number}`,
      accountName: sql<string>`coalesce(${people.name}, ${groups.name})`,
      by: writer.name,
      voids: voided.number,
      voidedBy: voider.number,
      about: corrected.number,
      piece: { id: pieces.id, number: pieces.number, form: pieces.form },
      kiln: { id: kilns.id, code: kilns.code },
      tariff: tariffs.number,
      note: feeNotes.text,
    })
    .from(feeEntries)
    .innerJoin(feeAccounts, eq(feeAccounts.id, feeEntries.accountId))
    .leftJoin(people, eq(people.id, feeAccounts.personId))
    .leftJoin(groups, eq(groups.id, feeAccounts.groupId))
    .innerJoin(writer, eq(writer.id, feeEntries.by))
    .leftJoin(voided, eq(voided.id, feeEntries.voids))
    .leftJoin(voider, eq(voider.voids, feeEntries.id))
    .leftJoin(corrected, eq(corrected.id, feeEntries.about))
    .leftJoin(pieces, eq(pieces.id, feeEntries.pieceId))
    .leftJoin(kilns, eq(kilns.id, feeEntries.kilnId))
    .leftJoin(tariffs, eq(tariffs.id, feeEntries.tariffId))
    .leftJoin(feeNotes, eq(feeNotes.id, feeEntries.noteId))
    .where(
      and(
        accountId === undefined ? undefined : eq(feeEntries.accountId, accountId),
        period === undefined ? undefined : eq(feeEntries.period, period),
        load === undefined ? undefined : eq(feeEntries.load, load),
        pieceId === undefined ? undefined : eq(feeEntries.pieceId, pieceId),
        numbers === undefined ? undefined : inArray(feeEntries.number, [...numbers]),
        about === undefined ? undefined : inArray(feeEntries.about, [...about]),
        before === undefined ? undefined : lt(feeEntries.number, before),
        personId === null ? undefined : concerns(personId),
      ),
    )
    .orderBy(desc(feeEntries.number))
    .$dynamic();
  return limit === undefined ? query : query.limit(limit);
}

export type ListedEntry = Awaited<ReturnType<typeof listEntries>>[number];

/** Every entry of an account, oldest first, as far as it is allocated. */
export async function toAllocate(db: Executor, accountId: number) {
  return db
    .select({
      number: feeEntries.number,
      day: feeEntries.day,
      period: feeEntries.period,
      amountMinor: feeEntries.amountMinor,
      voids: voided.number,
      about: corrected.number,
    })
    .from(feeEntries)
    .leftJoin(voided, eq(voided.id, feeEntries.voids))
    .leftJoin(corrected, eq(corrected.id, feeEntries.about))
    .where(eq(feeEntries.accountId, accountId))
    .orderBy(feeEntries.number);
}

/** What was credited by hand to an account since an instant, by people who are no managers, and not struck out. */
export async function creditedSince(db: Executor, accountId: number, since: Instant): Promise<bigint> {
  const [row] = await db
    .select({ minor: sql<string>`coalesce(-sum(${feeEntries.amountMinor}), 0)` })
    .from(feeEntries)
    .innerJoin(writer, eq(writer.id, feeEntries.by))
    .leftJoin(voider, eq(voider.voids, feeEntries.id))
    .where(
      and(
        eq(feeEntries.accountId, accountId),
        inArray(feeEntries.kind, ['credit', 'work-credit']),
        gte(feeEntries.recordedAt, since),
        sql`${writer.role} <> 'manager' and ${voider.id} is null`,
      ),
    );
  return BigInt(row?.minor ?? 0);
}

/** What of a charge was neither struck out nor given back since: nothing for one that was struck out. */
export async function leftOf(db: Executor, entryId: number): Promise<bigint> {
  const [row] = await db.execute<{ minor: string }>(sql`
    select sum(e.amount_minor)::text as minor from ${feeEntries} e
    where (e.id = ${entryId} or e.about = ${entryId})
      and not exists (select 1 from ${feeEntries} v where v.voids in (e.id, ${entryId}))`);
  return BigInt(row?.minor ?? 0);
}
