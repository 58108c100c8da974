import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { cone as typedCone } from '../../server/buckets/service/edit.ts';
import { CHARTS, CONES, coneAmount, endPoint, equivalentCone, holdEffect } from '../../server/kilns/cones.ts';
import { coneOrder } from '../../server/ware/cone.ts';

const charts = Object.values(CHARTS);
const SELF = CHARTS['self-supporting-2016'];
const rate = fc.double({ min: 1, max: 600, noNaN: true });

describe('the order of cones', () => {
  it('runs 022 … 01, 1 … 14 with the halves in between', () => {
    const series = CONES.join(' ');
    expect(series.startsWith('022 021 020 019')).toBe(true);
    expect(series.endsWith('12 13 14')).toBe(true);
    expect(series).toContain('06 05½ 05 04 03½ 03 02 01 1 2 3 4 5 5½ 6');
    expect(CONES).toHaveLength(39);
  });

  it('counts whole cones, 01 next to 1', () => {
    expect(['02', '01', '1', '2', '05½', '5½'].map(coneOrder)).toEqual([-1, 0, 1, 2, -4.5, 5.5]);
    expect(coneOrder('006')).toBe(coneOrder('06'));
  });

  it('takes exactly what a bucket takes as a cone', () => {
    const schema = typedCone();
    fc.assert(
      fc.property(
        fc.string({ unit: fc.constantFrom('0', '1', '2', '5', '9', '½', '.', 'a'), maxLength: 5 }),
        (text) => {
          const read = () => coneOrder(text);
          if (schema.safeParse(text).success) expect(Number.isFinite(read())).toBe(true);
          else expect(read).toThrow(RangeError);
        },
      ),
      { numRuns: 2000 },
    );
  });

  it.each(['', '0', '15', '023', '0½', '6.5', ' 6', 'six', '00', '0010', '-6'])('%j is no cone', (text) => {
    expect(() => coneOrder(text)).toThrow(RangeError);
  });
});

describe('charts', () => {
  test('a hotter cone has a higher end point, at every rate', () => {
    fc.assert(
      fc.property(fc.constantFrom(...charts), rate, (chart, perHour) => {
        const ends = [...chart.rows.keys()].map((cone) => endPoint(chart, cone, perHour)?.c ?? Number.NaN);
        for (let i = 1; i < ends.length; i++)
          expect(ends[i] as number).toBeGreaterThan(ends[i - 1] as number);
      }),
    );
  });

  test('faster heating never needs less, and needs more between the columns', () => {
    fc.assert(
      fc.property(fc.constantFrom(...SELF.rows.keys()), rate, rate, (cone, a, b) => {
        const [slow, fast] = [Math.min(a, b), Math.max(a, b)];
        const [low, high] = [endPoint(SELF, cone, slow), endPoint(SELF, cone, fast)];
        expect(low?.c as number).toBeLessThanOrEqual(high?.c as number);
        if (slow >= 60 && fast <= 150 && fast - slow > 1e-6)
          expect(low?.c as number).toBeLessThan(high?.c as number);
      }),
    );
  });

  it('says when the rate lies outside what is printed, and keeps the nearest column', () => {
    expect(endPoint(SELF, '6', 200)).toEqual({ c: 1243, outside: true, between: false });
    expect(endPoint(SELF, '6', 5)).toEqual({ c: 1185, outside: true, between: false });
    expect(endPoint(SELF, '6', 150)?.outside).toBe(false);
    expect(endPoint(CHARTS['large-older'], '6', 60)).toEqual({ c: 1222, outside: true, between: false });
  });

  it('goes by the logarithm of the rate: halfway from 60 to 150 lies at √(60·150)', () => {
    expect(endPoint(SELF, '6', Math.sqrt(60 * 150))?.c).toBeCloseTo((1222 + 1243) / 2, 9);
  });

  it('puts a cone without a row between its neighbours, and knows where it has none', () => {
    expect(endPoint(SELF, '6½', 60)).toEqual({ c: (1222 + 1239) / 2, outside: false, between: true });
    expect(endPoint(SELF, '14½', 60)).toBeNull();
    expect(endPoint(SELF, '022½', 60)).toBeNull();
    expect(endPoint(CHARTS['large-2016'], '6', 60)).toBeNull();
  });

  it.each([0, -60, Number.NaN])('no end point at %f °C/h', (perHour) => {
    expect(() => endPoint(SELF, '6', perHour)).toThrow(RangeError);
    expect(() => equivalentCone(SELF, 1222, perHour)).toThrow(RangeError);
  });
});

describe('equivalent cone', () => {
  test('is the inverse of the end point', () => {
    fc.assert(
      fc.property(fc.constantFrom(...charts), rate, fc.nat(), (chart, perHour, n) => {
        const cones = [...chart.rows.keys()];
        const cone = cones[n % cones.length] as string;
        const peak = endPoint(chart, cone, perHour)?.c as number;
        const found = equivalentCone(chart, peak, perHour);
        expect(found.order).toBeCloseTo(coneOrder(cone), 9);
        expect(found.words).toBe(`cone ${cone}`);
      }),
    );
  });

  test('a hotter peak is never a cooler cone, slower heating to the same peak never either', () => {
    const peak = fc.double({ min: 400, max: 1500, noNaN: true });
    fc.assert(
      fc.property(peak, peak, rate, rate, (a, b, fast, slow) => {
        const order = (c: number, perHour: number) => equivalentCone(SELF, c, perHour).order;
        expect(order(Math.min(a, b), fast)).toBeLessThanOrEqual(order(Math.max(a, b), fast));
        expect(order(a, Math.max(fast, slow))).toBeLessThanOrEqual(order(a, Math.min(fast, slow)) + 1e-9);
      }),
    );
  });

  it.each([
    [1222, 'cone 6'],
    [1223, 'cone 6'],
    [1228, 'cone 6 and a third'],
    [1230.5, 'halfway from cone 6 to cone 7'],
    [1234, 'cone 7 less a third'],
    [1213, 'cone 6 less a quarter'],
    [1238.5, 'cone 7'],
  ])('%f °C at 60 °C/h is %s', (peak, words) => {
    expect(equivalentCone(SELF, peak, 60).words).toBe(words);
  });

  it('names both neighbours and how far it went between them', () => {
    expect(equivalentCone(SELF, 1230.5, 60)).toMatchObject({
      below: '6',
      above: '7',
      fraction: 0.5,
      order: 6.5,
    });
  });

  it('beyond the chart it says so', () => {
    expect(equivalentCone(SELF, 500, 60)).toMatchObject({
      below: null,
      words: 'below cone 022',
      outside: true,
    });
    expect(equivalentCone(SELF, 1400, 60)).toMatchObject({
      above: null,
      words: 'above cone 14',
      outside: true,
    });
    expect(equivalentCone(SELF, 1365, 60)).toMatchObject({ words: 'cone 14', outside: false });
  });
});

test('a longer hold never adds less, its range is a range, and nonsense adds nothing', () => {
  const minutes = fc.double({ min: 0, max: 1000, noNaN: true });
  fc.assert(
    fc.property(minutes, minutes, (a, b) => {
      const [short, long] = [holdEffect(Math.min(a, b)), holdEffect(Math.max(a, b))];
      expect(short.from).toBeLessThanOrEqual(short.to);
      expect(short.from).toBeLessThanOrEqual(long.from);
      expect(short.to).toBeLessThanOrEqual(long.to);
    }),
  );
  for (const none of [0, -5, Number.NaN]) expect(holdEffect(none)).toEqual({ from: 0, to: 0 });
  expect(holdEffect(Number.POSITIVE_INFINITY)).toEqual({ from: 2, to: 2 });
});

test.each([
  [0.05, ''],
  [-0.5, 'half a cone'],
  [1 / 3, 'a third of a cone'],
  [-0.96, 'a cone'],
  [1.5, 'a cone and a half'],
  [-1.34, 'a cone and a third'],
  [2.98, '3 cones'],
  [2.5, '2 cones and a half'],
])('%f cones: %j', (cones, words) => {
  expect(coneAmount(cones)).toBe(words);
});
