import { describe, expect, it } from 'vitest';
import {
  fromBaume,
  fromImperialPintOz,
  fromTwaddell,
  perImperialPintOz,
  toBaume,
  toTwaddell,
} from '../../server/buckets/gravity.ts';

describe('Twaddell', () => {
  it.each([
    [7, 1.035, 'Lunge, in Sizes.com "hydrometer, Twaddell"'],
    [20, 1.1, 'Lunge'],
    [100, 1.5, 'Lunge'],
    [25, 1.125, 'Beringer, A Text-Book of Assaying'],
    [160, 1.8, 'encyclopedia, "Twaddell scale"'],
    [200, 2.0, 'encyclopedia, "Twaddell scale"'],
  ])('%f °Tw is SG %f (%s)', (tw, sg) => {
    expect(fromTwaddell(tw)).toBeCloseTo(sg, 12);
    expect(toTwaddell(sg)).toBeCloseTo(tw, 9);
  });
});

describe('Baumé, heavier than water, 145/(145 − °Bé): Roberts & Etherington, Bookbinding …, "Baumé"', () => {
  it('meets the other scales exactly at 1.450: 45 °Bé and 90 °Tw', () => {
    expect(fromBaume(45)).toBe(1.45);
    expect(fromTwaddell(90)).toBe(1.45);
    expect(toBaume(1.45)).toBeCloseTo(45, 9);
    expect(toTwaddell(1.45)).toBeCloseTo(90, 9);
  });

  it.each([
    [0, 1.0],
    [10, 1.0741],
    [20, 1.16],
    [30, 1.2609],
    [40, 1.381],
    [50, 1.5263],
    [60, 1.7059],
    [66, 1.8354],
  ])('%f °Bé is SG %f', (be, sg) => {
    expect(Math.abs(fromBaume(be) - sg)).toBeLessThanOrEqual(0.0001);
  });

  it.each([
    [1.1, 13.182],
    [1.25, 29.0],
    [1.5, 48.333],
    [1.7, 59.706],
  ])('SG %f is %f °Bé', (sg, be) => {
    expect(Math.abs(toBaume(sg) - be)).toBeLessThanOrEqual(0.001);
  });

  it('is not the old modulus 144.3, by which 32 °Bé is 1.285 (Beringer)', () => {
    expect(Math.abs(fromBaume(32) - 1.2832)).toBeLessThanOrEqual(0.0001);
  });
});

describe('weight of a pint', () => {
  it('is about 20 oz for an imperial pint of water, 36 oz for SG 1.80 (from memory: handbooks, P = 20·SG)', () => {
    // The handbooks' round 20 refers to water at 62 °F weighed in air: 0.2 % under the exact 20.04.
    expect(Math.abs(perImperialPintOz(1.8) - 36)).toBeLessThanOrEqual(0.1);
    expect(Math.abs(fromImperialPintOz(36) - 1.8)).toBeLessThanOrEqual(0.005);
  });
});
