import { describe, expect, it } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { glazedAreaCm2 } from '../../server/ware/area.ts';
import { thicknessMm } from '../../server/ware/coat.ts';
import { type CoatPut, drinkingFaces, dryGramsOf, routeOf, wetnessOf } from '../../server/ware/route.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';

// A mass balance by hand: 180 g of bisque takes up 40 g of a slurry of 1.46 with solids of 2.6 g/cm³, in water of 0.99821.
// 100 g of it hold 2.6·(1.46 − 0.99821)/(1.46·(2.6 − 0.99821))·100 = 1.200654/2.338613·100 = 51.340 g of solids.

const SOLIDS = 0.5134042;
const EVENING = Date.UTC(2026, 2, 28, 20);

const put = (more: Partial<CoatPut>): CoatPut => ({
  glaze: 'HG',
  face: 'inside',
  way: 'pour',
  seconds: 8,
  gravity: 1.46,
  reading: null,
  batch: null,
  mm: null,
  from: null,
  beforeGrams: 180,
  afterGrams: 220,
  solidsFraction: SOLIDS,
  litres: null,
  ...more,
});
type Told = { hours: number } & ({ coat: CoatPut } | { grams: number });
const route = (...told: Told[]) =>
  routeOf(
    told.map(({ hours, ...what }, at) => ({
      number: at + 1,
      at: EVENING + hours * HOUR,
      by: 1,
      stage: null,
      load: null,
      ...('coat' in what
        ? { kind: 'coated' as const, payload: { coat: what.coat } }
        : {
            kind: 'weighed' as const,
            payload: { weighing: { grams: what.grams, moment: 'later' as const } },
          }),
    })),
  );
const at = (hours: number, ...told: Told[]) =>
  wetnessOf(route(...told), WARE_DEFAULTS, EVENING + hours * HOUR);
const lined: Told = { hours: 0, coat: put({}) };

describe('a lining of 40 g in 180 g of bisque', () => {
  it('is 20.54 g of dry coat and 19.46 g of water: dry at 202.48 g and below', () => {
    expect(dryGramsOf(route(lined))).toBeCloseTo(200.536, 3);
    expect(at(1, lined, { hours: 1, grams: 202.49 })).toMatchObject({ state: 'wet', by: 'scale' });
    expect(at(1, lined, { hours: 1, grams: 202.48 })).toMatchObject({ state: 'dry', by: 'scale' });
    const half = at(2, lined, { hours: 2, grams: 210.268 });
    expect(half.shareGone).toBeCloseTo(0.5, 4);
    expect(half.waterGrams).toBeCloseTo(9.732, 3);
  });

  it('half dry in two hours it is ready 6 h 39 min after it was lined', () => {
    const { readyAt, range } = at(2, lined, { hours: 2, grams: 210.268 });
    expect(((readyAt ?? 0) - EVENING) / HOUR).toBeCloseTo(6.644, 3);
    expect((range?.low ?? 0) - EVENING).toBeGreaterThan(2 * HOUR);
    expect(range?.high).toBeGreaterThan(readyAt ?? 0);
    // 19.464·e^(−t/τ) with τ = 2/ln 2 = 2.885 h; half an hour before it is ready 2.31 g are left.
    expect(at(6.144, lined, { hours: 2, grams: 210.268 }).waterGrams).toBeCloseTo(2.315, 2);
    expect(at(6.65, lined, { hours: 2, grams: 210.268 })).toMatchObject({ state: 'dry', waterGrams: 0 });
  });

  it('by the clock overnight, twelve hours of it though the studio’s clocks are put forward', () => {
    // In London there is no hour from one to two on 29 March 2026. Overnight: common practice, no source.
    expect(at(11.99, lined).readyAt).toBe(EVENING + 12 * HOUR);
    expect(at(12, lined).state).toBe('dry');
  });
});

it('26 g more on the outside next day: 13.35 g of dry coat, 12.92 g of water with what was left', () => {
  const outside: Told = {
    hours: 20,
    coat: put({ face: 'outside', way: 'dip', beforeGrams: 200.8, afterGrams: 226.8 }),
  };
  const way = route(lined, outside);
  expect(dryGramsOf(way)).toBeCloseTo(180 + 20.5362 + 13.3485, 3);
  const wet = wetnessOf(way, WARE_DEFAULTS, EVENING + 20 * HOUR);
  expect(wet.waterGrams).toBeCloseTo(226.8 - 213.8847, 3);
  expect(at(21, lined, outside, { hours: 21, grams: 215.1 })).toMatchObject({ state: 'dry', by: 'scale' });
  expect(at(21, lined, outside, { hours: 21, grams: 215.3 }).state).toBe('wet');
});

it('on a beaker of 80 by 100 mm with a wall of 6 mm: 0.62 mm inside, and 0.041 g/cm² of water in each face', () => {
  const shape = {
    form: 'beaker',
    size: { footprint: { shape: 'circle' as const, diameterMm: 80 }, heightMm: 100 },
    thickestMm: 6,
  };
  // Floor π/4·68² and walls π·68·94; the outside π·80·94, 6 mm of it bare: 237.1 and 236.2 cm².
  const inside = glazedAreaCm2(shape, 'inside', 6);
  expect(inside).toBeCloseTo(237.13, 1);
  expect(thicknessMm((40 * SOLIDS) / inside)).toBeCloseTo(0.619, 3);
  const plan = { inside: 'HG', outside: 'HG', over: [] };
  const { waterGrams } = at(0, lined);
  const faces = drinkingFaces({ plan, coats: route(lined).coats }, 'outside');
  expect((waterGrams ?? 0) / glazedAreaCm2(shape, faces, 6)).toBeCloseTo(19.464 / (237.13 + 236.25), 4);
});

it('a wall drinks by the faces that are glazed: those on, those planned, the one that comes', () => {
  const both = { inside: 'A', outside: 'B', over: [] };
  const none = { plan: null, coats: [] };
  expect(drinkingFaces(none, 'inside')).toBe('inside');
  expect(drinkingFaces(none, 'outside')).toBe('outside');
  // An overlap lies on the outside, and drinks through what is there.
  expect(drinkingFaces(none, 'over')).toBe('outside');
  expect(drinkingFaces(none, 'all')).toBe('all');
  expect(drinkingFaces({ plan: both, coats: [] }, 'inside')).toBe('all');
  expect(drinkingFaces({ plan: { ...both, outside: null }, coats: [] }, 'inside')).toBe('inside');
  expect(drinkingFaces({ plan: null, coats: [{ face: 'inside', glaze: 'A' }] }, 'over')).toBe('all');
  expect(drinkingFaces({ plan: null, coats: [{ face: 'all', glaze: 'A' }] }, 'over')).toBe('all');
});
