import type { Executor } from '../../core/database.ts';
import { safetyNotes } from '../schema.ts';

/** Keeps what somebody wrote, apart from the ledgers; answers its id, null for nothing written. */
export async function insertNote(tx: Executor, text: string): Promise<number>;
export async function insertNote(tx: Executor, text: string | undefined): Promise<number | null>;
export async function insertNote(tx: Executor, text: string | undefined): Promise<number | null> {
  if (text === undefined) return null;
  const [row] = await tx.insert(safetyNotes).values({ text }).returning({ id: safetyNotes.id });
  return (row as { id: number }).id;
}
