import type { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { type FieldError, Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import { type Entry, KINDS } from '../kinds.ts';
import type { BucketEvent } from '../ledger.ts';
import * as store from '../store.ts';
import { factsOf, gatedOf, lockRow } from './now.ts';
import { ledgerRow, refold, situationOf } from './record.ts';
import { bucketGate } from './safety-gate.ts';

/** A reading that was kept somewhere else: whoever took it, and what the act of a reading holds, with its time. */
export interface PastReading {
  /** A person's id. */
  by: number;
  body: z.output<typeof KINDS.readings.body> & { happenedAt: Instant };
}

/**
 * Brings the readings of years into a bucket's ledger, each as if it had been recorded late by itself, but the ledger is
 * folded once for all of them. One that the ledger has already (the same gravity at the same instant, struck out or not)
 * is left out. The past is not second-guessed: how far a reading lies from what was expected is not asked.
 * @returns the indices of those that were left out
 * @throws NotFound; Invalid with paths such as `3.grams`, one for every reading that cannot be, and nothing is recorded
 */
export async function recordPastReadings(
  act: Act,
  code: string,
  readings: readonly PastReading[],
): Promise<Set<number>> {
  mustBeAllowed(act.actor, 'buckets.record');
  mustBeAllowed(act.actor, 'buckets.backdate-far');
  const row = await lockRow(act, code);
  const facts = factsOf(row.state);
  const known = knownReadings(await store.ledgerOf(act.tx, row.bucket.id));
  const events: { event: BucketEvent & Entry; from: PastReading }[] = [];
  const errors: FieldError[] = [];
  const leftOut = new Set<number>();
  for (const [i, from] of readings.entries()) {
    const { happenedAt } = from.body;
    const situation = {
      ...situationOf(row, { ...facts, lastNumber: facts.lastNumber + events.length }, happenedAt),
      units: act.actor.units,
    };
    try {
      if (happenedAt > act.now) throw refuse('happenedAt', 'This lies in the future.');
      const entries = KINDS.readings.entries({ ...from.body, confirm: true }, situation);
      const there = known.get(happenedAt) ?? [];
      const specificGravity = gravityIn(entries);
      if (isKnown(specificGravity, there)) {
        leftOut.add(i);
        continue;
      }
      known.set(happenedAt, [...there, { specificGravity, isVoided: false }]);
      for (const entry of entries)
        events.push({ event: { number: facts.lastNumber + events.length + 1, happenedAt, ...entry }, from });
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      errors.push(...error.errors.map(({ path, message }) => ({ path: `${i}.${path}`, message })));
    }
  }
  if (errors.length > 0) throw new Invalid(errors);
  if (events.length > 0) await append(act, row, events);
  return leftOut;
}

async function append(
  act: Act,
  row: store.BucketRow,
  events: { event: BucketEvent & Entry; from: PastReading }[],
): Promise<void> {
  const { tx } = act;
  const { id } = row.bucket;
  const rows: store.LedgerRow[] = [];
  for (const { event, from } of events) {
    const { note } = from.body;
    const isNoted = note !== undefined && event.kind === 'reading';
    const noteId = isNoted ? await store.insertNote(tx, id, note) : null;
    rows.push(ledgerRow({ ...act, actor: { ...act.actor, id: from.by } }, id, event, noteId));
  }
  await store.appendMany(tx, rows);
  await store.saveState(tx, id, await refold(tx, row));
  await bucketGate().after(
    act,
    gatedOf(row),
    events.map(({ event }) => event),
  );
}

interface KnownReading {
  specificGravity: number;
  isVoided: boolean;
}

/** The readings of a ledger by when they were taken. */
function knownReadings(stored: readonly store.StoredEvent[]): Map<Instant, KnownReading[]> {
  const voided = new Set(stored.map(({ voids }) => voids));
  const known = new Map<Instant, KnownReading[]>();
  for (const event of stored.map(fromStored)) {
    if (event.kind !== 'reading') continue;
    const { happenedAt, specificGravity, number, pairedWith } = event;
    const isVoided = voided.has(number) || (pairedWith !== undefined && voided.has(pairedWith));
    known.set(happenedAt, [...(known.get(happenedAt) ?? []), { specificGravity, isVoided }]);
  }
  return known;
}

/** Far finer than any instrument: two that differ by less were typed alike. */
const ALIKE = 1e-9;

const gravityIn = (entries: readonly Entry[]): number =>
  entries.reduce((found, entry) => (entry.kind === 'reading' ? entry.specificGravity : found), 0);

/** @throws Invalid where the ledger holds another gravity of that instant, not struck out */
function isKnown(gravity: number, there: readonly KnownReading[]): boolean {
  if (there.some((one) => Math.abs(one.specificGravity - gravity) < ALIKE)) return true;
  const other = there.find(({ isVoided }) => !isVoided);
  if (!other) return false;
  throw refuse(
    'happenedAt',
    `The ledger has ${other.specificGravity.toFixed(3)} of this very time. Strike that out first, or leave this out.`,
  );
}

const refuse = (path: string, message: string) => new Invalid([{ path, message }]);
