/** Whose limits for lead and cadmium that ware gives off. */
export const LEACH_RULES = ['us-fda', 'eu-84-500', 'iso-6486-2'] as const;
export type LeachRules = (typeof LEACH_RULES)[number];

export const RULES_WORDS: Record<LeachRules, string> = {
  'us-fda': 'US FDA compliance guides',
  'eu-84-500': 'EU 84/500/EEC',
  'iso-6486-2': 'ISO 6486-2',
};

/** What a vessel is for decides before its measures do; `other` is any that is only eaten from or looked at. */
export const WARE_SHAPES = [
  'plate',
  'bowl',
  'cup',
  'mug',
  'pitcher',
  'storage',
  'cookware',
  'flatware',
  'hollowware',
  'other',
] as const;
export type WareShape = (typeof WARE_SHAPES)[number];

export interface Ware {
  shape: WareShape;
  /** From the inside of the bottom to the plane of the overflow, mm; 0 for what cannot be filled. */
  internalDepthMm: number;
  /** What it holds to the brim, mL. */
  volumeMl: number;
  /** Glazed surface that the acid stood on, dm²; with the volume it turns mg/L into mg/dm² and back. */
  areaDm2?: number | undefined;
}

export const LEACH_UNITS = ['mg/L', 'mg/dm2'] as const;
export type LeachUnit = (typeof LEACH_UNITS)[number];
export const UNIT_WORDS: Record<LeachUnit, string> = { 'mg/L': 'mg/L', 'mg/dm2': 'mg/dm²' };

export const METALS = ['lead', 'cadmium'] as const;
export type Metal = (typeof METALS)[number];

/**
 * How samples are held against a limit: the mean of all; each one; or each one, where one may be over by half if three
 * more are not on average.
 */
type Manner = 'mean' | 'each' | 'each-or-three-more';

interface Limit {
  mg: number;
  manner: Manner;
}

export interface Category {
  key: string;
  words: string;
  unit: LeachUnit;
  /** How many samples the rules want; the European ones ask for one and, where it is over, for three more. */
  samples: number;
  limits: Record<Metal, Limit>;
}

export interface MetalJudgement {
  pass: boolean;
  /** The sample that decides, counted from 1 as they were given; null where their mean does. */
  sample: number | null;
  /** Its figure, or the mean, in the unit of the limit. */
  value: number;
  limit: number;
  words: string;
}

export interface LeachJudgement {
  category: Category;
  /** By the figures that there are. */
  pass: boolean;
  /** There are as many samples of both metals as the rules want. */
  complete: boolean;
  deciding: { metal: Metal } & MetalJudgement;
  lead: MetalJudgement;
  cadmium: MetalJudgement;
  words: string;
}

/** What the figures cannot be judged by, beside the field at fault. */
export class LeachError extends Error {
  readonly path: string;
  constructor(path: string, message: string) {
    super(message);
    this.path = path;
  }
}

/** Flatware is no deeper than this, in all three rule sets (84/500/EEC Art. 2; CPG 545.400; ISO 6486-2). */
const FLAT_MM = 25;
/** From here on hollowware is large (CPG 545.400; ISO 6486-2). */
const LARGE_ML = 1100;
/** A storage vessel is judged more strictly: in Europe above this, by ISO from it on. */
const STORAGE_ML = 3000;

const pair = (lead: number, cadmium: number, manner: Manner) => ({
  lead: { mg: lead, manner },
  cadmium: { mg: cadmium, manner },
});

/** 84/500/EEC Art. 2 and Annex I. */
function european({ shape, internalDepthMm, volumeMl }: Ware): Category {
  const by = { samples: 1, unit: 'mg/L' } as const;
  if (shape === 'cookware' || (shape === 'storage' && volumeMl > STORAGE_ML))
    return {
      ...by,
      key: 'category-3',
      words: 'Category 3: cookware, or a storage vessel of more than 3 L',
      limits: pair(1.5, 0.1, 'each-or-three-more'),
    };
  if (internalDepthMm <= FLAT_MM)
    return {
      key: 'category-1',
      words: 'Category 1: cannot be filled, or no deeper than 25 mm',
      samples: 1,
      unit: 'mg/dm2',
      limits: pair(0.8, 0.07, 'each-or-three-more'),
    };
  return {
    ...by,
    key: 'category-2',
    words: 'Category 2: all other ware that can be filled',
    limits: pair(4, 0.3, 'each-or-three-more'),
  };
}

/**
 * Lead: Food Code 4-101.13, whose figures are those of CPG 545.450 (its averaging from memory). Cadmium:
 * CPG 545.400, which knows no cups and pitchers: they count by their volume.
 */
function american({ shape, internalDepthMm, volumeMl }: Ware): Category {
  const by = { unit: 'mg/L', samples: 6 } as const;
  const isLarge = volumeMl >= LARGE_ML;
  const cadmium: Limit = { mg: isLarge ? 0.25 : 0.5, manner: 'each' };
  const lead = (mg: number) => ({ lead: { mg, manner: 'each' }, cadmium }) as const;
  if (shape === 'cup' || shape === 'mug')
    return { ...by, key: 'cups-and-mugs', words: 'Cups and mugs', limits: lead(0.5) };
  if (shape === 'pitcher') return { ...by, key: 'pitchers', words: 'Pitchers', limits: lead(0.5) };
  if (internalDepthMm <= FLAT_MM)
    return {
      ...by,
      key: 'flatware',
      words: 'Flatware: no deeper than 25 mm',
      limits: pair(3, 0.5, 'mean'),
    };
  return isLarge
    ? { ...by, key: 'large-hollowware', words: 'Large hollowware: 1.1 L and more', limits: lead(1) }
    : { ...by, key: 'small-hollowware', words: 'Small hollowware: below 1.1 L', limits: lead(2) };
}

/** ISO 6486-2:1999; storage, cups and cookware, and that a mean of four counts for flatware, from memory. */
function international({ shape, internalDepthMm, volumeMl }: Ware): Category {
  const by = { unit: 'mg/L', samples: 4 } as const;
  if (shape === 'cookware')
    return { ...by, key: 'cookware', words: 'Cookware', limits: pair(0.5, 0.05, 'each') };
  if (shape === 'cup' || shape === 'mug')
    return { ...by, key: 'cups-and-mugs', words: 'Cups and mugs', limits: pair(0.5, 0.25, 'each') };
  if (shape === 'storage' && volumeMl >= STORAGE_ML)
    return {
      ...by,
      key: 'storage-hollowware',
      words: 'Storage hollowware: 3 L and more',
      limits: pair(0.5, 0.25, 'each'),
    };
  if (internalDepthMm <= FLAT_MM)
    return {
      key: 'flatware',
      words: 'Flatware: no deeper than 25 mm',
      samples: 4,
      unit: 'mg/dm2',
      limits: pair(0.8, 0.07, 'mean'),
    };
  return volumeMl >= LARGE_ML
    ? {
        ...by,
        key: 'large-hollowware',
        words: 'Large hollowware: 1.1 L and more',
        limits: pair(1, 0.25, 'each'),
      }
    : {
        ...by,
        key: 'small-hollowware',
        words: 'Small hollowware: below 1.1 L',
        limits: pair(2, 0.5, 'each'),
      };
}

/** What kind of ware a vessel is by one set of rules, with the limits for it. */
export function categoryOf(rules: LeachRules, ware: Ware): Category {
  if (rules === 'eu-84-500') return european(ware);
  return rules === 'us-fda' ? american(ware) : international(ware);
}

/**
 * A figure in the unit of the limit. What came out of one surface, in mg, stands in the volume above it:
 * mg/dm² = mg/L × L ÷ dm².
 * @throws LeachError where area or volume, which that takes, is not known
 */
function inUnit(value: number, unit: LeachUnit, category: Category, { volumeMl, areaDm2 }: Ware): number {
  if (unit === category.unit) return value;
  if (areaDm2 === undefined || areaDm2 <= 0 || volumeMl <= 0)
    throw new LeachError(
      'unit',
      `Here the limit is in ${UNIT_WORDS[category.unit]}. Figures in ${UNIT_WORDS[unit]} need the glazed area and the volume of the acid as well.`,
    );
  const litresADm2 = volumeMl / 1000 / areaDm2;
  return category.unit === 'mg/dm2' ? value * litresADm2 : value / litresADm2;
}

/** "Does not exceed", where sums of decimals end a hair beside the figure that they stand for. */
const within = (value: number, limit: number): boolean => value <= limit * (1 + 1e-9);

const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length;

const figure = (value: number): string => String(Number(value.toPrecision(3)));

/** Europe forgives an article so much over the limit where three more are not on average (84/500/EEC Annex I). */
const FORGIVEN = 1.5;
const FURTHER_ARTICLES = 3;

function judgeMetal(
  values: readonly number[],
  { mg: limit, manner }: Limit,
  unit: LeachUnit,
): MetalJudgement {
  const amount = (value: number) => `${figure(value)} ${UNIT_WORDS[unit]}`;
  if (manner === 'mean') {
    const value = mean(values);
    const pass = within(value, limit);
    const words = `The mean of ${values.length} is ${amount(value)}: ${pass ? 'not over' : 'over'} ${amount(limit)}.`;
    return { pass, sample: null, value, limit, words };
  }
  const value = Math.max(...values);
  const sample = values.indexOf(value) + 1;
  const decides = { sample, value, limit };
  const said = `Sample ${sample} gave off ${amount(value)}`;
  if (within(value, limit))
    return { ...decides, pass: true, words: `${said}, the highest: not over ${amount(limit)}.` };
  if (manner === 'each' || !within(value, limit * FORGIVEN)) {
    const far = manner === 'each' ? '' : ' by more than half';
    return { ...decides, pass: false, words: `${said}: over ${amount(limit)}${far}.` };
  }
  // The first that was over is the article in question; all others are the further ones.
  const at = values.findIndex((one) => !within(one, limit));
  const asked = values[at] as number;
  const others = values.filter((_, i) => i !== at);
  if (others.length < FURTHER_ARTICLES)
    return {
      ...decides,
      pass: false,
      words: `${said}: over ${amount(limit)}, though by less than half. It passes if at least three more of the same do not exceed the limit on average, none of them by more than half.`,
    };
  const average = mean(others);
  if (within(average, limit))
    return {
      ...decides,
      pass: true,
      words: `Sample ${at + 1} gave off ${amount(asked)}: over ${amount(limit)}, though by less than half. The other ${others.length} average ${amount(average)}: not over it.`,
    };
  return {
    pass: false,
    sample: null,
    value: average,
    limit,
    words: `Sample ${at + 1} gave off ${amount(asked)} and the other ${others.length} average ${amount(average)}: over ${amount(limit)}.`,
  };
}

export interface LeachAsked {
  rules: LeachRules;
  ware: Ware;
  /** What each sample gave off, in `unit` and in the order of the tests, at least one of each metal, none below 0. */
  lead: readonly number[];
  cadmium: readonly number[];
  unit: LeachUnit;
}

/**
 * Judges a laboratory's figures for one glaze on one kind of ware: 4 % acetic acid, 22 °C, 24 h.
 * @returns the category with its limits, and whether the figures pass, by whichever of the two metals is nearest to
 * its limit or farthest over it
 * @throws LeachError where figures of the wrong unit cannot be turned into that of the limit
 * @throws RangeError without samples, or with one that is no amount
 */
export function leach({ rules, ware, lead, cadmium, unit }: LeachAsked): LeachJudgement {
  const category = categoryOf(rules, ware);
  const judged = (values: readonly number[], metal: Metal): MetalJudgement => {
    if (values.length === 0 || values.some((value) => !Number.isFinite(value) || value < 0))
      throw new RangeError(`No amounts of ${metal}.`);
    return judgeMetal(
      values.map((value) => inUnit(value, unit, category, ware)),
      category.limits[metal],
      category.unit,
    );
  };
  const results = { lead: judged(lead, 'lead'), cadmium: judged(cadmium, 'cadmium') };
  const pass = results.lead.pass && results.cadmium.pass;
  const fewest = Math.min(lead.length, cadmium.length);
  const complete = fewest >= category.samples;
  const share = ({ pass: ok, value, limit }: MetalJudgement) => (ok ? 0 : 1e9) + value / limit;
  const metal: Metal = share(results.cadmium) > share(results.lead) ? 'cadmium' : 'lead';
  return {
    category,
    pass,
    complete,
    deciding: { metal, ...results[metal] },
    ...results,
    words: pass
      ? complete
        ? 'Passes.'
        : `Nothing is over its limit so far, but the rules want ${category.samples} samples and there ${fewest === 1 ? 'is' : 'are'} ${fewest}.`
      : `Does not pass: ${metal}.`,
  };
}
