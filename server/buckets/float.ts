import { combine, type Measured, spreadOfMean } from './gravity.ts';
import { fitLine, leverage } from './regression.ts';

/** Where the surface stood on the stem, in a slurry of known gravity. */
export interface Mark {
  /** mm of the stem's scale that are immersed, counted upwards. */
  millimetres: number;
  specificGravity: number;
}

/** What a float has been found to read. */
export interface Calibration {
  points: Mark[];
  /** 1/SG = intercept + slopePerMm · mm. */
  intercept: number;
  slopePerMm: number;
  /** Standard deviation of the points about the line, of 1/SG; null with two of them. */
  residual: number | null;
}

/** Lighter than water, or heavier than any glaze: no slurry, but water itself makes a good first pair. */
const [LIGHTEST, HEAVIEST] = [0.99, 4];
const EXTRAPOLATION = 0.05;
const RESOLUTION_MM = 1;
/** Standard uncertainty of the weighed gravity that a mark is paired with. */
const WEIGHED_U = 0.005;
const LEAST_MM_PER_HUNDREDTH = 3;
const NEAR = 0.05;
const SCATTER = 0.01;

/**
 * A float's line from pairs of mm immersed and specific gravity.
 *
 * A floating body displaces its own mass, m = SG·(V + A·mm), so that 1/SG is linear in the mm immersed
 * (Archimedes; White, Fluid Mechanics, P2.109 for a stem of constant area).
 * @throws RangeError with a sentence for the person when no line can be had from these pairs
 */
export function calibrate(points: Mark[]): Calibration {
  if (points.length < 2)
    throw new RangeError('A float needs at least two pairs: one in a thin glaze, one in a thick one.');
  for (const { millimetres, specificGravity } of points) {
    mustBeMark(millimetres);
    if (!(specificGravity >= LIGHTEST && specificGravity <= HEAVIEST))
      throw new RangeError('A glaze lies between 1, which is water, and 4.');
  }
  const marks = points.map((p) => p.millimetres).sort((a, b) => a - b);
  const twice = marks.find((mark, i) => mark === marks[i - 1]);
  if (twice !== undefined)
    throw new RangeError(
      `Two pairs have the same mark, ${twice} mm: each gravity needs a mark of its own. Use glazes that differ more.`,
    );
  const { intercept, slope, residualSd } = fitLine(
    points.map((p) => ({ x: p.millimetres, y: 1 / p.specificGravity })),
  );
  if (!(slope > 0))
    throw new RangeError(
      'In a heavier glaze less of a float is immersed, but these pairs say otherwise: look which mark belongs to which gravity.',
    );
  return { points, intercept, slopePerMm: slope, residual: residualSd };
}

/**
 * Specific gravity from where the surface stood on the stem, once or several times (rising and sinking).
 *
 * The mean counts. Its uncertainty joins that of the line at this mark, the scale read to 1 mm (÷√12, shrinking
 * with replicates) and the spread of the replicates. Points that lie on a line by luck do not make it certain:
 * each is taken to be no better than its mark and a weighed gravity of ± 0.01 allow.
 * @throws RangeError more than 0.05 SG outside the calibrated range, or when a number cannot be
 */
export function fromMark(calibration: Calibration, marks: number[]): Measured {
  for (const mark of marks) mustBeMark(mark);
  const mark = marks.reduce((sum, one) => sum + one, 0) / marks.length;
  const { points, intercept, slopePerMm, residual } = calibration;
  const specificGravity = 1 / (intercept + slopePerMm * mark);
  if (!isCovered(calibration, specificGravity)) {
    const { low, high } = rangeOf(calibration);
    throw new RangeError(
      `This mark lies more than ${EXTRAPOLATION} outside what the float was calibrated with, ` +
        `SG ${low.toFixed(2)} to ${high.toFixed(2)}: weigh the glaze instead, or calibrate the float further.`,
    );
  }
  const square = specificGravity ** 2;
  const pointU = Math.max(
    residual ?? 0,
    combine((slopePerMm * RESOLUTION_MM) / Math.sqrt(12), WEIGHED_U / square),
  );
  const lineU =
    pointU *
    leverage(
      points.map((p) => p.millimetres),
      mark,
    );
  const markU = combine(RESOLUTION_MM / Math.sqrt(12 * marks.length), spreadOfMean(marks));
  return { specificGravity, standardUncertainty: square * combine(lineU, slopePerMm * markU) };
}

/** Where the surface stands in a slurry of this gravity, in mm; null beyond what the calibration covers. */
export function markFor(calibration: Calibration, specificGravity: number): number | null {
  if (!isCovered(calibration, specificGravity)) return null;
  return (1 / specificGravity - calibration.intercept) / calibration.slopePerMm;
}

/** Where to draw the line of a gravity: to the half millimetre, as finely as a pen draws. */
export function lineAt(calibration: Calibration, specificGravity: number): string {
  const mm = markFor(calibration, specificGravity);
  if (mm === null) return 'not calibrated there';
  return mm < 0 ? 'below its scale' : `${Math.round(2 * mm) / 2} mm`;
}

/** How many mm of the stem 0.01 SG takes at this gravity. */
export const mmPerHundredth = ({ slopePerMm }: Calibration, specificGravity: number): number =>
  0.01 / (slopePerMm * specificGravity ** 2);

/** The gravities it was calibrated with, from the lightest to the heaviest. */
export function rangeOf({ points }: Calibration): { low: number; high: number } {
  const gravities = points.map((p) => p.specificGravity);
  return { low: Math.min(...gravities), high: Math.max(...gravities) };
}

/** The middle of what it was calibrated with: there its mm per 0.01 SG and its residual are told. */
export function middleOf(calibration: Calibration): number {
  const { low, high } = rangeOf(calibration);
  return (low + high) / 2;
}

/** The residual as SG in the middle of the range; null with two pairs. */
export const residualSg = (calibration: Calibration): number | null =>
  calibration.residual === null ? null : calibration.residual * middleOf(calibration) ** 2;

/** How far above the line a pair's gravity lies. */
export const missOf = ({ intercept, slopePerMm }: Calibration, point: Mark): number =>
  point.specificGravity - 1 / (intercept + slopePerMm * point.millimetres);

export const isCoarse = (calibration: Calibration, specificGravity: number): boolean =>
  mmPerHundredth(calibration, specificGravity) < LEAST_MM_PER_HUNDREDTH;

/** What somebody who uses this float should know, in sentences. */
export function warnings(calibration: Calibration): string[] {
  const { points } = calibration;
  const { low, high } = rangeOf(calibration);
  const middle = middleOf(calibration);
  const off = residualSg(calibration);
  const said: string[] = [];
  if (points.length === 2)
    said.push('Two pairs always lie on a line: a third would show whether one of them is wrong.');
  if (off !== null && off > SCATTER)
    said.push(
      `The pairs lie ${off.toFixed(3)} SG off their line: one of them may be wrong. Take them again.`,
    );
  if (high - low < NEAR)
    said.push(
      `The pairs lie only ${(high - low).toFixed(3)} SG apart: take a thinner or a thicker glaze too.`,
    );
  if (isCoarse(calibration, middle))
    said.push(
      `It moves only ${downToTenth(mmPerHundredth(calibration, middle))} mm for 0.01 SG: ` +
        'use a weighted bottle with a thin neck.',
    );
  return said;
}

/** What lies under a limit is not shown as the limit. */
const downToTenth = (value: number): string => (Math.floor(10 * value) / 10).toFixed(1);

function mustBeMark(millimetres: number): void {
  if (!(millimetres >= 0 && Number.isFinite(millimetres)))
    throw new RangeError('The millimetres immersed cannot be below zero.');
}

function isCovered(calibration: Calibration, specificGravity: number): boolean {
  const { low, high } = rangeOf(calibration);
  const slack = EXTRAPOLATION + 1e-9;
  return specificGravity >= low - slack && specificGravity <= high + slack;
}
