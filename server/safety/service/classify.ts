import { findBucket } from '../../buckets/service/index.ts';
import { solidsMassFraction } from '../../buckets/slurry.ts';
import type { Read } from '../../core/actor.ts';
import { Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { MaterialFacts } from '../../materials/facts.ts';
import { label } from '../../materials/hazards.ts';
import { factsOf, findRecipe, type KnownLine, knownLinesOf } from '../../materials/service/index.ts';
import { classify, type Mixture, type MixtureInput } from '../ghs.ts';
import { isOfDust } from '../ghs-mixture.ts';
import { safetySettings } from './settings.ts';

/** One material of a recipe, in percent by mass of the dry glaze. */
export interface MixtureLine {
  materialId: number;
  name: string;
  percent: number;
  classification: MaterialFacts['classification'];
  /** 'STOT RE 1 H372', as its own sheet says it. */
  classes: string[];
  source: string;
}

/** A recipe as a dry mixture: the wet bucket is labelled the same. */
export interface RecipeMixture extends Mixture {
  lines: MixtureLine[];
}

const NOT_LISTED = 'What this glaze is made of is not listed here: nothing could be worked out.';
/** Decimals of a percentage: shares are sums of typed numbers, and what meets a limit by pencil must meet it here. */
const DECIMALS = 12;

/** A recipe as it was mixed. */
export interface MixedRecipe {
  id: number;
  version: number;
}

/** The classes of a recipe's dry mixture by the studio's rules, from what is known of its materials now. */
export async function mixtureOf(read: Read, recipe: MixedRecipe): Promise<RecipeMixture> {
  const [mixture] = await mixturesOf(read, [recipe]);
  return mixture as RecipeMixture;
}

/** The same of several recipes, in the order they were asked for. */
export async function mixturesOf(read: Read, recipes: readonly MixedRecipe[]): Promise<RecipeMixture[]> {
  mustBeAllowed(read.actor, 'safety.see');
  const [{ rules }, known] = await Promise.all([safetySettings(read), knownLinesOf(read, recipes)]);
  return known.map((lines) => mixtureIn(lines, rules));
}

function mixtureIn(lines: readonly KnownLine[], rules: Mixture['rules']): RecipeMixture {
  const total = lines.reduce((sum, { parts }) => sum + parts, 0);
  const shares = lines.map((line) => Number(((100 * line.parts) / total).toFixed(DECIMALS)));
  const ingredients = lines.map(({ name, facts }, at) => ({
    name,
    percent: shares[at] ?? 0,
    classes: facts.classification === 'unknown' ? null : facts.hazards,
    ate: facts.ate,
  }));
  const mixture = classify({ rules, ingredients });
  return {
    ...mixture,
    unknown: lines.length === 0 ? [NOT_LISTED] : mixture.unknown,
    lines: lines.map((line, at) => lineOf(line, shares[at] ?? 0)),
  };
}

const lineOf = ({ materialId, name, facts }: KnownLine, percent: number): MixtureLine => ({
  materialId,
  name,
  percent,
  classification: facts.classification,
  classes: facts.hazards.map(({ hazardClass, hCode }) => `${hazardClass} ${hCode}`),
  source: facts.source,
});

/** A material as it comes in its bag: the classes that its sheet gives, by no arithmetic. */
export async function mixtureOfSubstance(read: Read, materialId: number): Promise<RecipeMixture> {
  mustBeAllowed(read.actor, 'safety.see');
  const [{ rules }, facts] = await Promise.all([safetySettings(read), factsOf(read, materialId)]);
  const because = [facts.source === '' ? 'As the register has it' : facts.source];
  const classes = facts.hazards.map((entry) => ({
    hazardClass: entry.hazardClass,
    hCode: entry.hCode,
    because,
    dustOnly: isOfDust(entry),
  }));
  const unknown = facts.classification === 'unknown' ? ['No classification is known of this material.'] : [];
  return { rules, classes, ...label(classes), supplement: [], unknown, notes: [], acute: [], lines: [] };
}

/** What a page on the hazards of a recipe or a bucket shows. */
export interface Hazards {
  name: string;
  recipe: { id: number; version: number; latest: number };
  mixture: RecipeMixture;
  /** The bucket that it is about. */
  bucket: { code: string; name: string } | null;
  /** Mass of dry glaze in the slurry, 0 to 1, at the bucket's gravity; null where that is not known. */
  solids: { fraction: number; gravity: number } | null;
}

/** @throws NotFound for a recipe or a version that is not there */
export async function hazardsOfRecipe(read: Read, id: number, version?: number): Promise<Hazards> {
  const { current, versions } = await findRecipe(read, id, version);
  const latest = versions[0]?.version ?? current.version;
  const mixture = await mixtureOf(read, { id, version: current.version });
  return {
    name: current.name,
    recipe: { id, version: current.version, latest },
    mixture,
    bucket: null,
    solids: null,
  };
}

/** What is in a bucket now; null in place of the hazards where it was never set up. */
export async function hazardsOfBucket(
  read: Read,
  code: string,
): Promise<{ bucket: { code: string; name: string }; hazards: Hazards | null }> {
  const found = await findBucket(read, code);
  const bucket = { code: found.code, name: found.name };
  const { recipe, gravity, solidsDensity } = found.facts;
  if (recipe === null) return { bucket, hazards: null };
  const hazards = await hazardsOfRecipe(read, recipe.id, recipe.version);
  const fraction = gravity === null ? Number.NaN : solidsMassFraction(gravity, solidsDensity);
  const solids = gravity !== null && fraction > 0 && fraction <= 1 ? { fraction, gravity } : null;
  return { bucket, hazards: { ...hazards, bucket, solids } };
}

/** The classes of any mixture, for a program that asks; what is no mixture is refused in words. */
export function classifyMixture(read: Read, input: MixtureInput): Mixture {
  mustBeAllowed(read.actor, 'safety.see');
  try {
    return classify(input);
  } catch (error) {
    if (error instanceof RangeError) throw new Invalid([{ path: 'ingredients', message: error.message }]);
    throw error;
  }
}
