import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { FUTURE, type Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice, count, flag, instant, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { keepNote } from '../../ware/service/index.ts';
import type { CareKind, CarePayload } from '../care.ts';
import * as store from '../store/care.ts';
import * as kilnStore from '../store/kilns.ts';
import { findKiln, lockKiln } from './kilns.ts';

export const MOST_ELEMENTS = 24;

const common = { happenedAt: instant().optional(), note: text(1000).optional() };

/** What can be noted about a kiln. */
export const careBody = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('elements'), ...common }),
  z.strictObject({ kind: z.literal('relays'), ...common }),
  z.strictObject({ kind: z.literal('thermocouple'), ...common }),
  z.strictObject({
    kind: z.literal('ohms'),
    /** Element by element from the top. */
    ohms: z
      .array(quantity(0.1, 1000))
      .min(1, 'At least one element.')
      .max(MOST_ELEMENTS, `At most ${MOST_ELEMENTS} elements.`),
    ...common,
  }),
  z.strictObject({ kind: z.literal('vacuumed'), ...common }),
  z.strictObject({
    kind: z.literal('shelf-cracked'),
    which: choice(['full', 'half']),
    count: count(1, 20),
    /** Not to be loaded again. */
    takeAway: flag().default(false),
    ...common,
  }),
  z.strictObject({ kind: z.literal('kiln-washed'), ...common }),
  z.strictObject({ kind: z.literal('out-of-service'), ...common, note: text(1000) }),
  z.strictObject({ kind: z.literal('in-service'), ...common }),
  z.strictObject({ kind: z.literal('note'), ...common, note: text(1000) }),
]);
export type CareCommand = z.output<typeof careBody>;

export const CARE_KINDS = careBody.options.map((option) => option.shape.kind.value);

/** One entry of a kiln's care log. */
export interface CareEntry {
  number: number;
  kind: CareKind | 'void';
  happenedAt: Instant;
  recordedAt: Instant;
  by: string;
  note: string | null;
  payload: CarePayload;
  /** The number of the entry that it strikes out, and of the one that struck it out. */
  voids: number | null;
  voidedBy: number | null;
}

const entryOf = (row: store.CareRow): CareEntry => ({
  number: row.number,
  kind: row.kind as CareEntry['kind'],
  happenedAt: row.happenedAt,
  recordedAt: row.recordedAt,
  by: row.byName,
  note: row.note,
  payload: row.payload as CarePayload,
  voids: row.voids,
  voidedBy: row.voidedBy,
});

/** The care log of a kiln, the entry written last first; `next` is where to go on, null at the end. */
export async function listCare(
  read: Read,
  code: string,
  { limit = 20, before }: { limit?: number; before?: number } = {},
): Promise<{ entries: CareEntry[]; next: number | null }> {
  const { id } = await findKiln(read, code);
  const rows = await store.listCare(read.tx, id, { limit: limit + 1, ...(before && { before }) });
  const entries = rows.slice(0, limit).map(entryOf);
  return { entries, next: rows.length > limit ? (entries.at(-1)?.number ?? null) : null };
}

/** The newest measurements of a kiln's elements that were not struck out, at most two. */
export async function newestOhms(read: Read, kilnId: number): Promise<CareEntry[]> {
  mustBeAllowed(read.actor, 'kilns.see');
  const rows = await store.careOfKinds(read.tx, [kilnId], ['ohms']);
  return rows
    .filter(({ voidedBy }) => voidedBy === null)
    .slice(0, 2)
    .map(entryOf);
}

export async function findCare(read: Read, code: string, number: number): Promise<CareEntry> {
  const { id } = await findKiln(read, code);
  const row = await store.findCare(read.tx, id, number);
  if (!row) throw new NotFound('There is no entry with this number.');
  return entryOf(row);
}

/** Notes what was done to a kiln; answers the entry's number. */
export async function noteCare(act: Act, code: string, command: CareCommand): Promise<number> {
  mustBeAllowed(act.actor, 'kilns.care');
  const kiln = await lockKiln(act, code);
  const { kind, happenedAt = act.now, note, ...payload } = command;
  if (happenedAt > act.now + FUTURE)
    throw new Invalid([{ path: 'happenedAt', message: 'This lies in the future.' }]);
  if (command.kind === 'shelf-cracked' && command.takeAway)
    await takeShelves(act, kiln, command.which, command.count);
  const number = await append(act, kiln, { kind, happenedAt, payload, ...(note !== undefined && { note }) });
  if (kind === 'out-of-service' || kind === 'in-service') await settleService(act, kiln);
  return number;
}

/**
 * Strikes out a wrong entry, with the reason. What it changed is as it was before: shelves come back, and whether the
 * kiln is in service follows from the entries that are left.
 */
export async function voidCare(act: Act, code: string, number: number, reason: string): Promise<number> {
  mustBeAllowed(act.actor, 'kilns.care');
  const kiln = await lockKiln(act, code);
  const entry = await store.findCare(act.tx, kiln.id, number);
  if (!entry) throw new NotFound('There is no entry with this number.');
  if (entry.voids !== null) throw new Conflict('This only strikes out another entry.');
  if (entry.voidedBy !== null) throw new Conflict('This is struck out already.');
  const { which, count: shelves, takeAway } = entry.payload as CarePayload;
  const made = await append(act, kiln, {
    kind: 'void',
    happenedAt: act.now,
    payload: {},
    note: reason,
    voids: number,
  });
  if (which && shelves && takeAway) await takeShelves(act, kiln, which, -shelves);
  if (entry.kind === 'out-of-service' || entry.kind === 'in-service') await settleService(act, kiln);
  return made;
}

async function append(
  { tx, actor, now }: Act,
  kiln: kilnStore.KilnRow,
  entry: {
    kind: CareEntry['kind'];
    happenedAt: Instant;
    payload: CarePayload;
    note?: string;
    voids?: number;
  },
): Promise<number> {
  const number = (await store.lastNumber(tx, kiln.id)) + 1;
  const noteId = await keepNote({ tx }, entry.note);
  await store.insertCare(tx, {
    kilnId: kiln.id,
    number,
    kind: entry.kind,
    happenedAt: entry.happenedAt,
    recordedAt: now,
    by: actor.id,
    voids: entry.voids ?? null,
    noteId,
    v: 1,
    payload: entry.payload,
  });
  return number;
}

async function takeShelves(
  { tx }: Act,
  kiln: kilnStore.KilnRow,
  which: 'full' | 'half',
  count: number,
): Promise<void> {
  const column = which === 'full' ? 'fullShelves' : 'halfShelves';
  const left = kiln[column] - count;
  if (left < 0)
    throw new Invalid([
      { path: 'count', message: `This kiln has ${kiln[column]} ${which} shelves by its list.` },
    ]);
  await kilnStore.updateKiln(tx, kiln.id, { [column]: left });
}

/** Whether it is in service is what its newest valid entry about that says. */
async function settleService({ tx }: Act, kiln: kilnStore.KilnRow): Promise<void> {
  const entries = await store.careOfKinds(tx, [kiln.id], ['out-of-service', 'in-service']);
  const last = entries.find(({ voidedBy }) => voidedBy === null);
  const out = last?.kind === 'out-of-service';
  await kilnStore.updateKiln(tx, kiln.id, {
    service: out ? 'out-of-service' : 'in-service',
    serviceCause: out ? (last?.note ?? '') : '',
  });
}
