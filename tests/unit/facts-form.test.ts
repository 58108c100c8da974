import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Invalid } from '../../server/core/errors.ts';
import { parse, type Typed } from '../../server/core/forms.ts';
import {
  commandOf,
  MOST,
  materialBody,
  readMaterial,
  rowsFor,
  typedFrom,
} from '../../server/materials/facts-form.ts';
import { HAZARD_CLASSES } from '../../server/materials/hazards.ts';
import { PUBLISHED } from '../../server/materials/published.ts';

const setting = { units: 'metric', timeZone: 'Europe/London', currency: 'GBP' } as const;
const BASE: Typed = { name: 'Blue stone', density: '3,6', classification: 'unknown' };
const CLASSED: Typed = { ...BASE, classification: 'classified', source: 'A sheet of 2024.' };

function faults(work: () => unknown): Record<string, string> {
  try {
    work();
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    return Object.fromEntries(error.errors.map(({ path, message }) => [path, message]));
  }
  return {};
}
const inForm = (typed: Typed) => faults(() => readMaterial(typed, setting));
const inBody = (body: object) =>
  faults(() => commandOf(parse(materialBody, { name: 'Blue stone', density: 3.6, ...body })));

describe('a material from its form', () => {
  it('needs no more than a name and a density', () => {
    const { name, density, facts } = readMaterial(BASE, setting);
    expect([name, density, facts.classification]).toEqual(['Blue stone', 3.6, 'unknown']);
    expect([facts.substances, facts.hazards, facts.limits, facts.ate]).toEqual([[], [], [], {}]);
  });

  it('reads rows wherever they stand, commas, codes in one field, classes in any case', () => {
    const { facts } = readMaterial(
      {
        ...CLASSED,
        otherNames: 'Smalt\n  Zaffre \n\n',
        substance3: 'cobalt carbonate',
        cas3: '513-79-1',
        percent3: '99,5',
        class2: 'carc. 1b',
        hcode2: 'H350i',
        from2: '0,01',
        class5: 'STOT RE 1',
        hcode5: 'H372',
        rangeOf2: 'H372',
        rangeClass2: 'STOT RE 2',
        rangeHcode2: 'H373',
        rangeFrom2: '0.1',
        rangeBelow2: '10',
        ateInhalation: '1.2',
        ateForm: 'dust-mist',
        pStatements: 'P261; P305 + P351 + P338\nP261',
        limitOf1: 'cobalt, as Co',
        limitValue1: '0.1',
        limitUnit1: 'mg/m³',
        limitAveraging1: '8 h',
        limitSource1: 'Table Z-1',
      },
      setting,
    );
    expect(facts.otherNames).toEqual(['Smalt', 'Zaffre']);
    expect(facts.substances).toEqual([{ name: 'cobalt carbonate', cas: '513-79-1', percent: 99.5 }]);
    expect(facts.hazards).toEqual([
      { hazardClass: 'Carc. 1B', hCode: 'H350i', limitPercent: 0.01 },
      {
        hazardClass: 'STOT RE 1',
        hCode: 'H372',
        ranges: [{ hazardClass: 'STOT RE 2', hCode: 'H373', fromPercent: 0.1, belowPercent: 10 }],
      },
    ]);
    expect(facts.ate).toEqual({ inhalation: { value: 1.2, form: 'dust-mist' } });
    expect(facts.pStatements).toEqual(['P261', 'P305+P351+P338']);
    expect(facts.limits).toEqual([
      { of: 'cobalt, as Co', value: 0.1, unit: 'mg/m³', averaging: '8 h', source: 'Table Z-1' },
    ]);
  });

  it.each<[string, Typed, string, RegExp]>([
    ['a CAS number with a wrong check digit', { substance4: 'x', cas4: '513-77-8' }, 'cas4', /last digit/],
    ['two digits of one swapped', { substance1: 'x', cas1: '1313-31-9' }, 'cas1', /last digit/],
    ['a word for a CAS number', { substance1: 'x', cas1: 'secret' }, 'cas1', /last digit/],
    ['a CAS number without a name', { cas2: '513-77-9' }, 'substance2', /Write something/],
    [
      'shares over 100 %',
      { substance1: 'a', percent1: '60', substance3: 'b', percent3: '40,5' },
      'percent3',
      /100\.5 %/,
    ],
    ['a share over 100 %', { substance1: 'a', percent1: '101' }, 'percent1', /Between 0 and 100/],
    ['a share below nothing', { substance1: 'a', percent1: '-1' }, 'percent1', /Between 0 and 100/],
    [
      'a number that stands twice',
      { substance1: 'a', cas1: '513-77-9', substance2: 'b', cas2: '513-77-9' },
      'cas2',
      /above already/,
    ],
    ['an ATE of zero', { ateOral: '0' }, 'ateOral', /Between 0\.0001/],
    ['an ATE below zero', { ateDermal: '-5' }, 'ateDermal', /Between 0\.0001/],
    ['an inhaled ATE of zero', { ateInhalation: '0', ateForm: 'gas' }, 'ateInhalation', /Between/],
    ['an inhaled ATE in no form', { ateInhalation: '1' }, 'ateForm', /what form/],
    ['a P code that is none', { pStatements: 'P261, wash hands' }, 'pStatements', /wash is no code/],
    ['a limit without its unit', { limitOf1: 'silica', limitValue1: '50' }, 'limitUnit1', /One of/],
    ['a limit of nothing', { limitOf2: 'silica', limitValue2: '0' }, 'limitValue2', /Between/],
    ['a density that no earth has', { density: '0' }, 'density', /Between 0\.5 and 20/],
    [
      'classified without a class',
      { classification: 'classified', source: 'x' },
      'classification',
      /no class/,
    ],
    ['not classified, by nobody', { classification: 'none' }, 'source', /where/i],
    ['a classification that is none', { classification: 'safe' }, 'classification', /One of/],
  ])('%s is refused beside its field', (_what, more, path, words) => {
    expect(inForm({ ...BASE, ...more })[path]).toMatch(words);
  });

  it.each<[string, Typed, string, RegExp]>([
    ['a class that nobody knows', { class2: 'Very bad 1', hcode2: 'H302' }, 'class2', /called this/],
    [
      'a code of another class',
      { class3: 'STOT RE 1', hcode3: 'H373' },
      'hcode3',
      /H373 is no statement of STOT RE 1/,
    ],
    ['a class without its code', { class1: 'STOT RE 1' }, 'hcode1', /Write something/],
    [
      'a class that stands twice',
      { class1: 'STOT RE 1', hcode1: 'H372', class4: 'STOT RE 1', hcode4: 'H372' },
      'hcode4',
      /above already/,
    ],
    ['an M beside no aquatic class', { class1: 'STOT RE 1', hcode1: 'H372', m1: '10' }, 'm1', /aquatic/],
    ['an M below 1', { class1: 'Aquatic Acute 1', hcode1: 'H400', m1: '0' }, 'm1', /Between 1/],
    ['an own limit of nothing', { class1: 'STOT RE 1', hcode1: 'H372', from1: '0' }, 'from1', /Between/],
    ['an own limit over 100 %', { class1: 'STOT RE 1', hcode1: 'H372', from1: '120' }, 'from1', /Between 0/],
    [
      'a range beside a class that is not there',
      {
        class1: 'STOT RE 1',
        hcode1: 'H372',
        rangeOf3: 'H302',
        rangeClass3: 'STOT RE 2',
        rangeHcode3: 'H373',
        rangeFrom3: '1',
      },
      'rangeOf3',
      /H code of a class above/,
    ],
    [
      'a range that ends before it begins',
      {
        class1: 'STOT RE 1',
        hcode1: 'H372',
        rangeOf3: 'H372',
        rangeClass3: 'STOT RE 2',
        rangeHcode3: 'H373',
        rangeFrom3: '10',
        rangeBelow3: '1',
      },
      'rangeBelow3',
      /ends above/,
    ],
    [
      'a range of a class that nobody knows',
      {
        class2: 'STOT RE 1',
        hcode2: 'H372',
        rangeOf1: 'H372',
        rangeClass1: 'Bad',
        rangeHcode1: 'H373',
        rangeFrom1: '1',
      },
      'rangeClass1',
      /called this/,
    ],
  ])('of the classes, %s', (_what, more, path, words) => {
    expect(inForm({ ...CLASSED, ...more })[path]).toMatch(words);
  });

  it('takes codes in small letters, but not those whose letters say more', () => {
    const { facts } = readMaterial(
      { ...CLASSED, class1: 'repr. 1b', hcode1: 'h360Fd', pStatements: 'p201, p305+p351+p338' },
      setting,
    );
    expect(facts.hazards).toEqual([{ hazardClass: 'Repr. 1B', hCode: 'H360Fd' }]);
    expect(facts.pStatements).toEqual(['P201', 'P305+P351+P338']);
    expect(inForm({ ...CLASSED, class1: 'Repr. 1B', hcode1: 'h360fD' }).hcode1).toMatch(/no statement/);
  });

  it('names every fault at once', () => {
    expect(
      Object.keys(
        inForm({ density: 'heavy', substance1: 'a', cas1: '1', ateOral: '0', pStatements: '!' }),
      ).sort(),
    ).toEqual(['ateOral', 'cas1', 'classification', 'density', 'name']);
  });

  it('100 % in thirds is 100 %', () => {
    const thirds = {
      substance1: 'a',
      percent1: '33.3',
      substance2: 'b',
      percent2: '33.3',
      substance3: 'c',
      percent3: '33.4',
    };
    expect(inForm({ ...BASE, ...thirds })).toEqual({});
  });

  it('comes back as it was typed, for every material of the public lists', () => {
    for (const material of PUBLISHED) expect(readMaterial(typedFrom(material), setting)).toEqual(material);
  });

  it('comes back as it was typed, whatever the classes and shares', () => {
    const pairs = Object.entries(HAZARD_CLASSES).flatMap(([hazardClass, { hCodes }]) =>
      hCodes.map((hCode) => ({ hazardClass, hCode })),
    );
    const material = fc
      .record({
        hazards: fc.uniqueArray(fc.constantFrom(...pairs), {
          minLength: 1,
          maxLength: MOST.hazards,
          selector: ({ hCode }) => hCode,
        }),
        limit: fc.double({ min: 0.001, max: 100, noNaN: true }),
        oral: fc.double({ min: 0.001, max: 5_000, noNaN: true }),
      })
      .map(({ hazards, limit, oral }) =>
        commandOf(
          parse(materialBody, {
            name: 'Blue stone',
            density: 3.6,
            classification: 'classified',
            source: 'A sheet.',
            hazards: hazards.map((one, i) => (i === 0 ? { ...one, limitPercent: limit } : one)),
            ate: { oral },
          }),
        ),
      );
    fc.assert(
      fc.property(material, (command) => {
        expect(readMaterial(typedFrom(command), setting)).toEqual(command);
      }),
      { numRuns: 200 },
    );
  });

  it('never throws anything but Invalid, whatever is typed', () => {
    const names = [
      'name',
      'density',
      'class1',
      'hcode1',
      'from1',
      'm1',
      'cas1',
      'percent1',
      'rangeOf1',
      'pStatements',
      'ateOral',
      'ateInhalation',
      'otherNames',
      'classification',
      'rows',
    ];
    const typed = fc.dictionary(
      fc.constantFrom(...names),
      fc.oneof(fc.string(), fc.constantFrom('__proto__', 'constructor', '1e999', '-0', 'NaN', '٣')),
    );
    fc.assert(
      fc.property(typed, (fields) => {
        inForm(fields);
        expect(rowsFor(fields).hazards).toBeLessThanOrEqual(MOST.hazards);
      }),
      { numRuns: 300 },
    );
  });
});

describe('a material from a program', () => {
  it.each<[string, object, string, RegExp]>([
    [
      'an invalid CAS number',
      { classification: 'unknown', substances: [{ name: 'x', cas: '50-00-1' }] },
      'substances.0.cas',
      /last digit/,
    ],
    [
      'shares over 100 %',
      {
        classification: 'unknown',
        substances: [{ name: 'a', percent: 70 }, { name: 'b', percent: 31 }, { name: 'c' }],
      },
      'substances.1.percent',
      /101 %/,
    ],
    ['an ATE of zero', { classification: 'unknown', ate: { oral: 0 } }, 'ate.oral', /Between/],
    [
      'a class by the name of a property of every object',
      { classification: 'classified', source: 'x', hazards: [{ hazardClass: 'constructor', hCode: 'H302' }] },
      'hazards.0.hazardClass',
      /called this/,
    ],
    [
      'classes of what is not classified',
      { classification: 'none', source: 'x', hazards: [{ hazardClass: 'Lact.', hCode: 'H362' }] },
      'classification',
      /so it is classified/,
    ],
    [
      'more ranges than its form has rows for',
      {
        classification: 'classified',
        source: 'x',
        hazards: [
          { hazardClass: 'STOT RE 1', hCode: 'H372' },
          { hazardClass: 'Carc. 1B', hCode: 'H350' },
          { hazardClass: 'Lact.', hCode: 'H362' },
        ].map((one) => ({
          ...one,
          ranges: Array.from({ length: 5 }, (_, i) => ({
            hazardClass: 'STOT RE 2',
            hCode: 'H373',
            fromPercent: i,
          })),
        })),
      },
      'hazards',
      /At most 12 ranges/,
    ],
    [
      'two other names in one',
      { classification: 'unknown', otherNames: ['Smalt', 'Zaffre; Smaltz'] },
      'otherNames.1',
      /One name/,
    ],
    ['a field that is none', { classification: 'unknown', colour: 'blue' }, 'colour', /Nothing by this name/],
  ])('%s is refused by its path', (_what, body, path, words) => {
    expect(inBody(body)[path]).toMatch(words);
  });
});

describe('rows', () => {
  it('one to spare, three more when asked, never past the most', () => {
    expect(rowsFor({}).hazards).toBe(4);
    expect(rowsFor({ class4: 'STOT RE 1' }).hazards).toBe(5);
    expect(rowsFor({ rows: '3', more: 'yes' }).hazards).toBe(10);
    expect(rowsFor({ rows: '99999' }).substances).toBe(MOST.substances);
    expect(rowsFor({ rows: 'many' }).limits).toBe(1);
  });
});
