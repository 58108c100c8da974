import { massFractions, type RecipeLine, solidsDensity } from '../materials/recipe.ts';
import { WATER_20 } from './gravity.ts';
import { solidsKg, waterKg } from './slurry.ts';

/** What to weigh for a batch: grams of each line of its recipe, in the recipe's order, and the water. */
export interface BatchPlan {
  grams: number[];
  /** Exactly what the grams sum to. */
  dryKg: number;
  waterLitres: number;
  /** Of the water: poured in only as the reading next day asks for it. */
  heldBackLitres: number;
}

/** Share of the water that is held back (common practice, no source). */
const HELD_BACK = 0.1;
/** g. From here up a line is weighed to whole grams, below to tenths. */
const WHOLE_GRAMS_FROM = 100;
/** Tenths of a gram, in which every amount is a whole number. */
const TENTHS = 10;

/**
 * So many litres of a recipe's slurry at specific gravity `aim`: dry mass D = V·(G − ρ_w)·S/(S − ρ_w), shared out
 * over the lines in proportion to their parts, and water V·G − D.
 *
 * Lines of 100 g and more come in whole grams, lesser ones in tenths; each group is rounded by largest remainder,
 * so that no line is off by a step and the lines sum exactly to `dryKg`, which is within 0.55 g of D.
 * @throws RangeError when litres, aim or recipe cannot be, or a line would come to less than a tenth of a gram
 */
export function planBatch(
  i: { lines: RecipeLine[]; litres: number; aim: number },
  rho = WATER_20,
): BatchPlan {
  const { lines, litres, aim } = i;
  if (!(litres > 0 && Number.isFinite(litres)))
    throw new RangeError('A batch of no litres is nothing to weigh: say how many are wanted.');
  const density = solidsDensity(lines);
  if (!(aim > rho)) throw new RangeError('A glaze is heavier than water: the aim must lie above 1.');
  if (aim >= density)
    throw new RangeError(
      `The dry glaze itself has a density of ${density.toFixed(2)}: the aim must lie below it.`,
    );
  const wanted = 1000 * solidsKg(litres, aim, density, rho);
  const tenths = weighable(massFractions(lines).map((share) => share * wanted));
  const missing = lines[tenths.indexOf(0)];
  if (missing)
    throw new RangeError(
      `So small a batch needs less than a tenth of a gram of ${missing.material}: mix more at once.`,
    );
  const waterLitres = rounded(waterKg(litres, aim, density, rho) / rho);
  return {
    grams: tenths.map((amount) => amount / TENTHS),
    dryKg: tenths.reduce((sum, amount) => sum + amount, 0) / (1000 * TENTHS),
    waterLitres,
    heldBackLitres: rounded(waterLitres * HELD_BACK),
  };
}

/** Grams as a scale can show them, in tenths. */
function weighable(grams: number[]): number[] {
  const isCoarse = (amount: number) => amount >= WHOLE_GRAMS_FROM;
  const coarse = shareOut(grams.filter(isCoarse));
  const fine = shareOut(grams.filter((amount) => !isCoarse(amount)).map((amount) => amount * TENTHS));
  return grams.map((amount) => (isCoarse(amount) ? TENTHS * (coarse.shift() ?? 0) : (fine.shift() ?? 0)));
}

/** Whole numbers that sum to the rounded sum, each within 1 of its amount (method of the largest remainder). */
function shareOut(amounts: number[]): number[] {
  const shares = amounts.map(Math.floor);
  const left = Math.round(sum(amounts)) - sum(shares);
  const byRemainder = amounts
    .map((amount, at) => ({ at, remainder: amount - Math.floor(amount) }))
    .sort((a, b) => b.remainder - a.remainder || a.at - b.at);
  for (const { at } of byRemainder.slice(0, left)) shares[at] = (shares[at] ?? 0) + 1;
  return shares;
}

const sum = (amounts: number[]): number => amounts.reduce((all, amount) => all + amount, 0);

/** Litres to the millilitre; a batch under a litre to a tenth of one. */
const rounded = (litres: number): number => Number(litres.toFixed(litres < 1 ? 4 : 3));

/** How far a batch has come. */
export type BatchStage = 'weighing' | 'to-check' | 'checked' | 'used' | 'abandoned';

export function stageOf(batch: {
  isWeighed: boolean;
  checkedAt: number | null;
  isUsed: boolean;
  abandonedAt: number | null;
}): BatchStage {
  if (batch.abandonedAt !== null) return 'abandoned';
  if (batch.isUsed) return 'used';
  if (batch.checkedAt !== null) return 'checked';
  return batch.isWeighed ? 'to-check' : 'weighing';
}

export const STAGE_WORDS: Record<BatchStage, string> = {
  weighing: 'Being weighed',
  'to-check': 'To be countersigned',
  checked: 'Countersigned',
  used: 'In a bucket',
  abandoned: 'Abandoned',
};

/** Why a batch came to nothing. */
export const ABANDONED = {
  'mis-weighed': 'Mis-weighed',
  'wrong-material': 'Wrong material or lot',
  spoilt: 'Something fell in, or it spoilt',
  'not-needed': 'Not needed any more',
} as const;
export type AbandonReason = keyof typeof ABANDONED;

/** What a bucket's ledger says of batches: a set-up, of a batch or not, or a batch that was blended in. */
export interface BatchMark {
  number: number;
  happenedAt: number;
  kind: 'setup' | 'addition';
  batch: number | null;
}

/** The batches in a bucket after an event: what was put in since the last set-up, oldest first. */
export function batchesAfter(
  marks: BatchMark[],
  event: { number: number; happenedAt: number },
): (BatchMark & { batch: number })[] {
  const before = marks.filter((mark) => compare(mark, event) <= 0).sort(compare);
  const start = before.findLastIndex(({ kind }) => kind === 'setup');
  return before.slice(Math.max(start, 0)).filter((mark) => mark.batch !== null) as (BatchMark & {
    batch: number;
  })[];
}

type Placed = Pick<BatchMark, 'number' | 'happenedAt'>;

const compare = (a: Placed, b: Placed): number => a.happenedAt - b.happenedAt || a.number - b.number;
