import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type LotBatch, type LotBucket, type LotNow, lotsOf } from '../../materials/service/index.ts';
import { type BatchMark, batchesAfter } from '../batch.ts';
import * as store from '../store/batches.ts';
import { type BucketNow, findBucket } from './now.ts';

const LATEST = { number: Number.POSITIVE_INFINITY, happenedAt: Number.POSITIVE_INFINITY };

/** Where a lot of a material went: the batches it was weighed into and the buckets those went into. */
export async function lotWay(
  { tx }: Pick<Read, 'tx'>,
  lot: { materialId: number; lot: string },
): Promise<LotBatch[]> {
  const weighed = await store.weighedFrom(tx, lot);
  const numbers = [...new Set(weighed.map(({ number }) => number))];
  if (numbers.length === 0) return [];
  const uses = await store.usesOf(tx, numbers);
  const inside = new Map<number, BatchMark[]>();
  for (const bucketId of new Set(uses.map((use) => use.bucketId)))
    inside.set(bucketId, batchesAfter(await store.marksOf(tx, bucketId), LATEST));
  return numbers.flatMap((batch) => {
    const lines = weighed.filter(({ number }) => number === batch);
    const [first] = lines;
    if (!first) return [];
    return {
      number: batch,
      recipe: first.recipe,
      grams: lines.reduce((sum, { grams }) => sum + grams, 0),
      weighedAt: first.weighedAt as Instant,
      isAbandoned: first.abandonedAt !== null,
      buckets: uses.filter((use) => use.batch === batch).map((use) => bucketOf(use, inside)),
    };
  });
}

function bucketOf(
  { bucketId, code, name, colour, number, happenedAt, voidedBy, isRetired }: store.BatchUseRow,
  inside: Map<number, BatchMark[]>,
): LotBucket {
  const isVoided = voidedBy !== null;
  const isInside = inside.get(bucketId)?.some((mark) => mark.number === number) ?? false;
  return { code, name, colour, number, happenedAt, isVoided, isStillIn: isInside && !isVoided && !isRetired };
}

/** What is in a bucket now of one material of one batch. */
export interface LotInBucket {
  batch: number;
  /** When the batch went into the bucket. */
  happenedAt: Instant;
  materialId: number;
  material: string;
  grams: number;
  /** As it was typed when it was weighed; '' where nobody did. */
  lot: string;
  /** The lot of that name, where it was delivered. */
  known: LotNow | null;
}

/** The lots in a bucket: of every batch that went in since it was last set up. */
export async function lotsInBucket(
  read: Read,
  code: string,
): Promise<{ bucket: BucketNow; lots: LotInBucket[] }> {
  mustBeAllowed(read.actor, 'buckets.see');
  const bucket = await findBucket(read, code);
  const marks = batchesAfter(await store.marksOf(read.tx, bucket.id), LATEST);
  const lines = await store.linesOfBatches(
    read.tx,
    marks.map(({ batch }) => batch),
  );
  const known = await lotsOf(
    read,
    lines.map(({ materialId }) => materialId),
  );
  const lots = marks.flatMap(({ batch, happenedAt }) =>
    lines
      .filter((line) => line.batch === batch)
      .map((line) => ({
        ...line,
        happenedAt,
        known: named(known.get(line.materialId) ?? [], line.lot),
      })),
  );
  return { bucket, lots };
}

/** The lot of this name, in whatever case. */
const named = (lots: LotNow[], lot: string): LotNow | null =>
  lots.find((one) => one.lot.toLowerCase() === lot.toLowerCase()) ?? null;
