import { describe, expect, it } from 'vitest';
import {
  dryToThicken,
  gravityOf,
  litresOf,
  solidsKg,
  solidsMassFraction,
  waterKg,
  waterToTakeOff,
} from '../../server/buckets/slurry.ts';

/** The published tables take water as 1. */
const rho = 1;

describe('dry content, W = (L − 1000)·S/(S − 1) (Brongniart 1854, p. 249)', () => {
  it('is 1,166 g a litre at 1700 g, S 2.5, and 35 kg in 30 L (Norsker & Danisch, GTZ/Vieweg 1991)', () => {
    expect(Math.abs(solidsKg(1, 1.7, 2.5, rho) * 1000 - 1166)).toBeLessThanOrEqual(1);
    expect(Math.abs(solidsKg(30, 1.7, 2.5, rho) - 35)).toBeLessThanOrEqual(0.05);
  });

  // Handbook for Australian Potters (Harrison et al.), S = 2.6; printed halves go down.
  it.each([
    [1.05, 81, 1231],
    [1.1, 162, 615],
    [1.15, 244, 410],
    [1.2, 325, 308],
    [1.25, 406, 246],
    [1.3, 487, 205],
    [1.35, 569, 176],
    [1.4, 650, 154],
    [1.45, 731, 137],
    [1.5, 812, 123],
    [1.55, 894, 112],
    [1.6, 975, 103],
    [1.65, 1056, 95],
    [1.7, 1137, 88],
  ])('at SG %f is %f g a litre, 100 g in %f mL (Handbook for Australian Potters)', (sg, grams, ml) => {
    const kgPerLitre = solidsKg(1, sg, 2.6, rho);
    expect(Math.abs(kgPerLitre * 1000 - grams)).toBeLessThanOrEqual(0.6);
    expect(Math.abs(100 / kgPerLitre - ml)).toBeLessThanOrEqual(1);
  });

  it('is 833.3 g dry and 666.7 g water at 1500 g/L, S 2.5 (S. Altmann, ceramics list, 1998)', () => {
    expect(Math.abs(solidsKg(1, 1.5, 2.5, rho) * 1000 - 833.3)).toBeLessThanOrEqual(0.1);
    expect(Math.abs(waterKg(1, 1.5, 2.5, rho) * 1000 - 666.7)).toBeLessThanOrEqual(0.1);
  });

  it('is 1250 g dry and 500 g water at 1750 g/L, S 2.5 (same note)', () => {
    expect(solidsKg(1, 1.75, 2.5, rho)).toBeCloseTo(1.25, 12);
    expect(waterKg(1, 1.75, 2.5, rho)).toBeCloseTo(0.5, 12);
  });

  it('asks for 5.6 kg of water to come off 14 kg dry at 1.5 to reach 1.75 (same note)', () => {
    const litres = litresOf(14, 11.2, 2.5, rho);
    expect(gravityOf(14, 11.2, 2.5, rho)).toBeCloseTo(1.5, 12);
    expect(Math.abs(waterToTakeOff({ litres, sg: 1.5, target: 1.75 }, rho) - 5.6)).toBeLessThanOrEqual(0.01);
  });

  it('asks for as much dry glaze as the printed dry contents differ by, volume for volume (HAP table)', () => {
    // From 1.40 (650 g/L) to 1.50 (812 g/L): a litre at 1.40 plus m kg fills 1 + m/2.6 litres at 1.50.
    const m = dryToThicken({ litres: 1, sg: 1.4, target: 1.5, solidsDensity: 2.6 });
    expect(Math.abs((0.65 + m) / (1 + m / 2.6) - 0.812)).toBeLessThanOrEqual(0.0006);
  });
});

describe('percent solids and slurry density', () => {
  it('is 1219.512 kg/m³ with 30 % of solids of 2500 (Engineering ToolBox, "Slurry - Density", prints 1220)', () => {
    expect(Math.abs(gravityOf(30, 70, 2.5, rho) * 1000 - 1219.512)).toBeLessThanOrEqual(0.001);
    expect(Math.abs(solidsMassFraction(1.219512, 2.5, rho) - 0.3)).toBeLessThanOrEqual(0.000001);
  });

  // Confirmed by calculation, from the handbooks' form C_w = S_s(S_m − 1)/(S_m(S_s − 1)).
  it.each([
    [2.5, 1.7, 68.627],
    [2.65, 1.45, 49.843],
    [2.6, 1.5, 54.167],
  ])('S %f at SG %f is %f %% of solids by mass', (solidsDensity, sg, percent) => {
    expect(Math.abs(solidsMassFraction(sg, solidsDensity, rho) * 100 - percent)).toBeLessThanOrEqual(0.001);
  });

  it('is 1.42703 with 35 % of S 2.2 in a liquid of 1.2 (slurry pump guide, "Useful formulas 1")', () => {
    expect(Math.abs(gravityOf(35, 65, 2.2, 1.2) - 1.42703)).toBeLessThanOrEqual(0.0001);
  });

  it('is 270.37 m³/h at 1.23288 for 2,400 t dry a day, 30 % of S 2.7 (same guide)', () => {
    expect(Math.abs(litresOf(100, 700 / 3, 2.7, rho) - 270.37)).toBeLessThanOrEqual(0.01);
    expect(Math.abs(gravityOf(100, 700 / 3, 2.7, rho) - 1.23288)).toBeLessThanOrEqual(0.00001);
  });
});
