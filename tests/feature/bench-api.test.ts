import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;

beforeAll(async () => {
  s = await aStudio();
});

const post = (path: string, body: unknown) => s.api(s.people.member, 'POST', path, body as object);

async function paths(path: string, body: unknown): Promise<string[]> {
  const answer = await post(path, body);
  expect(answer.statusCode, answer.body).toBe(422);
  return (answer.json().errors as { path: string }[]).map((e) => e.path);
}

/** coat = 0.01 + 0.02·√t, g/cm² on 100 cm². */
const tileAt = (dwellSeconds: number) => ({
  dwellSeconds,
  specificGravity: 1.46,
  solidsDensity: 2.6,
  areaCm2: 100,
  dryCoatGrams: 100 * (0.01 + 0.02 * Math.sqrt(dwellSeconds)),
});
const ask = {
  tiles: [1, 2, 3, 5, 8].map(tileAt),
  want: { gramsPerCm2: 0.05 },
  at: { specificGravity: 1.46 },
};

describe('POST /coat/fit', () => {
  it('fits the tiles and says how long to hold: (0.05 − 0.01)/0.02 squared are 4 s', async () => {
    const answer = await post('/coat/fit', ask);
    expect(answer.statusCode).toBe(200);
    const { intercept, perRootSecond, standardErrors, dwell, ...rest } = answer.json();
    expect(intercept).toBeCloseTo(0.01, 9);
    expect(perRootSecond).toBeCloseTo(0.02, 9);
    expect(standardErrors.intercept).toBeGreaterThan(0);
    expect(standardErrors.perRootSecond).toBeGreaterThan(0);
    expect(dwell.best).toBeCloseTo(4, 7);
    expect(dwell.low).toBeLessThan(4);
    expect(dwell.high).toBeGreaterThan(4);
    expect(rest).toMatchObject({ saturated: false, basis: 'own', leftOut: [], criticalFraction: 0.55 });
    expect(rest.words).toContain('Count 4');
  });

  it('takes the wet gain too, and a thickness: 0.35714 mm of 1.4 g/cm³ are 0.05 g/cm²', async () => {
    const w = (2.6 * (1.46 - 0.99821)) / (1.46 * (2.6 - 0.99821));
    const wet = ask.tiles.map(({ dryCoatGrams, ...tile }) => ({ ...tile, wetGainGrams: dryCoatGrams / w }));
    for (const want of [{ thicknessMm: 0.5 / 1.4 }, { thicknessMm: 0.5, dryCoatDensity: 1 }]) {
      const answer = await post('/coat/fit', { ...ask, tiles: wet, want });
      expect(answer.json().dwell.best, answer.body).toBeCloseTo(4, 6);
    }
  });

  it('holds shorter in a heavier bucket', async () => {
    const best = async (specificGravity: number) =>
      (await post('/coat/fit', { ...ask, at: { specificGravity } })).json().dwell.best;
    expect(await best(1.5)).toBeLessThan(await best(1.46));
    expect(await best(1.42)).toBeGreaterThan(await best(1.46));
  });

  it('warns of a thin wall', async () => {
    const wall = { soakPercent: 8, bulkDensity: 1.9, thicknessMm: 2 };
    const answer = await post('/coat/fit', { ...ask, at: { ...ask.at, wall } });
    expect(answer.json()).toMatchObject({ saturated: true });
    const thick = await post('/coat/fit', { ...ask, at: { ...ask.at, wall: { ...wall, thicknessMm: 12 } } });
    expect(thick.json()).toMatchObject({ saturated: false });
  });

  it('without a line it answers what is usual, and no more', async () => {
    for (const tiles of [[], [tileAt(3)], [tileAt(3), tileAt(3)]]) {
      const answer = await post('/coat/fit', { ...ask, tiles });
      expect(answer.statusCode).toBe(200);
      expect(answer.json()).toMatchObject({
        intercept: null,
        perRootSecond: null,
        standardErrors: null,
        dwell: { best: 3 },
        basis: 'none',
      });
    }
  });

  it('leaves out a bad tile and says which', async () => {
    const tiles = [...ask.tiles, { ...tileAt(4), dryCoatGrams: 12 }];
    expect((await post('/coat/fit', { ...ask, tiles })).json().leftOut).toEqual([5]);
  });

  it.each([
    ['dwellSeconds', { dwellSeconds: -1 }],
    ['dwellSeconds', { dwellSeconds: 'long' }],
    ['dwellSeconds', { dwellSeconds: null }],
    ['specificGravity', { specificGravity: 1 }],
    ['specificGravity', { specificGravity: 0.9 }],
    ['specificGravity', { specificGravity: 'NaN' }],
    ['specificGravity', { specificGravity: 1.95 }],
    ['solidsDensity', { solidsDensity: 1.46 }],
    ['solidsDensity', { solidsDensity: 1.2 }],
    ['areaCm2', { areaCm2: 0 }],
    ['areaCm2', { areaCm2: -100 }],
    ['dryCoatGrams', { dryCoatGrams: 0 }],
    ['dryCoatGrams', { dryCoatGrams: -2 }],
    ['dryCoatGrams', { dryCoatGrams: undefined }],
    ['dryCoatGrams', { wetGainGrams: 2 }],
    ['wetGainGrams', { dryCoatGrams: undefined, wetGainGrams: -4 }],
    ['colour', { colour: 'blue' }],
  ])('refuses a tile by its %s: %o', async (field, wrong) => {
    expect(await paths('/coat/fit', { ...ask, tiles: [tileAt(1), { ...tileAt(3), ...wrong }] })).toContain(
      `tiles.1.${field}`,
    );
  });

  it.each([
    ['want', { want: {} }],
    ['want', { want: undefined }],
    ['want.gramsPerCm2', { want: { gramsPerCm2: 0 } }],
    ['want.thicknessMm', { want: { thicknessMm: -1 } }],
    ['want.thicknessMm', { want: { thicknessMm: 1, gramsPerCm2: 0.05 } }],
    ['want.dryCoatDensity', { want: { gramsPerCm2: 0.05, dryCoatDensity: 1.4 } }],
    ['at.specificGravity', { at: { specificGravity: 1 } }],
    ['at.specificGravity', { at: { specificGravity: 2.2 } }],
    ['at.solidsDensity', { at: { specificGravity: 1.5, solidsDensity: 1.5 } }],
    [
      'at.wall.thicknessMm',
      { at: { specificGravity: 1.46, wall: { soakPercent: 8, bulkDensity: 1.9, thicknessMm: 0 } } },
    ],
    ['tiles', { tiles: Array.from({ length: 501 }, () => tileAt(3)) }],
    ['tiles', { tiles: 'many' }],
  ])('refuses %s: %#', async (path, wrong) => {
    expect(await paths('/coat/fit', { ...ask, ...wrong })).toContain(path);
  });

  it('takes 500 tiles', async () => {
    const tiles = Array.from({ length: 500 }, (_, i) => ({
      ...tileAt(1 + (i % 40)),
      specificGravity: 1.4 + 0.0002 * i,
    }));
    expect((await post('/coat/fit', { ...ask, tiles })).statusCode).toBe(200);
  });

  it('answers tiles in the wildest units without breaking', async () => {
    const wild = [
      { ...tileAt(0), specificGravity: 1.001, areaCm2: 0.01, dryCoatGrams: 2000 },
      { ...tileAt(3600), areaCm2: 100_000, dryCoatGrams: 0.001 },
    ];
    for (const tiles of [wild, [...wild, ...ask.tiles], [tileAt(0), tileAt(0)]])
      expect((await post('/coat/fit', { ...ask, tiles })).statusCode).toBe(200);
  });
});

describe('POST /absorption', () => {
  const specimens = [
    { dryGrams: 100, saturatedGrams: 110, suspendedGrams: 60 },
    { dryGrams: 100, saturatedGrams: 114, suspendedGrams: 60 },
  ];

  it('answers each specimen, mean and spread', async () => {
    const answer = await post('/absorption', { specimens });
    expect(answer.statusCode).toBe(200);
    const { mean, spread, specimens: each } = answer.json();
    expect(each).toHaveLength(2);
    expect(each[0]).toMatchObject({ absorptionPercent: 10, apparentPorosityPercent: 20, bulkDensity: 2 });
    expect(mean.absorptionPercent).toBeCloseTo(12, 10);
    expect(spread.absorptionPercent).toBeCloseTo(Math.sqrt(8), 10);
    expect((await post('/absorption', { specimens: specimens.slice(0, 1) })).json().spread).toBeNull();
  });

  it.each([
    ['specimens.1.suspendedGrams', { dryGrams: 10, saturatedGrams: 14, suspendedGrams: 12 }],
    ['specimens.1.suspendedGrams', { dryGrams: 100, saturatedGrams: 110, suspendedGrams: 100 }],
    ['specimens.1.saturatedGrams', { dryGrams: 100, saturatedGrams: 99, suspendedGrams: 60 }],
    ['specimens.1.dryGrams', { dryGrams: 0, saturatedGrams: 110, suspendedGrams: 60 }],
    ['specimens.1.dryGrams', { dryGrams: 'NaN', saturatedGrams: 110, suspendedGrams: 60 }],
    ['specimens.1.suspendedGrams', { dryGrams: 100, saturatedGrams: 110 }],
  ])('refuses %s: %o', async (path, wrong) => {
    expect(await paths('/absorption', { specimens: [specimens[0], wrong] })).toContain(path);
  });

  it('refuses none at all', async () => {
    expect(await paths('/absorption', { specimens: [] })).toEqual(['specimens']);
    expect(await paths('/absorption', {})).toEqual(['specimens']);
  });
});

describe('POST /drying', () => {
  // 60 g of water, halved every two hours.
  const weighings = [0, 2, 4].map((hours) => ({ hours, grams: 500 + 60 * 2 ** (-hours / 2) }));

  it('says when a tenth of the water is left, or another share', async () => {
    const answer = await post('/drying', { weighings, dryGrams: 500 });
    expect(answer.statusCode).toBe(200);
    const { readyAtHours, range, reason } = answer.json();
    expect(readyAtHours).toBeCloseTo(2 * Math.log2(10), 7);
    expect(range.low).toBeLessThan(readyAtHours);
    expect(range.high).toBeGreaterThan(readyAtHours);
    expect(reason).toBeNull();
    const later = await post('/drying', { weighings, dryGrams: 500, waterLeftShare: 1 / 16 });
    expect(later.json().readyAtHours).toBeCloseTo(8, 7);
  });

  it.each([
    [
      'rising',
      [
        { hours: 0, grams: 550 },
        { hours: 2, grams: 555 },
      ],
    ],
    [
      'equal',
      [
        { hours: 0, grams: 550 },
        { hours: 2, grams: 550 },
      ],
    ],
    [
      'below-dry',
      [
        { hours: 0, grams: 550 },
        { hours: 2, grams: 490 },
      ],
    ],
    [
      'already-dry',
      [
        { hours: 0, grams: 550 },
        { hours: 2, grams: 502 },
      ],
    ],
    ['too-few', [{ hours: 0, grams: 550 }]],
  ])('says why not: %s', async (reason, rows) => {
    const answer = await post('/drying', { weighings: rows, dryGrams: 500 });
    expect(answer.statusCode).toBe(200);
    expect(answer.json()).toEqual({ readyAtHours: null, range: null, timeConstantHours: null, reason });
  });

  it.each([
    ['weighings', { weighings: [] }],
    ['weighings.0.hours', { weighings: [{ hours: -1, grams: 550 }] }],
    ['weighings.0.grams', { weighings: [{ hours: 0, grams: 0 }] }],
    ['weighings.0.grams', { weighings: [{ hours: 0, grams: 'NaN' }] }],
    ['dryGrams', { dryGrams: 0 }],
    ['dryGrams', { dryGrams: undefined }],
    ['waterLeftShare', { waterLeftShare: 0 }],
    ['waterLeftShare', { waterLeftShare: 1 }],
  ])('refuses %s: %o', async (path, wrong) => {
    expect(await paths('/drying', { weighings, dryGrams: 500, ...wrong })).toContain(path);
  });
});

it('nobody asks without a token, every role asks with one', async () => {
  for (const [path, body] of [
    ['/coat/fit', ask],
    ['/absorption', { specimens: [{ dryGrams: 100, saturatedGrams: 110, suspendedGrams: 60 }] }],
    ['/drying', { weighings: [{ hours: 0, grams: 550 }], dryGrams: 500 }],
  ] as const) {
    expect((await s.api(null, 'POST', path, body)).statusCode).toBe(401);
    for (const person of Object.values(s.people))
      expect((await s.api(person, 'POST', path, body)).statusCode).toBe(200);
  }
});

describe('whatever is typed within the limits', () => {
  // A failure is shown as it was found: making such numbers smaller takes for ever.
  const asFound = { endOnFailure: true };
  const answered = async (path: string, body: unknown): Promise<void> => {
    const { statusCode, body: said } = await post(path, body);
    expect([200, 422], `${JSON.stringify(body)}: ${said}`).toContain(statusCode);
  };
  const whole = (min: number, max: number) => fc.integer({ min, max });

  it('drying is answered', async () => {
    const weighing = fc.record({ hours: whole(0, 300), grams: whole(1, 100_000) });
    const body = fc.record({
      weighings: fc.array(weighing, { minLength: 1, maxLength: 5 }),
      dryGrams: whole(1, 500),
    });
    await fc.assert(
      fc.asyncProperty(body, (drying) => answered('/drying', drying)),
      { ...asFound, numRuns: 300 },
    );
    // Over before the second weighing.
    const weighings = [
      { hours: 21, grams: 70_555 },
      { hours: 28, grams: 20_990 },
      { hours: 274, grams: 8172 },
    ];
    const answer = await post('/drying', { weighings, dryGrams: 399 });
    expect(answer.json()).toMatchObject({ readyAtHours: null, reason: 'no-fit' });
  });

  it('a coat is answered', async () => {
    const tile = fc.record({
      dwellSeconds: fc.oneof(whole(0, 20), whole(0, 600)),
      specificGravity: fc.oneof(whole(130, 170), whole(101, 250)).map((hundredths) => hundredths / 100),
      solidsDensity: whole(20, 40).map((tenths) => tenths / 10),
      areaCm2: fc.oneof(whole(20, 200), whole(1, 5000)),
      wetGainGrams: fc.oneof(whole(1, 30), whole(1, 5000)),
    });
    const body = fc.record({
      tiles: fc.array(tile, { maxLength: 9 }),
      want: fc.record({ gramsPerCm2: whole(1, 300).map((thousandths) => thousandths / 1000) }),
      at: fc.record({ specificGravity: whole(130, 170).map((hundredths) => hundredths / 100) }),
    });
    await fc.assert(
      fc.asyncProperty(body, (coat) => answered('/coat/fit', coat)),
      { ...asFound, numRuns: 300 },
    );
  });
});
