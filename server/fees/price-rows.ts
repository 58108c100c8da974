import { z } from 'zod';
import { type FieldError, Invalid } from '../core/errors.ts';
import {
  choice,
  code,
  count,
  day,
  decimal,
  type FormSetting,
  flag,
  money,
  quantity,
  readForm,
  type Typed,
  text,
} from '../core/forms.ts';
import { decimalParts, exponentOf, plainMoney, ROUNDINGS } from '../core/money.ts';
import { figureText, gather, isBlank, rowsIn } from '../kilns/typed-rows.ts';
import { FIRING_KINDS, type FiringKind } from '../ware/firing.ts';
import { MOST_MINOR } from './settings-form.ts';
import { type Basis, type Factor, type Item, type Line, type Tariff, usualIncome } from './tariff.ts';
import { factorForm, itemForm, litres } from './tariff-form.ts';

// The parts of a price list as forms: numbered rows of fields, amounts and rates as people write money.

/** How a line may price, as it is chosen: the measure together with its unit. */
const WAYS = [
  'volume:litre',
  'volume:cm3',
  'volume:in3',
  'area:cm2',
  'area:in2',
  'weight:kg',
  'weight:lb',
  'size',
  'shelf',
  'cost',
  'included',
] as const;
export type Way = (typeof WAYS)[number];

export const MOST_BANDS = 6;

/** A part of a list that was read, and the field that each of its places ('lines.0.code') was typed into. */
interface ReadPart<T> {
  value: T;
  fieldOf: Map<string, string>;
}

/**
 * Moves the point of a decimal text to the right, below 0 to the left: ('3.5', 2) → '350'.
 * @throws RangeError when it is no decimal text
 */
export function shifted(value: string, by: number): string {
  const { digits, places } = decimalParts(value);
  const decimals = places - by;
  if (decimals <= 0) return (digits * 10n ** BigInt(-decimals)).toString();
  const padded = digits.toString().padStart(decimals + 1, '0');
  const part = padded.slice(-decimals).replace(/0+$/, '');
  return padded.slice(0, -decimals) + (part && `.${part}`);
}

const amount = () => money(0, MOST_MINOR);
/** A rate as people write it, in whole units of the currency. */
const rate = () =>
  decimal(8)
    .refine((value) => Number(value) > 0, 'More than 0.')
    .refine((value) => Number(value) <= 1_000_000, 'That is too much.');

const LINE_FIELDS = ['code', 'name', ...FIRING_KINDS, 'way', 'rate', 'half', 'shelf', 'load', 'cm2'] as const;
const MORE_LINE_FIELDS = ['halves', 'wear', 'fuel', 'kwh', 'litres'] as const;
const named = (fields: readonly string[]) => Object.fromEntries(fields.map((field) => [field, field]));
const ticks = Object.fromEntries(FIRING_KINDS.map((kind) => [kind, flag()])) as Record<
  FiringKind,
  z.ZodBoolean
>;
const head = z.object({ code: code(), name: text(80), way: choice(WAYS), ...ticks });
const FIGURES = {
  rate: z.object({ rate: rate() }),
  shelf: z.object({
    half: amount(),
    shelf: amount(),
    load: amount(),
    cm2: quantity(1, 100_000),
    halves: count(1, 200),
  }),
  cost: z.object({
    rate: rate(),
    wear: amount(),
    fuel: amount(),
    kwh: quantity(0.1, 100_000),
    litres: quantity(0.1, 100_000),
  }),
  band: z.object({
    bandname: text(40),
    bandto: quantity(1, 10_000_000).optional(),
    bandprice: amount(),
  }),
};

const bandField = (field: string, line: number, band: number) => `${field}${line}x${band}`;

/** The lines for firings. @throws Invalid with every fault beside its field */
export function readLines(typed: Typed, setting: FormSetting): ReadPart<Line[]> {
  const errors: FieldError[] = [];
  const fieldOf = new Map<string, string>();
  const lines: Line[] = [];
  for (const { number, typed: row } of rowsIn(typed, named([...LINE_FIELDS, ...MORE_LINE_FIELDS]))) {
    // Taken out, as the page says; what it fired and cost may still be filled in.
    if ([row.code, row.name, row.way].every(isBlank)) continue;
    const rename = (path: string) => `${path}${number}`;
    const read = gather(errors, () => readForm(head, row, setting), null, rename);
    if (!read) continue;
    const at = `lines.${lines.length}`;
    for (const field of ['code', 'name'] as const) fieldOf.set(`${at}.${field}`, rename(field));
    const basis = gather(
      errors,
      () => readBasis(read.way, row, typed, { line: number, at, fieldOf, setting }),
      null,
      (path) => (path.includes('x') ? path : rename(path)),
    );
    if (basis)
      lines.push({
        code: read.code,
        name: read.name,
        kinds: FIRING_KINDS.filter((kind) => read[kind]),
        basis,
      });
  }
  if (lines.length === 0 && errors.length === 0)
    errors.push({ path: 'name1', message: 'At least one line for firings.' });
  if (errors.length > 0) throw new Invalid(errors);
  return { value: lines, fieldOf };
}

interface BandPlace {
  line: number;
  at: string;
  fieldOf: Map<string, string>;
  setting: FormSetting;
}

function readBasis(way: Way, row: Typed, typed: Typed, place: BandPlace): Basis {
  const { setting } = place;
  const minorRate = (value: string) => shifted(value, exponentOf(setting.currency));
  const [by, unit] = way.split(':');
  switch (by) {
    case 'volume':
    case 'area':
    case 'weight':
      return { by, unit, minorPer: minorRate(readForm(FIGURES.rate, row, setting).rate) } as Basis;
    case 'size':
      return { by, bands: readBands(typed, place) };
    case 'shelf': {
      const { half, shelf, load, cm2, halves } = readForm(FIGURES.shelf, row, setting);
      return {
        by,
        halfMinor: half,
        shelfMinor: shelf,
        loadMinor: load,
        halfShelfCm2: cm2,
        halvesALoad: halves,
      };
    }
    case 'cost': {
      const { rate, wear, fuel, kwh, litres } = readForm(FIGURES.cost, row, setting);
      return {
        by,
        minorPerKwh: minorRate(rate),
        wearMinor: wear,
        fuelMinor: fuel,
        usualKwh: kwh,
        usualLitres: litres,
      };
    }
    default:
      return { by: 'included' };
  }
}

function readBands(typed: Typed, { line, at, fieldOf, setting }: BandPlace) {
  const errors: FieldError[] = [];
  const bands: Extract<Basis, { by: 'size' }>['bands'] = [];
  for (let band = 1; band <= MOST_BANDS; band++) {
    const row: Typed = {
      bandname: typed[bandField('bandname', line, band)],
      bandto: typed[bandField('bandto', line, band)],
      bandprice: typed[bandField('bandprice', line, band)],
    };
    if (Object.values(row).every((value) => [value ?? ''].flat().join('').trim() === '')) continue;
    const read = gather(
      errors,
      () => readForm(FIGURES.band, row, setting),
      null,
      (path) => bandField(path, line, band),
    );
    if (!read) continue;
    fieldOf.set(`${at}.basis.bands.${bands.length}.upToCm3`, bandField('bandto', line, band));
    bands.push({ name: read.bandname, upToCm3: read.bandto ?? null, minor: read.bandprice });
  }
  if (bands.length === 0 && errors.length === 0)
    errors.push({ path: bandField('bandname', line, 1), message: 'At least one size.' });
  if (errors.length > 0) throw new Invalid(errors);
  return bands;
}

/** The way in which a line prices, as it is chosen. */
const wayOf = (basis: Basis): Way => ('unit' in basis ? `${basis.by}:${basis.unit}` : basis.by) as Way;

/** Lines as their form shows them. */
export function linesAsTyped(lines: readonly Line[], currency: string): Typed {
  const typed: Typed = {};
  const plain = (minor: number) => plainMoney(BigInt(minor), currency);
  const major = (minorPer: string) => shifted(minorPer, -exponentOf(currency));
  lines.forEach(({ code, name, kinds, basis }, i) => {
    const n = i + 1;
    const put = (values: Record<string, string>) => {
      for (const [field, value] of Object.entries(values)) typed[`${field}${n}`] = value;
    };
    put({ code, name, way: wayOf(basis), ...Object.fromEntries(kinds.map((kind) => [kind, 'yes'])) });
    if ('minorPer' in basis) put({ rate: major(basis.minorPer) });
    if (basis.by === 'shelf')
      put({
        half: plain(basis.halfMinor),
        shelf: plain(basis.shelfMinor),
        load: plain(basis.loadMinor),
        cm2: figureText(basis.halfShelfCm2),
        halves: figureText(basis.halvesALoad),
      });
    if (basis.by === 'cost')
      put({
        rate: major(basis.minorPerKwh),
        wear: plain(basis.wearMinor),
        fuel: plain(basis.fuelMinor),
        kwh: figureText(basis.usualKwh),
        litres: figureText(basis.usualLitres),
      });
    if (basis.by === 'size')
      basis.bands.forEach(({ name, upToCm3, minor }, b) => {
        typed[bandField('bandname', n, b + 1)] = name;
        typed[bandField('bandto', n, b + 1)] = figureText(upToCm3);
        typed[bandField('bandprice', n, b + 1)] = plain(minor);
      });
  });
  return typed;
}

const FACTOR_FIELDS = [
  'name',
  'factor',
  ...FIRING_KINDS,
  'coneFrom',
  'coneTo',
  'atmosphere',
  'memberClass',
] as const;
const factorRow = z.object({
  name: factorForm.shape.name,
  factor: factorForm.shape.factor,
  ...ticks,
  coneFrom: factorForm.shape.coneFrom.unwrap().optional(),
  coneTo: factorForm.shape.coneTo.unwrap().optional(),
  atmosphere: factorForm.shape.atmosphere.unwrap().optional(),
  memberClass: factorForm.shape.memberClass.unwrap().optional(),
});

/** What multiplies prices. @throws Invalid with every fault beside its field */
export function readFactors(typed: Typed, setting: FormSetting): ReadPart<Factor[]> {
  return readRows('factors', typed, FACTOR_FIELDS, (row): Factor => {
    const { name, factor, coneFrom, coneTo, atmosphere, memberClass, ...read } = readForm(
      factorRow,
      row,
      setting,
    );
    return {
      name,
      factor,
      kinds: FIRING_KINDS.filter((kind) => read[kind]),
      coneFrom: coneFrom ?? null,
      coneTo: coneTo ?? null,
      atmosphere: atmosphere ?? null,
      memberClass: memberClass ?? null,
    };
  });
}

export function factorsAsTyped(factors: readonly Factor[]): Typed {
  const typed: Typed = {};
  factors.forEach(({ kinds, ...rest }, i) => {
    for (const [field, value] of Object.entries(rest)) typed[`${field}${i + 1}`] = value ?? '';
    for (const kind of kinds) typed[`${kind}${i + 1}`] = 'yes';
  });
  return typed;
}

const ITEM_FIELDS = ['code', 'name', 'kind', 'unit', 'minor', 'litres', 'memberClass', 'income'] as const;
const itemRow = itemForm.extend({
  litres: itemForm.shape.litres.unwrap().optional(),
  memberClass: itemForm.shape.memberClass.unwrap().optional(),
  income: itemForm.shape.income.optional(),
});

/** What else has a price. @throws Invalid with every fault beside its field */
export function readItems(typed: Typed, setting: FormSetting): ReadPart<Item[]> {
  return readRows('items', typed, ITEM_FIELDS, (row): Item => {
    const { litres = null, memberClass = null, income, ...read } = readForm(itemRow, row, setting);
    return { ...read, litres, memberClass, income: income ?? usualIncome({ kind: read.kind, litres }) };
  });
}

export function itemsAsTyped(items: readonly Item[], currency: string): Typed {
  const typed: Typed = {};
  items.forEach(({ minor, ...rest }, i) => {
    for (const [field, value] of Object.entries(rest)) typed[`${field}${i + 1}`] = value ?? '';
    typed[`minor${i + 1}`] = plainMoney(BigInt(minor), currency);
  });
  return typed;
}

function readRows<T>(
  part: string,
  typed: Typed,
  fields: readonly string[],
  read: (row: Typed) => T,
): ReadPart<T[]> {
  const errors: FieldError[] = [];
  const fieldOf = new Map<string, string>();
  const value = rowsIn(typed, named(fields)).flatMap(({ number, typed: row }) =>
    gather(
      errors,
      () => [{ number, made: read(row) }],
      [],
      (path) => `${path}${number}`,
    ),
  );
  if (errors.length > 0) throw new Invalid(errors);
  value.forEach(({ number }, i) => {
    for (const field of fields) fieldOf.set(`${part}.${i}.${field}`, `${field}${number}`);
  });
  return { value: value.map(({ made }) => made), fieldOf };
}

const TAX = ['none', 'included', 'added'] as const;
const rulesForm = z.object({
  name: text(80),
  validFrom: day(),
  validUntil: day().optional(),
  rounding: choice(ROUNDINGS),
  step: money(1, 1_000_000),
  minimum: amount(),
  tax: choice(TAX),
  taxPercent: decimal(3)
    .refine((value) => Number(value) <= 100, 'At most 100 %.')
    .optional(),
  rushDays: count(1, 120).optional(),
  rushPercent: decimal(3)
    .refine((value) => Number(value) <= 1000, 'At most 1000 %.')
    .optional(),
  lossPercent: decimal(3).refine((value) => Number(value) <= 100, 'At most 100 %.'),
  lossOf: choice(['this-firing', 'every-firing']),
  freeAll: litres().optional(),
});

type Rules = Pick<
  Tariff,
  'rounding' | 'stepMinor' | 'minimumMinor' | 'tax' | 'rush' | 'monthly' | 'lossPercent' | 'lossOf'
>;

/**
 * The name, the days and the rules that count for the whole list.
 * @param classes each has a field of its own for its free litres
 * @throws Invalid with every fault beside its field
 */
export function readRules(typed: Typed, setting: FormSetting, classes: readonly string[]) {
  const errors: FieldError[] = [];
  const read = gather(errors, () => readForm(rulesForm, typed, setting), null);
  const free = classes.map((memberClass, i) => {
    const form = z.object({ [`free${i + 1}`]: litres().optional() });
    return {
      memberClass: memberClass as string | null,
      litres: gather(errors, () => readForm(form, typed, setting)[`free${i + 1}`], undefined),
    };
  });
  if (read) {
    if (read.tax !== 'none' && read.taxPercent === undefined)
      errors.push({ path: 'taxPercent', message: 'How many per cent?' });
    if ((read.rushDays === undefined) !== (read.rushPercent === undefined))
      errors.push({
        path: read.rushDays === undefined ? 'rushDays' : 'rushPercent',
        message: 'Both, or neither.',
      });
    if (read.validUntil !== undefined && read.validUntil < read.validFrom)
      errors.push({ path: 'validUntil', message: 'It ends before it begins.' });
  }
  if (!read || errors.length > 0) throw new Invalid(errors);
  const { rushDays, rushPercent } = read;
  const monthly = [{ memberClass: null as string | null, litres: read.freeAll }, ...free].flatMap(
    ({ memberClass, litres }) =>
      litres === undefined || Number(litres) === 0 ? [] : [{ memberClass, litres }],
  );
  const rules: Rules = {
    rounding: read.rounding,
    stepMinor: read.step,
    minimumMinor: read.minimum,
    tax: read.tax === 'none' ? null : { percent: read.taxPercent ?? '0', included: read.tax === 'included' },
    rush:
      rushDays === undefined || rushPercent === undefined
        ? null
        : { withinDays: rushDays, percent: rushPercent },
    monthly,
    lossPercent: read.lossPercent,
    lossOf: read.lossOf,
  };
  return { name: read.name, validFrom: read.validFrom, validUntil: read.validUntil ?? null, rules };
}

export function rulesAsTyped(
  list: { name: string; validFrom: string; validUntil: string | null; value: Tariff },
  classes: readonly string[],
  currency: string,
): Typed {
  const { name, validFrom, validUntil, value } = list;
  const freeOf = (memberClass: string | null) =>
    value.monthly.find((one) => one.memberClass === memberClass)?.litres ?? '';
  return {
    name,
    validFrom,
    validUntil: validUntil ?? '',
    rounding: value.rounding,
    step: plainMoney(BigInt(value.stepMinor), currency),
    minimum: plainMoney(BigInt(value.minimumMinor), currency),
    tax: value.tax === null ? 'none' : value.tax.included ? 'included' : 'added',
    taxPercent: value.tax?.percent ?? '',
    rushDays: figureText(value.rush?.withinDays),
    rushPercent: value.rush?.percent ?? '',
    lossPercent: value.lossPercent,
    lossOf: value.lossOf,
    freeAll: freeOf(null),
    ...Object.fromEntries(classes.map((one, i) => [`free${i + 1}`, freeOf(one)])),
  };
}
