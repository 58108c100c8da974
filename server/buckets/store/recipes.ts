import { and, asc, eq, inArray, isNull } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import type { Executor } from '../../core/database.ts';
import { bucketEvents, buckets } from '../schema.ts';

/** What these buckets started with. */
export const firstRecipes = (db: Executor, bucketIds: readonly number[]) =>
  db
    .select({
      id: buckets.id,
      isReclaim: buckets.isReclaim,
      recipeId: buckets.firstRecipeId,
      version: buckets.firstRecipeVersion,
    })
    .from(buckets)
    .where(inArray(buckets.id, [...bucketIds]));

const strikes = alias(bucketEvents, 'strikes');

/** Changes of recipe that were not struck out, in the order they happened. */
export const recipeChanges = (db: Executor, bucketIds: readonly number[]) =>
  db
    .select({
      bucketId: bucketEvents.bucketId,
      number: bucketEvents.number,
      happenedAt: bucketEvents.happenedAt,
      v: bucketEvents.v,
      payload: bucketEvents.payload,
    })
    .from(bucketEvents)
    .leftJoin(
      strikes,
      and(eq(strikes.bucketId, bucketEvents.bucketId), eq(strikes.voids, bucketEvents.number)),
    )
    .where(
      and(
        inArray(bucketEvents.bucketId, [...bucketIds]),
        eq(bucketEvents.kind, 'recipe'),
        isNull(strikes.number),
      ),
    )
    .orderBy(asc(bucketEvents.happenedAt), asc(bucketEvents.number));
