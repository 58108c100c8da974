import { eq, sql } from 'drizzle-orm';
import type { Executor, Tx } from '../../core/database.ts';
import { people, studio, toldChoices } from '../../core/schema.ts';
import type { Quiet, ToldKind, Way } from '../../core/told.ts';

export async function choicesOf(
  db: Executor,
  personId: number,
): Promise<{ chosen: Map<string, Way>; quiet: Quiet }> {
  const [rows, [person]] = await Promise.all([
    db.select().from(toldChoices).where(eq(toldChoices.personId, personId)),
    db
      .select({ from: people.quietFrom, until: people.quietUntil })
      .from(people)
      .where(eq(people.id, personId)),
  ]);
  return {
    chosen: new Map(rows.map(({ kind, way }) => [kind, way])),
    quiet: person ?? { from: null, until: null },
  };
}

export async function keepChoices(
  tx: Tx,
  personId: number,
  chosen: { kind: ToldKind; way: Way }[],
): Promise<void> {
  if (chosen.length === 0) return;
  await tx
    .insert(toldChoices)
    .values(chosen.map((one) => ({ personId, ...one })))
    .onConflictDoUpdate({
      target: [toldChoices.personId, toldChoices.kind],
      set: { way: sql`excluded.way` },
    });
}

export async function setQuiet(tx: Tx, personId: number, { from, until }: Quiet): Promise<void> {
  await tx.update(people).set({ quietFrom: from, quietUntil: until }).where(eq(people.id, personId));
}

export async function setDigestAt(tx: Tx, digestAt: number): Promise<void> {
  await tx.update(studio).set({ digestAt });
}

export async function digestMinute(db: Executor): Promise<number> {
  const [row] = await db.select({ at: studio.digestAt }).from(studio);
  return row?.at ?? 0;
}
