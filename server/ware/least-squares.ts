import { studentBelow } from '../buckets/drift.ts';

/** One observation: y = Σ beta·x, known to the standard uncertainty u. */
export interface Row {
  x: readonly number[];
  y: number;
  u: number;
}

export interface Solution {
  beta: number[];
  /** Covariance of beta if every u is as stated; times the scale of the residuals otherwise. */
  covariance: number[][];
  /** Sum of squared residuals over u². */
  chi2: number;
}

/** What `work` answers; null where a fit in it cannot tell its columns apart. */
export function ifSolvable<T>(work: () => T): T | null {
  try {
    return work();
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** A column that the others make up to this share adds nothing but rounding. */
const DEPENDENT = 1e-10;

/**
 * Weighted linear least squares by Householder reflections of columns scaled to length one.
 *
 * Source: G. H. Golub, Numerische Mathematik 7 (1965) 206-216 (from memory); held against certified values of NIST StRD.
 * @param rows at least as many as there are columns, u above zero
 * @throws RangeError where the rows cannot tell the columns apart
 */
export function leastSquares(rows: readonly Row[]): Solution {
  const columns = rows[0]?.x.length ?? 0;
  if (columns === 0 || rows.length < columns) throw new RangeError('Too few observations.');
  const a = Array.from({ length: columns }, (_, j) => Float64Array.from(rows, (r) => (r.x[j] ?? 0) / r.u));
  const y = Float64Array.from(rows, (r) => r.y / r.u);
  const lengths = a.map((column) => {
    const length = Math.hypot(...column);
    for (let i = 0; i < column.length; i++) column[i] = (column[i] ?? 0) / length;
    return length;
  });
  for (const [j, column] of a.entries()) {
    const mirror = Float64Array.from(column.subarray(j));
    const length = Math.hypot(...mirror);
    if (!(length > DEPENDENT)) throw new RangeError('These observations cannot be told apart.');
    const head = mirror[0] ?? 0;
    mirror[0] = head + (head < 0 ? -length : length);
    const square = mirror.reduce((sum, value) => sum + value * value, 0);
    for (const target of [...a.slice(j), y]) reflect(target.subarray(j), mirror, square);
  }
  const beta = backwards(a, y.subarray(0, columns));
  const unit = (k: number) => Float64Array.from({ length: columns }, (_, i) => (i === k ? 1 : 0));
  const inverse = a.map((_, k) => backwards(a, unit(k)));
  const over = (value: number, j: number) => value / (lengths[j] ?? 1);
  return {
    beta: beta.map(over),
    covariance: a.map((_, i) =>
      a.map((_, j) =>
        over(
          over(
            inverse.reduce((sum, column) => sum + (column[i] ?? 0) * (column[j] ?? 0), 0),
            i,
          ),
          j,
        ),
      ),
    ),
    chi2: y.subarray(columns).reduce((sum, value) => sum + value * value, 0),
  };
}

function reflect(target: Float64Array, mirror: Float64Array, square: number): void {
  const along = (2 * target.reduce((sum, value, i) => sum + value * (mirror[i] ?? 0), 0)) / square;
  for (let i = 0; i < target.length; i++) target[i] = (target[i] ?? 0) - along * (mirror[i] ?? 0);
}

/** Solves the triangle R·z = right, R by columns. */
function backwards(columns: Float64Array[], right: Float64Array): number[] {
  const z = Array.from(right);
  for (let j = columns.length - 1; j >= 0; j--) {
    const column = columns[j] ?? new Float64Array();
    const solved = (z[j] ?? 0) / (column[j] ?? 1);
    z[j] = solved;
    for (let i = 0; i < j; i++) z[i] = (z[i] ?? 0) - solved * (column[i] ?? 0);
  }
  return z;
}

/**
 * The value that Student's t stays below with the given chance, by halving.
 * @param chance 0.5 up to, not with, 1
 * @param freedom whole degrees of freedom, 1 and up
 */
export function studentQuantile(chance: number, freedom: number): number {
  let [low, high] = [0, 1];
  while (studentBelow(high, freedom) < chance && high < 1e9) [low, high] = [high, 2 * high];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (studentBelow(middle, freedom) < chance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
