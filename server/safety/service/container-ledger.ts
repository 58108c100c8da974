import { findBucket } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { FUTURE, HOUR, type Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { code } from '../../core/forms.ts';
import { may } from '../../core/policy.ts';
import { volume } from '../../core/units.ts';
import { findRecipe } from '../../materials/service/index.ts';
import {
  type ContainerEvent,
  type ContainerFacts,
  type ContainerPayload,
  ENTERED_U,
  foldContainer,
  type KnownRecipe,
  type Portion,
  recipeKey,
} from '../container.ts';
import { CONTAINER_EVENT_V, fromStoredContainer } from '../container-events.ts';
import * as store from '../store/containers.ts';
import { insertNote } from '../store/notes.ts';

const MEMBERS_BACKDATE = 48 * HOUR;

/** What may go down a drain from a container, as a manager recorded it last. */
export interface DrainPermission {
  authority: string;
  /** YYYY-MM-DD. */
  validTo: string;
  by: string;
  at: Instant;
  inForce: boolean;
}

const NO_CONTAINER = 'There is no container with this code.';

export async function findRow(read: Read, typed: string): Promise<store.ContainerRow> {
  const row = code().safeParse(typed).success ? await store.findContainer(read.tx, typed) : null;
  if (!row) throw new NotFound(NO_CONTAINER);
  return row;
}

/** The newest counts: one that has ended, recorded later, takes an earlier one back. */
export function permissionOf(rows: store.PermissionRow[], id: number, today: string): DrainPermission | null {
  const newest = rows.find(({ containerId }) => containerId === id);
  if (!newest) return null;
  const { authority, validTo, by, at } = newest;
  return { authority, validTo, by, at, inForce: validTo >= today };
}

export const foldOf = (capacityL: number, ledger: store.StoredContainerEvent[]): ContainerFacts =>
  foldContainer(ledger.map(fromStoredContainer), capacityL);

/** The recipes of these portions with what they consist of, by `recipeKey`. */
export async function knownRecipes(read: Read, portions: Portion[]): Promise<Map<string, KnownRecipe>> {
  const wanted = new Map(portions.flatMap(({ recipe }) => (recipe ? [[recipeKey(recipe), recipe]] : [])));
  return new Map(
    await Promise.all(
      [...wanted].map(async ([key, { id, version }]): Promise<[string, KnownRecipe]> => {
        const { current, lines } = await findRecipe(read, id, version);
        return [key, { name: current.name, lines }];
      }),
    ),
  );
}

export const NO_ROW = 'There is no row with this number.';

export async function namedBucket(read: Read, bucketCode: string) {
  try {
    return await findBucket(read, bucketCode);
  } catch (error) {
    if (error instanceof NotFound)
      throw new Invalid([{ path: 'bucket', message: 'There is no bucket with this code.' }]);
    throw error;
  }
}

/** The container that something of a bucket goes into without being asked: its own, or the only one of its kind. */
export async function homeOf(
  { tx }: Read,
  bucket: { id: number },
  to: 'rinse' | 'reclaim' | 'waste',
): Promise<number[]> {
  if (to === 'rinse') return (await store.idsOf(tx, { kind: 'rinse', bucketId: bucket.id })).slice(0, 1);
  const ids = await store.idsOf(tx, { kind: to });
  return ids.length === 1 ? ids : [];
}

/** A container whose ledger nobody else writes to now. */
export interface OpenContainer {
  row: store.ContainerRow;
  ledger: ContainerEvent[];
  /** As it was when it happened, less what was struck out since. */
  facts: ContainerFacts;
  happenedAt: Instant;
}

/** Locks the container for something that a person records there. */
export async function opened(act: Act, code: string, { happenedAt }: { happenedAt?: Instant | undefined }) {
  if (happenedAt !== undefined) mustBeAcceptable(act, happenedAt);
  const { container } = await findRow(act, code);
  const open = await openedById(act, container.id, { happenedAt });
  if (open.row.container.retiredAt !== null) throw new Conflict('This container is out of use.');
  return open;
}

export async function openedById(
  act: Act,
  id: number,
  said: { happenedAt?: Instant | undefined },
): Promise<OpenContainer> {
  const [row] = await store.lockContainers(act.tx, [id]);
  const found = row as store.ContainerRow;
  const ledger = ((await store.ledgersOf(act.tx, [id])).get(id) ?? []).map(fromStoredContainer);
  // A clock that runs ahead must not put an act behind those that come after it.
  const happenedAt = said.happenedAt ?? Math.max(act.now, ...ledger.map((event) => event.happenedAt));
  return {
    row: found,
    ledger,
    facts: foldContainer(
      ledger.filter((event) => event.kind === 'void' || event.happenedAt <= happenedAt),
      found.container.capacityL,
    ),
    happenedAt,
  };
}

function mustBeAcceptable({ actor, now }: Act, happenedAt: Instant): void {
  const refuse = (message: string) => new Invalid([{ path: 'happenedAt', message }]);
  if (happenedAt > now + FUTURE) throw refuse('This lies in the future.');
  if (happenedAt < now - MEMBERS_BACKDATE && !may(actor.role, 'buckets.backdate-far'))
    throw refuse('More than 48 hours ago: ask a technician to record it.');
}

/** No more than was in it by the books. */
export function mustBeThere({ actor }: Act, { facts }: OpenContainer, litres: number): void {
  if (litres <= facts.litres * (1 + ENTERED_U) + 1e-9) return;
  throw new Invalid([
    {
      path: 'litres',
      message: `Only about ${volume(facts.litres, actor.units)} are in it by its ledger. Record the level first if that is wrong.`,
    },
  ]);
}

export function mustFitIn({ actor }: Act, { row, facts }: OpenContainer, litres: number): void {
  const { capacityL } = row.container;
  if (facts.litres + litres <= capacityL * (1 + ENTERED_U)) return;
  throw new Invalid([
    {
      path: 'litres',
      message: `It holds ${volume(capacityL, actor.units)}, and about ${volume(facts.litres, actor.units)} are in it. Record the level first if that is wrong.`,
    },
  ]);
}

/** Appends one row to a locked container's ledger and stores what follows from it; answers its number. */
export async function append(
  { tx, actor, now }: Act,
  { row, ledger, happenedAt }: OpenContainer,
  entry: {
    payload: ContainerPayload;
    bucketId?: number | null;
    bucketEvent?: number;
    note?: string | undefined;
  },
): Promise<number> {
  const { container } = row;
  const { payload } = entry;
  const number = container.lastNumber + 1;
  const noteId = await insertNote(tx, entry.note);
  const facts = foldContainer([...ledger, { number, happenedAt, ...payload }], container.capacityL);
  await store.append(tx, {
    containerId: container.id,
    number,
    kind: payload.kind,
    happenedAt,
    recordedAt: now,
    by: actor.id,
    tokenId: actor.tokenId,
    litres: 'litres' in payload ? payload.litres : 0,
    bucketId: entry.bucketId ?? null,
    bucketEvent: entry.bucketEvent ?? null,
    voids: payload.kind === 'void' ? payload.voids : null,
    noteId,
    v: CONTAINER_EVENT_V,
    payload,
  });
  await store.updateContainer(tx, container.id, { lastNumber: number, litres: facts.litres });
  return number;
}
