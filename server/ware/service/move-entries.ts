import { z } from 'zod';
import { type BucketNow, findBucket } from '../../buckets/service/index.ts';
import type { Act } from '../../core/actor.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { code, text } from '../../core/forms.ts';
import { compareCones } from '../cone.ts';
import { writtenCone } from './clays.ts';
import { listGroups, onePerson, sameName } from './groups.ts';
import type { Entry } from './ledger.ts';
import { type PieceNow, runsWithIn } from './now.ts';

// What moves append that takes a look at buckets, people and groups first.

export const refuse = (path: string, message: string) => new Invalid([{ path, message }]);

/** A coat: from a bucket on the wall, or of a glaze from outside with the cones it takes. */
export const glaze = z.union([
  z.strictObject({ bucket: code() }),
  z.strictObject({ own: text(60), coneFrom: writtenCone(), coneTo: writtenCone() }),
]);

/** What is appended to pieces that are glazed from these buckets, or with what was brought. */
export async function glazedWith(
  act: Act,
  { glazes }: { glazes: z.output<typeof glaze>[] },
): Promise<(piece: PieceNow) => Entry> {
  const rows: NonNullable<Entry['glazes']>[number][] = [];
  const onWall: string[] = [];
  const codes: string[] = [];
  let isStrange = false;
  for (const [at, one] of glazes.entries()) {
    if ('own' in one) {
      if (compareCones(one.coneFrom, one.coneTo) > 0)
        throw refuse(`glazes.${at}.coneTo`, 'The hotter of the two cones comes last.');
      isStrange = true;
      codes.push('own');
      rows.push({ ownName: one.own, ownConeFrom: one.coneFrom, ownConeTo: one.coneTo, at: act.now });
    } else {
      const { id, code: known, facts, cones } = await bucketFor(act, one.bucket, `glazes.${at}.bucket`);
      onWall.push(known);
      codes.push(known);
      if (cones === null) isStrange = true;
      rows.push({
        bucketId: id,
        gravity: facts.gravity,
        reading: facts.readingNumber,
        batchNumber: facts.batch,
        at: act.now,
      });
    }
  }
  const runsWith = await runsWithIn(act);
  const mayRun = onWall.some((lower, at) =>
    onWall.slice(at + 1).some((upper) => runsWith(lower).includes(upper)),
  );
  // What nobody here knows or what may run is a new question, whatever was said yes to before.
  return () => ({
    kind: 'glazed',
    stage: 'glazed',
    payload: {
      glazes: codes,
      held: rows.map(({ gravity = null, reading = null, batchNumber: batch = null }) => ({
        gravity,
        reading,
        batch,
      })),
      endsYes: isStrange || mayRun,
    },
    glazes: rows,
  });
}

/** A bucket by its code. Throws Invalid beside this field where there is none. */
export async function bucketFor(act: Act, bucketCode: string, path: string): Promise<BucketNow> {
  try {
    return await findBucket(act, bucketCode);
  } catch (error) {
    throw error instanceof NotFound ? refuse(path, `There is no bucket ${bucketCode} on the wall.`) : error;
  }
}

/** What is appended to pieces that are given to a person or to a group. */
export async function assignedTo(
  act: Act,
  { who, group }: { who?: string | undefined; group?: string | undefined },
): Promise<(piece: PieceNow) => Entry> {
  if ((who === undefined) === (group === undefined))
    throw refuse('who', 'Name a person, or choose a household or class: one of the two.');
  const nobody = { ownerId: null, ownerGroupId: null, payerId: null, payerGroupId: null };
  if (who !== undefined) {
    const { id } = await onePerson(act, who, 'who');
    return owning({ ...nobody, ownerId: id, payerId: id }, { person: id });
  }
  const found = (await listGroups(act)).find(({ name }) => sameName(name, group ?? ''));
  if (!found) throw refuse('group', 'Choose from the list.');
  return owning({ ...nobody, ownerGroupId: found.id, payerGroupId: found.id }, { group: found.id });
}

/** A piece from the shelf without names goes where what it looks like belongs. */
const owning =
  (change: Entry['change'], payload: Entry['payload']) =>
  (piece: PieceNow): Entry => ({
    kind: 'assigned',
    stage:
      piece.stage !== 'no-name'
        ? undefined
        : piece.looks === 'fired'
          ? 'fired'
          : piece.looks === 'bisque'
            ? 'bisqued'
            : 'drying',
    payload,
    change,
  });
