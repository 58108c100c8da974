import type { Act } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, NotFound } from '../../core/errors.ts';
import { keepNote } from '../../ware/service/index.ts';
import type { LoadState } from '../load-fold.ts';
import * as store from '../store/load-ledger.ts';

/** What is done with a load, one word each; the payload of each kind belongs to the file that appends it. */
export type LoadEventKind =
  | 'proposed'
  | 'changed'
  | 'planned'
  | 'approved'
  | 'level-loaded'
  | 'loaded'
  | 'checked'
  | 'started'
  | 'reading'
  | 'gas-reading'
  | 'log'
  | 'witness'
  | 'shut-off'
  | 'opened'
  | 'outcomes'
  | 'unloaded'
  | 'cancelled'
  | 'void';

export interface LoadEntry {
  kind: LoadEventKind;
  payload?: object;
  /** When it was done, where that is not now. */
  happenedAt?: Instant;
  /** The state it leads to. */
  state?: LoadState;
  note?: string | undefined;
  fileId?: number | null;
  voids?: number;
}

/** The load, locked; 404 where there is none. Loads are locked before pieces, and pieces by ascending id. */
export async function lockLoad({ tx }: Act, number: number): Promise<store.LoadRow> {
  const load = await store.lockLoad(tx, number);
  if (!load) throw new NotFound(`There is no load ${number}.`);
  return load;
}

/** Refuses what this state of a load does not allow, in a sentence. */
export function mustBe(load: store.LoadRow, states: readonly LoadState[], act: string): void {
  if (!states.includes(load.state))
    throw new Conflict(`Load ${load.number} is ${load.state}: it cannot be ${act} now.`);
}

/** Appends one event to a locked load and stores what it changes; answers the event's number. */
export async function append(
  { tx, actor, now }: Act,
  load: store.LoadRow,
  entry: LoadEntry,
  change: Partial<store.LoadRow> = {},
): Promise<number> {
  const number = load.lastEvent + 1;
  const noteId = await keepNote({ tx }, entry.note);
  await store.insertEvent(tx, {
    loadId: load.id,
    number,
    kind: entry.kind,
    happenedAt: entry.happenedAt ?? now,
    recordedAt: now,
    by: actor.id,
    tokenId: actor.tokenId,
    state: entry.state ?? null,
    voids: entry.voids ?? null,
    fileId: entry.fileId ?? null,
    noteId,
    v: 1,
    payload: entry.payload ?? {},
  });
  const all = { ...change, ...(entry.state && { state: entry.state }), lastEvent: number };
  await store.updateLoad(tx, load.id, all);
  Object.assign(load, all);
  return number;
}
