import { z } from 'zod';
import { type FieldError, Invalid } from '../core/errors.ts';
import { choice, type FormSetting, parse, quantity, readForm, type Typed, text } from '../core/forms.ts';
import { isCas } from './cas.ts';
import type { HazardEntry, MaterialFacts } from './facts.ts';
import { HAZARD_CLASSES, isHazard } from './hazards.ts';

// What is known of a material is typed into numbered rows: substance1, cas1, percent1, substance2 and so on. Programs
// send the same as lists. Both are read by the schemas here and held against each other by `factFaults`.

/** A number as the register prints it; '' where there is none, since a wood ash has none. */
const cas = () =>
  z
    .string({ error: 'A CAS number such as 1313-13-9.' })
    .trim()
    .refine(isCas, 'Not a CAS number: such as 1313-13-9, its last digit is reckoned from the others.');

const P_CODE = /^P\d{3}[a-i]?(\+P\d{3}[a-i]?){0,3}$/;
const pCode = () =>
  z
    .string({ error: 'A code such as P261.' })
    .trim()
    .transform(inCapitals)
    .refine((typed) => P_CODE.test(typed), 'A code such as P261 or P305+P351+P338.');

const share = () => quantity(0, 100);
const hazardClass = text(40).transform(asListed);
const hCode = text(8).transform(inCapitals);
/** As the list gives one: of a limit of nothing every trace would be over. */
const ownLimit = () => quantity(0.000_001, 100);
/** Its form has one a line. */
const otherName = () => text(60).refine((name) => !/[\n;]/.test(name), 'One name, without a semicolon.');

const substance = z.strictObject({
  name: text(120),
  cas: cas().nullish(),
  percent: share().nullish(),
});
const range = z.strictObject({ hazardClass, hCode, fromPercent: share(), belowPercent: share().nullish() });
const hazardRow = z.strictObject({
  hazardClass,
  hCode,
  limitPercent: ownLimit().nullish(),
  mFactor: quantity(1, 1_000_000).nullish(),
  note: text(120).nullish(),
});
const hazard = hazardRow.extend({ ranges: z.array(range).max(6).nullish() });
const limit = z.strictObject({
  of: text(80),
  value: quantity(0.000_001, 100_000),
  unit: choice(['mg/m³', 'µg/m³', 'ppm']),
  averaging: choice(['8 h', '15 min', 'ceiling']),
  source: text(120),
});
/** Nothing has an acute toxicity of zero: a mixture would be infinitely toxic by it. */
const estimate = () => quantity(0.0001, 1_000_000);
const inhaledForm = choice(['gas', 'vapour', 'dust-mist']);

export const MOST = { substances: 20, hazards: 24, ranges: 12, limits: 12 } as const;

const plain = {
  name: text(60),
  density: quantity(0.5, 20).meta({ description: 'Density of its particles, g/cm³' }),
  classification: choice(['unknown', 'none', 'classified']).meta({
    description: 'unknown: no sheet was read yet; none: the sheet says it is not classified',
  }),
  source: text(300).nullish().meta({ description: 'Where the classification was read, and of what date' }),
  supplier: text(80).nullish(),
  storage: text(300).nullish(),
  incompatible: text(300).nullish(),
  ppe: text(300).nullish(),
};

/** A material as a program sends it; what is left out is nothing known. */
export const materialBody = z.strictObject({
  ...plain,
  otherNames: z.array(otherName()).max(12).default([]),
  substances: z.array(substance).max(MOST.substances).default([]),
  hazards: z.array(hazard).max(MOST.hazards).default([]),
  ate: z
    .strictObject({
      oral: estimate().nullish().meta({ description: 'mg/kg' }),
      dermal: estimate().nullish().meta({ description: 'mg/kg' }),
      inhalation: z.strictObject({ value: estimate(), form: inhaledForm }).nullish().meta({
        description: 'ppmV for a gas, else mg/L over four hours',
      }),
    })
    .default({}),
  pStatements: z.array(pCode()).max(40).default([]),
  limits: z.array(limit).max(MOST.limits).default([]),
});

/** What the register is to hold of a material. */
export interface MaterialCommand {
  name: string;
  /** Of its particles, g/cm³. */
  density: number;
  facts: MaterialFacts;
}

/** 'h302' as H302; the small letters behind its figures mean something and stay. */
function inCapitals(typed: string): string {
  return typed.replace(/(?<![A-Za-z])(eu)?[hp](?=\d)/gi, (letters) => letters.toUpperCase());
}

/** The class as the list spells it, however its case was typed; as typed where the list has none like it. */
function asListed(typed: string): string {
  const wanted = typed.toLowerCase().replace(/\s+/g, ' ');
  return Object.keys(HAZARD_CLASSES).find((name) => name.toLowerCase() === wanted) ?? typed;
}

/**
 * What a program sent as a command.
 * @throws Invalid with a dotted path a fault: 'hazards.0.hCode'
 */
export function commandOf(body: z.output<typeof materialBody>): MaterialCommand {
  const { name, density, ate } = body;
  const facts: MaterialFacts = {
    otherNames: body.otherNames,
    substances: body.substances.map((one) => ({
      name: one.name,
      cas: one.cas ?? '',
      percent: one.percent ?? null,
    })),
    classification: body.classification,
    hazards: body.hazards.map(({ ranges, ...one }) => ({
      ...entryOf(one),
      ...(ranges?.length && {
        ranges: ranges.map(({ belowPercent, ...rest }) => ({ ...rest, ...known({ belowPercent }) })),
      }),
    })),
    ate: known(ate),
    pStatements: [...new Set(body.pStatements)],
    limits: body.limits,
    source: body.source ?? '',
    supplier: body.supplier ?? '',
    storage: body.storage ?? '',
    incompatible: body.incompatible ?? '',
    ppe: body.ppe ?? '',
  };
  const faults = factFaults(facts);
  if (faults.length > 0) throw new Invalid(faults);
  return { name, density, facts };
}

const entryOf = ({ limitPercent, mFactor, note, ...pair }: z.output<typeof hazardRow>): HazardEntry => ({
  ...pair,
  ...known({ limitPercent, mFactor, note }),
});

type Known<T> = { [K in keyof T]: Exclude<T[K], null | undefined> };

/** Without what is absent. */
const known = <T extends object>(values: T): Partial<Known<T>> =>
  Object.fromEntries(
    Object.entries(values).filter(([, value]) => value !== null && value !== undefined),
  ) as Partial<Known<T>>;

/** Rounding of shares such as three times 33.3; in percent. */
const SLACK = 1e-9;

/** What cannot be true of the parts together: dotted path and words for each. */
function factFaults(facts: MaterialFacts): FieldError[] {
  const { substances, hazards, classification, source } = facts;
  const faults: FieldError[] = [];
  const fault = (path: string, message: string) => faults.push({ path, message });

  const total = substances.reduce((sum, { percent }) => sum + (percent ?? 0), 0);
  if (total > 100 + SLACK)
    fault(
      `substances.${substances.findLastIndex(({ percent }) => percent !== null)}.percent`,
      `The shares make ${Number(total.toPrecision(6))} %: together at most 100 %.`,
    );
  substances.forEach(({ cas }, i) => {
    if (cas !== '' && substances.findIndex((one) => one.cas === cas) < i)
      fault(`substances.${i}.cas`, 'This number stands above already.');
  });

  hazards.forEach((entry, i) => {
    const at = `hazards.${i}`;
    pairFault(entry, at, fault);
    const first = hazards.findIndex(
      (one) => one.hazardClass === entry.hazardClass && one.hCode === entry.hCode,
    );
    if (first < i) fault(`${at}.hCode`, 'This class stands above already.');
    if (entry.mFactor !== undefined && !entry.hazardClass.startsWith('Aquatic'))
      fault(`${at}.mFactor`, 'Only the aquatic classes have a factor M.');
    entry.ranges?.forEach((one, j) => {
      pairFault(one, `${at}.ranges.${j}`, fault);
      if (one.belowPercent !== undefined && one.belowPercent <= one.fromPercent)
        fault(`${at}.ranges.${j}.belowPercent`, 'A range ends above where it begins.');
    });
  });

  if (hazards.reduce((sum, { ranges = [] }) => sum + ranges.length, 0) > MOST.ranges)
    fault('hazards', `At most ${MOST.ranges} ranges in all.`);

  if (classification === 'classified' && hazards.length === 0)
    fault('classification', 'Classified, yet no class is listed: add what the sheet says.');
  if (classification !== 'classified' && hazards.length > 0)
    fault('classification', 'Classes are listed, so it is classified.');
  if (classification !== 'unknown' && source === '')
    fault('source', 'Say where the classification was read, and of what date.');
  return faults;
}

function pairFault(
  { hazardClass, hCode }: { hazardClass: string; hCode: string },
  at: string,
  fault: (path: string, message: string) => void,
): void {
  if (!Object.hasOwn(HAZARD_CLASSES, hazardClass))
    fault(`${at}.hazardClass`, 'No class is called this: write it as the sheet does, such as STOT RE 1.');
  else if (!isHazard(hazardClass, hCode)) fault(`${at}.hCode`, `${hCode} is no statement of ${hazardClass}.`);
}

// The form.

/** For every list of rows: the property, and what its field is called before the row's number. */
const FIELDS = {
  substances: { name: 'substance', cas: 'cas', percent: 'percent' },
  hazards: { hazardClass: 'class', hCode: 'hcode', limitPercent: 'from', mFactor: 'm', note: 'note' },
  ranges: {
    of: 'rangeOf',
    hazardClass: 'rangeClass',
    hCode: 'rangeHcode',
    fromPercent: 'rangeFrom',
    belowPercent: 'rangeBelow',
  },
  limits: {
    of: 'limitOf',
    value: 'limitValue',
    unit: 'limitUnit',
    averaging: 'limitAveraging',
    source: 'limitSource',
  },
} as const;
type List = keyof typeof FIELDS;

const BASE = { substances: 2, hazards: 4, ranges: 1, limits: 1 };
const MORE_ROWS = 3;

const restForm = z.object({
  ...plain,
  otherNames: text(800).optional(),
  pStatements: text(800).optional(),
  ateOral: estimate().optional(),
  ateDermal: estimate().optional(),
  ateInhalation: estimate().optional(),
  ateForm: inhaledForm.optional(),
});

const rangeRow = range.extend({ of: hCode });

/** The button that only adds empty rows was pressed. */
export const wantsMoreRows = (typed: Typed): boolean => typed.more !== undefined;

/** How many rows of each list to show: those that are filled in, one to spare, and what was asked for. */
export function rowsFor(typed: Typed): Record<List, number> & { extra: number } {
  const before = Math.min(24, Math.max(0, Math.floor(Number(typed.rows)) || 0));
  const extra = before + (wantsMoreRows(typed) ? MORE_ROWS : 0);
  const shown = (list: List) => {
    const filled = rowsOf(typed, list).reduce((last, row) => Math.max(last, row.number), 0);
    return Math.min(MOST[list], Math.max(BASE[list] + extra, filled + 1));
  };
  return {
    extra,
    substances: shown('substances'),
    hazards: shown('hazards'),
    ranges: shown('ranges'),
    limits: shown('limits'),
  };
}

/** A form's fields as a command. Throws Invalid, each fault by the name of its field. */
export function readMaterial(typed: Typed, setting: FormSetting): MaterialCommand {
  const errors: FieldError[] = [];
  /** The field behind a path of the lists: 'hazards.0' stands in the row of this number. */
  const places = new Map<string, { list: List; number: number }>();
  const rows = <S extends z.ZodType>(list: List, schema: S): z.output<S>[] => {
    const read: z.output<S>[] = [];
    for (const { number, row } of rowsOf(typed, list))
      try {
        read.push(readForm(schema, row, setting));
        places.set(`${list}.${read.length - 1}`, { list, number });
      } catch (error) {
        if (!(error instanceof Invalid)) throw error;
        errors.push(
          ...error.errors.map(({ path, message }) => ({ path: fieldName(list, path, number), message })),
        );
      }
    return read;
  };

  const rest = gather(errors, () => readForm(restForm, typed, setting));
  const substances = rows('substances', substance);
  const hazards = rows('hazards', hazardRow);
  const ranges = rows('ranges', rangeRow);
  const limits = rows('limits', limit);
  const codes = gather(errors, () => pCodes(rest?.pStatements));
  const otherNames = (rest?.otherNames ?? '').split(/[\n;]+/).map((name) => name.trim());
  const inhalation = gather(errors, () => inhaled(rest?.ateInhalation, rest?.ateForm));

  const withRanges = hazards.map((one) => ({ ...one, ranges: [] as z.output<typeof range>[] }));
  ranges.forEach(({ of, ...one }, i) => {
    const at = withRanges.findIndex((entry) => entry.hCode === of);
    const parent = withRanges[at];
    const place = places.get(`ranges.${i}`);
    if (!place) return;
    if (!parent) {
      errors.push({
        path: fieldName('ranges', 'of', place.number),
        message: 'Write the H code of a class above.',
      });
      return;
    }
    places.set(`hazards.${at}.ranges.${parent.ranges.length}`, place);
    parent.ranges.push(one);
  });
  if (errors.length > 0 || !rest) throw new Invalid(errors);

  const { ateOral: oral, ateDermal: dermal, ateInhalation: _, ateForm: __, ...plainFields } = rest;
  try {
    return commandOf(
      parse(materialBody, {
        ...plainFields,
        otherNames: otherNames.filter((name) => name !== ''),
        pStatements: codes ?? [],
        ate: { oral, dermal, inhalation },
        substances,
        hazards: withRanges,
        limits,
      }),
    );
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    throw new Invalid(
      error.errors.map(({ path, message }) => {
        const dot = path.lastIndexOf('.');
        const place = places.get(path.slice(0, dot));
        if (place) return { path: fieldName(place.list, path.slice(dot + 1), place.number), message };
        return { path: path.split('.')[0] ?? '', message };
      }),
    );
  }
}

/** Runs one part of the reading; what is wrong with it joins the list, and the reading goes on. */
function gather<T>(errors: FieldError[], work: () => T): T | null {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    errors.push(...error.errors);
    return null;
  }
}

function pCodes(typed: string | null | undefined): string[] {
  const codes = (typed ?? '')
    .replace(/\s*\+\s*/g, '+')
    .split(/[\s,;]+/)
    .filter((one) => one !== '')
    .map(inCapitals);
  const wrong = codes.find((one) => !P_CODE.test(one));
  if (wrong !== undefined)
    throw new Invalid([
      { path: 'pStatements', message: `${wrong.slice(0, 20)} is no code such as P261 or P305+P351+P338.` },
    ]);
  return codes;
}

function inhaled(value: number | undefined, form: z.output<typeof inhaledForm> | undefined) {
  if (value === undefined) return undefined;
  if (form === undefined)
    throw new Invalid([{ path: 'ateForm', message: 'Say in what form it is inhaled.' }]);
  return { value, form };
}

const fieldName = (list: List, path: string, number: number): string =>
  `${(FIELDS[list] as Record<string, string>)[path] ?? path}${number}`;

/** The rows in which something was typed, as the schema of one row names it. */
function rowsOf(typed: Typed, list: List): { number: number; row: Typed }[] {
  const fields = Object.entries(FIELDS[list]);
  return Array.from({ length: MOST[list] }, (_, i) => ({
    number: i + 1,
    row: Object.fromEntries(fields.map(([name, field]) => [name, typed[`${field}${i + 1}`]])),
  })).filter(({ row }) => Object.values(row).some((value) => [value ?? ''].flat().join('').trim() !== ''));
}

/** A material as its form shows it. */
export function typedFrom({ name, density, facts }: MaterialCommand): Typed {
  const typed: Typed = {
    name,
    density: String(density),
    otherNames: facts.otherNames.join('\n'),
    classification: facts.classification,
    pStatements: facts.pStatements.join(', '),
    source: facts.source,
    supplier: facts.supplier,
    storage: facts.storage,
    incompatible: facts.incompatible,
    ppe: facts.ppe,
    ateOral: shown(facts.ate.oral),
    ateDermal: shown(facts.ate.dermal),
    ateInhalation: shown(facts.ate.inhalation?.value),
    ateForm: facts.ate.inhalation?.form,
  };
  const fill = (list: List, rows: object[]) => {
    for (const [i, row] of rows.entries())
      for (const [property, field] of Object.entries(FIELDS[list]))
        typed[`${field}${i + 1}`] = shown((row as Record<string, string | number | null>)[property]);
  };
  fill('substances', facts.substances);
  fill('hazards', facts.hazards);
  fill(
    'ranges',
    facts.hazards.flatMap(({ hCode: of, ranges = [] }) => ranges.map((one) => ({ of, ...one }))),
  );
  fill('limits', facts.limits);
  return typed;
}

const shown = (value: string | number | null | undefined): string =>
  value === null || value === undefined ? '' : String(value);
