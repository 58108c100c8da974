import { z } from 'zod';
import { type FieldError, Invalid } from './errors.ts';
import { moneyText, plainMoney, typedMoney } from './money.ts';
import { mass, toKg, toLitres, type UnitSystem, volume } from './units.ts';
import { fromWallTime } from './wall-time.ts';

// The atoms every schema is made of: nothing reaches a use case that Postgres, or a person, could not hold.

const storable = (text: string) => !/\p{Surrogate}/u.test(text) && !text.includes('\0');

export const text = (max: number) =>
  z
    .string({ error: 'Write something here.' })
    .refine(storable, 'Contains a character that cannot be stored.')
    .trim()
    .normalize('NFC')
    .min(1, 'Write something here.')
    .max(max, `At most ${max} characters.`);

export const quantity = (
  min: number,
  max: number,
  unit: '' | 'L' | 'kg' | 'g' | 'mL' | 'mm' | 'm' | '°C' | 'min' | 'h' | 's' = '',
) => {
  const range = `Between ${min} and ${max}${unit && ` ${unit}`}.`;
  return z.number({ error: 'Type a number.' }).min(min, range).max(max, range).meta({ 'x-unit': unit });
};

export const count = (min: number, max: number) => {
  const range = `A whole number from ${min} to ${max}.`;
  return z.int({ error: range }).min(min, range).max(max, range);
};

/** Whole minor units of the studio's currency; in a form it is typed as people write money, '4.86'. */
export const money = (min: number, max: number) => {
  const range = `Between ${min} and ${max} minor units.`;
  return z
    .int({ error: 'An amount as a whole number of minor units.' })
    .min(min, range)
    .max(max, range)
    .meta({ 'x-unit': 'money' });
};

/** A decimal number that is kept as it is written, such as a rate '3.5', with at most so many decimals; not below 0. */
export const decimal = (places: number) => {
  const example =
    places === 0 ? 'A whole number such as 35.' : `A number such as 3.5, at most ${places} decimals.`;
  return z
    .string({ error: example })
    .trim()
    .refine((text) => !/^[1-9]\d{0,2},\d{3}$/.test(text), 'Write 1234 or 1.234: a comma could mean either.')
    .transform((text) => text.replace(',', '.'))
    .refine((text) => new RegExp(`^\\d{1,12}(?:\\.\\d{1,${Math.max(places, 1)}})?$`).test(text), example)
    .refine((text) => places > 0 || !text.includes('.'), example)
    .transform(withoutNoughts);
};

/** '03.50' → '3.5' */
const withoutNoughts = (decimal: string): string =>
  decimal
    .replace(/^0+(?=\d)/, '')
    .replace(/(\.\d*?)0+$/, '$1')
    .replace(/\.$/, '');

export const flag = () => z.boolean({ error: 'Yes or no.' });

export const choice = <const T extends readonly [string, ...string[]]>(values: T) =>
  z.enum(values, { error: `One of ${values.join(', ')}.` });

/** A point in time as ISO 8601 with its offset; a form's studio time is turned into that first. */
export const instant = () =>
  z.iso
    .datetime({ offset: true, error: 'A date and time such as 2026-03-07T14:05:00Z.' })
    .transform((value) => Date.parse(value))
    .refine((at) => at >= Date.UTC(2000, 0, 1), 'Not before the year 2000.');

const DATE = /^(\d{4})-(\d{2})-(\d{2})$/;

/** A day of the studio's calendar as 'YYYY-MM-DD', from 2000 to 2100; nothing that no calendar has. */
export const day = () =>
  z
    .string({ error: 'A date such as 2026-03-07.' })
    .trim()
    .refine(isDay, 'A date such as 2026-03-07, from 2000 to 2100.');

function isDay(text: string): boolean {
  const [year, month, date] = (DATE.exec(text) ?? []).slice(1).map(Number);
  if (year === undefined || month === undefined || date === undefined) return false;
  if (year < 2000 || year > 2100) return false;
  const made = new Date(Date.UTC(year, month - 1, date));
  return made.getUTCMonth() === month - 1 && made.getUTCDate() === date;
}

export const code = () =>
  z
    .string({ error: 'A short code.' })
    .trim()
    .regex(/^[A-Za-z0-9-]{1,12}$/, 'One to twelve letters, digits or hyphens.');

export const email = () =>
  z
    .string({ error: 'An e-mail address.' })
    .trim()
    .max(254, 'At most 254 characters.')
    .refine(storable, 'Contains a character that cannot be stored.')
    .regex(/^[^\s@]+@[^\s@]+$/, 'An e-mail address, such as ida@millrace.example.')
    .transform((value) => value.normalize('NFC').toLowerCase());

/** A colour as #rrggbb. */
export const colour = () =>
  z.string({ error: 'A colour.' }).regex(/^#[0-9a-fA-F]{6}$/, 'A colour such as #4a6b5d.');

/** What was sent before, by the hash of its bytes; `error` says what to do where it is none. */
export const sha256 = (error: string) => z.string({ error }).regex(/^[0-9a-f]{64}$/, error);

/** The value, or `Invalid` with one message a field. */
export function parse<S extends z.ZodType>(schema: S, value: unknown): z.output<S> {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  throw new Invalid(result.error.issues.flatMap(fieldErrors));
}

function fieldErrors(issue: z.core.$ZodIssue): FieldError[] {
  const path = issue.path.join('.');
  if (issue.code === 'unrecognized_keys')
    return issue.keys.map((key) => ({
      path: [...issue.path, key].join('.'),
      message: 'Nothing by this name is expected here.',
    }));
  if (issue.code === 'invalid_union' && 'options' in issue && Array.isArray(issue.options))
    return [{ path, message: `One of ${issue.options.join(', ')}.` }];
  if (issue.code === 'invalid_type' && issue.expected === 'object')
    return [{ path, message: 'An object is expected here.' }];
  return [{ path, message: issue.message }];
}

/** What a person typed: fields by name, several values under one name as a list. */
export type Typed = Record<string, string | string[] | undefined>;

export interface FormSetting {
  units: UnitSystem;
  timeZone: string;
  /** The studio's, ISO 4217. */
  currency: string;
}

/**
 * Reads a submitted form by the schema its JSON twin uses: numbers with comma or point, empty fields as absent,
 * ticks as booleans, litres and kilograms in the person's units, money in the studio's currency as minor units, studio
 * time as an instant. Throws `Invalid`.
 */
export function readForm<S extends z.ZodType>(schema: S, typed: Typed, setting: FormSetting): z.output<S> {
  const value = fromTyped(schema, typed, setting);
  try {
    return parse(schema, value);
  } catch (error) {
    throw error instanceof Invalid ? asTheyWrite(error, shapeFor(schema, typed), setting) : error;
  }
}

/** The same refusal with the limits of its amounts as this person measures and pays them. */
function asTheyWrite(
  { errors }: Invalid,
  shape: Record<string, z.ZodType>,
  { units, currency }: FormSetting,
): Invalid {
  return new Invalid(
    errors.map(({ path, message }) => {
      const [name = '', item] = path.split('.');
      const named = shape[name];
      const field = named && item !== undefined && kindOf(named) === 'array' ? elementOf(named) : named;
      const unit = field && unitOf(field);
      if (!field || (unit !== 'money' && (units === 'metric' || (unit !== 'L' && unit !== 'kg'))))
        return { path, message };
      if (!message.startsWith('Between'))
        return { path, message: unit === 'money' ? moneyHint(currency) : message };
      const { minValue, maxValue } = core(field) as z.ZodNumber;
      const shown = (value: number) =>
        unit === 'money' ? moneyText(BigInt(value), currency) : (unit === 'L' ? volume : mass)(value, units);
      return { path, message: `Between ${shown(minValue ?? 0)} and ${shown(maxValue ?? 0)}.` };
    }),
  );
}

const moneyHint = (currency: string): string =>
  `An amount such as ${plainMoney(486n, currency)}. Leave out the comma of thousands.`;

function fromTyped(schema: z.ZodType, typed: Typed, setting: FormSetting): Record<string, unknown> {
  const shape = shapeFor(schema, typed);
  const value: Record<string, unknown> = {};
  const errors: FieldError[] = [];
  for (const [name, field] of Object.entries(shape)) {
    const raw = typed[name];
    if (kindOf(field) === 'array') {
      const items = (Array.isArray(raw) ? raw : raw === undefined ? [] : [raw]).filter(
        (item) => item.trim() !== '',
      );
      if (items.length > 0) value[name] = items.map((item) => fromText(elementOf(field), item, setting));
      continue;
    }
    const single = Array.isArray(raw) ? raw.at(-1) : raw;
    if (kindOf(field) === 'boolean') value[name] = single !== undefined && single !== '' && single !== 'no';
    else if (single !== undefined && single.trim() !== '') {
      value[name] = fromText(field, single, setting);
      if (value[name] === NO_SUCH_TIME)
        errors.push({
          path: name,
          message: 'No such time: the clocks were put forward then, or it is no date.',
        });
    }
  }
  if (errors.length > 0) throw new Invalid(errors);
  return value;
}

const MOST = Number.MAX_SAFE_INTEGER;

const NO_SUCH_TIME = Symbol('no such time');

function fromText(field: z.ZodType, raw: string, setting: FormSetting): unknown {
  switch (kindOf(field)) {
    case 'number': {
      if (unitOf(field) === 'money') {
        const minor = typedMoney(raw, setting.currency);
        return minor === null ? raw : Math.max(-MOST, Math.min(MOST, Number(minor)));
      }
      const number = Number(raw.trim().replace(/\s/g, '').replace(',', '.'));
      const unit = unitOf(field);
      if (unit === 'L') return toLitres(number, setting.units);
      if (unit === 'kg') return toKg(number, setting.units);
      return number;
    }
    case 'datetime': {
      const at = fromWallTime(raw.trim(), setting.timeZone);
      return at === null ? NO_SUCH_TIME : new Date(at).toISOString();
    }
    default:
      return raw;
  }
}

type Def = z.core.$ZodTypeDef & {
  innerType?: z.ZodType;
  in?: z.ZodType;
  element?: z.ZodType;
  options?: z.ZodType[];
  discriminator?: string;
  format?: string;
};

/** The schema under optional, default and transform. */
function core(schema: z.ZodType): z.ZodType {
  const def = schema.def as Def;
  const inner = def.innerType ?? (def.type === 'pipe' ? def.in : undefined);
  return inner ? core(inner) : schema;
}

function kindOf(schema: z.ZodType): string {
  const def = core(schema).def as Def;
  return def.type === 'string' && def.format === 'datetime' ? 'datetime' : def.type;
}

const elementOf = (schema: z.ZodType): z.ZodType => (core(schema).def as Def).element as z.ZodType;

function unitOf(schema: z.ZodType): unknown {
  for (let s: z.ZodType | undefined = schema; s; s = (s.def as Def).innerType) {
    const unit = s.meta()?.['x-unit'];
    if (unit !== undefined) return unit;
  }
  return undefined;
}

function shapeFor(schema: z.ZodType, typed: Typed): Record<string, z.ZodType> {
  const inner = core(schema);
  const def = inner.def as Def;
  if (def.type === 'object') return (inner as z.ZodObject).shape as Record<string, z.ZodType>;
  const discriminator = def.discriminator as string;
  const options = (def.options ?? []) as z.ZodObject[];
  const chosen = options.find(
    (o) => (o.shape[discriminator] as z.ZodType).safeParse(typed[discriminator]).success,
  );
  return (chosen?.shape ?? { [discriminator]: z.string() }) as Record<string, z.ZodType>;
}
