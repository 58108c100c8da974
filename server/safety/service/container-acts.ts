import { WATER_20 } from '../../buckets/gravity.ts';
import { findBucket, recordAct, voidEvent } from '../../buckets/service/index.ts';
import type { BucketGate } from '../../buckets/service/safety-gate.ts';
import type { Act, Read } from '../../core/actor.ts';
import { HOUR, type Instant } from '../../core/clock.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { volume } from '../../core/units.ts';
import {
  type ContainerFacts,
  type ContainerPayload,
  meanDensity,
  ORDINARY_SOLIDS,
  type Portion,
  solidsIn,
  takenOut,
} from '../container.ts';
import { fromStoredContainer } from '../container-events.ts';
import * as store from '../store/containers.ts';
import { dispose } from './container-disposal.ts';
import type { Command, ContainerCommand } from './container-forms.ts';
import {
  append,
  findRow,
  homeOf,
  mustBeThere,
  mustFitIn,
  NO_ROW,
  namedBucket,
  type OpenContainer,
  opened,
  openedById,
} from './container-ledger.ts';
import { amend } from './log.ts';

const MEMBERS_VOID = 24 * HOUR;

/** Records one act at a container; answers the number of its row there. */
export async function recordAtContainer(act: Act, code: string, command: ContainerCommand): Promise<number> {
  switch (command.kind) {
    case 'in':
      return rinseIn(act, code, command);
    case 'sieve-back':
      return sieveBack(act, code, command);
    case 'move':
      return move(act, code, command);
    case 'level':
      return seeLevel(act, code, command);
    case 'dispose':
      return dispose(act, code, command);
    case 'void':
      return strikeOut(act, code, command);
  }
}

/** Tools rinsed in it: so many litres of water more, with an unknown amount of glaze unless somebody checked. */
async function rinseIn(act: Act, code: string, command: Command<'in'>): Promise<number> {
  mustBeAllowed(act.actor, 'buckets.record');
  const open = await opened(act, code, command);
  const named = command.bucket === undefined ? null : await namedBucket(act, command.bucket);
  if (open.row.container.kind === 'rinse' && named && named.id !== open.row.parent?.id)
    throw new Invalid([
      { path: 'bucket', message: `Only tools with ${open.row.parent?.name} are rinsed in this one.` },
    ]);
  mustFitIn(act, open, command.litres);
  const of = named ? glazeIn(named) : await parentsGlaze(act, open.row);
  return append(act, open, {
    bucketId: named?.id ?? open.row.parent?.id ?? null,
    note: command.note,
    payload: {
      kind: 'in',
      how: 'tools',
      litres: command.litres,
      ...of,
      specificGravity: slurryGravity(command.specificGravity, of.solidsDensity),
    },
  });
}

const slurryGravity = (given: number | undefined, solidsDensity: number): number | null => {
  if (given !== undefined && given >= solidsDensity)
    throw new Invalid([
      {
        path: 'specificGravity',
        message: `Heavier than the dry powder itself (${solidsDensity.toFixed(2)}).`,
      },
    ]);
  return given ?? null;
};

type Glaze = Pick<Portion, 'recipe' | 'solidsDensity'>;

const UNKNOWN_GLAZE: Glaze = { recipe: null, solidsDensity: ORDINARY_SOLIDS };

const glazeIn = ({
  isReclaim,
  facts,
}: {
  isReclaim: boolean;
  facts: { recipe: Portion['recipe']; solidsDensity: number };
}): Glaze => ({ recipe: isReclaim ? null : facts.recipe, solidsDensity: facts.solidsDensity });

const parentsGlaze = async (read: Read, { parent }: store.ContainerRow): Promise<Glaze> =>
  parent ? glazeIn(await findBucket(read, parent.code)) : UNKNOWN_GLAZE;

/** Acts at a bucket that begin here. Of a top-up the row here is written by whoever records both; of a void, with its reason. */
const begunHere = new WeakMap<Act, { reason?: string }>();

const fromHere = (act: Act, why: { reason?: string } = {}): Act => {
  const half = { ...act };
  begunHere.set(half, why);
  return half;
};

/**
 * Settled, sieved and given back: a top-up of kind rinse at the bucket, and the row here that stands for it. A glaze's
 * own rinse goes back to that glaze, mixed reclaim into a bucket of mixed reclaim.
 */
async function sieveBack(act: Act, code: string, command: Command<'sieve-back'>): Promise<number> {
  const before = await findRow(act, code);
  const bucket = await destination(act, before, command.bucket);
  const { litres, specificGravity, happenedAt, note } = command;
  // The bucket's lock first, then the container's: so does whoever records at the bucket.
  const { event } = await recordAct(fromHere(act), bucket, 'top-ups', {
    kind: 'rinse',
    litres,
    ...(specificGravity !== undefined && { specificGravity }),
    ...(happenedAt !== undefined && { happenedAt }),
    ...(note !== undefined && { note }),
  });
  const open = await opened(act, code, { happenedAt: event.happenedAt });
  mustBeThere(act, open, litres);
  return append(act, open, {
    bucketId: (await findBucket(act, bucket)).id,
    bucketEvent: event.number,
    note,
    payload: { kind: 'sieved-back', litres, solidsKg: solidsOf(open.facts, litres, specificGravity) },
  });
}

const solidsOf = (facts: ContainerFacts, litres: number, specificGravity: number | undefined) =>
  specificGravity === undefined ? null : solidsIn(litres, specificGravity, meanDensity(facts.portions));

async function destination(
  read: Read,
  { container, parent }: store.ContainerRow,
  bucketCode: string | undefined,
): Promise<string> {
  if (container.kind === 'waste')
    throw new Conflict('Nothing goes back from a waste container: what is in it is disposed of.');
  if (container.kind === 'rinse') {
    if (!parent) throw new Conflict('This container has no glaze that its rinse could go back to.');
    if (bucketCode !== undefined && bucketCode.toLowerCase() !== parent.code.toLowerCase())
      throw new Invalid([{ path: 'bucket', message: `Its rinse goes back to ${parent.name} only.` }]);
    return parent.code;
  }
  if (bucketCode === undefined)
    throw new Invalid([{ path: 'bucket', message: 'Choose the bucket of mixed reclaim it goes into.' }]);
  const bucket = await namedBucket(read, bucketCode);
  if (!bucket.isReclaim)
    throw new Invalid([
      {
        path: 'bucket',
        message: 'Mixed rinse never goes back to one glaze: choose a bucket of mixed reclaim.',
      },
    ]);
  return bucket.code;
}

/** Into another container: into mixed reclaim or waste, or between two of one glaze; never the other way. */
async function move(act: Act, code: string, command: Command<'move'>): Promise<number> {
  mustBeAllowed(act.actor, 'containers.edit');
  const refuse = (message: string) => new Invalid([{ path: 'to', message }]);
  const [from, to] = await Promise.all([findRow(act, code), store.findContainer(act.tx, command.to)]);
  if (!to || to.container.retiredAt !== null) throw refuse('There is no container in use with this code.');
  if (to.container.id === from.container.id) throw refuse('It is in there already.');
  if (from.container.kind === 'waste' && to.container.kind !== 'waste')
    throw refuse('What was thrown away stays waste.');
  if (
    to.container.kind === 'rinse' &&
    (from.container.kind !== 'rinse' || from.container.parentBucketId !== to.container.parentBucketId)
  )
    throw refuse(`Only rinse of ${to.parent?.name ?? 'its own glaze'} goes into that one.`);
  await store.lockContainers(act.tx, [from.container.id, to.container.id]);
  const [source, target] = [await opened(act, code, command), await opened(act, command.to, command)];
  const leaving = { litres: command.litres, solidsKg: command.clear ? 0 : null };
  mustBeThere(act, source, command.litres);
  mustFitIn(act, target, command.litres);
  const moved = takenOut(source.facts, leaving);
  const here = source.row.container.lastNumber + 1;
  const there = target.row.container.lastNumber + 1;
  await append(act, target, {
    note: command.note,
    payload: {
      kind: 'moved-in',
      litres: command.litres,
      portions: moved,
      other: { containerId: source.row.container.id, number: here },
    },
  });
  return append(act, source, {
    note: command.note,
    payload: {
      kind: 'moved-out',
      ...leaving,
      other: { containerId: target.row.container.id, number: there },
    },
  });
}

async function seeLevel(act: Act, code: string, command: Command<'level'>): Promise<number> {
  mustBeAllowed(act.actor, 'containers.edit');
  const open = await opened(act, code, command);
  const { capacityL } = open.row.container;
  if (command.litres > capacityL + 1e-9)
    throw new Invalid([{ path: 'litres', message: `It holds ${volume(capacityL, act.actor.units)}.` }]);
  const of = await parentsGlaze(act, open.row);
  return append(act, open, {
    note: command.note,
    payload: {
      kind: 'level',
      litres: command.litres,
      ...of,
      specificGravity: slurryGravity(command.specificGravity, of.solidsDensity),
    },
  });
}

/** Strikes a row out; what stands in a bucket's or another container's ledger for the same thing goes with it. */
async function strikeOut(act: Act, code: string, { number, reason }: Command<'void'>): Promise<number> {
  const { container } = await findRow(act, code);
  const row = await store.findEvent(act.tx, container.id, number);
  if (!row) throw new NotFound(NO_ROW);
  if (container.retiredAt !== null)
    throw new Conflict('This container is out of use. Put it back in use first.');
  if (row.kind === 'void')
    throw new Conflict('A correction cannot be struck out. Record anew what is right.');
  if (row.voidedBy !== null) throw new Conflict('This was struck out already.');
  if (!mayStrikeOut(act, { kind: row.kind, byId: row.by, recordedAt: row.recordedAt }))
    throw new Forbidden(
      'You can strike out what you recorded yourself in the last 24 hours. Ask a technician for the rest.',
    );
  if (row.bucketCode !== null && row.bucketEvent !== null) {
    await voidEvent(fromHere(act, { reason }), row.bucketCode, row.bucketEvent, reason);
    const voided = await store.findEvent(act.tx, container.id, number);
    return voided?.voidedBy ?? number;
  }
  const entry = fromStoredContainer(row);
  const other = 'other' in entry ? entry.other : null;
  await store.lockContainers(act.tx, [container.id, ...(other ? [other.containerId] : [])]);
  if (other) await appendVoid(act, other.containerId, other.number, reason);
  if (entry.kind === 'disposal') await strikeFromLog(act, entry.logEntry, reason);
  return appendVoid(act, container.id, number, reason);
}

/** The log may have been put right first: then there is nothing left to do there. */
async function strikeFromLog(act: Act, number: number, what: string): Promise<void> {
  try {
    await amend(act, number, { what, strike: true });
  } catch (error) {
    if (!(error instanceof Conflict)) throw error;
  }
}

/** What takes something out is a technician's, and so is taking it back. */
export function mayStrikeOut(
  { actor, now }: Read,
  row: { kind: ContainerPayload['kind']; byId: number; recordedAt: Instant },
): boolean {
  if (may(actor.role, 'containers.edit')) return true;
  return row.kind === 'in' && row.byId === actor.id && now - row.recordedAt <= MEMBERS_VOID;
}

async function appendVoid(act: Act, containerId: number, number: number, note: string): Promise<number> {
  const open = await openedById(act, containerId, {});
  const row = await store.findEvent(act.tx, containerId, number);
  if (row?.voidedBy !== null) throw new Conflict('This was struck out already.');
  return append(act, open, { note, payload: { kind: 'void', voids: number } });
}

/** Locks what takes in or gives back without being asked; null where there is none, or none any more once it is locked. */
async function openedHome(
  act: Act,
  bucket: { id: number },
  to: Parameters<typeof homeOf>[2],
  event: { happenedAt: Instant },
): Promise<OpenContainer | null> {
  const [id] = await homeOf(act, bucket, to);
  if (id === undefined) return null;
  const open = await openedById(act, id, event);
  return (await homeOf(act, bucket, to)).includes(id) ? open : null;
}

/**
 * Keeps the containers' books of what left a bucket, came back or was struck out there: water or slurry drawn off into
 * its rinse bucket, or into the one waste container; rinse that was given back. Nothing is refused here: what the books
 * cannot account for is doubted.
 */
export const rinsed: BucketGate['after'] = async (act, bucket, events) => {
  for (const event of events) {
    const wired = { bucketId: bucket.id, bucketEvent: event.number };
    if (event.kind === 'void') {
      const rows = await store.standingFor(act.tx, bucket.id, event.voids);
      if (rows.length === 0) continue;
      await store.lockContainers(
        act.tx,
        rows.map(({ containerId }) => containerId),
      );
      for (const { containerId, number } of rows)
        await appendVoid(act, containerId, number, begunHere.get(act)?.reason ?? 'Struck out at the bucket.');
    } else if (event.kind === 'draw-off' && event.to !== 'batch') {
      const open = await openedHome(act, bucket, event.to, event);
      if (!open) continue;
      const { facts, isReclaim } = await findBucket(act, bucket.code);
      await append(act, open, {
        ...wired,
        payload: {
          kind: 'in',
          how: 'draw-off',
          litres: event.litres,
          ...glazeIn({ facts, isReclaim }),
          specificGravity: event.what === 'water' ? WATER_20 : facts.gravity,
        },
      });
    } else if (event.kind === 'addition' && event.what === 'rinse' && !begunHere.has(act)) {
      const open = await openedHome(act, bucket, event.shared ? 'reclaim' : 'rinse', event);
      if (!open) continue;
      const solidsKg = solidsOf(open.facts, event.litres, event.specificGravity ?? undefined);
      await append(act, open, { ...wired, payload: { kind: 'sieved-back', litres: event.litres, solidsKg } });
    }
  }
};
