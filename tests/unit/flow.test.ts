import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { flowOf, flowText } from '../../server/buckets/flow.ts';
import { type BucketEvent, type FlowWord, fold, type Payload } from '../../server/buckets/ledger.ts';
import { nextAct } from '../../server/buckets/next-act.ts';
import { cardWords, eventWords } from '../../server/buckets/sentences.ts';
import { type Settings, verdict } from '../../server/buckets/verdict.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';

const now = 100 * DAY;
const BAND = { low: 18, high: 30 };
const WORDS: FlowWord[] = ['thin', 'cream', 'custard', 'gelled'];

const seen = (flowSeconds: number | null, flowWord: FlowWord | null = null, flowAt = now) => ({
  flowSeconds,
  flowWord,
  flowAt,
});

describe('how a bucket flows', () => {
  it.each([
    [17.9, 'runny'],
    [18, 'in'],
    [30, 'in'],
    [30.1, 'stiff'],
  ])('%s s against 18 to 30 s: %s, limits inside', (seconds, flow) => {
    expect(flowOf(seen(seconds), BAND, 168, now)).toBe(flow);
  });

  it.each<[FlowWord, string]>([
    ['thin', 'runny'],
    ['cream', 'in'],
    ['custard', 'stiff'],
    ['gelled', 'stiff'],
  ])('%s: %s, with a band and without', (word, flow) => {
    expect(flowOf(seen(null, word), BAND, 168, now)).toBe(flow);
    expect(flowOf(seen(null, word), null, 168, now)).toBe(flow);
  });

  it('is not known from seconds without a band, nor from nothing', () => {
    expect(flowOf(seen(40), null, 168, now)).toBeNull();
    expect(flowOf({ flowSeconds: null, flowWord: null, flowAt: null }, BAND, 168, now)).toBeNull();
  });

  it('is forgotten when a reading as old would be, and not a millisecond before', () => {
    const f = seen(40, null, now - 168 * HOUR);
    expect(flowOf(f, BAND, 168, now - 1)).toBe('stiff');
    expect(flowOf(f, BAND, 168, now)).toBeNull();
  });

  it('is said with what is wanted', () => {
    expect(flowText(seen(41), BAND)).toBe('flow 41 s, wanted 18 to 30 s');
    expect(flowText(seen(41), null)).toBe('flow 41 s');
    expect(WORDS.map((word) => flowText(seen(null, word), BAND))).toEqual([
      'it runs thin',
      'it flows like cream',
      'it flows like custard',
      'it has gelled',
    ]);
  });
});

const settings: Settings = {
  low: 1.44,
  aim: 1.46,
  high: 1.48,
  stirIntervalMinutes: 5,
  readingTrustedHours: 168,
  capacityLitres: 25,
  flow: BAND,
};

const facts = (...entries: [minutesAgo: number, Payload][]) =>
  fold(
    { solidsDensity: 2.6, hasSolubles: false },
    entries.map(
      ([minutesAgo, payload], i): BucketEvent => ({
        number: i + 1,
        happenedAt: now - minutesAgo * MINUTE,
        ...payload,
      }),
    ),
    settings,
  );

const setup: Payload = {
  kind: 'setup',
  from: 'gravity',
  litres: 18,
  litresU: 0.36,
  specificGravity: 1.46,
  solidsKg: 0,
  waterKg: 0,
};
const reading = (specificGravity: number): Payload => ({
  kind: 'reading',
  method: 'weighed',
  specificGravity,
  standardUncertainty: 0.004,
  stirred: true,
});
const flow = (seconds: number): Payload => ({ kind: 'flow', seconds, word: null });
const word = (w: FlowWord): Payload => ({ kind: 'flow', seconds: null, word: w });
const drops: Payload = { kind: 'additive', what: 'deflocculant', millilitres: 2 };
const stirred: Payload = { kind: 'stir' };

describe('in band but stiff', () => {
  it('asks the technician, says not to add water, with the numbers', () => {
    const v = verdict(facts([60, setup], [2, reading(1.46)], [1, flow(41)]), settings, now);
    expect(v).toMatchObject({ state: 'ask-technician', band: 'in', flow: 'stiff', readyUntil: null });
    expect(v.why).toBe(
      'Right amount of water but stiff: do not add water. SG 1.460 ± 0.008, wanted 1.44 to 1.48; ' +
        'flow 41 s, wanted 18 to 30 s, seen 1 min ago.',
    );
  });

  it('says it in the word that was used, and when the gravity is close to the edge', () => {
    const v = verdict(facts([60, setup], [2, reading(1.479)], [0, word('custard')]), settings, now);
    expect(v.why).toBe(
      'Right amount of water but stiff: do not add water. SG 1.479 ± 0.008, wanted 1.44 to 1.48, close to the ' +
        'edge (thick side); it flows like custard, seen just now.',
    );
  });

  it('comes after too thick and too thin, and before stir first', () => {
    const at = (sg: number, minutesAgo = 2) => facts([60, setup], [minutesAgo, reading(sg)], [1, flow(41)]);
    const stateOf = (f: ReturnType<typeof facts>) => verdict(f, settings, now).state;
    expect(stateOf(at(1.5))).toBe('too-thick');
    expect(stateOf(at(1.42))).toBe('too-thin');
    expect(stateOf(at(1.46, 30))).toBe('ask-technician');
  });

  it('comes after what stops a bucket’s use, and after a reading that is needed', () => {
    const stopped: Payload = { kind: 'service', state: 'do-not-use', cause: null };
    const test: Payload = { kind: 'service', state: 'on-test', cause: null };
    const base: [number, Payload][] = [
      [60, setup],
      [3, reading(1.46)],
      [2, flow(41)],
    ];
    expect(verdict(facts(...base, [1, stopped]), settings, now).state).toBe('do-not-use');
    expect(verdict(facts(...base, [1, test]), settings, now).state).toBe('on-test');
    expect(verdict(facts([60, setup], [2, flow(41)]), settings, now).state).toBe('needs-reading');
  });

  it('is not asked once something went in since, or drops did: the flow must be seen again', () => {
    const water: Payload = { kind: 'addition', what: 'water', litres: 0.1 };
    const recipe: Payload = {
      kind: 'recipe',
      recipeId: 1,
      version: 2,
      solidsDensity: 2.6,
      hasSolubles: false,
    };
    for (const change of [water, recipe, drops, setup]) {
      const f = facts([60, setup], [30, reading(1.46)], [20, flow(41)], [10, change]);
      expect(f, change.kind).toMatchObject({ flowSeconds: null, flowWord: null, flowAt: null });
      expect(verdict(f, settings, now).flow, change.kind).toBeNull();
    }
    const again = facts(
      [60, setup],
      [30, reading(1.46)],
      [20, flow(41)],
      [10, drops],
      [5, flow(24)],
      [1, stirred],
    );
    expect(verdict(again, settings, now)).toMatchObject({ state: 'ready', flow: 'in' });
  });

  it('is seen by the order of the ledger where two things happened in the same instant', () => {
    const water: Payload = { kind: 'addition', what: 'water', litres: 0.1 };
    expect(facts([60, setup], [5, flow(41)], [5, water]).flowAt).toBeNull();
    expect(facts([60, setup], [5, water], [5, flow(41)]).flowSeconds).toBe(41);
  });

  it('is left as it is by what does not change the water: dipping, stir, level, slurry taken out', () => {
    const acts: Payload[] = [
      { kind: 'dipping', pieces: 3, litres: 0.3, stirred: true },
      { kind: 'level', how: 'litres', litres: 15, litresU: 0.3 },
      { kind: 'draw-off', what: 'slurry', litres: 1, to: 'batch' },
      { kind: 'sieve', mesh: 80 },
      stirred,
    ];
    for (const act of acts) expect(facts([60, setup], [20, flow(41)], [10, act]).flowSeconds).toBe(41);
  });

  it('runs too fast: no state of its own', () => {
    const v = verdict(facts([60, setup], [2, reading(1.46)], [1, flow(12)]), settings, now);
    expect(v).toMatchObject({ state: 'ready', flow: 'runny' });
  });

  it('never makes a bucket ready that was not, whatever was seen of its flow', () => {
    const sights = fc.oneof(
      fc.double({ min: 0.5, max: 600, noNaN: true }).map(flow),
      fc.constantFrom(...WORDS).map(word),
    );
    const gravities = fc.integer({ min: 1400, max: 1520 }).map((g) => g / 1000);
    fc.assert(
      fc.property(sights, gravities, fc.integer({ min: 0, max: 20_000 }), (sight, sg, later) => {
        const without = facts([60, setup], [2, reading(sg)]);
        const withIt = facts([60, setup], [2, reading(sg)], [1, sight]);
        const at = now + later * MINUTE;
        const [a, b] = [verdict(without, settings, at).state, verdict(withIt, settings, at).state];
        expect(b === a || b === 'ask-technician').toBe(true);
      }),
    );
  });
});

describe('what is said of it', () => {
  const stiff = facts([60, setup], [2, reading(1.46)], [1, flow(41)]);
  const bucket = { verdict: verdict(stiff, settings, now), facts: stiff, advice: null, serviceReason: null };

  it('the next act: a member tells the technician, a technician loosens it', () => {
    expect(nextAct(bucket, 'member')).toEqual({ do: 'tell-technician', because: 'stiff' });
    expect(nextAct(bucket, 'technician')).toEqual({ do: 'loosen' });
  });

  it('the card warns of water, whoever reads it', () => {
    const card = (technician: boolean) => cardWords(bucket, { technician, units: 'metric', now });
    expect(card(false)).toEqual({
      next: 'tell the technician: no water',
      facts: 'flow 41 s · read 2 min ago',
    });
    expect(card(true).next).toBe('check its flow, loosen it: no water');
  });

  it('the ledger', () => {
    expect(eventWords({ kind: 'flow', seconds: 24.5, word: null, typed: { cup: 'FC' } }, 'metric')).toBe(
      'Flow 24.5 s, cup FC',
    );
    expect(WORDS.map((w) => eventWords({ kind: 'flow', seconds: null, word: w }, 'metric'))).toEqual([
      'Flow: thin',
      'Flow: like cream',
      'Flow: like custard',
      'Flow: gelled',
    ]);
    expect(eventWords({ kind: 'additive', what: 'epsom', millilitres: 1.5 }, 'metric')).toBe(
      'Added 1.5 mL of Epsom salts solution',
    );
  });
});
