// The safety log as data: what kinds of entry there are, what each asks, and how an entry stands after what came later.

export const ENTRY_KINDS = [
  'incident',
  'near-miss',
  'exposure',
  'spill',
  'first-aid',
  'air',
  'wipe',
  'ventilation',
  'wet-cleaning',
  'respirator-fit',
  'training',
  'inspection',
  'waste',
] as const;
export type EntryKind = (typeof ENTRY_KINDS)[number];

/** Rows about an earlier entry. */
export type LaterKind = 'amendment' | 'follow-up' | 'closing';

interface KindFacts {
  words: string;
  /** Whom it is for, in one line. */
  hint: string;
  /** The question above what is written. */
  asks: string;
  /** Members write it too; the others are a technician's. */
  everyone: boolean;
  /** Whether it is about somebody's health: 'always' nobody can open it to all, 'usually' whoever writes it may. */
  restricted: 'always' | 'usually' | 'no';
  /** It waits until somebody closed it. */
  opens: boolean;
  /** Technicians are told at once. */
  tells: boolean;
  /** Figures that it cannot do without. */
  figures: 'measured' | 'checked' | 'quantity' | null;
}

const plain = { everyone: true, restricted: 'no', opens: false, tells: false, figures: null } as const;
const trouble = { ...plain, opens: true } as const;
const kept = { ...plain, everyone: false } as const;

/**
 * What each kind asks. Trouble and what comes out of a wet cloth anybody writes down; what is measured, checked, taught
 * or thrown away is a technician's, since an inspector takes the studio at its word there.
 */
export const KINDS: Record<EntryKind, KindFacts> = {
  incident: {
    ...trouble,
    words: 'Incident',
    hint: 'Somebody was hurt, or something broke or burned.',
    asks: 'What happened',
    restricted: 'usually',
    tells: true,
  },
  'near-miss': {
    ...trouble,
    words: 'Near miss',
    hint: 'Nobody was hurt. Next time somebody could be.',
    asks: 'What nearly happened',
  },
  exposure: {
    ...trouble,
    words: 'Exposure',
    hint: 'Dust, fumes or a chemical in lungs, eyes, mouth or on skin.',
    asks: 'To what, how, for how long',
    restricted: 'always',
    tells: true,
  },
  spill: {
    ...trouble,
    words: 'Spill',
    hint: 'Glaze, powder or fuel where it should not be.',
    asks: 'What was spilled, how much',
    tells: true,
  },
  'first-aid': {
    ...trouble,
    words: 'First aid',
    hint: 'The first aid box was opened.',
    asks: 'What was hurt, and how',
    restricted: 'always',
    tells: true,
  },
  'wet-cleaning': {
    ...plain,
    words: 'Wet cleaning done',
    hint: 'Benches, floor and wheels wiped wet.',
    asks: 'What was cleaned',
  },
  air: {
    ...kept,
    words: 'Air measurement',
    hint: 'Dust or a metal in the air, over a time.',
    asks: 'What was being done meanwhile',
    figures: 'measured',
  },
  wipe: {
    ...kept,
    words: 'Wipe measurement',
    hint: 'What a wipe took off a surface.',
    asks: 'Which surface, how large',
    figures: 'measured',
  },
  ventilation: {
    ...kept,
    words: 'Ventilation or filter check',
    hint: 'Extraction, kiln vent, spray booth, vacuum.',
    asks: 'What was checked',
    figures: 'checked',
  },
  'respirator-fit': {
    ...kept,
    words: 'Respirator fit',
    hint: 'Whose mask, which size, whether it is tight.',
    asks: 'Whose, which mask and size',
    restricted: 'always',
    figures: 'checked',
  },
  inspection: {
    ...kept,
    words: 'Inspection',
    hint: 'A round of your own, or somebody from outside.',
    asks: 'What was looked at, what was found',
    figures: 'checked',
  },
  training: {
    ...kept,
    words: 'Training',
    hint: 'What was taught, to whom.',
    asks: 'What was taught, to whom',
  },
  waste: {
    ...kept,
    words: 'Waste',
    hint: 'What left the studio, and how.',
    asks: 'What was in it',
    figures: 'quantity',
  },
};

/** Weight of a full bucket: 25 L of slurry at 1.45 kg/L and a 1 kg bucket, kg. Common practice, no source. */
export const FULL_BUCKET_KG = 37;

export const TOPICS = [
  'lifting',
  'electric',
  'caught',
  'eyes',
  'heat-glare',
  'sharp',
  'drain',
  'dust',
  'slip',
] as const;
export type Topic = (typeof TOPICS)[number];

/** The everyday ones: what they are called, and what to do about them. Common practice, no source. */
export const TOPIC_WORDS: Record<Topic, { words: string; advice: string }> = {
  lifting: {
    words: 'Lifting',
    advice: `A full 25 L bucket weighs some ${FULL_BUCKET_KG} kg: two people, or the trolley.`,
  },
  electric: {
    words: 'Electricity and water',
    advice: 'The drill mixer only on a socket with a residual-current device, cable off the floor.',
  },
  caught: {
    words: 'Caught in something that turns',
    advice: 'Hair tied up, no scarves or loose sleeves at mixer, wheel and pug mill.',
  },
  eyes: {
    words: 'Eyes',
    advice: 'Know where the eyewash is and that it runs. Goggles for mixing, spraying and grinding.',
  },
  'heat-glare': {
    words: 'Heat and glare',
    advice: 'Dark eyewear at spy holes, dry gloves, nothing that melts on your arms.',
  },
  sharp: {
    words: 'Sharp edges',
    advice: 'Glaze drips on fired feet and shelves cut like glass: grind them, do not feel for them.',
  },
  drain: {
    words: 'Sink and drain',
    advice: 'The sink trap is emptied wet, into the reclaim, never left to dry.',
  },
  dust: { words: 'Dust', advice: 'Wipe wet. Never sweep dry, never sand without extraction and a mask.' },
  slip: { words: 'Wet floor', advice: 'Wipe up what drips at once: wet clay and glaze are slippery.' },
};

export const AIR_UNITS = ['mg/m³', 'µg/m³', 'ppm'] as const;
export const WIPE_UNITS = ['µg/100 cm²', 'µg/m²', 'µg/ft²', 'mg/m²'] as const;
export const CHECK_UNITS = ['m/s', 'm³/h', 'Pa', 'fit factor'] as const;
export const QUANTITY_UNITS = ['kg', 'L'] as const;
export const OUTCOMES = ['in-order', 'needs-work'] as const;
export const WAYS_OUT = ['collected', 'taken-to-site', 'fired-solid', 'general-waste', 'other'] as const;

export const OUTCOME_WORDS: Record<(typeof OUTCOMES)[number], string> = {
  'in-order': 'In order',
  'needs-work': 'Needs work',
};
export const WAY_WORDS: Record<(typeof WAYS_OUT)[number], string> = {
  collected: 'Collected by a waste contractor',
  'taken-to-site': 'Taken to a licensed site',
  'fired-solid': 'Fired into a solid, then thrown away',
  'general-waste': 'General waste',
  other: 'Otherwise, as written',
};

/** What the columns do not hold, version 1. Values in the unit that stands beside them. */
export interface Payload {
  topic?: Topic | undefined;
  /** `below`: less than the value, which is what the method can tell. */
  measured?: {
    substance?: string | undefined;
    value: number;
    unit: string;
    below: boolean;
    method?: string | undefined;
    minutes?: number | undefined;
  };
  outcome?: (typeof OUTCOMES)[number];
  waste?: {
    quantity: number;
    unit: (typeof QUANTITY_UNITS)[number];
    way: (typeof WAYS_OUT)[number];
    reference?: string | undefined;
  };
  /** Of an amendment: the entry does not count any more. */
  strikes?: true;
}

/** A row of the log as far as it matters for how an entry stands. */
export interface LogRow {
  number: number;
  kind: EntryKind | LaterKind;
  owner: string | null;
  /** YYYY-MM-DD. */
  dueOn: string | null;
  payload: Payload;
}

export interface Standing {
  /** 'noted': nothing waits; 'open': nobody has taken it on; 'to-do': somebody has, until a day. */
  state: 'noted' | 'open' | 'to-do' | 'closed' | 'struck';
  owner: string | null;
  dueOn: string | null;
}

export const STANDING_WORDS: Record<Standing['state'], string> = {
  noted: 'Noted',
  open: 'Open',
  'to-do': 'Followed up',
  closed: 'Closed',
  struck: 'Struck out',
};

/** Whether an entry waits to be closed from the moment it is written. */
const waits = (kind: EntryKind, payload: Payload): boolean =>
  KINDS[kind].opens || payload.outcome === 'needs-work';

/**
 * How an entry stands after what was written about it later, in any order: the last follow-up or closing counts, and
 * one that was struck out stays so. An amendment in words changes nothing of this.
 */
export function standingOf(entry: { kind: EntryKind; payload: Payload }, later: readonly LogRow[]): Standing {
  if (later.some(({ kind, payload }) => kind === 'amendment' && payload.strikes))
    return { state: 'struck', owner: null, dueOn: null };
  const last = later
    .filter(({ kind }) => kind === 'follow-up' || kind === 'closing')
    .reduce<LogRow | null>((found, row) => (found && found.number > row.number ? found : row), null);
  if (last?.kind === 'closing') return { state: 'closed', owner: null, dueOn: null };
  if (last) return { state: 'to-do', owner: last.owner, dueOn: last.dueOn };
  return { state: waits(entry.kind, entry.payload) ? 'open' : 'noted', owner: null, dueOn: null };
}

/** Whether what somebody took on is late on this day (YYYY-MM-DD). */
export const isLate = ({ state, dueOn }: Standing, today: string): boolean =>
  state === 'to-do' && dueOn !== null && dueOn < today;

/** The figures of an entry in words: '0.031 mg/m³ of respirable silica over 240 min, by pump and filter'; '' without any. */
export function figureWords({ measured, outcome, waste }: Payload): string {
  const words: string[] = [];
  if (outcome) words.push(OUTCOME_WORDS[outcome]);
  if (measured) {
    const { substance, value, unit, below, method, minutes } = measured;
    const of = substance ? ` of ${substance}` : '';
    const over = minutes === undefined ? '' : ` over ${minutes} min`;
    words.push(`${below ? 'less than ' : ''}${value} ${unit}${of}${over}${method ? `, by ${method}` : ''}`);
  }
  if (waste) {
    const { quantity, unit, way, reference } = waste;
    words.push(`${quantity} ${unit}. ${WAY_WORDS[way]}${reference ? `, ${reference}` : ''}`);
  }
  return words.join('; ');
}
