import { and, count, eq, gt, like, lte, max, not, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { people } from '../../core/schema.ts';
import { signInFailures, signInSteps } from '../schema.ts';

export interface Attempt {
  email: string;
  address: string;
}

/** Lets the tries of one kind, such as those from one address, be counted one after another until the transaction ends. */
export async function lockTries(tx: Tx, which: string): Promise<void> {
  await tx.execute(sql`select pg_advisory_xact_lock(hashtextextended(${which}, 0))`);
}

export interface Failures {
  failures: number;
  latest: Instant | null;
}

/** Failures since then: for one account or where `email` is null for all, from one address or from all. */
export async function countFailures(
  tx: Tx,
  { email, address }: { email: string | null; address: string | null },
  since: Instant,
): Promise<Failures> {
  const [row] = await tx
    .select({ failures: count(), latest: max(signInFailures.at) })
    .from(signInFailures)
    .where(
      and(
        address === null ? undefined : eq(signInFailures.address, address),
        email === null ? undefined : eq(signInFailures.email, email),
        gt(signInFailures.at, since),
      ),
    );
  return row ?? { failures: 0, latest: null };
}

export async function insertFailure(tx: Tx, attempt: Attempt & { at: Instant }): Promise<void> {
  await tx.insert(signInFailures).values(attempt);
}

export async function clearFailures(tx: Executor, { email, address }: Attempt): Promise<void> {
  await tx
    .delete(signInFailures)
    .where(and(eq(signInFailures.email, email), eq(signInFailures.address, address)));
}

/** Clears an account's failures wherever they were made. */
export async function clearFailuresOf(tx: Executor, email: string): Promise<void> {
  await tx.delete(signInFailures).where(eq(signInFailures.email, email));
}

/** Deletes the failures that are old: those of one kind of account, by how its name begins, or of all others. */
export async function deleteFailuresUntil(
  db: Executor,
  then: Instant,
  accounts: { beginning: string } | { notBeginning: string },
): Promise<void> {
  const beginning = 'beginning' in accounts ? accounts.beginning : accounts.notBeginning;
  const matches = like(signInFailures.email, `${beginning}%`);
  await db
    .delete(signInFailures)
    .where(and(lte(signInFailures.at, then), 'beginning' in accounts ? matches : not(matches)));
}

// Sign-ins that wait for a code

export type SignInStep = typeof signInSteps.$inferSelect;

export async function insertStep(tx: Tx, values: Omit<SignInStep, 'tries'>): Promise<void> {
  await tx.insert(signInSteps).values(values);
}

export async function findStep(
  db: Executor,
  hash: string,
  now: Instant,
): Promise<{ personId: number; email: string } | null> {
  const [row] = await db
    .select({ personId: signInSteps.personId, email: people.email })
    .from(signInSteps)
    .innerJoin(people, eq(people.id, signInSteps.personId))
    .where(and(eq(signInSteps.hash, hash), gt(signInSteps.expiresAt, now)));
  return row ?? null;
}

export async function lockStep(tx: Tx, hash: string): Promise<SignInStep | null> {
  const [row] = await tx.select().from(signInSteps).where(eq(signInSteps.hash, hash)).for('update');
  return row ?? null;
}

export async function updateStep(tx: Tx, hash: string, tries: number): Promise<void> {
  await tx.update(signInSteps).set({ tries }).where(eq(signInSteps.hash, hash));
}

export async function deleteStep(tx: Tx, hash: string): Promise<void> {
  await tx.delete(signInSteps).where(eq(signInSteps.hash, hash));
}

/** Whoever has typed the password of this person must type it again. */
export async function endSteps(tx: Tx, personId: number): Promise<void> {
  await tx.delete(signInSteps).where(eq(signInSteps.personId, personId));
}

export async function deleteStepsUntil(db: Executor, then: Instant): Promise<void> {
  await db.delete(signInSteps).where(lte(signInSteps.expiresAt, then));
}
