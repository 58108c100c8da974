import type { Read } from '../../core/actor.ts';
import type { Route, Wetness } from '../route.ts';
import type { PieceNow } from './now.ts';

/** A piece at the bench, with others of its batch that are at the same point of their way. */
export interface AtBench {
  piece: PieceNow;
  others: PieceNow[];
  route: Route;
  wetness: Wetness;
}

/** One piece on its way from bisque to the kiln, for whoever may see it. Throws NotFound. */
export async function findRoute(_read: Read, _number: number): Promise<AtBench> {
  throw new Error('to be written');
}

/**
 * Pieces on their way, by batch and point of it: what can be dipped now first, then by when it can; own ones, or
 * everybody's for a technician who asks.
 */
export async function listRacks(
  _read: Read,
  _filter: { everybody: boolean },
): Promise<{ pieces: PieceNow[]; route: Route; wetness: Wetness }[]> {
  throw new Error('to be written');
}
