// Money as whole minor units in a bigint; a number only at the edge of the API, a float never.

/** How what lies between two whole units is rounded; half-up is away from zero. */
export const ROUNDINGS = ['half-up', 'half-even', 'up', 'down'] as const;
export type Rounding = (typeof ROUNDINGS)[number];

// ISO 4217 list one, 1 February 2026; every other currency has two. What `Intl` rounds to is how people commonly write
// an amount (HUF and IQD without decimals), not what the currency divides into.
const OTHER_EXPONENTS = new Map<string, number>([
  ...'BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF'
    .split(' ')
    .map((code) => [code, 0] as const),
  ...'BHD IQD JOD KWD LYD OMR TND'.split(' ').map((code) => [code, 3] as const),
  ...'CLF UYW'.split(' ').map((code) => [code, 4] as const),
]);
const WITHOUT_MINOR_UNIT = new Set('XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA XXX'.split(' '));

const hasMinorUnit = (currency: string): boolean =>
  /^[A-Z]{3}$/.test(currency) && !WITHOUT_MINOR_UNIT.has(currency);

/** Codes of what a studio may count in: not gold, drawing rights and test codes, which have no minor unit. */
export const currencies = (): string[] => Intl.supportedValuesOf('currency').filter(hasMinorUnit);

/**
 * Decimals of a currency's minor unit by ISO 4217: 0, 2, 3 or 4.
 * @param currency three capital letters
 * @throws RangeError for what is no currency code, and for one whose minor unit is "N.A.", such as XAU
 */
export function exponentOf(currency: string): number {
  if (!hasMinorUnit(currency)) throw new RangeError(`"${currency}" has no minor unit.`);
  return OTHER_EXPONENTS.get(currency) ?? 2;
}

/**
 * An amount as it stands in a form or a file, such as '4.86' or '-0.05': no sign of the currency, no groups.
 * @param minor minor units
 * @param mark what stands before the decimals
 * @throws RangeError as `exponentOf`
 */
export function plainMoney(minor: bigint, currency: string, mark: '.' | ',' = '.'): string {
  const exponent = exponentOf(currency);
  const digits = (minor < 0n ? -minor : minor).toString().padStart(exponent + 1, '0');
  const [whole, part] = [digits.slice(0, digits.length - exponent), digits.slice(digits.length - exponent)];
  return `${minor < 0n ? '-' : ''}${whole}${exponent > 0 ? mark + part : ''}`;
}

/**
 * An amount as a screen says it, such as '£4.86' or '−£1,204.00', exact whatever its size.
 * @param minor minor units
 * @throws RangeError as `exponentOf`
 */
export const moneyText = (minor: bigint, currency: string): string =>
  written(plainMoney(minor, currency), currency, exponentOf(currency));

/**
 * A rate in minor units as a screen says it: '350' → '£3.50', '0.35' → '£0.0035', exact to twenty decimals.
 * @param minorPer decimal text
 * @throws RangeError when it is none, and as `exponentOf`
 */
export function rateText(minorPer: string, currency: string): string {
  const { digits, places } = decimalParts(minorPer);
  const decimals = places + exponentOf(currency);
  const text = digits.toString().padStart(decimals + 1, '0');
  const whole = text.slice(0, text.length - decimals);
  return written(`${whole}.${text.slice(text.length - decimals)}`, currency, 20);
}

const formats = new Map<string, Intl.NumberFormat>();

function written(exact: string, currency: string, maximumFractionDigits: number): string {
  const key = `${currency} ${maximumFractionDigits}`;
  let format = formats.get(key);
  if (!format) {
    const minimumFractionDigits = exponentOf(currency);
    format = new Intl.NumberFormat('en-GB', {
      style: 'currency',
      currency,
      minimumFractionDigits,
      maximumFractionDigits,
    });
    formats.set(key, format);
  }
  // A string keeps every digit, where a number would not.
  return format.format(exact as Intl.StringNumericLiteral).replace('-', '−');
}

const GROUPED = /^\d{1,3}(?:([ .,'])\d{3})(?:\1\d{3})*(?:([.,])(\d*))?$/;
const PLAIN = /^(\d*)(?:[.,](\d*))?$/;

/**
 * What a person typed as an amount, in minor units; null where it is none, or could be two: '1,234' is a thousand for
 * some and one and a bit for others, so it is refused wherever the currency has decimals, while '1,234.50',
 * '1 234,50', '1,234,567' and '4,86' each mean one thing only. More decimals than the currency has are refused, never
 * rounded.
 * @throws RangeError as `exponentOf`
 */
export function typedMoney(text: string, currency: string): bigint | null {
  const exponent = exponentOf(currency);
  const spaced = text.replace(/[\s’]/gu, (mark) => (mark === '’' ? "'" : ' ')).trim();
  const [, before = '', sign = '', after = '', number = ''] =
    /^([^\d.,−-]*)([−-]?)([^\d.,−-]*)(\d[\d.,' ]*|[.,]\d+)/u.exec(spaced) ?? [];
  const behind = spaced.slice(before.length + sign.length + after.length + number.length).trim();
  const names = [before, after, behind].map((name) => name.trim()).filter((name) => name !== '');
  if (names.length > 1 || names.some((name) => !isNameOf(name, currency))) return null;
  const read = number === '' ? null : splitNumber(number.trim(), exponent);
  if (read === null || read.part.length > exponent || read.whole.length > 18) return null;
  const minor = BigInt(read.whole + read.part.padEnd(exponent, '0'));
  return sign === '' ? minor : -minor;
}

function splitNumber(number: string, exponent: number): { whole: string; part: string } | null {
  const grouped = GROUPED.exec(number);
  if (grouped) {
    const [, group = '', mark, part = ''] = grouped;
    if (mark === group) return null;
    const [head, ...groups] = number.slice(0, mark ? number.lastIndexOf(mark) : undefined).split(group);
    // One group behind a comma or a point could as well be decimals.
    const isAmbiguous = groups.length === 1 && !mark && group !== ' ' && group !== "'" && exponent > 0;
    const isDecimal = isAmbiguous && exponent >= 3 && (group === '.' || head === '0');
    if (isDecimal) return { whole: head ?? '', part: groups.join('') };
    return isAmbiguous || head?.startsWith('0') ? null : { whole: [head, ...groups].join(''), part };
  }
  const plain = PLAIN.exec(number);
  return plain ? { whole: plain[1] || '0', part: plain[2] ?? '' } : null;
}

function isNameOf(name: string, currency: string): boolean {
  const symbols = (['symbol', 'narrowSymbol'] as const).map(
    (currencyDisplay) =>
      new Intl.NumberFormat('en-GB', { style: 'currency', currency, currencyDisplay })
        .formatToParts(0)
        .find(({ type }) => type === 'currency')?.value,
  );
  return name.toUpperCase() === currency || symbols.includes(name);
}

/**
 * A decimal text as an exact fraction: '3.50' is 350 over 10².
 * @returns its digits as a whole number, and how many of them are decimals
 * @throws RangeError when it is no decimal text with a point
 */
export function decimalParts(text: string): { digits: bigint; places: number } {
  const [, whole, part = ''] = /^(-?\d{1,40})(?:\.(\d{1,40}))?$/.exec(text) ?? [];
  if (whole === undefined) throw new RangeError(`"${text}" is no decimal number.`);
  return { digits: BigInt(whole + part), places: part.length };
}

/**
 * A fraction as a whole number, rounded once: half-up and up away from zero, down towards it, half-even to the even
 * neighbour. Exact for any size, and the same for an amount and its negative.
 * @throws RangeError when the denominator is zero
 */
export function divide(numerator: bigint, denominator: bigint, rounding: Rounding): bigint {
  if (denominator === 0n) throw new RangeError('Nothing is divided by zero.');
  const isNegative = numerator < 0n !== denominator < 0n;
  const [over, under] = [absolute(numerator), absolute(denominator)];
  const whole = over / under;
  const rest = over % under;
  const magnitude = roundsAway(whole, rest, under, rounding) ? whole + 1n : whole;
  return isNegative ? -magnitude : magnitude;
}

function roundsAway(whole: bigint, rest: bigint, under: bigint, rounding: Rounding): boolean {
  if (rest === 0n || rounding === 'down') return false;
  if (rounding === 'up') return true;
  const twice = 2n * rest;
  return twice > under || (twice === under && (rounding === 'half-up' || whole % 2n === 1n));
}

const absolute = (value: bigint): bigint => (value < 0n ? -value : value);

/**
 * An amount times every one of these decimals, multiplied exactly and rounded once.
 * @param decimals decimal texts such as '1.25'
 * @throws RangeError when one is none
 */
export function times(amount: bigint, decimals: readonly string[], rounding: Rounding): bigint {
  let [numerator, denominator] = [amount, 1n];
  for (const decimal of decimals) {
    const { digits, places } = decimalParts(decimal);
    numerator *= digits;
    denominator *= 10n ** BigInt(places);
  }
  return divide(numerator, denominator, rounding);
}

/**
 * An amount as a whole multiple of a step, such as 5 for a currency whose smallest coin is five.
 * @throws RangeError when the step is not above zero
 */
export function roundTo(minor: bigint, step: bigint, rounding: Rounding): bigint {
  if (step <= 0n) throw new RangeError('A step is above zero.');
  return divide(minor, step, rounding) * step;
}

/**
 * A total shared by weight so that the parts sum to it: the method of largest remainders (Hamilton, 1791). Each has
 * the whole part of its quota total × weight ÷ sum of the weights; what is left goes one by one to the largest
 * remainders, between equal ones to the earlier. A negative total is shared like its positive. A weight of zero has
 * nothing, unless all are zero: then they share equally.
 * @throws RangeError for a weight below zero, and for a total with nobody to bear it
 */
export function shares(total: bigint, weights: readonly bigint[]): bigint[] {
  if (weights.some((weight) => weight < 0n)) throw new RangeError('A weight is not below zero.');
  if (total < 0n) return shares(-total, weights).map((part) => -part);
  const sum = weights.reduce((all, weight) => all + weight, 0n);
  if (sum === 0n && weights.length > 0)
    return shares(
      total,
      weights.map(() => 1n),
    );
  if (sum === 0n && total !== 0n) throw new RangeError('There is nobody to share it.');
  const parts = weights.map((weight) => (total * weight) / sum);
  const left = total - parts.reduce((all, part) => all + part, 0n);
  const byRemainder = weights
    .map((weight, position) => ({ position, remainder: (total * weight) % sum }))
    .sort((a, b) =>
      a.remainder === b.remainder ? a.position - b.position : a.remainder < b.remainder ? 1 : -1,
    );
  for (const { position } of byRemainder.slice(0, Number(left)))
    parts[position] = (parts[position] ?? 0n) + 1n;
  return parts;
}
