import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { jugs, usMeasure } from '../../server/buckets/pour.ts';

describe('half-litre jugs', () => {
  it.each([
    [1.75, 'three and a half half-litre jugs'],
    [0.5, 'one half-litre jug'],
    [0.25, 'half a half-litre jug'],
    [0.75, 'one and a half half-litre jugs'],
    [1, 'two half-litre jugs'],
    [6.25, 'twelve and a half half-litre jugs'],
    [6.5, '13 half-litre jugs'],
    [6.75, '13½ half-litre jugs'],
    [0.35, '350 mL'],
    [0.05, '50 mL'],
    [0.6, 'one half-litre jug and 100 mL'],
    [2.34, 'four half-litre jugs and 340 mL'],
    [0, '0 mL'],
  ])('%f L is %s', (litres, words) => {
    expect(jugs(litres)).toBe(words);
  });
});

describe('US customary measures', () => {
  it.each([
    [1.75, '1 quart and 3½ cups'],
    [0.946352946, '1 quart'],
    [0.25, '1 cup'],
    [0.3, '1¼ cups'],
    [3.785411784, '1 gallon'],
    [5.2, '1 gallon, 1 quart and 2 cups'],
    [10, '2 gallons, 2 quarts and 2¼ cups'],
    [0.1, '3½ fl oz'],
    [0.03, '1 fl oz'],
    [0.01, '⅜ fl oz'],
    [0, '0 fl oz'],
  ])('%f L is %s', (litres, words) => {
    expect(usMeasure(litres)).toBe(words);
  });

  it('says what to pour within half its smallest step', () => {
    const units = { gallon: 3.785411784, quart: 0.946352946, cup: 0.2365882365 };
    const fractions: Record<string, number> = { '¼': 0.25, '½': 0.5, '¾': 0.75 };
    const number = (text: string) => {
      const fraction = fractions[text.at(-1) ?? ''] ?? 0;
      return fraction + Number(fraction ? text.slice(0, -1) || 0 : text);
    };
    fc.assert(
      fc.property(fc.double({ min: 0.24, max: 40, noNaN: true }), (litres) => {
        const parts = usMeasure(litres).split(/, | and /);
        const poured = parts.reduce((sum, part) => {
          const [count = '', unit = ''] = part.split(' ');
          return sum + number(count) * units[unit.replace(/s$/, '') as keyof typeof units];
        }, 0);
        expect(Math.abs(poured - litres)).toBeLessThanOrEqual(0.2365882365 / 8 + 1e-9);
      }),
    );
  });
});
