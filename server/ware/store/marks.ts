import { and, asc, desc, eq, isNull } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor } from '../../core/database.ts';
import { files, people } from '../../core/schema.ts';
import { marks } from '../schema.ts';

const selectMarks = (db: Executor) =>
  db
    .select({
      id: marks.id,
      text: marks.text,
      photo: files.sha256,
      madeAt: marks.madeAt,
      owner: { id: people.id, name: people.name },
    })
    .from(marks)
    .innerJoin(people, eq(people.id, marks.personId))
    .leftJoin(files, eq(files.id, marks.fileId));

export type MarkRow = Awaited<ReturnType<typeof selectMarks>>[number];

/** Marks in use, of one person or of everybody, by name. */
export async function listMarks(db: Executor, personId: number | null): Promise<MarkRow[]> {
  return selectMarks(db)
    .where(and(isNull(marks.retiredAt), personId === null ? undefined : eq(marks.personId, personId)))
    .orderBy(asc(people.name), asc(people.id), desc(marks.madeAt), desc(marks.id));
}

export async function insertMark(tx: Executor, values: typeof marks.$inferInsert): Promise<void> {
  await tx.insert(marks).values(values);
}

/** False where this person has no such mark in use. */
export async function retireMark(
  tx: Executor,
  { id, personId }: { id: number; personId: number },
  now: Instant,
): Promise<boolean> {
  const gone = await tx
    .update(marks)
    .set({ retiredAt: now })
    .where(and(eq(marks.id, id), eq(marks.personId, personId), isNull(marks.retiredAt)))
    .returning({ id: marks.id });
  return gone.length > 0;
}
