import {
  type AirForm,
  type Found,
  figure,
  kindOf,
  type Listed,
  type RuleSet,
  rankOf,
  SLACK,
  share,
} from './ghs-mixture.ts';

type Route = 'oral' | 'dermal' | 'inhalation';
type Scale = 'oral' | 'dermal' | AirForm;

/** What the shares and estimates of the ingredients come to by one route, whether or not it makes a class. */
export interface AcuteMixture {
  route: Route;
  /** mg/kg; by inhalation ppmV (gas) or mg/L in 4 h. */
  ate: number;
  unit: 'mg/kg' | 'ppmV' | 'mg/L';
  hazardClass: string | null;
  /** Percent of the mixture in ingredients of unknown toxicity by this route. */
  unknownPercent: number;
}

interface Acute {
  found: Found[];
  mixtures: AcuteMixture[];
  notes: string[];
  unknown: string[];
}

/** Upper ends of categories 1, 2 … : CLP Annex I table 3.1.1; category 5 of the UN from memory, used with 'un' only. */
const UPPER: Readonly<Record<Scale, readonly number[]>> = {
  oral: [5, 50, 300, 2000, 5000],
  dermal: [50, 200, 1000, 2000, 5000],
  gas: [100, 500, 2500, 20_000],
  vapour: [0.5, 2, 10, 20],
  'dust-mist': [0.05, 0.5, 1, 5],
};

/** What stands for a category where no figure is known: UN GHS table 3.1.2; category 5 from memory. */
const CONVERTED: Readonly<Record<Scale, readonly number[]>> = {
  oral: [0.5, 5, 100, 500, 2500],
  dermal: [5, 50, 300, 1100, 2500],
  gas: [10, 100, 700, 4500],
  vapour: [0.05, 0.5, 3, 11],
  'dust-mist': [0.005, 0.05, 0.5, 1.5],
};

const CODES: Readonly<Record<Route, readonly string[]>> = {
  oral: ['H300', 'H300', 'H301', 'H302', 'H303'],
  dermal: ['H310', 'H310', 'H311', 'H312', 'H313'],
  inhalation: ['H330', 'H330', 'H331', 'H332', 'H333'],
};

const ROUTES: readonly Route[] = ['oral', 'dermal', 'inhalation'];
const WORDS: Readonly<Record<Route, string>> = {
  oral: 'swallowed',
  dermal: 'on the skin',
  inhalation: 'inhaled',
};

const UNIT = { oral: 'mg/kg', dermal: 'mg/kg', gas: 'ppmV', vapour: 'mg/L', 'dust-mist': 'mg/L' } as const;

/** Shares below are left out, those of categories 1 to 3 from a tenth of it (CLP Annex I table 1.1). */
const RELEVANT = 1;
const RELEVANT_TOXIC = 0.1;
/** Percent of unknown toxicity beyond which the rest speaks for itself alone (UN GHS 3.1.3.6.2.3). */
const MUCH_UNKNOWN = 10;

/** The last category that these rules know: the fifth is the UN's own. */
const lastOf = (rules: RuleSet): number => (rules === 'un' ? 5 : 4);

/** The category, 1 the most severe, of an estimate on a scale; null beyond the last that the rules know. */
function categoryOf(value: number, scale: Scale, rules: RuleSet): number | null {
  const at = UPPER[scale].slice(0, lastOf(rules)).findIndex((upper) => value <= upper * (1 + SLACK));
  return at < 0 ? null : at + 1;
}

interface Estimate {
  name: string;
  percent: number;
  value: number;
  category: number;
  /** Set where a category's figure stands for an estimate that is not known. */
  stands: string | null;
}

/** What one ingredient brings into the sum; null: nothing, for it is known to be harmless enough. */
function estimateOf(one: Listed, route: Route, form: AirForm, rules: RuleSet): Estimate | null | 'unknown' {
  const { name, percent, entries, known, ate } = one;
  const scale = route === 'inhalation' ? form : route;
  const ranks = entries
    .filter((entry) => kindOf(entry.hazardClass) === 'acute' && CODES[route].includes(entry.hCode))
    .map((entry) => rankOf(entry.hazardClass))
    .filter((rank) => rank <= lastOf(rules));
  const stated = ranks.length > 0 ? Math.min(...ranks) : null;
  const given =
    route === 'inhalation'
      ? ate.inhalation && { value: ate.inhalation.value, scale: ate.inhalation.form }
      : ate[route] && { value: ate[route], scale: route };
  if (!given && stated === null) return known ? null : 'unknown';
  const measured = given ? categoryOf(given.value, given.scale, rules) : null;
  const category = Math.min(measured ?? Infinity, stated ?? Infinity);
  if (category === Infinity) return null;
  if (given && given.scale === scale && measured === category)
    return { name, percent, value: given.value, category, stands: null };
  const value = CONVERTED[scale][category - 1];
  if (value === undefined) return null;
  const stands = `${name}: ${figure(value)} ${UNIT[scale]} stands for Acute Tox. ${category}`;
  return { name, percent, value, category, stands };
}

/**
 * Acute toxicity by the additivity of acute toxicity estimates (ATE), each route for itself:
 * 100 ÷ ATEmix = Σ shareᵢ ÷ ATEᵢ, and (100 − Σ unknown) in place of 100 where more than 10 % is of unknown toxicity
 * (UN GHS 3.1.3.6.1 and 3.1.3.6.2.3; CLP Annex I 3.1.3.6). An ingredient without an estimate, with one of another form
 * than is breathed here, or with one milder than its class counts with the converted point estimate of its class. Beyond the last
 * category an ingredient is left out: above 2,000 mg/kg by the EU's and the US's rules, above 5,000 by the UN's.
 * No mixture comes out more severe than the worst of its ingredients.
 * @param form what is breathed in; an estimate for another form counts by its category
 */
export function acute(ingredients: readonly Listed[], rules: RuleSet, form: AirForm): Acute {
  const result: Acute = { found: [], mixtures: [], notes: [], unknown: [] };
  const unknownBy = new Map<number, Route[]>();
  for (const route of ROUTES) {
    const estimates: Estimate[] = [];
    let unknown = 0;
    for (const one of ingredients) {
      const estimate = estimateOf(one, route, form, rules);
      if (estimate === 'unknown') unknown += one.percent >= RELEVANT ? one.percent : 0;
      else if (estimate && one.percent >= (estimate.category <= 3 ? RELEVANT_TOXIC : RELEVANT))
        estimates.push(estimate);
    }
    const unknownPercent = Number(unknown.toPrecision(12));
    if (unknownPercent > 0) unknownBy.set(unknownPercent, [...(unknownBy.get(unknownPercent) ?? []), route]);
    if (estimates.length > 0) addRoute(result, route, form, rules, estimates, unknownPercent);
  }
  for (const [percent, routes] of unknownBy) {
    const by = routes.length === ROUTES.length ? '' : ` (${routes.map((route) => WORDS[route]).join(', ')})`;
    result.unknown.push(
      `${share(percent)} of the mixture consists of ingredients of unknown acute toxicity${by}.`,
    );
  }
  return result;
}

const mostSevere = (estimates: Estimate[]): number => Math.min(...estimates.map(({ category }) => category));

function addRoute(
  result: Acute,
  route: Route,
  form: AirForm,
  rules: RuleSet,
  estimates: Estimate[],
  unknownPercent: number,
): void {
  const scale = route === 'inhalation' ? form : route;
  const unit = UNIT[scale];
  const whole = unknownPercent > MUCH_UNKNOWN ? 100 - unknownPercent : 100;
  const ate = whole / estimates.reduce((sum, { percent, value }) => sum + percent / value, 0);
  const reached = categoryOf(ate, scale, rules);
  // A converted estimate may lie on the end of the next more severe category, where no mixture of it belongs.
  const category = reached && Math.max(reached, mostSevere(estimates));
  const hazardClass = category === null ? null : `Acute Tox. ${category}`;
  result.mixtures.push({ route, ate, unit, hazardClass, unknownPercent });

  const top = whole === 100 ? '100' : `(100 − ${figure(unknownPercent)} unknown)`;
  const terms = estimates.map(({ name, percent, value }) => `${name} ${share(percent)} ÷ ${figure(value)}`);
  const sum = `${top} ÷ (${terms.join(' + ')}) = ${figure(ate)} ${unit}`;
  const upper = UPPER[scale].slice(0, lastOf(rules));
  if (category === null || hazardClass === null) {
    result.notes.push(`If ${WORDS[route]}: ${sum}, above ${figure(upper.at(-1) ?? 0)}: no class.`);
    return;
  }
  const because = [
    `${sum} ≤ ${figure(upper[category - 1] ?? 0)} → ${hazardClass}`,
    ...estimates.flatMap(({ stands }) => stands ?? []),
  ];
  const hCode = CODES[route][category - 1] ?? '';
  result.found.push({ hazardClass, hCode, because, dustOnly: route === 'inhalation' });
}
