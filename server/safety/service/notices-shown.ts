import type { GatedBucket, ShownNotice } from '../../buckets/service/safety-gate.ts';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { KilnNotice } from '../../kilns/service/safety-gate.ts';
import { hasRead, TASKS } from '../notice.ts';
import * as store from '../store/notices.ts';

// Notices where they hang, for whoever stands there.

/** What is in force at a bucket, as its page shows it. */
export async function noticesAtBucket(read: Read, bucket: GatedBucket): Promise<ShownNotice[]> {
  return (await rowsAt(read, bucket)).map(toShown);
}

/** The same by the bucket's code; nothing where there is no such bucket. */
export const noticesAtCode = async ({ tx, actor, now }: Read, code: string): Promise<ShownNotice[]> =>
  (await store.atCode(tx, code, actor.id, now)).map(toShown);

/** What is in force on a kiln, as its page shows it. */
export async function noticesOnKiln({ tx, actor, now }: Read, kilnId: number): Promise<KilnNotice[]> {
  const rows = await store.inForceFor(tx, actor.id, now);
  return rows
    .filter((row) => row.kilnId === kilnId)
    .map((row) => ({
      number: row.number,
      title: row.title,
      words: row.dipping,
      unread: !hasRead(row.basis, row),
    }));
}

/** Ids of the buckets at which whoever asks has something to read. */
export async function bucketsToRead({ tx, actor, now }: Read): Promise<Set<number>> {
  const rows = await store.atBuckets(tx, actor.id, now);
  return new Set(rows.filter((row) => !hasRead(row.basis, row)).map(({ bucketId }) => bucketId));
}

/**
 * Refuses whoever has still to read what hangs at a bucket.
 * @throws Conflict which names the notice and where it is
 */
export async function mustHaveRead(act: Act, bucket: GatedBucket): Promise<void> {
  const unread = (await rowsAt(act, bucket)).map(toShown).filter((notice) => notice.unread);
  const [first] = unread;
  if (!first) return;
  const more = unread.length > 1 ? `, and ${unread.length - 1} more` : '';
  throw new Conflict(
    `Read notice ${first.number} first: “${first.title}” (/notices/${first.number})${more}.`,
  );
}

const rowsAt = ({ tx, actor, now }: Read, { id, recipe }: GatedBucket) =>
  store.atBucket(tx, {
    bucket: id,
    recipe: recipe?.id ?? 0,
    recipeVersion: recipe?.version ?? 0,
    person: actor.id,
    now,
  });

type ShownRow = Awaited<ReturnType<typeof store.atBucket>>[number];

const toShown = (row: ShownRow): ShownNotice => ({
  number: row.number,
  version: row.version,
  title: row.title,
  lines: TASKS.filter((task) => row[task] !== '').map((task) => ({ task, words: row[task] })),
  signalWord: row.signalWord,
  pictograms: row.pictograms,
  hCodes: row.hCodes,
  notForChildren: row.notForChildren,
  unread: !hasRead(row.basis, row),
});

/** Notices in force that whoever asks has still to read. */
export async function unreadFor(read: Read): Promise<ShownNotice[]> {
  mustBeAllowed(read.actor, 'notices.read');
  const rows = await store.inForceFor(read.tx, read.actor.id, read.now);
  return rows.map(toShown).filter(({ unread }) => unread);
}
