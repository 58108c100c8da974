import { type AbsorptionBand, bisqueAgainst, type Specimen } from './absorption.ts';

// Tests of bisque as people take them, and the words for what they say.

/** Boiled by ASTM C373, or soaked for two minutes the studio's way. */
export const BISQUE_METHODS = ['boiled', 'soaked'] as const;
export type BisqueMethod = (typeof BISQUE_METHODS)[number];

/** One specimen of the quick version: dry, and after two minutes in water; grams. */
export interface SoakedSpecimen {
  dryGrams: number;
  soakedGrams: number;
}

/** "At least five", of at least 50 g each, weighed to 0.01 g. Source: ASTM C373-88 (2006), 4.1 and 5.1. */
export const STANDARD_SPECIMENS = 5;

/** The field that cannot be and why, or null. Bisque that drinks nothing in two minutes is a slip of the pen. */
export function wrongWithSoaked({
  dryGrams,
  soakedGrams,
}: SoakedSpecimen): { field: keyof SoakedSpecimen; message: string } | null {
  if (!(dryGrams > 0 && Number.isFinite(dryGrams)))
    return { field: 'dryGrams', message: 'The dry piece must weigh more than nothing.' };
  if (!(soakedGrams > dryGrams && Number.isFinite(soakedGrams)))
    return { field: 'soakedGrams', message: 'After the soak it must weigh more than dry.' };
  return null;
}

/** Bisque that takes up more than this of its dry mass is asked about, percent: common practice, no source. */
const MOST_PERCENT = 30;
/**
 * Fired clay with its closed pores, g/cm³. Quartz is 2.65, mullite 3.16, glass about 2.4: from memory; what lies far from
 * them was weighed or typed wrongly.
 */
const SOLID_LOW = 1.8;
const SOLID_HIGH = 3.3;

/** What is possible of a boiled specimen but odd, or null; percent and densities as `absorptionOf` says. */
export function oddAbout(
  specimen: Specimen | SoakedSpecimen,
): { field: keyof Specimen | keyof SoakedSpecimen; message: string } | null {
  const { dryGrams } = specimen;
  const isBoiled = 'saturatedGrams' in specimen;
  const wet = isBoiled ? specimen.saturatedGrams : specimen.soakedGrams;
  const percent = (100 * (wet - dryGrams)) / dryGrams;
  if (percent > MOST_PERCENT)
    return {
      field: isBoiled ? 'saturatedGrams' : 'soakedGrams',
      message: `That is ${percent.toFixed(0)} % of its dry mass: more than bisque takes up. Is it right?`,
    };
  if (!isBoiled) return null;
  const solid = dryGrams / (dryGrams - specimen.suspendedGrams);
  return solid < SOLID_LOW || solid > SOLID_HIGH
    ? {
        field: 'suspendedGrams',
        message: `The fired clay itself would weigh ${solid.toFixed(1)} g/cm³; usual is 2.3 to 2.8. Is it right?`,
      }
    : null;
}

/** How a bisque lies to its band, in words that stand beside a shape. */
export const AGAINST_WORDS = {
  in: 'In its band',
  'under-fired': 'Fired too little',
  'over-fired': 'Fired too far',
} as const satisfies Record<ReturnType<typeof bisqueAgainst>, string>;

/** '9 to 14 %' */
export const bandWords = ({ low, high }: AbsorptionBand): string => `${low} to ${high} %`;

/** Percent with one decimal; with more where one would put what lies outside its band inside: 14.04 over 14 is no 14.0. */
export function percentWords(percent: number, band: AbsorptionBand | null = null): string {
  const is = band && bisqueAgainst(band, percent);
  for (let places = 1; places <= 4; places++) {
    const words = percent.toFixed(places);
    if (band === null || bisqueAgainst(band, Number(words)) === is) return `${words} %`;
  }
  return `${percent} %`;
}

/**
 * What the bisque of a load did, for whoever glazes it: 'Bisque of load 12 absorbed 16.2 %, above its 9 to 14 %: fired
 * too little.' Null where it lies in its band; percent of the dry mass, boiled.
 */
export function offBandWords(load: number, percent: number, band: AbsorptionBand): string | null {
  const is = bisqueAgainst(band, percent);
  if (is === 'in') return null;
  const side = is === 'under-fired' ? 'above' : 'below';
  return `Bisque of load ${load} absorbed ${percentWords(percent, band)}, ${side} its ${bandWords(band)}: ${AGAINST_WORDS[is].toLowerCase()}.`;
}

/** The same with what to do about it at the bucket: common practice, no source. */
export function bisqueWarning(load: number, percent: number, band: AbsorptionBand): string | null {
  const words = offBandWords(load, percent, band);
  if (words === null) return null;
  return bisqueAgainst(band, percent) === 'under-fired'
    ? `${words} It drinks more: count shorter, and it may crack easier.`
    : `${words} It drinks less: count longer, and the coat may stay thin.`;
}
