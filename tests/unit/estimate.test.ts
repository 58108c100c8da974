import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CHARTS } from '../../server/kilns/cones.ts';
import { estimate } from '../../server/kilns/estimate.ts';
import { type Segment, seedSchedule } from '../../server/kilns/schedule.ts';
import { KILN_DEFAULTS } from '../../server/kilns/settings.ts';

const electric = { power: 'electric' as const, kilowatts: 11, duty: null };
const glaze = {
  kind: 'glaze' as const,
  segments: [
    { rateCPerH: 150, toC: 1120, holdMin: 0 },
    { rateCPerH: 50, toC: 1220, holdMin: 30 },
  ],
};
const settings = { ...KILN_DEFAULTS, pricePerKwh: 28.5 };

describe('what a firing is likely to take', () => {
  it('hours by the ramps and holds: 1100 °C at 150, 100 °C at 50, and half an hour', () => {
    expect(estimate(electric, glaze, settings).hours).toBeCloseTo(1100 / 150 + 2 + 0.5, 9);
  });

  it('energy by power, hours and how long the elements are on, cost by the price a kWh', () => {
    const known = estimate({ ...electric, duty: 0.6 }, glaze, settings);
    expect(known.kWh).toBeCloseTo(11 * 0.6 * (1100 / 150 + 2.5), 9);
    expect(known.costMinor).toBe(Math.round((known.kWh ?? 0) * 28.5));
    // Glaze 65 % of the time where nobody metered it.
    expect(estimate(electric, glaze, settings).kWh).toBeCloseTo(11 * 0.65 * (1100 / 150 + 2.5), 9);
  });

  it('no costs without a price, no energy of a kiln with burners or of unknown power', () => {
    expect(estimate(electric, glaze, KILN_DEFAULTS).costMinor).toBeNull();
    const gas = estimate({ power: 'gas', kilowatts: null, duty: null }, glaze, settings);
    expect([gas.kWh, gas.costMinor]).toEqual([null, null]);
    expect(estimate({ ...electric, kilowatts: null }, glaze, settings).kWh).toBeNull();
    expect(estimate(electric, glaze, { ...settings, pricePerKwh: 0 }).costMinor).toBe(0);
  });

  it('cooling is a range in half hours, longer to hands than to opening, shorter in a kiln known to cool fast', () => {
    const { openHours, coolHours } = estimate(electric, glaze, settings);
    for (const { from, to } of [openHours, coolHours]) {
      expect(from).toBeGreaterThan(0);
      expect(to).toBeGreaterThan(from);
      expect(from * 2).toBe(Math.round(from * 2));
      expect(to * 2).toBe(Math.round(to * 2));
    }
    expect(coolHours.from).toBeGreaterThan(openHours.from);
    const fast = estimate(electric, glaze, settings, { kPerH: 0.5, slowest: 0.45, fastest: 0.55, logs: 5 });
    expect(fast.coolHours.to).toBeLessThan(coolHours.from);
  });

  it('a schedule that cools on purpose cools from where it ends', () => {
    const down: Segment[] = [...glaze.segments, { rateCPerH: 60, toC: 800, holdMin: 0 }];
    expect(estimate(electric, { ...glaze, segments: down }, settings).coolHours.to).toBeLessThan(
      estimate(electric, glaze, settings).coolHours.to,
    );
  });

  it('whatever the price, the cost is whole minor units', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1e6, noNaN: true }), (pricePerKwh) => {
        expect(Number.isSafeInteger(estimate(electric, glaze, { ...settings, pricePerKwh }).costMinor)).toBe(
          true,
        );
      }),
    );
  });

  it('thick greenware takes longer than thin', () => {
    const hours = (thick: boolean) =>
      estimate(
        electric,
        {
          kind: 'bisque',
          segments: seedSchedule('bisque', '06', CHARTS['self-supporting-2016'], { thick }) ?? [],
        },
        settings,
      ).hours;
    // 8 h instead of 2 h at 90 °C, common practice, no source.
    expect(hours(true) - hours(false)).toBeCloseTo(6, 9);
  });
});
