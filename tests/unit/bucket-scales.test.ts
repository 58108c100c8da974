import { expect, it } from 'vitest';
import { onEveryScale, SCALE_NAMES, SCALES } from '../../server/buckets/scales.ts';

// SG 1.5 by the definitions: 200·0.5 °Tw; 145 − 145/1.5 °Bé; 568.26125 mL and 473.176473 mL in ounces of
// 28.349523 g; 100 mL.
it('writes one gravity on every scale', () => {
  expect(onEveryScale(1.5, 'sg').map(({ text }) => text)).toEqual([
    '1.500',
    '100.0 °Tw',
    '48.3 °Bé',
    '30.07 oz',
    '25.04 oz',
    '150.0 g',
  ]);
});

it.each(SCALE_NAMES)('comes back from %s', (scale) => {
  const there = SCALES[scale].to(1.46);
  expect(SCALES[scale].from(there)).toBeCloseTo(1.46, 12);
  expect(onEveryScale(there, scale)[0]?.text).toBe('1.460');
});

it.each([
  [0, 'sg'],
  [150, 'baume'],
  [144.9, 'baume'],
  [5, 'us-pint'],
] as const)('refuses %f on %s, which no slurry weighs', (value, scale) => {
  expect(() => onEveryScale(value, scale)).toThrow(RangeError);
});
