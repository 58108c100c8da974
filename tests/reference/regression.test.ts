import { describe, expect, it } from 'vitest';
import { fitLine } from '../../server/buckets/regression.ts';

// y,x of NIST Statistical Reference Datasets, linear regression, "Norris" (36 observations, lower difficulty):
// calibration of ozone monitors. Certified values to 15 digits.
const NORRIS =
  `0.1,0.2; 338.8,337.4; 118.1,118.2; 888.0,884.6; 9.2,10.1; 228.1,226.5; 668.5,666.3; 998.5,996.3;
449.1,448.6; 778.9,777.0; 559.2,558.2; 0.3,0.4; 0.1,0.6; 778.1,775.5; 668.8,666.9; 339.3,338.0; 448.9,447.5;
10.8,11.6; 557.7,556.0; 228.3,228.1; 998.0,995.8; 888.8,887.6; 119.6,120.2; 0.3,0.3; 0.6,0.3; 557.6,556.8;
339.3,339.1; 888.0,887.2; 998.5,999.0; 778.9,779.0; 10.2,11.1; 117.6,118.3; 228.9,229.2; 668.4,669.1;
449.2,448.9; 0.2,0.5`
    .split(';')
    .map((pair) => {
      const [y = Number.NaN, x = Number.NaN] = pair.split(',').map(Number);
      return { x, y };
    });

const certified = {
  intercept: -0.262323073774029,
  slope: 1.00211681802045,
  interceptU: 0.232818234301152,
  slopeU: 0.429796848199937e-3,
  residualSd: 0.884796396144373,
};

function expectCertified(found: object, wanted: object): void {
  for (const [name, value] of Object.entries(wanted))
    expect(
      Math.abs((found as Record<string, number>)[name] as number) / Math.abs(value) - 1,
      name,
    ).toBeCloseTo(0, 9);
}

describe('NIST StRD, linear regression: Norris', () => {
  it('has 36 observations', () => {
    expect(NORRIS).toHaveLength(36);
  });

  it('gives the certified estimates, their standard deviations and the residual', () => {
    const found = fitLine(NORRIS);
    expectCertified(found, certified);
    expect(Math.sign(found.intercept)).toBe(-1);
  });

  it('keeps its digits where x and y stand far from zero', () => {
    const far = 1e6;
    const found = fitLine(NORRIS.map(({ x, y }) => ({ x: x + far, y: y + far })));
    expectCertified(found, {
      slope: certified.slope,
      slopeU: certified.slopeU,
      residualSd: certified.residualSd,
      intercept: certified.intercept + far * (1 - certified.slope),
    });
  });
});
