import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import {
  type BucketEvent,
  emptyFacts,
  type Facts,
  fold,
  isOrdered,
  type Payload,
  step,
} from '../../server/buckets/ledger.ts';
import { gravityOf, litresOf, solidsKg, waterKg } from '../../server/buckets/slurry.ts';
import { MINUTE } from '../../server/core/clock.ts';

const S = 2.6;
const recipe = { solidsDensity: S, hasSolubles: false };
const bucket = { capacityLitres: 25 };

/** Events numbered from 1, ten minutes apart. */
const ledger = (...payloads: Payload[]): BucketEvent[] =>
  payloads.map((payload, i) => ({ number: i + 1, happenedAt: i * 10 * MINUTE, ...payload }));

const factsOf = (...payloads: Payload[]): Facts => fold(recipe, ledger(...payloads), bucket);

const setup = (litres = 18, specificGravity = 1.5): Payload => ({
  kind: 'setup',
  litres,
  litresU: 0.36,
  specificGravity,
  solidsKg: solidsKg(litres, specificGravity, S),
  waterKg: waterKg(litres, specificGravity, S),
  from: 'gravity',
});

const reading = (
  specificGravity: number,
  o: { stirred?: boolean; u?: number; pairedWith?: number } = {},
): Payload => ({
  kind: 'reading',
  method: 'weighed',
  specificGravity,
  standardUncertainty: o.u ?? 0.01,
  stirred: o.stirred ?? true,
  ...(o.pairedWith !== undefined && { pairedWith: o.pairedWith }),
});

const water = (litres: number): Payload => ({ kind: 'addition', what: 'water', litres });
const rinse = (litres: number, specificGravity: number | null = null): Payload => ({
  kind: 'addition',
  what: 'rinse',
  litres,
  specificGravity,
});
const dipping = (litres: number, o: { pieces?: number; stirred?: boolean } = {}): Payload => ({
  kind: 'dipping',
  pieces: o.pieces ?? 1,
  litres,
  stirred: o.stirred ?? false,
});
const drawOff = (what: 'water' | 'slurry', litres: number): Payload => ({
  kind: 'draw-off',
  what,
  litres,
  to: 'waste',
});
const level = (litres: number): Payload => ({ kind: 'level', litres, litresU: 0.3, how: 'litres' });

describe('a set-up', () => {
  it('by gravity keeps litres and gravity and derives the masses; it is predicted, not a reading', () => {
    const f = factsOf(setup(18, 1.5));
    expect(f).toMatchObject({
      litres: 18,
      gravity: 1.5,
      gravityU: 0.02,
      gravityBasis: 'predicted',
      readingAt: null,
    });
    expect(f.litresU).toBe(0.36);
    expect(f.levelSeenAt).toBe(0);
    expect(f.changedAt).toBe(0);
    expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.5, S), 9);
    expect((f.solidsKg ?? 0) + (f.waterKg ?? 0)).toBeCloseTo(27, 9);
  });

  it('by batch keeps the masses that were weighed and derives litres and gravity', () => {
    const f = factsOf({ ...setup(), kind: 'setup', solidsKg: 10, waterKg: 9.5, from: 'batch' } as Payload);
    expect(f.solidsKg).toBeCloseTo(10, 9);
    expect(f.waterKg).toBeCloseTo(9.5, 9);
    expect(f.litres).toBeCloseTo(10 / S + 9.5 / WATER_20, 9);
    expect(f.gravity).toBeCloseTo(gravityOf(10, 9.5, S), 9);
  });

  it('begins anew: readings, stirs, shift and doubts of what was in it before are gone', () => {
    const f = factsOf(setup(), reading(1.5), water(3), drawOff('slurry', 90), setup(20, 1.45));
    expect(f).toMatchObject({
      litres: 20,
      gravity: 1.45,
      readingAt: null,
      readingNumber: null,
      readingGravity: null,
      stirredAt: null,
      shift: 0,
      unknownLitres: 0,
      recent: [],
      doubts: [],
    });
  });
});

describe('a reading', () => {
  it('that counts keeps the litres and sets gravity, masses, basis and its own stir', () => {
    const f = factsOf(setup(18, 1.5), water(1), reading(1.46, { u: 0.009 }));
    expect(f).toMatchObject({
      litres: 19,
      gravity: 1.46,
      gravityU: 0.009,
      gravityBasis: 'measured',
      gravityAt: 20 * MINUTE,
      readingAt: 20 * MINUTE,
      readingNumber: 3,
      readingGravity: 1.46,
      stirredAt: 20 * MINUTE,
      shift: 0,
    });
    expect(f.solidsKg).toBeCloseTo(solidsKg(19, 1.46, S), 9);
    expect(f.recent).toEqual([{ at: 20 * MINUTE, specificGravity: 1.46, standardUncertainty: 0.009 }]);
  });

  it('counts without its own stir up to two minutes after one', () => {
    const events = (gap: number): BucketEvent[] => [
      { number: 1, happenedAt: 0, ...setup() },
      { number: 2, happenedAt: 100, kind: 'stir' },
      { number: 3, happenedAt: 100 + gap, ...reading(1.46, { stirred: false }) },
    ];
    const counting = fold(recipe, events(2 * MINUTE), bucket);
    expect(counting).toMatchObject({ gravity: 1.46, readingNumber: 3, stirredAt: 100 });
    expect(fold(recipe, events(2 * MINUTE + 1), bucket)).toMatchObject({ gravity: 1.5, readingNumber: null });
  });

  it('of an unstirred bucket changes nothing but the number and the time of the last event', () => {
    const before = factsOf(setup(), reading(1.5));
    const same = step(
      before,
      { number: 3, happenedAt: 20 * MINUTE, ...reading(1.4, { stirred: false }) },
      bucket,
    );
    expect(same).toEqual({ ...before, lastNumber: 3, lastHappenedAt: 20 * MINUTE });
  });

  it('without known litres gives a gravity but no masses', () => {
    expect(factsOf(reading(1.46))).toMatchObject({
      gravity: 1.46,
      litres: null,
      solidsKg: null,
      waterKg: null,
    });
  });

  it('is kept among the last forty since the composition changed', () => {
    const f = factsOf(
      setup(),
      reading(1.6),
      water(0.1),
      ...Array.from({ length: 45 }, (_, i) => reading(1.5 + i / 1e4)),
    );
    expect(f.recent).toHaveLength(40);
    expect(f.recent[0]?.specificGravity).toBeCloseTo(1.5005, 9);
    expect(f.recent.at(-1)?.specificGravity).toBeCloseTo(1.5044, 9);
  });

  it('that cannot be is held between water and solids, and doubted', () => {
    expect(factsOf(setup(), reading(0.5))).toMatchObject({
      gravity: WATER_20,
      solidsKg: 0,
      doubts: [{ number: 2, what: 'below-water' }],
    });
    expect(factsOf(setup(), reading(3))).toMatchObject({
      gravity: S,
      doubts: [{ number: 2, what: 'above-solids' }],
    });
  });
});

describe('additions and draw-offs', () => {
  it('water: volumes and masses add, the gravity follows and is predicted', () => {
    const f = factsOf(setup(18, 1.52), reading(1.52), water(2.34));
    expect(f.litres).toBeCloseTo(20.34, 9);
    expect(f.gravity).toBeCloseTo((18 * 1.52 + 2.34 * WATER_20) / 20.34, 9);
    expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.52, S), 9);
    expect(f).toMatchObject({
      gravityBasis: 'predicted',
      changedAt: 20 * MINUTE,
      recent: [],
      readingNumber: 2,
    });
    expect(f.shift).toBeCloseTo(1.52 - (f.gravity ?? 0), 12);
  });

  it('dry glaze adds solids only', () => {
    const f = factsOf(setup(18, 1.4), { kind: 'addition', what: 'dry', kilograms: 2 });
    expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.4, S) + 2, 9);
    expect(f.waterKg).toBeCloseTo(waterKg(18, 1.4, S), 9);
    expect(f.litres).toBeCloseTo(18 + 2 / S, 9);
  });

  it('slurry and rinse of known gravity bring their own solids and water', () => {
    for (const what of ['slurry', 'rinse'] as const) {
      const f = factsOf(setup(18, 1.5), { kind: 'addition', what, litres: 2, specificGravity: 1.2 });
      expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.5, S) + solidsKg(2, 1.2, S), 9);
      expect(f.unknownLitres).toBe(0);
    }
  });

  it('rinse of unknown gravity counts as water, is remembered, and makes the gravity less sure', () => {
    const unknown = factsOf(setup(), reading(1.5), rinse(0.5));
    const plain = factsOf(setup(), reading(1.5), water(0.5));
    expect(unknown.gravity).toBe(plain.gravity);
    expect(unknown.unknownLitres).toBe(0.5);
    expect(unknown.gravityU).toBeGreaterThan(plain.gravityU);
    expect(factsOf(setup(), reading(1.5), rinse(0.5), water(1), rinse(0.25)).unknownLitres).toBe(0.75);
    expect(factsOf(setup(), reading(1.5), rinse(0.5), reading(1.49)).unknownLitres).toBe(0);
  });

  it('water taken off leaves the solids', () => {
    const f = factsOf(setup(18, 1.4), drawOff('water', 2));
    expect(f.litres).toBeCloseTo(16, 9);
    expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.4, S), 9);
    expect(f.waterKg).toBeCloseTo(waterKg(18, 1.4, S) - 2 * WATER_20, 9);
    expect(f.gravityBasis).toBe('predicted');
  });

  it('slurry taken out leaves the composition', () => {
    const before = factsOf(setup(), reading(1.5));
    const f = factsOf(setup(), reading(1.5), drawOff('slurry', 6));
    expect(f).toMatchObject({
      gravity: 1.5,
      gravityBasis: 'measured',
      changedAt: before.changedAt,
      shift: 0,
    });
    expect(f.litres).toBeCloseTo(12, 9);
    expect(f.solidsKg).toBeCloseTo(((before.solidsKg ?? 0) * 2) / 3, 9);
    expect(f.recent).toEqual(before.recent);
  });

  it('shifts add up without sign: water and then as much off again is still two changes', () => {
    const once = factsOf(setup(), reading(1.5), water(1));
    const back = factsOf(setup(), reading(1.5), water(1), drawOff('water', 1));
    expect(back.gravity).toBeCloseTo(1.5, 9);
    expect(back.shift).toBeCloseTo(2 * once.shift, 9);
  });

  it('carries uncertainty by first order: of gravity, litres and the amount', () => {
    const f = factsOf(setup(18, 1.52), reading(1.52, { u: 0.01 }), water(2));
    const [v, x] = [18, 2];
    const d = 1.52 - WATER_20;
    const expected = Math.hypot((v / 20) * 0.01, ((x * d) / 400) * 0.36, ((v * d) / 400) * 0.02 * x);
    expect(f.gravityU).toBeCloseTo(expected, 12);
    expect(f.litresU).toBeCloseTo(Math.hypot(0.36, 0.04), 12);
  });

  it('to an unknown level cannot be predicted: the gravity is no longer known until a reading', () => {
    const f = factsOf(reading(1.5), water(1), drawOff('water', 0.5));
    expect(f).toMatchObject({ gravity: null, gravityBasis: null, unpredictable: true, unknownLitres: 1.5 });
    expect(factsOf(reading(1.5), drawOff('slurry', 1))).toMatchObject({ gravity: 1.5, unpredictable: false });
    const reread = factsOf(reading(1.5), water(1), reading(1.45));
    expect(reread).toMatchObject({ gravity: 1.45, unpredictable: false, unknownLitres: 0 });
  });

  it('to an emptied bucket is all there is in it', () => {
    const f = factsOf(setup(18, 1.5), drawOff('slurry', 18), {
      kind: 'addition',
      what: 'slurry',
      litres: 5,
      specificGravity: 1.4,
    });
    expect(f.litres).toBeCloseTo(5, 9);
    expect(f.gravity).toBeCloseTo(1.4, 9);
    expect(f.gravityU).toBeCloseTo(0.02, 9);
    expect(f.shift).toBeCloseTo(0.1, 9);
    expect(f.doubts).toEqual([]);
  });
});

describe('what cannot be is clamped and doubted', () => {
  it.each<[string, Payload, Partial<Facts>]>([
    ['more than it holds', water(10), { litres: 25, doubts: [{ number: 2, what: 'over-capacity' }] }],
    [
      'more taken out than was in it',
      drawOff('slurry', 19),
      { litres: 0, doubts: [{ number: 2, what: 'emptied' }] },
    ],
    ['more dipped than was in it', dipping(19), { litres: 0, doubts: [{ number: 2, what: 'emptied' }] }],
    [
      'more water off than there is',
      drawOff('water', 17),
      { gravity: S, doubts: [{ number: 2, what: 'above-solids' }] },
    ],
    [
      'slurry lighter than water',
      { kind: 'addition', what: 'slurry', litres: 1, specificGravity: 0.8 },
      { doubts: [{ number: 2, what: 'below-water' }] },
    ],
    [
      'slurry heavier than its solids',
      { kind: 'addition', what: 'slurry', litres: 1, specificGravity: 4 },
      { doubts: [{ number: 2, what: 'above-solids' }] },
    ],
    ['a level over the rim', level(26), { litres: 25, doubts: [{ number: 2, what: 'over-capacity' }] }],
  ])('%s', (_name, payload, expected) => {
    expect(factsOf(setup(18, 1.5), payload)).toMatchObject(expected);
  });

  it('solids stay when more water comes off than there is', () => {
    const f = factsOf(setup(18, 1.5), drawOff('water', 17));
    expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.5, S), 9);
    expect(f.waterKg).toBeCloseTo(0, 9);
    expect(f.litres).toBeCloseTo(solidsKg(18, 1.5, S) / S, 9);
  });

  it('what runs over the rim is slurry: the gravity is that of the mixture', () => {
    const f = factsOf(setup(18, 1.5), water(10));
    expect(f.gravity).toBeCloseTo((18 * 1.5 + 10 * WATER_20) / 28, 9);
  });

  it('exactly full is not over', () => {
    expect(factsOf(setup(18, 1.5), water(7))).toMatchObject({ litres: 25, doubts: [] });
  });

  it('keeps the last ten doubts', () => {
    const f = factsOf(setup(), ...Array.from({ length: 12 }, () => level(30)));
    expect(f.doubts.map((d) => d.number)).toEqual([4, 5, 6, 7, 8, 9, 10, 11, 12, 13]);
  });
});

describe('the rest of a bucket’s life', () => {
  it('a level keeps the gravity, sets the litres, and forgets the pieces', () => {
    const f = factsOf(setup(), reading(1.5), dipping(0.1, { pieces: 4 }), level(15));
    expect(f).toMatchObject({
      litres: 15,
      litresU: 0.3,
      gravity: 1.5,
      gravityBasis: 'measured',
      piecesSinceLevel: 0,
    });
    expect(f.levelSeenAt).toBe(30 * MINUTE);
    expect(f.solidsKg).toBeCloseTo(solidsKg(15, 1.5, S), 9);
  });

  it('dipping takes slurry, counts pieces, and records its stir', () => {
    const f = factsOf(
      setup(),
      reading(1.5),
      dipping(0.4, { pieces: 4, stirred: true }),
      dipping(0.2, { pieces: 2 }),
    );
    expect(f).toMatchObject({ gravity: 1.5, piecesSinceLevel: 6, stirredAt: 20 * MINUTE });
    expect(f.litres).toBeCloseTo(17.4, 9);
    // What pieces carry away is estimated by their size: a quarter of it.
    expect(f.litresU).toBeCloseTo(Math.hypot(0.36, 0.1, 0.05), 9);
  });

  it('service state, its cause and the tag', () => {
    const f = factsOf(
      setup(),
      { kind: 'service', state: 'do-not-use', cause: 'wrong-glaze' },
      { kind: 'tag-hung' },
    );
    expect(f).toMatchObject({
      service: 'do-not-use',
      serviceCause: 'wrong-glaze',
      serviceSince: 10 * MINUTE,
      serviceNumber: 2,
      tagHungAt: 20 * MINUTE,
    });
    const back = step(
      f,
      { number: 4, happenedAt: 30 * MINUTE, kind: 'service', state: 'in-service', cause: null },
      bucket,
    );
    expect(back).toMatchObject({
      service: 'in-service',
      serviceCause: null,
      serviceNumber: 4,
      tagHungAt: null,
    });
  });

  it('another recipe keeps litres and gravity; the masses follow from its density', () => {
    const f = factsOf(setup(), reading(1.5), {
      kind: 'recipe',
      recipeId: 1,
      version: 2,
      solidsDensity: 3,
      hasSolubles: true,
    });
    expect(f).toMatchObject({
      litres: 18,
      gravity: 1.5,
      gravityBasis: 'measured',
      solidsDensity: 3,
      hasSolubles: true,
    });
    expect(f.solidsKg).toBeCloseTo(solidsKg(18, 1.5, 3), 9);
    expect(f).toMatchObject({ changedAt: 20 * MINUTE, recent: [], readingNumber: 2 });
  });

  it('sieve and note leave everything as it was', () => {
    const before = factsOf(setup(), reading(1.5));
    for (const payload of [{ kind: 'sieve', mesh: 80 }, { kind: 'note' }] satisfies Payload[]) {
      const f = factsOf(setup(), reading(1.5), payload);
      expect(f).toEqual({ ...before, lastNumber: 3, lastHappenedAt: 20 * MINUTE });
    }
  });
});

describe('voids', () => {
  it('strike out a stir and the reading recorded with it together, whichever is named', () => {
    const pair: Payload[] = [
      setup(),
      { kind: 'stir', pairedWith: 3 },
      reading(1.4, { stirred: false, pairedWith: 2 }),
    ];
    const bare = factsOf(setup());
    for (const voids of [2, 3]) {
      expect(factsOf(...pair, { kind: 'void', voids })).toEqual({ ...bare, lastNumber: 4 });
    }
    const namedOnce: Payload[] = [setup(), { kind: 'stir' }, reading(1.4, { stirred: false, pairedWith: 2 })];
    for (const voids of [2, 3]) {
      expect(factsOf(...namedOnce, { kind: 'void', voids })).toEqual({ ...bare, lastNumber: 4 });
    }
  });

  it('are not voided themselves, and need a fold', () => {
    const f = factsOf(setup(), water(1), { kind: 'void', voids: 2 }, { kind: 'void', voids: 3 });
    expect(f.litres).toBe(18);
    expect(f.lastHappenedAt).toBe(0);
    expect(isOrdered(f, { number: 5, happenedAt: 99 * MINUTE, kind: 'void', voids: 1 })).toBe(false);
    expect(step(f, { number: 5, happenedAt: 99 * MINUTE, kind: 'void', voids: 1 }, bucket)).toEqual({
      ...f,
      lastNumber: 5,
    });
  });
});

describe('order', () => {
  it('one step suffices for an event not earlier than the last', () => {
    const f = factsOf(setup(), water(1));
    const at = (happenedAt: number): BucketEvent => ({ number: 3, happenedAt, kind: 'note' });
    expect(isOrdered(f, at(10 * MINUTE))).toBe(true);
    expect(isOrdered(f, at(10 * MINUTE - 1))).toBe(false);
    expect(isOrdered(emptyFacts(recipe), { number: 1, happenedAt: -5, kind: 'note' })).toBe(true);
  });
});

// ---- properties

const amount = fc.double({ min: 0.01, max: 3, noNaN: true });
const gravity = fc.double({ min: 1.05, max: 1.8, noNaN: true });

const composition: fc.Arbitrary<Payload> = fc.oneof(
  amount.map(water),
  amount.map((kilograms): Payload => ({ kind: 'addition', what: 'dry', kilograms })),
  fc
    .tuple(amount, gravity)
    .map(
      ([litres, specificGravity]): Payload => ({ kind: 'addition', what: 'slurry', litres, specificGravity }),
    ),
  fc.tuple(amount, fc.option(gravity)).map(([litres, g]) => rinse(litres, g)),
  amount.map((litres) => drawOff('water', litres)),
  amount.map((litres) => drawOff('slurry', litres)),
  amount.map((litres) => dipping(litres / 10, { pieces: 3, stirred: true })),
);

const anything: fc.Arbitrary<Payload> = fc.oneof(
  { weight: 3, arbitrary: composition },
  fc.tuple(gravity, fc.boolean()).map(([g, stirred]) => reading(g, { stirred })),
  fc.constant<Payload>({ kind: 'stir' }),
  fc.double({ min: 0, max: 25, noNaN: true }).map(level),
  fc.tuple(fc.double({ min: 5, max: 25, noNaN: true }), gravity).map(([v, g]) => setup(v, g)),
  fc.constantFrom<Payload[]>(
    { kind: 'sieve', mesh: 80 },
    { kind: 'note' },
    { kind: 'tag-hung' },
    { kind: 'service', state: 'on-test', cause: null },
    { kind: 'recipe', recipeId: 1, version: 2, solidsDensity: 2.7, hasSolubles: true },
  ),
);

const big = { capacityLitres: 1000 };

/** Bookkeeping by mass alone, which the ledger must agree with. */
function weigh(events: BucketEvent[]): { solids: number; water: number } {
  let [solids, waterMass] = [0, 0];
  const fill = (v: number, g: number) => {
    solids = solidsKg(v, g, S);
    waterMass = waterKg(v, g, S);
  };
  const litres = () => litresOf(solids, waterMass, S);
  const put = (v: number, g: number) => {
    solids += solidsKg(v, g, S);
    waterMass += waterKg(v, g, S);
  };
  const keep = (share: number) => {
    solids *= share;
    waterMass *= share;
  };
  for (const e of events) {
    if (e.kind === 'setup') fill(e.litres, e.specificGravity);
    if (e.kind === 'reading' && e.stirred) fill(litres(), e.specificGravity);
    if (e.kind === 'level') keep(e.litres / litres());
    if (e.kind === 'dipping') keep(1 - e.litres / litres());
    if (e.kind === 'draw-off' && e.what === 'slurry') keep(1 - e.litres / litres());
    if (e.kind === 'draw-off' && e.what === 'water') waterMass -= e.litres * WATER_20;
    if (e.kind === 'addition' && e.what === 'dry') solids += e.kilograms;
    if (e.kind === 'addition' && e.what === 'water') waterMass += e.litres * WATER_20;
    if (e.kind === 'addition' && (e.what === 'slurry' || e.what === 'rinse'))
      put(e.litres, e.specificGravity ?? WATER_20);
  }
  return { solids, water: waterMass };
}

function expectMasses(events: BucketEvent[]): void {
  const f = fold(recipe, events, big);
  fc.pre(f.doubts.length === 0);
  const expected = weigh(events);
  expect(f.solidsKg).toBeCloseTo(expected.solids, 6);
  expect(f.waterKg).toBeCloseTo(expected.water, 6);
  expect(f.litres).toBeCloseTo(litresOf(expected.solids, expected.water, S), 6);
}

describe('over any sequence of events', () => {
  const sequence = fc.array(anything, { maxLength: 25 });
  /** Times that may repeat or run backwards against the numbers. */
  const scattered = fc
    .array(fc.tuple(anything, fc.integer({ min: 0, max: 30 })), { maxLength: 25 })
    .map((pairs) =>
      pairs.map(([p, slot], i): BucketEvent => ({ number: i + 1, happenedAt: slot * MINUTE, ...p })),
    );

  it('mass is conserved: what is in it is what was put in less what was taken out', () => {
    fc.assert(
      fc.property(fc.array(composition, { maxLength: 25 }), (payloads) => {
        expectMasses(ledger(setup(60, 1.5), ...payloads));
      }),
    );
  });

  it('readings and levels restart the balance from what was seen', () => {
    const seen = fc.oneof(
      composition,
      gravity.map((g) => reading(g)),
      fc.double({ min: 40, max: 80, noNaN: true }).map(level),
    );
    fc.assert(
      fc.property(fc.array(seen, { maxLength: 25 }), (payloads) => {
        expectMasses(ledger(setup(60, 1.5), ...payloads));
      }),
    );
  });

  it('step by step gives what folding gives, and each step is in order', () => {
    fc.assert(
      fc.property(sequence, (payloads) => {
        const events = ledger(...payloads);
        const stepped = events.reduce((f, event) => {
          expect(isOrdered(f, event)).toBe(true);
          return step(f, event, bucket);
        }, emptyFacts(recipe));
        expect(stepped).toEqual(fold(recipe, events, bucket));
      }),
    );
  });

  it('the order in which rows are read does not matter, only when they happened', () => {
    const shuffled = scattered.chain((events) =>
      fc.tuple(fc.constant(events), fc.shuffledSubarray(events, { minLength: events.length })),
    );
    fc.assert(
      fc.property(shuffled, ([events, otherwise]) => {
        expect(fold(recipe, otherwise, bucket)).toEqual(fold(recipe, events, bucket));
      }),
    );
  });

  it('a void leaves what there would be without the event it names', () => {
    fc.assert(
      fc.property(scattered, fc.nat(), (events, pick) => {
        fc.pre(events.length > 0);
        const named = (pick % events.length) + 1;
        const voiding: BucketEvent = {
          number: events.length + 1,
          happenedAt: 31 * MINUTE,
          kind: 'void',
          voids: named,
        };
        const without = fold(
          recipe,
          events.filter((e) => e.number !== named),
          bucket,
        );
        expect(fold(recipe, [...events, voiding], bucket)).toEqual({
          ...without,
          lastNumber: voiding.number,
        });
      }),
    );
  });

  it('never throws and never yields a number that is none, whatever was written', () => {
    const wild = fc.double();
    const absurd: fc.Arbitrary<Payload> = fc.oneof(
      anything,
      fc.tuple(wild, wild, wild, wild, wild, fc.constantFrom('gravity' as const, 'batch' as const)).map(
        ([litres, litresU, specificGravity, solids, waterMass, from]): Payload => ({
          kind: 'setup',
          litres,
          litresU,
          specificGravity,
          solidsKg: solids,
          waterKg: waterMass,
          from,
        }),
      ),
      fc.tuple(wild, wild).map(([g, u]) => reading(g, { u })),
      fc.tuple(wild, fc.option(wild)).map(([litres, g]) => rinse(litres, g)),
      wild.map((kilograms): Payload => ({ kind: 'addition', what: 'dry', kilograms })),
      fc
        .tuple(fc.constantFrom('water' as const, 'slurry' as const), wild)
        .map(([what, litres]) => drawOff(what, litres)),
      fc
        .tuple(wild, wild)
        .map(([litres, litresU]): Payload => ({ kind: 'level', litres, litresU, how: 'stick' })),
      fc.tuple(wild, wild).map(([litres, pieces]) => dipping(litres, { pieces })),
      wild.map(
        (solidsDensity): Payload => ({
          kind: 'recipe',
          recipeId: 1,
          version: 1,
          solidsDensity,
          hasSolubles: false,
        }),
      ),
      fc.integer().map((voids): Payload => ({ kind: 'void', voids })),
    );
    const capacity = fc.oneof(wild, fc.constant(25));
    fc.assert(
      fc.property(fc.array(absurd, { maxLength: 30 }), capacity, (payloads, capacityLitres) => {
        const o = { capacityLitres };
        const events = ledger(...payloads);
        for (const f of [
          fold(recipe, events, o),
          events.reduce((f, e) => step(f, e, o), emptyFacts(recipe)),
        ]) {
          for (const value of Object.values(f)) {
            if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
          }
          for (const r of f.recent)
            expect(Number.isFinite(r.specificGravity + r.standardUncertainty)).toBe(true);
          expect(f.litres ?? 0).toBeGreaterThanOrEqual(0);
          expect(f.gravity ?? WATER_20).toBeGreaterThanOrEqual(WATER_20);
          expect(f.gravity ?? WATER_20).toBeLessThanOrEqual(f.solidsDensity);
          expect(f.doubts.length).toBeLessThanOrEqual(10);
        }
      }),
      { numRuns: 500 },
    );
  });
});
