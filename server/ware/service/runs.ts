import { z } from 'zod';
import { type BucketNow, findBucket } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, NotFound } from '../../core/errors.ts';
import { code, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import * as store from '../store/runs.ts';
import { bucketFor } from './move-entries.ts';

/** Two glazes that run where they overlap; the same twice for two coats of one. */
export interface RunPair {
  a: { code: string; name: string };
  b: { code: string; name: string };
  why: string;
}

export const runPair = z.strictObject({ a: code(), b: code() });
export const runForm = z.strictObject({ ...runPair.shape, why: text(200) });

/** Pairs of glazes that are known to run where one lies over the other, whichever is on top, by their names. */
export async function listRunPairs(read: Read): Promise<RunPair[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return store.listRuns(read.tx);
}

/** Names a pair. Throws Conflict where it is listed already, Invalid for a code that nobody has. */
export async function addRunPair(act: Act, { a, b, why }: z.output<typeof runForm>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const [first, second] = inOrder(await bucketFor(act, a, 'a'), await bucketFor(act, b, 'b'));
  if (!(await store.insertRun(act.tx, { bucketA: first.id, bucketB: second.id, why })))
    throw new Conflict(
      first.id === second.id
        ? `Two coats of ${first.name} are listed already.`
        : `${first.name} and ${second.name} are listed already.`,
      'b',
    );
  await record(act, 'glaze.run.add', 'ware', { a: first.code, b: second.code });
}

/** Takes a pair off the list. Throws NotFound where it is not on it. */
export async function removeRunPair(act: Act, { a, b }: z.output<typeof runPair>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const [first, second] = inOrder(await findBucket(act, a), await findBucket(act, b));
  if (!(await store.deleteRun(act.tx, { bucketA: first.id, bucketB: second.id })))
    throw new NotFound('These two are not listed.');
  await record(act, 'glaze.run.remove', 'ware', { a: first.code, b: second.code });
}

/** By id, as the table keeps a pair: it counts whichever of the two is on top. */
const inOrder = (one: BucketNow, other: BucketNow): [BucketNow, BucketNow] =>
  one.id <= other.id ? [one, other] : [other, one];
