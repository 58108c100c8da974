// What is known of a material, as its supplier's safety data sheet and the public lists say it.

/** One hazard class, with what the list gives for this very substance. */
export interface HazardEntry {
  /** The regulation's abbreviation: 'Acute Tox. 4', 'STOT RE 1', 'Aquatic Chronic 1'. */
  hazardClass: string;
  /** 'H302', 'H350i', 'H360FD'. */
  hCode: string;
  /** The share, in percent by mass, from which a mixture takes this class, where the list sets its own. */
  limitPercent?: number;
  /** Other classes a mixture takes in a range of shares: 'STOT RE 2' from 0.1 to below 10 %. */
  ranges?: { hazardClass: string; hCode: string; fromPercent: number; belowPercent?: number }[];
  /** For the aquatic classes; 1 without it. */
  mFactor?: number;
  /** Organs or effect, as the sheet words it. */
  note?: string;
}

/** Acute toxicity estimates: mg/kg, for inhalation ppmV (gas) or mg/L in 4 h. */
export interface AcuteEstimates {
  oral?: number;
  dermal?: number;
  inhalation?: { value: number; form: 'gas' | 'vapour' | 'dust-mist' };
}

export interface ExposureLimit {
  /** 'respirable crystalline silica', 'manganese, as Mn'. */
  of: string;
  value: number;
  unit: 'mg/m³' | 'µg/m³' | 'ppm';
  averaging: '8 h' | '15 min' | 'ceiling';
  /** The limit's own source, such as '29 CFR 1910.1053'. */
  source: string;
}

export interface MaterialFacts {
  otherNames: string[];
  /** What it consists of; shares in percent by mass, null where the sheet gives none. */
  substances: { name: string; cas: string; percent: number | null }[];
  /** 'unknown': no sheet was read yet. 'none': the sheet says not classified. */
  classification: 'unknown' | 'none' | 'classified';
  hazards: HazardEntry[];
  ate: AcuteEstimates;
  pStatements: string[];
  limits: ExposureLimit[];
  /** Where the classification was taken from, and of what date. */
  source: string;
  supplier: string;
  storage: string;
  incompatible: string;
  ppe: string;
}

/** A material of which nobody has said more than its name and density. */
export const UNKNOWN: MaterialFacts = {
  otherNames: [],
  substances: [],
  classification: 'unknown',
  hazards: [],
  ate: {},
  pStatements: [],
  limits: [],
  source: '',
  supplier: '',
  storage: '',
  incompatible: '',
  ppe: '',
};
