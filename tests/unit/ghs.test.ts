import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { HAZARD_CLASSES, label } from '../../server/materials/hazards.ts';
import { classify, type Ingredient, type MixtureInput, type RuleSet } from '../../server/safety/ghs.ts';
import { basisOf, type ClassBasis, isWorse, sameBasis } from '../../server/safety/worse.ts';

type Entry = NonNullable<Ingredient['classes']>[number];

const entry = (hazardClass: string, hCode: string, more: Partial<Entry> = {}): Entry => ({
  hazardClass,
  hCode,
  ...more,
});
const of = (name: string, percent: number, ...classes: Entry[]): Ingredient => ({ name, percent, classes });
const eu = (...ingredients: Ingredient[]) => classify({ rules: 'eu-clp', ingredients });
const found = (mixture: ReturnType<typeof classify>) =>
  mixture.classes.map(({ hazardClass, hCode }) => `${hazardClass} ${hCode}`);
const becauseOf = (mixture: ReturnType<typeof classify>, hazardClass: string) =>
  mixture.classes.find((one) => one.hazardClass === hazardClass)?.because;

describe('the arithmetic in words', () => {
  it('one weighted share', () => {
    const copper = of(
      'copper(II) carbonate',
      4.8,
      entry('Aquatic Acute 1', 'H400', { mFactor: 10 }),
      entry('Aquatic Chronic 1', 'H410', { mFactor: 10 }),
    );
    const mixture = eu(copper, of('rest', 95.2));
    expect(becauseOf(mixture, 'Aquatic Chronic 1')).toEqual([
      'copper(II) carbonate 4.8 % × M 10 = 48 ≥ 25 → Aquatic Chronic 1',
    ]);
    expect(mixture.hStatements).toEqual(['H410']);
  });

  it('a share between two limits', () => {
    const mixture = eu(of('manganese dioxide', 4, entry('STOT RE 1', 'H372')), of('rest', 96));
    expect(mixture.classes).toEqual([
      {
        hazardClass: 'STOT RE 2',
        hCode: 'H373',
        because: ['manganese dioxide (STOT RE 1) 4 %, from 1 % to below 10 % → STOT RE 2'],
        dustOnly: false,
      },
    ]);
    expect([mixture.signalWord, mixture.pictograms]).toEqual(['Warning', ['GHS08']]);
  });

  it('a sum with the tenfold rule, largest share first', () => {
    const mixture = eu(
      of('lime', 0.6, entry('Eye Dam. 1', 'H318')),
      of('soda', 1, entry('Eye Dam. 1', 'H318')),
      of('ash', 3, entry('Eye Irrit. 2', 'H319')),
    );
    expect(becauseOf(mixture, 'Eye Irrit. 2')).toEqual(['10 × soda 1 % + ash 3 % = 13 ≥ 10 → Eye Irrit. 2']);
  });

  it('limits of their own beside generic ones: shares over limits', () => {
    const mixture = eu(
      of('mild', 5, entry('Skin Irrit. 2', 'H315')),
      of('strong', 1, entry('Skin Irrit. 2', 'H315', { limitPercent: 2 })),
    );
    expect(becauseOf(mixture, 'Skin Irrit. 2')).toEqual([
      'mild 5 % ÷ 10 % + strong 1 % ÷ 2 % = 1 ≥ 1 → Skin Irrit. 2',
    ]);
  });

  it('acute toxicity with what is not known', () => {
    const mixture = classify({
      rules: 'eu-clp',
      ingredients: [
        { name: 'barium carbonate', percent: 20, classes: [entry('Acute Tox. 4', 'H302')] },
        { name: 'sack without a name', percent: 30, classes: null },
        { name: 'kaolin', percent: 50, classes: [] },
      ],
    });
    expect(becauseOf(mixture, 'Acute Tox. 4')).toEqual([
      '(100 − 30 unknown) ÷ (barium carbonate 20 % ÷ 500) = 1,750 mg/kg ≤ 2,000 → Acute Tox. 4',
      'barium carbonate: 500 mg/kg stands for Acute Tox. 4',
    ]);
    expect(mixture.unknown).toEqual([
      'sack without a name, 30 %: no classification is known.',
      '30 % of the mixture consists of ingredients of unknown acute toxicity.',
    ]);
  });

  it('exactly 10 % unknown corrects nothing, and is said all the same', () => {
    const mixture = classify({
      rules: 'eu-clp',
      ingredients: [
        { name: 'barium carbonate', percent: 23, classes: [entry('Acute Tox. 4', 'H302')] },
        { name: 'sack', percent: 10, classes: null },
      ],
    });
    expect(mixture.classes).toEqual([]);
    expect(mixture.acute[0]?.ate).toBeCloseTo(100 / (23 / 500), 9);
    expect(mixture.unknown.join(' ')).toContain('10 % of the mixture consists of');
  });

  it('a known estimate by one route leaves the others unknown', () => {
    const mixture = classify({
      rules: 'eu-clp',
      ingredients: [{ name: 'sack', percent: 40, classes: null, ate: { oral: 400 } }],
    });
    expect(mixture.unknown.join(' ')).toContain('unknown acute toxicity (on the skin, inhaled)');
    expect(mixture.supplement).toEqual([
      '40 % of the mixture consists of ingredients of unknown acute toxicity (on the skin, inhaled).',
    ]);
  });

  it('figures are short, and never round to a limit that they miss', () => {
    const iron = (percent: number) =>
      becauseOf(eu(of('it', percent, entry('STOT RE 1', 'H372'))), 'STOT RE 2')?.[0] ?? '';
    expect(iron(100 / 27)).toContain('it (STOT RE 1) 3.704 %, from 1 %');
    expect(iron(9.999_97)).toContain('9.99997 %, from 1 % to below 10 %');
  });

  it('a sensitiser below its limit is named on the label from a tenth of it, by the EU', () => {
    const at = (percent: number, by: RuleSet = 'eu-clp', more: Partial<Entry> = {}) =>
      classify({ rules: by, ingredients: [of('cobalt', percent, entry('Skin Sens. 1', 'H317', more))] })
        .supplement;
    expect(at(0.5)).toEqual(['EUH208: Contains cobalt. May produce an allergic reaction.']);
    expect([at(0.1).length, at(0.09).length, at(1).length, at(0.5, 'un').length]).toEqual([1, 0, 0, 0]);
    expect(at(0.02, 'eu-clp', { limitPercent: 0.2 })).toHaveLength(1);
  });

  it('what is not listed is said', () => {
    expect(eu(of('kaolin', 60)).unknown).toEqual([
      '40 % of the mixture is not listed and was taken as harmless.',
    ]);
  });

  it('physical hazards, and what OSHA leaves out, are named', () => {
    const ingredients = [
      of('saltpetre', 5, entry('Ox. Sol. 2', 'H272'), entry('Aquatic Acute 1', 'H400', { mFactor: 100 })),
    ];
    const us = classify({ rules: 'us-hazcom', ingredients });
    expect(us.classes).toEqual([]);
    expect(us.notes).toHaveLength(2);
    expect(us.notes.join(' ')).toMatch(/saltpetre is Ox. Sol. 2.*Hazards to water/);
    expect(found(classify({ rules: 'eu-clp', ingredients }))).toEqual(['Aquatic Acute 1 H400']);
  });
});

describe('limits and rounding', () => {
  const corrosive = (name: string, percent: number) => of(name, percent, entry('Skin Irrit. 2', 'H315'));

  it('a sum does not miss its limit by the last binary digit', () => {
    const shares = [4.6, 3.8, 1.6];
    expect(shares.reduce((a, b) => a + b)).toBeLessThan(10);
    expect(found(eu(...shares.map((percent, at) => corrosive(`i${at}`, percent))))).toEqual([
      'Skin Irrit. 2 H315',
    ]);
    expect(found(eu(corrosive('a', 5), corrosive('b', 4.999_99)))).toEqual([]);
  });

  it('an ingredient listed twice counts once, with the sum of its shares', () => {
    const cancer = entry('Carc. 1B', 'H350');
    expect(found(eu(of('it', 0.06, cancer), of('It', 0.04, cancer)))).toEqual(['Carc. 1B H350']);
    expect(found(eu(of('it', 0.06, cancer), of('other', 0.04, cancer)))).toEqual([]);
    expect(
      found(eu({ ...of('a', 0.06, cancer), cas: '50-00-0' }, { ...of('b', 0.04, cancer), cas: '50-00-0' })),
    ).toEqual(['Carc. 1B H350']);
  });

  it('shares may sum to 100 in binary, and to no more', () => {
    expect(() => eu(of('a', 33.3), of('b', 33.3), of('c', 33.4))).not.toThrow();
    expect(() => eu(of('a', 60), of('b', 40.01))).toThrow(RangeError);
    expect(() => eu(of('a', 60), of('a', 60))).toThrow('120 %');
  });

  it.each<[string, Partial<Ingredient>]>([
    ['a negative share', { percent: -0.1 }],
    ['no number', { percent: Number.NaN }],
    ['over 100 %', { percent: 100.1 }],
    ['a class that is none', { classes: [entry('Carc. 3', 'H350')] }],
    ['a class of the prototype', { classes: [entry('constructor', 'H350')] }],
    ['a statement of another class', { classes: [entry('Carc. 1A', 'H351')] }],
    ['an estimate of zero', { ate: { oral: 0 } }],
    ['a negative estimate', { ate: { inhalation: { value: -1, form: 'gas' } } }],
    ['an M-factor of zero', { classes: [entry('Aquatic Acute 1', 'H400', { mFactor: 0 })] }],
    ['a limit that is no share', { classes: [entry('Carc. 2', 'H351', { limitPercent: 101 })] }],
    ['a pH that is none', { pH: 17 }],
  ])('%s is refused', (_, wrong) => {
    expect(() => eu({ name: 'it', percent: 1, classes: [], ...wrong })).toThrow(RangeError);
  });

  it('none of it is no class, even with a limit of zero', () => {
    expect(eu(of('it', 0, entry('Carc. 1A', 'H350', { limitPercent: 0 })))).toMatchObject({
      classes: [],
      signalWord: null,
      pictograms: [],
      unknown: [],
    });
    expect(classify({ rules: 'un', ingredients: [] }).classes).toEqual([]);
  });
});

describe('what counts at all', () => {
  it('the very toxic to water from 0.1 % over their M-factor, others from 1 %', () => {
    const harmful = of('harmful', 15, entry('Aquatic Chronic 3', 'H412'));
    const toxic = (percent: number, mFactor: number) =>
      of('toxic', percent, entry('Aquatic Chronic 1', 'H410', { mFactor }));
    expect(found(eu(toxic(0.1, 1), harmful))).toEqual(['Aquatic Chronic 3 H412']);
    expect(found(eu(toxic(0.099, 1), { ...harmful, percent: 24 }))).toEqual([]);
    expect(found(eu(toxic(0.01, 10), harmful))).toEqual(['Aquatic Chronic 3 H412']);
    expect(
      found(eu(of('a', 0.9, entry('Aquatic Chronic 3', 'H412')), { ...harmful, percent: 24.5 })),
    ).toEqual([]);
  });

  it('the toxic from 0.1 %, the harmful from 1 %', () => {
    const estimated = (percent: number, oral: number) => ({ ...of('it', percent), ate: { oral } });
    expect(found(eu(estimated(0.5, 10)))).toEqual(['Acute Tox. 4 H302']);
    expect(eu(estimated(0.09, 1)).acute).toEqual([]);
    expect(eu(estimated(0.99, 301)).acute).toEqual([]);
  });

  it('what irritates the airways from 1 %', () => {
    const irritant = (name: string, percent: number) => of(name, percent, entry('STOT SE 3', 'H335'));
    expect(found(eu(irritant('a', 19.5), irritant('b', 0.9)))).toEqual([]);
    expect(found(eu(irritant('a', 19), irritant('b', 1)))).toEqual(['STOT SE 3 H335']);
  });

  it('the largest share comes first in the arithmetic', () => {
    const mixture = eu(...[1, 7, 3].map((percent) => corrosiveToEyes(`i${percent}`, percent)));
    expect(becauseOf(mixture, 'Eye Irrit. 2')).toEqual(['i7 7 % + i3 3 % + i1 1 % = 11 ≥ 10 → Eye Irrit. 2']);
  });
});

const corrosiveToEyes = (name: string, percent: number) => of(name, percent, entry('Eye Irrit. 2', 'H319'));

describe('what corrodes and what does not add up', () => {
  const acid = (percent: number, limits: Partial<Entry>) =>
    of('acid', percent, entry('Skin Corr. 1B', 'H314', limits));

  it('an irritant that does not add up counts by itself from 3 %', () => {
    const alone = (percent: number) => ({
      ...of('phenol', percent, entry('Skin Irrit. 2', 'H315'), entry('Eye Irrit. 2', 'H319')),
      additive: false,
    });
    expect(found(eu(alone(3)))).toEqual(['Skin Irrit. 2 H315', 'Eye Irrit. 2 H319']);
    expect(found(eu(alone(2.99), of('soda', 9, entry('Skin Irrit. 2', 'H315'))))).toEqual([]);
  });

  it('a high limit for skin says nothing of eyes', () => {
    expect(found(eu(acid(10, { limitPercent: 25 })))).toEqual(['Skin Irrit. 2 H315', 'Eye Dam. 1 H318']);
  });

  it('ranges for eyes do', () => {
    const ranges = [
      { hazardClass: 'Skin Irrit. 2', hCode: 'H315', fromPercent: 10, belowPercent: 25 },
      { hazardClass: 'Eye Irrit. 2', hCode: 'H319', fromPercent: 10, belowPercent: 25 },
    ];
    expect(found(eu(acid(15, { limitPercent: 25, ranges })))).toEqual([
      'Skin Irrit. 2 H315',
      'Eye Irrit. 2 H319',
    ]);
    expect(found(eu(acid(9, { limitPercent: 25, ranges })))).toEqual([]);
  });

  it('what corrodes skin damages eyes, whatever its range for eyes', () => {
    const ranges = [{ hazardClass: 'Eye Irrit. 2', hCode: 'H319', fromPercent: 1, belowPercent: 3 }];
    const mixture = eu(acid(2.5, { limitPercent: 2, ranges }));
    expect(found(mixture)).toEqual(['Skin Corr. 1B H314', 'Eye Dam. 1 H318']);
    expect(mixture.hStatements).toEqual(['H314']);
  });
});

it('the more severe of what corrodes by itself and what corrodes in sum decides', () => {
  const mixture = eu(
    { ...of('amine', 30, entry('Skin Corr. 1B', 'H314', { limitPercent: 25 })), additive: false },
    of('lye', 20, entry('Skin Corr. 1A', 'H314')),
  );
  expect(found(mixture)).toContain('Skin Corr. 1A H314');
  expect(becauseOf(mixture, 'Skin Corr. 1A')).toEqual(['lye 20 % ≥ 5 % → Skin Corr. 1A']);
});

describe('what goes together', () => {
  it('organs that one sheet names are not said to be all where another names none', () => {
    const mixture = eu(
      of('manganese', 20, entry('STOT RE 1', 'H372', { note: 'brain' })),
      of('vanadium', 20, entry('STOT RE 1', 'H372')),
    );
    expect(mixture.classes.map(({ organs }) => organs)).toEqual(['brain; others not said']);
  });

  it.each([
    ['H360F', 'H360Fd'],
    ['H360D', 'H360Df'],
    ['H360FD', 'H360FD'],
    ['H360', 'H360'],
  ])('%s and an unsaid suspicion of both sides: %s', (certain, both) => {
    const mixture = eu(
      of('certain', 1, entry('Repr. 1A', certain)),
      of('suspected', 5, entry('Repr. 2', 'H361')),
    );
    expect(found(mixture)).toEqual([`Repr. 1A ${both}`]);
  });

  it('toxic to reproduction: each side by its own limit', () => {
    const fertility = (percent: number) => of('f', percent, entry('Repr. 2', 'H361f'));
    const unborn = of('d', 1, entry('Repr. 1B', 'H360D'));
    expect(found(eu(unborn, fertility(2)))).toEqual(['Repr. 1B H360D']);
    expect(found(eu(unborn, fertility(3)))).toEqual(['Repr. 1B H360Df']);
    expect(found(eu(unborn, of('f', 1, entry('Repr. 1A', 'H360F'))))).toEqual(['Repr. 1A H360FD']);
    expect(found(eu(fertility(3), of('d', 3, entry('Repr. 2', 'H361d'))))).toEqual(['Repr. 2 H361fd']);
    expect(found(eu(of('x', 1, entry('Repr. 1B', 'H360'))))).toEqual(['Repr. 1B H360']);
  });

  it('cancer by inhalation only while all are meant that way', () => {
    const nickel = of('nickel oxide', 1, entry('Carc. 1A', 'H350i'));
    const mixture = eu(nickel);
    expect(found(mixture)).toEqual(['Carc. 1A H350i']);
    expect(mixture.classes[0]?.dustOnly).toBe(true);
    expect(found(eu(nickel, of('cadmium', 1, entry('Carc. 1B', 'H350'))))).toEqual(['Carc. 1A H350']);
    expect(found(eu(nickel, of('antimony', 1, entry('Carc. 2', 'H351'))))).toEqual([
      'Carc. 1A H350i',
      'Carc. 2 H351',
    ]);
  });

  it('organs are weighed each for itself', () => {
    const lungs = of('quartz', 20, entry('STOT RE 1', 'H372', { note: 'lungs, respirable dust' }));
    const brain = of('manganese', 4, entry('STOT RE 1', 'H372', { note: 'brain' }));
    const mixture = eu(lungs, brain);
    expect(mixture.classes).toEqual([
      expect.objectContaining({ hazardClass: 'STOT RE 1', organs: 'lungs, respirable dust', dustOnly: true }),
      expect.objectContaining({ hazardClass: 'STOT RE 2', hCode: 'H373', organs: 'brain', dustOnly: false }),
    ]);
    expect(mixture.hStatements).toEqual(['H372', 'H373']);
    const dust = of('dust', 4, entry('STOT RE 1', 'H372', { note: 'Lungs, respirable dust' }));
    expect(found(eu(lungs, dust))).toEqual(['STOT RE 1 H372']);
    const any = (name: string, percent: number) => of(name, percent, entry('STOT RE 1', 'H372'));
    expect(found(eu(any('a', 20), any('b', 4)))).toEqual(['STOT RE 1 H372']);
  });

  it('what is breathed in only is marked', () => {
    const marks = eu(
      of('quartz', 20, entry('STOT RE 1', 'H372', { note: 'lungs, by inhalation' })),
      of('cobalt', 2, entry('Resp. Sens. 1', 'H334'), entry('Skin Sens. 1', 'H317')),
    ).classes.map(({ hCode, dustOnly }) => [hCode, dustOnly]);
    expect(marks).toEqual([
      ['H334', true],
      ['H317', false],
      ['H372', true],
    ]);
  });

  it('an estimate milder than the class does not talk it down', () => {
    const stated = {
      name: 'it',
      percent: 100,
      classes: [entry('Acute Tox. 3', 'H301')],
      ate: { oral: 1500 },
    };
    expect(found(eu(stated))).toEqual(['Acute Tox. 3 H301']);
  });

  it('an estimate for gas counts by its category in dust', () => {
    const gas = {
      name: 'it',
      percent: 100,
      classes: [],
      ate: { inhalation: { value: 400, form: 'gas' as const } },
    };
    const mixture = classify({ rules: 'eu-clp', ingredients: [gas] });
    expect(mixture.acute[0]).toMatchObject({ unit: 'mg/L', ate: 0.05, hazardClass: 'Acute Tox. 2' });
  });

  it('category 5, mild irritation and more for water exist by the UN only', () => {
    const ingredients = [
      { name: 'a', percent: 50, classes: [], ate: { oral: 2400 } },
      of('b', 9, entry('Skin Irrit. 2', 'H315')),
      of('c', 3, entry('Aquatic Acute 1', 'H400')),
    ];
    expect(found(classify({ rules: 'un', ingredients }))).toEqual([
      'Acute Tox. 5 H303',
      'Skin Irrit. 3 H316',
      'Aquatic Acute 2 H401',
    ]);
    expect(classify({ rules: 'eu-clp', ingredients }).classes).toEqual([]);
  });

  it('aspiration needs something thin', () => {
    const oil = [of('oil', 12, entry('Asp. Tox. 1', 'H304'))];
    expect(found(classify({ rules: 'eu-clp', ingredients: oil, viscosity: 20.5 }))).toEqual([
      'Asp. Tox. 1 H304',
    ]);
    expect(found(classify({ rules: 'eu-clp', ingredients: oil, viscosity: 20.6 }))).toEqual([]);
    expect(becauseOf(classify({ rules: 'eu-clp', ingredients: oil }), 'Asp. Tox. 1')).toContain(
      'Its viscosity is not given: taken as thin',
    );
  });
});

describe('labels', () => {
  const pictograms = (...classes: [string, string][]) =>
    label(classes.map(([hazardClass, hCode]) => ({ hazardClass, hCode }))).pictograms;

  it('the exclamation mark yields to what is said more strongly', () => {
    expect(pictograms(['Acute Tox. 3', 'H301'], ['Acute Tox. 4', 'H332'])).toEqual(['GHS06']);
    expect(pictograms(['Skin Corr. 1', 'H314'], ['Eye Irrit. 2', 'H319'])).toEqual(['GHS05']);
    expect(pictograms(['Skin Corr. 1', 'H314'], ['Acute Tox. 4', 'H302'])).toEqual(['GHS05', 'GHS07']);
    expect(pictograms(['Resp. Sens. 1', 'H334'], ['Skin Sens. 1', 'H317'])).toEqual(['GHS08']);
    expect(pictograms(['Resp. Sens. 1', 'H334'], ['STOT SE 3', 'H335'])).toEqual(['GHS07', 'GHS08']);
    expect(pictograms(['Carc. 2', 'H351'], ['Skin Sens. 1', 'H317'])).toEqual(['GHS07', 'GHS08']);
  });

  it('knows no class by an inherited name', () => {
    expect(() => label([{ hazardClass: 'toString', hCode: 'H300' }])).toThrow(RangeError);
  });
});

// Properties

const NAMES = Object.keys(HAZARD_CLASSES);
const rules = fc.constantFrom<RuleSet>('un', 'eu-clp', 'us-hazcom');
const aClass = fc.constantFrom(...NAMES).chain((hazardClass) =>
  fc.record(
    {
      hazardClass: fc.constant(hazardClass),
      hCode: fc.constantFrom(...(HAZARD_CLASSES[hazardClass]?.hCodes ?? [])),
      limitPercent: fc.constantFrom(0.01, 0.1, 0.5, 1, 3, 5, 25),
      mFactor: fc.constantFrom(1, 10, 100),
      note: fc.constantFrom('inhalation', 'kidneys'),
    },
    { requiredKeys: ['hazardClass', 'hCode'] },
  ),
);
const estimates = fc.record(
  {
    oral: fc.double({ min: 0.5, max: 6000, noNaN: true }),
    dermal: fc.double({ min: 0.5, max: 6000, noNaN: true }),
    inhalation: fc.record({
      value: fc.double({ min: 0.01, max: 6, noNaN: true }),
      form: fc.constantFrom('gas' as const, 'vapour' as const, 'dust-mist' as const),
    }),
  },
  { requiredKeys: [] },
);
const substances = fc.array(
  fc.record({
    classes: fc.option(fc.array(aClass, { maxLength: 4 }), { nil: null, freq: 6 }),
    ate: estimates,
    additive: fc.constantFrom(true, true, false),
  }),
  { minLength: 1, maxLength: 6 },
);
const weights = fc.array(fc.constantFrom(0, 0.05, 0.1, 0.3, 0.999, 1, 1.2, 2.5, 3, 5, 9.9, 10, 15, 20, 25), {
  minLength: 6,
  maxLength: 6,
});

const named = (
  made: readonly Omit<Ingredient, 'name' | 'percent'>[],
  shares: readonly number[],
): Ingredient[] => {
  const total = made.reduce((sum, _, at) => sum + (shares[at] ?? 0), 0);
  const scale = total > 90 ? 90 / total : 1;
  return made.map((one, at) => ({ ...one, name: `i${at}`, percent: (shares[at] ?? 0) * scale }));
};
const basis = (input: MixtureInput) => basisOf(input.rules, classify(input).classes);

/** Two STOT classes for different organs become one when the milder grows: then it is told in the more severe. */
const withoutMilder = (before: ClassBasis, after: ClassBasis): ClassBasis => ({
  ...before,
  classes: before.classes.filter(
    (one) =>
      !['STOT SE', 'STOT RE'].some(
        (kind) => one.startsWith(`${kind} 2`) && after.classes.some((c) => c.startsWith(`${kind} 1`)),
      ),
  ),
});

describe('properties', () => {
  it('the order of the ingredients changes nothing', () => {
    fc.assert(
      fc.property(rules, substances, weights, fc.nat(), (by, made, shares, turn) => {
        const ingredients = named(made, shares);
        const turned = [
          ...ingredients.slice(turn % ingredients.length),
          ...ingredients.slice(0, turn % ingredients.length),
        ];
        const straight = classify({ rules: by, ingredients });
        expect(classify({ rules: by, ingredients: turned })).toEqual(straight);
        expect(classify({ rules: by, ingredients: [...ingredients].reverse() })).toEqual(straight);
      }),
    );
  });

  it('nothing of it, nothing from it', () => {
    fc.assert(
      fc.property(rules, substances, (by, made) => {
        const ingredients = named(
          made,
          made.map(() => 0),
        );
        const mixture = classify({ rules: by, ingredients: [...ingredients, of('kaolin', 100)] });
        expect([mixture.classes, mixture.unknown]).toEqual([[], []]);
      }),
    );
  });

  it('more of an ingredient in place of an unclassified one never takes a hazard away', () => {
    fc.assert(
      fc.property(
        rules,
        substances,
        weights,
        fc.nat(),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (by, made, shares, which, part) => {
          const ingredients = named(made, shares);
          const at = which % ingredients.length;
          const chosen = ingredients[at];
          // Of unknown toxicity: the rules let it speak for less of the mixture the more there is.
          fc.pre(chosen !== undefined && chosen.classes !== null);
          const free = 100 - ingredients.reduce((sum, { percent }) => sum + percent, 0);
          const more = ingredients.map((one, i) =>
            i === at ? { ...one, percent: one.percent + free * part } : one,
          );
          const before = basis({ rules: by, ingredients: [...ingredients, of('kaolin', free)] });
          const after = basis({ rules: by, ingredients: [...more, of('kaolin', free * (1 - part))] });
          expect(isWorse(after, withoutMilder(before, after))).toBe(false);
        },
      ),
      { numRuns: 400 },
    );
  });

  it('every class comes with its arithmetic, once a kind and route, and has a label', () => {
    fc.assert(
      fc.property(rules, substances, weights, (by, made, shares) => {
        const { classes, hStatements, pStatements } = classify({
          rules: by,
          ingredients: named(made, shares),
        });
        for (const { because } of classes) {
          expect(because.length).toBeGreaterThan(0);
          expect(because.join()).not.toMatch(/NaN|undefined|Infinity/);
        }
        const names = classes.map(({ hazardClass, hCode }) => `${hazardClass} ${hCode}`);
        expect(new Set(names).size).toBe(names.length);
        if (classes.length > 0) expect(hStatements.length).toBeGreaterThan(0);
        expect(pStatements.length).toBeLessThanOrEqual(6);
      }),
    );
  });
});

describe('better or worse', () => {
  const clp = (...classes: string[]) => ({ rules: 'eu-clp' as const, classes: classes.sort() });

  it.each([
    [[], ['STOT RE 2 H373'], true],
    [['STOT RE 2 H373'], ['STOT RE 1 H372'], true],
    [['STOT RE 1 H372'], ['STOT RE 2 H373'], false],
    [['STOT RE 1 H372'], ['STOT RE 1 H372', 'STOT RE 2 H373'], true],
    [['STOT RE 1 H372', 'STOT RE 2 H373'], ['STOT RE 1 H372'], false],
    [['STOT RE 2 H373'], [], false],
    [['Acute Tox. 4 H302'], ['Acute Tox. 4 H332'], true],
    [['Acute Tox. 4 H302', 'Acute Tox. 4 H332'], ['Acute Tox. 4 H332'], false],
    [['Carc. 1B H350i'], ['Carc. 1B H350'], true],
    [['Carc. 1B H350'], ['Carc. 1B H350i'], false],
    [['Repr. 2 H361d'], ['Repr. 2 H361fd'], true],
    [['Repr. 1B H360FD'], ['Repr. 1B H360D'], false],
    [['Repr. 1B H360D'], ['Repr. 1B H360Df'], true],
    [['Skin Sens. 1 H317'], ['Skin Sens. 1A H317'], false],
    [['Skin Corr. 1B H314'], ['Skin Irrit. 2 H315'], false],
    [['Skin Irrit. 2 H315'], ['Skin Corr. 1 H314'], true],
    [['STOT SE 3 H335'], ['STOT SE 3 H336'], true],
    [['Aquatic Chronic 2 H411'], ['Aquatic Chronic 1 H410'], true],
    [['something of an older list'], ['something of an older list'], false],
  ] as [string[], string[], boolean][])('%j, then %j: told again %s', (then, now, again) => {
    expect(isWorse(clp(...then), clp(...now))).toBe(again);
  });

  it('a basis is sorted and says each class once', () => {
    const made = basisOf('un', [
      { hazardClass: 'STOT RE 2', hCode: 'H373' },
      { hazardClass: 'Carc. 2', hCode: 'H351' },
      { hazardClass: 'STOT RE 2', hCode: 'H373' },
    ]);
    expect(made).toEqual({ rules: 'un', classes: ['Carc. 2 H351', 'STOT RE 2 H373'] });
    expect(sameBasis(made, { ...made, classes: [...made.classes] })).toBe(true);
    expect(sameBasis(made, { ...made, rules: 'eu-clp' })).toBe(false);
    expect(sameBasis(made, { ...made, classes: ['Carc. 2 H351'] })).toBe(false);
  });
});
