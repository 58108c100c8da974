import type { AcuteEstimates, HazardEntry } from '../materials/facts.ts';
import { HAZARD_CLASSES, type HazardKind, isHazard } from '../materials/hazards.ts';

// What the parts of the classification share: ingredients in order, sums held against limits, and words for them.

/** Whose cut-offs a mixture is classified by. */
export type RuleSet = 'un' | 'eu-clp' | 'us-hazcom';

/** What is breathed in when a mixture is breathed in. */
export type AirForm = 'gas' | 'vapour' | 'dust-mist';

export interface Ingredient {
  name: string;
  cas?: string | undefined;
  /** Percent by mass of the mixture. */
  percent: number;
  /** Null: nobody has said. Empty: said to be not classified. */
  classes: readonly HazardEntry[] | null;
  ate?: AcuteEstimates | undefined;
  /** Of the ingredient by itself; 2 and below or 11.5 and above make it an acid or a base, whose share is not added. */
  pH?: number | undefined;
  /** False: known to irritate or corrode at shares that sums do not foresee (phenols, aldehydes, some salts). */
  additive?: boolean | undefined;
}

/** One class of the mixture, with the arithmetic that led there. */
export interface Found {
  hazardClass: string;
  hCode: string;
  because: string[];
  /** Of the STOT classes: organs, or the route, as the sheets of the ingredients word it. */
  organs?: string;
  /** Reaches a person through the air only: at mixing, sanding, spraying, cleaning up what has dried. */
  dustOnly: boolean;
}

export interface Listed {
  name: string;
  percent: number;
  entries: readonly HazardEntry[];
  known: boolean;
  ate: AcuteEstimates;
  additive: boolean;
  extreme: boolean;
}

/** Sums and divisions may end this little off a limit that they meet by pencil; single shares are taken exactly. */
export const SLACK = 1e-9;

const isExtreme = (pH: number | undefined): boolean => pH !== undefined && (pH <= 2 || pH >= 11.5);

export { isExtreme as isExtremePh };

const WRONG_SHARE = 'is no share: percent by mass, from 0 to 100.';

/**
 * The ingredients checked and in an order of their own: the largest share first. The same ingredient listed twice (the
 * same CAS number, else the same name, and the same classes) is one with the shares added; none of it is left out.
 * @throws RangeError for a share below 0 or over 100 % in sum, a class that is not known here, a limit
 *   that is no share, an M-factor or acute toxicity estimate that is not above zero, or a pH outside −2 to 16
 */
export function listed(ingredients: readonly Ingredient[]): Listed[] {
  const byKey = new Map<string, Listed>();
  for (const ingredient of ingredients) check(ingredient);
  // In the order of their shares, so that shares added up do not depend on the order they came in.
  for (const ingredient of [...ingredients].sort((a, b) => a.percent - b.percent)) {
    const { name, cas, percent, classes, ate = {}, pH, additive = true } = ingredient;
    if (percent === 0) continue;
    const key = JSON.stringify([cas ?? name.toLowerCase(), classes, ate, isExtreme(pH), additive]);
    const same = byKey.get(key);
    byKey.set(key, {
      name: same && same.name < name ? same.name : name,
      percent: same ? Number((same.percent + percent).toPrecision(14)) : percent,
      entries: classes ?? [],
      known: classes !== null,
      ate,
      additive: additive && !isExtreme(pH),
      extreme: isExtreme(pH),
    });
  }
  const all = [...byKey.entries()].sort(
    ([keyA, a], [keyB, b]) => b.percent - a.percent || (keyA < keyB ? -1 : keyA > keyB ? 1 : 0),
  );
  const sum = all.reduce((total, [, { percent }]) => total + percent, 0);
  if (sum > 100 * (1 + SLACK)) throw new RangeError(`The shares sum to ${figure(sum)} %: at most 100 %.`);
  return all.map(([, one]) => one);
}

function check({ name, percent, classes, ate = {}, pH }: Ingredient): void {
  if (!(percent >= 0 && percent <= 100 * (1 + SLACK)))
    throw new RangeError(`${name}: ${percent} ${WRONG_SHARE}`);
  for (const { hazardClass, hCode, limitPercent, ranges = [], mFactor } of classes ?? []) {
    for (const one of [{ hazardClass, hCode }, ...ranges])
      if (!isHazard(one.hazardClass, one.hCode))
        throw new RangeError(`${name}: ${one.hazardClass} with ${one.hCode} is no hazard class known here.`);
    mustBeShare(`${name}: the limit of ${hazardClass}`, limitPercent);
    mustBePositive(`${name}: the M-factor of ${hazardClass}`, mFactor);
    for (const range of ranges) mustBeShare(`${name}: the limit of ${range.hazardClass}`, range.fromPercent);
  }
  mustBePositive(`${name}: the acute toxicity estimate, oral,`, ate.oral);
  mustBePositive(`${name}: the acute toxicity estimate, dermal,`, ate.dermal);
  mustBePositive(`${name}: the acute toxicity estimate, inhalation,`, ate.inhalation?.value);
  if (pH !== undefined && !(pH >= -2 && pH <= 16)) throw new RangeError(`${name}: ${pH} is no pH.`);
}

/** A limit of 0: any share of it at all. */
function mustBeShare(what: string, value: number | undefined): void {
  if (value !== undefined && !(value >= 0 && value <= 100)) throw new RangeError(`${what} ${WRONG_SHARE}`);
}

function mustBePositive(what: string, value: number | undefined): void {
  if (value !== undefined && !(value > 0 && Number.isFinite(value)))
    throw new RangeError(`${what} must be above zero.`);
}

export const kindOf = (hazardClass: string): HazardKind | undefined => HAZARD_CLASSES[hazardClass]?.kind;
export const rankOf = (hazardClass: string): number => HAZARD_CLASSES[hazardClass]?.rank ?? Infinity;

/** The ranges of one kind that a list sets for this very ingredient, beside whichever class they are noted. */
export const ownRanges = ({ entries }: Listed, kind: HazardKind) =>
  entries.flatMap(({ ranges = [] }) => ranges).filter(({ hazardClass }) => kindOf(hazardClass) === kind);

/** One share in a sum: percent × factor against the sum's limit, or percent against a limit of its own. */
export interface Term {
  name: string;
  percent: number;
  factor: number;
  mFactor?: number;
  /** Percent; counts as percent ÷ own limit, where the others count as percent × factor ÷ the sum's limit. */
  own?: number | undefined;
}

/**
 * How a sum reaches its limit, in words; null where it does not. One share alone is held against the limit exactly;
 * a sum of several may fall short of it by 10⁻⁹ of the limit, which is rounding, not less of anything.
 */
export function reached(terms: readonly Term[], limit: number, becomes: string): string | null {
  if (terms.length === 0) return null;
  const [only] = terms;
  if (only && terms.length === 1) {
    const weight = only.factor * (only.mFactor ?? 1);
    const { name, percent, own } = only;
    if (own !== undefined)
      return percent >= own ? `${name} ${share(percent)} ≥ ${share(own)}, its own limit → ${becomes}` : null;
    if (!(percent * weight >= limit || percent >= limit / weight)) return null;
    if (weight === 1) return `${name} ${share(percent)} ≥ ${share(limit)} → ${becomes}`;
    return `${written(only)} = ${figure(percent * weight)} ≥ ${figure(limit)} → ${becomes}`;
  }
  const hasOwn = terms.some(({ own }) => own !== undefined);
  const parts = terms.map(({ percent, factor, mFactor = 1, own }) =>
    own !== undefined
      ? percent / own
      : hasOwn
        ? (percent * factor * mFactor) / limit
        : percent * factor * mFactor,
  );
  const total = parts.reduce((sum, part) => sum + part, 0);
  const aim = hasOwn ? 1 : limit;
  if (total < aim * (1 - SLACK)) return null;
  const words = hasOwn ? terms.map((term) => quotient(term, limit)).join(' + ') : grouped(terms);
  return `${words} = ${figure(total)} ≥ ${figure(aim)} → ${becomes}`;
}

function written({ name, percent, factor, mFactor = 1 }: Term): string {
  const amount = `${name} ${share(percent)}${mFactor === 1 ? '' : ` × M ${figure(mFactor)}`}`;
  return factor === 1 ? amount : `${figure(factor)} × ${amount}`;
}

const quotient = ({ name, percent, factor, mFactor = 1, own }: Term, limit: number): string =>
  `${name} ${share(percent)} ÷ ${share(own ?? limit / (factor * mFactor))}`;

function grouped(terms: readonly Term[]): string {
  const factors = [...new Set(terms.map(({ factor }) => factor))].sort((a, b) => b - a);
  return factors
    .map((factor) => {
      const same = terms.filter((term) => term.factor === factor);
      const words = same.map((term) => written({ ...term, factor: 1 })).join(' + ');
      if (factor === 1) return words;
      return same.length === 1 ? `${figure(factor)} × ${words}` : `${figure(factor)} × (${words})`;
    })
    .join(' + ');
}

const digits = (most: number) => new Intl.NumberFormat('en-GB', { maximumSignificantDigits: most });
const FEW = digits(4);
const ALL = digits(12);

/**
 * A figure as the arithmetic shows it: four significant digits, and the whole of a larger number; all of it where four
 * would round it to what looks like a limit.
 */
export function figure(value: number): string {
  const rounded = Number(value.toPrecision(4));
  const looksLikeLimit = rounded !== value && rounded === Number(value.toPrecision(2));
  if (looksLikeLimit) return ALL.format(value);
  return Math.abs(value) >= 10_000 ? ALL.format(Math.round(value)) : FEW.format(value);
}

export const share = (percent: number): string => `${figure(percent)} %`;

const IN_AIR = ['H330', 'H331', 'H332', 'H333', 'H334', 'H335', 'H350i'];

/** Whether what this entry warns of is breathed in and comes no other way. */
export const isOfDust = ({ hCode, note = '' }: { hCode: string; note?: string | undefined }): boolean =>
  IN_AIR.includes(hCode) || /inhal|respirab|breath|\bdust\b/i.test(note);
