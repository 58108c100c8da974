import { and, eq, isNull, like } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { secondFactors } from '../../core/schema.ts';
import { recoveryCodes } from '../schema.ts';
import { endSteps } from './sign-in.ts';

export type SecondFactor = typeof secondFactors.$inferSelect;

export async function findFactor(db: Executor, personId: number): Promise<SecondFactor | null> {
  const [row] = await db.select().from(secondFactors).where(eq(secondFactors.personId, personId));
  return row ?? null;
}

export async function lockFactor(tx: Tx, personId: number): Promise<SecondFactor | null> {
  const [row] = await tx
    .select()
    .from(secondFactors)
    .where(eq(secondFactors.personId, personId))
    .for('update');
  return row ?? null;
}

/** Whether a code is asked for when this person signs in. */
export const hasFactor = async (db: Executor, personId: number): Promise<boolean> =>
  ((await findFactor(db, personId))?.confirmedAt ?? null) !== null;

/** Keeps a key that proves nothing yet, in place of an earlier one; false where one is in use. */
export async function putPendingFactor(
  tx: Tx,
  values: Pick<SecondFactor, 'personId' | 'secret' | 'madeAt'>,
): Promise<boolean> {
  const put = await tx
    .insert(secondFactors)
    .values(values)
    .onConflictDoUpdate({
      target: secondFactors.personId,
      set: { secret: values.secret, madeAt: values.madeAt },
      setWhere: isNull(secondFactors.confirmedAt),
    })
    .returning({ personId: secondFactors.personId });
  return put.length > 0;
}

export async function updateFactor(
  tx: Tx,
  personId: number,
  change: Partial<Pick<SecondFactor, 'confirmedAt' | 'lastStep'>>,
): Promise<void> {
  await tx.update(secondFactors).set(change).where(eq(secondFactors.personId, personId));
}

/** Takes away a person's key, their recovery codes, and the sign-ins that wait for a code. */
export async function deleteFactor(tx: Tx, personId: number): Promise<void> {
  await tx.delete(secondFactors).where(eq(secondFactors.personId, personId));
  await tx.delete(recoveryCodes).where(eq(recoveryCodes.personId, personId));
  await endSteps(tx, personId);
}

/** A recovery code is kept as its beginning, a space, and a hash of the whole. */
export async function replaceRecoveryCodes(
  tx: Tx,
  personId: number,
  codes: { beginning: string; hash: string }[],
): Promise<void> {
  await tx.delete(recoveryCodes).where(eq(recoveryCodes.personId, personId));
  await tx
    .insert(recoveryCodes)
    .values(codes.map(({ beginning, hash }) => ({ personId, hash: `${beginning} ${hash}` })));
}

const unused = (personId: number) => and(eq(recoveryCodes.personId, personId), isNull(recoveryCodes.usedAt));

/** The one code of a person that begins so and was not used. */
export async function findRecoveryCode(
  db: Executor,
  personId: number,
  beginning: string,
): Promise<{ id: number; hash: string } | null> {
  const [row] = await db
    .select({ id: recoveryCodes.id, hash: recoveryCodes.hash })
    .from(recoveryCodes)
    .where(and(unused(personId), like(recoveryCodes.hash, `${beginning} %`)));
  return row ? { id: row.id, hash: row.hash.slice(beginning.length + 1) } : null;
}

export const countRecoveryCodes = (db: Executor, personId: number): Promise<number> =>
  db.$count(recoveryCodes, unused(personId));

/** Of two at once, one uses it. */
export async function useRecoveryCode(tx: Tx, id: number, now: Instant): Promise<boolean> {
  const used = await tx
    .update(recoveryCodes)
    .set({ usedAt: now })
    .where(and(eq(recoveryCodes.id, id), isNull(recoveryCodes.usedAt)))
    .returning({ id: recoveryCodes.id });
  return used.length > 0;
}
