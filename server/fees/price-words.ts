import { moneyText, rateText } from '../core/money.ts';
import type { FiringKind } from '../ware/firing.ts';
import { FORMS, type Form, PRESETS } from '../ware/presets.ts';
import type { Size } from '../ware/size.ts';
import { boxOf } from './piece-price.ts';
import { quotePieces } from './price.ts';
import type { Basis, Factor, Item, Tariff } from './tariff.ts';

// A price list in words.

export const KIND_WORDS: Record<FiringKind, string> = {
  bisque: 'bisque',
  glaze: 'glaze',
  lustre: 'lustre or decal',
  other: 'other firings',
};

const UNIT_WORDS = {
  cm3: 'a cm³',
  litre: 'a litre',
  in3: 'a cubic inch',
  cm2: 'a cm² of shelf',
  in2: 'a square inch of shelf',
  kg: 'a kilogram',
  lb: 'a pound',
} as const;

/** What a firing costs, in one line: '£3.50 a litre'. Sizes are told by `bandWords`. @param currency ISO 4217 */
export function basisWords(basis: Basis, currency: string): string {
  const money = (minor: number) => moneyText(BigInt(minor), currency);
  switch (basis.by) {
    case 'volume':
    case 'area':
    case 'weight':
      return `${rateText(basis.minorPer, currency)} ${UNIT_WORDS[basis.unit]}`;
    case 'size':
      return 'By size';
    case 'shelf':
      return `Half a shelf ${money(basis.halfMinor)}, a shelf ${money(basis.shelfMinor)}, a whole load ${money(basis.loadMinor)}`;
    case 'cost':
      return `What the load costs, shared by volume: ${rateText(basis.minorPerKwh, currency)} a kWh and ${money(basis.wearMinor)} for wear; with burners ${money(basis.fuelMinor)} for fuel`;
    case 'included':
      return 'Included';
  }
}

/** 'up to 1 litre', 'larger' */
export const limitWords = (upToCm3: number | null): string =>
  upToCm3 === null ? 'larger' : `up to ${litresWords(upToCm3 / 1000)}`;

function litresWords(litres: number): string {
  const figure = Number(litres.toFixed(3));
  return figure === 1 ? '1 litre' : `${figure} litres`;
}

/** Forms that fit a size band as they usually are just made, by their usual bounding box. */
export function formsIn(bands: readonly { upToCm3: number | null }[], band: number): string[] {
  return FORMS.filter((form) => form !== 'other').flatMap((form) => {
    const { widthMm, depthMm, heightMm } = boxOf(PRESETS[form] as Size);
    const cm3 = (widthMm * depthMm * heightMm) / 1000;
    const at = bands.findIndex(({ upToCm3 }) => upToCm3 === null || cm3 <= upToCm3);
    return at === band ? [PRESETS[form].word] : [];
  });
}

const EXAMPLES = ['cup', 'bowl', 'plate', 'vase'] as const satisfies Form[];
// Bisque to 06 and glaze to 6: common practice, no source.
const EXAMPLE_FIRINGS = [
  { kind: 'bisque', cone: '06', atmosphere: 'oxidation' },
  { kind: 'glaze', cone: '6', atmosphere: 'oxidation' },
] as const;

/**
 * What pieces of usual size cost by a list: each with its two firings, minor units, tax included; null where the list
 * has no price for it.
 * @param currency ISO 4217
 * @param usualClass the class that most people are in
 */
export function examples(tariff: Tariff, currency: string, usualClass: string | null) {
  return EXAMPLES.map((form) => {
    const piece = { ...boxOf(PRESETS[form] as Size), kg: null, isRush: false, memberClass: usualClass };
    const prices = EXAMPLE_FIRINGS.map((firing) => {
      const [price] = quotePieces(tariff, currency, [{ ...piece, ...firing }]);
      return price?.line ? price.amountMinor : null;
    });
    const litres = (piece.widthMm * piece.depthMm * piece.heightMm) / 1e6;
    return { word: PRESETS[form].word, litres, prices };
  });
}

/** 'Reduction: × 1.25 for glaze, from cone 8' */
export function factorWords(factor: Factor): string {
  const { kinds, coneFrom, coneTo, atmosphere, memberClass } = factor;
  const when = [
    kinds.length > 0 && kinds.map((kind) => KIND_WORDS[kind]).join(' and '),
    coneFrom !== null && coneTo !== null && coneFrom === coneTo && `cone ${coneFrom}`,
    coneFrom !== null && coneFrom !== coneTo && `from cone ${coneFrom}`,
    coneTo !== null && coneFrom !== coneTo && `to cone ${coneTo}`,
    atmosphere !== null && atmosphere,
    memberClass !== null && `for every ${memberClass}`,
  ].filter((word) => word !== false);
  return `${factor.name}: × ${factor.factor}${when.length > 0 ? ` (${when.join(', ')})` : ''}`;
}

/** 'a bag', 'an hour'; by the first letter, which fits the words that prices are for. */
const oneOf = (unit: string): string => (/^(?:[aeio]|hour)/i.test(unit) ? `an ${unit}` : `a ${unit}`);

/** '£12.00 a bag, with 10 litres of firing' */
export function itemWords(item: Item, currency: string): string {
  const price = `${moneyText(BigInt(item.minor), currency)} ${oneOf(item.unit)}`;
  const litres =
    item.litres === null || Number(item.litres) === 0 ? '' : `, with ${item.litres} litres of firing`;
  return price + litres;
}
