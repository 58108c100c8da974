import { describe, expect, it } from 'vitest';
import { isCas } from '../../server/materials/cas.ts';
import { isHazard, label } from '../../server/materials/hazards.ts';
import { withOrdinary } from '../../server/materials/ordinary.ts';
import { PUBLISHED } from '../../server/materials/published.ts';

const factsOf = (name: string) => {
  const found = PUBLISHED.find((one) => one.name === name);
  if (!found) throw new Error(name);
  return found.facts;
};

describe('harmonised classifications', () => {
  // Regulation (EC) 1272/2008, Annex VI, table 3, up to its 17th adaptation: index, H codes, pictograms, signal word.
  it.each([
    ['Barium carbonate', '513-77-9', '056-003-00-2', ['H302'], ['GHS07'], 'Warning'],
    ['Borax', '1303-96-4', '005-011-00-4', ['H360FD'], ['GHS08'], 'Danger'],
    [
      'Cobalt carbonate',
      '513-79-1',
      '027-010-00-8',
      ['H317', 'H334', 'H341', 'H350i', 'H360F', 'H410'],
      ['GHS08', 'GHS09'],
      'Danger',
    ],
    [
      'Copper carbonate',
      '12069-69-1',
      '029-020-00-8',
      ['H302', 'H319', 'H332', 'H410'],
      ['GHS07', 'GHS09'],
      'Warning',
    ],
    ['Copper oxide', '1317-38-0', '029-016-00-6', ['H410'], ['GHS09'], 'Warning'],
    [
      'Nickel oxide',
      '1313-99-1',
      '028-003-00-2',
      ['H317', 'H350i', 'H372', 'H413'],
      ['GHS07', 'GHS08'],
      'Danger',
    ],
    ['Manganese dioxide', '1313-13-9', '025-001-00-3', ['H302', 'H332'], ['GHS07'], 'Warning'],
    ['Soda ash', '497-19-8', '011-005-00-2', ['H319'], ['GHS07'], 'Warning'],
    ['Zinc oxide', '1314-13-2', '030-013-00-7', ['H410'], ['GHS09'], 'Warning'],
  ])('%s as Annex VI has it', (name, cas, index, hStatements, pictograms, signalWord) => {
    const facts = factsOf(name);
    expect(facts.substances.map((one) => one.cas)).toEqual([cas]);
    expect(facts.source).toContain(index);
    expect(label(facts.hazards)).toMatchObject({ hStatements, pictograms, signalWord });
  });

  // Safe Work Australia, HCIS, export of May 2022.
  it('Lithium carbonate as HCIS has it', () => {
    const { source, hazards } = factsOf('Lithium carbonate');
    expect(source).toContain('HCIS');
    const hStatements = ['H302', 'H319'];
    expect(label(hazards)).toMatchObject({ hStatements, pictograms: ['GHS07'], signalWord: 'Warning' });
  });

  it('Silica is not taken for the respirable quartz that HCIS lists, and says so', () => {
    const { classification, hazards, source } = factsOf('Silica');
    expect([classification, hazards]).toEqual(['unknown', []]);
    expect(source).toContain('lists respirable quartz as H350i and H372');
  });

  it('limits, M and estimates of single entries (Annex VI)', () => {
    const carc = factsOf('Cobalt carbonate').hazards.find(({ hCode }) => hCode === 'H350i');
    expect(carc?.limitPercent).toBe(0.01);
    for (const name of ['Cobalt carbonate', 'Copper carbonate'])
      expect(factsOf(name).hazards.flatMap(({ mFactor }) => mFactor ?? [])).toEqual([10, 10]);
    const ofOxide = factsOf('Copper oxide').hazards.map(({ hCode, mFactor }) => [hCode, mFactor]);
    expect(ofOxide).toEqual([
      ['H400', 100],
      ['H410', 10],
    ]);
    expect(factsOf('Copper carbonate').ate).toEqual({
      oral: 500,
      inhalation: { value: 1.2, form: 'dust-mist' },
    });
  });

  // General Court, T-279/20, 23 November 2022, upheld in August 2025: from memory.
  it('an annulled entry is not shown as one in force', () => {
    const { classification, hazards, source } = factsOf('Titanium dioxide');
    expect([classification, hazards]).toEqual(['unknown', []]);
    expect(source).toContain('annulled');
  });
});

it('respirable silica: 50 µg/m³ over eight hours, action level 25 (29 CFR 1910.1053)', () => {
  expect(factsOf('Silica').limits).toEqual([
    expect.objectContaining({ value: 50, unit: 'µg/m³', averaging: '8 h' }),
  ]);
  expect(factsOf('Silica').limits[0]?.source).toContain('25 µg/m³');
});

describe('every material of the lists', () => {
  it('is an ordinary one, and every ordinary one is there with its density', () => {
    const bare = PUBLISHED.map(({ name, density }) => ({ name, density }));
    const byName = (a: { name: string }, b: { name: string }) => (a.name < b.name ? -1 : 1);
    expect(bare.sort(byName)).toEqual(withOrdinary([]).sort(byName));
  });

  it.each(PUBLISHED.map((one) => [one.name, one.facts] as const))('%s holds together', (_name, facts) => {
    expect(facts.source).toContain('Check against your supplier’s SDS.');
    expect(facts.source.length).toBeLessThanOrEqual(300);
    for (const { cas } of facts.substances) expect(isCas(cas), cas).toBe(true);
    for (const { hazardClass, hCode } of facts.hazards) expect(isHazard(hazardClass, hCode)).toBe(true);
    for (const { source, value } of facts.limits)
      expect([source.length > 5, value > 0]).toEqual([true, true]);
    expect(facts.classification === 'classified').toBe(facts.hazards.length > 0);
  });
});
