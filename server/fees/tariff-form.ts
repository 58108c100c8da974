import { z } from 'zod';
import type { FieldError } from '../core/errors.ts';
import { choice, code, count, decimal, flag, money, quantity, text } from '../core/forms.ts';
import { ROUNDINGS } from '../core/money.ts';
import { coneOrder } from '../ware/cone.ts';
import { ATMOSPHERES, FIRING_KINDS } from '../ware/firing.ts';
import { OWN_ACCOUNTS } from './ledger.ts';
import { MOST_MINOR, memberClass } from './settings-form.ts';
import { ITEM_KINDS, type Line, type Tariff } from './tariff.ts';

const isAbove0 = (value: string) => Number(value) > 0;

/** A rate of minor units: not nothing, and no more than anybody would mean. */
const rate = () =>
  decimal(6)
    .refine(isAbove0, 'More than 0.')
    .refine((value) => Number(value) <= MOST_MINOR, 'That is too much.');
const percent = () => decimal(3).refine((value) => Number(value) <= 100, 'At most 100 %.');
const cone = () => text(5).refine(isCone, 'A cone such as 06 or 6.');
const kinds = () => z.array(choice(FIRING_KINDS)).max(FIRING_KINDS.length);
const amount = () => money(0, MOST_MINOR);
/** Litres of firing, no more than any kiln fires in years. */
export const litres = () => decimal(3).refine((value) => Number(value) <= 100_000, 'At most 100000 litres.');

function isCone(value: string): boolean {
  try {
    coneOrder(value);
    return true;
  } catch {
    return false;
  }
}

const band = z.strictObject({
  name: text(40),
  upToCm3: quantity(1, 10_000_000).nullable(),
  minor: amount(),
});

const basis = z.discriminatedUnion('by', [
  z.strictObject({ by: z.literal('volume'), minorPer: rate(), unit: choice(['cm3', 'litre', 'in3']) }),
  z.strictObject({ by: z.literal('area'), minorPer: rate(), unit: choice(['cm2', 'in2']) }),
  z.strictObject({ by: z.literal('weight'), minorPer: rate(), unit: choice(['kg', 'lb']) }),
  z.strictObject({ by: z.literal('size'), bands: z.array(band).min(1, 'At least one size.').max(12) }),
  z.strictObject({
    by: z.literal('shelf'),
    halfMinor: amount(),
    shelfMinor: amount(),
    loadMinor: amount(),
    halfShelfCm2: quantity(1, 100_000),
    halvesALoad: count(1, 200),
  }),
  z.strictObject({
    by: z.literal('cost'),
    minorPerKwh: rate(),
    wearMinor: amount(),
    fuelMinor: amount(),
    usualKwh: quantity(0.1, 100_000),
    usualLitres: quantity(0.1, 100_000),
  }),
  z.strictObject({ by: z.literal('included') }),
]);

const lineForm = z.strictObject({ code: code(), name: text(80), kinds: kinds(), basis });

export const factorForm = z.strictObject({
  name: text(80),
  factor: decimal(4)
    .refine(isAbove0, 'More than 0. For nothing at all, make a line that is included.')
    .refine((value) => Number(value) <= 100, 'At most 100.'),
  kinds: kinds(),
  coneFrom: cone().nullable(),
  coneTo: cone().nullable(),
  atmosphere: choice(ATMOSPHERES).nullable(),
  memberClass: memberClass().nullable(),
});

export const itemForm = z.strictObject({
  code: code(),
  name: text(80),
  kind: choice(ITEM_KINDS),
  unit: text(20),
  minor: amount(),
  litres: litres().nullable(),
  memberClass: memberClass().nullable(),
  income: choice(OWN_ACCOUNTS.income),
});

const monthlyForm = z.strictObject({
  memberClass: memberClass().nullable(),
  litres: litres().refine(isAbove0, 'More than 0.'),
});

/** A whole price list; what does not go together is told by `tariffFaults`. */
export const tariffForm = z.strictObject({
  v: z.literal(1),
  rounding: choice(ROUNDINGS),
  stepMinor: money(1, 1_000_000),
  minimumMinor: amount(),
  tax: z.strictObject({ percent: percent(), included: flag() }).nullable(),
  lines: z.array(lineForm).min(1, 'At least one line for firings.').max(20),
  factors: z.array(factorForm).max(40),
  rush: z
    .strictObject({
      withinDays: count(1, 120),
      percent: decimal(3).refine((value) => Number(value) <= 1000, 'At most 1000 %.'),
    })
    .nullable(),
  monthly: z.array(monthlyForm).max(12),
  items: z.array(itemForm).max(40),
  lossPercent: percent(),
  lossOf: choice(['this-firing', 'every-firing']),
}) satisfies z.ZodType<Tariff>;

/**
 * What in a price list does not go together, each beside its field ('lines.1.code').
 * @param classes those that the studio tells its payers apart by
 */
export function tariffFaults(tariff: Tariff, classes: readonly string[]): FieldError[] {
  const { lines, factors, items, monthly } = tariff;
  const faults: FieldError[] = [];
  const add = (path: string, message: string) => faults.push({ path, message });
  if (lines.length === 0) add('lines.0.name', 'At least one line for firings.');
  for (const at of twice(lines.map(({ code }) => code)))
    add(`lines.${at}.code`, 'Another line has this code.');
  for (const at of twice(items.map(({ code }) => code)))
    add(`items.${at}.code`, 'Another item has this code.');
  for (const at of twice(monthly.map(({ memberClass }) => memberClass ?? '')))
    add(`monthly.${at}.memberClass`, 'Another row is for the same people.');
  const lineCodes = new Set(lines.map(({ code }) => code.toLowerCase()));
  items.forEach(({ code }, i) => {
    if (lineCodes.has(code.toLowerCase())) add(`items.${i}.code`, 'A line for firings has this code.');
  });
  lines.forEach((line, i) => {
    for (const { path, message } of bandFaults(line)) add(`lines.${i}.${path}`, message);
  });
  factors.forEach(({ coneFrom, coneTo, memberClass }, i) => {
    if (coneFrom !== null && coneTo !== null && coneOrder(coneFrom) > coneOrder(coneTo))
      add(`factors.${i}.coneTo`, 'The first cone is the cooler one.');
    if (isUnknown(memberClass)) add(`factors.${i}.memberClass`, unknownClass(memberClass));
  });
  items.forEach(({ memberClass, kind, litres }, i) => {
    if (isUnknown(memberClass)) add(`items.${i}.memberClass`, unknownClass(memberClass));
    if (memberClass !== null && kind !== 'dues')
      add(`items.${i}.memberClass`, 'Only dues are charged to a whole class.');
    if (kind === 'card' && (litres === null || Number(litres) === 0))
      add(`items.${i}.litres`, 'How many litres come with a card?');
    if (litres !== null && Number(litres) > 0 && kind !== 'card' && kind !== 'sale')
      add(`items.${i}.litres`, 'Litres come with a card or a sale only.');
  });
  monthly.forEach(({ memberClass }, i) => {
    if (isUnknown(memberClass)) add(`monthly.${i}.memberClass`, unknownClass(memberClass));
  });
  return faults;

  function isUnknown(name: string | null): name is string {
    return name !== null && !classes.includes(name);
  }
}

const unknownClass = (name: string) => `There is no class ${name}: add it in the fee settings first.`;

function bandFaults({ basis }: Line): FieldError[] {
  if (basis.by !== 'size') return [];
  const faults: FieldError[] = [];
  basis.bands.forEach(({ upToCm3 }, i) => {
    const path = `basis.bands.${i}.upToCm3`;
    const isLast = i === basis.bands.length - 1;
    const before = basis.bands[i - 1]?.upToCm3;
    if (isLast && upToCm3 !== null)
      faults.push({ path, message: 'The last size has no limit: leave it empty.' });
    else if (!isLast && upToCm3 === null) faults.push({ path, message: 'Only the last size has no limit.' });
    else if (upToCm3 !== null && typeof before === 'number' && upToCm3 <= before)
      faults.push({ path, message: 'Each size goes further than the one before it.' });
  });
  return faults;
}

/** Where in a list something stands that stood before, without case. */
function twice(values: readonly string[]): number[] {
  const low = values.map((value) => value.toLowerCase());
  return low.flatMap((value, at) => (low.indexOf(value) < at ? [at] : []));
}

/** Kinds of firing that no line of the list prices; to be warned of, not refused. */
export const kindsWithoutPrice = ({ lines }: Pick<Tariff, 'lines'>) =>
  lines.some(({ kinds }) => kinds.length === 0)
    ? []
    : FIRING_KINDS.filter((kind) => !lines.some(({ kinds }) => kinds.includes(kind)));

/** Every class that a price list names. */
export function classesNamed({ factors, items, monthly }: Tariff): string[] {
  const named = [...factors, ...items, ...monthly].map(({ memberClass }) => memberClass);
  return [...new Set(named.filter((name) => name !== null))];
}

const PLAIN: Omit<Tariff, 'lines'> = {
  v: 1,
  rounding: 'half-up',
  stepMinor: 1,
  minimumMinor: 0,
  tax: null,
  factors: [],
  rush: null,
  monthly: [],
  items: [],
  lossPercent: '100',
  lossOf: 'every-firing',
};

/** A list to begin with. Every figure is an example to be written over: common practice, no source. */
export function usualTariff(by: 'volume' | 'size' | 'cost'): Tariff {
  switch (by) {
    case 'volume':
      return {
        ...PLAIN,
        minimumMinor: 50,
        lines: [
          {
            code: 'BISQUE',
            name: 'Bisque firing',
            kinds: ['bisque'],
            basis: { by: 'volume', minorPer: '200', unit: 'litre' },
          },
          {
            code: 'GLAZE',
            name: 'Glaze firing',
            kinds: [],
            basis: { by: 'volume', minorPer: '350', unit: 'litre' },
          },
        ],
      };
    case 'size': {
      const bands = (small: number, medium: number, large: number) => [
        { name: 'Small', upToCm3: 1000, minor: small },
        { name: 'Medium', upToCm3: 3000, minor: medium },
        { name: 'Large', upToCm3: null, minor: large },
      ];
      return {
        ...PLAIN,
        lines: [
          {
            code: 'BISQUE',
            name: 'Bisque firing',
            kinds: ['bisque'],
            basis: { by: 'size', bands: bands(100, 250, 600) },
          },
          {
            code: 'GLAZE',
            name: 'Glaze firing',
            kinds: [],
            basis: { by: 'size', bands: bands(200, 450, 1000) },
          },
        ],
      };
    }
    case 'cost':
      return {
        ...PLAIN,
        lines: [
          {
            code: 'FIRING',
            name: 'Firing at cost',
            kinds: [],
            basis: {
              by: 'cost',
              minorPerKwh: '30',
              wearMinor: 800,
              fuelMinor: 4000,
              usualKwh: 60,
              usualLitres: 80,
            },
          },
        ],
      };
  }
}
