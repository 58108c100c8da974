import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import * as store from '../store/recipes.ts';

/** Which recipe, as it was mixed, each of these buckets held at an instant; null for leftovers of many glazes. */
export async function recipesThen(
  read: Read,
  asked: readonly { bucketId: number; at: Instant }[],
): Promise<({ recipeId: number; recipeVersion: number } | null)[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  const ids = [...new Set(asked.map(({ bucketId }) => bucketId))];
  if (ids.length === 0) return [];
  const [first, changes] = await Promise.all([
    store.firstRecipes(read.tx, ids),
    store.recipeChanges(read.tx, ids),
  ]);
  return asked.map(({ bucketId, at }) => {
    const start = first.find(({ id }) => id === bucketId);
    if (!start || start.isReclaim) return null;
    const before = changes.findLast((change) => change.bucketId === bucketId && change.happenedAt <= at);
    const entry = before && fromStored(before);
    return entry?.kind === 'recipe'
      ? { recipeId: entry.recipeId, recipeVersion: entry.version }
      : { recipeId: start.recipeId, recipeVersion: start.version };
  });
}
