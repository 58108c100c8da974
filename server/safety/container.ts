import { WATER_20 } from '../buckets/gravity.ts';
import type { RecipeVersion } from '../buckets/ledger.ts';
import { solidsKg } from '../buckets/slurry.ts';
import type { Instant } from '../core/clock.ts';

export type ContainerKind = 'rinse' | 'reclaim' | 'waste';

/** Ways in which something leaves the studio for good. */
export const DISPOSALS = ['drain', 'carrier', 'fired', 'landfill'] as const;
export type Disposal = (typeof DISPOSALS)[number];

/** Acts that a form is chosen for, in the order people meet them. */
export const CONTAINER_ACTS = ['in', 'sieve-back', 'move', 'level', 'dispose'] as const;
export type ContainerAct = (typeof CONTAINER_ACTS)[number];

/** What there is of one glaze in a container. Litres, kg of dry solids, g/cm³. */
export interface Portion {
  /** Null: of several glazes, or nobody said of which. */
  recipe: RecipeVersion | null;
  solidsDensity: number;
  /** Its share of what the container holds. */
  litres: number;
  /** What is known to be in it. */
  solidsKg: number;
  /** Litres that came in without a gravity: their solids are in it too, and nobody knows how much that is. */
  unmeasuredL: number;
}

/** What happened to a container. Litres; gravities at 20 °C. */
export type ContainerPayload =
  | {
      kind: 'in';
      /** 'draw-off': by the bucket's ledger. 'tools': rinsed off in it. */
      how: 'draw-off' | 'tools';
      litres: number;
      recipe: RecipeVersion | null;
      solidsDensity: number;
      /** Null: nobody checked. That of water: clear water. */
      specificGravity: number | null;
    }
  | { kind: 'moved-in'; litres: number; portions: Portion[]; other: Other }
  | ({ kind: 'moved-out'; other: Other } & Leaving)
  | ({ kind: 'sieved-back' } & Leaving)
  | ({ kind: 'disposal' } & Leaving & DisposalNote)
  | {
      kind: 'level';
      litres: number;
      specificGravity: number | null;
      /** What is counted for whatever is in it beyond the books. */
      recipe: RecipeVersion | null;
      solidsDensity: number;
    }
  | { kind: 'void'; voids: number };

export type ContainerEvent = { number: number; happenedAt: Instant } & ContainerPayload;

/** The other container of a move, and the row in its ledger. */
interface Other {
  containerId: number;
  number: number;
}

export interface Leaving {
  litres: number;
  /** Dry solids that left with it, kg; 0: clear water off the top; null: as everything in it is mixed. */
  solidsKg: number | null;
}

/** What the record of a disposal keeps beside its quantity. */
export interface DisposalNote {
  how: Disposal;
  byWhom: string;
  /** The carrier's licence, or the number of the manifest. */
  manifest: string | null;
  contents: Contents;
  /** Hazard classes of what was in it, as they were shown then. */
  classes: string[];
  /** Who allowed a drain here, where it went down one although it was classified. */
  permittedBy: string | null;
  /** The entry of the safety log that tells of it. */
  logEntry: number;
}

interface Doubt {
  number: number;
  what: 'emptied' | 'over-capacity' | 'more-solids';
}

/** What is known of a container: facts and their times only. */
export interface ContainerFacts {
  lastNumber: number;
  litres: number;
  portions: Portion[];
  /** Since when something waits in it that was not sieved back; null while it is empty. */
  waitingSince: Instant | null;
  /** Events that could not be as written, oldest first, at most 10; a level that is seen clears them. */
  doubts: Doubt[];
}

/** Fuller than this part it is to be seen to; common practice, no source. */
export const NEARLY_FULL = 0.8;
/** g/cm³, of a dry glaze of which nobody said more; common practice, no source. */
export const ORDINARY_SOLIDS = 2.6;
/** More solids by this part than the books hold is an error of somebody, not of a scale; common practice, no source. */
const TOLERATED = 0.1;
/** What somebody measured out is known no better than by this part; common practice, no source. */
export const ENTERED_U = 0.02;
const ROUNDING = 1e-9;
const KEEP_DOUBTS = 10;
/** No studio's drum comes near; keeps arithmetic finite whatever was written. */
const ABSURD = 1e6;

export const emptyContainer = (): ContainerFacts => ({
  lastNumber: 0,
  litres: 0,
  portions: [],
  waitingSince: null,
  doubts: [],
});

/**
 * The facts after one more event. Pure and total: what cannot be is clamped, and its number kept in `doubts`. What is
 * above the capacity is kept: it went in, wherever it is now.
 *
 * A void changes nothing here: `foldContainer` again without what it voids.
 */
export function stepContainer(
  facts: ContainerFacts,
  event: ContainerEvent,
  capacityLitres: number,
): ContainerFacts {
  const lastNumber = Math.max(facts.lastNumber, event.number);
  return { ...apply({ ...facts, lastNumber }, event, capacityLitres) };
}

/** The facts that a whole ledger gives, in whatever order its events come: by (happenedAt, number), less what is voided. */
export function foldContainer(events: ContainerEvent[], capacityLitres: number): ContainerFacts {
  const struck = new Set(events.flatMap((event) => (event.kind === 'void' ? [event.voids] : [])));
  const facts = events
    .filter((event) => event.kind !== 'void' && !struck.has(event.number))
    .sort((a, b) => a.happenedAt - b.happenedAt || a.number - b.number)
    .reduce((before, event) => stepContainer(before, event, capacityLitres), emptyContainer());
  return { ...facts, lastNumber: events.reduce((last, { number }) => Math.max(last, number), 0) };
}

function apply(f: ContainerFacts, e: ContainerEvent, capacity: number): ContainerFacts {
  switch (e.kind) {
    case 'in':
      return filled(f, e, [portionOf(e)], capacity);
    case 'moved-in':
      return filled(f, e, e.portions.map(sane), capacity);
    case 'moved-out':
    case 'sieved-back':
    case 'disposal':
      return left(f, e);
    case 'level':
      return levelled(f, e, capacity);
    case 'void':
      return f;
  }
}

/** So much of one glaze as it came in: with its solids where its gravity is known. */
function portionOf(e: Extract<ContainerEvent, { kind: 'in' }>): Portion {
  const solidsDensity = density(e.solidsDensity);
  const litres = amount(e.litres);
  const measured = e.specificGravity !== null && Number.isFinite(e.specificGravity);
  return {
    recipe: e.recipe,
    solidsDensity,
    litres,
    solidsKg: measured ? solidsIn(litres, e.specificGravity ?? 0, solidsDensity) : 0,
    unmeasuredL: measured ? 0 : litres,
  };
}

function filled(f: ContainerFacts, e: ContainerEvent, more: Portion[], capacity: number): ContainerFacts {
  const portions = merged([...f.portions, ...more]);
  const litres = total(portions, 'litres');
  const holding = {
    ...f,
    portions,
    litres,
    waitingSince: f.waitingSince ?? (portions.length > 0 ? e.happenedAt : null),
  };
  const most = capacity * (1 + ENTERED_U) + ROUNDING;
  return litres > most && f.litres <= most ? doubted(holding, e.number, 'over-capacity') : holding;
}

function left(f: ContainerFacts, e: ContainerEvent & Leaving): ContainerFacts {
  const wanted = amount(e.litres);
  const solids = total(f.portions, 'solidsKg');
  const unmeasured = total(f.portions, 'unmeasuredL');
  const share = shareOf(f, e);
  const portions = kept(
    f.portions.map((portion) => ({
      ...portion,
      litres: portion.litres * (1 - share.litres),
      solidsKg: portion.solidsKg * (1 - share.solids),
      unmeasuredL: portion.unmeasuredL * (1 - share.unmeasured),
    })),
  );
  const gone = portions.length === 0;
  let after: ContainerFacts = {
    ...f,
    portions,
    litres: total(portions, 'litres'),
    waitingSince: gone ? null : e.kind === 'sieved-back' ? e.happenedAt : f.waitingSince,
  };
  if (wanted > f.litres * (1 + ENTERED_U) + ROUNDING) after = doubted(after, e.number, 'emptied');
  else if (e.solidsKg !== null && unmeasured <= ROUNDING && e.solidsKg > solids * (1 + TOLERATED) + ROUNDING)
    after = doubted(after, e.number, 'more-solids');
  return after;
}

/** Which part of the litres, of the known and of the unknown solids leaves, each 0 to 1. */
function shareOf(f: ContainerFacts, { litres, solidsKg: weighed }: Leaving) {
  const all = amount(litres) >= f.litres - ROUNDING;
  const part = all ? 1 : amount(litres) / f.litres;
  if (weighed !== null && amount(weighed) === 0) return { litres: part, solids: 0, unmeasured: 0 };
  if (weighed === null || all) return { litres: part, solids: part, unmeasured: part };
  const solids = total(f.portions, 'solidsKg');
  // Beside solids that nobody measured a weight says nothing of what is left.
  if (total(f.portions, 'unmeasuredL') > ROUNDING || solids <= ROUNDING)
    return { litres: part, solids: part, unmeasured: part };
  return { litres: part, solids: Math.min(1, amount(weighed) / solids), unmeasured: part };
}

/** What leaves a container as it is, glaze by glaze, when so much is taken out. */
export function takenOut(facts: ContainerFacts, leaving: Leaving): Portion[] {
  const share = shareOf(facts, leaving);
  return kept(
    facts.portions.map((portion) => ({
      ...portion,
      litres: portion.litres * share.litres,
      solidsKg: portion.solidsKg * share.solids,
      unmeasuredL: portion.unmeasuredL * share.unmeasured,
    })),
  );
}

/**
 * A level that is seen. Below the books water dried off and the solids stay; above them something came in that nobody
 * wrote down. With a gravity the solids are known anew, shared out as they were, or by litres where that was unknown.
 */
function levelled(
  f: ContainerFacts,
  e: Extract<ContainerEvent, { kind: 'level' }>,
  capacity: number,
): ContainerFacts {
  const seen = amount(e.litres);
  const before = { ...f, doubts: [] };
  const beyond: Portion = {
    recipe: e.recipe,
    solidsDensity: density(e.solidsDensity),
    litres: Math.max(0, seen - f.litres),
    solidsKg: 0,
    unmeasuredL: Math.max(0, seen - f.litres),
  };
  const scale = f.litres > ROUNDING ? Math.min(1, seen / f.litres) : 0;
  const portions = merged([
    ...f.portions.map((portion) => ({ ...portion, litres: portion.litres * scale })),
    beyond,
  ]);
  const waitingSince = portions.length === 0 ? null : f.waitingSince;
  const facts = filled({ ...before, litres: 0, portions: [], waitingSince }, e, portions, capacity);
  const measured = e.specificGravity !== null && Number.isFinite(e.specificGravity);
  return measured && seen > 0 ? { ...facts, portions: weighedAnew(facts, e.specificGravity ?? 0) } : facts;
}

/** What was known of the solids is scaled where nothing else is in it; else what is beyond it is of the unmeasured. */
function weighedAnew(f: ContainerFacts, specificGravity: number): Portion[] {
  const solids = solidsIn(f.litres, specificGravity, meanDensity(f.portions));
  const known = total(f.portions, 'solidsKg');
  const unmeasured = total(f.portions, 'unmeasuredL');
  const weighed = (kgOf: (portion: Portion) => number) =>
    f.portions.map((portion) => ({ ...portion, solidsKg: kgOf(portion), unmeasuredL: 0 }));
  if (unmeasured > ROUNDING && solids >= known)
    return weighed((p) => p.solidsKg + ((solids - known) * p.unmeasuredL) / unmeasured);
  if (known > ROUNDING) return weighed((p) => (solids * p.solidsKg) / known);
  return weighed((p) => (solids * p.litres) / f.litres);
}

/** Particle density in g/cm³ of all the solids together, by their masses; by litres where none were measured. */
export function meanDensity(portions: Portion[]): number {
  const by = total(portions, 'solidsKg') > ROUNDING ? 'solidsKg' : 'litres';
  const sum = total(portions, by);
  if (sum <= ROUNDING) return portions[0]?.solidsDensity ?? ORDINARY_SOLIDS;
  return sum / portions.reduce((volume, portion) => volume + portion[by] / portion.solidsDensity, 0);
}

/** Dry solids, kg, in so many litres of this gravity, which is held between water and the solids. */
export const solidsIn = (litres: number, specificGravity: number, solidsDensity: number): number =>
  solidsKg(litres, between(WATER_20, specificGravity, solidsDensity), solidsDensity);

/** Specific gravity of what is in it; null where something came in unmeasured, or there is nothing, or only residue. */
export function containerGravity({ litres, portions }: ContainerFacts): number | null {
  if (litres <= ROUNDING || total(portions, 'unmeasuredL') > ROUNDING) return null;
  const solids = total(portions, 'solidsKg');
  const water = litres - portions.reduce((volume, p) => volume + p.solidsKg / p.solidsDensity, 0);
  return water < 0 ? null : (solids + water * WATER_20) / litres;
}

/** One line of what is in a container: kg of dry solids; `more`: and an unknown amount besides. */
export interface ContentLine {
  name: string;
  kg: number;
  more: boolean;
}

export interface Contents {
  materials: ContentLine[];
  /** Solids of which the materials are not known: of a recipe without lines, or of nobody knows what. */
  unlisted: ContentLine[];
}

/** A recipe's version as its contents are reckoned from: parts by mass, none where only its density is known. */
export interface KnownRecipe {
  name: string;
  lines: { material: string; parts: number }[];
}

export const recipeKey = ({ id, version }: RecipeVersion): string => `${id}.${version}`;

/** What glaze of no known recipe is called. */
export const OF_SEVERAL = 'Mixed glazes, not known which';

/** Kilograms of each material, the most first; what a recipe does not list stands by the recipe's name. */
export function contentsOf(portions: Portion[], recipes: ReadonlyMap<string, KnownRecipe>): Contents {
  const materials = new Map<string, ContentLine>();
  const unlisted = new Map<string, ContentLine>();
  const add = (to: Map<string, ContentLine>, name: string, kg: number, more: boolean) => {
    const there = to.get(name) ?? { name, kg: 0, more: false };
    to.set(name, { name, kg: there.kg + kg, more: there.more || more });
  };
  for (const { recipe, solidsKg: kg, unmeasuredL } of portions) {
    const more = unmeasuredL > ROUNDING;
    const known = recipe && recipes.get(recipeKey(recipe));
    const parts = (known?.lines ?? []).reduce((sum, line) => sum + line.parts, 0);
    if (known && parts > 0)
      for (const line of known.lines) add(materials, line.material, (kg * line.parts) / parts, more);
    else add(unlisted, known?.name ?? OF_SEVERAL, kg, more);
  }
  const sorted = (lines: Map<string, ContentLine>) =>
    [...lines.values()].sort((a, b) => b.kg - a.kg || (a.name < b.name ? -1 : 1));
  return { materials: sorted(materials), unlisted: sorted(unlisted) };
}

/** The hazards of what is in a container: of every glaze in it as if it were undiluted. */
export interface InIt {
  /** Of the glazes as mixtures: 'STOT RE 2 H373', sorted. */
  classes: string[];
  signalWord: 'Danger' | 'Warning' | null;
  pictograms: string[];
  /** Materials in it that are classified by themselves, whatever their share. */
  classified: string[];
  /** Of which nobody has said whether they are, by name. */
  unknown: string[];
}

/** Whether it may go down a drain only where a local authority has allowed it. */
export const needsPermission = ({ classes, classified, unknown }: InIt): boolean =>
  classes.length > 0 || classified.length > 0 || unknown.length > 0;

/** Portions of one recipe together; those of which nothing is left are dropped. */
function merged(portions: Portion[]): Portion[] {
  const byRecipe = new Map<string, Portion>();
  for (const portion of portions) {
    const key = portion.recipe ? recipeKey(portion.recipe) : '';
    const there = byRecipe.get(key);
    byRecipe.set(
      key,
      there
        ? {
            ...there,
            litres: there.litres + portion.litres,
            solidsKg: there.solidsKg + portion.solidsKg,
            unmeasuredL: there.unmeasuredL + portion.unmeasuredL,
          }
        : portion,
    );
  }
  return kept([...byRecipe.values()]);
}

const kept = (portions: Portion[]): Portion[] =>
  portions.filter((p) => p.litres > ROUNDING || p.solidsKg > ROUNDING || p.unmeasuredL > ROUNDING);

const sane = (portion: Portion): Portion => ({
  recipe: portion.recipe,
  solidsDensity: density(portion.solidsDensity),
  litres: amount(portion.litres),
  solidsKg: amount(portion.solidsKg),
  unmeasuredL: amount(portion.unmeasuredL),
});

function doubted(f: ContainerFacts, number: number, what: Doubt['what']): ContainerFacts {
  return { ...f, doubts: [...f.doubts, { number, what }].slice(-KEEP_DOUBTS) };
}

const total = (portions: Portion[], what: 'litres' | 'solidsKg' | 'unmeasuredL'): number =>
  portions.reduce((sum, portion) => sum + portion[what], 0);

const amount = (value: number): number => (value > 0 ? Math.min(value, ABSURD) : 0);

const density = (value: number): number => (value > WATER_20 && value < 23 ? value : ORDINARY_SOLIDS);

const between = (low: number, value: number, high: number): number => Math.min(Math.max(value, low), high);
