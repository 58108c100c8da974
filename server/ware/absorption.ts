/** One fired, unglazed specimen: dry, saturated after boiling, and hanging in water; grams. */
export interface Specimen {
  dryGrams: number;
  saturatedGrams: number;
  suspendedGrams: number;
}

/** What ASTM C373 makes of a specimen. */
export interface Absorption {
  /** Water taken up per dry mass. */
  absorptionPercent: number;
  /** Open pores per exterior volume. */
  apparentPorosityPercent: number;
  /** Dry mass per exterior volume, g/cm³. */
  bulkDensity: number;
  /** Dry mass over that of as much water as the solid with its closed pores displaces. */
  apparentSpecificGravity: number;
}

/** Several specimens of one firing; `spread` is the sample standard deviation, null of one alone. */
export interface AbsorptionTest {
  specimens: Absorption[];
  mean: Absorption;
  spread: Absorption | null;
}

/** Absorption that a bisque should have, in percent. */
export interface AbsorptionBand {
  low: number;
  high: number;
}

const NAMES = [
  'absorptionPercent',
  'apparentPorosityPercent',
  'bulkDensity',
  'apparentSpecificGravity',
] as const satisfies (keyof Absorption)[];

/** The field that cannot be and why, or null. A specimen that floats, or a porosity above 100 %, is a slip of the pen. */
export function wrongWith(specimen: Specimen): { field: keyof Specimen; message: string } | null {
  const { dryGrams: dry, saturatedGrams: saturated, suspendedGrams: suspended } = specimen;
  if (!(dry > 0 && Number.isFinite(dry)))
    return { field: 'dryGrams', message: 'The dry specimen must weigh more than nothing.' };
  if (!(saturated >= dry && Number.isFinite(saturated)))
    return { field: 'saturatedGrams', message: 'Full of water it cannot weigh less than dry.' };
  if (!(suspended >= 0))
    return { field: 'suspendedGrams', message: 'In water it cannot weigh below nothing.' };
  if (!(suspended < dry))
    return { field: 'suspendedGrams', message: 'Hanging in water it must weigh less than dry in air.' };
  return null;
}

/**
 * Absorption, apparent porosity and densities from dry (D), saturated (M) and suspended mass (S).
 *
 * Exterior volume V = M − S, open pores M − D, A = (M − D)/D, P = (M − D)/V, B = D/V, T = D/(D − S). Water at the test
 * is taken as 1 g/cm³, as the standard does: at 20 °C that is 0.2 % of the densities and nothing of the shares.
 * Source: ASTM C373-88 (1999), 7 to 12.
 * @throws RangeError for masses that cannot be
 */
export function absorptionOf(specimen: Specimen): Absorption {
  const wrong = wrongWith(specimen);
  if (wrong) throw new RangeError(wrong.message);
  const { dryGrams: dry, saturatedGrams: saturated, suspendedGrams: suspended } = specimen;
  const volume = saturated - suspended;
  return {
    absorptionPercent: (100 * (saturated - dry)) / dry,
    apparentPorosityPercent: (100 * (saturated - dry)) / volume,
    bulkDensity: dry / volume,
    apparentSpecificGravity: dry / (dry - suspended),
  };
}

/**
 * Several specimens with mean and sample spread. The standard asks for five; fewer are taken, and it shows in `spread`.
 * @throws RangeError for none, or for masses that cannot be
 */
export function absorptionTest(specimens: readonly Specimen[]): AbsorptionTest {
  if (specimens.length === 0) throw new RangeError('At least one specimen.');
  const each = specimens.map(absorptionOf);
  const of = (fold: (values: number[]) => number) =>
    Object.fromEntries(NAMES.map((name) => [name, fold(each.map((a) => a[name]))])) as unknown as Absorption;
  return { specimens: each, mean: of(mean), spread: each.length < 2 ? null : of(sampleSpread) };
}

/**
 * The studio's quick version, which is not C373: water taken up in a soak of two minutes per dry mass, 0 to 1. Air
 * stays in the pores, so it lies below the boiled figure and must not be held against its bands; it is what a wall
 * drinks at the bucket. Two minutes: common practice, no source.
 * @throws RangeError where the soaked piece weighs less than the dry one, or the dry one nothing
 */
export function twoMinuteSoakShare({
  dryGrams,
  soakedGrams,
}: {
  dryGrams: number;
  soakedGrams: number;
}): number {
  if (!(dryGrams > 0 && Number.isFinite(dryGrams)))
    throw new RangeError('The dry piece must weigh more than nothing.');
  if (!(soakedGrams >= dryGrams && Number.isFinite(soakedGrams)))
    throw new RangeError('After the soak it cannot weigh less than dry.');
  return soakedGrams / dryGrams - 1;
}

/** How a bisque lies to its band: fired too little it drinks too much. Limits belong to the band. */
export function bisqueAgainst(band: AbsorptionBand, percent: number): 'in' | 'under-fired' | 'over-fired' {
  if (percent > band.high) return 'under-fired';
  return percent < band.low ? 'over-fired' : 'in';
}

/** Whether an absorption in percent lies outside the band of its clay. */
export const isOutOf = (band: AbsorptionBand, percent: number): boolean =>
  bisqueAgainst(band, percent) !== 'in';

const mean = (values: number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Sample standard deviation of two values at least. */
export function sampleSpread(values: number[]): number {
  const middle = mean(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1));
}
