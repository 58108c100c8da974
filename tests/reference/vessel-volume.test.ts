import { describe, expect, it } from 'vitest';
import { depthAtLitres, litresAtDepth, litresPerMm } from '../../server/buckets/vessel.ts';

describe('volume of a bucket', () => {
  it('is 86.67 L for a round chamber 44 cm wide and 57 cm high (geometry)', () => {
    const drum = { bottomMm: 440, topMm: 440, heightMm: 570 };
    expect(Math.abs(litresAtDepth(drum, 570) - 86.67)).toBeLessThanOrEqual(0.01);
    expect(Math.abs(depthAtLitres(drum, 86.67) - 570)).toBeLessThanOrEqual(0.1);
  });

  it('is π/4 of the square frustum: sides 4 and 2, height 6, volume 56 (Moscow papyrus, problem 14, from memory)', () => {
    const upright = { bottomMm: 200, topMm: 400, heightMm: 600 };
    expect(litresAtDepth(upright, 600)).toBeCloseTo((Math.PI / 4) * 56, 9);
    const tapering = { bottomMm: 400, topMm: 200, heightMm: 600 };
    expect(litresAtDepth(tapering, 600)).toBeCloseTo((Math.PI / 4) * 56, 9);
  });

  it('is worth the area of the surface a mm: 1 L for 1 m² (geometry)', () => {
    const wide = { bottomMm: 2000 / Math.sqrt(Math.PI), topMm: 2000 / Math.sqrt(Math.PI), heightMm: 100 };
    expect(litresPerMm(wide, 50)).toBeCloseTo(1, 12);
  });
});
