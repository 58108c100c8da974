import { describe, expect, it } from 'vitest';
import {
  CRITICAL_FRACTION,
  dryCoatGrams,
  gravityFromTile,
  solidsVolumeFraction,
  suction,
  thicknessMm,
  waterPerCoat,
} from '../../server/ware/coat.ts';
import { fitCoat, perRootSecond } from '../../server/ware/coat-fit.ts';

describe('solids of a slurry', () => {
  // C_v = (S_m − 1)/(S_s − 1), as in slurry handbooks, with water as 1 g/cm³.
  it.each([
    [1.45, 2.65, 0.27273],
    [1.5, 2.6, 0.3125],
  ])('SG %d of solids %d: %d by volume', (specificGravity, solidsDensity, fraction) => {
    expect(solidsVolumeFraction({ specificGravity, solidsDensity }, 1)).toBeCloseTo(fraction, 5);
  });

  // Norsker & Danisch, Forming Techniques for the Self-Reliant Potter (GTZ 1991): SG 1.7 of solids 2.5 is 1 166.67 g dry of
  // 1 700 g, with water as 1; with water of 20 °C it is 1.1 g of 1 700 less than a thousandth more.
  it('1 700 g of SG 1.7 leave 1 166.67 g dry', () => {
    const dry = dryCoatGrams(1700, { specificGravity: 1.7, solidsDensity: 2.5 });
    expect(Math.abs(dry / 1166.67 - 1)).toBeLessThan(0.0015);
  });

  it('and a tile weighed wet and dry says its gravity back', () => {
    const dry = dryCoatGrams(10, { specificGravity: 1.46, solidsDensity: 2.6 });
    expect(gravityFromTile({ wetGainGrams: 10, dryCoatGrams: dry, solidsDensity: 2.6 })).toBeCloseTo(
      1.46,
      12,
    );
  });

  // 0.07 g/cm² at the density from memory of 1.4 g/cm³, as usual coats of 0.4 to 0.6 mm: common practice, no source.
  it('0.07 g/cm² are half a millimetre', () => expect(thicknessMm(0.07)).toBeCloseTo(0.5, 12));
});

describe('uptake by the square root of time', () => {
  // Sorptivity of clay brick 1.16 mm/√min: C. Hall & W. D. Hoff, Water Transport in Brick, Stone and Concrete, as quoted in
  // encyclopedias; volume of water per area = S·√t. What stays behind is mass balance. The tiles are made from that, so
  // they prove the arithmetic and its units, not that a glaze takes up like this.
  const sorptivityCm = 0.116 / Math.sqrt(60);
  const slurry = { specificGravity: 1.46, solidsDensity: 2.6 };
  const tiles = [1, 2, 4, 8, 16].map((seconds) => {
    const phi = solidsVolumeFraction(slurry);
    const solidsCm = sorptivityCm * Math.sqrt(seconds) * suction(phi, CRITICAL_FRACTION) * CRITICAL_FRACTION;
    return { ...slurry, seconds, areaCm2: 80, dryCoatGrams: 80 * solidsCm * slurry.solidsDensity };
  });

  it('is found again from the coats that such a wall takes', () => {
    const found = fitCoat(tiles);
    if (found.basis === 'none') throw new Error('no fit');
    const water = perRootSecond(found, slurry).value * waterPerCoat(slurry);
    expect(found.intercept).toBeCloseTo(0, 9);
    expect(water / 0.99821).toBeCloseTo(sorptivityCm, 9);
  });
});
