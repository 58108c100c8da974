import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  categoryOf,
  LEACH_RULES,
  type LeachAsked,
  LeachError,
  type LeachRules,
  leach,
  WARE_SHAPES,
  type Ware,
} from '../../server/safety/leach.ts';

const bowl = (internalDepthMm: number, volumeMl: number): Ware => ({
  shape: 'bowl',
  internalDepthMm,
  volumeMl,
});
const ware = (shape: Ware['shape'], volumeMl = 350, internalDepthMm = 90): Ware => ({
  shape,
  internalDepthMm,
  volumeMl,
});
const PLATE = ware('plate', 300, 20);

type Row = [Ware, string, number, number, string];

function limitsOf(rules: LeachRules, one: Ware) {
  const { key, limits, unit } = categoryOf(rules, one);
  return [key, limits.lead.mg, limits.cadmium.mg, unit];
}

describe('limits of Council Directive 84/500/EEC, Article 2', () => {
  it.each<Row>([
    [PLATE, 'category-1', 0.8, 0.07, 'mg/dm2'],
    [ware('other', 0, 0), 'category-1', 0.8, 0.07, 'mg/dm2'],
    [ware('mug'), 'category-2', 4, 0.3, 'mg/L'],
    [ware('pitcher', 5000), 'category-2', 4, 0.3, 'mg/L'],
    [ware('cookware'), 'category-3', 1.5, 0.1, 'mg/L'],
    [ware('cookware', 300, 20), 'category-3', 1.5, 0.1, 'mg/L'],
    [ware('storage', 5000), 'category-3', 1.5, 0.1, 'mg/L'],
  ])('%j', (one, ...expected) => expect(limitsOf('eu-84-500', one)).toEqual(expected));

  it('is flat at 25.0 mm and not at 25.1', () => {
    expect(categoryOf('eu-84-500', bowl(25, 300)).key).toBe('category-1');
    expect(categoryOf('eu-84-500', bowl(25.1, 300)).key).toBe('category-2');
  });

  it('takes a vessel for storage from more than 3 L on', () => {
    expect(categoryOf('eu-84-500', ware('storage', 3000)).key).toBe('category-2');
    expect(categoryOf('eu-84-500', ware('storage', 3010)).key).toBe('category-3');
  });
});

// Lead: FDA Food Code 4-101.13; cadmium: FDA CPG 545.400. The averaging for lead (CPG 545.450) is from memory.
describe('limits of the US FDA', () => {
  it.each<Row>([
    [PLATE, 'flatware', 3, 0.5, 'mg/L'],
    [bowl(60, 500), 'small-hollowware', 2, 0.5, 'mg/L'],
    [bowl(120, 3000), 'large-hollowware', 1, 0.25, 'mg/L'],
    [ware('mug'), 'cups-and-mugs', 0.5, 0.5, 'mg/L'],
    [ware('cup'), 'cups-and-mugs', 0.5, 0.5, 'mg/L'],
    [ware('pitcher', 1500), 'pitchers', 0.5, 0.25, 'mg/L'],
    [ware('pitcher', 500), 'pitchers', 0.5, 0.5, 'mg/L'],
  ])('%j', (one, ...expected) => expect(limitsOf('us-fda', one)).toEqual(expected));

  it('is large from 1.1 L on', () => {
    expect(categoryOf('us-fda', bowl(90, 1099.9)).key).toBe('small-hollowware');
    expect(categoryOf('us-fda', bowl(90, 1100)).key).toBe('large-hollowware');
  });

  it('is flat at 25.0 mm and not at 25.1', () => {
    expect(categoryOf('us-fda', bowl(25, 300)).key).toBe('flatware');
    expect(categoryOf('us-fda', bowl(25.1, 300)).key).toBe('small-hollowware');
  });
});

// ISO 6486-2:1999; storage, cups and mugs, cookware and the mean for flatware are from memory.
describe('limits of ISO 6486-2', () => {
  it.each<Row>([
    [PLATE, 'flatware', 0.8, 0.07, 'mg/dm2'],
    [bowl(60, 500), 'small-hollowware', 2, 0.5, 'mg/L'],
    [bowl(90, 1099.9), 'small-hollowware', 2, 0.5, 'mg/L'],
    [bowl(90, 1100), 'large-hollowware', 1, 0.25, 'mg/L'],
    [ware('storage', 2999), 'large-hollowware', 1, 0.25, 'mg/L'],
    [ware('storage', 3000), 'storage-hollowware', 0.5, 0.25, 'mg/L'],
    [ware('mug'), 'cups-and-mugs', 0.5, 0.25, 'mg/L'],
    [ware('cookware'), 'cookware', 0.5, 0.05, 'mg/L'],
  ])('%j', (one, ...expected) => expect(limitsOf('iso-6486-2', one)).toEqual(expected));
});

const asked = (more: Partial<LeachAsked>): LeachAsked => ({
  rules: 'eu-84-500',
  ware: ware('bowl'),
  lead: [0],
  cadmium: [0],
  unit: 'mg/L',
  ...more,
});

// 84/500/EEC, Annex I: at least three more articles, their mean not over the limit, none of them over it by more than half.
describe('the European rule of three more articles', () => {
  it.each([
    ['one over by less than half, three more at 3.9', [5.9, 3.9, 3.9, 3.9], true],
    ['one of the three more is over as well, their mean is not', [5.9, 4.1, 3.9, 3.7], true],
    ['the article in question is the first one over: the others average 4.03', [4.2, 5.5, 3.4, 3.2], false],
    ['and here 3.6', [5.5, 4.2, 3.4, 3.2], true],
    ['at just one and a half times the limit', [6, 3.9, 3.9, 3.9], true],
    ['farther over than half', [6.1, 3.9, 3.9, 3.9], false],
    ['the mean is over', [5.9, 4.01, 4.01, 4.01], false],
    ['the mean is at the limit', [5.9, 4, 4, 4], true],
    ['only two more', [5.9, 3.9, 3.9], false],
    ['none more', [4.01], false],
    ['at the limit', [4], true],
  ])('%s', (_, lead, pass) => expect(leach(asked({ lead })).pass).toBe(pass));
});

describe('means and single samples', () => {
  const six = (...values: number[]) => [...values, ...Array<number>(6 - values.length).fill(0.1)];

  it('of six flat pieces the mean counts in the US (CPG 545.400, 545.450)', () => {
    const us = { rules: 'us-fda', ware: PLATE, cadmium: six() } as const;
    const ok = leach(asked({ ...us, lead: [9, 1, 1, 1, 3, 3] }));
    expect([ok.pass, ok.lead.value, ok.lead.sample]).toEqual([true, 3, null]);
    expect(leach(asked({ ...us, lead: [9, 1, 1, 1, 3, 3.1] })).pass).toBe(false);
  });

  it('of six hollow ones any that is over decides, and is named', () => {
    const judged = leach(asked({ rules: 'us-fda', ware: ware('mug'), lead: six(0.2, 0.51), cadmium: six() }));
    expect(judged).toMatchObject({ pass: false, complete: true, deciding: { metal: 'lead', sample: 2 } });
    const cadmium = leach(
      asked({ rules: 'us-fda', ware: bowl(120, 3000), lead: six(), cadmium: six(0.1, 0.1, 0.26) }),
    );
    expect(cadmium.deciding).toMatchObject({ metal: 'cadmium', sample: 3, limit: 0.25, pass: false });
  });

  it('of four flat pieces the mean counts by ISO 6486-2 (from memory)', () => {
    const iso = {
      rules: 'iso-6486-2',
      ware: PLATE,
      unit: 'mg/dm2',
      cadmium: [0.07, 0.07, 0.07, 0.07],
    } as const;
    expect(leach(asked({ ...iso, lead: [1.4, 0.6, 0.6, 0.6] }))).toMatchObject({
      pass: true,
      complete: true,
    });
    expect(leach(asked({ ...iso, lead: [1.41, 0.6, 0.6, 0.6] })).pass).toBe(false);
  });

  it('too few samples are said to be, whatever they came to', () => {
    const judged = leach(asked({ rules: 'us-fda', ware: ware('mug'), lead: [0.1], cadmium: [0.1] }));
    expect(judged).toMatchObject({ pass: true, complete: false, category: { samples: 6 } });
    expect(judged.words).toBe(
      'Nothing is over its limit so far, but the rules want 6 samples and there is 1.',
    );
  });
});

it('the same mug by three rules: 0.6 mg/L of lead, 0.1 of cadmium', () => {
  const by = (rules: LeachRules, one: Ware) =>
    leach(asked({ rules, ware: one, lead: [0.6], cadmium: [0.1] })).pass;
  expect(by('eu-84-500', ware('mug', 1000))).toBe(true);
  expect(by('iso-6486-2', bowl(90, 1000))).toBe(true);
  expect(by('iso-6486-2', ware('mug', 1000))).toBe(false); // 0.5 from memory
  expect(by('us-fda', ware('mug', 1000))).toBe(false);
});

describe('units', () => {
  it('2.0 mg/L in 0.30 L from 1.5 dm² are 0.40 mg/dm² (by definition)', () => {
    const judged = leach(asked({ ware: { ...PLATE, areaDm2: 1.5 }, lead: [2] }));
    expect(judged.lead.value).toBeCloseTo(0.4, 12);
    expect(judged.pass).toBe(true);
  });

  it('and back', () => {
    const judged = leach(
      asked({ rules: 'us-fda', ware: { ...PLATE, areaDm2: 1.5 }, lead: [0.4], unit: 'mg/dm2' }),
    );
    expect(judged.lead.value).toBeCloseTo(2, 12);
  });

  it.each([
    ['flat ware in mg/L without its area', asked({ ware: PLATE })],
    ['flat ware that holds nothing', asked({ ware: { ...PLATE, volumeMl: 0, areaDm2: 2 } })],
    ['hollow ware in mg/dm²', asked({ unit: 'mg/dm2' })],
  ])('refuses %s', (_, wrong) => {
    expect(() => leach(wrong)).toThrow(LeachError);
    expect(() => leach(wrong)).toThrow(/need the glazed area and the volume/);
  });

  it.each([[[]], [[-0.1]], [[Number.NaN]]])('refuses %j for amounts', (lead) =>
    expect(() => leach(asked({ lead }))).toThrow(RangeError),
  );
});

it('more of either metal in any sample never makes a test pass', () => {
  const amounts = fc.array(fc.double({ min: 0, max: 5, noNaN: true }), { minLength: 6, maxLength: 6 });
  fc.assert(
    fc.property(
      fc.constantFrom(...LEACH_RULES),
      fc.constantFrom(...WARE_SHAPES),
      amounts,
      amounts,
      fc.nat(5),
      fc.double({ min: 0, max: 5, noNaN: true }),
      (rules, shape, lead, cadmium, at, more) => {
        const one = { ...ware(shape), areaDm2: 1 };
        const before = leach(asked({ rules, ware: one, lead, cadmium }));
        const raised = lead.map((value, i) => (i === at ? value + more : value));
        const after = leach(asked({ rules, ware: one, lead: raised, cadmium }));
        expect(before.pass || !after.pass).toBe(true);
      },
    ),
  );
});
