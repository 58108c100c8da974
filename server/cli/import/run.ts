import type { Studio } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import type { Database } from '../../core/database.ts';
import { Invalid } from '../../core/errors.ts';
import { theStudio } from '../../core/session.ts';
import { managerAtTheServer } from '../../members/service/people.ts';
import { buckets } from './buckets.ts';
import { type Fault, knownIn, layOut, readLine } from './columns.ts';
import type { Brought, ImportKind, Invited, Read } from './kind.ts';
import { materials } from './materials.ts';
import { members } from './members.ts';
import { readings } from './readings.ts';
import type { Line, Table } from './table.ts';

const KINDS: ImportKind<unknown>[] = [members, materials, buckets, readings];
const KIND_NAMES = KINDS.map(({ name }) => name);

export interface Order {
  table: Table;
  kind: ImportKind<unknown>;
  /** The address of the manager who does it; null: the only one there is. */
  as: string | null;
  isDryRun: boolean;
  now: Instant;
  /** Given the invitations that were made, within the transaction: what it throws undoes all. */
  keep: (invitations: readonly Invited[], studio: Studio) => void;
}

/** The kind of this name; without one, that of whose columns the header names most. */
export function chooseKind({ header }: Table, name: string | null): ImportKind<unknown> {
  if (name !== null) {
    const named = KINDS.find((kind) => kind.name === name);
    if (!named) throw new Invalid(`--kind is one of ${KIND_NAMES.join(', ')}.`);
    return named;
  }
  const ranked = KINDS.map((kind) => ({
    kind,
    known: knownIn(header, kind.columns),
    lacks: lacking(header, kind),
  }))
    .filter(({ known }) => known > 0)
    .sort((a, b) => b.known - a.known || a.lacks - b.lacks);
  const [best, next] = ranked;
  if (!best || (next && next.known === best.known && next.lacks === best.lacks))
    throw new Invalid(
      `line ${header.line}: the names of the columns do not say what this is. Add --kind and one of ${KIND_NAMES.join(', ')}.`,
    );
  return best.kind;
}

/** How many columns that the kind cannot do without the header lacks. */
const lacking = (header: Line, { columns }: ImportKind<unknown>): number => {
  const needed = columns.filter(({ isRequired }) => isRequired);
  return needed.filter((column) => knownIn(header, [column]) === 0).length;
};

/** Undoes the transaction it is thrown in, and carries what came of it out. */
class Undone extends Error {
  readonly brought: Brought;
  constructor(brought: Brought) {
    super('undone');
    this.brought = brought;
  }
}

/**
 * Brings the lines of a file in, all of them or none: in one transaction, which is undone where a single line is bad
 * and in a dry run. Every line is looked at in any case, so that all that is wrong is said at once.
 */
export async function runImport(database: Database, order: Order): Promise<Brought> {
  const { table, kind, now, isDryRun } = order;
  const actor = await managerAtTheServer(database.db, order.as);
  const studio = await theStudio(database.db);
  const layout = layOut(table, kind.columns);
  const nothing = { added: 0, leftAlone: [], invitations: [] };
  if (layout.faults.length > 0) return { ...nothing, faults: layout.faults };
  const { lines, faults } = readLines(table, kind, layout, studio.timeZone);
  try {
    return await database.transaction(async (tx) => {
      const act = { tx, now, actor };
      const brought = await kind.bring({ act, studio, places: layout.places }, lines);
      const all = {
        ...brought,
        faults: byLine([...faults, ...brought.faults]),
        leftAlone: byLine(brought.leftAlone),
      };
      if (isDryRun || all.faults.length > 0) throw new Undone(all);
      if (brought.added > 0) {
        order.keep(brought.invitations, studio);
        const { added, leftAlone } = brought;
        await record(act, `import.${kind.name}`, kind.name, { added, leftAlone: leftAlone.length });
      }
      return all;
    });
  } catch (error) {
    if (error instanceof Undone) return error.brought;
    throw error;
  }
}

const byLine = <T extends { line: number }>(some: T[]): T[] => some.sort((a, b) => a.line - b.line);

function readLines(
  { lines, delimiter }: Table,
  kind: ImportKind<unknown>,
  layout: ReturnType<typeof layOut>,
  timeZone: string,
): { lines: Read<unknown>[]; faults: Fault[] } {
  const read: Read<unknown>[] = [];
  const faults: Fault[] = [];
  const firstOf = new Map<string, number>();
  for (const one of lines) {
    const { value, faults: found } = readLine(one, layout, { timeZone, delimiter }, kind.read);
    faults.push(...found);
    if (value === null) continue;
    const identity = kind.identity(value);
    const first = firstOf.get(identity);
    if (first !== undefined)
      faults.push({ line: one.line, column: null, message: `${kind.sameAs} as line ${first}.` });
    else {
      firstOf.set(identity, one.line);
      read.push({ line: one.line, value });
    }
  }
  return { lines: read, faults };
}
