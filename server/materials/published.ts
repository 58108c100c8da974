import { type ExposureLimit, type HazardEntry, type MaterialFacts, UNKNOWN } from './facts.ts';

// What public lists say of the ordinary raw materials. Harmonised classifications are those of the EU (Annex VI to
// Regulation (EC) 1272/2008, up to its 17th adaptation) where it has the substance, else Australia's (HCIS, May 2022);
// categories that HCIS gives only by their statement, CAS numbers of minerals, and that the minerals have no entry, are
// from memory. A list speaks of the pure substance: what is in the bag, and how fine it is, only the supplier knows.

interface Published {
  name: string;
  /** Of the mineral's particles, g/cm³. */
  density: number;
  facts: MaterialFacts;
}

const CHECK = 'Check against your supplier’s SDS.';
const annexVi = (index: string, more = '') => `EU CLP Annex VI, index ${index}, to ATP 17. ${more}${CHECK}`;
const HCIS = 'Australia HCIS, May 2022';
const hcis = (more: string) => `${HCIS}. ${more}${CHECK}`;
const unlisted = (more = '') =>
  `No harmonised entry in EU CLP Annex VI (to ATP 17): the supplier classifies it. ${more}${CHECK}`;

const DUST = 'Dust mask rated for fine dust, at the least P2 or N95, when it is weighed, sieved or sanded.';
const DUST_AND_GLOVES = `${DUST} Gloves.`;
const DRY = 'Dry, in a closed bin with its name on it.';
const APART = 'Dry, closed, on the shelf for colourants, its name on it.';

// 29 CFR 1910.1053, and Table Z-1 of 29 CFR 1910.1000.
const SILICA: ExposureLimit = {
  of: 'respirable crystalline silica',
  value: 50,
  unit: 'µg/m³',
  averaging: '8 h',
  source: '29 CFR 1910.1053 (action level 25 µg/m³)',
};
const tableZ1 = (of: string, value: number, averaging: ExposureLimit['averaging']): ExposureLimit => ({
  of,
  value,
  unit: 'mg/m³',
  averaging,
  source: '29 CFR 1910.1000, Table Z-1',
});

/** With the factors M that the entry gives; 1 where it gives none. */
const aquatic = (acute?: number, chronic = acute): HazardEntry[] => [
  { hazardClass: 'Aquatic Acute 1', hCode: 'H400', ...(acute && { mFactor: acute }) },
  { hazardClass: 'Aquatic Chronic 1', hCode: 'H410', ...(chronic && { mFactor: chronic }) },
];

/** The list's asterisk: at least this severe, more where data say so. */
const AT_LEAST = 'minimum classification';
const swallowed: HazardEntry = { hazardClass: 'Acute Tox. 4', hCode: 'H302', note: AT_LEAST };
const inhaled: HazardEntry = { hazardClass: 'Acute Tox. 4', hCode: 'H332', note: AT_LEAST };
const skinSensitiser: HazardEntry = { hazardClass: 'Skin Sens. 1', hCode: 'H317' };

type Some = Partial<MaterialFacts>;

const pure = (name: string, cas: string): MaterialFacts['substances'] => [{ name, cas, percent: 100 }];
const parts = (...all: [name: string, cas: string][]): MaterialFacts['substances'] =>
  all.map(([name, cas]) => ({ name, cas, percent: null }));

const classified = (name: string, density: number, facts: Some): Published => ({
  name,
  density,
  facts: { ...UNKNOWN, classification: 'classified', storage: DRY, ppe: DUST, ...facts },
});
const unclassified = (name: string, density: number, facts: Some): Published => ({
  name,
  density,
  facts: { ...UNKNOWN, source: unlisted(), storage: DRY, ppe: DUST, ...facts },
});

const QUARTZ: [string, string] = ['quartz', '14808-60-7'];
const HOLDS_QUARTZ = 'It holds some quartz: ask the supplier how much of it is respirable. ';

export const PUBLISHED: Published[] = [
  classified('Barium carbonate', 4.3, {
    substances: pure('barium carbonate', '513-77-9'),
    hazards: [swallowed],
    source: annexVi('056-003-00-2'),
    limits: [tableZ1('barium, soluble compounds, as Ba', 0.5, '8 h')],
    pStatements: ['P264', 'P270', 'P301+P312'],
    incompatible: 'Acids set its barium free.',
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  classified('Borax', 1.73, {
    otherNames: ['disodium tetraborate decahydrate'],
    substances: pure('disodium tetraborate decahydrate', '1303-96-4'),
    hazards: [{ hazardClass: 'Repr. 1B', hCode: 'H360FD' }],
    source: annexVi('005-011-00-4'),
    pStatements: ['P201', 'P280', 'P308+P313'],
    ppe: DUST_AND_GLOVES,
  }),
  classified('Cobalt carbonate', 4.1, {
    substances: pure('cobalt carbonate', '513-79-1'),
    hazards: [
      { hazardClass: 'Carc. 1B', hCode: 'H350i', limitPercent: 0.01 },
      { hazardClass: 'Muta. 2', hCode: 'H341' },
      { hazardClass: 'Repr. 1B', hCode: 'H360F' },
      { hazardClass: 'Resp. Sens. 1', hCode: 'H334' },
      skinSensitiser,
      ...aquatic(10),
    ],
    source: annexVi('027-010-00-8'),
    limits: [tableZ1('cobalt metal, dust and fume, as Co', 0.1, '8 h')],
    pStatements: ['P201', 'P261', 'P273', 'P280', 'P308+P313', 'P342+P311'],
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  classified('Copper carbonate', 4, {
    otherNames: ['basic copper carbonate'],
    substances: pure('copper(II) carbonate–copper(II) hydroxide (1:1)', '12069-69-1'),
    hazards: [
      { hazardClass: 'Acute Tox. 4', hCode: 'H332' },
      { hazardClass: 'Acute Tox. 4', hCode: 'H302' },
      { hazardClass: 'Eye Irrit. 2', hCode: 'H319' },
      ...aquatic(10),
    ],
    ate: { oral: 500, inhalation: { value: 1.2, form: 'dust-mist' } },
    source: annexVi('029-020-00-8'),
    // The figure for dusts and mists is from memory.
    limits: [tableZ1('copper, dusts and mists, as Cu', 1, '8 h')],
    pStatements: ['P261', 'P273', 'P280', 'P305+P351+P338'],
    storage: APART,
    ppe: `${DUST_AND_GLOVES} Goggles.`,
  }),
  classified('Copper oxide', 6.3, {
    otherNames: ['copper(II) oxide', 'black copper oxide'],
    substances: pure('copper(II) oxide', '1317-38-0'),
    hazards: aquatic(100, 10),
    source: annexVi('029-016-00-6', 'The red oxide, CAS 1317-39-1, is worse: H302, H318, H332, H410. '),
    // The figure for dusts and mists is from memory.
    limits: [tableZ1('copper, dusts and mists, as Cu', 1, '8 h')],
    pStatements: ['P273', 'P391', 'P501'],
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  classified('Lithium carbonate', 2.1, {
    substances: pure('lithium carbonate', '554-13-2'),
    hazards: [
      { hazardClass: 'Acute Tox. 4', hCode: 'H302' },
      { hazardClass: 'Eye Irrit. 2', hCode: 'H319' },
    ],
    source: hcis('EU CLP Annex VI has no entry up to ATP 17; a stricter one has been proposed. '),
    pStatements: ['P264', 'P280', 'P305+P351+P338'],
    storage: APART,
    ppe: `${DUST_AND_GLOVES} Goggles.`,
  }),
  classified('Manganese dioxide', 5, {
    substances: pure('manganese dioxide', '1313-13-9'),
    hazards: [inhaled, swallowed],
    source: annexVi('025-001-00-3', 'Australia HCIS adds H372, and so do many suppliers. '),
    limits: [tableZ1('manganese compounds, as Mn', 5, 'ceiling')],
    pStatements: ['P261', 'P264', 'P270'],
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  classified('Nickel oxide', 6.7, {
    otherNames: ['nickel monoxide', 'green nickel oxide'],
    substances: pure('nickel monoxide', '1313-99-1'),
    hazards: [
      { hazardClass: 'Carc. 1A', hCode: 'H350i' },
      { hazardClass: 'STOT RE 1', hCode: 'H372' },
      skinSensitiser,
      { hazardClass: 'Aquatic Chronic 4', hCode: 'H413' },
    ],
    source: annexVi('028-003-00-2'),
    limits: [tableZ1('nickel, metal and insoluble compounds, as Ni', 1, '8 h')],
    pStatements: ['P201', 'P260', 'P280', 'P308+P313'],
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  classified('Soda ash', 2.5, {
    otherNames: ['sodium carbonate'],
    substances: pure('sodium carbonate', '497-19-8'),
    hazards: [{ hazardClass: 'Eye Irrit. 2', hCode: 'H319' }],
    source: annexVi('011-005-00-2'),
    pStatements: ['P264', 'P280', 'P305+P351+P338'],
    incompatible: 'Fizzes with acids.',
    ppe: `${DUST} Goggles.`,
  }),
  classified('Zinc oxide', 5.6, {
    substances: pure('zinc oxide', '1314-13-2'),
    hazards: aquatic(),
    source: annexVi('030-013-00-7'),
    pStatements: ['P273', 'P391', 'P501'],
  }),

  unclassified('Alumina hydrate', 2.42, { substances: pure('aluminium hydroxide', '21645-51-2') }),
  unclassified('Ball clay', 2.6, {
    substances: parts(['kaolin', '1332-58-7'], QUARTZ),
    source: unlisted(HOLDS_QUARTZ),
    limits: [SILICA],
  }),
  unclassified('Bentonite', 2.5, {
    substances: parts(['bentonite', '1302-78-9'], QUARTZ),
    source: unlisted(HOLDS_QUARTZ),
    limits: [SILICA],
  }),
  unclassified('Bone ash', 3.1, { otherNames: ['calcium phosphate'] }),
  unclassified('Boron frit', 2.5, {
    substances: parts(['frits, chemicals', '65997-18-4']),
    source: unlisted('Frits differ: boron, lead or barium in one may count. '),
  }),
  unclassified('Chromium oxide', 5.2, {
    otherNames: ['chromium(III) oxide', 'green chrome'],
    substances: pure('chromium(III) oxide', '1308-38-9'),
    limits: [tableZ1('chromium(III) compounds, as Cr', 0.5, '8 h')],
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  unclassified('Cobalt oxide', 6.1, {
    otherNames: ['cobalt(II,III) oxide', 'black cobalt oxide'],
    substances: pure('cobalt(II,III) oxide', '1308-06-1'),
    source: unlisted(
      'The grey oxide, CAS 1307-96-6, has one: H302, H317, H410. Ask which one the bag holds. ',
    ),
    limits: [tableZ1('cobalt metal, dust and fume, as Co', 0.1, '8 h')],
    storage: APART,
    ppe: DUST_AND_GLOVES,
  }),
  unclassified('Dolomite', 2.85, { substances: parts(['dolomite', '16389-88-1']) }),
  unclassified('Kaolin', 2.6, {
    otherNames: ['China clay'],
    substances: parts(['kaolin', '1332-58-7'], QUARTZ),
    source: unlisted(HOLDS_QUARTZ),
    limits: [SILICA],
  }),
  unclassified('Magnesium carbonate', 3, { substances: parts(['magnesium carbonate', '546-93-0']) }),
  unclassified('Nepheline syenite', 2.6, { substances: pure('nepheline syenite', '37244-96-5') }),
  unclassified('Potash feldspar', 2.57, {
    substances: parts(['feldspars', '68476-25-5'], QUARTZ),
    source: unlisted(HOLDS_QUARTZ),
    limits: [SILICA],
  }),
  unclassified('Red iron oxide', 5.2, { substances: pure('iron(III) oxide', '1309-37-1') }),
  unclassified('Rutile', 4.2, { substances: parts(['rutile', '1317-80-2']) }),
  unclassified('Silica', 2.65, {
    otherNames: ['Quartz', 'Flint'],
    substances: pure(...QUARTZ),
    source: `${HCIS}, lists respirable quartz as H350i and H372. How much of this powder is respirable only the supplier’s sheet says: take its classes from there. ${CHECK}`,
    limits: [SILICA],
    pStatements: ['P260', 'P284'],
  }),
  unclassified('Soda feldspar', 2.62, {
    substances: parts(['feldspars', '68476-25-5'], QUARTZ),
    source: unlisted(HOLDS_QUARTZ),
    limits: [SILICA],
  }),
  unclassified('Strontium carbonate', 3.7, { substances: pure('strontium carbonate', '1633-05-2') }),
  unclassified('Talc', 2.75, {
    substances: parts(['talc', '14807-96-6']),
    source: unlisted('Ask the supplier about asbestos and quartz in it. '),
  }),
  unclassified('Tin oxide', 6.9, { substances: pure('tin(IV) oxide', '18282-10-5') }),
  unclassified('Titanium dioxide', 4.2, {
    substances: pure('titanium dioxide', '13463-67-7'),
    // The judgments are from memory: General Court T-279/20 of 23 November 2022, upheld in August 2025.
    source: `Its entry in EU CLP Annex VI, H351 by inhalation, was annulled by the EU’s courts: none is in force, the supplier classifies it. ${CHECK}`,
  }),
  unclassified('Whiting', 2.71, {
    otherNames: ['calcium carbonate', 'chalk'],
    substances: pure('calcium carbonate', '471-34-1'),
  }),
  unclassified('Wollastonite', 2.9, { substances: parts(['wollastonite', '13983-17-0']) }),
  unclassified('Wood ash', 2.6, {
    source: unlisted('Unwashed it is caustic. '),
    incompatible: 'Wet ash burns skin and eyes.',
    ppe: `${DUST_AND_GLOVES} Goggles.`,
  }),
  unclassified('Zirconium silicate', 4.6, { substances: pure('zirconium silicate', '10101-52-7') }),
];
