import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import {
  COOLING_DEFAULTS,
  COOLING_UNTIL_KNOWN,
  coolingFaults,
  coolingOf,
  fitCooling,
  forecast,
  mayOpen,
} from '../../server/kilns/cooling.ts';

/** A kiln that falls steeply to 400 °C and then by e^(−kt) towards the room. */
function log(k: number, { everyS = 300, to = 60, roomC = 20, noise = (_: number): number => 0 } = {}) {
  const points = [
    { atS: 0, c: 900 },
    { atS: 3600, c: 1220 },
    { atS: 9000, c: 650 },
  ];
  for (let i = 0; ; i++) {
    const c = roomC + (420 - roomC) * Math.exp((-k * i * everyS) / 3600);
    if (c < to) return points;
    points.push({ atS: 14_400 + i * everyS, c: c + noise(i) });
  }
}

describe('the fit of one log', () => {
  test('finds any rate again, in any room, from below 400 °C and while the lid is shut', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 0.6, noNaN: true }),
        fc.integer({ min: 5, max: 35 }),
        (k, roomC) => {
          const fit = fitCooling(log(k, { roomC }), roomC);
          expect(fit?.kPerH).toBeCloseTo(k, 6);
          expect(fit?.fromC).toBeLessThan(400);
          expect(fit?.toC).toBeGreaterThanOrEqual(COOLING_DEFAULTS.lidShutAboveC);
          expect(fit?.sdC).toBeLessThan(1e-6);
        },
      ),
    );
  });

  it('what lies above 400 °C does not matter', () => {
    const points = log(0.2);
    const steep = points.map(({ atS, c }) => ({ atS, c: c > 400 && atS > 3600 ? 410 : c }));
    expect(fitCooling(steep)?.kPerH).toBeCloseTo(fitCooling(points)?.kPerH as number, 9);
  });

  it('an opened lid does not make the kiln look quick', () => {
    const points = log(0.2);
    const opened = points.map(({ atS, c }) => ({ atS, c: c < 115 ? 40 : c }));
    expect(fitCooling(opened)?.kPerH).toBeCloseTo(0.2, 6);
  });

  it('noise of three degrees moves it by less than 2 %', () => {
    const fit = fitCooling(log(0.2, { noise: (i) => 3 * Math.sin(i * 78.233) }));
    expect(Math.abs((fit?.kPerH ?? 0) / 0.2 - 1)).toBeLessThan(0.02);
    expect(fit?.sdC).toBeGreaterThan(1);
  });

  it.each([
    ['no points', []],
    ['only the way up', log(0.2).slice(0, 2)],
    ['stopped above 400 °C', log(0.2).filter(({ c }) => c > 400)],
    ['three readings', log(0.2, { everyS: 7200 }).filter(({ c }) => c > 250)],
    ['a fall of 30 °C only', log(0.2).filter(({ c }) => c > 360)],
    ['all at one time', [0, 0, 0, 0, 0].map((atS, i) => ({ atS, c: 390 - i * 40 }))],
  ])('%s: none', (_, points) => {
    expect(fitCooling(points)).toBeNull();
  });
});

describe("a kiln's cooling", () => {
  const fits = (...ks: number[]) => coolingOf(ks.map((kPerH) => ({ kPerH })));

  it('is the wide default until there are three logs', () => {
    expect(fits()).toBe(COOLING_UNTIL_KNOWN);
    expect(fits(0.2, 0.21)).toBe(COOLING_UNTIL_KNOWN);
    expect(fits(0.2, 0.21, 0.22).logs).toBe(3);
    expect(COOLING_UNTIL_KNOWN.fastest / COOLING_UNTIL_KNOWN.slowest).toBeGreaterThan(2.5);
  });

  it('is the mean and the spread of them, never narrower than 15 %', () => {
    const alike = fits(0.2, 0.2, 0.2);
    expect(alike.kPerH).toBeCloseTo(0.2, 12);
    expect(alike.slowest).toBeCloseTo(0.2 / 1.15, 12);
    expect(alike.fastest).toBeCloseTo(0.2 * 1.15, 12);
    // Geometric mean 0.2; the logarithms ±ln 2 and 0 have a standard deviation of ln 2.
    const wide = fits(0.1, 0.2, 0.4);
    expect(wide.kPerH).toBeCloseTo(0.2, 12);
    expect(wide.fastest / wide.kPerH).toBeCloseTo(4, 9);
  });

  test('its range holds its middle and is above zero', () => {
    const k = fc.double({ min: 0.01, max: 3, noNaN: true });
    fc.assert(
      fc.property(fc.array(k, { maxLength: 12 }), (ks) => {
        const { slowest, kPerH, fastest } = fits(...ks);
        expect(slowest).toBeGreaterThan(0);
        expect(slowest).toBeLessThan(kPerH);
        expect(kPerH).toBeLessThan(fastest);
      }),
    );
  });
});

describe('the forecast', () => {
  const known = coolingOf([0.2, 0.2, 0.2].map((kPerH) => ({ kPerH })));
  const NOON = 1_800_000_000_000 - (1_800_000_000_000 % HOUR);

  it('is a range on half hours, rounded up', () => {
    // From 300 to 90 °C: ln(280/70) = 1.386, so 6.03 h at the fastest and 7.97 h at the slowest.
    expect(forecast(NOON, { c: 300, at: NOON }, 90, known)).toEqual({
      from: NOON + 6.5 * HOUR,
      to: NOON + 8 * HOUR,
      due: false,
      rough: false,
    });
  });

  test('covers the true time whenever the kiln keeps within its range; never before now; never early', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.87, max: 1.149, noNaN: true }),
        fc.integer({ min: 100, max: 399 }),
        fc.integer({ min: 0, max: 20 * 60 }),
        (factor, c, minutesAgo) => {
          const at = NOON - minutesAgo * MINUTE;
          const truth = at + (Math.log((c - 20) / (90 - 20)) / (0.2 * factor)) * HOUR;
          const found = forecast(NOON, { c, at }, 90, known);
          expect(found?.to).toBeGreaterThanOrEqual(truth);
          if (truth > NOON) expect(found?.from).toBeLessThanOrEqual(truth + HOUR / 2);
          expect(found?.from).toBeGreaterThanOrEqual(NOON);
          expect((found?.from as number) % (HOUR / 2)).toBe(0);
          expect((found?.to as number) % (HOUR / 2)).toBe(0);
          expect(found?.from).toBeLessThanOrEqual(found?.to as number);
        },
      ),
    );
  });

  it('an old reading is due: somebody should look', () => {
    expect(forecast(NOON, { c: 300, at: NOON - 24 * HOUR }, 90, known)).toMatchObject({
      due: true,
      from: NOON,
    });
  });

  it('a kiln that is there already is due at once', () => {
    expect(forecast(NOON + 1, { c: 80, at: NOON }, 90, known)).toMatchObject({ due: true });
  });

  it('from above 400 °C it is rough', () => {
    expect(forecast(NOON, { c: 900, at: NOON }, 90, known)?.rough).toBe(true);
  });

  it.each([20, 10, Number.NaN])('a room at 20 °C never cools a kiln to %f °C', (toC) => {
    expect(forecast(NOON, { c: 300, at: NOON }, toC, known)).toBeNull();
  });

  it('is nothing without a reading', () => {
    expect(forecast(NOON, { c: Number.NaN, at: NOON }, 90, known)).toBeNull();
    expect(forecast(NOON, { c: 300, at: Number.NaN }, 90, known)).toBeNull();
  });
});

describe('what may be done at a temperature that was read', () => {
  it.each([
    [1220, 'shut'],
    [120, 'shut'],
    [119.9, 'crack-by-firer'],
    [90, 'crack-by-firer'],
    [89.9, 'open'],
    [50, 'open'],
    [49.9, 'unload-with-gloves'],
    [20, 'unload-with-gloves'],
    [Number.NaN, 'shut'],
    [Number.POSITIVE_INFINITY, 'shut'],
  ])('%f °C: %s', (c, step) => {
    expect(mayOpen(c).step).toBe(step);
  });

  it('follows the settings and names their figures', () => {
    const settings = { lidShutAboveC: 200, openBelowC: 100, handsBelowC: 40 };
    expect(mayOpen(150, settings)).toEqual({
      step: 'crack-by-firer',
      words: 'May be cracked by someone who fires this kiln. Nobody else opens it above 100 °C.',
    });
    expect(mayOpen(45, settings).words).toBe('May be opened. Hands stay out above 40 °C.');
  });

  test('hotter never allows more', () => {
    const order = ['unload-with-gloves', 'open', 'crack-by-firer', 'shut'];
    const c = fc.double({ min: -50, max: 1500, noNaN: true });
    fc.assert(
      fc.property(c, c, (a, b) => {
        const step = (read: number) => order.indexOf(mayOpen(read).step);
        expect(step(Math.min(a, b))).toBeLessThanOrEqual(step(Math.max(a, b)));
      }),
    );
  });

  it('settings out of order are refused by field', () => {
    expect(coolingFaults(COOLING_DEFAULTS)).toEqual([]);
    const paths = (more: object) => coolingFaults({ ...COOLING_DEFAULTS, ...more }).map(({ path }) => path);
    expect(paths({ handsBelowC: 95 })).toEqual(['handsBelowC']);
    expect(paths({ openBelowC: 130 })).toEqual(['openBelowC']);
    expect(paths({ openBelowC: Number.NaN })).toEqual(['handsBelowC', 'openBelowC']);
  });
});
