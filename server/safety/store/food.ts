import { aliasedTable, and, desc, eq, getTableColumns, isNull, lt, sql } from 'drizzle-orm';
import { bucketState, buckets } from '../../buckets/schema.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import { statement } from '../../core/statement.ts';
import { recipes } from '../../materials/schema.ts';
import { clays } from '../../ware/schema.ts';
import { leachTests } from '../schema.ts';

export type LeachTestRow = typeof leachTests.$inferSelect & {
  recipe: string;
  clay: string | null;
  byName: string;
  /** Of the laboratory's report. */
  sha256: string | null;
  /** The row that struck it out. */
  voidedBy: number | null;
};

const strikes = aliasedTable(leachTests, 'strikes');

const select = (db: Executor) =>
  db
    .select({
      ...getTableColumns(leachTests),
      recipe: recipes.name,
      clay: clays.name,
      byName: people.name,
      sha256: files.sha256,
      voidedBy: strikes.number,
    })
    .from(leachTests)
    .innerJoin(recipes, eq(recipes.id, leachTests.recipeId))
    .innerJoin(people, eq(people.id, leachTests.by))
    .leftJoin(clays, eq(clays.id, leachTests.clayId))
    .leftJoin(files, eq(files.id, leachTests.fileId))
    .leftJoin(strikes, eq(strikes.voids, leachTests.number));

const isTest = isNull(leachTests.voids);

/** Tests, struck out ones too, the newest number first. */
export const listTests = (
  db: Executor,
  { limit, before }: { limit: number; before?: number | undefined },
): Promise<LeachTestRow[]> =>
  select(db)
    .where(and(isTest, before === undefined ? undefined : lt(leachTests.number, before)))
    .orderBy(desc(leachTests.number))
    .limit(limit);

/** A test, or the row that struck one out. */
export async function findRow(db: Executor, number: number): Promise<LeachTestRow | null> {
  const [row] = await select(db).where(eq(leachTests.number, number));
  return row ?? null;
}

const standingStatement = statement('leach_tests_standing', (db) =>
  select(db).where(and(isTest, isNull(strikes.number), eq(leachTests.recipeId, sql.placeholder('recipe')))),
);

const standingAtStatement = statement('leach_tests_standing_at', (db) =>
  select(db)
    .innerJoin(buckets, sql`lower(${buckets.code}) = lower(${sql.placeholder('code')})`)
    .innerJoin(bucketState, eq(bucketState.bucketId, buckets.id))
    .where(
      and(
        isTest,
        isNull(strikes.number),
        sql`${leachTests.recipeId} = (${bucketState.recipe} ->> 'id')::bigint`,
      ),
    ),
);

/** The same of what is in a bucket, by its code. */
export const standingTestsAt = (db: Executor, code: string): Promise<LeachTestRow[]> =>
  standingAtStatement(db, { code });

/** Tests of a recipe that count, in any version. */
export const standingTests = (db: Executor, recipe: number): Promise<LeachTestRow[]> =>
  standingStatement(db, { recipe });

/** Appends one; they take turns, so that their numbers have no gap. @returns its number */
export async function insertRow(
  tx: Tx,
  row: Omit<typeof leachTests.$inferInsert, 'number' | 'id'>,
): Promise<number> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended('leach_tests', 0))`);
  const [last] = await tx
    .select({ number: leachTests.number })
    .from(leachTests)
    .orderBy(desc(leachTests.number))
    .limit(1);
  const number = (last?.number ?? 0) + 1;
  await tx.insert(leachTests).values({ ...row, number });
  return number;
}
