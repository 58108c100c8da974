import type { Read } from '../../core/actor.ts';
import { foldLoad, spotsOf } from '../load-fold.ts';
import { eventsOf } from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { loadFaults } from './proposing.ts';

/** A load whose stored state is not what its events come to, or whose plan cannot be built. */
export interface LoadDisagreement {
  number: number;
  wrong: string[];
}

/**
 * Compares every load with what its events come to: state, times, wishes and pieces; its plan with the checker; and what
 * loads reserve with what pieces say they are in. `reservations` names what only one side knows of.
 */
export async function examineLoads(
  read: Pick<Read, 'tx'>,
): Promise<{ loads: LoadDisagreement[]; reservations: string[] }> {
  const disagreements: LoadDisagreement[] = [];
  for (const load of await store.everyLoad(read.tx)) {
    const [events, rows] = await Promise.all([eventsOf(read.tx, load.id), store.piecesOf(read.tx, load.id)]);
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
    wrong.push(...loadFaults(load.problem, load.plan));
    if (wrong.length > 0) disagreements.push({ number: load.number, wrong });
  }
  const { byLoads, byPieces } = await store.reservations(read.tx);
  return {
    loads: disagreements,
    reservations: [
      ...byLoads.filter((one) => !byPieces.includes(one)),
      ...byPieces.filter((one) => !byLoads.includes(one)),
    ],
  };
}
