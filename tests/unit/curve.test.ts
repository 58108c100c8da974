import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { CHARTS } from '../../server/kilns/cones.ts';
import { compare, curveFacts } from '../../server/kilns/curve.ts';
import { thin } from '../../server/kilns/firing-log.ts';
import { plan, type Segment } from '../../server/kilns/schedule.ts';

const CHART = CHARTS['self-supporting-2016'];
const GLAZE: Segment[] = [
  { rateCPerH: 150, toC: 1122, holdMin: 0 },
  { rateCPerH: 60, toC: 1222, holdMin: 15 },
  { rateCPerH: 100, toC: 100, holdMin: 0 },
];

/** Readings every so often along a plan. */
function along(segments: Segment[], everyS: number, off: (atS: number) => number = () => 0) {
  const { points, durationS } = plan(segments);
  const readings: { atS: number; c: number }[] = [];
  for (let atS = 0; atS <= durationS; atS += everyS) {
    const next = points.findIndex((p) => p.atS >= atS);
    const [a, b] = [points[Math.max(next - 1, 0)], points[next]] as [
      { atS: number; c: number },
      { atS: number; c: number },
    ];
    const share = b.atS === a.atS ? 0 : (atS - a.atS) / (b.atS - a.atS);
    readings.push({ atS, c: a.c + share * (b.c - a.c) + off(atS) });
  }
  return readings;
}

describe('what a curve says', () => {
  it('of a glaze firing read every minute', () => {
    const facts = curveFacts(along(GLAZE, 60), CHART);
    expect(facts?.peakC).toBeCloseTo(1222, 6);
    expect(facts?.lastRateCPerH).toBeCloseTo(60, 1);
    expect(facts?.equivalent?.words).toBe('cone 6');
    // 15 min of hold, 5 min up the last 5 °C and 3 min down again.
    expect((facts?.nearPeakS ?? 0) / 60).toBeCloseTo(23, 0);
    expect((facts?.quartzUp?.atS ?? 0) / 3600).toBeCloseTo((573 - 20) / 150, 4);
    expect(facts?.quartzUp?.cPerH).toBeCloseTo(150, 6);
    expect(facts?.quartzDown?.cPerH).toBeCloseTo(-100, 6);
    expect(facts?.spikes).toBe(0);
  });

  it('the hold at the top does not dilute the rate, however long', () => {
    const held = GLAZE.map((s) => ({ ...s, holdMin: s.toC === 1222 ? 300 : 0 }));
    expect(curveFacts(along(held, 60), CHART)?.lastRateCPerH).toBeCloseTo(60, 1);
  });

  it('a hand log every half hour gives the same within what it can', () => {
    const facts = curveFacts(along(GLAZE, 1800), CHART);
    expect(facts?.lastRateCPerH).toBeGreaterThan(55);
    expect(facts?.lastRateCPerH).toBeLessThan(70);
    expect(facts?.quartzUp?.cPerH).toBeCloseTo(150, 6);
  });

  it('noise of two degrees moves neither peak nor rate much', () => {
    const facts = curveFacts(
      along(GLAZE, 10, (atS) => 2 * Math.sin(atS * 12.9898)),
      CHART,
    );
    expect(Math.abs((facts?.lastRateCPerH ?? 0) - 60)).toBeLessThan(3);
    expect(Math.abs((facts?.peakC ?? 0) - 1222)).toBeLessThanOrEqual(2);
  });

  it('a loose thermocouple for one reading is left out and counted', () => {
    const points = along(GLAZE, 30);
    points[100] = { atS: 3000, c: 1500 };
    points[300] = { atS: 9000, c: -20 };
    const facts = curveFacts(points, CHART);
    expect(facts?.peakC).toBeCloseTo(1222, 6);
    expect(facts?.spikes).toBe(2);
  });

  it('a sharp top of a hand log is no spike', () => {
    const points = [20, 600, 900, 1000, 900, 600].map((c, i) => ({ atS: i * 1800, c }));
    expect(curveFacts(points, CHART)).toMatchObject({ peakC: 1000, spikes: 0 });
  });

  it('a log that begins within the last 100 °C has no rate and no cone', () => {
    const late = along(GLAZE, 60).filter(({ atS, c }) => c > 1150 || atS > 40_000);
    expect(curveFacts(late, CHART)).toMatchObject({ lastRateCPerH: null, equivalent: null, quartzUp: null });
  });

  it('a log that ends at the top has not cooled through 573 °C', () => {
    const points = along(GLAZE.slice(0, 2), 60);
    expect(curveFacts(points, CHART)?.quartzDown).toBeNull();
  });

  it('a firing that never reached 573 °C', () => {
    const facts = curveFacts(along([{ rateCPerH: 60, toC: 300, holdMin: 0 }], 60), CHART);
    expect(facts).toMatchObject({ quartzUp: null, quartzDown: null });
    expect(facts?.equivalent?.words).toBe('below cone 022');
  });

  it.each([
    [[]],
    [[{ atS: 0, c: 20 }]],
    [
      [
        { atS: 5, c: 20 },
        { atS: 5, c: 900 },
      ],
    ],
  ])('nothing to say of %o', (points) => {
    expect(curveFacts(points, CHART)).toBeNull();
  });

  test('never throws, and says only finite figures', () => {
    const points = fc
      .array(fc.tuple(fc.integer({ min: 0, max: 4000 }), fc.double({ min: -60, max: 1600, noNaN: true })), {
        maxLength: 60,
      })
      .map((steps) => {
        let atS = 0;
        return steps.map(([step, c]) => {
          atS += step;
          return { atS, c };
        });
      });
    fc.assert(
      fc.property(points, (curve) => {
        const facts = curveFacts(curve, CHART);
        if (facts === null) return;
        const { peakC, peakAtS, climbedAtS, nearPeakS, lastRateCPerH, quartzUp, quartzDown } = facts;
        const figures = [
          peakC,
          peakAtS,
          climbedAtS,
          nearPeakS,
          lastRateCPerH ?? 0,
          quartzUp?.cPerH ?? 0,
          quartzDown?.cPerH ?? 0,
        ];
        for (const figure of figures) expect(Number.isFinite(figure)).toBe(true);
        expect(climbedAtS).toBeLessThanOrEqual(peakAtS);
        expect(nearPeakS).toBeLessThanOrEqual((curve.at(-1)?.atS ?? 0) - (curve[0]?.atS ?? 0) + 1e-6);
      }),
      { numRuns: 500 },
    );
  });

  it('a thinned curve keeps the peak, and nearly the rate', () => {
    const points = along(GLAZE, 10);
    const [all, few] = [curveFacts(points, CHART), curveFacts(thin(points, 400), CHART)];
    expect(few?.peakC).toBe(all?.peakC);
    expect(Math.abs((few?.lastRateCPerH ?? 0) - (all?.lastRateCPerH ?? 0))).toBeLessThan(1);
  });
});

describe('against the schedule', () => {
  const planned = plan(GLAZE).points;

  it('a curve that keeps to it is neither behind nor ahead nor late', () => {
    const found = compare(along(GLAZE, 60), planned);
    expect(found?.behind?.byC ?? 0).toBeLessThan(1e-6);
    expect(found?.ahead?.byC ?? 0).toBeLessThan(1e-6);
    expect(Math.abs(found?.topLateS ?? 99)).toBeLessThan(60);
  });

  it('finds where it lagged most, and where it was ahead', () => {
    const off = (atS: number) => (atS === 18_000 ? -42 : atS === 24_000 ? 17 : 0);
    expect(compare(along(GLAZE, 600, off), planned)).toMatchObject({
      behind: { atS: 18_000 },
      ahead: { atS: 24_000 },
    });
    expect(compare(along(GLAZE, 600, off), planned)?.behind?.byC).toBeCloseTo(42, 6);
  });

  it('says how much later the top came', () => {
    const slow = along(
      GLAZE.map((s) => ({ ...s, rateCPerH: Number(s.rateCPerH) / 1.25 })),
      60,
    );
    const climb = (1102 / 150 + 95 / 60) * 3600;
    expect(compare(slow, planned)?.topLateS).toBeCloseTo(climb * 0.25, -2);
  });

  it('is over when the schedule is: the kiln cooling after it is not behind', () => {
    const upOnly = plan(GLAZE.slice(0, 2)).points;
    expect(compare(along(GLAZE, 60), upOnly)?.behind?.byC ?? 0).toBeLessThan(1e-6);
  });

  it('needs both', () => {
    expect(compare([], planned)).toBeNull();
    expect(compare(along(GLAZE, 60), [])).toBeNull();
  });
});
