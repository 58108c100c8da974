import {
  decimalParts,
  divide,
  moneyText,
  type Rounding,
  rateText,
  roundTo,
  shares,
  times,
} from '../core/money.ts';
import { compareCones, coneWithin } from '../ware/cone.ts';
import type { Atmosphere, FiringKind } from '../ware/firing.ts';
import { groupBy } from '../ware/group.ts';
import { MOST_OF_ENTRY } from './ledger.ts';
import type { Basis, Factor, Item, Line, Tariff } from './tariff.ts';

// What firings cost by a price list. Everything is an exact fraction until it is rounded, once, at the end:
//
//   basis → factors that fit → rush → what included litres do not cover → minimum → step → tax
//
// Half shelves and the cost of a load are prices of a whole: the whole is basis → factors → step, and is shared by
// largest remainder, so that the parts sum to it. Rush and included litres then change a piece's own part, to the
// minor unit. A whole knows no minimum, and the cost of a load no factor of a class of members: who shares a load
// must not change what it cost the others. What is in the price of something else costs nothing, whatever the minimum.

/** One firing of one piece. */
export interface PieceToPrice {
  /** Of its bounding box. */
  widthMm: number;
  depthMm: number;
  heightMm: number;
  /** Null: not weighed. */
  kg: number | null;
  kind: FiringKind;
  cone: string;
  atmosphere: Atmosphere;
  /** Wanted so soon that the price list asks more for it. */
  isRush: boolean;
  /** The class of whoever pays; the studio's first where the account names none. */
  memberClass: string | null;
}

export interface PieceInLoad extends PieceToPrice {
  /** Pieces of one payer share half shelves. */
  payer: string;
  /** Litres of firing that its payer has left for it, cm³; at most its own volume counts. */
  includedCm3: number;
}

export interface LoadToPrice {
  /** Null: not known. */
  kWh: number | null;
  power: 'electric' | 'gas';
}

export interface Price {
  /** Null: the price list has no price for it, and the first of `because` says why; every amount is 0 then. */
  line: { code: string; name: string } | null;
  /** Its bounding box to the whole cm³, at least 1. */
  cm3: number;
  netMinor: bigint;
  taxMinor: bigint;
  /** Net and tax. */
  amountMinor: bigint;
  /** The arithmetic of one piece in short sentences. */
  because: string[];
  /** Of `cm3`, what included litres paid for. */
  coveredCm3: number;
}

/** Amounts with and without tax. */
export type Taxed = Pick<Price, 'netMinor' | 'taxMinor' | 'amountMinor'>;

interface Fraction {
  over: bigint;
  under: bigint;
}

type List = { tariff: Tariff; currency: string };
type Row = PieceInLoad & { count: number };
type Part = { position: number; row: Row; line: Line };

/**
 * What pieces of one payer would cost, in their order: together where half shelves are the price, and at the usual
 * energy and fill where the cost of a load is.
 * @param currency ISO 4217
 * @throws RangeError for a size or weight that is not above zero, and for a cone that is none
 */
export const quotePieces = (tariff: Tariff, currency: string, pieces: readonly PieceToPrice[]): Price[] =>
  quoteRows(
    tariff,
    currency,
    pieces.map((piece) => ({ ...piece, count: 1 })),
  ).map(({ all }) => all);

/**
 * As `quotePieces`, for rows of several like pieces each: what one costs, and what all of a row do. Where pieces share
 * half shelves the row is exact, and `each` is its part, halves up.
 * @throws RangeError as `quotePieces`
 */
export function quoteRows(
  tariff: Tariff,
  currency: string,
  pieces: readonly (PieceToPrice & { count: number })[],
): { each: Taxed; all: Price }[] {
  const rows = pieces.map((piece) => ({ ...piece, payer: '', includedCm3: 0 }));
  const all = priceRows({ tariff, currency }, rows, null);
  return all.map((price, i) => {
    const count = BigInt(rows[i]?.count ?? 1);
    const amountMinor = divide(price.amountMinor, count, 'half-up');
    const taxMinor = divide(price.taxMinor, count, 'half-up');
    return { all: price, each: { netMinor: amountMinor - taxMinor, taxMinor, amountMinor } };
  });
}

/**
 * What the pieces of one load cost, in their order. Parts of a whole sum to it: half shelves by payer and footprint,
 * the cost of the load by volume.
 * @param currency ISO 4217
 * @throws RangeError as `quotePieces`
 */
export const priceLoad = (
  tariff: Tariff,
  currency: string,
  pieces: readonly PieceInLoad[],
  load: LoadToPrice,
): Price[] =>
  priceRows(
    { tariff, currency },
    pieces.map((piece) => ({ ...piece, count: 1 })),
    load,
  );

function priceRows(list: List, rows: readonly Row[], load: LoadToPrice | null): Price[] {
  const prices: Price[] = rows.map((row) => unpriced(row, `No price is set for ${row.kind} firings.`));
  const shared: Part[] = [];
  for (const [position, row] of rows.entries()) {
    const line = list.tariff.lines.find(({ kinds }) => kinds.length === 0 || kinds.includes(row.kind));
    if (!line) continue;
    if (line.basis.by === 'shelf' || (line.basis.by === 'cost' && load)) shared.push({ position, row, line });
    else prices[position] = priceAlone(list, line, row);
  }
  for (const parts of groupBy(shared, wholeOf).values())
    for (const [i, price] of priceWhole(list, parts, load).entries())
      prices[(parts[i] as Part).position] = price;
  return prices;
}

/** What shares a whole: pieces of one line, firing and, for half shelves, payer. */
const wholeOf = ({ row, line }: Part): string =>
  line.basis.by === 'cost'
    ? line.code
    : JSON.stringify([line.code, row.payer, row.memberClass, row.kind, row.cone, row.atmosphere]);

// One piece by itself.

function priceAlone(list: List, line: Line, row: Row): Price {
  const { tariff, currency } = list;
  const base = baseOf(list, line.basis, row);
  if (typeof base === 'string') return unpriced(row, base);
  const because = [...base.because];
  if (line.basis.by === 'included') return priced(list, line, row, { minor: 0n, because, coveredCm3: 0 });
  const isCost = line.basis.by === 'cost';
  const factored = withFactors(list, base.amount, factorsFor(tariff, row, !isCost), because);
  const { amount, coveredCm3 } = ofItsOwn(list, factored, row, because);
  const step = isCost ? 1n : BigInt(tariff.stepMinor);
  let minor = rounded(amount, step, tariff.rounding);
  // A step that the minimum is no multiple of makes it the next one above.
  const minimum = isCost ? 0n : roundTo(BigInt(tariff.minimumMinor), step, 'up');
  if (coveredCm3 < cm3Of(row) && minor < minimum) {
    minor = minimum;
    because.push(`At least ${moneyText(minimum, currency)}`);
  } else if (minor !== divide(amount.over, amount.under, 'half-up'))
    because.push(`Rounded to ${moneyText(minor, currency)}`);
  return priced(list, line, row, { minor, because, coveredCm3 });
}

/** What the basis alone comes to, or why it comes to nothing. */
function baseOf(list: List, basis: Basis, row: Row): { amount: Fraction; because: string[] } | string {
  const { currency } = list;
  switch (basis.by) {
    case 'volume': {
      const isInch = basis.unit === 'in3';
      const quantity = isInch ? per(volumeCm3(row), '16.387064') : volumeCm3(row);
      const inUnit = basis.unit === 'litre' ? per(quantity, '1000') : quantity;
      const unit = { cm3: 'cm³', litre: 'L', in3: 'in³' }[basis.unit];
      return byRate(list, inUnit, unit, basis.minorPer, boxWords(row, isInch));
    }
    case 'area': {
      const isInch = basis.unit === 'in2';
      const quantity = isInch ? per(areaCm2(row), '6.4516') : areaCm2(row);
      return byRate(list, quantity, isInch ? 'in²' : 'cm²', basis.minorPer, footWords(row, isInch));
    }
    case 'weight': {
      if (row.kg === null) return 'It goes by weight, and this piece was not weighed.';
      const kg = { over: above(row.kg, 1000), under: 1000n };
      const quantity = basis.unit === 'lb' ? per(kg, '0.45359237') : kg;
      return byRate(list, quantity, basis.unit, basis.minorPer, `Weight ${figure(kg)} kg`);
    }
    case 'size': {
      const box = volumeCm3(row);
      const band = basis.bands.find(({ upToCm3 }) => upToCm3 === null || isAtMost(box, measured(upToCm3)));
      if (!band) return 'It is larger than the largest size that has a price.';
      const amount = wholeFraction(BigInt(band.minor));
      return { amount, because: [boxWords(row), `${band.name}: ${moneyText(amount.over, currency)}`] };
    }
    case 'cost': {
      const whole = costOf(list, basis, null);
      const usual = measured(basis.usualLitres);
      const part = multiplied(whole.amount, per(volumeCm3(row), '1000'));
      const amount = { over: part.over * usual.under, under: part.under * usual.over };
      return {
        amount,
        because: [
          boxWords(row),
          ...whole.because,
          `${figure(per(volumeCm3(row), '1000'))} of usually ${figure(usual)} L in a load: about ${money(list, amount)}`,
        ],
      };
    }
    case 'included':
      return { amount: wholeFraction(0n), because: ['In the price of something else: nothing to pay'] };
    case 'shelf':
      throw new RangeError('Half shelves are the price of a whole.');
  }
}

function byRate(
  list: List,
  quantity: Fraction,
  unit: string,
  minorPer: string,
  words: string,
): { amount: Fraction; because: string[] } {
  const amount = multiplied(quantity, quantityOf(minorPer));
  const rate = rateText(minorPer, list.currency);
  return { amount, because: [words, `${figure(quantity)} ${unit} × ${rate} = ${money(list, amount)}`] };
}

/** Rush, and the part that included litres do not cover. */
function ofItsOwn(
  list: List,
  amount: Fraction,
  row: Row,
  because: string[],
): { amount: Fraction; coveredCm3: number } {
  const { rush } = list.tariff;
  let own = amount;
  if (rush && row.isRush) {
    const { over, under } = quantityOf(rush.percent);
    own = multiplied(own, { over: under * 100n + over, under: under * 100n });
    because.push(`Wanted soon, ${rush.percent} % more = ${money(list, own)}`);
  }
  const cm3 = cm3Of(row);
  const coveredCm3 = Math.max(0, Math.min(cm3, Math.floor(row.includedCm3)));
  if (coveredCm3 === 0) return { amount: own, coveredCm3 };
  own = multiplied(own, { over: BigInt(cm3 - coveredCm3), under: BigInt(cm3) });
  const covered = figure({ over: BigInt(coveredCm3), under: 1n });
  because.push(
    coveredCm3 === cm3
      ? 'All of it from included litres: nothing to pay'
      : `${covered} of ${figure({ over: BigInt(cm3), under: 1n })} cm³ from included litres, the rest = ${money(list, own)}`,
  );
  return { amount: own, coveredCm3 };
}

// Several pieces that share a whole.

function priceWhole(list: List, parts: [Part, ...Part[]], load: LoadToPrice | null): Price[] {
  const { tariff, currency } = list;
  const [{ line, row: first }] = parts;
  const { basis } = line;
  const isShelf = basis.by === 'shelf';
  const weights = parts.map(({ row }) => {
    const { over } = isShelf ? areaCm2(row) : volumeCm3(row);
    return over * BigInt(row.count);
  });
  const sum = weights.reduce((all, weight) => all + weight, 0n);
  const base = isShelf
    ? shelvesOf(list, basis, { over: sum, under: AREA })
    : costOf(list, basis as Basis & { by: 'cost' }, load);
  const steps = [...base.because];
  const amount = withFactors(list, base.amount, factorsFor(tariff, first, isShelf), steps);
  const whole = rounded(amount, BigInt(tariff.stepMinor), tariff.rounding);
  if (whole !== divide(amount.over, amount.under, 'half-up'))
    steps.push(`Rounded to ${moneyText(whole, currency)}`);
  const each = shares(whole, weights);
  return parts.map(({ row }, i) => {
    const share = each[i] ?? 0n;
    const because = [isShelf ? footWords(row) : boxWords(row), ...steps];
    if (parts.length > 1)
      because.push(
        isShelf
          ? `Its part by footprint: ${moneyText(share, currency)}`
          : `Its part by volume, ${figure(per(volumeCm3(row, row.count), '1000'))} of ${figure({ over: sum, under: VOLUME * 1000n })} L: ${moneyText(share, currency)}`,
      );
    const own = ofItsOwn(list, wholeFraction(share), row, because);
    const minor = rounded(own.amount, 1n, tariff.rounding);
    return priced(list, line, { ...row, count: 1 }, { minor, because, coveredCm3: own.coveredCm3 });
  });
}

function shelvesOf(
  list: List,
  basis: Basis & { by: 'shelf' },
  area: Fraction,
): { amount: Fraction; because: string[] } {
  const half = measured(basis.halfShelfCm2);
  const halves = divide(area.over * half.under, area.under * half.over, 'up');
  const minor = cheapestShelves(halves, basis);
  const taken = `${figure({ over: halves, under: 1n })} half ${halves === 1n ? 'shelf' : 'shelves'}`;
  return {
    amount: wholeFraction(minor),
    because: [
      `${figure(area)} cm² together: ${taken} of ${figure(half)} cm²`,
      `At the cheapest: ${moneyText(minor, list.currency)}`,
    ],
  };
}

/**
 * The least that so many half shelves cost, taken as halves, whole shelves and whole loads in any mixture, minor units.
 * @param halves half shelves that are needed
 */
export function cheapestShelves(
  halves: bigint,
  prices: { halfMinor: number; shelfMinor: number; loadMinor: number; halvesALoad: number },
): bigint {
  const [half, shelf, load] = [prices.halfMinor, prices.shelfMinor, prices.loadMinor].map(BigInt) as [
    bigint,
    bigint,
    bigint,
  ];
  const inLoad = BigInt(prices.halvesALoad);
  const full = halves / inLoad;
  // Between few and many loads the price is a straight line, but for whether a single half is left over.
  const loads = [0n, 1n, full - 1n, full, full + 1n].filter((n) => n >= 0n);
  const priceWith = (n: bigint): bigint => {
    const rest = halves > n * inLoad ? halves - n * inLoad : 0n;
    const ways = [rest * half, (rest / 2n) * shelf + (rest % 2n) * half, ((rest + 1n) / 2n) * shelf];
    return n * load + ways.reduce(least);
  };
  return loads.map(priceWith).reduce(least);
}

const least = (a: bigint, b: bigint): bigint => (a < b ? a : b);

/** What a load costs the studio; one that nobody has fired yet: as usual. */
function costOf(
  list: List,
  basis: Basis & { by: 'cost' },
  load: LoadToPrice | null,
): { amount: Fraction; because: string[] } {
  const wear = BigInt(basis.wearMinor);
  const wearWords = wear === 0n ? [] : [`Wear ${moneyText(wear, list.currency)}`];
  if (load?.power === 'gas') {
    const amount = wholeFraction(BigInt(basis.fuelMinor) + wear);
    const fuel = `Fuel ${moneyText(BigInt(basis.fuelMinor), list.currency)}`;
    return { amount, because: [...[fuel, ...wearWords], `The load cost ${money(list, amount)}`] };
  }
  const known = load?.kWh ?? null;
  const kWh = measured(known ?? basis.usualKwh);
  const energy = multiplied(kWh, quantityOf(basis.minorPerKwh));
  const amount = { over: energy.over + wear * energy.under, under: energy.under };
  const rate = rateText(basis.minorPerKwh, list.currency);
  return {
    amount,
    because: [
      ...(load && known === null ? [`What this load drew is not known: the usual ${figure(kWh)} kWh`] : []),
      `${figure(kWh)} kWh × ${rate} = ${money(list, energy)}`,
      ...wearWords,
      ...(wear === 0n ? [] : [`The load ${load ? 'cost' : 'costs'} ${money(list, amount)}`]),
    ],
  };
}

// Factors, rounding and tax.

const factorsFor = (tariff: Tariff, piece: PieceToPrice, withClasses: boolean): Factor[] =>
  tariff.factors.filter((factor) => fits(factor, piece) && (withClasses || factor.memberClass === null));

function fits({ kinds, coneFrom, coneTo, atmosphere, memberClass }: Factor, piece: PieceToPrice): boolean {
  if (kinds.length > 0 && !kinds.includes(piece.kind)) return false;
  if (atmosphere !== null && atmosphere !== piece.atmosphere) return false;
  if (memberClass !== null && memberClass !== piece.memberClass) return false;
  if (coneFrom !== null && coneTo !== null) return coneWithin(piece.cone, coneFrom, coneTo);
  if (coneFrom !== null) return compareCones(piece.cone, coneFrom) >= 0;
  return coneTo === null || compareCones(piece.cone, coneTo) <= 0;
}

function withFactors(list: List, amount: Fraction, factors: Factor[], because: string[]): Fraction {
  let product = amount;
  for (const { name, factor } of factors) {
    product = multiplied(product, quantityOf(factor));
    because.push(`${name} × ${factor} = ${money(list, product)}`);
  }
  return product;
}

const rounded = ({ over, under }: Fraction, step: bigint, rounding: Rounding): bigint =>
  divide(over, under * step, rounding) * step;

/**
 * An amount on a price list without its tax, and with it; minor units. Where the list holds tax, net = amount ÷
 * (1 + rate), rounded as the list rounds, and tax is the rest; where it does not, tax = amount × rate is added.
 * Net and tax always sum to the amount; a negative amount is the mirror of its positive.
 */
export function splitTax({ tax, rounding }: Pick<Tariff, 'tax' | 'rounding'>, amount: bigint): Taxed {
  if (!tax) return { netMinor: amount, taxMinor: 0n, amountMinor: amount };
  const { over, under } = quantityOf(tax.percent);
  if (tax.included) {
    const netMinor = divide(amount * under * 100n, under * 100n + over, rounding);
    return { netMinor, taxMinor: amount - netMinor, amountMinor: amount };
  }
  const taxMinor = divide(amount * over, under * 100n, rounding);
  return { netMinor: amount, taxMinor, amountMinor: amount + taxMinor };
}

/**
 * What so many of an item cost: its price × the quantity, rounded to the minor unit as the list rounds, and tax.
 * @param quantity decimal text in the item's unit
 * @throws RangeError when the quantity is none
 */
export function itemPrice(
  tariff: Tariff,
  currency: string,
  item: Pick<Item, 'minor' | 'unit'>,
  quantity: string,
): Taxed & { because: string[] } {
  const minor = times(BigInt(item.minor), [quantity], tariff.rounding);
  const taxed = splitTax(tariff, minor);
  const price = moneyText(BigInt(item.minor), currency);
  const because = [
    `${figure(quantityOf(quantity))} ${item.unit} × ${price} = ${moneyText(minor, currency)}`,
    ...taxWords({ tariff, currency }, taxed),
  ];
  return { ...taxed, because };
}

function taxWords({ tariff: { tax }, currency }: List, { taxMinor, amountMinor }: Taxed): string[] {
  if (!tax || taxMinor === 0n) return [];
  const amount = moneyText(taxMinor, currency);
  return tax.included
    ? [`Of it ${tax.percent} % tax: ${amount}`]
    : [`${tax.percent} % tax ${amount}, together ${moneyText(amountMinor, currency)}`];
}

function priced(
  list: List,
  { code, name }: Line,
  row: Row,
  { minor, because, coveredCm3 }: { minor: bigint; because: string[]; coveredCm3: number },
): Price {
  const each = splitTax(list.tariff, minor);
  const count = BigInt(row.count);
  return {
    line: { code, name },
    cm3: cm3Of(row),
    netMinor: each.netMinor * count,
    taxMinor: each.taxMinor * count,
    amountMinor: each.amountMinor * count,
    because: [...because, ...taxWords(list, each)],
    coveredCm3,
  };
}

const unpriced = (row: PieceToPrice, why: string): Price => noPrice(cm3Of(row), why);

/** A price as it stands, but for what is beyond what the ledger takes: a slip on the list keeps no kiln from being emptied. */
export const chargeable = (price: Price): Price =>
  price.amountMinor <= MOST_OF_ENTRY
    ? price
    : noPrice(price.cm3, 'By the price list it comes to more than anybody is ever charged.');

const noPrice = (cm3: number, why: string): Price => ({
  line: null,
  cm3,
  netMinor: 0n,
  taxMinor: 0n,
  amountMinor: 0n,
  because: [why],
  coveredCm3: 0,
});

// Sizes and figures. A length counts to the hundredth of a millimetre, a weight to the gram.

const VOLUME = 10n ** 9n;
const AREA = 10n ** 6n;

/** A measure in whole parts of its unit, at least one. */
function above(measure: number, partsAUnit: number): bigint {
  if (!Number.isFinite(measure) || measure <= 0) throw new RangeError(`${measure} is no size or weight.`);
  return BigInt(Math.max(1, Math.round(measure * partsAUnit)));
}

const areaCm2 = ({ widthMm, depthMm }: PieceToPrice): Fraction => ({
  over: above(widthMm, 100) * above(depthMm, 100),
  under: AREA,
});

const volumeCm3 = (piece: PieceToPrice, count = 1): Fraction => ({
  over: areaCm2(piece).over * above(piece.heightMm, 100) * BigInt(count),
  under: VOLUME,
});

function cm3Of(piece: PieceToPrice): number {
  const { over, under } = volumeCm3(piece);
  return Math.max(1, Number(divide(over, under, 'half-up')));
}

const wholeFraction = (over: bigint): Fraction => ({ over, under: 1n });
const multiplied = (a: Fraction, b: Fraction): Fraction => ({
  over: a.over * b.over,
  under: a.under * b.under,
});

/** A measure that a price list names, to the thousandth. */
const measured = (value: number): Fraction => quantityOf(value.toFixed(3));

const isAtMost = (a: Fraction, b: Fraction): boolean => a.over * b.under <= b.over * a.under;

/** A decimal text as a fraction. */
function quantityOf(text: string): Fraction {
  const { digits, places } = decimalParts(text);
  return { over: digits, under: 10n ** BigInt(places) };
}

/** A quantity in another unit, one of which is so much. */
function per({ over, under }: Fraction, one: string): Fraction {
  const unit = quantityOf(one);
  return { over: over * unit.under, under: under * unit.over };
}

const money = ({ currency }: List, { over, under }: Fraction): string =>
  moneyText(divide(over, under, 'half-up'), currency);

const figures = new Intl.NumberFormat('en-GB', { maximumFractionDigits: 4 });

/** To four decimals, halves up: '1,062.5' */
function figure({ over, under }: Fraction): string {
  const digits = divide(over * 10_000n, under, 'half-up')
    .toString()
    .padStart(5, '0');
  return figures.format(`${digits.slice(0, -4)}.${digits.slice(-4)}` as Intl.StringNumericLiteral);
}

/** 'Box 12.5 × 8.5 × 10 cm = 1,062.5 cm³' */
const boxWords = (piece: PieceToPrice, isInch = false): string => {
  const volume = volumeCm3(piece);
  return isInch
    ? `Box ${lengths(piece, true, true)} in = ${figure(per(volume, '16.387064'))} in³`
    : `Box ${lengths(piece, true, false)} cm = ${figure(volume)} cm³`;
};

const footWords = (piece: PieceToPrice, isInch = false): string => {
  const area = areaCm2(piece);
  return isInch
    ? `Footprint ${lengths(piece, false, true)} in = ${figure(per(area, '6.4516'))} in²`
    : `Footprint ${lengths(piece, false, false)} cm = ${figure(area)} cm²`;
};

function lengths({ widthMm, depthMm, heightMm }: PieceToPrice, isBox: boolean, isInch: boolean): string {
  return [widthMm, depthMm, ...(isBox ? [heightMm] : [])]
    .map((mm) => figure(per({ over: above(mm, 100), under: 100n }, isInch ? '25.4' : '10')))
    .join(' × ');
}
