const NUMBERS = [
  'no',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
];
const EIGHTHS = ['', '⅛', '¼', '⅜', '½', '⅝', '¾', '⅞'];

const CUP_L = 0.2365882365;
const FLUID_OUNCE_L = CUP_L / 8;
const CUPS_A_QUART = 4;
const CUPS_A_GALLON = 16;

/**
 * Litres in half-litre jugs, as said to somebody who pours: 1.75 is 'three and a half half-litre jugs'. What is
 * not half a jug stays in mL: '350 mL', 'two half-litre jugs and 100 mL'.
 */
export function jugs(litres: number): string {
  const ml = Math.round(litres * 1000);
  if (ml % 250 === 0 && ml > 0)
    return `${countOf(ml / 500)} ${ml > 500 ? 'half-litre jugs' : 'half-litre jug'}`;
  const full = Math.floor(ml / 500);
  const rest = `${ml - full * 500} mL`;
  return full === 0 ? rest : `${countOf(full)} half-litre ${full === 1 ? 'jug' : 'jugs'} and ${rest}`;
}

/**
 * Litres in US customary measures, to a quarter of a cup: '1 quart and 3½ cups'. Under a cup in fluid ounces, to
 * a half, under one ounce to an eighth.
 */
export function usMeasure(litres: number): string {
  if (litres < CUP_L) {
    const ounces = litres / FLUID_OUNCE_L;
    return `${mixed(roundTo(ounces, ounces < 1 ? 8 : 2))} fl oz`;
  }
  const cups = roundTo(litres / CUP_L, 4);
  const gallons = Math.floor(cups / CUPS_A_GALLON);
  const quarts = Math.floor((cups % CUPS_A_GALLON) / CUPS_A_QUART);
  return listed([counted(gallons, 'gallon'), counted(quarts, 'quart'), counted(cups % CUPS_A_QUART, 'cup')]);
}

function countOf(jugs: number): string {
  const full = Math.floor(jugs);
  const half = jugs > full;
  if (full >= NUMBERS.length) return half ? `${full}½` : `${full}`;
  if (!half) return `${NUMBERS[full]}`;
  return full === 0 ? 'half a' : `${NUMBERS[full]} and a half`;
}

function counted(count: number, unit: string): string {
  if (count === 0) return '';
  return `${mixed(count)} ${unit}${count > 1 ? 's' : ''}`;
}

function mixed(value: number): string {
  const full = Math.floor(value);
  const fraction = EIGHTHS[Math.round((value - full) * 8)] ?? '';
  return full === 0 && fraction ? fraction : `${full}${fraction}`;
}

function listed(parts: string[]): string {
  const said = parts.filter((part) => part !== '');
  const last = said.pop() ?? '';
  return said.length === 0 ? last : `${said.join(', ')} and ${last}`;
}

function roundTo(value: number, partsPerUnit: number): number {
  return Math.round(value * partsPerUnit) / partsPerUnit;
}
