import type { Read } from '../../core/actor.ts';
import { groupBy } from '../../ware/group.ts';
import { type Folded, foldLoad, spotsOf } from '../load-fold.ts';
import { type LoadRow, ledgersOf } from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { loadFaults } from './pack-queue.ts';

/** A load whose stored state is not what its events come to, or whose plan cannot be built. */
export interface LoadDisagreement {
  number: number;
  wrong: string[];
}

/** With so many loads at a time, each with its plan, memory stays small. */
const SLICE = 100;

/**
 * Compares every load with what its events come to, slice by slice: state, times, wishes and pieces; its plan with the
 * checker; and what loads reserve with what pieces say they are in. `reservations` names what only one side knows of.
 */
export async function examineLoads(
  { tx }: Pick<Read, 'tx'>,
  slice = SLICE,
): Promise<{ loads: LoadDisagreement[]; reservations: string[] }> {
  const disagreements: LoadDisagreement[] = [];
  let after: number | undefined = 0;
  while (after !== undefined) {
    const loads = await store.loadsAfter(tx, after, slice);
    const ids = loads.map(({ id }) => id);
    const [events, rows] = await Promise.all([ledgersOf(tx, ids), store.piecesOfAll(tx, ids)]);
    const [eventsBy, rowsBy] = [
      groupBy(events, ({ loadId }) => loadId),
      groupBy(rows, ({ loadId }) => loadId),
    ];
    for (const load of loads) {
      const wrong = faultsOf(load, eventsBy.get(load.id) ?? [], rowsBy.get(load.id) ?? []);
      if (wrong.length > 0) disagreements.push({ number: load.number, wrong });
    }
    after = loads.length < slice ? undefined : loads.at(-1)?.number;
  }
  const { byLoads, byPieces } = await store.reservations(tx);
  const [said, held] = [new Set(byPieces), new Set(byLoads)];
  return {
    loads: disagreements,
    reservations: [...byLoads.filter((one) => !said.has(one)), ...byPieces.filter((one) => !held.has(one))],
  };
}

function faultsOf(load: LoadRow, events: readonly Folded[], rows: readonly store.LoadPieceRow[]): string[] {
  const { pieces, pins, leftOut, ...facts } = foldLoad(events);
  const wrong = Object.entries(facts).flatMap(([name, value]) => {
    const stored = load[name as keyof typeof facts];
    return stored === value ? [] : [`${name}: ${stored}, by its events ${value}`];
  });
  const compare = (name: string, stored: unknown, computed: unknown) => {
    const [a, b] = [JSON.stringify(stored), JSON.stringify(computed)];
    if (a !== b) wrong.push(`${name}: ${a}, by its events ${b}`);
  };
  const byNumber = (a: { number: number }, b: { number: number }) => a.number - b.number;
  compare(
    'pieces',
    rows.map(({ number, part, level, reserves, isIn }) => ({ number, part, level, reserves, isIn })),
    [...pieces.values()]
      .sort(byNumber)
      .map(({ number, part, level, reserves, isIn }) => ({ number, part, level, reserves, isIn })),
  );
  compare(
    'wishes',
    [Object.entries(load.wishes.pins).sort(), load.wishes.leftOut],
    [Object.entries(pins).sort(), leftOut],
  );
  compare(
    'plan',
    spotsOf(load.plan).sort(byNumber),
    [...pieces.values()].sort(byNumber).map(({ number, part, level }) => ({ number, part, level })),
  );
  return [...wrong, ...loadFaults(load.problem, load.plan)];
}
