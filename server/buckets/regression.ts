interface Point {
  x: number;
  y: number;
}

/** A straight line y = intercept + slope·x through points, with what it leaves open. */
export interface Line {
  intercept: number;
  slope: number;
  /** Standard deviation of the points about the line, on n − 2; null where two points leave nothing over. */
  residualSd: number | null;
  /** Standard errors; null with `residualSd`. */
  interceptU: number | null;
  slopeU: number | null;
}

/**
 * Ordinary least squares. Sums are taken about the means, so that a large offset costs no digits.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1; held against the certified values of NIST StRD.
 * @throws RangeError when there are fewer than two points, or all have the same x
 */
export function fitLine(points: Point[]): Line {
  const n = points.length;
  const { mean: x, squares: sxx } = about(points.map((p) => p.x));
  const { mean: y } = about(points.map((p) => p.y));
  if (n < 2 || !(sxx > 0)) throw new RangeError('A line needs two points apart from each other.');
  const slope = sum(points.map((p) => (p.x - x) * (p.y - y))) / sxx;
  const intercept = y - slope * x;
  if (n === 2) return { intercept, slope, residualSd: null, interceptU: null, slopeU: null };
  const left = sum(points.map((p) => (p.y - y - slope * (p.x - x)) ** 2));
  const residualSd = Math.sqrt(left / (n - 2));
  return {
    intercept,
    slope,
    residualSd,
    interceptU: residualSd * Math.sqrt(1 / n + x ** 2 / sxx),
    slopeU: residualSd / Math.sqrt(sxx),
  };
}

/** How far a line knows its own height at `x`, in standard deviations of one point: √(1/n + (x − x̄)²/Sxx). */
export function leverage(xs: number[], x: number): number {
  const { mean, squares } = about(xs);
  return Math.sqrt(1 / xs.length + (x - mean) ** 2 / squares);
}

function about(values: number[]): { mean: number; squares: number } {
  const mean = sum(values) / values.length;
  return { mean, squares: sum(values.map((value) => (value - mean) ** 2)) };
}

const sum = (values: number[]): number => values.reduce((total, value) => total + value, 0);
