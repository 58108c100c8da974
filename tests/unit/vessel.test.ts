import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { depthAtLitres, litresAtDepth, litresPerMm } from '../../server/buckets/vessel.ts';

const mm = fc.double({ min: 50, max: 800, noNaN: true });
const shapes = fc.record({ bottomMm: mm, topMm: mm, heightMm: mm });
const share = fc.double({ min: 0, max: 1, noNaN: true });
const bucket = { bottomMm: 260, topMm: 300, heightMm: 380 };

describe('a bucket as a vessel', () => {
  it('goes from depth to litres and back, tapered either way or straight', () => {
    const straight = mm.map((d) => ({ bottomMm: d, topMm: d, heightMm: 380 }));
    fc.assert(
      fc.property(fc.oneof(shapes, straight), share, (shape, part) => {
        const depth = part * shape.heightMm;
        expect(depthAtLitres(shape, litresAtDepth(shape, depth))).toBeCloseTo(depth, 6);
      }),
    );
  });

  it('holds nothing at the bottom and more with every mm, at the rate the surface says', () => {
    fc.assert(
      fc.property(shapes, share, (shape, part) => {
        const depth = part * (shape.heightMm - 0.02) + 0.01;
        expect(litresAtDepth(shape, 0)).toBe(0);
        const around = litresAtDepth(shape, depth + 0.01) - litresAtDepth(shape, depth - 0.01);
        expect(around / 0.02).toBeCloseTo(litresPerMm(shape, depth), 6);
      }),
    );
  });

  it('lies between the straight buckets of its two diameters', () => {
    const inside = litresAtDepth(bucket, 380);
    expect(inside).toBeGreaterThan(litresAtDepth({ ...bucket, topMm: 260 }, 380));
    expect(inside).toBeLessThan(litresAtDepth({ ...bucket, bottomMm: 300 }, 380));
  });

  it('refuses marks above the rim and litres it cannot hold, and says how much it does hold', () => {
    expect(() => litresAtDepth(bucket, 381)).toThrow(/380 mm/);
    expect(() => litresAtDepth(bucket, -1)).toThrow(/negative/);
    expect(() => litresPerMm(bucket, Number.NaN)).toThrow(RangeError);
    expect(() => depthAtLitres(bucket, 30)).toThrow(/23\.4 L/);
    expect(() => depthAtLitres(bucket, -1)).toThrow(RangeError);
    expect(depthAtLitres(bucket, litresAtDepth(bucket, 380))).toBeCloseTo(380, 9);
  });

  it('refuses a shape that is none', () => {
    for (const bad of [{ bottomMm: 0 }, { topMm: -300 }, { heightMm: Number.NaN }]) {
      expect(() => litresAtDepth({ ...bucket, ...bad }, 0)).toThrow(/more than zero/);
    }
  });
});
