import type { Act } from '../../core/actor.ts';
import { Refusal } from '../../core/errors.ts';
import { faultsOf } from './columns.ts';
import type { Brought, Read, Setting } from './kind.ts';

/**
 * Writes line after line, each within a savepoint: one that is refused leaves nothing behind that could make another
 * one fail, and the rest is looked at all the same.
 * @param write answers null where the line added something, else why it was left alone
 */
export async function eachLine<T>(
  { act, places }: Setting,
  lines: readonly Read<T>[],
  write: (act: Act, value: T, line: number) => Promise<string | null>,
): Promise<Brought> {
  const brought: Brought = { faults: [], added: 0, leftAlone: [], invitations: [] };
  for (const { line, value } of lines)
    try {
      const why = await act.tx.transaction((savepoint) =>
        write({ ...act, tx: Object.assign(savepoint, { withCommit: act.tx.withCommit }) }, value, line),
      );
      if (why === null) brought.added++;
      else brought.leftAlone.push({ line, why });
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      const errors = error.errors.length > 0 ? error.errors : [{ path: '', message: error.message }];
      brought.faults.push(...faultsOf(line, errors, places));
    }
  return brought;
}
