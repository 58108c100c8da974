/** Density of water at 20 °C in g/cm³, the temperature every stored gravity refers to. */
export const WATER_20 = 0.99821;

/** Half width of a 95 % interval in standard uncertainties (GUM, normal distribution). */
export const COVERAGE_95 = 1.96;

/** A specific gravity (density over that of water at 4 °C, so in g/cm³) with its standard uncertainty. */
export interface Measured {
  specificGravity: number;
  standardUncertainty: number;
}

export type HydrometerScale = 'sg' | 'twaddell' | 'baume';

const GLASS_EXPANSION = 25e-6; // per °C, by volume
const HYDROMETER_FLOOR = 0.01; // glaze drags on the stem, whatever the scale is divided into
const BAUME_MODULUS = 145;
const OUNCE_G = 28.349523125;
const IMPERIAL_PINT_ML = 568.26125;
const US_PINT_ML = 473.176473;

/**
 * Density of air-free water at 101 325 Pa.
 *
 * Source: Tanaka, Girard, Davis, Peuto, Bignell, Metrologia 38 (2001) 301-309, the CIPM formula.
 * @param temperatureC °C, 0 to 40
 * @returns g/cm³
 * @throws RangeError outside 0 to 40 °C
 */
export function waterDensity(temperatureC: number): number {
  if (!(temperatureC >= 0 && temperatureC <= 40)) {
    throw new RangeError('The temperature must lie between 0 and 40 °C.');
  }
  const t = temperatureC;
  const kgPerM3 = 999.97495 * (1 - ((t - 3.983035) ** 2 * (t + 301.797)) / (522528.9 * (t + 69.34881)));
  return kgPerM3 / 1000;
}

/** Degrees Twaddell to specific gravity: SG = 1 + °Tw/200 (Lunge). */
export function fromTwaddell(tw: number): number {
  return 1 + tw / 200;
}

/** Specific gravity to degrees Twaddell: °Tw = 200·(SG − 1) (Lunge). */
export function toTwaddell(sg: number): number {
  return 200 * (sg - 1);
}

/**
 * Degrees Baumé for liquids heavier than water, modulus 145, to specific gravity: SG = 145/(145 − °Bé).
 *
 * Source: Roberts & Etherington, Bookbinding and the Conservation of Books, "Baumé" (60 °F/60 °F).
 * @throws RangeError from 145 °Bé up, where the scale ends
 */
export function fromBaume(be: number): number {
  if (!(be < BAUME_MODULUS)) throw new RangeError('A reading in °Bé must be below 145.');
  return BAUME_MODULUS / (BAUME_MODULUS - be);
}

/**
 * Specific gravity to degrees Baumé (modulus 145): °Bé = 145 − 145/SG.
 * @throws RangeError when the gravity is not positive
 */
export function toBaume(sg: number): number {
  if (!(sg > 0)) throw new RangeError('A specific gravity must be above zero.');
  return BAUME_MODULUS - BAUME_MODULUS / sg;
}

/** Specific gravity to the weight of an imperial pint (568.26 ml) in ounces avoirdupois. */
export function perImperialPintOz(sg: number): number {
  return (sg * IMPERIAL_PINT_ML) / OUNCE_G;
}

/** Ounces avoirdupois of an imperial pint to specific gravity. */
export function fromImperialPintOz(oz: number): number {
  return (oz * OUNCE_G) / IMPERIAL_PINT_ML;
}

/** Specific gravity to the weight of a US liquid pint (473.18 ml) in ounces avoirdupois. */
export function perUsPintOz(sg: number): number {
  return (sg * US_PINT_ML) / OUNCE_G;
}

/** Ounces avoirdupois of a US liquid pint to specific gravity. */
export function fromUsPintOz(oz: number): number {
  return (oz * OUNCE_G) / US_PINT_ML;
}

/** Specific gravity to the grams that 100 ml weigh. */
export function per100mlGrams(sg: number): number {
  return sg * 100;
}

/** Grams of 100 ml to specific gravity. */
export function from100mlGrams(grams: number): number {
  return grams / 100;
}

/**
 * Specific gravity from a weighed volume: grams (without the vessel) over millilitres.
 *
 * Uncertainty by the GUM: scale resolution and vessel tolerance are rectangular (÷√12, ÷√3), the spread of
 * replicates is their standard error. Resolution and spread shrink with replicates, the tolerance does not.
 * @param i grams of each replicate, millilitres of the vessel, resolution of the scale in g (default 1),
 *   tolerance of the vessel in ml (default ±1)
 * @throws RangeError when a number cannot be, or the result is lighter than water
 */
export function weighed(i: {
  grams: number[];
  millilitres: number;
  resolutionG?: number;
  toleranceMl?: number;
}): Measured {
  const { millilitres, resolutionG = 1, toleranceMl = 1 } = i;
  requirePositive(i.grams, 'The weight of the glaze must be more than zero grams.');
  requirePositive([millilitres], 'The volume must be more than zero millilitres.');
  requireNotNegative(resolutionG, 'The resolution of the scale cannot be negative.');
  requireNotNegative(toleranceMl, 'The tolerance of the vessel cannot be negative.');

  const specificGravity = mean(i.grams) / millilitres;
  const gramsU = uncertaintyOfMean(i.grams, resolutionG);
  const volumeU = toleranceMl / Math.sqrt(3);
  return plausible({
    specificGravity,
    standardUncertainty: combine(gramsU / millilitres, (specificGravity * volumeU) / millilitres),
  });
}

/**
 * Specific gravity from a cup filled to the brim, calibrated once with water.
 *
 * All weights are gross, the cup included. The cup holds (water − tare)/ρ_w(calibration temperature) ml, so
 * on water at 4 °C SG = (glaze − tare)/(water − tare)·ρ_w: the bare ratio would refer to the calibration water.
 * Each weighing carries resolution/√12; that of the glaze shrinks with replicates, those of the calibration
 * do not. The tare enters both differences, so its two shares partly cancel.
 * @param i grams of each replicate, tare and calibration weight in g, resolution of the scale in g (default 1),
 *   that of the scale the cup was calibrated on (default the same), temperature of the calibration water in °C
 *   (default 20)
 * @throws RangeError when a number cannot be, or the result is lighter than water
 */
export function brimfulCup(i: {
  grams: number[];
  tareG: number;
  waterG: number;
  resolutionG?: number;
  calibrationResolutionG?: number;
  calibrationC?: number;
}): Measured {
  const { tareG, waterG, resolutionG = 1, calibrationResolutionG = resolutionG, calibrationC = 20 } = i;
  requireNotNegative(tareG, 'The empty cup cannot weigh less than nothing.');
  requirePositive([waterG - tareG], 'The cup full of water must weigh more than the empty cup.');
  requirePositive(
    i.grams.map((g) => g - tareG),
    'The cup full of glaze must weigh more than the empty cup.',
  );
  requireNotNegative(resolutionG, 'The resolution of the scale cannot be negative.');

  const rho = waterDensity(calibrationC);
  const glaze = mean(i.grams) - tareG;
  const water = waterG - tareG;
  const onceU = calibrationResolutionG / Math.sqrt(12);
  return plausible({
    specificGravity: (rho * glaze) / water,
    standardUncertainty: combine(
      (rho * uncertaintyOfMean(i.grams, resolutionG)) / water,
      (rho * glaze * onceU) / water ** 2,
      (rho * (glaze - water) * onceU) / water ** 2,
    ),
  });
}

/**
 * Specific gravity from a hydrometer, at the temperature of the glaze.
 *
 * The scale value is taken as SG as printed. A scale that refers to water at 60 °F reads 0.1 % high on water at
 * 4 °C, a seventh of the uncertainty, and is left alone. The glass expands by 25·10⁻⁶ per °C about 20 °C.
 * u is the larger of half a division and 0.01, joined by the spread of replicates.
 * @param i scale, values read, division in units of that scale, temperature in °C (default 20)
 * @throws RangeError when a number cannot be, or the result is lighter than water
 */
export function hydrometer(i: {
  scale: HydrometerScale;
  values: number[];
  division?: number;
  temperatureC?: number;
}): Measured {
  const { scale, division = 0, temperatureC = 20 } = i;
  requireAny(i.values, 'Type what the hydrometer reads at the surface.');
  requireNotNegative(division, 'A division of the scale cannot be negative.');
  if (!(temperatureC >= 0 && temperatureC <= 40)) {
    throw new RangeError('The temperature must lie between 0 and 40 °C.');
  }

  const gravities = i.values.map((value) => fromScale(scale, value));
  const printed = mean(gravities);
  const halfDivision = (division / 2) * gravityPerUnit(scale, printed);
  return plausible({
    specificGravity: printed * (1 - GLASS_EXPANSION * (temperatureC - 20)),
    standardUncertainty: combine(Math.max(halfDivision, HYDROMETER_FLOOR), spreadOfMean(gravities)),
  });
}

/** Combined standard uncertainty of independent shares: root sum of squares (GUM 5.1.2). */
export function combine(...u: number[]): number {
  return Math.hypot(...u);
}

/**
 * What a gravity measured at another temperature would be at 20 °C.
 *
 * The solids mass fraction w stays, the water changes: 1/G = w/S + (1 − w)/ρ_w at both temperatures. The solids
 * expand a hundred times less than the water and are taken as rigid.
 * @param m the gravity at the temperature it was measured
 * @param i that temperature in °C (0 to 40) and the particle density of the solids in g/cm³
 * @throws RangeError outside 0 to 40 °C, or when the slurry would be as heavy as its solids
 */
export function normaliseTo20(m: Measured, i: { temperatureC: number; solidsDensity: number }): Measured {
  if (!(m.specificGravity < i.solidsDensity)) {
    throw new RangeError('The gravity must be below that of the dry solids.');
  }
  const perWater = 1 / waterDensity(i.temperatureC);
  const perWater20 = 1 / waterDensity(20);
  const perSolids = 1 / i.solidsDensity;
  const solids = (perWater - 1 / m.specificGravity) / (perWater - perSolids);
  const at20 = 1 / (solids * perSolids + (1 - solids) * perWater20);
  const slope = ((at20 / m.specificGravity) ** 2 * (perWater20 - perSolids)) / (perWater - perSolids);
  return { specificGravity: at20, standardUncertainty: m.standardUncertainty * slope };
}

function fromScale(scale: HydrometerScale, value: number): number {
  if (scale === 'twaddell') return fromTwaddell(value);
  if (scale === 'baume') return fromBaume(value);
  return value;
}

/** How much SG one unit of the scale is worth about this gravity. */
function gravityPerUnit(scale: HydrometerScale, sg: number): number {
  if (scale === 'twaddell') return 1 / 200;
  if (scale === 'baume') return sg ** 2 / BAUME_MODULUS;
  return 1;
}

function mean(values: number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Standard error of the mean from the spread of replicates, 0 for a single one. */
export function spreadOfMean(values: number[]): number {
  const n = values.length;
  if (n < 2) return 0;
  const middle = mean(values);
  const squares = values.reduce((sum, value) => sum + (value - middle) ** 2, 0);
  return Math.sqrt(squares / (n - 1) / n);
}

function uncertaintyOfMean(values: number[], resolution: number): number {
  return combine(resolution / Math.sqrt(12 * values.length), spreadOfMean(values));
}

function plausible(m: Measured): Measured {
  if (!Number.isFinite(m.specificGravity)) throw new RangeError('These numbers give no gravity; check them.');
  if (m.specificGravity < 1) {
    throw new RangeError('This would be lighter than water (SG below 1.000); check the numbers.');
  }
  return m;
}

function requireAny(values: number[], sentence: string): void {
  if (values.length === 0 || !values.every(Number.isFinite)) throw new RangeError(sentence);
}

function requirePositive(values: number[], sentence: string): void {
  requireAny(values, sentence);
  if (values.some((value) => value <= 0)) throw new RangeError(sentence);
}

function requireNotNegative(value: number, sentence: string): void {
  if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(sentence);
}
