import type { WareSettings } from './settings.ts';

// How coats, counts and gravities are told apart where fired pieces are counted by them.

/** Below what is usual, usual, above it, and above the most that a wall may carry. */
export type CoatBand = 'under' | 'usual' | 'over' | 'beyond';

/** Whole seconds that people count, and which of them go together. */
const COUNTS = [
  { upTo: 2, words: 'count 2 or less' },
  { upTo: 3, words: 'count 3' },
  { upTo: 4, words: 'count 4' },
  { upTo: 6, words: 'count 5 to 6' },
] as const;
const LONGER = 'count 7 or more';
type CountBand = (typeof COUNTS)[number]['words'] | typeof LONGER;

/** Where the gravity of a bucket lay against its band. */
export type GravityBand = 'under' | 'in' | 'over';

type Limits = Pick<WareSettings, 'usualCoatLowMm' | 'usualCoatHighMm' | 'mostCoatMm'>;

/** Nobody measures a coat finer than a hundredth of a millimetre. */
const inHundredths = (mm: number): number => Math.round(100 * mm);

/** Whether dry coats of so many mm are more than the most, both told to a hundredth. */
export const isBeyond = (mm: number, mostMm: number): boolean => inHundredths(mm) > inHundredths(mostMm);

/** The band of a dry coat of so many mm, told to a hundredth; the limits of what is usual are usual themselves. */
export function coatBand(mm: number, { usualCoatLowMm, usualCoatHighMm, mostCoatMm }: Limits): CoatBand {
  if (isBeyond(mm, mostCoatMm)) return 'beyond';
  const coat = inHundredths(mm);
  if (coat > inHundredths(usualCoatHighMm)) return 'over';
  return coat < inHundredths(usualCoatLowMm) ? 'under' : 'usual';
}

/** The band of a dwell in seconds, to the nearest whole count; half a count goes up. */
export function countBand(seconds: number): CountBand {
  const counted = Math.floor(seconds + 0.5);
  return COUNTS.find(({ upTo }) => counted <= upTo)?.words ?? LONGER;
}

/** '0.4 to 0.6 mm, as usual' */
export function coatBandWords(band: CoatBand, limits: Limits): string {
  const low = mmFigure(limits.usualCoatLowMm);
  const high = mmFigure(limits.usualCoatHighMm);
  const most = mmFigure(limits.mostCoatMm);
  switch (band) {
    case 'under':
      return `under ${low} mm`;
    case 'usual':
      return `${low} to ${high} mm, as usual`;
    case 'over':
      return `over ${high}, up to ${most} mm`;
    case 'beyond':
      return `over ${most} mm`;
  }
}

export const GRAVITY_BAND_WORDS: Record<GravityBand, string> = {
  under: 'thinner than the band of its bucket',
  in: 'within the band of its bucket',
  over: 'thicker than the band of its bucket',
};

/** A thickness in mm to a hundredth, without noughts at its end: '0.45', '1.5'. */
export const mmFigure = (mm: number): string => String(inHundredths(mm) / 100);
