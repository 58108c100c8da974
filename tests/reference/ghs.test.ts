import { describe, expect, it } from 'vitest';
import { H_TEXTS, HAZARD_CLASSES, isHazard, label } from '../../server/materials/hazards.ts';
import { classify, type Ingredient, type RuleSet } from '../../server/safety/ghs.ts';

// CLP: Regulation (EC) 1272/2008 Annex I and Annex VI. UNEX: UN ST/SG/AC.10/C.4/2008/23 Annex 2, worked examples.
// ECHA-EX: ECHA Helpdesk seminar, mixture classification exercises (2012). HPR: SOR/2015-17 s. 8.1.7, GHS table 3.1.2.
// TRGS201: German technical rule TRGS 201 section 2.2.6.

type Entry = NonNullable<Ingredient['classes']>[number];

const CODES: Record<string, string> = {
  'Acute Tox. 4': 'H302',
};
const entry = (hazardClass: string, more: Partial<Entry> = {}): Entry => ({
  hazardClass,
  hCode: CODES[hazardClass] ?? HAZARD_CLASSES[hazardClass]?.hCodes[0] ?? '',
  ...more,
});

/** One classified ingredient in what is not classified. */
const inInert = (percent: number, ...classes: Entry[]): Ingredient[] => [
  { name: 'it', percent, classes },
  { name: 'inert', percent: 100 - percent, classes: [] },
];

const classesOf = (ingredients: Ingredient[], rules: RuleSet = 'eu-clp', pH?: number): string[] =>
  classify({ rules, ingredients, pH }).classes.map(({ hazardClass }) => hazardClass);

/** The next double below. */
function below(value: number): number {
  const view = new DataView(new ArrayBuffer(8));
  view.setFloat64(0, value);
  view.setBigUint64(0, view.getBigUint64(0) - 1n);
  return view.getFloat64(0);
}

describe('generic limits of single ingredients', () => {
  // CLP tables 3.4.5, 3.5.2, 3.6.2, 3.7.2, 3.11.3; TRGS201 for STOT.
  const eu: [ingredient: string, from: number, becomes: string, under: string[]][] = [
    ['Muta. 1A', 0.1, 'Muta. 1A', []],
    ['Muta. 1B', 0.1, 'Muta. 1B', []],
    ['Muta. 2', 1, 'Muta. 2', []],
    ['Carc. 1A', 0.1, 'Carc. 1A', []],
    ['Carc. 1B', 0.1, 'Carc. 1B', []],
    ['Carc. 2', 1, 'Carc. 2', []],
    ['Repr. 1A', 0.3, 'Repr. 1A', []],
    ['Repr. 1B', 0.3, 'Repr. 1B', []],
    ['Repr. 2', 3, 'Repr. 2', []],
    ['Lact.', 0.3, 'Lact.', []],
    ['STOT SE 1', 10, 'STOT SE 1', ['STOT SE 2']],
    ['STOT SE 1', 1, 'STOT SE 2', []],
    ['STOT SE 2', 10, 'STOT SE 2', []],
    ['STOT SE 3', 20, 'STOT SE 3', []],
    ['STOT RE 1', 10, 'STOT RE 1', ['STOT RE 2']],
    ['STOT RE 1', 1, 'STOT RE 2', []],
    ['STOT RE 2', 10, 'STOT RE 2', []],
    ['Skin Sens. 1', 1, 'Skin Sens. 1', []],
    ['Skin Sens. 1A', 0.1, 'Skin Sens. 1', []],
    ['Skin Sens. 1B', 1, 'Skin Sens. 1', []],
    ['Resp. Sens. 1', 1, 'Resp. Sens. 1', []],
    ['Resp. Sens. 1A', 0.1, 'Resp. Sens. 1', []],
    ['Resp. Sens. 1B', 1, 'Resp. Sens. 1', []],
    ['Asp. Tox. 1', 10, 'Asp. Tox. 1', []],
    ['ED HH 1', 0.1, 'ED HH 1', []],
    ['ED HH 2', 1, 'ED HH 2', []],
  ];
  it.each(eu)('EU: %s from %f %% makes %s, and less does not', (ingredient, from, becomes, under) => {
    expect(classesOf(inInert(from, entry(ingredient)))).toEqual([becomes]);
    expect(classesOf(inInert(below(from), entry(ingredient)))).toEqual(under);
  });

  // 29 CFR 1910.1200 Appendix A, from memory.
  const us: [string, number, string][] = [
    ['Repr. 1B', 0.1, 'Repr. 1B'],
    ['Repr. 2', 0.1, 'Repr. 2'],
    ['Carc. 2', 0.1, 'Carc. 2'],
    ['STOT RE 1', 1, 'STOT RE 1'],
  ];
  it.each(us)('US: %s from %f %% makes %s (from memory)', (ingredient, from, becomes) => {
    expect(classesOf(inInert(from, entry(ingredient)), 'us-hazcom')).toEqual([becomes]);
    expect(classesOf(inInert(below(from), entry(ingredient)), 'us-hazcom')).toEqual([]);
  });

  it('a respiratory sensitiser in a gas counts from 0.2 % (CLP table 3.4.5)', () => {
    const gas = (percent: number) =>
      classify({ rules: 'eu-clp', form: 'gas', ingredients: inInert(percent, entry('Resp. Sens. 1')) })
        .classes.length;
    expect([gas(0.2), gas(below(0.2))]).toEqual([1, 0]);
  });
});

describe('limits of the very substance (CLP Annex VI, to ATP 17)', () => {
  it('cobalt carbonate makes Carc. 1B from 0.01 %', () => {
    const carbonate = entry('Carc. 1B', { hCode: 'H350i', limitPercent: 0.01 });
    expect(classesOf(inInert(0.01, carbonate))).toEqual(['Carc. 1B']);
    expect(classesOf(inInert(below(0.01), carbonate))).toEqual([]);
  });

  it('cadmium sulphide makes STOT RE 1 from 10 %, STOT RE 2 from 0.1 %', () => {
    const sulphide = entry('STOT RE 1', {
      limitPercent: 10,
      ranges: [{ hazardClass: 'STOT RE 2', hCode: 'H373', fromPercent: 0.1, belowPercent: 10 }],
    });
    expect(classesOf(inInert(10, sulphide))).toEqual(['STOT RE 1']);
    expect(classesOf(inInert(below(10), sulphide))).toEqual(['STOT RE 2']);
    expect(classesOf(inInert(0.1, sulphide))).toEqual(['STOT RE 2']);
    expect(classesOf(inInert(below(0.1), sulphide))).toEqual([]);
  });

  it('lead compounds harm the unborn from 0.3 %, fertility from 2.5 %, organs from 0.5 %', () => {
    const lead = [
      entry('Repr. 1A', {
        hCode: 'H360Df',
        ranges: [{ hazardClass: 'Repr. 2', hCode: 'H361f', fromPercent: 2.5 }],
      }),
      entry('STOT RE 2', { limitPercent: 0.5 }),
    ];
    const codes = (percent: number) =>
      classify({ rules: 'eu-clp', ingredients: inInert(percent, ...lead) }).classes.map(({ hCode }) => hCode);
    expect(codes(2.5)).toEqual(['H360Df', 'H373']);
    expect(codes(below(2.5))).toEqual(['H360D', 'H373']);
    expect(codes(below(0.5))).toEqual(['H360D']);
    expect(codes(below(0.3))).toEqual([]);
  });

  it('potassium dichromate irritates the airways from 5 %', () => {
    const dichromate = entry('STOT SE 3', { limitPercent: 5 });
    expect(classesOf(inInert(5, dichromate))).toEqual(['STOT SE 3']);
    expect(classesOf(inInert(below(5), dichromate))).toEqual([]);
  });

  it('potassium hydroxide corrodes and irritates in its own ranges', () => {
    const potash = entry('Skin Corr. 1A', {
      limitPercent: 5,
      ranges: [
        { hazardClass: 'Skin Corr. 1B', hCode: 'H314', fromPercent: 2, belowPercent: 5 },
        { hazardClass: 'Skin Irrit. 2', hCode: 'H315', fromPercent: 0.5, belowPercent: 2 },
        { hazardClass: 'Eye Irrit. 2', hCode: 'H319', fromPercent: 0.5, belowPercent: 2 },
      ],
    });
    expect(classesOf(inInert(5, potash))).toEqual(['Skin Corr. 1A', 'Eye Dam. 1']);
    expect(classesOf(inInert(below(5), potash))).toEqual(['Skin Corr. 1B', 'Eye Dam. 1']);
    expect(classesOf(inInert(below(2), potash))).toEqual(['Skin Irrit. 2', 'Eye Irrit. 2']);
    expect(classesOf(inInert(below(0.5), potash))).toEqual([]);
  });
});

describe('skin and eyes', () => {
  it('CLP table 3.2.3 and ECHA-EX: 5 % corrosive corrodes, 1 % irritates', () => {
    const corrosive = entry('Skin Corr. 1B');
    expect(classesOf(inInert(5, corrosive))).toContain('Skin Corr. 1B');
    expect(classesOf(inInert(below(5), corrosive))).toContain('Skin Irrit. 2');
    expect(classesOf(inInert(1, corrosive))).toContain('Skin Irrit. 2');
    expect(classesOf(inInert(below(1), corrosive))).toEqual([]);
  });

  it('ECHA-EX: irritants irritate from 10 % in sum, and 0.8 % of one does not', () => {
    const irritant = entry('Skin Irrit. 2');
    expect(classesOf(inInert(10, irritant))).toEqual(['Skin Irrit. 2']);
    expect(classesOf(inInert(below(10), irritant))).toEqual([]);
    expect(classesOf(inInert(0.8, irritant))).toEqual([]);
  });

  it('CLP table 3.3.3: eyes from 3 % and 1 %; the second row from memory', () => {
    const damaging = entry('Eye Dam. 1');
    expect(classesOf(inInert(3, damaging))).toEqual(['Eye Dam. 1']);
    expect(classesOf(inInert(below(3), damaging))).toEqual(['Eye Irrit. 2']);
    expect(classesOf(inInert(1, damaging))).toEqual(['Eye Irrit. 2']);
    expect(classesOf(inInert(below(1), damaging))).toEqual([]);
  });

  it('irritants of eyes from 10 % in sum, damaging ones tenfold (from memory)', () => {
    const mixed: Ingredient[] = [
      { name: 'damaging', percent: 1, classes: [entry('Eye Dam. 1')] },
      { name: 'irritant', percent: 9, classes: [entry('Eye Irrit. 2')] },
    ];
    expect(classesOf(mixed)).toEqual(['Eye Irrit. 2']);
    expect(classesOf(inInert(10, entry('Eye Irrit. 2')))).toEqual(['Eye Irrit. 2']);
    expect(classesOf(inInert(below(10), entry('Eye Irrit. 2')))).toEqual([]);
  });

  it('CLP 3.2.3.1.2: an extreme pH corrodes, at 2 and at 11.5', () => {
    const inert = inInert(1);
    for (const pH of [2, 11.5, 0, 14])
      expect(classesOf(inert, 'eu-clp', pH)).toEqual(['Skin Corr. 1', 'Eye Dam. 1']);
    for (const pH of [2.1, 11.4, 7]) expect(classesOf(inert, 'eu-clp', pH)).toEqual([]);
  });

  it('UNEX 3.2/3.3a: 4 % of a corrosive acid of pH 1.8 is not added up: the mixture corrodes', () => {
    const mixture: Ingredient[] = [
      { name: 'acid', percent: 4, classes: [entry('Skin Corr. 1')], pH: 1.8 },
      { name: 'rest', percent: 96, classes: [] },
    ];
    expect(classesOf(mixture, 'un', 4)).toEqual(['Skin Corr. 1', 'Eye Dam. 1']);
  });
});

describe('water (CLP tables 4.1.1 and 4.1.2, from memory)', () => {
  const acute = (mFactor: number) => entry('Aquatic Acute 1', { mFactor });
  const chronic = (category: number, mFactor?: number) =>
    entry(`Aquatic Chronic ${category}`, mFactor === undefined ? {} : { mFactor });

  it('Acute 1 when Σ C × M reaches 25', () => {
    expect(classesOf(inInert(2.5, acute(10)))).toEqual(['Aquatic Acute 1']);
    expect(classesOf(inInert(below(2.5), acute(10)))).toEqual([]);
  });

  it('Chronic 1, 2, 3 as the weighted sum reaches 25, Chronic 4 as the plain sum does', () => {
    expect(classesOf(inInert(25, chronic(1)))).toEqual(['Aquatic Chronic 1']);
    expect(classesOf(inInert(below(25), chronic(1)))).toEqual(['Aquatic Chronic 2']);
    expect(classesOf(inInert(2.5, chronic(1)))).toEqual(['Aquatic Chronic 2']);
    expect(classesOf(inInert(below(2.5), chronic(1)))).toEqual(['Aquatic Chronic 3']);
    expect(classesOf(inInert(0.25, chronic(1)))).toEqual(['Aquatic Chronic 3']);
    expect(classesOf(inInert(below(0.25), chronic(1)))).toEqual([]);
    expect(classesOf(inInert(25, chronic(2)))).toEqual(['Aquatic Chronic 2']);
    expect(classesOf(inInert(2.5, chronic(2)))).toEqual(['Aquatic Chronic 3']);
    expect(classesOf(inInert(25, chronic(3)))).toEqual(['Aquatic Chronic 3']);
    expect(classesOf(inInert(25, chronic(4)))).toEqual(['Aquatic Chronic 4']);
    expect(classesOf(inInert(below(25), chronic(4)))).toEqual([]);
  });
});

describe('acute toxicity', () => {
  const mix = (rules: RuleSet, ...parts: [percent: number, oral: number][]) =>
    classify({
      rules,
      ingredients: parts.map(([percent, oral], at) => ({
        name: `ingredient ${at}`,
        percent,
        classes: [],
        ate: { oral },
      })),
    });
  const oralOf = (mixture: ReturnType<typeof classify>) =>
    mixture.acute.find(({ route }) => route === 'oral');

  it('UNEX 3.1a: 1,880 mg/kg by the UN, which counts category 5', () => {
    const mixture = mix('un', [16, 1600], [4, 200], [80, 3450]);
    expect(oralOf(mixture)?.ate).toBeCloseTo(1880.11, 2);
    expect(mixture.classes.map(({ hazardClass, hCode }) => [hazardClass, hCode])).toEqual([
      ['Acute Tox. 4', 'H302'],
    ]);
  });

  it('the same by the EU: what is above 2,000 mg/kg is left out (wording of CLP 3.1.3.3 from memory)', () => {
    const mixture = mix('eu-clp', [16, 1600], [4, 200], [80, 3450]);
    expect(oralOf(mixture)?.ate).toBeCloseTo(3333.333, 3);
    expect(mixture.classes).toEqual([]);
  });

  it('UNEX 3.1c: 4 % at 1,737 mg/kg is 43,425 mg/kg, no class', () => {
    const mixture = classify({
      rules: 'un',
      ingredients: [
        { name: 'a', percent: 4, classes: [], ate: { oral: 1737 } },
        { name: 'rest', percent: 96, classes: [] },
      ],
    });
    expect(oralOf(mixture)?.ate).toBeCloseTo(43_425, 6);
    expect(mixture.classes).toEqual([]);
  });

  it('basic copper carbonate, ATE 500 (Annex VI): 10,000 at 5 %, category 4 at 25 % and not at 24.9 %', () => {
    const copper = (percent: number) => mix('eu-clp', [percent, 500]);
    expect(oralOf(copper(5))?.ate).toBeCloseTo(10_000, 6);
    expect(copper(25).classes.map(({ hazardClass }) => hazardClass)).toEqual(['Acute Tox. 4']);
    expect(oralOf(copper(24.9))?.ate).toBeCloseTo(2008, 0);
    expect(copper(24.9).classes).toEqual([]);
  });

  it('barium carbonate without an estimate counts as 500 mg/kg (HPR)', () => {
    const barium = (percent: number) => classesOf(inInert(percent, entry('Acute Tox. 4')));
    expect([barium(25), barium(24.9)]).toEqual([['Acute Tox. 4'], []]);
  });

  // HPR; one ingredient alone is classified as itself.
  it.each([1, 2, 3, 4])('category %i stands for itself by every route', (category) => {
    for (const hCode of HAZARD_CLASSES[`Acute Tox. ${category}`]?.hCodes ?? []) {
      const pure = [{ name: 'it', percent: 100, classes: [entry(`Acute Tox. ${category}`, { hCode })] }];
      for (const form of ['gas', 'vapour', 'dust-mist'] as const) {
        const [found] = classify({ rules: 'eu-clp', form, ingredients: pure }).classes;
        expect(found).toMatchObject({ hazardClass: `Acute Tox. ${category}`, hCode });
      }
    }
  });

  // CLP table 3.1.1.
  it.each([
    [5, 1],
    [5.01, 2],
    [50, 2],
    [50.1, 3],
    [300, 3],
    [301, 4],
    [2000, 4],
  ])('swallowed, %f mg/kg is category %i', (oral, category) => {
    expect(mix('eu-clp', [100, oral]).classes[0]?.hazardClass).toBe(`Acute Tox. ${category}`);
  });
  it.each([
    ['gas', [100, 500, 2500, 20_000]],
    ['vapour', [0.5, 2, 10, 20]],
    ['dust-mist', [0.05, 0.5, 1, 5]],
  ] as const)('inhaled as %s the categories end at %j', (form, ends) => {
    const classFor = (value: number) =>
      classify({
        rules: 'eu-clp',
        form,
        ingredients: [{ name: 'it', percent: 100, classes: [], ate: { inhalation: { value, form } } }],
      }).classes[0]?.hazardClass;
    expect(ends.map(classFor)).toEqual(['Acute Tox. 1', 'Acute Tox. 2', 'Acute Tox. 3', 'Acute Tox. 4']);
    expect(ends.map((end) => classFor(end * 1.001))).toEqual([
      'Acute Tox. 2',
      'Acute Tox. 3',
      'Acute Tox. 4',
      undefined,
    ]);
  });
});

// CLP Annex VI Table 3, to ATP 17 (unofficial ECHA table, December 2021): the entries that a studio may meet, with the
// marks of minimum classification, unstated route and unspecified effect left out.
// Index, substance, classes, statements, pictograms, signal word, statements on the label.
const ANNEX_VI: [string, string, string, string, string, string, string][] = [
  ['056-003-00-2', 'barium carbonate', 'Acute Tox. 4', 'H302', 'GHS07', 'Warning', 'H302'],
  [
    '056-002-00-7',
    'barium salts',
    'Acute Tox. 4; Acute Tox. 4',
    'H332 H302',
    'GHS07',
    'Warning',
    'H332 H302',
  ],
  [
    '025-001-00-3',
    'manganese dioxide',
    'Acute Tox. 4; Acute Tox. 4',
    'H332 H302',
    'GHS07',
    'Warning',
    'H332 H302',
  ],
  [
    '027-002-00-4',
    'cobalt oxide',
    'Acute Tox. 4; Skin Sens. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H302 H317 H400 H410',
    'GHS07 GHS09',
    'Warning',
    'H302 H317 H410',
  ],
  [
    '027-010-00-8',
    'cobalt carbonate',
    'Carc. 1B; Muta. 2; Repr. 1B; Resp. Sens. 1; Skin Sens. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H350i H341 H360F H334 H317 H400 H410',
    'GHS08 GHS09',
    'Danger',
    'H350i H341 H360F H334 H317 H410',
  ],
  [
    '027-001-00-9',
    'cobalt',
    'Carc. 1B; Muta. 2; Repr. 1B; Resp. Sens. 1; Skin Sens. 1; Aquatic Chronic 4',
    'H350 H341 H360F H334 H317 H413',
    'GHS08',
    'Danger',
    'H334 H317 H341 H350 H360F H413',
  ],
  [
    '027-005-00-0',
    'cobalt sulfate',
    'Carc. 1B; Muta. 2; Repr. 1B; Acute Tox. 4; Resp. Sens. 1; Skin Sens. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H350i H341 H360F H302 H334 H317 H400 H410',
    'GHS08 GHS07 GHS09',
    'Danger',
    'H350i H341 H360F H302 H334 H317 H410',
  ],
  [
    '029-020-00-8',
    'copper(II) carbonate--copper(II) hydroxide (1:1)',
    'Acute Tox. 4; Acute Tox. 4; Eye Irrit. 2; Aquatic Acute 1; Aquatic Chronic 1',
    'H332 H302 H319 H400 H410',
    'GHS07 GHS09',
    'Warning',
    'H332 H302 H319 H410',
  ],
  [
    '029-016-00-6',
    'copper(II) oxide',
    'Aquatic Acute 1; Aquatic Chronic 1',
    'H400 H410',
    'GHS09',
    'Warning',
    'H410',
  ],
  [
    '029-002-00-X',
    'dicopper oxide',
    'Acute Tox. 4; Acute Tox. 4; Eye Dam. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H332 H302 H318 H400 H410',
    'GHS07 GHS05 GHS09',
    'Danger',
    'H332 H302 H318 H410',
  ],
  [
    '029-004-00-0',
    'copper sulphate',
    'Acute Tox. 4; Skin Irrit. 2; Eye Irrit. 2; Aquatic Acute 1; Aquatic Chronic 1',
    'H302 H315 H319 H400 H410',
    'GHS07 GHS09',
    'Warning',
    'H302 H319 H315 H410',
  ],
  [
    '029-023-00-4',
    'copper sulphate pentahydrate',
    'Acute Tox. 4; Eye Dam. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H302 H318 H400 H410',
    'GHS07 GHS05 GHS09',
    'Danger',
    'H302 H318 H410',
  ],
  [
    '024-002-00-6',
    'potassium dichromate',
    'Ox. Sol. 2; Carc. 1B; Muta. 1B; Repr. 1B; Acute Tox. 2; Acute Tox. 3; Acute Tox. 4; STOT RE 1; Skin Corr. 1B; Resp. Sens. 1; Skin Sens. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H272 H350 H340 H360FD H330 H301 H312 H372 H314 H334 H317 H400 H410',
    'GHS03 GHS06 GHS08 GHS05 GHS09',
    'Danger',
    'H272 H350 H340 H360FD H330 H301 H372 H312 H314 H334 H317 H410',
  ],
  [
    '028-003-00-2',
    'nickel monoxide',
    'Carc. 1A; STOT RE 1; Skin Sens. 1; Aquatic Chronic 4',
    'H350i H372 H317 H413',
    'GHS08 GHS07',
    'Danger',
    'H350i H372 H317 H413',
  ],
  [
    '028-010-00-0',
    'nickel carbonate',
    'Carc. 1A; Muta. 2; Repr. 1B; Acute Tox. 4; Acute Tox. 4; STOT RE 1; Skin Irrit. 2; Resp. Sens. 1; Skin Sens. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H350i H341 H360D H332 H302 H372 H315 H334 H317 H400 H410',
    'GHS08 GHS07 GHS09',
    'Danger',
    'H350i H341 H360D H372 H332 H302 H315 H334 H317 H410',
  ],
  [
    '023-001-00-8',
    'divanadium pentaoxide',
    'Muta. 2; Repr. 2; Acute Tox. 4; Acute Tox. 4; STOT SE 3; STOT RE 1; Aquatic Chronic 2',
    'H341 H361d H332 H302 H335 H372 H411',
    'GHS08 GHS07 GHS09',
    'Danger',
    'H341 H361d H372 H332 H302 H335 H411',
  ],
  [
    '082-001-00-6',
    'lead compounds with the exception of those specified elsewhere…',
    'Repr. 1A; Acute Tox. 4; Acute Tox. 4; STOT RE 2; Aquatic Acute 1; Aquatic Chronic 1',
    'H360Df H332 H302 H373 H400 H410',
    'GHS08 GHS07 GHS09',
    'Danger',
    'H360Df H332 H302 H373 H410',
  ],
  [
    '082-013-00-1',
    'lead powder',
    'Repr. 1A; Lact.; Aquatic Acute 1; Aquatic Chronic 1',
    'H360FD H362 H400 H410',
    'GHS08 GHS09',
    'Danger',
    'H360FD H362 H410',
  ],
  [
    '048-010-00-4',
    'cadmium sulphide',
    'Carc. 1B; Muta. 2; Repr. 2; Acute Tox. 4; STOT RE 1; Aquatic Chronic 4',
    'H350 H341 H361fd H302 H372 H413',
    'GHS08 GHS07',
    'Danger',
    'H350 H341 H361fd H372 H302 H413',
  ],
  [
    '048-002-00-0',
    'cadmium (non-pyrophoric)',
    'Carc. 1B; Muta. 2; Repr. 2; Acute Tox. 2; STOT RE 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H350 H341 H361fd H330 H372 H400 H410',
    'GHS06 GHS08 GHS09',
    'Danger',
    'H350 H341 H361fd H330 H372 H410',
  ],
  [
    '048-001-00-5',
    'cadmium compounds',
    'Acute Tox. 4; Acute Tox. 4; Acute Tox. 4; Aquatic Acute 1; Aquatic Chronic 1',
    'H332 H312 H302 H400 H410',
    'GHS07 GHS09',
    'Warning',
    'H332 H312 H302 H410',
  ],
  [
    '030-013-00-7',
    'zinc oxide',
    'Aquatic Acute 1; Aquatic Chronic 1',
    'H400 H410',
    'GHS09',
    'Warning',
    'H410',
  ],
  [
    '030-006-00-9',
    'zinc sulphate (hydrous) (mono-, hexa- and hepta hydrate)',
    'Acute Tox. 4; Eye Dam. 1; Aquatic Acute 1; Aquatic Chronic 1',
    'H302 H318 H400 H410',
    'GHS05 GHS07 GHS09',
    'Danger',
    'H302 H318 H410',
  ],
  ['005-007-00-2', 'boric acid', 'Repr. 1B', 'H360FD', 'GHS08', 'Danger', 'H360FD'],
  ['005-008-00-8', 'diboron trioxide', 'Repr. 1B', 'H360FD', 'GHS08', 'Danger', 'H360FD'],
  [
    '005-011-00-4',
    'tetraboron disodium heptaoxide, hydrate',
    'Repr. 1B',
    'H360FD',
    'GHS08',
    'Danger',
    'H360FD',
  ],
  ['022-006-00-2', 'titanium dioxide', 'Carc. 2', 'H351', 'GHS08', 'Warning', 'H351'],
  ['051-005-00-X', 'antimony trioxide', 'Carc. 2', 'H351', 'GHS08', 'Warning', 'H351'],
  [
    '034-001-00-2',
    'selenium',
    'Acute Tox. 3; Acute Tox. 3; STOT RE 2; Aquatic Chronic 4',
    'H331 H301 H373 H413',
    'GHS06 GHS08',
    'Danger',
    'H331 H301 H373 H413',
  ],
  [
    '034-002-00-8',
    'selenium compounds with the exception of cadmium sulphoselenid…',
    'Acute Tox. 3; Acute Tox. 3; STOT RE 2; Aquatic Acute 1; Aquatic Chronic 1',
    'H331 H301 H373 H400 H410',
    'GHS06 GHS08 GHS09',
    'Danger',
    'H331 H301 H373 H410',
  ],
  [
    '033-001-00-X',
    'arsenic',
    'Acute Tox. 3; Acute Tox. 3; Aquatic Acute 1; Aquatic Chronic 1',
    'H331 H301 H400 H410',
    'GHS06 GHS09',
    'Danger',
    'H331 H301 H410',
  ],
  [
    '033-003-00-0',
    'diarsenic trioxide',
    'Carc. 1A; Acute Tox. 2; Skin Corr. 1B; Aquatic Acute 1; Aquatic Chronic 1',
    'H350 H300 H314 H400 H410',
    'GHS06 GHS08 GHS05 GHS09',
    'Danger',
    'H350 H300 H314 H410',
  ],
  ['011-005-00-2', 'sodium carbonate', 'Eye Irrit. 2', 'H319', 'GHS07', 'Warning', 'H319'],
  [
    '019-002-00-8',
    'potassium hydroxide',
    'Acute Tox. 4; Skin Corr. 1A',
    'H302 H314',
    'GHS05 GHS07',
    'Danger',
    'H302 H314',
  ],
  [
    '009-004-00-7',
    'sodium fluoride',
    'Acute Tox. 3; Skin Irrit. 2; Eye Irrit. 2',
    'H301 H315 H319',
    'GHS06',
    'Danger',
    'H301 H319 H315',
  ],
];

describe('labels of Annex VI', () => {
  it.each(ANNEX_VI)('%s %s', (_index, _name, classes, codes, pictograms, signal, onLabel) => {
    const hCodes = codes.split(' ');
    const made = label(
      classes.split('; ').map((hazardClass, at) => {
        const hCode = hCodes[at] ?? '';
        expect(isHazard(hazardClass, hCode)).toBe(true);
        return { hazardClass, hCode };
      }),
    );
    expect(made.pictograms).toEqual(pictograms.split(' ').sort());
    expect(made.signalWord).toBe(signal);
    expect(made.hStatements).toEqual([...new Set(onLabel.split(' '))].sort());
    expect(made.pStatements.length).toBeLessThanOrEqual(6);
  });
});

// Codes with class, pictogram, signal word (Annex VI entries of one class) and text (HCIS, May 2022).
const STATEMENTS: [string, string, string | null, string | null, string][] = [
  ['H300', 'Acute Tox. 1, Acute Tox. 2', 'GHS06', 'Danger', 'Fatal if swallowed'],
  ['H301', 'Acute Tox. 3', 'GHS06', 'Danger', 'Toxic if swallowed'],
  ['H302', 'Acute Tox. 4', 'GHS07', 'Warning', 'Harmful if swallowed'],
  ['H304', 'Asp. Tox. 1', 'GHS08', 'Danger', 'May be fatal if swallowed and enters airways'],
  ['H310', 'Acute Tox. 1, Acute Tox. 2', 'GHS06', 'Danger', 'Fatal in contact with skin'],
  ['H311', 'Acute Tox. 3', 'GHS06', 'Danger', 'Toxic in contact with skin'],
  ['H312', 'Acute Tox. 4', 'GHS07', 'Warning', 'Harmful in contact with skin'],
  [
    'H314',
    'Skin Corr. 1A, Skin Corr. 1B, Skin Corr. 1C',
    'GHS05',
    'Danger',
    'Causes severe skin burns and eye damage',
  ],
  ['H315', 'Skin Irrit. 2', 'GHS07', 'Warning', 'Causes skin irritation'],
  [
    'H317',
    'Skin Sens. 1, Skin Sens. 1A, Skin Sens. 1B',
    'GHS07',
    'Warning',
    'May cause an allergic skin reaction',
  ],
  ['H318', 'Eye Dam. 1', 'GHS05', 'Danger', 'Causes serious eye damage'],
  ['H319', 'Eye Irrit. 2', 'GHS07', 'Warning', 'Causes serious eye irritation'],
  ['H330', 'Acute Tox. 1, Acute Tox. 2', 'GHS06', 'Danger', 'Fatal if inhaled'],
  ['H331', 'Acute Tox. 3', 'GHS06', 'Danger', 'Toxic if inhaled'],
  ['H332', 'Acute Tox. 4', 'GHS07', 'Warning', 'Harmful if inhaled'],
  [
    'H334',
    'Resp. Sens. 1, Resp. Sens. 1A, Resp. Sens. 1B',
    'GHS08',
    'Danger',
    'May cause allergy or asthma symptoms or breathing difficulties if inhaled',
  ],
  ['H335', 'STOT SE 3', 'GHS07', 'Warning', 'May cause respiratory irritation'],
  ['H336', 'STOT SE 3', 'GHS07', 'Warning', 'May cause drowsiness or dizziness'],
  ['H340', 'Muta. 1A, Muta. 1B', 'GHS08', 'Danger', 'May cause genetic defects'],
  ['H341', 'Muta. 2', 'GHS08', 'Warning', 'Suspected of causing genetic defects'],
  ['H350', 'Carc. 1A, Carc. 1B', 'GHS08', 'Danger', 'May cause cancer'],
  ['H350i', 'Carc. 1A, Carc. 1B', 'GHS08', 'Danger', 'May cause cancer by inhalation'],
  ['H351', 'Carc. 2', 'GHS08', 'Warning', 'Suspected of causing cancer'],
  ['H360', 'Repr. 1A, Repr. 1B', 'GHS08', 'Danger', 'May damage fertility or the unborn child'],
  ['H360D', 'Repr. 1A, Repr. 1B', 'GHS08', 'Danger', 'May damage the unborn child'],
  ['H360F', 'Repr. 1A, Repr. 1B', 'GHS08', 'Danger', 'May damage fertility'],
  ['H360FD', 'Repr. 1A, Repr. 1B', 'GHS08', 'Danger', 'May damage fertility. May damage the unborn child'],
  [
    'H360Df',
    'Repr. 1A, Repr. 1B',
    'GHS08',
    'Danger',
    'May damage the unborn child. Suspected of damaging fertility',
  ],
  [
    'H360Fd',
    'Repr. 1A, Repr. 1B',
    'GHS08',
    'Danger',
    'May damage fertility. Suspected of damaging the unborn child',
  ],
  ['H361', 'Repr. 2', 'GHS08', 'Warning', 'Suspected of damaging fertility or the unborn child'],
  ['H361d', 'Repr. 2', 'GHS08', 'Warning', 'Suspected of damaging the unborn child'],
  ['H361f', 'Repr. 2', 'GHS08', 'Warning', 'Suspected of damaging fertility'],
  [
    'H361fd',
    'Repr. 2',
    'GHS08',
    'Warning',
    'Suspected of damaging fertility. Suspected of damaging the unborn child',
  ],
  ['H362', 'Lact.', null, null, 'May cause harm to breast-fed children'],
  ['H370', 'STOT SE 1', 'GHS08', 'Danger', 'Causes damage to organs'],
  ['H371', 'STOT SE 2', 'GHS08', 'Warning', 'May cause damage to organs'],
  ['H372', 'STOT RE 1', 'GHS08', 'Danger', 'Causes damage to organs through prolonged or repeated exposure'],
  [
    'H373',
    'STOT RE 2',
    'GHS08',
    'Warning',
    'May cause damage to organs through prolonged or repeated exposure',
  ],
  ['H400', 'Aquatic Acute 1', 'GHS09', 'Warning', 'Very toxic to aquatic life'],
  ['H410', 'Aquatic Chronic 1', 'GHS09', 'Warning', 'Very toxic to aquatic life with long lasting effects'],
  ['H411', 'Aquatic Chronic 2', 'GHS09', null, 'Toxic to aquatic life with long lasting effects'],
  ['H412', 'Aquatic Chronic 3', null, null, 'Harmful to aquatic life with long lasting effects'],
  ['H413', 'Aquatic Chronic 4', null, null, 'May cause long lasting harmful effects to aquatic life'],
];

describe('hazard statements', () => {
  it.each(STATEMENTS)('%s goes with %s', (code, classes, pictogram, signal, text) => {
    expect(H_TEXTS[code]).toBe(text);
    for (const hazardClass of classes.split(', ')) {
      expect(isHazard(hazardClass, code)).toBe(true);
      expect(HAZARD_CLASSES[hazardClass]).toMatchObject({ pictogram, signal });
    }
  });

  it('every statement of a class has a text', () => {
    for (const { hCodes } of Object.values(HAZARD_CLASSES))
      for (const code of hCodes) expect(H_TEXTS[code]).toBeTruthy();
  });
});
