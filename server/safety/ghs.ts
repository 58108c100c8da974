import { HAZARD_CLASSES, type Label, label } from '../materials/hazards.ts';
import { type AcuteMixture, acute } from './ghs-acute.ts';
import { byCutOff, elicitation } from './ghs-cut-offs.ts';
import {
  type AirForm,
  type Found,
  type Ingredient,
  isExtremePh,
  kindOf,
  listed,
  type RuleSet,
  SLACK,
  share,
} from './ghs-mixture.ts';
import { aquatic, aspiration, skinAndEyes, transient } from './ghs-sums.ts';

export type { AcuteMixture } from './ghs-acute.ts';
export type { Found, Ingredient, RuleSet } from './ghs-mixture.ts';

export interface MixtureInput {
  rules: RuleSet;
  ingredients: readonly Ingredient[];
  /** What is breathed in when the mixture is; dust or mist if not said. */
  form?: AirForm | undefined;
  /** Of the mixture. */
  pH?: number | undefined;
  /** False: titration shows little acid or alkali behind an extreme pH. */
  buffered?: boolean | undefined;
  /** Kinematic, mm²/s at 40 °C. */
  viscosity?: number | undefined;
}

export interface Mixture extends Label {
  rules: RuleSet;
  /** In the order of `HAZARD_CLASSES`, one of a kind; acute toxicity one a route, STOT SE 3 one an effect. Beside
   * STOT 1 stands STOT 2 for other organs, beside Carc. 1 by inhalation Carc. 2 by any route. */
  classes: Found[];
  /** Sentences that a label adds beside those of its classes: EUH208, and the share of unknown acute toxicity. */
  supplement: string[];
  /** Sentences on what is not known, and so not in the result. */
  unknown: string[];
  /** Sentences on what was worked out and makes no class, or is not worked out from shares at all. */
  notes: string[];
  acute: AcuteMixture[];
}

const ORDER = Object.keys(HAZARD_CLASSES);

/**
 * The hazard classes of a mixture from the shares and classes of its ingredients, by the UN GHS (`un`), Regulation (EC)
 * 1272/2008 Annex I (`eu-clp`) or 29 CFR 1910.1200 Appendix A (`us-hazcom`), with the arithmetic that led to each.
 * Independent of the order of the ingredients. Shares are percent by mass; what they leave of 100 is taken as harmless and
 * reported. Every limit is "≥": one share alone is held against it exactly as the number given, sums and quotients may
 * fall short by 10⁻⁹ of the limit, which is rounding. A limit of the ingredient's own overrides the generic one by every
 * set of rules. Physical hazards do not follow from shares and are named only.
 * @throws RangeError for shares below 0 or over 100 in sum, a class not known here, a limit that is no share, an
 *   M-factor, viscosity or estimate that is not above zero, or what is no pH
 */
export function classify(input: MixtureInput): Mixture {
  const { rules, form = 'dust-mist', pH, buffered, viscosity } = input;
  if (pH !== undefined && !(pH >= -2 && pH <= 16)) throw new RangeError(`${pH} is no pH.`);
  if (viscosity !== undefined && !(viscosity > 0)) throw new RangeError('The viscosity must be above zero.');
  const ingredients = listed(input.ingredients);
  const toxicity = acute(ingredients, rules, form);
  const classes = [
    ...toxicity.found,
    ...skinAndEyes(ingredients, { rules, pH, buffered }),
    ...byCutOff(ingredients, rules, form),
    ...transient(ingredients),
    ...aspiration(ingredients, rules, viscosity),
    ...aquatic(ingredients, rules),
  ].sort(
    (a, b) =>
      ORDER.indexOf(a.hazardClass) - ORDER.indexOf(b.hazardClass) ||
      (a.hCode < b.hCode ? -1 : a.hCode > b.hCode ? 1 : 0),
  );

  const unknown = ingredients
    .filter(({ known }) => !known)
    .map(({ name, percent }) => `${name}, ${share(percent)}: no classification is known.`);
  const rest = 100 - ingredients.reduce((sum, { percent }) => sum + percent, 0);
  if (ingredients.length > 0 && rest > 100 * SLACK)
    unknown.push(`${share(rest)} of the mixture is not listed and was taken as harmless.`);

  const notes = [...toxicity.notes];
  const isOf = (kinds: string[]) => (one: { hazardClass: string }) =>
    kinds.includes(kindOf(one.hazardClass) ?? '');
  for (const { name, entries } of ingredients) {
    const physical = entries.filter(isOf(['physical'])).map(({ hazardClass }) => hazardClass);
    if (physical.length > 0)
      notes.push(
        `${name} is ${physical.join(', ')}: physical hazards of a mixture are tested, not worked out.`,
      );
  }
  const inWater = isOf(['aquatic-acute', 'aquatic-chronic', 'ozone']);
  if (rules === 'us-hazcom' && ingredients.some(({ entries }) => entries.some(inWater)))
    notes.push('Hazards to water and the ozone layer are outside these rules and are not worked out.');
  if (isExtremePh(pH) && buffered === false)
    notes.push('The pH is extreme, with little acid or alkali behind it: the shares decide.');
  return {
    rules,
    classes,
    ...label(classes),
    supplement: [...elicitation(ingredients, rules, form), ...toxicity.unknown],
    unknown: [...unknown, ...toxicity.unknown],
    notes,
    acute: toxicity.mixtures,
  };
}
