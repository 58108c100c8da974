import {
  from100mlGrams,
  fromBaume,
  fromImperialPintOz,
  fromTwaddell,
  fromUsPintOz,
  per100mlGrams,
  perImperialPintOz,
  perUsPintOz,
  toBaume,
  toTwaddell,
} from './gravity.ts';

/** The ways a slurry's weight is written; each to specific gravity and back. */
export const SCALES = {
  sg: { label: 'Specific gravity', unit: '', to: same, from: same, decimals: 3 },
  twaddell: { label: 'Degrees Twaddell', unit: '°Tw', to: toTwaddell, from: fromTwaddell, decimals: 1 },
  baume: { label: 'Degrees Baumé, modulus 145', unit: '°Bé', to: toBaume, from: fromBaume, decimals: 1 },
  'imperial-pint': {
    label: 'Ounces per imperial pint (568 mL)',
    unit: 'oz',
    to: perImperialPintOz,
    from: fromImperialPintOz,
    decimals: 2,
  },
  'us-pint': {
    label: 'Ounces per US pint (473 mL)',
    unit: 'oz',
    to: perUsPintOz,
    from: fromUsPintOz,
    decimals: 2,
  },
  '100ml': { label: 'Grams per 100 mL', unit: 'g', to: per100mlGrams, from: from100mlGrams, decimals: 1 },
} as const;

export type ScaleName = keyof typeof SCALES;
export const SCALE_NAMES = Object.keys(SCALES) as [ScaleName, ...ScaleName[]];

const [LIGHTEST, HEAVIEST] = [0.9, 4];

/**
 * One value of one scale in all of them.
 * @throws RangeError with a sentence for the person when no slurry weighs that
 */
export function onEveryScale(value: number, scale: ScaleName): { scale: ScaleName; text: string }[] {
  const sg = SCALES[scale].from(value);
  if (!(sg >= LIGHTEST && sg <= HEAVIEST))
    throw new RangeError('No slurry weighs that: check the number and its scale.');
  return SCALE_NAMES.map((name) => {
    const { to, decimals, unit } = SCALES[name];
    return { scale: name, text: `${to(sg).toFixed(decimals)}${unit && ` ${unit}`}` };
  });
}

function same(sg: number): number {
  return sg;
}
