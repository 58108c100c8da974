import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { benchStep } from '../../server/ware/bench-step.ts';
import type { PieceEvent } from '../../server/ware/fold.ts';
import {
  type CoatFace,
  type CoatPut,
  dryGramsOf,
  isThrough,
  nextCoat,
  type Plan,
  type Route,
  routeOf,
  routeSteps,
  wetnessOf,
} from '../../server/ware/route.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';

const NOON = Date.UTC(2026, 4, 6, 12);

type Told = Pick<PieceEvent, 'kind'> & Partial<PieceEvent>;

/** A ledger of these, an hour apart unless said otherwise, the first at noon. */
const ledger = (...told: Told[]) =>
  told.map((event, at) => ({
    number: at + 1,
    at: NOON + at * HOUR,
    by: 1,
    stage: null,
    load: null,
    payload: {},
    ...event,
  }));
const route = (...told: Told[]): Route => routeOf(ledger(...told));

const plan = (inside: string | null, outside: string | null, ...over: string[]): Told => ({
  kind: 'planned',
  payload: { plan: { inside, outside, over } },
});
const put = (face: CoatFace, more: Partial<CoatPut> = {}): CoatPut => ({
  glaze: 'HG',
  face,
  way: 'dip',
  seconds: null,
  gravity: 1.46,
  reading: 3,
  batch: null,
  mm: null,
  from: null,
  beforeGrams: null,
  afterGrams: null,
  solidsFraction: 0.5,
  litres: null,
  ...more,
});
const coat = (face: CoatFace, more: Partial<CoatPut> = {}, heldBack = false): Told => ({
  kind: 'coated',
  payload: { coat: put(face, more), heldBack },
});
const weighed = (grams: number, moment: 'bare' | 'glazed' | 'later' = 'later'): Told => ({
  kind: 'weighed',
  payload: { weighing: { grams, moment } },
});
const dryWord: Told = { kind: 'inside-dry', payload: { how: 'cheek' } };
const wetness = (r: Route, now: number) => wetnessOf(r, WARE_DEFAULTS, now);

describe('where a piece is on its way', () => {
  it('begins with nothing', () => {
    expect(routeOf([])).toEqual({
      plan: null,
      waxedAt: null,
      coats: [],
      weighings: [],
      bareGrams: null,
      insideDryAt: null,
      footAt: null,
    });
  });

  it('keeps what is planned, waxed and put on, and ends the wet time with a word', () => {
    const r = route(plan('HG', 'MO'), { kind: 'waxed' }, coat('inside'), dryWord);
    expect(r).toMatchObject({ plan: { inside: 'HG', outside: 'MO', over: [] }, waxedAt: NOON + HOUR });
    expect(r.coats).toMatchObject([{ event: 3, at: NOON + 2 * HOUR, glaze: 'HG', face: 'inside' }]);
    expect(r.insideDryAt).toBe(NOON + 3 * HOUR);
  });

  it('a coat starts a new wet time: earlier weighings, the word and the wiped foot are over', () => {
    const r = route(
      coat('inside', { beforeGrams: 500, afterGrams: 560 }, true),
      weighed(540),
      dryWord,
      coat('outside', { beforeGrams: 532, afterGrams: 580 }),
    );
    expect(r).toMatchObject({ insideDryAt: null, footAt: null, bareGrams: 500 });
    expect(r.weighings).toEqual([{ event: 4, at: NOON + 3 * HOUR, grams: 580 }]);
  });

  it('is ended by a kiln, another firing, and the word that it was glazed otherwise; not by an outcome put right', () => {
    const before = [plan('HG', null), coat('inside')];
    for (const kind of ['came-out', 'another-firing', 'glazed'] as const)
      expect(route(...before, { kind })).toEqual(routeOf([]));
    for (const kind of ['outcome', 'returned', 'measured', 'edited', 'flagged'] as const)
      expect(route(...before, { kind })).toEqual(route(...before));
    expect(route(...before, plan(null, null)).plan).toBeNull();
  });

  it('a foot that was not wiped well is to be wiped again', () => {
    const wiped = [coat('all', {}, true)];
    expect(route(...wiped).footAt).toBe(NOON);
    expect(route(...wiped, { kind: 'returned', payload: { reason: 'foot' } }).footAt).toBeNull();
    expect(route(coat('all'), { kind: 'handed-in', payload: { heldBack: true } }).footAt).toBe(NOON + HOUR);
  });

  it('a weighing that was struck out counts nowhere, nor does that of a coat', () => {
    const strike = (voids: number): Told => ({ kind: 'weighing-struck', payload: { voids } });
    expect(route(weighed(500, 'bare'), strike(1)).bareGrams).toBeNull();
    expect(route(coat('inside'), weighed(560), weighed(540), strike(2)).weighings).toMatchObject([
      { event: 3, grams: 540 },
    ]);
    const weighedCoat = coat('inside', { beforeGrams: 500, afterGrams: 560, mm: 0.5, from: 'weighed' });
    const struck = route(weighedCoat, strike(1));
    expect(struck.coats).toMatchObject([{ beforeGrams: null, afterGrams: null, mm: null, from: null }]);
    expect(struck).toMatchObject({ weighings: [], bareGrams: null });
  });

  it('weighed bare first and just glazed afterwards is as good as in one act', () => {
    const apart = route(weighed(500, 'bare'), coat('inside'), weighed(560, 'glazed'));
    expect(apart.coats).toMatchObject([{ beforeGrams: 500, afterGrams: 560 }]);
    expect(apart.weighings).toHaveLength(1);
    expect(dryGramsOf(apart)).toBe(530);
    expect(route(coat('inside'), weighed(500, 'bare')).bareGrams).toBeNull();
  });

  it('makes something of whatever the ledger says', () => {
    const event = fc.oneof(
      fc.constantFrom(plan('HG', 'MO', 'HG'), plan(null, null), dryWord),
      fc.constantFrom<Told>({ kind: 'waxed' }, { kind: 'glazed' }, { kind: 'came-out' }, { kind: 'coated' }),
      fc
        .record({
          face: fc.constantFrom('inside', 'outside', 'over', 'all'),
          before: fc.option(fc.integer({ min: 1, max: 900 })),
          after: fc.option(fc.integer({ min: 1, max: 900 })),
          solids: fc.option(fc.double({ min: 0.01, max: 0.99, noNaN: true })),
        })
        .map(({ face, before, after, solids }) =>
          coat(face as CoatFace, { beforeGrams: before, afterGrams: after, solidsFraction: solids }),
        ),
      fc.integer({ min: 1, max: 900 }).map((grams) => weighed(grams)),
      fc.integer({ min: 1, max: 900 }).map((grams) => weighed(grams, 'glazed')),
      fc.nat(12).map((voids): Told => ({ kind: 'weighing-struck', payload: { voids } })),
    );
    const seen = new Set<string>();
    fc.assert(
      fc.property(fc.array(event, { maxLength: 12 }), fc.nat(80), (events, hours) => {
        const r = route(...events);
        const w = wetness(r, NOON + hours * HOUR);
        seen.add(`${w.state} ${w.by}`);
        expect(w.state === 'bare').toBe(r.coats.length === 0);
        expect(w.readyAt === null).toBe(w.state !== 'wet');
        if (w.readyAt !== null) expect(w.readyAt).toBeGreaterThan(NOON + hours * HOUR);
        if (w.waterGrams !== null) expect(w.waterGrams).toBeGreaterThanOrEqual(0);
        if (w.state !== 'wet') expect(w).toMatchObject({ waterGrams: 0, asksWait: false });
        if (nextCoat(r)) expect(isThrough(r)).toBe(false);
        expect(routeSteps(r.plan, r).filter(({ tick }) => tick).length).toBeLessThanOrEqual(3);
      }),
      { numRuns: 2000 },
    );
    for (const one of ['bare null', 'wet clock', 'dry clock', 'dry scale', 'said-dry hand'])
      expect(seen).toContain(one);
  });
});

describe('whether the wall is dry', () => {
  /** 60 g of slurry, half of it water: 30 g to go, 3 g of it may be left. */
  const lined = coat('inside', { beforeGrams: 500, afterGrams: 560 });
  const at = (hours: number, told: Told): Told => ({ ...told, at: NOON + hours * HOUR });

  it('bare ware is', () => expect(wetness(route(plan('HG', 'MO')), NOON).state).toBe('bare'));

  it('unweighed, it waits overnight: twelve hours (common practice, no source)', () => {
    const r = route(coat('inside'));
    expect(wetness(r, NOON + 12 * HOUR - 1)).toEqual({
      state: 'wet',
      by: 'clock',
      readyAt: NOON + 12 * HOUR,
      range: null,
      shareGone: null,
      waterGrams: null,
      asksWait: true,
    });
    expect(wetness(r, NOON + 12 * HOUR)).toMatchObject({ state: 'dry', by: 'clock', waterGrams: 0 });
  });

  it('by the scale once nine tenths of the water are gone, whatever the clock says', () => {
    const to = (grams: number) => wetness(route(at(0, lined), at(2, weighed(grams))), NOON + 2 * HOUR);
    expect(to(533)).toMatchObject({ state: 'dry', by: 'scale' });
    expect(to(533).shareGone).toBeCloseTo(0.9);
    expect(to(533.5)).toMatchObject({ state: 'wet', waterGrams: 3.5 });
  });

  it('the share is the studio’s', () => {
    const r = route(at(0, lined), at(2, weighed(545)));
    expect(wetnessOf(r, { ...WARE_DEFAULTS, waterGonePercent: 50 }, NOON + 2 * HOUR).state).toBe('dry');
    expect(wetnessOf(r, WARE_DEFAULTS, NOON + 2 * HOUR).state).toBe('wet');
  });

  it('two weighings half an hour apart within a gram are dry, though nobody knows what it weighed before', () => {
    const r = (grams: number, minutes: number) =>
      route(at(0, coat('inside')), at(5, weighed(540)), at(5 + minutes / 60, weighed(grams)));
    expect(wetness(r(539, 30), NOON + 6 * HOUR)).toMatchObject({ state: 'dry', by: 'scale' });
    expect(wetness(r(538.5, 30), NOON + 6 * HOUR).state).toBe('wet');
    expect(wetness(r(539, 29), NOON + 6 * HOUR).state).toBe('wet');
  });

  it('foretells by its curve: half of 30 g in 2 h is a tenth after 6.64 h', () => {
    const r = route(at(0, lined), at(2, weighed(545)));
    const w = wetness(r, NOON + 3 * HOUR);
    expect(w).toMatchObject({ state: 'wet', by: 'scale', asksWait: true });
    const ready = NOON + 2 * Math.log2(10) * HOUR;
    expect(Math.abs((w.readyAt ?? 0) - ready)).toBeLessThan(MINUTE);
    expect(w.range?.low).toBeLessThan(ready);
    expect(w.range?.high).toBeGreaterThan(ready);
    expect(w.waterGrams).toBeCloseTo(30 * 0.5 ** 1.5, 3);
    expect(wetness(r, NOON + 7 * HOUR)).toMatchObject({ state: 'dry', by: 'scale', readyAt: null });
  });

  it('a wall that keeps more than half of its water is not dry because it loses none', () => {
    const covered = route(at(0, lined), at(1, weighed(560)));
    expect(wetness(covered, NOON + HOUR)).toMatchObject({ state: 'wet', shareGone: 0 });
    const half = route(at(0, lined), at(4, weighed(545)), at(5, weighed(544.5)));
    expect(wetness(half, NOON + 5 * HOUR)).toMatchObject({ state: 'dry', by: 'scale' });
  });

  it('found wet by the scale, the clock begins anew where no curve tells', () => {
    const r = route(at(0, lined), at(11, weighed(559)));
    expect(wetness(r, NOON + 12 * HOUR)).toMatchObject({
      state: 'wet',
      by: 'scale',
      readyAt: NOON + 23 * HOUR,
      waterGrams: 29,
    });
    expect(wetness(r, NOON + 23 * HOUR)).toMatchObject({ state: 'dry', by: 'clock' });
  });

  it('a person’s word counts, until a later weighing finds it wet', () => {
    const said = [at(0, lined), at(1, weighed(555)), at(2, dryWord)];
    expect(wetness(route(...said), NOON + 2 * HOUR)).toMatchObject({ state: 'said-dry', by: 'hand' });
    expect(wetness(route(...said, at(3, weighed(550))), NOON + 3 * HOUR).state).toBe('wet');
    expect(wetness(route(...said, at(3, weighed(531))), NOON + 3 * HOUR).state).toBe('said-dry');
  });

  it('a second coat on a wall still damp brings its water to what is left', () => {
    const r = route(at(0, lined), at(4, coat('outside', { beforeGrams: 540, afterGrams: 580 })));
    // Bare 500, 30 and 20 of dry coat: 30 g of water, 10 of them from before.
    expect(dryGramsOf(r)).toBe(550);
    expect(wetness(r, NOON + 4 * HOUR)).toMatchObject({ state: 'wet', waterGrams: 30 });
    const later = routeOf([
      ...ledger(
        at(0, lined),
        at(4, coat('outside', { beforeGrams: 540, afterGrams: 580 })),
        at(9, weighed(553)),
      ),
    ]);
    expect(wetness(later, NOON + 9 * HOUR)).toMatchObject({ state: 'dry', by: 'scale' });
  });

  it('an overlap goes on over what was just dipped, not over a lining (common practice, no source)', () => {
    const dipped = [plan('HG', 'MO', 'HG'), coat('inside'), coat('outside', { glaze: 'MO' })];
    expect(wetness(route(...dipped), NOON + 2 * HOUR)).toMatchObject({ state: 'wet', asksWait: false });
    expect(wetness(route(plan('HG', null, 'MO'), coat('inside')), NOON + HOUR).asksWait).toBe(true);
  });

  it('ever more weighings of a wall that dries never take its word back', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 12, noNaN: true }),
        fc.array(fc.double({ min: 0.1, max: 3, noNaN: true }), { minLength: 2, maxLength: 10 }),
        (tau, gaps) => {
          let hours = 0;
          const told = [at(0, lined)];
          let wasDry = false;
          for (const gap of gaps) {
            hours += gap;
            told.push(at(hours, weighed(530 + 30 * Math.exp(-hours / tau))));
            const { state, by } = wetness(route(...told), NOON + hours * HOUR);
            if (by !== 'scale' && state !== 'wet') return;
            if (wasDry) expect(state).toBe('dry');
            wasDry = state === 'dry' && 30 * Math.exp(-hours / tau) < 2.9;
          }
        },
      ),
    );
  });
});

describe('the coat that comes next', () => {
  const next = (p: Plan | null, ...coats: [CoatFace, string][]) =>
    nextCoat({ plan: p, coats: coats.map(([face, glaze]) => ({ face, glaze })) });
  const three: Plan = { inside: 'A', outside: 'B', over: ['C', 'D'] };

  it('goes from the inside out', () => {
    expect(next(null, ['inside', 'A'])).toBeNull();
    expect(next(three)).toEqual({ face: 'inside', glaze: 'A' });
    expect(next(three, ['inside', 'A'])).toEqual({ face: 'outside', glaze: 'B' });
    expect(next(three, ['inside', 'A'], ['outside', 'B'])).toEqual({ face: 'over', glaze: 'C' });
    expect(next(three, ['inside', 'A'], ['outside', 'B'], ['over', 'C'])).toEqual({
      face: 'over',
      glaze: 'D',
    });
    expect(next(three, ['inside', 'A'], ['outside', 'B'], ['over', 'C'], ['over', 'D'])).toBeNull();
  });

  it('is all over at once where both sides are the same, unless one of them is begun', () => {
    const same: Plan = { inside: 'A', outside: 'A', over: [] };
    expect(next(same)).toEqual({ face: 'all', glaze: 'A' });
    expect(next(same, ['all', 'A'])).toBeNull();
    expect(next(same, ['inside', 'A'])).toEqual({ face: 'outside', glaze: 'A' });
  });

  it('takes another glaze than planned for done, and all over in the glaze of one side for that side', () => {
    expect(next({ ...three, over: [] }, ['inside', 'Z'], ['outside', 'Z'])).toBeNull();
    expect(next({ ...three, over: [] }, ['all', 'A'])).toEqual({ face: 'outside', glaze: 'B' });
    expect(next({ ...three, over: [] }, ['all', 'B'])).toEqual({ face: 'inside', glaze: 'A' });
    expect(next({ ...three, over: [] }, ['all', 'Z'])).toBeNull();
  });

  it('every plan is through after its coats, and asks for each glaze of it', () => {
    const glaze = fc.constantFrom('A', 'B', 'C');
    fc.assert(
      fc.property(
        fc.option(glaze),
        fc.option(glaze),
        fc.array(glaze, { maxLength: 3 }),
        (inside, outside, over) => {
          const p: Plan = { inside, outside, over };
          const coats: { face: CoatFace; glaze: string }[] = [];
          for (let left = nextCoat({ plan: p, coats }); left; left = nextCoat({ plan: p, coats })) {
            coats.push(left);
            expect(coats.length).toBeLessThanOrEqual(5);
          }
          const asked = [...new Set([inside, outside, ...over].filter((one) => one !== null))].sort();
          expect([...new Set(coats.map((one) => one.glaze))].sort()).toEqual(asked);
          expect(isThrough({ plan: p, coats })).toBe(coats.length > 0);
        },
      ),
    );
  });
});

describe('the poster', () => {
  const words = (p: Plan | null, r: Route | null = null) => routeSteps(p, r).map((step) => step.words);

  it('without a plan says the whole way, three things of it ticked', () => {
    expect(words(null)).toEqual([
      'Wipe the bisque with a damp sponge',
      'No grease: touch it with clean hands only',
      'Wax the foot',
      'Line it: pour in, turn, pour out',
      'Sponge the drips off the outside',
      'Let it dry until it is no longer cold to the cheek',
      'Dip the outside',
      'Overlaps',
      'Wipe the foot',
      'Check the glaze line',
      'Ready for the kiln',
    ]);
    expect(routeSteps(null, null).flatMap(({ tick }) => tick ?? [])).toEqual([
      'waxed',
      'inside-dry',
      'outside',
    ]);
    expect(routeSteps(null, null).every(({ isDone }) => !isDone)).toBe(true);
  });

  it('says only what the plan asks for', () => {
    const inside = words({ inside: 'A', outside: null, over: [] });
    expect(inside).toContain('Line it with A: pour in, turn, pour out');
    expect(inside.join()).not.toMatch(/Dip|cheek|Overlap/);
    const all = words({ inside: 'A', outside: 'A', over: ['B'] });
    expect(all).toContain('Dip it all over in A');
    expect(all).toContain('Overlap with B');
    expect(all.join()).not.toMatch(/Line|cheek/);
  });

  it('ticks off what is done, to the last', () => {
    const way: Told[] = [
      plan('HG', 'MO'),
      { kind: 'waxed' },
      coat('inside'),
      dryWord,
      coat('outside', { glaze: 'MO' }, true),
    ];
    const done = (many: number) => {
      const r = route(...way.slice(0, many));
      return routeSteps(r.plan, r).filter(({ isDone }) => isDone).length;
    };
    expect([1, 2, 3, 4, 5].map(done)).toEqual([0, 3, 4, 6, 10]);
    expect(words({ inside: 'HG', outside: 'MO', over: [] })).toHaveLength(10);
  });

  it('has dried where scale or clock say so, though nobody said it', () => {
    const r = route(plan('HG', 'MO'), { kind: 'waxed' }, coat('inside'));
    const hasDried = (wall: 'wet' | 'dry') =>
      routeSteps(r.plan, r, wall).find(({ tick }) => tick === 'inside-dry')?.isDone;
    expect([hasDried('wet'), hasDried('dry')]).toEqual([false, true]);
  });

  it('is not ready while a coat or the foot is missing', () => {
    const isReady = (...told: Told[]) => routeSteps(route(...told).plan, route(...told)).at(-1)?.isDone;
    expect(isReady(plan('HG', 'MO'), coat('inside', {}, true))).toBe(false);
    expect(isReady(plan('HG', null), coat('inside'))).toBe(false);
    expect(isReady(plan('HG', null), coat('inside', {}, true))).toBe(true);
  });
});

it('a wet time lasts as long as the studio says', () => {
  const r = route(coat('inside'));
  expect(wetnessOf(r, { ...WARE_DEFAULTS, dryBackHours: 48 }, NOON + DAY).state).toBe('wet');
});

describe('the one thing to do now', () => {
  const step = (r: Route, asked: { face: CoatFace; glaze: string | null } | null = null) =>
    benchStep(r, wetness(r, NOON + 2 * HOUR), { asked }).do;

  it('goes by the plan; once a glaze is on, wax comes too late', () => {
    expect(step(route())).toBe('plan');
    expect(step(route(plan('HG', 'MO')))).toBe('wax');
    expect(step(route(plan('HG', 'MO'), { kind: 'waxed' }))).toBe('coat');
    expect(step(route(plan('HG', 'MO'), coat('inside')))).toBe('wait');
    expect(step(route(plan('HG', 'MO'), coat('inside'), dryWord))).toBe('coat');
    expect(step(route(plan(null, 'MO'), coat('outside')))).toBe('foot');
    expect(step(route(plan(null, 'MO'), coat('outside', {}, true)))).toBe('hand-in');
  });

  it('an overlap waits on a lining and over nothing else, by the plan and where somebody asks for it', () => {
    const over = { face: 'over', glaze: 'MO' } as const;
    for (const [put, expected] of [
      ['inside', 'wait'],
      ['outside', 'coat'],
      ['all', 'coat'],
      ['over', 'coat'],
    ] as const) {
      expect([put, step(route(coat(put)), over)]).toEqual([put, expected]);
      const planned = plan(put === 'inside' ? 'HG' : null, null, ...(put === 'over' ? ['HG', 'MO'] : ['MO']));
      expect([put, step(route(planned, coat(put)))]).toEqual([put, expected]);
    }
    expect(step(route(coat('outside')), { face: 'outside', glaze: 'MO' })).toBe('wait');
  });
});
