import type { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { FUTURE, HOUR, type Instant, MINUTE } from '../../core/clock.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import { type Entry, KINDS, type Kind, type KindPath, type Situation } from '../kinds.ts';
import { type BucketEvent, type Facts, fold, isOrdered, step } from '../ledger.ts';
import * as gear from '../store/gear.ts';
import * as tiles from '../store/tiles.ts';
import * as store from '../store.ts';
import { type BucketNow, bucketNow, factsOf, findRow, gatedOf, lockRow, mustBeCode, shapeOf } from './now.ts';
import { type BucketVerb, bucketGate } from './safety-gate.ts';

/** An event as people see it: what happened, when, by whom, and whether it was struck out since. */
export interface LedgerEvent {
  number: number;
  happenedAt: Instant;
  recordedAt: Instant;
  by: string;
  byId: number;
  byToken: boolean;
  /** Recorded at a paired tablet. */
  atTablet: boolean;
  note: string | null;
  voided: boolean;
  /** False for a reading of an unstirred bucket: kept, but not used. */
  counts: boolean;
  entry: Entry;
}

export interface Recorded {
  event: Omit<LedgerEvent, 'counts'>;
  bucket: BucketNow;
}

/** No statement waits longer: see `statement_timeout`. */
const LONGEST_WAIT = MINUTE / 4;
const MEMBERS_BACKDATE = 48 * HOUR;
const MEMBERS_VOID = 24 * HOUR;
const MEMBERS_SLIP = 10 * MINUTE;

/** Records one act of a kind at a bucket: appends it, derives the state anew, and answers with both. */
export async function recordAct<P extends KindPath>(
  act: Act,
  code: string,
  path: P,
  body: z.output<(typeof KINDS)[P]['body']>,
): Promise<Recorded> {
  const kind = KINDS[path] as unknown as Kind;
  const fields = body as { happenedAt?: Instant; note?: string; reason?: string } & Gear;
  mustBeAllowed(act.actor, kind.permission(body));
  if (fields.happenedAt !== undefined) mustBeAcceptable(act, fields.happenedAt);
  const row = await lockRow(act, code);
  const facts = factsOf(row.state);
  // A clock that runs ahead must not put an act behind those that come after it.
  const happenedAt = Math.min(
    fields.happenedAt ?? Number.POSITIVE_INFINITY,
    afterThoseBefore(act.now, facts),
  );
  const entries = kind.entries(body, {
    ...situationOf(row, facts, happenedAt),
    units: act.actor.units,
    ...(await named(act, fields)),
    untestedBatch: path === 'service' ? await untestedBatch(act, row) : null,
  });
  if (facts.service === 'retired' && entries.some((entry) => entry.kind === 'service'))
    mustBeAllowed(act.actor, 'buckets.return-to-service');
  return append(
    act,
    row,
    entries,
    happenedAt,
    [fields.reason, fields.note].filter(Boolean).join('. ') || null,
  );
}

/** Records what another use case makes of the bucket as it is, once nobody else can write to its ledger. */
export async function recordEntries(
  act: Act,
  code: string,
  make: (bucket: Situation & { row: store.BucketRow }) => Entry[],
  note: string | null,
): Promise<Recorded> {
  const row = await lockRow(act, code);
  const facts = factsOf(row.state);
  const happenedAt = afterThoseBefore(act.now, facts);
  return append(
    act,
    row,
    make({ ...situationOf(row, facts, happenedAt), units: act.actor.units, row }),
    happenedAt,
    note,
  );
}

export const situationOf = (
  row: store.BucketRow,
  facts: Facts,
  happenedAt: Instant,
): Omit<Situation, 'units'> => ({
  facts,
  capacityLitres: row.bucket.capacityL,
  shape: shapeOf(row.bucket),
  sieveMesh: row.bucket.sieveMesh,
  isReclaim: row.bucket.isReclaim,
  isLatest: facts.lastHappenedAt === null || happenedAt >= facts.lastHappenedAt,
  cup: null,
  instrument: null,
  float: null,
  untestedBatch: null,
});

/** The newest batch in a bucket, where no fired tile of it has been accepted. */
async function untestedBatch({ tx }: Act, { bucket, state }: store.BucketRow): Promise<number | null> {
  if (state.batch === null || (await tiles.isAccepted(tx, bucket.id, state.batch))) return null;
  return state.batch;
}

/** Gear by the codes that an act may name. */
interface Gear {
  vessel?: string;
  instrument?: string;
  float?: string;
  /** A flow cup. */
  cup?: string;
}

async function named({ tx }: Act, { vessel, float, cup, instrument = cup }: Gear) {
  return {
    cup: vessel === undefined ? null : await gear.findCup(tx, vessel),
    instrument: instrument === undefined ? null : await gear.findInstrument(tx, instrument),
    float: float === undefined ? null : await gear.findFloat(tx, float),
  };
}

/** Strikes out an event, and the stir or reading recorded with it; the bucket's state is folded anew. */
export async function voidEvent(
  act: Act,
  code: string,
  number: number,
  reason: string,
  happenedAt = act.now,
): Promise<Recorded> {
  mustBeAcceptable(act, happenedAt);
  const row = await lockRow(act, code);
  const event = await store.event(act.tx, row.bucket.id, number);
  if (!event) throw new NotFound('There is no event with this number.');
  if (event.kind === 'void')
    throw new Conflict('A correction cannot be struck out. Record anew what is right.');
  if (event.voidedBy !== null) throw new Conflict('This was struck out already.');
  if (!mayVoid(act, event)) {
    throw new Forbidden(
      'You can strike out what you recorded yourself in the last 24 hours. Ask a technician for the rest.',
    );
  }
  return append(act, row, [{ kind: 'void', voids: number }], Math.min(happenedAt, act.now), reason);
}

/** Records a dipping; `instead` names the one of one's own, tapped before it was counted, that it replaces. */
export async function countPieces(
  act: Act,
  code: string,
  instead: number | undefined,
  body: z.output<(typeof KINDS)['dippings']['body']>,
): Promise<Recorded> {
  if (instead !== undefined) {
    const { bucket } = await lockRow(act, code);
    const event = await store.event(act.tx, bucket.id, instead);
    if (event?.kind !== 'dipping' || event.byId !== act.actor.id)
      throw new Conflict('That is no dipping of yours. Record the pieces anew.');
    await voidEvent(act, code, instead, 'Pieces counted');
  }
  return recordAct(act, code, 'dippings', body);
}

/** A state of service is undone by members only while it is a slip: putting a bucket back is a technician's. */
export function mayVoid(
  { actor, now }: Read,
  event: { byId: number; recordedAt: Instant; kind: BucketEvent['kind'] },
): boolean {
  if (may(actor.role, 'buckets.void-any')) return true;
  const within = event.kind === 'service' ? MEMBERS_SLIP : MEMBERS_VOID;
  return event.byId === actor.id && now - event.recordedAt <= within;
}

/** The bucket's next recipe: earlier events keep the one they were folded with. */
export async function changeRecipe(
  act: Act,
  code: string,
  recipe: { recipeId: number; version: number; solidsDensity: number; hasSolubles: boolean },
): Promise<Recorded> {
  mustBeAllowed(act.actor, 'buckets.edit');
  const { recipeId, version, solidsDensity, hasSolubles } = recipe;
  const row = await lockRow(act, code);
  const happenedAt = afterThoseBefore(act.now, factsOf(row.state));
  return append(
    act,
    row,
    [{ kind: 'recipe', recipeId, version, solidsDensity, hasSolubles }],
    happenedAt,
    null,
  );
}

function mustBeAcceptable({ actor, now }: Act, happenedAt: Instant): void {
  const refuse = (message: string) => new Invalid([{ path: 'happenedAt', message }]);
  if (happenedAt > now + FUTURE) throw refuse('This lies in the future.');
  if (happenedAt < now - MEMBERS_BACKDATE && !may(actor.role, 'buckets.backdate-far'))
    throw refuse('More than 48 hours ago: ask a technician to record it.');
}

/**
 * When something happens now: not before what those recorded who had the lock first. Otherwise each who waited
 * would be taken for backdating, and the whole ledger folded anew.
 */
function afterThoseBefore(now: Instant, { lastHappenedAt }: Facts): Instant {
  const waited = (lastHappenedAt ?? 0) - now;
  return waited > 0 && waited <= LONGEST_WAIT ? now + waited : now;
}

async function append(
  act: Act,
  row: store.BucketRow,
  entries: Entry[],
  happenedAt: Instant,
  note: string | null,
): Promise<Recorded> {
  const { tx, actor, now } = act;
  const { bucket } = row;
  const gated = gatedOf(row);
  for (const verb of verbsOf(entries)) await bucketGate().before(act, verb, gated);
  const before = factsOf(row.state);
  const noteId = note === null ? null : await store.insertNote(tx, bucket.id, note);
  const events = entries.map((entry, i) => ({ number: before.lastNumber + 1 + i, happenedAt, ...entry }));
  const last = events.at(-1) as BucketEvent & Entry;
  const appended = store.append(
    tx,
    events.map((event) => ledgerRow(act, bucket.id, event, event === last ? noteId : null)),
  );
  const facts = events.every((event) => isOrdered(before, event))
    ? events.reduce((f, event) => step(f, event, { capacityLitres: bucket.capacityL }), before)
    : await appended.then(() => refold(tx, row));
  tx.withCommit(Promise.all([appended, store.saveState(tx, bucket.id, facts)]));
  await bucketGate().after(act, gated, events);
  const { number, happenedAt: at, ...entry } = last;
  const reasoned =
    facts.serviceNumber === before.serviceNumber
      ? row
      : { ...row, serviceReason: await reasonOf(act, bucket.id, facts, last, note) };
  return {
    event: {
      number,
      happenedAt: at,
      recordedAt: now,
      by: actor.name,
      byId: actor.id,
      byToken: actor.tokenId !== null,
      atTablet: actor.deviceId !== null,
      note,
      voided: false,
      entry,
    },
    bucket: bucketNow(reasoned, facts, actor.role, now),
  };
}

/** An event as the ledger keeps it. */
export function ledgerRow(
  { actor, now }: Act,
  bucketId: number,
  event: BucketEvent & Entry,
  noteId: number | null,
): store.LedgerRow {
  const { number, happenedAt, ...payload } = event;
  return {
    bucketId,
    number,
    kind: event.kind,
    happenedAt,
    recordedAt: now,
    by: actor.id,
    tokenId: actor.tokenId,
    deviceId: actor.deviceId,
    voids: event.kind === 'void' ? event.voids : null,
    noteId,
    v: 1,
    payload,
    usedL: event.kind === 'dipping' ? event.litres : null,
  };
}

/** What somebody must have been shown and have read before these may be recorded. */
function verbsOf(entries: readonly Entry[]): Set<BucketVerb> {
  return new Set(
    entries.flatMap((entry): BucketVerb[] => {
      if (entry.kind === 'dipping') return ['dip'];
      const ofBatch = 'batch' in entry && entry.batch !== undefined;
      if (entry.kind === 'setup') return ofBatch || entry.from === 'batch' ? ['mix-dry'] : [];
      if (entry.kind !== 'addition') return [];
      if (ofBatch || entry.what === 'dry') return ['mix-dry'];
      return entry.what === 'water' ? ['add-water'] : [];
    }),
  );
}

/** The words beside the service state that now holds: this note, or after a void those of an earlier event. */
async function reasonOf(act: Act, bucketId: number, facts: Facts, last: BucketEvent, note: string | null) {
  if (facts.serviceNumber === null) return null;
  if (facts.serviceNumber === last.number) return note;
  return (await store.event(act.tx, bucketId, facts.serviceNumber))?.note ?? null;
}

/** The bucket's facts from its whole ledger. */
export async function refold(tx: Read['tx'], row: store.BucketRow): Promise<Facts> {
  const [start, stored] = await Promise.all([
    store.startingRecipe(tx, row.bucket),
    store.ledgerOf(tx, row.bucket.id),
  ]);
  const recipe = { id: row.bucket.firstRecipeId, version: row.bucket.firstRecipeVersion };
  return fold({ ...start, recipe }, stored.map(fromStored), { capacityLitres: row.bucket.capacityL });
}

export async function listEvents(
  read: Read,
  code: string,
  page: { limit: number; before: number | null },
): Promise<{ events: LedgerEvent[]; next: number | null }> {
  mustBeAllowed(read.actor, 'buckets.see');
  mustBeCode(code);
  const [rows] = await Promise.all([
    store.events(read.tx, code, page.limit + 1, page.before ?? 2 ** 31 - 1),
    findRow(read, code),
  ]);
  const events = rows.slice(0, page.limit).map(toLedgerEvent);
  return { events, next: rows.length > page.limit ? (events.at(-1)?.number ?? null) : null };
}

export function toLedgerEvent(row: store.EventRow): LedgerEvent {
  const { number: _, happenedAt: __, ...entry } = fromStored(row);
  return {
    number: row.number,
    happenedAt: row.happenedAt,
    recordedAt: row.recordedAt,
    by: row.by,
    byId: row.byId,
    byToken: row.byToken,
    atTablet: row.atTablet,
    note: row.note,
    voided: row.voidedBy !== null,
    counts: row.counts,
    entry,
  };
}
