import { describe, expect, it } from 'vitest';
import { leastSquares, studentQuantile } from '../../server/ware/least-squares.ts';

// NIST Statistical Reference Datasets, linear regression. Certified values to 15 digits.
// Norris (36 observations, y,x): calibration of ozone monitors.
const NORRIS =
  '0.1,0.2; 338.8,337.4; 118.1,118.2; 888.0,884.6; 9.2,10.1; 228.1,226.5; 668.5,666.3; 998.5,996.3; 449.1,448.6; 778.9,777.0; 559.2,558.2; 0.3,0.4; 0.1,0.6; 778.1,775.5; 668.8,666.9; 339.3,338.0; 448.9,447.5; 10.8,11.6; 557.7,556.0; 228.3,228.1; 998.0,995.8; 888.8,887.6; 119.6,120.2; 0.3,0.3; 0.6,0.3; 557.6,556.8; 339.3,339.1; 888.0,887.2; 998.5,999.0; 778.9,779.0; 10.2,11.1; 117.6,118.3; 228.9,229.2; 668.4,669.1; 449.2,448.9; 0.2,0.5'
    .split(';')
    .map((pair) => pair.split(',').map(Number));
// Pontius (40 observations): calibration of load cells, quadratic; x = 150 000·k, two runs.
const PONTIUS = [
  '.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399 1.63194 1.73947 1.84646 1.95392 2.06128 2.16844',
  '.11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150 1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829',
].flatMap((run) => run.split(' ').map((y, k) => [Number(y), 150_000 * (k + 1)]));

const near = (found: number | undefined, certified: number, digits: number) =>
  expect((found ?? Number.NaN) / certified - 1).toBeCloseTo(0, digits);

/** Coefficients, their standard deviations and that of the residuals. */
function solved(data: number[][], powers: number[]) {
  const rows = data.map(([y = 0, x = 0]) => ({ x: powers.map((p) => x ** p), y, u: 1 }));
  const { beta, covariance, chi2 } = leastSquares(rows);
  const residualSd = Math.sqrt(chi2 / (data.length - powers.length));
  return { beta, residualSd, sd: covariance.map((row, i) => residualSd * Math.sqrt(row[i] ?? 0)) };
}

describe('NIST StRD', () => {
  it('Norris', () => {
    const { beta, sd, residualSd } = solved(NORRIS, [0, 1]);
    near(beta[0], -0.262323073774029, 9);
    near(beta[1], 1.00211681802045, 9);
    near(sd[0], 0.232818234301152, 9);
    near(sd[1], 0.429796848199937e-3, 9);
    near(residualSd, 0.884796396144373, 9);
  });

  it('NoInt1, through the origin', () => {
    const { beta, sd, residualSd } = solved(
      Array.from({ length: 11 }, (_, i) => [130 + i, 60 + i]),
      [1],
    );
    near(beta[0], 2.07438016528926, 9);
    near(sd[0], 0.165289256198347e-1, 9);
    near(residualSd, 3.56753034006338, 9);
  });

  it('NoInt2, three observations', () => {
    const { beta, sd, residualSd } = solved(
      [
        [3, 4],
        [4, 5],
        [4, 6],
      ],
      [1],
    );
    near(beta[0], 0.727272727272727, 9);
    near(sd[0], 0.420827318078432e-1, 9);
    near(residualSd, 0.369274472937998, 9);
  });

  it('Pontius, quadratic over seven orders of magnitude', () => {
    const { beta, sd, residualSd } = solved(PONTIUS, [0, 1, 2]);
    near(beta[0], 0.673565789473684e-3, 8);
    near(beta[1], 0.732059160401003e-6, 8);
    near(beta[2], -0.316081871345029e-14, 7);
    near(sd[0], 0.107938612033077e-3, 7);
    near(sd[1], 0.157817399981659e-9, 7);
    near(sd[2], 0.486652849992036e-16, 7);
    near(residualSd, 0.205177424076185e-3, 7);
  });

  it('weighs: an observation of half the u counts like four', () => {
    const [a, b, c] = [
      { x: [1], y: 2, u: 1 },
      { x: [1], y: 4, u: 0.5 },
      { x: [1], y: 4, u: 1 },
    ] as const;
    expect(leastSquares([a, b]).beta[0]).toBeCloseTo(leastSquares([a, c, c, c, c]).beta[0] ?? 0, 12);
  });

  it('refuses columns that cannot be told apart, and too few rows', () => {
    const alike = [1, 2, 3].map((y) => ({ x: [1, 4], y, u: 1 }));
    expect(() => leastSquares(alike)).toThrow(RangeError);
    expect(() => leastSquares(alike.slice(0, 1))).toThrow(RangeError);
    expect(() => leastSquares([])).toThrow(RangeError);
  });
});

// Tables of Student's t: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2 (from memory).
describe("Student's quantiles", () => {
  it.each([
    [0.9, 1, 3.078],
    [0.9, 5, 1.476],
    [0.975, 2, 4.303],
    [0.975, 10, 2.228],
    [0.995, 3, 5.841],
    [0.995, 30, 2.75],
  ])('%d with %d degrees of freedom: %d', (chance, freedom, value) => {
    expect(Math.abs(studentQuantile(chance, freedom) - value)).toBeLessThan(6e-4);
  });

  it('is nothing in the middle', () => expect(studentQuantile(0.5, 4)).toBeCloseTo(0, 9));
});
