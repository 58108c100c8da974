import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed, type Role } from '../../core/policy.ts';
import { openTo, type Way, ways } from '../advice.ts';
import type { FlowBand } from '../flow.ts';
import type { Facts } from '../ledger.ts';
import * as store from '../store.ts';
import { type Verdict, verdict } from '../verdict.ts';
import type { Shape } from '../vessel.ts';
import { type BucketLabel, type BucketSafety, bucketGate, type GatedBucket } from './safety-gate.ts';

/** A bucket as it is at an instant, for whoever asks. */
export interface BucketNow {
  id: number;
  code: string;
  name: string;
  colour: string;
  place: string;
  cones: { from: string; to: string } | null;
  atmosphere: 'oxidation' | 'reduction' | 'either' | null;
  shape: Shape | null;
  capacityLitres: number;
  target: { low: number; aim: number; high: number };
  stirIntervalMinutes: number;
  readingTrustedHours: number;
  sieveMesh: number;
  careNotes: string;
  rinseBucket: string;
  flow: FlowBand | null;
  /** Mixed leftovers of many glazes. */
  isReclaim: boolean;
  mixMoreFraction: number;
  recipeName: string;
  facts: Facts;
  serviceReason: string | null;
  verdict: Verdict;
  /** What to do when out of band, best first, then every other way open to whoever asks. */
  advice: Way | null;
  alternatives: Way[];
}

/** The slurry a technician is taken to blend with: a thick batch of the same glaze, as it is usually kept. */
export const THICK_BATCH_SG = 1.7;

export function factsOf(state: store.BucketRow['state']): Facts {
  const { bucketId: _, ...facts } = state;
  return facts;
}

export function shapeOf(bucket: store.BucketColumns): Shape | null {
  const { bottomMm, topMm, heightMm } = bucket;
  return bottomMm === null || topMm === null || heightMm === null ? null : { bottomMm, topMm, heightMm };
}

function flowBandOf({ flowLowS: low, flowHighS: high }: store.BucketColumns): FlowBand | null {
  return low === null || high === null ? null : { low, high };
}

export function bucketNow(row: store.BucketRow, facts: Facts, role: Role, now: Instant): BucketNow {
  const { bucket, serviceReason } = row;
  const target = { low: bucket.sgLow, aim: bucket.sgAim, high: bucket.sgHigh };
  const flow = flowBandOf(bucket);
  const settings = {
    ...target,
    flow,
    stirIntervalMinutes: bucket.stirIntervalMin,
    readingTrustedHours: bucket.readingTrustedH,
    capacityLitres: bucket.capacityL,
  };
  const found = verdict(facts, settings, now, { serviceReason });
  const offered =
    found.band === 'in' ||
    found.band === null ||
    facts.service === 'do-not-use' ||
    facts.service === 'retired'
      ? []
      : waysFor(facts, target.aim, bucket.capacityL, role);
  return {
    id: bucket.id,
    code: bucket.code,
    name: bucket.name,
    colour: bucket.colour,
    place: bucket.place,
    cones: bucket.coneFrom === null ? null : { from: bucket.coneFrom, to: bucket.coneTo ?? bucket.coneFrom },
    atmosphere: bucket.atmosphere,
    shape: shapeOf(bucket),
    capacityLitres: bucket.capacityL,
    target,
    stirIntervalMinutes: bucket.stirIntervalMin,
    readingTrustedHours: bucket.readingTrustedH,
    sieveMesh: bucket.sieveMesh,
    careNotes: bucket.careNotes,
    rinseBucket: bucket.rinseBucket,
    flow,
    isReclaim: bucket.isReclaim,
    mixMoreFraction: bucket.mixMoreFraction,
    recipeName: row.recipeName,
    facts,
    serviceReason,
    verdict: found,
    advice: offered[0] ?? null,
    alternatives: offered.slice(1),
  };
}

/** Every way open to this role to bring the bucket to `aim`; none while litres or gravity are unknown. */
export function waysFor(facts: Facts, aim: number, capacityLitres: number, role: Role): Way[] {
  if (facts.litres === null || facts.gravity === null || facts.litres === 0) return [];
  const all = ways({
    litres: facts.litres,
    specificGravity: facts.gravity,
    standardUncertainty: facts.gravityU,
    target: aim,
    solidsDensity: facts.solidsDensity,
    capacityLitres,
    ...(facts.gravity < aim &&
      THICK_BATCH_SG < facts.solidsDensity && { blendSpecificGravity: THICK_BATCH_SG }),
  });
  const who = may(role, 'buckets.add-other') ? 'technician' : 'member';
  return openTo(who, all, { hasSolubles: facts.hasSolubles });
}

/** What the safety feature needs of a bucket. */
export const gatedOf = ({ bucket, state }: store.BucketRow): GatedBucket => ({
  id: bucket.id,
  code: bucket.code,
  name: bucket.name,
  recipe: state.recipe,
});

/** Notices at a bucket, with what whoever asks has read of them, and whether its ware may touch food. */
export function safetyOf(read: Read, { id, code, name, facts }: BucketNow): Promise<BucketSafety> {
  return bucketGate().shown(read, code, Promise.resolve({ id, code, name, recipe: facts.recipe }));
}

/** Ids of the buckets where whoever asks has a notice to read. */
export function bucketsToRead(read: Read): Promise<Set<number>> {
  mustBeAllowed(read.actor, 'buckets.see');
  return bucketGate().unread(read);
}

/** What a label on its body says of what is in it now. */
export function labelOf(read: Read, { id, code, name, facts }: BucketNow): Promise<BucketLabel> {
  mustBeAllowed(read.actor, 'buckets.see');
  return bucketGate().label(read, { id, code, name, recipe: facts.recipe });
}

export async function findBucket(read: Read, code: string): Promise<BucketNow> {
  mustBeAllowed(read.actor, 'buckets.see');
  const row = await findRow(read, code);
  return bucketNow(row, factsOf(row.state), read.actor.role, read.now);
}

export async function listBuckets(read: Read): Promise<BucketNow[]> {
  mustBeAllowed(read.actor, 'buckets.see');
  const rows = await store.list(read.tx);
  return rows.map((row) => bucketNow(row, factsOf(row.state), read.actor.role, read.now));
}

/** Buckets that are out of service for good; what they held is still known. */
export async function listRetired(read: Read): Promise<BucketNow[]> {
  mustBeAllowed(read.actor, 'buckets.edit');
  const rows = await store.listRetired(read.tx);
  return rows.map((row) => bucketNow(row, factsOf(row.state), read.actor.role, read.now));
}

const CODE = /^[A-Za-z0-9-]{1,12}$/;

export async function findRow(read: Read, code: string): Promise<store.BucketRow> {
  mustBeCode(code);
  return found(await store.find(read.tx, code));
}

/** Takes the bucket's row lock: from here on nobody else writes to its ledger. */
export async function lockRow(read: Read, code: string): Promise<store.BucketRow> {
  mustBeCode(code);
  return found(await store.lock(read.tx, code));
}

/** What cannot be a bucket's code is asked of no database. */
export function mustBeCode(code: string): void {
  if (!CODE.test(code)) throw new NotFound(NO_BUCKET);
}

function found(row: store.BucketRow | null): store.BucketRow {
  if (!row) throw new NotFound(NO_BUCKET);
  return row;
}

const NO_BUCKET = 'There is no bucket with this code.';
