import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BucketEvent, fold, type Payload } from '../../server/buckets/ledger.ts';
import {
  ago,
  gravityText,
  plusMinus,
  type Settings,
  STATE_WORDS,
  verdict,
} from '../../server/buckets/verdict.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';

const settings: Settings = {
  low: 1.44,
  aim: 1.46,
  high: 1.48,
  stirIntervalMinutes: 5,
  readingTrustedHours: 168,
  capacityLitres: 25,
};

/** Payloads at minutes before now (which is 100 days in). */
const now = 100 * DAY;
const facts = (...entries: [minutesAgo: number, Payload][]) => {
  const events = entries.map(
    ([minutesAgo, payload], i): BucketEvent => ({
      number: i + 1,
      happenedAt: now - minutesAgo * MINUTE,
      ...payload,
    }),
  );
  return fold({ solidsDensity: 2.6, hasSolubles: false }, events, settings);
};

const setup = (litres = 18, specificGravity = 1.46): Payload => ({
  kind: 'setup',
  litres,
  litresU: 0.36,
  specificGravity,
  solidsKg: 0,
  waterKg: 0,
  from: 'gravity',
});

const reading = (specificGravity: number, standardUncertainty = 0.004): Payload => ({
  kind: 'reading',
  method: 'weighed',
  specificGravity,
  standardUncertainty,
  stirred: true,
});

const stir: Payload = { kind: 'stir' };
const water = (litres: number): Payload => ({ kind: 'addition', what: 'water', litres });
const rinse = (litres: number): Payload => ({
  kind: 'addition',
  what: 'rinse',
  litres,
  specificGravity: null,
});
const service = (
  state: 'on-test' | 'do-not-use' | 'retired' | 'in-service',
  cause: string | null = null,
): Payload => ({
  kind: 'service',
  state,
  cause,
});

/** A bucket read and stirred two minutes ago. */
const just = (specificGravity: number, u?: number) => facts([60, setup()], [2, reading(specificGravity, u)]);
const stateOf = (f: ReturnType<typeof facts>, at = now) => verdict(f, settings, at).state;

describe('ready', () => {
  it('says what to do, with the number, its ± at 95 % and the band', () => {
    const v = verdict(just(1.46), settings, now);
    expect(v).toMatchObject({ state: 'ready', band: 'in', edge: null, needs: null });
    expect(v.why).toBe(
      'Ready. Stir to the bottom, then dip; stir again every few pieces. SG 1.460 ± 0.008, wanted 1.44 to 1.48.',
    );
  });

  it('lasts until the next stir is due, the reading is old, or drift makes it doubtful', () => {
    expect(verdict(just(1.46), settings, now).readyUntil).toBe(now + 3 * MINUTE);
    const old = facts([60, setup()], [167 * 60, reading(1.46)], [0, stir]);
    expect(verdict(old, { ...settings, stirIntervalMinutes: 120 }, now).needs).toBe('first');
    const trusted = facts([200 * 60, setup()], [167 * 60, reading(1.46)], [0, stir]);
    expect(verdict(trusted, { ...settings, stirIntervalMinutes: 120 }, now).readyUntil).toBe(now + HOUR);
  });

  it('is over at the instant it names, and not before', () => {
    const waits = fc.record({
      stirIntervalMinutes: fc.integer({ min: 1, max: 600 }),
      readingTrustedHours: fc.integer({ min: 1, max: 300 }),
    });
    const drifting = fc.array(fc.integer({ min: -3, max: 3 }), { minLength: 8, maxLength: 8 });
    fc.assert(
      fc.property(waits, drifting, fc.integer({ min: -4, max: 4 }), (wait, misses, slope) => {
        const readings = misses.map((miss, i): [number, Payload] => [
          (7 - i) * 24 * 60,
          reading(1.46 + miss / 2000 + (slope * (i - 7)) / 1000),
        ]);
        const f = facts([10 * 24 * 60, setup()], ...readings);
        const s = { ...settings, ...wait };
        const { state, readyUntil } = verdict(f, s, now);
        expect(state).toBe('ready');
        const until = readyUntil ?? 0;
        expect(verdict(f, s, until - 1).state).toBe('ready');
        expect(verdict(f, s, until).state).not.toBe('ready');
      }),
    );
  });
});

describe('stir first', () => {
  it('from the moment the interval has passed', () => {
    const f = just(1.46);
    expect(stateOf(f, now + 3 * MINUTE - 1)).toBe('ready');
    expect(stateOf(f, now + 3 * MINUTE)).toBe('stir-first');
  });

  it('says how long ago, how often, and the gravity', () => {
    const v = verdict(just(1.46, 0.01), settings, now + 10 * MINUTE);
    expect(v.why).toBe(
      'Last stirred 12 min ago, wants it every 5 min: stir to the bottom first. SG 1.46 ± 0.02, wanted 1.44 to 1.48.',
    );
    expect(v.readyUntil).toBeNull();
    expect(v.band).toBe('in');
  });

  it('is done by a stir or a stirred dipping', () => {
    const dip: Payload = { kind: 'dipping', pieces: 1, litres: 0.1, stirred: true };
    for (const done of [stir, dip]) {
      expect(stateOf(facts([60, setup()], [30, reading(1.46)], [1, done]))).toBe('ready');
    }
  });
});

describe('too thick and too thin', () => {
  it.each([
    [1.48, 'ready', 'in'],
    [1.4800001, 'too-thick', 'thick'],
    [1.44, 'ready', 'in'],
    [1.4399999, 'too-thin', 'thin'],
  ] as const)('limits belong to the band: %f is %s', (sg, state, band) => {
    expect(verdict(just(sg), settings, now)).toMatchObject({ state, band });
  });

  it('floating point does not push a gravity over a limit', () => {
    const summed = 1.37 + 0.11;
    expect(summed).toBeGreaterThan(1.48);
    expect(verdict(just(summed), settings, now).band).toBe('in');
    expect(verdict(just(1.44), { ...settings, low: 1.34 + 0.1 }, now).band).toBe('in');
  });

  it('says what is wrong with its numbers, and promises no thickness', () => {
    expect(verdict(just(1.52, 0.012), settings, now).why).toBe(
      'Needs water. SG 1.52 ± 0.02, wanted 1.44 to 1.48. A dip now leaves a thicker coat than wanted.',
    );
    expect(verdict(just(1.4, 0.012), settings, now).why).toBe(
      'Too much water in it. SG 1.40 ± 0.02, wanted 1.44 to 1.48. A dip now leaves a thinner coat than wanted.',
    );
  });

  it('comes before the stir: an unstirred thick bucket is too thick', () => {
    expect(stateOf(just(1.52), now + DAY)).toBe('too-thick');
  });

  it('says when the number is predicted', () => {
    const f = facts([60, setup()], [30, reading(1.5)], [1, water(0.2)]);
    expect(verdict(f, settings, now)).toMatchObject({ state: 'too-thick' });
    expect(verdict(f, settings, now).why).toContain(' predicted, wanted 1.44 to 1.48');
  });
});

describe('close to the edge', () => {
  it.each([
    [1.47, 0.01, 'high'],
    [1.45, 0.01, 'low'],
    [1.4699, 0.01, null],
    [1.4501, 0.01, null],
    [1.48, 0, 'high'],
    [1.465, 0.05, 'high'],
    [1.455, 0.05, 'low'],
    [1.49, 0.01, null],
  ] as const)('%f with u %f: %s', (sg, u, edge) => {
    expect(verdict(just(sg, u), settings, now).edge).toBe(edge);
  });

  it('is said, ready or to be stirred', () => {
    expect(verdict(just(1.475, 0.01), settings, now).why).toMatch(/close to the edge \(thick side\)\.$/);
    expect(verdict(just(1.445, 0.01), settings, now + DAY).why).toMatch(/close to the edge \(thin side\)\.$/);
  });
});

describe('needs a reading', () => {
  it('when there is none yet, whatever the set-up predicts', () => {
    expect(verdict(facts(), settings, now)).toMatchObject({
      state: 'needs-reading',
      needs: 'first',
      band: null,
    });
    expect(verdict(facts(), settings, now).why).toBe('No reading yet. Stir to the bottom, then check SG.');
    const v = verdict(facts([60, setup()]), settings, now);
    expect(v.needs).toBe('first');
    expect(v.why).toBe(
      'No reading yet; the set-up predicts SG 1.46 ± 0.04. Stir to the bottom, then check SG.',
    );
  });

  it('when the last is as old as readings are trusted', () => {
    const f = facts([200 * 60, setup()], [0, reading(1.46)]);
    const s = { ...settings, stirIntervalMinutes: 1e6 };
    expect(verdict(f, s, now + 7 * DAY - 1)).toMatchObject({ state: 'ready', needs: null });
    const v = verdict(f, s, now + 7 * DAY);
    expect(v).toMatchObject({ state: 'needs-reading', needs: 'old', band: null });
    expect(v.why).toBe(
      'Last read 7 days ago; a reading is trusted for 7 days. Stir to the bottom, then check SG.',
    );
  });

  it('when additions shift the prediction by more than a quarter of the band', () => {
    // A litre takes 18 L from 1.46 by 0.0243; a quarter of the band is 0.01, which 0.4 L stays under.
    const added = (litres: number) =>
      verdict(facts([60, setup()], [30, reading(1.46)], [1, water(litres)], [0, stir]), settings, now);
    expect(added(0.39)).toMatchObject({ state: 'ready', needs: null });
    expect(added(0.4)).toMatchObject({ state: 'needs-reading', needs: 'added', band: null });
    expect(added(1).why).toMatch(
      /^What was added or taken off since the reading 30 min ago moves SG by about 0\.02, to a predicted 1\.436 ± 0\.00\d\. Stir/,
    );
  });

  it('at exactly a quarter of the band not yet', () => {
    const f = { ...just(1.46), shift: 0.01 };
    expect(verdict(f, settings, now).needs).toBeNull();
    expect(verdict({ ...f, shift: 0.010001 }, settings, now).needs).toBe('added');
  });

  it('when more than 2 % of the volume came in of unknown gravity', () => {
    const wide = { ...settings, low: 1.3, high: 1.6 };
    const rinsed = (litres: number) =>
      verdict(facts([60, setup(19.6)], [30, reading(1.46)], [1, rinse(litres)], [0, stir]), wide, now);
    // 0.4 L in 19.6 makes 20: exactly 2 %.
    expect(rinsed(0.4)).toMatchObject({ state: 'ready', needs: null });
    const v = rinsed(0.41);
    expect(v).toMatchObject({ state: 'needs-reading', needs: 'unknown' });
    expect(v.why).toContain('Rinse of unknown gravity went in since the reading 30 min ago, 2.0 % of');
  });

  it('when something was added to an unknown level', () => {
    const v = verdict(facts([30, reading(1.46)], [1, water(0.01)]), settings, now);
    expect(v).toMatchObject({ state: 'needs-reading', needs: 'unknown', band: null, askLevel: true });
    expect(v.why).toContain('30 min ago while the level was not known');
  });

  it('not because slurry of the same kind was taken away', () => {
    const f = facts(
      [60, setup()],
      [30, reading(1.46)],
      [2, { kind: 'draw-off', what: 'slurry', litres: 9, to: 'batch' }],
      [0, stir],
    );
    expect(verdict(f, settings, now)).toMatchObject({ state: 'ready', needs: null });
  });

  describe('for drift', () => {
    /** Eight daily readings along a slope, the last of them so many days ago at this gravity. */
    const drifting = (last: number, perDay: number, daysAgo: number, scatter = 0.0005) =>
      facts(
        [30 * 24 * 60, setup()],
        ...[7, 6, 5, 4, 3, 2, 1, 0].map((i): [number, Payload] => [
          (i + daysAgo) * 24 * 60,
          reading(last - perDay * i + (i === 0 ? 0 : i % 2 ? scatter : -scatter)),
        ]),
        [0, stir],
      );

    it('when it leaves under 80 % chance of reading inside the band', () => {
      const v = verdict(drifting(1.475, 0.005, 3), settings, now);
      expect(v).toMatchObject({ state: 'needs-reading', needs: 'drift', band: null });
      expect(v.why).toMatch(
        /^Read 1\.475 ± 0\.008 3 days ago, drifting by \+0\.005 a day: .* 1\.44 to 1\.48 is \d+ %\. Stir/,
      );
      const chance = Number(/is (\d+) %/.exec(v.why)?.[1]);
      expect(chance).toBeLessThan(80);
    });

    it('not while it stays inside', () => {
      expect(verdict(drifting(1.455, 0.005, 3), settings, now)).toMatchObject({
        state: 'ready',
        needs: null,
      });
      expect(verdict(drifting(1.475, 0, 3), settings, now).needs).toBeNull();
    });

    it('downwards too, and says so', () => {
      expect(verdict(drifting(1.445, -0.005, 3), settings, now).why).toContain('drifting by −0.005 a day');
    });

    it('not at once for a reading at the limit', () => {
      const v = verdict(drifting(1.48, 0.002, 0), settings, now + MINUTE);
      expect(v).toMatchObject({ state: 'ready', needs: null });
    });

    it('not when the last reading was outside already: then it is too thick', () => {
      expect(stateOf(drifting(1.5, 0.005, 3))).toBe('too-thick');
    });

    it('not from readings before the composition last changed', () => {
      const f = drifting(1.475, 0.005, 3);
      expect(verdict({ ...f, recent: f.recent.slice(-5) }, settings, now).needs).toBeNull();
    });
  });

  it('a reading’s own error never triggers it', () => {
    const us = fc.double({ min: 0, max: 0.5, noNaN: true });
    fc.assert(
      fc.property(us, us, fc.double({ min: 1.3, max: 1.6, noNaN: true }), (u, other, sg) => {
        const needs = (standardUncertainty: number) => {
          const days = [9, 8, 7, 6, 5, 4, 3].map((d): [number, Payload] => [
            d * 24 * 60,
            reading(sg + d / 1e3, standardUncertainty),
          ]);
          return verdict(facts([20 * 24 * 60, setup()], ...days), settings, now).needs;
        };
        expect(verdict(just(sg, u), settings, now).needs).toBeNull();
        expect(needs(u)).toBe(needs(other));
      }),
    );
  });
});

describe('service state comes first', () => {
  it('do not use, with its reason and since when; the band is still told', () => {
    const f = facts([60, setup()], [30, reading(1.52)], [20, service('do-not-use', 'wrong-glaze')]);
    expect(verdict(f, settings, now)).toMatchObject({
      state: 'do-not-use',
      band: 'thick',
      needs: null,
      readyUntil: null,
    });
    expect(verdict(f, settings, now).why).toBe('Do not dip from this bucket: wrong glaze. Set 20 min ago.');
    expect(verdict(f, settings, now, { serviceReason: 'Celadon fell in.' }).why).toBe(
      'Do not dip from this bucket: Celadon fell in. Set 20 min ago.',
    );
  });

  it('retired is shown as do not use', () => {
    const v = verdict(facts([20, service('retired')]), settings, now);
    expect(v).toMatchObject({ state: 'do-not-use', band: null });
    expect(v.why).toBe('This bucket is retired. Set 20 min ago.');
  });

  it('on test, until a fired tile is accepted', () => {
    const f = facts([60, setup()], [30, reading(1.46)], [20, service('on-test')]);
    expect(verdict(f, settings, now)).toMatchObject({ state: 'on-test', band: 'in' });
    expect(verdict(f, settings, now).why).toBe(
      'New batch on test until a fired tile is accepted. Set 20 min ago.',
    );
  });

  it('back in service the other rules hold', () => {
    expect(
      stateOf(
        facts([60, setup()], [50, service('on-test')], [40, service('in-service')], [2, reading(1.46)]),
      ),
    ).toBe('ready');
  });
});

describe('asking for the level', () => {
  const dip = (pieces: number): Payload => ({ kind: 'dipping', pieces, litres: 0.1, stirred: true });
  const level: Payload = { kind: 'level', litres: 15, litresU: 0.3, how: 'stick' };

  it('when it was never seen', () => {
    expect(verdict(facts([2, reading(1.46)]), settings, now).askLevel).toBe(true);
    expect(verdict(just(1.46), settings, now).askLevel).toBe(false);
  });

  it('when it was seen more than 7 days ago', () => {
    const f = facts([0, setup()]);
    expect(verdict(f, settings, now + 7 * DAY).askLevel).toBe(false);
    expect(verdict(f, settings, now + 7 * DAY + 1).askLevel).toBe(true);
  });

  it('when more than 30 pieces were dipped since, until the level is seen again', () => {
    expect(verdict(facts([9, setup()], [5, dip(30)]), settings, now).askLevel).toBe(false);
    expect(verdict(facts([9, setup()], [5, dip(30)], [4, dip(1)]), settings, now).askLevel).toBe(true);
    expect(verdict(facts([9, setup()], [5, dip(31)], [4, level]), settings, now).askLevel).toBe(false);
  });
});

describe('numbers in words', () => {
  it.each([
    [0, 'just now'],
    [-4 * MINUTE, 'just now'],
    [MINUTE - 1, 'just now'],
    [25 * MINUTE, '25 min ago'],
    [HOUR - 1, '59 min ago'],
    [3 * HOUR, '3 h ago'],
    [DAY, 'yesterday'],
    [2 * DAY, '2 days ago'],
    [20 * DAY, '20 days ago'],
    [21 * DAY, '3 weeks ago'],
    [62 * DAY, '8 weeks ago'],
    [63 * DAY, '2 months ago'],
  ])('%i ms is %s', (passed, words) => {
    expect(ago(now - passed, now)).toBe(words);
  });

  it.each([
    [1.52, 0.012, '1.52 ± 0.02'],
    [1.52, 0.001, '1.520 ± 0.002'],
    [1.4567, 0.03, '1.46 ± 0.06'],
    [1.5, 0.00001, '1.500 ± 0.001'],
    [1.5, 0, '1.500 ± 0.001'],
    [1.5, 0.005, '1.50 ± 0.01'],
  ])('%f with u %f is %s', (value, u, text) => {
    expect(gravityText(value, u)).toBe(text);
    expect(text).toContain(plusMinus(u));
  });

  it('shows a third decimal of a limit only where it has one', () => {
    const s = { ...settings, low: 1.445, high: 1.475 };
    expect(verdict(just(1.46), s, now).why).toContain('wanted 1.445 to 1.475');
  });

  it('has words for every state', () => {
    expect(STATE_WORDS[verdict(just(1.46), settings, now).state]).toBe('Ready to dip');
    expect(STATE_WORDS['needs-reading']).toBe('Needs a reading');
  });
});

describe('whatever is in the ledger', () => {
  it('there is a verdict, in words without a hole', () => {
    const payloads = fc.oneof(
      fc.double({ min: 0.9, max: 3, noNaN: true }).map((sg) => reading(sg)),
      fc.double({ min: 0, max: 30, noNaN: true }).map(water),
      fc.double({ min: 0, max: 30, noNaN: true }).map(rinse),
      fc.constantFrom(
        setup(),
        setup(0, 1),
        stir,
        service('on-test'),
        service('in-service'),
        service('do-not-use', 'lumps'),
      ),
      fc
        .double({ min: 0, max: 30, noNaN: true })
        .map((litres): Payload => ({ kind: 'draw-off', what: 'slurry', litres, to: 'waste' })),
    );
    fc.assert(
      fc.property(fc.array(payloads, { maxLength: 20 }), fc.nat(10_000), (all, gap) => {
        const f = facts(...all.map((p, i): [number, Payload] => [(all.length - i) * gap, p]));
        const v = verdict(f, settings, now);
        expect(v.why).toMatch(/^[A-Z].*\.$/);
        expect(v.why).not.toMatch(/NaN|undefined|null|Infinity/);
        expect(v.readyUntil === null).toBe(v.state !== 'ready');
        expect(v.band === null).toBe(v.needs !== null);
      }),
    );
  });
});

describe('a gravity in words', () => {
  const band = { low: 1.44, high: 1.48 };
  it('never prints a value onto the other side of a limit', () => {
    expect(gravityText(1.4812, 0.005, band)).toBe('1.481 ± 0.010');
    expect(gravityText(1.4388, 0.01, band)).toBe('1.439 ± 0.020');
  });
  it('keeps two decimals where they say the same', () => {
    expect(gravityText(1.48, 0.005, band)).toBe('1.48 ± 0.01');
    expect(gravityText(1.521, 0.01, band)).toBe('1.52 ± 0.02');
  });
});
