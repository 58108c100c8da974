import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { massFractions, solidsDensity } from '../../server/materials/recipe.ts';

const line = fc.record({
  material: fc.constantFrom('feldspar', 'silica', 'whiting'),
  parts: fc.double({ min: 0.1, max: 100, noNaN: true }),
  density: fc.double({ min: 2, max: 7, noNaN: true }),
});

const feldspar = { material: 'feldspar', parts: 40, density: 2.6 };
const silica = { material: 'silica', parts: 60, density: 2.65 };

describe('particle density of a recipe', () => {
  it('adds volumes, not densities', () => {
    const equalMasses = [
      { material: 'light', parts: 1, density: 2 },
      { material: 'heavy', parts: 1, density: 6 },
    ];
    // 1 kg of each fills 1/2 + 1/6 L: 2 kg in 2/3 L.
    expect(solidsDensity(equalMasses)).toBeCloseTo(3, 12);
  });

  it('lies between the lightest and the heaviest, whatever the parts sum to', () => {
    fc.assert(
      fc.property(fc.array(line, { minLength: 1, maxLength: 12 }), (lines) => {
        const s = solidsDensity(lines);
        const densities = lines.map((l) => l.density);
        expect(s).toBeGreaterThanOrEqual(Math.min(...densities) - 1e-9);
        expect(s).toBeLessThanOrEqual(Math.max(...densities) + 1e-9);
        expect(massFractions(lines).reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
        const doubled = lines.map((l) => ({ ...l, parts: 2 * l.parts }));
        expect(solidsDensity(doubled)).toBeCloseTo(s, 10);
      }),
    );
  });

  it('takes additions over 100 % as they come', () => {
    const oxide = { material: 'red iron oxide', parts: 10, density: 5.2 };
    expect(massFractions([feldspar, silica, oxide])[2]).toBeCloseTo(10 / 110, 12);
  });

  it('refuses an empty recipe, and names the line that cannot be', () => {
    expect(() => solidsDensity([])).toThrow(/at least one material/);
    expect(() => solidsDensity([feldspar, { ...silica, parts: 0 }])).toThrow(/silica needs parts/);
    expect(() => solidsDensity([feldspar, { ...silica, density: Number.NaN }])).toThrow(
      /silica needs a density/,
    );
  });
});
