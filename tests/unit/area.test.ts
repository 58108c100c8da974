import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { glazedAreaCm2 } from '../../server/ware/area.ts';
import { FORMS } from '../../server/ware/presets.ts';
import type { Footprint } from '../../server/ware/size.ts';

const round = (diameterMm: number): Footprint => ({ shape: 'circle', diameterMm });
const box = (widthMm: number, depthMm: number): Footprint => ({ shape: 'rectangle', widthMm, depthMm });
const shape = (form: string, footprint: Footprint, heightMm: number, thickestMm = 6) => ({
  form,
  size: { footprint, heightMm },
  thickestMm,
});

describe('glazed area, an estimate from the shape', () => {
  it('a beaker is a cylinder: the wall outside above the foot, wall and floor inside', () => {
    const beaker = shape('beaker', round(80), 100, 5);
    expect(glazedAreaCm2(beaker, 'outside', 0)).toBeCloseTo(Math.PI * 8 * 10, 6);
    expect(glazedAreaCm2(beaker, 'outside', 10)).toBeCloseTo(Math.PI * 8 * 9, 6);
    expect(glazedAreaCm2(beaker, 'inside', 10)).toBeCloseTo(Math.PI * 7 * 9.5 + (Math.PI / 4) * 49, 6);
    expect(glazedAreaCm2(beaker, 'over', 10)).toBeCloseTo(Math.PI * 8 * 4.5, 6);
  });

  it('a square pot is a box', () => {
    const pot = shape('vase', box(100, 60), 200, 10);
    expect(glazedAreaCm2(pot, 'outside', 0)).toBeCloseTo(2 * (10 + 6) * 20, 6);
    expect(glazedAreaCm2(pot, 'inside', 0)).toBeCloseTo(2 * (8 + 4) * 19 + 8 * 4, 6);
  });

  it('a cup is round, whatever its handle adds', () =>
    expect(glazedAreaCm2(shape('cup', box(125, 85), 100), 'all', 6)).toBeCloseTo(
      glazedAreaCm2(shape('beaker', round(85), 100), 'all', 6),
      6,
    ));

  it('a bowl leans in to half its width: a truncated cone', () => {
    const slant = Math.hypot(4, 7.5);
    expect(glazedAreaCm2(shape('bowl', round(160), 75), 'outside', 0)).toBeCloseTo(
      Math.PI * (8 + 4) * slant,
      6,
    );
  });

  it('a tile is glazed on its face and its edges', () => {
    const tile = shape('tile', box(100, 100), 10, 10);
    expect(glazedAreaCm2(tile, 'inside', 6)).toBeCloseTo(100, 6);
    expect(glazedAreaCm2(tile, 'outside', 0)).toBeCloseTo(40, 6);
  });

  it('is above 0 for whatever is registered, all over is both sides, and wider is more', () => {
    const mm = fc.double({ min: 2, max: 2000, noNaN: true });
    const any = fc.record({
      form: fc.constantFrom(...FORMS, 'teapot lid'),
      footprint: fc.oneof(
        mm.map(round),
        fc.tuple(mm, mm).map(([wide, deep]) => box(wide, deep)),
      ),
      heightMm: mm,
      thickestMm: fc.double({ min: 0, max: 300, noNaN: true }),
      held: fc.double({ min: 0, max: 80, noNaN: true }),
    });
    fc.assert(
      fc.property(any, ({ form, footprint, heightMm, thickestMm, held }) => {
        const one = shape(form, footprint, heightMm, thickestMm);
        const [inside, outside, over, all] = (['inside', 'outside', 'over', 'all'] as const).map((face) =>
          glazedAreaCm2(one, face, held),
        ) as [number, number, number, number];
        for (const area of [inside, outside, over]) {
          expect(area).toBeGreaterThan(0);
          expect(Number.isFinite(area)).toBe(true);
        }
        expect(all).toBeCloseTo(inside + outside, 6);
        expect(over).toBeLessThan(outside);
        const wider =
          footprint.shape === 'circle'
            ? round(footprint.diameterMm * 2)
            : box(footprint.widthMm * 2, footprint.depthMm * 2);
        expect(glazedAreaCm2(shape(form, wider, heightMm, thickestMm), 'all', held)).toBeGreaterThan(all);
      }),
    );
  });
});
