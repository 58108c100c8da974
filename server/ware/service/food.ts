import { recipesThen } from '../../buckets/service/index.ts';
import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { foodWords } from './food-gate.ts';
import type { PieceNow } from './now.ts';
import type { pieceHistory } from './pieces.ts';

/**
 * Whether a piece may touch food, in a line; '' without glaze.
 * @param history what was done with it, in any order
 */
export async function foodOfPiece(
  read: Read,
  { glazes, clay, outcome }: PieceNow,
  history: Awaited<ReturnType<typeof pieceHistory>>,
): Promise<string> {
  mustBeAllowed(read.actor, 'ware.own');
  const [first] = glazes;
  if (!first) return '';
  const fromWall = glazes.flatMap(({ bucket, at }) => (bucket ? [{ bucketId: bucket.id, at }] : []));
  const recipes = await recipesThen(read, fromWall);
  const loads = history
    .filter(({ kind, load, at }) => kind === 'came-out' && load !== null && at >= first.at)
    .sort((a, b) => a.number - b.number)
    .flatMap(({ load }) => load ?? []);
  return foodWords(read, {
    glazes: glazes.map(({ bucket }) => (bucket ? (recipes.shift() ?? null) : null)),
    clayId: clay?.id ?? null,
    loads,
    crazed: outcome === 'craze',
  });
}
