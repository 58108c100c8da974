import { describe, expect, it } from 'vitest';
import { ewma, individuals, signals } from '../../server/buckets/control-chart.ts';

const near = (a: number, b: number, tolerance: number) =>
  expect(Math.abs(a - b), `${a} for ${b}`).toBeLessThanOrEqual(tolerance);

describe('Montgomery & Runger, Applied Statistics and Probability for Engineers, 3rd ed., Table 16-3', () => {
  const x = [
    102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7, 101.1, 98.4, 97.0, 96.7,
    100.3, 101.4, 97.2, 101.0,
  ];
  const chart = individuals(x);

  it('has the printed moving ranges and their mean', () => {
    const printed = [
      7.2, 3.5, 0.1, 3.6, 3.5, 0.5, 1.3, 2.3, 1.9, 3.2, 2.6, 2.4, 2.7, 1.4, 0.3, 3.6, 1.1, 4.2, 3.8,
    ];
    expect(chart.ranges.map((range) => Number(range.toFixed(1)))).toEqual(printed);
    near(chart.centre, 99.1, 0.05);
    near(chart.meanRange, 2.59, 0.005);
  });

  it('has the printed limits, and no point out', () => {
    near(chart.high, 105.99, 0.01);
    near(chart.low, 92.21, 0.01);
    near(chart.highRange, 8.46, 0.01);
    expect(signals(x, chart).filter(({ what }) => what === 'out')).toEqual([]);
  });
});

describe('Montgomery, Introduction to Statistical Quality Control, EWMA example (λ = 0.10, L = 2.7, μ = 10, σ = 1)', () => {
  const x = [
    9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.2, 10.34, 9.03, 11.47, 10.51, 9.4, 10.08, 9.37,
    10.62, 10.31, 8.52, 10.84, 10.9, 9.33, 12.29, 11.5, 10.6, 11.08, 10.38, 11.62, 11.31, 10.52,
  ];
  const chart = ewma(x, { centre: 10, sd: 1, lambda: 0.1, reach: 2.7 });
  const value = (i: number) => chart[i - 1]?.value as number;

  it('weighs the first and the last values as printed', () => {
    for (const [i, z] of [9.945, 9.7495, 9.70355, 9.8992, 10.12528].entries()) near(value(i + 1), z, 1e-5);
    for (const [i, z] of [10.57314, 10.64682, 10.63414].entries()) near(value(28 + i), z, 1e-5);
  });

  it('widens its limits from 9.73 … 10.27 to 9.38 … 10.62', () => {
    near(chart[0]?.high as number, 10.27, 1e-4);
    near(chart[0]?.low as number, 9.73, 1e-4);
    near(chart[29]?.high as number, 10.62, 0.002);
    near(chart[29]?.low as number, 9.38, 0.002);
  });

  it('is first out at the 29th value', () => {
    expect(chart.findIndex(({ value, high, low }) => value > high || value < low) + 1).toBe(29);
  });
});

describe('NIST/SEMATECH e-Handbook of Statistical Methods (data and results from memory)', () => {
  it('6.3.2.2: ten flow rates are in control between 45.8159 and 55.8041 about 50.81', () => {
    const x = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    const chart = individuals(x);
    near(chart.centre, 50.81, 0.0005);
    near(chart.meanRange, 1.8778, 0.0005);
    // Printed with 3/1.128, not with the rounded 2.660.
    near(chart.high, 55.8041, 0.002);
    near(chart.low, 45.8159, 0.002);
    near(chart.highRange, 6.1347, 0.001);
    expect(signals(x, chart)).toEqual([]);
  });

  it('6.3.2.4: twenty values weighed with λ = 0.3 stay within 47.4115 … 52.5884', () => {
    const x = [
      52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
      52.4, 53.6, 52.1,
    ];
    const printed = [
      50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38,
      49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    const chart = ewma(x, { centre: 50, sd: 2.0539, lambda: 0.3 });
    for (const [i, z] of printed.entries()) near(chart[i]?.value as number, z, 0.0051);
    near(chart[19]?.high as number, 52.5884, 0.001);
    near(chart[19]?.low as number, 47.4115, 0.001);
  });
});

describe('Table A.22, factors for control charts, two values at a time', () => {
  it('has d2 = 1.128, D4 = 3.267 and E2 = 2.660', () => {
    // One step of 1: a mean moving range of 1 about a centre of 0.5.
    const chart = individuals([0, 1]);
    expect(1 / chart.sd).toBeCloseTo(1.128, 9);
    expect(chart.highRange).toBeCloseTo(3.267, 9);
    expect(chart.high - chart.centre).toBeCloseTo(2.66, 9);
  });
});

describe('Western Electric, Statistical Quality Control Handbook (1956), tests 1 and 4', () => {
  const limits = { low: -3, centre: 0, high: 3 };
  it('flags one point beyond three standard deviations, and the eighth in a row on one side', () => {
    expect(signals([0.1, -0.1, 3.1], limits)).toEqual([{ what: 'out', at: 2, side: 'above' }]);
    const seven = [1, 1, 1, 1, 1, 1, 1];
    expect(signals([...seven, -1], limits)).toEqual([]);
    expect(signals([-1, ...seven, 1], limits)).toEqual([{ what: 'run', from: 1, to: 8, side: 'above' }]);
  });

  it('cries wolf once in 152.7 points of plain scatter (Champ & Woodall 1987, from memory: rules 1 and 4)', () => {
    // E(k): points still to come with k in a row on one side; 0.0027 are out, the rest falls to both sides alike.
    const side = (1 - 0.0026998) / 2;
    // E(7) = 1 + side·E(1), E(k) = 1 + side·E(k+1) + side·E(1): each is a + b·E(1).
    let [a, b] = [1, side];
    for (let k = 6; k >= 1; k--) [a, b] = [1 + side * a, side + side * b];
    const afterOne = a / (1 - b);
    near(1 + 2 * side * afterOne, 152.7, 0.1);
  });
});
