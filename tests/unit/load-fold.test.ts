import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  changeBetween,
  type Folded,
  foldLoad,
  isBelow,
  type Spot,
  shelvesOf,
  spotsOf,
} from '../../server/kilns/load-fold.ts';
import type { Level } from '../../server/kilns/packing/problem.ts';

const level = (part: Level['part'], ...ids: number[]): Level => ({
  part,
  baseMm: 0,
  posts: null,
  pieces: ids.map((id) => ({ id: String(id), xMm: 0, yMm: 0, turned: false, zMm: 0 })),
});

const events = (...list: Partial<Folded>[]): Folded[] =>
  list.map((one, i) => ({
    number: i + 1,
    kind: 'changed',
    happenedAt: 1000 + i,
    by: 7,
    state: null,
    voids: null,
    payload: {},
    ...one,
  }));

const spot = (number: number, at = 1, part: Spot['part'] = 'full'): Spot => ({ number, part, level: at });
const proposed = (...placed: Spot[]): Partial<Folded> => ({
  kind: 'proposed',
  state: 'proposed',
  payload: { placed, removed: [] },
});
const tick = (at: number, notIn: number[] = []): Partial<Folded> => ({
  kind: 'level-loaded',
  payload: { part: 'full', level: at, notIn },
});

describe('levels counted on their side', () => {
  const load = {
    levels: [level('full', 1), level('full', 2), level('left', 3), level('left', 4), level('right', 5, 6)],
  };

  it('counts a full level for both sides', () => {
    expect(shelvesOf(load)).toEqual([
      { part: 'full', level: 1 },
      { part: 'full', level: 2 },
      { part: 'left', level: 3 },
      { part: 'left', level: 4 },
      { part: 'right', level: 3 },
    ]);
    expect(spotsOf(load)[4]).toEqual({ number: 5, part: 'right', level: 3 });
  });

  it('a full shelf carries both sides, a half shelf its own', () => {
    const [one, two, left3, left4, right3] = shelvesOf(load);
    if (!one || !two || !left3 || !left4 || !right3) throw new Error('five shelves');
    expect([isBelow(one, two), isBelow(two, left3), isBelow(two, right3), isBelow(left3, left4)]).toEqual([
      true,
      true,
      true,
      true,
    ]);
    expect([isBelow(two, one), isBelow(left3, right3), isBelow(right3, left4), isBelow(one, one)]).toEqual([
      false,
      false,
      false,
      false,
    ]);
  });
});

describe('the state of a load from its events', () => {
  it('reserves from approval, and not what was left out', () => {
    const all = events(
      proposed(spot(1), spot(2), spot(3, 2)),
      { kind: 'approved', state: 'approved' },
      tick(1, [2]),
    );
    expect([...foldLoad(all.slice(0, 1)).pieces.values()].every(({ reserves }) => !reserves)).toBe(true);
    const facts = foldLoad(all);
    expect(facts).toMatchObject({ state: 'approved', approvedAt: 1001, approvedBy: 7, lastEvent: 3 });
    expect([...facts.pieces.values()].map(({ number, isIn, reserves }) => [number, isIn, reserves])).toEqual([
      [1, true, true],
      [2, false, false],
      [3, null, true],
    ]);
  });

  it('a tick that is taken back says nothing, and a full load is being filled again', () => {
    const all = events(
      proposed(spot(1)),
      { kind: 'approved', state: 'approved' },
      tick(1),
      { kind: 'loaded', state: 'loaded' },
      { kind: 'void', state: 'approved', voids: 3 },
    );
    expect(foldLoad(all.slice(0, 4))).toMatchObject({ state: 'loaded', loadedAt: 1003 });
    const facts = foldLoad(all);
    expect(facts).toMatchObject({ state: 'approved', loadedAt: null });
    expect(facts.pieces.get(1)).toMatchObject({ isIn: null, reserves: true });
  });

  it('nothing is reserved once it is cancelled or emptied', () => {
    for (const state of ['cancelled', 'unloaded'] as const) {
      const facts = foldLoad(
        events(proposed(spot(1)), { kind: 'approved', state: 'approved' }, { kind: state, state }),
      );
      expect(facts.pieces.get(1)?.reserves).toBe(false);
      expect(facts).toMatchObject({ state, [`${state}At`]: 1002 });
    }
  });

  it('follows any sequence of changes that were recorded as differences', () => {
    const arrangement = fc.uniqueArray(
      fc.record({ number: fc.integer({ min: 1, max: 12 }), level: fc.integer({ min: 1, max: 3 }) }),
      { selector: ({ number }) => number, maxLength: 12 },
    );
    fc.assert(
      fc.property(fc.array(arrangement, { minLength: 1, maxLength: 8 }), (list) => {
        const plans = list.map((spots) => spots.map(({ number, level: at }) => spot(number, at)));
        const changes = plans.map((plan, i) => ({ payload: changeBetween(plans[i - 1] ?? [], plan) }));
        const facts = foldLoad(events(...changes));
        const byNumber = (a: Spot, b: Spot) => a.number - b.number;
        const folded = [...facts.pieces.values()].map(({ number, part, level: at }) =>
          spot(number, at, part),
        );
        expect(folded.sort(byNumber)).toEqual([...(plans.at(-1) as Spot[])].sort(byNumber));
      }),
    );
  });

  it('takes whatever payload there is without falling over', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom('changed', 'reading', 'log', 'void', 'planned')), (kinds) => {
        expect(foldLoad(events(...kinds.map((kind) => ({ kind })))).lastEvent).toBe(kinds.length);
      }),
    );
  });
});
