import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BatchMark, batchesAfter, planBatch, stageOf } from '../../server/buckets/batch.ts';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import { gravityOf, litresOf } from '../../server/buckets/slurry.ts';
import { solidsDensity } from '../../server/materials/recipe.ts';

const SIMPLE = [
  { material: 'Potash feldspar', parts: 60, density: 2.5 },
  { material: 'Silica', parts: 40, density: 2.5 },
];

const line = fc.record({
  material: fc.string({ minLength: 1, maxLength: 8 }),
  parts: fc.double({ min: 0.5, max: 100, noNaN: true }),
  density: fc.double({ min: 1.7, max: 7, noNaN: true }),
});
const wanted = fc.record({
  lines: fc.array(line, { minLength: 1, maxLength: 9 }),
  litres: fc.double({ min: 2, max: 200, noNaN: true }),
  aim: fc.double({ min: 1.2, max: 1.65, noNaN: true }),
});
const tenths = (grams: number) => Math.round(grams * 10);

describe('a batch', () => {
  it('follows the dry-content formula', () => {
    // With ρ = 1 and S = 2.5, a litre at 1.5 holds 0.5·2.5/1.5 = 0.8333 kg dry and 0.6667 kg of water.
    expect(planBatch({ lines: SIMPLE, litres: 12, aim: 1.5 }, 1)).toEqual({
      grams: [6000, 4000],
      dryKg: 10,
      waterLitres: 8,
      heldBackLitres: 0.8,
    });
  });

  it('weighs additions beyond the hundred by the same parts', () => {
    const lines = [...SIMPLE, { material: 'Zirconium silicate', parts: 25, density: 2.5 }];
    expect(planBatch({ lines, litres: 12, aim: 1.5 }, 1).grams).toEqual([4800, 3200, 2000]);
  });

  it('gives the gram that is over to the line that lost most: 10 kg in thirds', () => {
    const lines = ['A', 'B', 'C'].map((material) => ({ material, parts: 1, density: 2.5 }));
    const { grams, dryKg } = planBatch({ lines, litres: 12, aim: 1.5 }, 1);
    expect(grams).toEqual([3334, 3333, 3333]);
    expect(dryKg).toBe(10);
  });

  it('weighs to whole grams from 100 g, to tenths below', () => {
    const lines = [...SIMPLE, { material: 'Cobalt carbonate', parts: 0.5, density: 2.5 }];
    // 10 000 g in 100.5 parts: 5970.15, 3980.10 and 49.75 g.
    const { grams, dryKg } = planBatch({ lines, litres: 12, aim: 1.5 }, 1);
    expect(grams).toEqual([5970, 3980, 49.8]);
    expect(dryKg).toBe(9.9998);
  });

  it('sums exactly to its dry mass, each line within a step of its share', () => {
    fc.assert(
      fc.property(wanted, ({ lines, litres, aim }) => {
        fc.pre(aim < solidsDensity(lines) - 0.05);
        const plan = planBatch({ lines, litres, aim });
        expect(plan.grams.reduce((sum, g) => sum + tenths(g), 0)).toBe(tenths(1000 * plan.dryKg));
        const parts = lines.reduce((sum, l) => sum + l.parts, 0);
        for (const [i, grams] of plan.grams.entries()) {
          const share = (1000 * plan.dryKg * (lines[i]?.parts ?? 0)) / parts;
          const step = grams >= 100 ? 1 : 0.1;
          // 0.55 g: what the whole may be off its formula.
          expect(Math.abs(grams - share)).toBeLessThan(step + 0.55);
          expect(Math.abs(tenths(grams) - 10 * grams)).toBeLessThan(1e-6);
          if (grams > 100) expect(Number.isInteger(grams)).toBe(true);
        }
      }),
    );
  });

  it('followed to the gram, gives the aim and the litres', () => {
    fc.assert(
      fc.property(wanted, ({ lines, litres, aim }) => {
        const density = solidsDensity(lines);
        fc.pre(aim < density - 0.05);
        const { dryKg, waterLitres } = planBatch({ lines, litres, aim });
        const water = waterLitres * WATER_20;
        expect(Math.abs(gravityOf(dryKg, water, density) - aim)).toBeLessThan(0.001);
        expect(Math.abs(litresOf(dryKg, water, density) - litres)).toBeLessThan(0.002);
      }),
    );
  });

  it('holds a tenth of the water back', () => {
    fc.assert(
      fc.property(wanted, ({ lines, litres, aim }) => {
        fc.pre(aim < solidsDensity(lines) - 0.05);
        const { waterLitres, heldBackLitres } = planBatch({ lines, litres, aim });
        expect(Math.abs(heldBackLitres - waterLitres / 10)).toBeLessThanOrEqual(0.000_51);
      }),
    );
  });

  it.each([
    ['no litres', { litres: 0 }, 'A batch of no litres is nothing to weigh: say how many are wanted.'],
    ['negative litres', { litres: -3 }, 'A batch of no litres'],
    ['endless litres', { litres: Number.POSITIVE_INFINITY }, 'A batch of no litres'],
    ['not a number', { litres: Number.NaN }, 'A batch of no litres'],
    ['an aim of the powder itself', { aim: 2.5 }, 'The dry glaze itself has a density of 2.50'],
    ['an aim beyond it', { aim: 3 }, 'the aim must lie below it'],
    ['an aim of water', { aim: WATER_20 }, 'A glaze is heavier than water'],
    ['no materials', { lines: [] }, 'A recipe needs at least one material.'],
    [
      'a colourant too small to weigh',
      { litres: 0.1, lines: [...SIMPLE, { material: 'Cobalt oxide', parts: 0.02, density: 6 }] },
      'less than a tenth of a gram of Cobalt oxide',
    ],
  ])('refuses %s in words', (_what, odd, words) => {
    const refused = () => planBatch({ lines: SIMPLE, litres: 10, aim: 1.46, ...odd });
    expect(refused).toThrow(RangeError);
    expect(refused).toThrow(words);
  });
});

describe('how far a batch has come', () => {
  const batch = { isWeighed: true, checkedAt: 1, isUsed: false, abandonedAt: null };
  it.each([
    ['weighing', { isWeighed: false, checkedAt: null }],
    ['to-check', { checkedAt: null }],
    ['checked', {}],
    ['used', { isUsed: true }],
    ['abandoned', { abandonedAt: 2 }],
  ])('%s', (stage, differs) => {
    expect(stageOf({ ...batch, ...differs })).toBe(stage);
  });
});

describe('the batches behind an event', () => {
  const mark = (number: number, kind: BatchMark['kind'], batch: number | null, happenedAt = number) => ({
    number,
    kind,
    batch,
    happenedAt,
  });
  const marks = [
    mark(1, 'setup', 4),
    mark(10, 'addition', 5),
    mark(20, 'setup', null),
    mark(30, 'addition', 6),
    mark(40, 'setup', 7),
    // Entered late: poured in between 20 and 30.
    mark(41, 'addition', 8, 25),
  ];
  const behind = (number: number, happenedAt = number) =>
    batchesAfter(marks, { number, happenedAt }).map(({ batch }) => batch);

  it('are those put in since the last set-up, in the order in which it happened', () => {
    expect(behind(1)).toEqual([4]);
    expect(behind(9)).toEqual([4]);
    expect(behind(10)).toEqual([4, 5]);
    expect(behind(19)).toEqual([4, 5]);
    expect(behind(22)).toEqual([]);
    expect(behind(26)).toEqual([8]);
    expect(behind(35)).toEqual([8, 6]);
    expect(behind(50)).toEqual([7]);
  });

  it('are none before anything went in, nor for a bucket without marks', () => {
    expect(behind(0)).toEqual([]);
    expect(batchesAfter([], { number: 5, happenedAt: 5 })).toEqual([]);
  });
});
