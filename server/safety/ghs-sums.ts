import type { HazardEntry } from '../materials/facts.ts';
import {
  type Found,
  figure,
  isExtremePh,
  isOfDust,
  kindOf,
  type Listed,
  ownRanges,
  type RuleSet,
  rankOf,
  reached,
  share,
  type Term,
} from './ghs-mixture.ts';

// Hazards where shares of ingredients add up: skin, eyes, irritation of the airways and drowsiness, aspiration, water.

/** Percent below which an ingredient is left out of a sum, unless its own limit lies lower (CLP Annex I table 1.1). */
const RELEVANT = 1;

const least = (values: (number | undefined)[]): number | undefined => {
  const set = values.filter((value) => value !== undefined);
  return set.length > 0 ? Math.min(...set) : undefined;
};

const entriesOf = ({ entries }: Listed, kind: string): HazardEntry[] =>
  entries.filter(({ hazardClass }) => kindOf(hazardClass) === kind);

const counts = (percent: number, own: number | undefined): boolean =>
  percent >= Math.min(RELEVANT, own ?? RELEVANT);

const CORROSIVE = 3;
const SKIN_CLASSES = ['Skin Corr. 1A', 'Skin Corr. 1B', 'Skin Corr. 1C'] as const;

/** Generic limits of the sums, CLP Annex I tables 3.2.3 and 3.3.3; the eye's second rows from memory. */
const CORROSION = 5;
const IRRITATION = 10;
/** A corrosive counts ten times towards irritation. */
const TENFOLD = 10;
const EYE_DAMAGE = 3;
/** The UN's category 3 of skin irritation, from memory. */
const MILD = 1;

/** Single shares of what does not add up, CLP Annex I tables 3.2.4 and 3.3.4; irritants from memory. */
const ALONE_CORROSIVE = 1;
const ALONE_IRRITANT = 3;

interface SkinAndEyes {
  rules: RuleSet;
  /** Of the mixture itself. */
  pH?: number | undefined;
  /** False: titration shows little acid or alkali behind an extreme pH. */
  buffered?: boolean | undefined;
}

/**
 * Skin corrosion and irritation, serious eye damage and irritation: the mixture's own pH where it is extreme, then
 * ingredients that do not add up, then sums (CLP Annex I 3.2.3.3 and 3.3.3.3). With limits of an ingredient's own the
 * sum is Σ share ÷ limit ≥ 1.
 */
export function skinAndEyes(ingredients: readonly Listed[], mixture: SkinAndEyes): Found[] {
  const { rules, pH, buffered = true } = mixture;
  if (isExtremePh(pH) && buffered && pH !== undefined) {
    const because = [`The mixture has pH ${figure(pH)}: ${pH <= 2 ? 'at most 2' : 'at least 11.5'}`];
    return [
      { hazardClass: 'Skin Corr. 1', hCode: 'H314', because, dustOnly: false },
      { hazardClass: 'Eye Dam. 1', hCode: 'H318', because, dustOnly: false },
    ];
  }
  const skin = ofSkin(ingredients, rules);
  const eyes = ofEyes(ingredients, rules);
  const corrodes = skin !== null && rankOf(skin.hazardClass) <= CORROSIVE;
  const damage: Found = {
    hazardClass: 'Eye Dam. 1',
    hCode: 'H318',
    because: ['What corrodes skin damages eyes'],
    dustOnly: false,
  };
  const seen = corrodes && eyes?.hazardClass !== 'Eye Dam. 1' ? damage : eyes;
  return [skin, seen].filter((found) => found !== null);
}

const found = (hazardClass: string, hCode: string, because: string[]): Found => ({
  hazardClass,
  hCode,
  because,
  dustOnly: false,
});

/** The entry that says most of this ingredient's skin. */
const corrosionOf = (one: Listed): HazardEntry | undefined =>
  entriesOf(one, 'skin')
    .filter(({ hazardClass }) => rankOf(hazardClass) <= CORROSIVE)
    .sort((a, b) => rankOf(a.hazardClass) - rankOf(b.hazardClass))[0];

/** The share from which a list says that this corrosive corrodes, at the given rank or a more severe one. */
function ownCorrosion(one: Listed, rank = CORROSIVE): number | undefined {
  const entries = entriesOf(one, 'skin').filter(({ hazardClass }) => rankOf(hazardClass) <= rank);
  const ranges = ownRanges(one, 'skin').filter(({ hazardClass }) => rankOf(hazardClass) <= rank);
  return least([
    ...entries.map(({ limitPercent }) => limitPercent),
    ...ranges.map((range) => range.fromPercent),
  ]);
}

/** The share from which a list says that this corrosive irritates skin, where it says so. */
const ownIrritation = (one: Listed): number | undefined =>
  least(
    ownRanges(one, 'skin')
      .filter(({ hazardClass }) => hazardClass === 'Skin Irrit. 2')
      .map(({ fromPercent }) => fromPercent),
  );

function ofSkin(ingredients: readonly Listed[], rules: RuleSet): Found | null {
  const alone = ingredients.filter((one) => !one.additive);
  const adding = ingredients.filter((one) => one.additive);
  return (
    moreSevere(corrosionAlone(alone), corrosionOfSum(adding)) ??
    irritationAlone(alone) ??
    irritationOfSum(adding, rules)
  );
}

const moreSevere = (a: Found | null, b: Found | null): Found | null =>
  a && b && rankOf(b.hazardClass) < rankOf(a.hazardClass) ? b : (a ?? b);

const aloneWords = ({ name, percent }: Listed, limit: number, own: boolean, becomes: string): string =>
  `${name} ${share(percent)} ≥ ${share(limit)}, ${own ? 'its own limit' : 'taken by itself'} → ${becomes}`;

function corrosionAlone(alone: Listed[]): Found | null {
  const reaching = alone.flatMap((one) => {
    const entry = corrosionOf(one);
    if (!entry && !one.extreme) return [];
    const own = ownCorrosion(one);
    const limit = own ?? ALONE_CORROSIVE;
    const hazardClass = entry?.hazardClass ?? 'Skin Corr. 1';
    if (one.percent < limit) return [];
    return [{ hazardClass, because: aloneWords(one, limit, own !== undefined, hazardClass) }];
  });
  reaching.sort((a, b) => rankOf(a.hazardClass) - rankOf(b.hazardClass));
  const [worst] = reaching;
  return (
    (worst &&
      found(
        worst.hazardClass,
        'H314',
        reaching.map(({ because }) => because),
      )) ??
    null
  );
}

function corrosionOfSum(adding: Listed[]): Found | null {
  for (const [at, becomes] of SKIN_CLASSES.entries()) {
    const rank = at + 1;
    const corrosive = adding.filter((one) => {
      const ranges = ownRanges(one, 'skin').filter(({ hazardClass }) => rankOf(hazardClass) <= rank);
      return rankOf(corrosionOf(one)?.hazardClass ?? '') <= rank || ranges.length > 0;
    });
    const terms = corrosive
      .map((one) => term(one, 1, ownCorrosion(one, rank)))
      .filter(({ percent, own }) => counts(percent, own));
    const unsaid = corrosive.some((one) => corrosionOf(one)?.hazardClass === 'Skin Corr. 1');
    const hazardClass = unsaid ? 'Skin Corr. 1' : becomes;
    const because = reached(terms, CORROSION, hazardClass);
    if (because) return found(hazardClass, 'H314', [because]);
  }
  return null;
}

const term = ({ name, percent }: Listed, factor: number, own?: number): Term => ({
  name,
  percent,
  factor,
  own,
});

function irritationAlone(alone: Listed[]): Found | null {
  const becomes = 'Skin Irrit. 2';
  const because = alone.flatMap((one) => {
    const corrosive = corrosionOf(one) !== undefined;
    const own = corrosive
      ? ownIrritation(one)
      : least(entriesOf(one, 'skin').map(({ limitPercent }) => limitPercent));
    const irritates = entriesOf(one, 'skin').some(({ hazardClass }) => hazardClass === becomes);
    if (!irritates && !(corrosive && own !== undefined)) return [];
    const limit = own ?? ALONE_IRRITANT;
    return one.percent >= limit ? [aloneWords(one, limit, own !== undefined, becomes)] : [];
  });
  return because.length > 0 ? found(becomes, 'H315', because) : null;
}

function irritationOfSum(adding: Listed[], rules: RuleSet): Found | null {
  const terms = adding.flatMap((one): Term[] => {
    if (corrosionOf(one)) return [term(one, TENFOLD, ownIrritation(one))];
    const irritants = entriesOf(one, 'skin').filter(({ hazardClass }) => hazardClass === 'Skin Irrit. 2');
    const own = least([
      ...irritants.map(({ limitPercent }) => limitPercent),
      ...ownRanges(one, 'skin').map(({ fromPercent }) => fromPercent),
    ]);
    return irritants.length > 0 || own !== undefined ? [term(one, 1, own)] : [];
  });
  const relevant = terms.filter(({ percent, own }) => counts(percent, own));
  const because = reached(relevant, IRRITATION, 'Skin Irrit. 2');
  if (because) return found('Skin Irrit. 2', 'H315', [because]);
  if (rules !== 'un') return null;
  const mild = adding.flatMap((one) =>
    entriesOf(one, 'skin').some(({ hazardClass }) => hazardClass === 'Skin Irrit. 3') &&
    counts(one.percent, undefined)
      ? [term(one, 1)]
      : [],
  );
  const milder =
    reached(relevant.map(withoutOwn), MILD, 'Skin Irrit. 3') ??
    reached([...relevant.map(withoutOwn), ...mild], IRRITATION, 'Skin Irrit. 3');
  return milder ? found('Skin Irrit. 3', 'H316', [milder]) : null;
}

const withoutOwn = ({ own: _, ...rest }: Term): Term => rest;

const IRRITANT_EYES = ['Eye Irrit. 2', 'Eye Irrit. 2A', 'Eye Irrit. 2B'];

interface EyeLimits {
  damages: boolean;
  /** Percent from which this one damages eyes, where that is not the generic limit. */
  damage: number | undefined;
  /** Percent from which it irritates them, where that is not the generic limit. */
  irritation: number | undefined;
}

/** What an ingredient does to eyes, by its own limits where a list sets some; null: nothing. */
function eyesOf(one: Listed): EyeLimits | null {
  const eye = entriesOf(one, 'eye');
  const ranges = ownRanges(one, 'eye');
  const damaging = eye.find(({ hazardClass }) => hazardClass === 'Eye Dam. 1');
  const corrosive = corrosionOf(one);
  const irritants = eye.filter(({ hazardClass }) => IRRITANT_EYES.includes(hazardClass));
  const irritating = ranges.filter(({ hazardClass }) => IRRITANT_EYES.includes(hazardClass));
  const ranged = least(irritating.map(({ fromPercent }) => fromPercent));
  if (!damaging && !corrosive) {
    const own = least([...irritants.map(({ limitPercent }) => limitPercent), ranged]);
    return irritants.length > 0 || own !== undefined
      ? { damages: false, damage: undefined, irritation: own }
      : null;
  }
  const corrodes = ownCorrosion(one);
  const damage =
    least([
      damaging?.limitPercent,
      ...ranges
        .filter(({ hazardClass }) => hazardClass === 'Eye Dam. 1')
        .map(({ fromPercent }) => fromPercent),
    ]) ??
    least(irritating.map(({ belowPercent }) => belowPercent)) ??
    // Below the generic limit what corrodes skin is taken to damage eyes as well; a high limit for skin says nothing of them.
    (corrodes !== undefined && corrodes < EYE_DAMAGE ? corrodes : undefined);
  const irritation = ranged ?? (damage !== undefined && damage < RELEVANT ? damage : undefined);
  return { damages: true, damage, irritation };
}

function ofEyes(ingredients: readonly Listed[], rules: RuleSet): Found | null {
  const seen = ingredients.flatMap((one) => {
    const eyes =
      eyesOf(one) ?? (one.extreme ? { damages: true, damage: undefined, irritation: undefined } : null);
    return eyes ? [{ one, ...eyes }] : [];
  });
  const alone = seen.filter(({ one }) => !one.additive);
  const adding = seen.filter(({ one }) => one.additive);

  const damagedAlone = alone.flatMap(({ one, damages, damage }) => {
    const limit = damage ?? ALONE_CORROSIVE;
    return damages && one.percent >= limit
      ? [aloneWords(one, limit, damage !== undefined, 'Eye Dam. 1')]
      : [];
  });
  if (damagedAlone.length > 0) return found('Eye Dam. 1', 'H318', damagedAlone);
  const damaging = adding
    .filter(({ damages }) => damages)
    .map(({ one, damage }) => term(one, 1, damage))
    .filter(({ percent, own }) => counts(percent, own));
  const damage = reached(damaging, EYE_DAMAGE, 'Eye Dam. 1');
  if (damage) return found('Eye Dam. 1', 'H318', [damage]);

  const irritants = adding.filter(({ one, irritation }) => counts(one.percent, irritation));
  const mildOnly =
    rules !== 'eu-clp' && [...irritants, ...alone].every(({ one, damages }) => !damages && isMildToEyes(one));
  const [becomes, hCode] = mildOnly ? ['Eye Irrit. 2B', 'H320'] : ['Eye Irrit. 2', 'H319'];
  const irritatedAlone = alone.flatMap(({ one, damages, irritation }) => {
    const limit = irritation ?? (damages ? undefined : ALONE_IRRITANT);
    return limit !== undefined && one.percent >= limit
      ? [aloneWords(one, limit, irritation !== undefined, becomes)]
      : [];
  });
  if (irritatedAlone.length > 0) return found(becomes, hCode, irritatedAlone);
  const terms = irritants.map(({ one, damages, irritation }) => term(one, damages ? TENFOLD : 1, irritation));
  const irritation = reached(terms, IRRITATION, becomes);
  return irritation ? found(becomes, hCode, [irritation]) : null;
}

const isMildToEyes = (one: Listed): boolean =>
  entriesOf(one, 'eye').every(({ hazardClass }) => hazardClass === 'Eye Irrit. 2B');

/** Generic limit for irritation of the airways and for drowsiness, CLP Annex I 3.8.3.4.5. */
const TRANSIENT = 20;

/** STOT SE 3: each effect for itself, shares added. */
export function transient(ingredients: readonly Listed[]): Found[] {
  return ['H335', 'H336'].flatMap((hCode) => {
    const terms = ingredients.flatMap((one): Term[] => {
      const entries = entriesOf(one, 'stot-se-3').filter((entry) => entry.hCode === hCode);
      const ranges = ownRanges(one, 'stot-se-3').filter((range) => range.hCode === hCode);
      if (entries.length + ranges.length === 0) return [];
      const own = least([
        ...entries.map(({ limitPercent }) => limitPercent),
        ...ranges.map(({ fromPercent }) => fromPercent),
      ]);
      return counts(one.percent, own) ? [term(one, 1, own)] : [];
    });
    const because = reached(terms, TRANSIENT, 'STOT SE 3');
    if (!because) return [];
    return [{ ...found('STOT SE 3', hCode, [because]), dustOnly: isOfDust({ hCode }) }];
  });
}

/** CLP Annex I 3.10.3.3: percent, and mm²/s at 40 °C; category 2 of the UN from memory. */
const ASPIRATION = 10;
const THIN: readonly [hazardClass: string, hCode: string, mm2PerS: number][] = [
  ['Asp. Tox. 1', 'H304', 20.5],
  ['Asp. Tox. 2', 'H305', 14],
];

/**
 * Aspiration, for what flows: the sum of such ingredients, and a mixture that is thin enough.
 * @param viscosity kinematic, mm²/s at 40 °C; not given it is taken to be thin, and the arithmetic says so
 */
export function aspiration(ingredients: readonly Listed[], rules: RuleSet, viscosity?: number): Found[] {
  for (const [hazardClass, hCode, thin] of THIN.slice(0, rules === 'un' ? 2 : 1)) {
    if (viscosity !== undefined && viscosity > thin) continue;
    const terms = ingredients
      .filter((one) =>
        entriesOf(one, 'asp').some((entry) => rankOf(entry.hazardClass) <= rankOf(hazardClass)),
      )
      .map((one) => term(one, 1, least(entriesOf(one, 'asp').map(({ limitPercent }) => limitPercent))));
    const because = reached(terms, ASPIRATION, hazardClass);
    if (!because) continue;
    const thinness =
      viscosity === undefined
        ? 'Its viscosity is not given: taken as thin'
        : `Viscosity ${figure(viscosity)} mm²/s ≤ ${figure(thin)}`;
    return [found(hazardClass, hCode, [because, thinness])];
  }
  return [];
}

/** Limit of every weighted sum for water, CLP Annex I tables 4.1.1 and 4.1.2, from memory. */
const WATER = 25;
/** Percent from which the very toxic count, divided by their M-factor (CLP Annex I table 1.1). */
const VERY_TOXIC = 0.1;

const ACUTE = ['H400', 'H401', 'H402'] as const;
const CHRONIC = ['H410', 'H411', 'H412'] as const;

/**
 * Aquatic hazards by summation: Σ M × 10^(k − i) × shareᵢ ≥ 25 for category k over the ingredients of categories i ≤ k;
 * Chronic 4 is the plain sum of all four. The EU keeps Acute 1 alone of the acute ones; OSHA regulates none of these.
 * Limits of an ingredient's own do not exist here: its M-factor stands for them.
 */
export function aquatic(ingredients: readonly Listed[], rules: RuleSet): Found[] {
  if (rules === 'us-hazcom') return [];
  const acute = summed(ingredients, 'Aquatic Acute', rules === 'un' ? ACUTE : ACUTE.slice(0, 1));
  return [acute, summed(ingredients, 'Aquatic Chronic', CHRONIC) ?? safetyNet(ingredients)].filter(
    (one) => one !== null,
  );
}

function summed(ingredients: readonly Listed[], name: string, codes: readonly string[]): Found | null {
  for (const [at, hCode] of codes.entries()) {
    const category = at + 1;
    const terms = ingredients.flatMap((one): Term[] => {
      const ofIt = one.entries
        .filter(({ hazardClass }) => hazardClass.startsWith(`${name} `) && rankOf(hazardClass) <= category)
        .sort((a, b) => rankOf(a.hazardClass) - rankOf(b.hazardClass) || (b.mFactor ?? 1) - (a.mFactor ?? 1));
      const [entry] = ofIt;
      if (!entry) return [];
      const rank = rankOf(entry.hazardClass);
      const mFactor = rank === 1 ? (entry.mFactor ?? 1) : 1;
      const relevant = rank === 1 ? VERY_TOXIC / mFactor : RELEVANT;
      return one.percent >= relevant
        ? [{ name: one.name, percent: one.percent, factor: 10 ** (category - rank), mFactor }]
        : [];
    });
    const hazardClass = `${name} ${category}`;
    const because = reached(terms, WATER, hazardClass);
    if (because) return found(hazardClass, hCode, [because]);
  }
  return null;
}

function safetyNet(ingredients: readonly Listed[]): Found | null {
  const terms = ingredients
    .filter((one) => one.percent >= RELEVANT && entriesOf(one, 'aquatic-chronic').length > 0)
    .map((one) => term(one, 1));
  const because = reached(terms, WATER, 'Aquatic Chronic 4');
  return because ? found('Aquatic Chronic 4', 'H413', [because]) : null;
}
