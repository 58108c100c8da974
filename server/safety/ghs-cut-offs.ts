import type { HazardEntry } from '../materials/facts.ts';
import type { HazardKind } from '../materials/hazards.ts';
import {
  type AirForm,
  type Found,
  isOfDust,
  kindOf,
  type Listed,
  ownRanges,
  type RuleSet,
  rankOf,
  share,
} from './ghs-mixture.ts';

// Hazards where the share of one ingredient decides by itself and shares are never added: sensitisers, mutagens,
// carcinogens, reproductive toxicants, organs, endocrine disruption, ozone.

/** A class that a mixture takes from so many percent of an ingredient. */
type Step = readonly [hazardClass: string, fromPercent: number];

/**
 * Generic limits by the ingredient's class, most severe first: CLP Annex I tables 3.4.5, 3.5.2, 3.6.2, 3.7.2, 3.8.3,
 * 3.9.4, 3.11.3. The UN's own tables give two limits for some and leave the choice to each country; the ones here are
 * those from which a label is expected everywhere, which are the EU's.
 */
const EU: Readonly<Record<string, readonly Step[]>> = {
  'Resp. Sens. 1': [['Resp. Sens. 1', 1]],
  'Resp. Sens. 1A': [['Resp. Sens. 1', 0.1]],
  'Resp. Sens. 1B': [['Resp. Sens. 1', 1]],
  'Skin Sens. 1': [['Skin Sens. 1', 1]],
  'Skin Sens. 1A': [['Skin Sens. 1', 0.1]],
  'Skin Sens. 1B': [['Skin Sens. 1', 1]],
  'Muta. 1A': [['Muta. 1A', 0.1]],
  'Muta. 1B': [['Muta. 1B', 0.1]],
  'Muta. 2': [['Muta. 2', 1]],
  'Carc. 1A': [['Carc. 1A', 0.1]],
  'Carc. 1B': [['Carc. 1B', 0.1]],
  'Carc. 2': [['Carc. 2', 1]],
  'Repr. 1A': [['Repr. 1A', 0.3]],
  'Repr. 1B': [['Repr. 1B', 0.3]],
  'Repr. 2': [['Repr. 2', 3]],
  'Lact.': [['Lact.', 0.3]],
  'ED HH 1': [['ED HH 1', 0.1]],
  'ED HH 2': [['ED HH 2', 1]],
  'STOT SE 1': [
    ['STOT SE 1', 10],
    ['STOT SE 2', 1],
  ],
  'STOT SE 2': [['STOT SE 2', 10]],
  'STOT RE 1': [
    ['STOT RE 1', 10],
    ['STOT RE 2', 1],
  ],
  'STOT RE 2': [['STOT RE 2', 10]],
  'Ozone 1': [['Ozone 1', 0.1]],
};

/** Where 29 CFR 1910.1200 Appendix A sets another limit. From memory. */
const US: Readonly<Record<string, readonly Step[]>> = {
  'Resp. Sens. 1': [['Resp. Sens. 1', 0.1]],
  'Skin Sens. 1': [['Skin Sens. 1', 0.1]],
  'Carc. 2': [['Carc. 2', 0.1]],
  'Repr. 1A': [['Repr. 1A', 0.1]],
  'Repr. 1B': [['Repr. 1B', 0.1]],
  'Repr. 2': [['Repr. 2', 0.1]],
  'Lact.': [['Lact.', 0.1]],
  'STOT SE 1': [['STOT SE 1', 1]],
  'STOT SE 2': [['STOT SE 2', 1]],
  'STOT RE 1': [['STOT RE 1', 1]],
  'STOT RE 2': [['STOT RE 2', 1]],
  'Ozone 1': [],
};

/** Respiratory sensitisers in a gas, percent by volume; category 1 of the US from memory. */
const GAS: Readonly<Record<RuleSet, Readonly<Record<string, number>>>> = {
  un: { 'Resp. Sens. 1': 0.2, 'Resp. Sens. 1B': 0.2 },
  'eu-clp': { 'Resp. Sens. 1': 0.2, 'Resp. Sens. 1B': 0.2 },
  'us-hazcom': { 'Resp. Sens. 1B': 0.2 },
};

function genericSteps(hazardClass: string, rules: RuleSet, form: AirForm): readonly Step[] {
  if (kindOf(hazardClass) === 'endocrine' && rules !== 'eu-clp') return [];
  const steps = (rules === 'us-hazcom' ? US[hazardClass] : undefined) ?? EU[hazardClass] ?? [];
  const inGas = form === 'gas' ? GAS[rules][hazardClass] : undefined;
  return inGas === undefined ? steps : steps.map(([becomes]) => [becomes, inGas]);
}

/** One way in which one ingredient classes the mixture. */
interface Rung {
  name: string;
  percent: number;
  ofClass: string;
  becomes: string;
  hCode: string;
  from: number;
  /** Where the next more severe class of the same ingredient begins. */
  below: number | null;
  own: boolean;
  dust: boolean;
  /** Organs or route, as its sheet words it. */
  note: string;
}

const SECOND_CODES: Readonly<Record<string, string>> = { 'STOT SE 2': 'H371', 'STOT RE 2': 'H373' };

/** The limits that hold for one entry: the list's own where it has some, else the generic ones. */
function rungs(one: Listed, entry: HazardEntry, rules: RuleSet, form: AirForm): Rung[] {
  const { name, percent } = one;
  const { hazardClass, hCode, limitPercent, ranges = [] } = entry;
  const dust = isOfDust(entry);
  const note = entry.note?.trim() ?? '';
  const kind = kindOf(hazardClass);
  const steps = genericSteps(hazardClass, rules, form);
  const own = ranges.filter((range) => kindOf(range.hazardClass) === kind);
  const all = steps
    .map(([becomes, from], at) => ({
      becomes,
      hCode: at === 0 ? hCode : (SECOND_CODES[becomes] ?? hCode),
      from: at === 0 ? (limitPercent ?? from) : from,
      own: at === 0 && limitPercent !== undefined,
    }))
    .filter(({ becomes }) => !own.some((range) => range.hazardClass === becomes));
  for (const range of own)
    all.push({ becomes: range.hazardClass, hCode: range.hCode, from: range.fromPercent, own: true });
  return all.map((rung) => {
    const severer = all
      .filter((other) => rankOf(other.becomes) < rankOf(rung.becomes))
      .map(({ from }) => from);
    const below = severer.length > 0 ? Math.min(...severer) : null;
    return { ...rung, name, percent, ofClass: hazardClass, below, dust, note };
  });
}

function sentence({ name, percent, ofClass, becomes, from, below, own }: Rung): string {
  const start = `${name} (${ofClass}) ${share(percent)}`;
  const limits = below === null ? 'its own limit' : 'its own limits';
  if (below !== null && below > from && percent < below)
    return `${start}, from ${share(from)} to below ${share(below)}${own ? `, ${limits}` : ''} → ${becomes}`;
  return `${start} ≥ ${share(from)}${own ? ', its own limit' : ''} → ${becomes}`;
}

const SINGLE: readonly HazardKind[] = [
  'resp-sens',
  'skin-sens',
  'muta',
  'carc',
  'lact',
  'endocrine',
  'stot-se',
  'stot-re',
  'ozone',
];

/**
 * Classes by the share of single ingredients. A limit of the ingredient's own (`limitPercent`, `ranges`) takes the place
 * of the generic one of the same class; the most severe class that any ingredient reaches is the mixture's.
 */
export function byCutOff(ingredients: readonly Listed[], rules: RuleSet, form: AirForm): Found[] {
  return [
    ...SINGLE.flatMap((kind) => mostSevere(kind, reachedRungs(kind, ingredients, rules, form))),
    ...reproductive(ingredients, rules),
  ];
}

function reachedRungs(
  kind: HazardKind,
  ingredients: readonly Listed[],
  rules: RuleSet,
  form: AirForm,
): Rung[] {
  return ingredients.flatMap((one) => {
    const entries = one.entries.filter(({ hazardClass }) => kindOf(hazardClass) === kind);
    const beside = one.entries.filter(({ hazardClass }) => kindOf(hazardClass) !== kind);
    const foreign = ownRanges({ ...one, entries: beside }, kind).map((range) => ({
      hazardClass: range.hazardClass,
      hCode: range.hCode,
      limitPercent: range.fromPercent,
    }));
    return [...entries, ...foreign]
      .flatMap((entry) => rungs(one, entry, rules, form))
      .filter(({ from }) => one.percent >= from);
  });
}

/** A tenth of its limit is enough for somebody who is allergic already (CLP Annex I table 3.4.6, Annex II 2.8). */
const ELICITED = 10;

/** What a label adds for sensitisers below the limit that makes a class: EUH208 (text from memory), the EU's alone. */
export function elicitation(ingredients: readonly Listed[], rules: RuleSet, form: AirForm): string[] {
  if (rules !== 'eu-clp') return [];
  const names = ingredients.filter((one) =>
    one.entries
      .filter(({ hazardClass }) => ['resp-sens', 'skin-sens'].includes(kindOf(hazardClass) ?? ''))
      .flatMap((entry) => rungs(one, entry, rules, form))
      .some(({ from }) => one.percent < from && one.percent >= from / ELICITED),
  );
  return names.map(({ name }) => `EUH208: Contains ${name}. May produce an allergic reaction.`);
}

function mostSevere(kind: HazardKind, reached: Rung[]): Found[] {
  const best = Math.min(...reached.map(({ becomes }) => rankOf(becomes)));
  const deciding = reached.filter(({ becomes }) => rankOf(becomes) === best);
  const [first] = deciding;
  if (!first) return [];
  if (kind === 'carc') return carcinogenic(first, deciding, reached);
  if (kind === 'stot-se' || kind === 'stot-re') return byOrgans(deciding, reached);
  return [foundOf(deciding, plain(kind, first.becomes), first.hCode)];
}

const foundOf = (deciding: Rung[], hazardClass: string, hCode: string): Found => ({
  hazardClass,
  hCode,
  because: sentences(deciding),
  dustOnly: deciding.every(({ dust }) => dust),
});

/**
 * Organs are weighed each for itself: an ingredient that reaches the milder class stands beside one that reaches the more
 * severe, unless both are said to harm the same organs in the same way, or neither is said to harm any in particular.
 */
function byOrgans(deciding: Rung[], reached: Rung[]): Found[] {
  const told = new Set(deciding.map(({ note }) => note.toLowerCase()));
  const beside = reached.filter((one) => !deciding.includes(one) && !told.has(one.note.toLowerCase()));
  return [deciding, beside].flatMap((some) => {
    const [first] = some;
    if (!first) return [];
    const notes = [...new Set(some.map(({ note }) => note))].filter(Boolean).sort();
    // Organs that one sheet names are not all of them where another names none.
    if (notes.length > 0 && some.some(({ note }) => note === '')) notes.push('others not said');
    return [
      { ...foundOf(some, first.becomes, first.hCode), ...(notes.length > 0 && { organs: notes.join('; ') }) },
    ];
  });
}

/**
 * By inhalation only as long as every ingredient of category 1 is meant that way; one that is suspected by any route
 * then stands beside it.
 */
function carcinogenic(first: Rung, deciding: Rung[], reached: Rung[]): Found[] {
  const any = reached.filter(({ dust, becomes }) => !dust && becomes !== 'Carc. 2');
  const suspected = reached.filter(({ dust, becomes }) => !dust && becomes === 'Carc. 2');
  const because = sentences([...new Set([...deciding, ...any])]);
  const isInhaled = first.becomes !== 'Carc. 2' && any.length === 0;
  const hCode = isInhaled ? 'H350i' : first.becomes === 'Carc. 2' ? 'H351' : 'H350';
  const dustOnly = any.length === 0 && deciding.every(({ dust }) => dust);
  const found: Found[] = [{ hazardClass: first.becomes, hCode, because, dustOnly }];
  if (isInhaled && suspected.length > 0)
    found.push({ hazardClass: 'Carc. 2', hCode: 'H351', because: sentences(suspected), dustOnly: false });
  return found;
}

/** A mixture is a sensitiser without saying how strong. */
const plain = (kind: HazardKind, becomes: string): string =>
  kind === 'resp-sens' || kind === 'skin-sens' ? becomes.replace(/[AB]$/, '') : becomes;

const sentences = (all: Rung[]): string[] => [...new Set(all.map(sentence))];

type Side = 'F' | 'D' | '?';

/**
 * Toxic to reproduction: fertility and the unborn child are weighed each for itself, so that H360Df counts as H360D
 * from the limit of category 1 and as H361f from the limit of category 2.
 */
function reproductive(ingredients: readonly Listed[], rules: RuleSet): Found[] {
  const reached = ingredients
    .flatMap((one) => one.entries.flatMap((entry) => sidesOf(one, entry, rules)))
    .filter(({ percent, from }) => percent >= from);
  const rank = (side: Side) =>
    Math.min(...reached.filter((part) => part.side === side).map(({ becomes }) => rankOf(becomes)));
  const best = Math.min(rank('F'), rank('D'), rank('?'));
  const deciding = reached.filter(({ becomes }) => rankOf(becomes) === best);
  const [first] = deciding;
  if (!first) return [];
  const others = reached.filter(({ side, becomes }) => {
    const ofSide = rank(side);
    return ofSide !== best && rankOf(becomes) === ofSide;
  });
  return [
    {
      hazardClass: first.becomes,
      hCode: codeOf(best, rank('F'), rank('D'), rank('?')),
      because: sentences([...deciding, ...others]),
      dustOnly: [...deciding, ...others].every(({ dust }) => dust),
    },
  ];
}

const SUSPECTED = 3;

function codeOf(best: number, fertility: number, unborn: number, unsaid: number): string {
  const certain = best < SUSPECTED;
  const enough = certain ? 'FD' : 'fd';
  // Beside a side that is certain, one that is suspected and not said to be either may be the other.
  const atMost = certain && unsaid === SUSPECTED ? SUSPECTED : Infinity;
  const letter = (side: number, sure: string) =>
    side < SUSPECTED ? sure : Math.min(side, atMost) === SUSPECTED ? sure.toLowerCase() : '';
  const said = letter(fertility, 'F') + letter(unborn, 'D');
  if (unsaid <= (certain ? SUSPECTED - 1 : SUSPECTED) && said !== enough) return certain ? 'H360' : 'H361';
  const written = said === 'fD' ? 'Df' : said;
  return `${certain ? 'H360' : 'H361'}${written}`;
}

function sidesOf(one: Listed, entry: HazardEntry, rules: RuleSet): (Rung & { side: Side })[] {
  const { name, percent } = one;
  const dust = isOfDust(entry);
  const common = { name, percent, below: null, dust, note: '' };
  const own = (entry.ranges ?? []).filter(({ hazardClass }) => kindOf(hazardClass) === 'repr');
  const fromRanges = own.flatMap((range) =>
    sides(range.hCode).map((side) => ({
      ...common,
      side,
      ofClass: entry.hazardClass,
      becomes: range.hazardClass,
      hCode: range.hCode,
      from: range.fromPercent,
      own: true,
    })),
  );
  if (kindOf(entry.hazardClass) !== 'repr') return fromRanges;
  const generic = (hazardClass: string) => genericSteps(hazardClass, rules, 'dust-mist')[0]?.[1] ?? Infinity;
  const letters = entry.hCode.slice(4);
  const parts = (letters === '' ? ['?'] : [...letters]).map((letter) => {
    const milder = entry.hCode.startsWith('H360') && letter !== '?' && letter === letter.toLowerCase();
    const becomes = milder ? 'Repr. 2' : entry.hazardClass;
    return {
      ...common,
      side: letter.toUpperCase() as Side,
      ofClass: milder ? `${entry.hazardClass} ${entry.hCode}` : entry.hazardClass,
      becomes,
      hCode: entry.hCode,
      from: milder ? generic(becomes) : (entry.limitPercent ?? generic(becomes)),
      own: !milder && entry.limitPercent !== undefined,
    };
  });
  const replaced = (side: Side, becomes: string) =>
    fromRanges.some((range) => range.side === side && range.becomes === becomes);
  return [...parts.filter(({ side, becomes }) => !replaced(side, becomes)), ...fromRanges];
}

const sides = (hCode: string): Side[] => {
  const letters = hCode.slice(4).toUpperCase();
  return letters === '' ? ['?'] : ([...letters] as Side[]);
};
