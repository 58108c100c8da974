import { describe, expect, it } from 'vitest';
import { calibrate, fromMark, markFor, mmPerHundredth } from '../../server/buckets/float.ts';

describe('floating bodies', () => {
  // White, Fluid Mechanics, P2.109 (same problem as UVa 10434): h = (W/γ₀)(1 − 1/SG)/(πD²/4), h = 0 in water.
  // Computed from the formula with W 20 g, D 8 mm.
  const RISES: [sg: number, mm: number][] = [
    [1.1, 36.172],
    [1.25, 79.577],
    [1.45, 123.482],
  ];
  const STEM_MM = 200;

  it('a stem of 8 mm on 20 g rises as White says, once two of its marks are known', () => {
    const marks = RISES.map(([specificGravity, rise]) => ({ specificGravity, millimetres: STEM_MM - rise }));
    const [first, , last] = marks as [(typeof marks)[0], unknown, (typeof marks)[0]];
    const float = calibrate([first, last]);
    for (const { millimetres, specificGravity } of marks) {
      expect(fromMark(float, [millimetres]).specificGravity).toBeCloseTo(specificGravity, 4);
      expect(markFor(float, specificGravity)).toBeCloseTo(millimetres, 2);
    }
    // 1/SG falls by A/m = 50.265 mm² / 20 g for each mm that rises.
    expect(float.slopePerMm).toBeCloseTo((Math.PI * 8 ** 2) / 4 / 20_000, 7);
  });

  it('Young & Freedman, University Physics, 14.58: 13.2 cm³, stem 0.400 cm², 8.00 and 3.20 cm out', () => {
    // Immersed share: 1 − 8.00·0.400/13.2 in water, 1 − 3.20·0.400/13.2 in alcohol; 839 kg/m³ follows.
    const volume = 13.2;
    const immersed = (out: number) => volume - 0.4 * out;
    const alcohol = immersed(8) / immersed(3.2);
    expect(Math.abs(alcohol - 0.839)).toBeLessThan(0.001);
    // The same float, with marks in mm from the foot of its stem, in water and in a glaze that it leaves 20 cm out of.
    const markAt = (out: number) => 300 - 10 * out;
    const thick = immersed(8) / immersed(20);
    const float = calibrate([
      { millimetres: markAt(8), specificGravity: 1 },
      { millimetres: markAt(20), specificGravity: thick },
    ]);
    expect(1 / (float.intercept + float.slopePerMm * markAt(3.2))).toBeCloseTo(alcohol, 9);
  });

  it('a bottle moves by m/(A·SG²) for a change of SG: 250 g on a neck of 20 mm, 0.01 at 1.45', () => {
    const area = (Math.PI * 20 ** 2) / 4 / 100; // cm²
    const depth = (sg: number) => (10 * (250 / sg - 150)) / area; // 150 cm³ below the neck
    const float = calibrate([1.3, 1.6].map((sg) => ({ millimetres: depth(sg), specificGravity: sg })));
    expect(mmPerHundredth(float, 1.45)).toBeCloseTo((10 * 250 * 0.01) / (area * 1.45 ** 2), 9);
    expect(mmPerHundredth(float, 1.45)).toBeCloseTo(depth(1.445) - depth(1.455), 3);
  });
});
