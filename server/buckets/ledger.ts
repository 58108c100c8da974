import { type Instant, MINUTE } from '../core/clock.ts';
import { combine, WATER_20 } from './gravity.ts';
import { gravityOf, litresOf, solidsKg, waterKg } from './slurry.ts';

export type ServiceState = 'in-service' | 'on-test' | 'do-not-use' | 'retired';

/** How a slurry runs off the hand, where no cup is used. */
export type FlowWord = 'thin' | 'cream' | 'custard' | 'gelled';

/** What happened to a bucket, as far as its state depends on it. SI units; gravities at 20 °C. */
export type Payload =
  | {
      kind: 'setup';
      litres: number;
      litresU: number;
      specificGravity: number;
      solidsKg: number;
      waterKg: number;
      /** What was entered and so holds: litres and gravity, or the masses of a weighed batch. */
      from: 'gravity' | 'batch';
      /** The number of the weighed batch it is. */
      batch?: number;
    }
  | {
      kind: 'reading';
      method: 'weighed' | 'cup' | 'hydrometer' | 'float';
      specificGravity: number;
      standardUncertainty: number;
      stirred: boolean;
      /** The stir recorded with it; the two are voided together. */
      pairedWith?: number;
    }
  | { kind: 'stir'; pairedWith?: number }
  | { kind: 'addition'; what: 'water'; litres: number }
  | { kind: 'addition'; what: 'dry'; kilograms: number }
  | { kind: 'addition'; what: 'slurry'; litres: number; specificGravity: number; batch?: number }
  /** `shared`: the studio's mixed rinse, into a reclaim bucket; without it the glaze's own. */
  | { kind: 'addition'; what: 'rinse'; litres: number; specificGravity: number | null; shared?: boolean }
  | { kind: 'draw-off'; what: 'water' | 'slurry'; litres: number; to: 'rinse' | 'batch' | 'waste' }
  | { kind: 'level'; litres: number; litresU: number; how: 'litres' | 'stick' | 'quarters' }
  | { kind: 'dipping'; pieces: number; litres: number; stirred: boolean }
  | { kind: 'flow'; seconds: number | null; word: FlowWord | null }
  /** SG at dipping depth right after stirring, and again after standing untouched; null until that is taken. */
  | { kind: 'settling'; fresh: number; later: number | null; minutes: number }
  | { kind: 'additive'; what: 'deflocculant' | 'epsom'; millilitres: number }
  | { kind: 'sieve'; mesh: number }
  | { kind: 'service'; state: ServiceState; cause: string | null }
  | { kind: 'tag-hung' }
  | { kind: 'recipe'; recipeId: number; version: number; solidsDensity: number; hasSolubles: boolean }
  | { kind: 'note' }
  | { kind: 'void'; voids: number };

export type BucketEvent = { number: number; happenedAt: Instant } & Payload;

/** Which version of which recipe. */
export interface RecipeVersion {
  id: number;
  version: number;
}

interface Doubt {
  number: number;
  what: 'over-capacity' | 'emptied' | 'below-water' | 'above-solids';
}

/** What is known of a bucket: facts and their times only. What to call it is the verdict's business. */
export interface Facts {
  lastNumber: number;
  lastHappenedAt: Instant | null;
  litres: number | null;
  litresU: number;
  levelSeenAt: Instant | null;
  piecesSinceLevel: number;
  solidsKg: number | null;
  waterKg: number | null;
  /** null before anything is known, and when something was added to an unknown level. */
  gravity: number | null;
  gravityU: number;
  gravityBasis: 'measured' | 'predicted' | null;
  gravityAt: Instant | null;
  solidsDensity: number;
  hasSolubles: boolean;
  recipe: RecipeVersion | null;
  stirredAt: Instant | null;
  /** The last reading that counts: when, its number and its gravity. */
  readingAt: Instant | null;
  readingNumber: number | null;
  readingGravity: number | null;
  /** Σ |predicted change of SG| since the last reading that counts. */
  shift: number;
  /** Litres of unknown gravity, or added to an unknown level, since that reading. */
  unknownLitres: number;
  /** The composition changed while the litres were unknown. */
  unpredictable: boolean;
  /** Last change of composition: set-up, addition, water taken off, recipe. */
  changedAt: Instant | null;
  /** Readings that count since then, newest last, at most 40. */
  recent: { at: Instant; specificGravity: number; standardUncertainty: number }[];
  service: ServiceState;
  serviceCause: string | null;
  serviceSince: Instant | null;
  serviceNumber: number | null;
  tagHungAt: Instant | null;
  /** The flow seen since the last change of composition: seconds through the studio's cup, or a word. */
  flowSeconds: number | null;
  flowWord: FlowWord | null;
  flowAt: Instant | null;
  /** The newest batch in it, by its number. */
  batch: number | null;
  /** Events that could not be as written and were clamped, newest last, at most 10, cleared by a set-up. */
  doubts: Doubt[];
}

interface LedgerOptions {
  capacityLitres: number;
  /** g/cm³, default that of 20 °C. */
  waterDensity?: number;
}

type Of<K extends Payload['kind']> = Extract<BucketEvent, { kind: K }>;

interface Limits {
  capacity: number;
  rho: number;
}

/** Something that enters (litres above 0) or leaves the slurry, with its own gravity. */
interface Portion {
  litres: number;
  gravity: number;
  gravityU: number;
}

const SETUP_GRAVITY_U = 0.02;
/** A gravity somebody wrote down for a slurry is known no better than a set-up's. */
const ENTERED_GRAVITY_U = SETUP_GRAVITY_U;
/** Relative standard uncertainty of an amount somebody measured out and entered. */
const ENTERED_U = 0.02;
/** The same for what dipped pieces carry away, which is estimated by their size. */
const DIPPED_U = 0.25;
/** A reading this soon after a stir counts. */
export const STIR_LASTS = 2 * MINUTE;
const KEEP_RECENT = 40;
const FLOW_UNSEEN = { flowSeconds: null, flowWord: null, flowAt: null };
const KEEP_DOUBTS = 10;
const ROUNDING = 1e-9;
/** g/cm³; no solid is denser. */
const DENSEST = 23;
/** No studio's vessel comes near; keeps arithmetic finite whatever was written. */
const ABSURD = 1e6;

/** The recipe a bucket starts with; particle density in g/cm³, above that of water. */
export interface StartingRecipe {
  solidsDensity: number;
  hasSolubles: boolean;
  recipe?: RecipeVersion;
}

/** A bucket of which nothing is known yet but its recipe. */
export function emptyFacts(i: StartingRecipe): Facts {
  return {
    lastNumber: 0,
    lastHappenedAt: null,
    litres: null,
    litresU: 0,
    levelSeenAt: null,
    piecesSinceLevel: 0,
    solidsKg: null,
    waterKg: null,
    gravity: null,
    gravityU: 0,
    gravityBasis: null,
    gravityAt: null,
    solidsDensity: i.solidsDensity,
    hasSolubles: i.hasSolubles,
    recipe: i.recipe ?? null,
    stirredAt: null,
    readingAt: null,
    readingNumber: null,
    readingGravity: null,
    shift: 0,
    unknownLitres: 0,
    unpredictable: false,
    changedAt: null,
    recent: [],
    service: 'in-service',
    serviceCause: null,
    serviceSince: null,
    serviceNumber: null,
    tagHungAt: null,
    ...FLOW_UNSEEN,
    batch: null,
    doubts: [],
  };
}

/**
 * The facts after one more event. Pure and total: what cannot be is clamped, and its number kept in `doubts`.
 *
 * Events must come in order (see `isOrdered`). A void changes nothing here: `fold` again without what it voids.
 */
export function step(facts: Facts, event: BucketEvent, o: LedgerOptions): Facts {
  const lastNumber = Math.max(facts.lastNumber, event.number);
  if (event.kind === 'void') return { ...facts, lastNumber };
  const limits = {
    capacity: o.capacityLitres > 0 ? o.capacityLitres : Number.POSITIVE_INFINITY,
    rho: o.waterDensity ?? WATER_20,
  };
  return {
    ...apply(facts, event, limits),
    lastNumber,
    lastHappenedAt: Math.max(facts.lastHappenedAt ?? event.happenedAt, event.happenedAt),
  };
}

/** The facts that a whole ledger gives, in whatever order its events come: by (happenedAt, number), less what is voided. */
export function fold(i: StartingRecipe, events: BucketEvent[], o: LedgerOptions): Facts {
  const struck = struckOut(events);
  const facts = events
    .filter((event) => event.kind !== 'void' && !struck.has(event.number))
    .sort((a, b) => a.happenedAt - b.happenedAt || a.number - b.number)
    .reduce((before, event) => step(before, event, o), emptyFacts(i));
  return { ...facts, lastNumber: events.reduce((last, event) => Math.max(last, event.number), 0) };
}

/** Whether one `step` suffices: the event comes after all that were folded, and voids none. */
export function isOrdered(facts: Facts, event: BucketEvent): boolean {
  if (event.kind === 'void' || event.number <= facts.lastNumber) return false;
  return facts.lastHappenedAt === null || event.happenedAt >= facts.lastHappenedAt;
}

/** Numbers of the events that voids name, a stir and the reading recorded with it together. */
function struckOut(events: BucketEvent[]): Set<number> {
  const named = new Set(events.flatMap((event) => (event.kind === 'void' ? [event.voids] : [])));
  const struck = new Set(named);
  for (const event of events) {
    const partner = event.kind === 'stir' || event.kind === 'reading' ? event.pairedWith : undefined;
    if (partner !== undefined && (named.has(event.number) || named.has(partner))) {
      struck.add(event.number).add(partner);
    }
  }
  return struck;
}

function apply(f: Facts, e: Exclude<BucketEvent, { kind: 'void' }>, limits: Limits): Facts {
  switch (e.kind) {
    case 'setup':
      return setUp(f, e, limits);
    case 'reading':
      return read(f, e, limits);
    case 'stir':
      return { ...f, stirredAt: e.happenedAt };
    case 'addition':
      return add(f, e, limits);
    case 'draw-off':
      return e.what === 'water'
        ? takeWaterOff(f, e, limits)
        : takeSlurry(f, e.number, amount(e.litres), ENTERED_U, limits);
    case 'level':
      return seeLevel(f, e, limits);
    case 'dipping':
      return dip(f, e, limits);
    case 'service':
      return {
        ...f,
        service: e.state,
        serviceCause: e.cause,
        serviceSince: e.happenedAt,
        serviceNumber: e.number,
        tagHungAt: null,
      };
    case 'tag-hung':
      return { ...f, tagHungAt: e.happenedAt };
    case 'recipe':
      return changeRecipe(f, e, limits);
    case 'flow':
      return { ...f, flowSeconds: e.seconds, flowWord: e.word, flowAt: e.happenedAt };
    case 'additive':
      // Some drops change how it flows, not how much water is in it: the flow must be seen again.
      return { ...f, ...FLOW_UNSEEN };
    case 'settling':
    case 'sieve':
    case 'note':
      return f;
  }
}

function setUp(f: Facts, e: Of<'setup'>, limits: Limits): Facts {
  const entered =
    e.from === 'batch'
      ? ofBatch(f, e, limits)
      : { litres: amount(e.litres), gravity: known(e.specificGravity) };
  const fresh: Facts = {
    ...f,
    litresU: amount(e.litresU),
    levelSeenAt: e.happenedAt,
    piecesSinceLevel: 0,
    gravityU: SETUP_GRAVITY_U,
    gravityBasis: 'predicted',
    gravityAt: e.happenedAt,
    stirredAt: null,
    readingAt: null,
    readingNumber: null,
    readingGravity: null,
    shift: 0,
    unknownLitres: 0,
    unpredictable: false,
    changedAt: e.happenedAt,
    recent: [],
    ...FLOW_UNSEEN,
    batch: e.batch ?? null,
    doubts: [],
  };
  return holding(fresh, e.number, entered.litres, entered.gravity, limits);
}

function ofBatch(f: Facts, e: Of<'setup'>, { rho }: Limits): { litres: number; gravity: number | null } {
  const solids = amount(e.solidsKg);
  const water = amount(e.waterKg);
  return {
    litres: litresOf(solids, water, f.solidsDensity, rho),
    gravity: known(gravityOf(solids, water, f.solidsDensity, rho)),
  };
}

/** A reading counts when the bucket was stirred with it or at most two minutes before. */
function read(f: Facts, e: Of<'reading'>, limits: Limits): Facts {
  const stirredBefore = f.stirredAt !== null && e.happenedAt - f.stirredAt <= STIR_LASTS;
  const measured = known(e.specificGravity);
  if (measured === null || !(e.stirred || stirredBefore)) return f;

  const u = amount(e.standardUncertainty);
  const read = holding(f, e.number, f.litres, measured, limits);
  const value = read.gravity ?? measured;
  return {
    ...read,
    gravityU: u,
    gravityBasis: 'measured',
    gravityAt: e.happenedAt,
    stirredAt: e.stirred ? e.happenedAt : f.stirredAt,
    readingAt: e.happenedAt,
    readingNumber: e.number,
    readingGravity: value,
    shift: 0,
    unknownLitres: 0,
    unpredictable: false,
    recent: [...f.recent, { at: e.happenedAt, specificGravity: value, standardUncertainty: u }].slice(
      -KEEP_RECENT,
    ),
  };
}

function add(f: Facts, e: Of<'addition'>, limits: Limits): Facts {
  if (e.what === 'water') {
    return mix(f, e, { litres: amount(e.litres), gravity: limits.rho, gravityU: 0 }, limits);
  }
  if (e.what === 'dry') {
    const litres = amount(e.kilograms) / f.solidsDensity;
    return mix(f, e, { litres, gravity: f.solidsDensity, gravityU: 0 }, limits);
  }
  const gravity = known(e.specificGravity);
  if (gravity === null) return addUnknown(f, e, limits);
  const { doubts, value } = between(f, e.number, gravity, limits.rho);
  const portion = { litres: amount(e.litres), gravity: value, gravityU: ENTERED_GRAVITY_U };
  const batch = (e.what === 'slurry' ? e.batch : undefined) ?? f.batch;
  return mix({ ...f, doubts, batch }, e, portion, limits);
}

/**
 * Rinse of unknown gravity counts as water. It may be anything up to the glaze itself, so its standard deviation
 * about that of water is (G − ρ_w)/√3 (rectangular).
 */
function addUnknown(f: Facts, e: Of<'addition'> & { litres: number }, limits: Limits): Facts {
  const litres = amount(e.litres);
  const gravityU = ((f.gravity ?? limits.rho) - limits.rho) / Math.sqrt(3);
  const mixed = mix(f, e, { litres, gravity: limits.rho, gravityU }, limits);
  return { ...mixed, unknownLitres: f.unknownLitres + litres };
}

function takeWaterOff(f: Facts, e: Of<'draw-off'>, limits: Limits): Facts {
  const wanted = amount(e.litres);
  const there = f.waterKg === null ? wanted : f.waterKg / limits.rho;
  const tooMuch = wanted > there + ROUNDING;
  const from = tooMuch ? doubted(f, e.number, f.solidsKg ? 'above-solids' : 'emptied') : f;
  return mix(from, e, { litres: -Math.min(wanted, there), gravity: limits.rho, gravityU: 0 }, limits);
}

/**
 * Mass balance: volumes and masses add, gravity follows. u by first order: of the gravity, of the litres, 2 % of
 * the amount, and of the portion's own gravity.
 */
function mix(f: Facts, e: BucketEvent, portion: Portion, limits: Limits): Facts {
  const x = portion.litres;
  if (x === 0) return f;
  const changed = { ...f, changedAt: e.happenedAt, recent: [], ...FLOW_UNSEEN };
  if (f.litres === null) {
    return {
      ...changed,
      gravity: null,
      gravityU: 0,
      gravityBasis: null,
      gravityAt: null,
      unpredictable: true,
      unknownLitres: f.unknownLitres + Math.abs(x),
    };
  }
  const volume = f.litres + x;
  const amountU = ENTERED_U * Math.abs(x);
  const litresU = combine(f.litresU, amountU);
  // What is added to an empty bucket is all there is in it.
  const before = f.litres > 0 ? f.gravity : portion.gravity;
  if (before === null || volume <= ROUNDING) {
    return holding({ ...changed, litresU }, e.number, volume, f.gravity, limits);
  }
  const gravity = (f.litres * before + x * portion.gravity) / volume;
  const difference = before - portion.gravity;
  const u = combine(
    (f.litres / volume) * f.gravityU,
    ((x * difference) / volume ** 2) * f.litresU,
    ((f.litres * difference) / volume ** 2) * amountU,
    (x / volume) * portion.gravityU,
  );
  const mixed = holding({ ...changed, litresU }, e.number, volume, gravity, limits);
  return {
    ...mixed,
    gravityU: Math.min(u, f.solidsDensity - limits.rho),
    gravityBasis: 'predicted',
    gravityAt: e.happenedAt,
    shift: f.shift + Math.abs((mixed.gravity ?? gravity) - (f.gravity ?? gravity)),
  };
}

function takeSlurry(f: Facts, number: number, litres: number, relativeU: number, limits: Limits): Facts {
  if (f.litres === null) return f;
  const left = { ...f, litresU: combine(f.litresU, relativeU * litres) };
  return holding(left, number, f.litres - litres, f.gravity, limits);
}

function seeLevel(f: Facts, e: Of<'level'>, limits: Limits): Facts {
  const seen = { ...f, litresU: amount(e.litresU), levelSeenAt: e.happenedAt, piecesSinceLevel: 0 };
  return holding(seen, e.number, amount(e.litres), f.gravity, limits);
}

function dip(f: Facts, e: Of<'dipping'>, limits: Limits): Facts {
  return {
    ...takeSlurry(f, e.number, amount(e.litres), DIPPED_U, limits),
    piecesSinceLevel: f.piecesSinceLevel + amount(e.pieces),
    stirredAt: e.stirred ? e.happenedAt : f.stirredAt,
  };
}

/** Another recipe leaves the litres and the gravity, which were seen; the masses follow from its density. */
function changeRecipe(f: Facts, e: Of<'recipe'>, limits: Limits): Facts {
  const usable = e.solidsDensity > limits.rho && e.solidsDensity < DENSEST;
  const solidsDensity = usable ? e.solidsDensity : f.solidsDensity;
  const renamed = {
    ...f,
    solidsDensity,
    hasSolubles: e.hasSolubles,
    recipe: { id: e.recipeId, version: e.version },
    changedAt: e.happenedAt,
    recent: [],
    ...FLOW_UNSEEN,
  };
  return holding(renamed, e.number, f.litres, f.gravity, limits);
}

/** The facts with so many litres of slurry of such a gravity, both clamped to what can be, and their masses. */
function holding(
  f: Facts,
  number: number,
  litres: number | null,
  gravity: number | null,
  limits: Limits,
): Facts {
  let facts = f;
  if (litres !== null && litres > limits.capacity + ROUNDING) facts = doubted(facts, number, 'over-capacity');
  if (litres !== null && litres < -ROUNDING) facts = doubted(facts, number, 'emptied');
  const volume = litres === null ? null : Math.min(Math.max(litres, 0), limits.capacity);
  if (gravity === null) {
    return {
      ...facts,
      litres: volume,
      gravity: null,
      gravityU: 0,
      gravityBasis: null,
      gravityAt: null,
      solidsKg: null,
      waterKg: null,
    };
  }
  const { doubts, value } = between(facts, number, gravity, limits.rho);
  return {
    ...facts,
    doubts,
    litres: volume,
    gravity: value,
    solidsKg: volume === null ? null : solidsKg(volume, value, f.solidsDensity, limits.rho),
    waterKg: volume === null ? null : Math.max(0, waterKg(volume, value, f.solidsDensity, limits.rho)),
  };
}

/** A gravity held between water and the solids, and the doubts if it was not. */
function between(f: Facts, number: number, gravity: number, rho: number): { value: number; doubts: Doubt[] } {
  const value = Math.min(Math.max(gravity, rho), f.solidsDensity);
  if (Math.abs(value - gravity) <= ROUNDING) return { value, doubts: f.doubts };
  return { value, doubts: doubted(f, number, gravity < rho ? 'below-water' : 'above-solids').doubts };
}

function doubted(f: Facts, number: number, what: Doubt['what']): Facts {
  return { ...f, doubts: [...f.doubts, { number, what }].slice(-KEEP_DOUBTS) };
}

function amount(value: number): number {
  return value > 0 ? Math.min(value, ABSURD) : 0;
}

function known(value: number | null): number | null {
  return value !== null && Number.isFinite(value) ? value : null;
}
