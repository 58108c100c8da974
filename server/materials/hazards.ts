// The vocabulary of the Globally Harmonised System (GHS) in the abbreviations of Regulation (EC) 1272/2008: hazard
// classes, hazard and precautionary statements with their texts, and what of them a label carries. Classes, pictograms,
// signal words and H-texts as in Annex VI and the public inventories made from it; rows marked "from memory" were not
// seen in a copy, nor were the P-texts and the precedence rules of Article 26.

export type Pictogram =
  | 'GHS01'
  | 'GHS02'
  | 'GHS03'
  | 'GHS04'
  | 'GHS05'
  | 'GHS06'
  | 'GHS07'
  | 'GHS08'
  | 'GHS09';

export type SignalWord = 'Danger' | 'Warning';

/** What a class is about: classes of one kind differ in severity only. */
export type HazardKind =
  | 'acute'
  | 'skin'
  | 'eye'
  | 'resp-sens'
  | 'skin-sens'
  | 'muta'
  | 'carc'
  | 'repr'
  | 'lact'
  | 'endocrine'
  | 'stot-se'
  | 'stot-se-3'
  | 'stot-re'
  | 'asp'
  | 'aquatic-acute'
  | 'aquatic-chronic'
  | 'ozone'
  | 'physical';

export interface HazardClass {
  kind: HazardKind;
  /** The statements it may carry: one is chosen by route, effect or organ. */
  hCodes: readonly string[];
  pictogram: Pictogram | null;
  signal: SignalWord | null;
  /** Place among the classes of its kind, 1 the most severe; equal where a class is only said more closely. */
  rank: number;
}

const row = (
  kind: HazardKind,
  rank: number,
  hCodes: string,
  pictogram: Pictogram | null,
  signal: SignalWord | null,
): HazardClass => ({ kind, rank, hCodes: hCodes.split(' '), pictogram, signal });

/** Every class known here by its abbreviation, in the order in which lists show them. */
export const HAZARD_CLASSES: Readonly<Record<string, HazardClass>> = {
  // Physical hazards, from memory except Ox. Sol.
  'Flam. Gas 1': row('physical', 1, 'H220', 'GHS02', 'Danger'),
  'Press. Gas': row('physical', 1, 'H280 H281', 'GHS04', 'Warning'),
  'Flam. Liq. 1': row('physical', 1, 'H224', 'GHS02', 'Danger'),
  'Flam. Liq. 2': row('physical', 2, 'H225', 'GHS02', 'Danger'),
  'Flam. Liq. 3': row('physical', 3, 'H226', 'GHS02', 'Warning'),
  'Flam. Sol. 1': row('physical', 1, 'H228', 'GHS02', 'Danger'),
  'Flam. Sol. 2': row('physical', 2, 'H228', 'GHS02', 'Warning'),
  'Pyr. Sol. 1': row('physical', 1, 'H250', 'GHS02', 'Danger'),
  'Self-heat. 1': row('physical', 1, 'H251', 'GHS02', 'Danger'),
  'Self-heat. 2': row('physical', 2, 'H252', 'GHS02', 'Warning'),
  'Water-react. 1': row('physical', 1, 'H260', 'GHS02', 'Danger'),
  'Water-react. 2': row('physical', 2, 'H261', 'GHS02', 'Danger'),
  'Water-react. 3': row('physical', 3, 'H261', 'GHS02', 'Warning'),
  'Ox. Liq. 1': row('physical', 1, 'H271', 'GHS03', 'Danger'),
  'Ox. Liq. 2': row('physical', 2, 'H272', 'GHS03', 'Danger'),
  'Ox. Liq. 3': row('physical', 3, 'H272', 'GHS03', 'Warning'),
  'Ox. Sol. 1': row('physical', 1, 'H271', 'GHS03', 'Danger'),
  'Ox. Sol. 2': row('physical', 2, 'H272', 'GHS03', 'Danger'),
  'Ox. Sol. 3': row('physical', 3, 'H272', 'GHS03', 'Warning'),
  'Met. Corr. 1': row('physical', 1, 'H290', 'GHS05', 'Warning'),

  'Acute Tox. 1': row('acute', 1, 'H300 H310 H330', 'GHS06', 'Danger'),
  'Acute Tox. 2': row('acute', 2, 'H300 H310 H330', 'GHS06', 'Danger'),
  'Acute Tox. 3': row('acute', 3, 'H301 H311 H331', 'GHS06', 'Danger'),
  'Acute Tox. 4': row('acute', 4, 'H302 H312 H332', 'GHS07', 'Warning'),
  // Not in CLP, from memory.
  'Acute Tox. 5': row('acute', 5, 'H303 H313 H333', null, 'Warning'),

  'Skin Corr. 1': row('skin', 1, 'H314', 'GHS05', 'Danger'),
  'Skin Corr. 1A': row('skin', 1, 'H314', 'GHS05', 'Danger'),
  'Skin Corr. 1B': row('skin', 2, 'H314', 'GHS05', 'Danger'),
  'Skin Corr. 1C': row('skin', 3, 'H314', 'GHS05', 'Danger'),
  'Skin Irrit. 2': row('skin', 4, 'H315', 'GHS07', 'Warning'),
  // Not in CLP, from memory.
  'Skin Irrit. 3': row('skin', 5, 'H316', null, 'Warning'),

  'Eye Dam. 1': row('eye', 1, 'H318', 'GHS05', 'Danger'),
  'Eye Irrit. 2': row('eye', 2, 'H319', 'GHS07', 'Warning'),
  // The UN's and the US's own two halves of category 2, from memory.
  'Eye Irrit. 2A': row('eye', 2, 'H319', 'GHS07', 'Warning'),
  'Eye Irrit. 2B': row('eye', 3, 'H320', null, 'Warning'),

  'Resp. Sens. 1': row('resp-sens', 1, 'H334', 'GHS08', 'Danger'),
  'Resp. Sens. 1A': row('resp-sens', 1, 'H334', 'GHS08', 'Danger'),
  'Resp. Sens. 1B': row('resp-sens', 1, 'H334', 'GHS08', 'Danger'),
  'Skin Sens. 1': row('skin-sens', 1, 'H317', 'GHS07', 'Warning'),
  'Skin Sens. 1A': row('skin-sens', 1, 'H317', 'GHS07', 'Warning'),
  'Skin Sens. 1B': row('skin-sens', 1, 'H317', 'GHS07', 'Warning'),

  'Muta. 1A': row('muta', 1, 'H340', 'GHS08', 'Danger'),
  'Muta. 1B': row('muta', 2, 'H340', 'GHS08', 'Danger'),
  'Muta. 2': row('muta', 3, 'H341', 'GHS08', 'Warning'),
  'Carc. 1A': row('carc', 1, 'H350 H350i', 'GHS08', 'Danger'),
  'Carc. 1B': row('carc', 2, 'H350 H350i', 'GHS08', 'Danger'),
  'Carc. 2': row('carc', 3, 'H351', 'GHS08', 'Warning'),
  'Repr. 1A': row('repr', 1, 'H360 H360F H360D H360FD H360Fd H360Df', 'GHS08', 'Danger'),
  'Repr. 1B': row('repr', 2, 'H360 H360F H360D H360FD H360Fd H360Df', 'GHS08', 'Danger'),
  'Repr. 2': row('repr', 3, 'H361 H361f H361d H361fd', 'GHS08', 'Warning'),
  'Lact.': row('lact', 1, 'H362', null, null),
  // From memory.
  'ED HH 1': row('endocrine', 1, 'EUH380', null, 'Danger'),
  'ED HH 2': row('endocrine', 2, 'EUH381', null, 'Warning'),

  'STOT SE 1': row('stot-se', 1, 'H370', 'GHS08', 'Danger'),
  'STOT SE 2': row('stot-se', 2, 'H371', 'GHS08', 'Warning'),
  'STOT SE 3': row('stot-se-3', 1, 'H335 H336', 'GHS07', 'Warning'),
  'STOT RE 1': row('stot-re', 1, 'H372', 'GHS08', 'Danger'),
  'STOT RE 2': row('stot-re', 2, 'H373', 'GHS08', 'Warning'),
  'Asp. Tox. 1': row('asp', 1, 'H304', 'GHS08', 'Danger'),
  // Not in CLP, from memory.
  'Asp. Tox. 2': row('asp', 2, 'H305', 'GHS08', 'Warning'),

  'Aquatic Acute 1': row('aquatic-acute', 1, 'H400', 'GHS09', 'Warning'),
  // Not in CLP, from memory.
  'Aquatic Acute 2': row('aquatic-acute', 2, 'H401', null, null),
  'Aquatic Acute 3': row('aquatic-acute', 3, 'H402', null, null),
  'Aquatic Chronic 1': row('aquatic-chronic', 1, 'H410', 'GHS09', 'Warning'),
  'Aquatic Chronic 2': row('aquatic-chronic', 2, 'H411', 'GHS09', null),
  'Aquatic Chronic 3': row('aquatic-chronic', 3, 'H412', null, null),
  'Aquatic Chronic 4': row('aquatic-chronic', 4, 'H413', null, null),
  // From memory.
  'Ozone 1': row('ozone', 1, 'H420', 'GHS07', 'Warning'),
};

/** Hazard statements by code. */
export const H_TEXTS: Readonly<Record<string, string>> = {
  H220: 'Extremely flammable gas',
  H224: 'Extremely flammable liquid and vapour',
  H225: 'Highly flammable liquid and vapour',
  H226: 'Flammable liquid and vapour',
  H228: 'Flammable solid',
  H250: 'Catches fire spontaneously if exposed to air',
  H251: 'Self-heating: may catch fire',
  H252: 'Self-heating in large quantities; may catch fire',
  H260: 'In contact with water releases flammable gases which may ignite spontaneously',
  H261: 'In contact with water releases flammable gases',
  H271: 'May cause fire or explosion; strong oxidiser',
  H272: 'May intensify fire; oxidiser',
  H280: 'Contains gas under pressure; may explode if heated',
  H281: 'Contains refrigerated gas; may cause cryogenic burns or injury',
  H290: 'May be corrosive to metals',
  H300: 'Fatal if swallowed',
  H301: 'Toxic if swallowed',
  H302: 'Harmful if swallowed',
  H303: 'May be harmful if swallowed',
  H304: 'May be fatal if swallowed and enters airways',
  H305: 'May be harmful if swallowed and enters airways',
  H310: 'Fatal in contact with skin',
  H311: 'Toxic in contact with skin',
  H312: 'Harmful in contact with skin',
  H313: 'May be harmful in contact with skin',
  H314: 'Causes severe skin burns and eye damage',
  H315: 'Causes skin irritation',
  H316: 'Causes mild skin irritation',
  H317: 'May cause an allergic skin reaction',
  H318: 'Causes serious eye damage',
  H319: 'Causes serious eye irritation',
  H320: 'Causes eye irritation',
  H330: 'Fatal if inhaled',
  H331: 'Toxic if inhaled',
  H332: 'Harmful if inhaled',
  H333: 'May be harmful if inhaled',
  H334: 'May cause allergy or asthma symptoms or breathing difficulties if inhaled',
  H335: 'May cause respiratory irritation',
  H336: 'May cause drowsiness or dizziness',
  H340: 'May cause genetic defects',
  H341: 'Suspected of causing genetic defects',
  H350: 'May cause cancer',
  H350i: 'May cause cancer by inhalation',
  H351: 'Suspected of causing cancer',
  H360: 'May damage fertility or the unborn child',
  H360D: 'May damage the unborn child',
  H360F: 'May damage fertility',
  H360FD: 'May damage fertility. May damage the unborn child',
  H360Df: 'May damage the unborn child. Suspected of damaging fertility',
  H360Fd: 'May damage fertility. Suspected of damaging the unborn child',
  H361: 'Suspected of damaging fertility or the unborn child',
  H361d: 'Suspected of damaging the unborn child',
  H361f: 'Suspected of damaging fertility',
  H361fd: 'Suspected of damaging fertility. Suspected of damaging the unborn child',
  H362: 'May cause harm to breast-fed children',
  H370: 'Causes damage to organs',
  H371: 'May cause damage to organs',
  H372: 'Causes damage to organs through prolonged or repeated exposure',
  H373: 'May cause damage to organs through prolonged or repeated exposure',
  H400: 'Very toxic to aquatic life',
  H401: 'Toxic to aquatic life',
  H402: 'Harmful to aquatic life',
  H410: 'Very toxic to aquatic life with long lasting effects',
  H411: 'Toxic to aquatic life with long lasting effects',
  H412: 'Harmful to aquatic life with long lasting effects',
  H413: 'May cause long lasting harmful effects to aquatic life',
  H420: 'Harms public health and the environment by destroying ozone in the upper atmosphere',
  EUH380: 'May cause endocrine disruption in humans',
  EUH381: 'Suspected of causing endocrine disruption in humans',
};

/** Precautionary statements by code, those that a studio's materials call for. From memory. */
export const P_TEXTS: Readonly<Record<string, string>> = {
  P101: 'If medical advice is needed, have product container or label at hand.',
  P102: 'Keep out of reach of children.',
  P103: 'Read carefully and follow all instructions.',
  P201: 'Obtain special instructions before use.',
  P202: 'Do not handle until all safety precautions have been read and understood.',
  P210: 'Keep away from heat, hot surfaces, sparks, open flames and other ignition sources. No smoking.',
  P220: 'Keep away from clothing and other combustible materials.',
  P221: 'Take any precaution to avoid mixing with combustibles.',
  P223: 'Do not allow contact with water.',
  P233: 'Keep container tightly closed.',
  P234: 'Keep only in original packaging.',
  P260: 'Do not breathe dust/fume/gas/mist/vapours/spray.',
  P261: 'Avoid breathing dust/fume/gas/mist/vapours/spray.',
  P262: 'Do not get in eyes, on skin, or on clothing.',
  P263: 'Avoid contact during pregnancy and while nursing.',
  P264: 'Wash hands thoroughly after handling.',
  P270: 'Do not eat, drink or smoke when using this product.',
  P271: 'Use only outdoors or in a well-ventilated area.',
  P272: 'Contaminated work clothing should not be allowed out of the workplace.',
  P273: 'Avoid release to the environment.',
  P280: 'Wear protective gloves/protective clothing/eye protection/face protection.',
  P284: 'In case of inadequate ventilation wear respiratory protection.',
  'P301+P310': 'IF SWALLOWED: Immediately call a POISON CENTER/doctor.',
  'P301+P312': 'IF SWALLOWED: Call a POISON CENTER/doctor if you feel unwell.',
  'P301+P330+P331': 'IF SWALLOWED: Rinse mouth. Do NOT induce vomiting.',
  'P302+P352': 'IF ON SKIN: Wash with plenty of water.',
  'P303+P361+P353':
    'IF ON SKIN (or hair): Take off immediately all contaminated clothing. Rinse skin with water.',
  'P304+P340': 'IF INHALED: Remove person to fresh air and keep comfortable for breathing.',
  'P305+P351+P338':
    'IF IN EYES: Rinse cautiously with water for several minutes. Remove contact lenses, if present and easy to do. Continue rinsing.',
  'P308+P311': 'IF exposed or concerned: Call a POISON CENTER/doctor.',
  'P308+P313': 'IF exposed or concerned: Get medical advice/attention.',
  P310: 'Immediately call a POISON CENTER/doctor.',
  P312: 'Call a POISON CENTER/doctor if you feel unwell.',
  P314: 'Get medical advice/attention if you feel unwell.',
  P321: 'Specific treatment (see supplementary first aid instructions on this label).',
  P330: 'Rinse mouth.',
  P331: 'Do NOT induce vomiting.',
  'P332+P313': 'If skin irritation occurs: Get medical advice/attention.',
  'P333+P313': 'If skin irritation or rash occurs: Get medical advice/attention.',
  'P337+P313': 'If eye irritation persists: Get medical advice/attention.',
  'P342+P311': 'If experiencing respiratory symptoms: Call a POISON CENTER/doctor.',
  'P361+P364': 'Take off immediately all contaminated clothing and wash it before reuse.',
  'P362+P364': 'Take off contaminated clothing and wash it before reuse.',
  P363: 'Wash contaminated clothing before reuse.',
  'P370+P378': 'In case of fire: Use a suitable agent to extinguish.',
  P391: 'Collect spillage.',
  'P402+P404': 'Store in a dry place. Store in a closed container.',
  'P403+P233': 'Store in a well-ventilated place. Keep container tightly closed.',
  P405: 'Store locked up.',
  P410: 'Protect from sunlight.',
  P501: 'Dispose of contents/container in accordance with local regulations.',
};

/** Whether this abbreviation is a class known here, and the statement one that it may carry. */
export const isHazard = (hazardClass: string, hCode: string): boolean =>
  Object.hasOwn(HAZARD_CLASSES, hazardClass) &&
  (HAZARD_CLASSES[hazardClass]?.hCodes.includes(hCode) ?? false);

export interface Label {
  signalWord: SignalWord | null;
  pictograms: Pictogram[];
  hStatements: string[];
  pStatements: string[];
}

interface Classed {
  hazardClass: string;
  hCode: string;
}

/**
 * What a label carries for these classes: the stronger signal word, pictograms by the precedence of Article 26 of
 * Regulation (EC) 1272/2008, hazard statements without those that another one includes, and at most six precautionary
 * statements (Article 28), chosen for a bucket that many hands use. All lists in the order of their codes, whatever the
 * order of the classes.
 * @throws RangeError for a class or statement that is not known here
 */
export function label(classes: readonly Classed[]): Label {
  const found = classes.map(({ hazardClass, hCode }) => {
    const known = HAZARD_CLASSES[hazardClass];
    if (!known || !isHazard(hazardClass, hCode))
      throw new RangeError(`${hazardClass} with ${hCode} is no hazard class known here.`);
    return { ...known, hCode };
  });
  const signals = found.map(({ signal }) => signal);
  const hStatements = withoutRedundant(found.map(({ hCode }) => hCode));
  return {
    signalWord: signals.includes('Danger') ? 'Danger' : signals.includes('Warning') ? 'Warning' : null,
    pictograms: pictogramsOf(found),
    hStatements,
    pStatements: precautions(hStatements),
  };
}

const IRRITATION = ['H315', 'H319'];

function pictogramsOf(found: (HazardClass & { hCode: string })[]): Pictogram[] {
  const all = new Set(found.flatMap(({ pictogram }) => pictogram ?? []));
  const sensitises = found.some(({ hCode }) => hCode === 'H334');
  const remains = found.some(({ pictogram, hCode }) => {
    if (pictogram !== 'GHS07' || all.has('GHS06')) return false;
    if (IRRITATION.includes(hCode)) return !all.has('GHS05') && !sensitises;
    return hCode !== 'H317' || !sensitises;
  });
  if (!remains) all.delete('GHS07');
  return [...all].sort();
}

/** A statement on the left says all that those on the right say. */
const INCLUDES: Readonly<Record<string, string[]>> = {
  H314: ['H315', 'H316', 'H318', 'H319', 'H320'],
  H318: ['H319', 'H320'],
  H315: ['H316'],
  H319: ['H320'],
  H350: ['H350i', 'H351'],
  H340: ['H341'],
  H360FD: ['H360', 'H360F', 'H360D', 'H360Fd', 'H360Df', 'H361', 'H361f', 'H361d', 'H361fd'],
  H360Fd: ['H360F', 'H361', 'H361f', 'H361d', 'H361fd'],
  H360Df: ['H360D', 'H361', 'H361f', 'H361d', 'H361fd'],
  H360: ['H361', 'H361f', 'H361d', 'H361fd'],
  H361fd: ['H361', 'H361f', 'H361d'],
  H400: ['H401', 'H402'],
  H410: ['H400', 'H401', 'H402', 'H411', 'H412', 'H413'],
  H411: ['H401', 'H402', 'H412', 'H413'],
  H412: ['H402', 'H413'],
};

function withoutRedundant(codes: string[]): string[] {
  const included = new Set(codes.flatMap((code) => INCLUDES[code] ?? []));
  return [...new Set(codes)].filter((code) => !included.has(code)).sort();
}

/**
 * What calls for which precaution (UN GHS, annex 3, from memory), the ones most needed first. Of two that say the same
 * more or less strongly, the later is left out where the earlier stands.
 */
const PRECAUTIONS: readonly { p: string; for: RegExp; unless?: string[] }[] = [
  { p: 'P303+P361+P353', for: /^H314/ },
  { p: 'P305+P351+P338', for: /^H31[489]|^H320/ },
  { p: 'P301+P310', for: /^H30[014]/ },
  { p: 'P342+P311', for: /^H334/ },
  { p: 'P280', for: /^H31[0-8]|^H3[456]0|^H341|^H351|^H361/ },
  { p: 'P260', for: /^H33[01]|^H37[0-3]|^H362/ },
  { p: 'P261', for: /^H33[2-6]|^H317/, unless: ['P260'] },
  { p: 'P308+P313', for: /^H34|^H35|^H36/ },
  { p: 'P263', for: /^H362/ },
  { p: 'P270', for: /^H30[0-3]|^H362/ },
  { p: 'P302+P352', for: /^H31[01257]/, unless: ['P303+P361+P353'] },
  { p: 'P333+P313', for: /^H317/ },
  { p: 'P301+P312', for: /^H302/, unless: ['P301+P310'] },
  { p: 'P220', for: /^H27/ },
  { p: 'P210', for: /^H2[0-7]/ },
  { p: 'P273', for: /^H4[01]/ },
  { p: 'P201', for: /^H34|^H35|^H36/ },
  { p: 'P314', for: /^H37[23]/, unless: ['P308+P313'] },
  { p: 'P264', for: /^H30|^H31[0-9]|^H320|^H37/ },
  { p: 'P304+P340', for: /^H33/ },
  { p: 'P337+P313', for: /^H319|^H320/ },
  { p: 'P391', for: /^H41[01]|^H400/ },
  { p: 'P501', for: /^H/ },
];

const MOST_PRECAUTIONS = 6;

function precautions(hCodes: string[]): string[] {
  const chosen: string[] = [];
  for (const { p, for: calls, unless = [] } of PRECAUTIONS) {
    if (chosen.length === MOST_PRECAUTIONS) break;
    if (hCodes.some((code) => calls.test(code)) && !unless.some((other) => chosen.includes(other)))
      chosen.push(p);
  }
  return chosen.sort();
}
