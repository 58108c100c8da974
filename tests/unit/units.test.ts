import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  fromKg,
  fromLitres,
  mass,
  massUnit,
  toKg,
  toLitres,
  volume,
  volumeUnit,
} from '../../server/core/units.ts';

const systems = fc.constantFrom('metric' as const, 'us' as const);

describe('units as shown', () => {
  it.each([
    [1.75, 'metric', '1.75 L'],
    [1.75, 'us', '1.85 qt'],
    [18, 'metric', '18 L'],
    [18.04, 'metric', '18 L'],
    [0.05, 'metric', '0.05 L'],
    [0, 'us', '0 qt'],
  ] as const)('%f L in %s is %s', (litres, system, shown) => {
    expect(volume(litres, system)).toBe(shown);
  });

  it.each([
    [1.2, 'metric', '1.2 kg'],
    [1.25, 'metric', '1.25 kg'],
    [1.2, 'us', '2.6 lb'],
    [0.2, 'us', '0.44 lb'],
    [0.025, 'metric', '0.025 kg'],
  ] as const)('%f kg in %s is %s', (kg, system, shown) => {
    expect(mass(kg, system)).toBe(shown);
  });

  it('names what is typed', () => {
    expect([volumeUnit('metric'), volumeUnit('us'), massUnit('metric'), massUnit('us')]).toEqual([
      'L',
      'qt',
      'kg',
      'lb',
    ]);
  });
});

describe('units as typed', () => {
  it('takes what was shown back to where it came from, within its last digit', () => {
    fc.assert(
      fc.property(systems, fc.double({ min: 0.01, max: 200, noNaN: true }), (system, value) => {
        const litres = toLitres(Number.parseFloat(volume(value, system)), system);
        const kg = toKg(Number.parseFloat(mass(value, system)), system);
        const digit = value < 0.05 ? 0.0006 : value < 9 ? 0.006 : 0.06;
        expect(Math.abs(litres - value)).toBeLessThanOrEqual(digit);
        expect(Math.abs(kg - value)).toBeLessThanOrEqual(Math.max(digit, system === 'us' ? 0.03 : 0));
      }),
    );
  });

  it('fills in what would be typed, exactly', () => {
    fc.assert(
      fc.property(systems, fc.double({ min: 0.001, max: 2000, noNaN: true }), (system, value) => {
        expect(toLitres(fromLitres(value, system), system)).toBeCloseTo(value, 9);
        expect(toKg(fromKg(value, system), system)).toBeCloseTo(value, 9);
      }),
    );
    expect(fromLitres(3.785411784, 'us')).toBeCloseTo(4, 9);
    expect(fromKg(1, 'metric')).toBe(1);
  });

  it('knows a quart and a pound', () => {
    expect(toLitres(4, 'us')).toBeCloseTo(3.785411784, 9);
    expect(toKg(2, 'us')).toBeCloseTo(0.90718474, 9);
    expect(toLitres(4, 'metric')).toBe(4);
    expect(toKg(2, 'metric')).toBe(2);
  });
});
