import { describe, expect, it } from 'vitest';
import type { Entry } from '../../server/buckets/kinds.ts';
import { emptyFacts, type Facts } from '../../server/buckets/ledger.ts';
import {
  askFor,
  chooseAsk,
  everyAsk,
  flowAsked,
  type Gear,
  type RoundBucket,
  readPlace,
  roundAddress,
  whyCheck,
  whyWords,
} from '../../server/buckets/round.ts';
import { verdict } from '../../server/buckets/verdict.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';

const now = 100 * DAY;
const metric = { now, units: 'metric' } as const;

/** Read a day ago at 1.46, 18 L in it, trusted for a week, band 1.44 to 1.48; but for what is given. */
function bucket(
  f: Partial<Facts> = {},
  b: Partial<Omit<RoundBucket, 'facts' | 'verdict'>> = {},
): RoundBucket {
  const readingAt = f.readingAt === undefined ? now - DAY : f.readingAt;
  const facts: Facts = {
    ...emptyFacts({ solidsDensity: 2.6, hasSolubles: false }),
    litres: 18,
    levelSeenAt: now - DAY,
    gravity: 1.46,
    gravityU: 0.005,
    gravityBasis: 'measured',
    readingGravity: 1.46,
    stirredAt: now - DAY,
    ...f,
    readingAt,
  };
  const settings = {
    target: { low: 1.44, aim: 1.46, high: 1.48 },
    stirIntervalMinutes: 5,
    readingTrustedHours: 168,
    capacityLitres: 25,
    flow: null,
    used: { pieces: 0, litres: 0 },
    problem: null,
    ...b,
  };
  return { ...settings, facts, verdict: verdict(facts, { ...settings, ...settings.target }, now) };
}

const why = (...[f, b]: Parameters<typeof bucket>) => whyCheck(bucket(f, b), now);
const words = (...[f, b]: Parameters<typeof bucket>) => {
  const it = bucket(f, b);
  return whyCheck(it, now).map((one) => whyWords(one, it, metric));
};

describe('who is on the round', () => {
  it('leaves out what was read lately, lies in its band, and was left alone', () => {
    expect(why()).toEqual([]);
    expect(why({ stirredAt: null })).toEqual([]);
  });

  it('takes in what was never read, and what was read too long ago', () => {
    expect(words({ readingAt: null, readingGravity: null })).toEqual(['never read']);
    expect(words({ readingAt: now - 168 * HOUR })).toEqual(['read 7 days ago']);
  });

  it('takes in what becomes due within a day, to the minute', () => {
    expect(why({ readingAt: now - 144 * HOUR })).toEqual(['soon']);
    expect(why({ readingAt: now - 144 * HOUR + MINUTE })).toEqual([]);
    expect(words({ readingAt: now - 150 * HOUR })).toEqual(['read 6 days ago, due again within a day']);
  });

  it('does not ask again at once where a reading is trusted for a day only', () => {
    const daily = { readingTrustedHours: 24 };
    expect(why({ readingAt: now }, daily)).toEqual([]);
    expect(why({ readingAt: now - 12 * HOUR + MINUTE }, daily)).toEqual([]);
    expect(why({ readingAt: now - 12 * HOUR }, daily)).toEqual(['soon']);
    expect(why({ readingAt: now - 24 * HOUR }, daily)).toEqual(['old']);
  });

  it('takes in what is out of its band; a limit belongs to the band', () => {
    expect(words({ gravity: 1.5 })).toEqual(['too thick: 1.50, read yesterday']);
    expect(words({ gravity: 1.43 })).toEqual(['too thin: 1.43, read yesterday']);
    expect(why({ gravity: 1.48 })).toEqual([]);
    expect(why({ gravity: 1.44 })).toEqual([]);
  });

  it('takes in what changed since it was read', () => {
    expect(words({ shift: 0.0101 })).toEqual(['changed since it was read yesterday']);
    expect(words({ unpredictable: true })).toEqual(['something unknown went in since it was read yesterday']);
  });

  it('takes in what was used much: more than a tenth, or more than a piece a litre', () => {
    const used = (pieces: number, litres: number) => why({}, { used: { pieces, litres } });
    expect(used(10, 2)).toEqual([]);
    expect(used(10, 2.01)).toEqual(['used']);
    expect(used(19, 1)).toEqual([]);
    expect(used(20, 1)).toEqual(['used']);
    expect(words({}, { used: { pieces: 1, litres: 2.5 } })).toEqual([
      '1 piece, about 2.5 L dipped since it was read yesterday',
    ]);
    expect(why({ litres: null, levelSeenAt: null }, { used: { pieces: 3, litres: 2.4 } })).toEqual([]);
    expect(why({ litres: null, levelSeenAt: null }, { used: { pieces: 3, litres: 2.6 } })).toEqual(['used']);
  });

  it('takes in what wanders: out of its band now or before tomorrow', () => {
    const rising = (hoursAgo: number, from: number): Partial<Facts> => {
      const recent = Array.from({ length: 8 }, (_, i) => ({
        at: now - hoursAgo * HOUR - (7 - i) * DAY,
        specificGravity: from + i * 0.005,
        standardUncertainty: 0.003,
      }));
      const gravity = from + 7 * 0.005;
      return { recent, gravity, readingGravity: gravity, readingAt: now - hoursAgo * HOUR };
    };
    expect(words(rising(24, 1.4432))).toEqual(['wandering out of its band']);
    expect(why(rising(1, 1.4432))).toEqual([]);
    expect(why(rising(24, 1.42))).toEqual([]);
  });

  it('takes in a reported problem before anything else', () => {
    expect(words({ gravity: 1.5 }, { problem: 'Lumps' })).toEqual([
      'problem: lumps',
      'too thick: 1.50, read yesterday',
    ]);
  });

  it('takes in a flow that was not seen lately, only where flow is watched', () => {
    const flow = { low: 18, high: 30 };
    expect(why({ flowAt: null })).toEqual([]);
    expect(words({ flowAt: null }, { flow })).toEqual(['flow not seen since it was changed']);
    expect(why({ flowAt: now - DAY, flowSeconds: 24 }, { flow })).toEqual([]);
    expect(words({ flowAt: now - 8 * DAY, flowSeconds: 24 }, { flow })).toEqual(['flow seen 8 days ago']);
    expect(words({ flowAt: now - DAY, flowSeconds: 41 }, { flow })).toEqual([
      'stiff: flow 41 s, wanted 18 to 30 s',
    ]);
  });

  it('leaves what nobody may dip from to whoever puts it back, but not what is on test', () => {
    const old = { readingAt: now - 30 * DAY };
    expect(why({ ...old, service: 'do-not-use' }, { problem: 'Lumps' })).toEqual([]);
    expect(why({ ...old, service: 'retired' })).toEqual([]);
    expect(why({ ...old, service: 'on-test' })).toEqual(['old']);
  });

  it('asks for the flow instead of SG where nothing else is wanted', () => {
    expect(flowAsked(['flow-old'])).toBe('only');
    expect(flowAsked(['old', 'flow-old'])).toBe('too');
    expect(flowAsked(['old'])).toBeNull();
    expect(flowAsked([])).toBeNull();
  });
});

describe('the place in a round', () => {
  it('comes back from its address as it was', () => {
    const place = { of: ['HG', 'B-2'], at: 1, since: now - HOUR, with: 'cup:C1' };
    const url = new URL(roundAddress('/round/check', place), 'http://localhost');
    expect(readPlace(Object.fromEntries(url.searchParams), now)).toEqual(place);
  });

  it('survives whatever somebody types there', () => {
    const typed = {
      of: 'HG.<b>.HG..x'.concat('.A'.repeat(300)),
      at: '99999',
      since: '9'.repeat(14),
      with: '',
    };
    expect(readPlace(typed, now)).toEqual({ of: ['HG', 'x', 'A'], at: 3, since: now, with: null });
    expect(readPlace({ of: '<b>' }, now).of).toBeNull();
    expect(readPlace({ of: ['HG', 'CF'], at: '-1', since: 'x' }, now)).toEqual({
      of: null,
      at: 0,
      since: now,
      with: null,
    });
  });
});

describe('what a bucket is measured with', () => {
  const gear: Gear = {
    cups: [
      { code: 'C1', name: 'Enamel cup' },
      { code: 'C2', name: 'Jug' },
    ],
    floats: [
      { code: 'F1', name: 'Bottle', calibration: {} },
      { code: 'F2', name: 'New bottle', calibration: null },
    ],
    instruments: [
      { kind: 'hydrometer', code: 'H1', name: 'Long one', scale: 'twaddell' },
      { kind: 'scale', code: 'S1', name: 'Scale', scale: null },
    ],
  };
  const bare: Gear = { cups: [], floats: [], instruments: [] };
  const reading = (
    method: 'weighed' | 'cup' | 'hydrometer' | 'float',
    typed: Record<string, unknown>,
  ): Entry => ({
    kind: 'reading',
    method,
    specificGravity: 1.46,
    standardUncertainty: 0.01,
    stirred: true,
    typed,
  });

  it.each<[Entry, string]>([
    [reading('cup', { vessel: 'C2', grams: 300 }), 'cup:C2'],
    [reading('weighed', { millilitres: 250, grams: 300 }), 'weighed:250'],
    [reading('hydrometer', { scale: 'baume', value: 40 }), 'hydrometer:baume'],
    [reading('hydrometer', { instrument: 'H1', scale: 'twaddell', value: 90 }), 'instrument:H1'],
    [reading('float', { float: 'F1', millimetres: 80 }), 'float:F1'],
  ])('is what it was last measured with: %#', (last, id) => {
    expect(chooseAsk(null, last, gear).id).toBe(id);
  });

  it('is the studio’s cup where there is no last time, or what it was measured with is gone', () => {
    expect(chooseAsk(null, null, gear).id).toBe('cup:C1');
    expect(chooseAsk(null, reading('cup', { vessel: 'GONE' }), gear).id).toBe('cup:C1');
    expect(chooseAsk(null, null, bare).id).toBe('weighed:100');
  });

  it('is what the person chose for the whole round', () => {
    const last = reading('cup', { vessel: 'C2' });
    expect(chooseAsk('float:F1', last, gear)).toMatchObject({
      field: 'millimetres',
      unit: 'mm',
      fixed: { method: 'float', float: 'F1' },
    });
    expect(chooseAsk('float:F2', last, gear).id).toBe('cup:C2');
    expect(chooseAsk('<b>', last, gear).id).toBe('cup:C2');
  });

  it('offers all there is, and a hydrometer of no name where none has one', () => {
    expect(everyAsk(gear).map(({ id }) => id)).toEqual([
      'cup:C1',
      'cup:C2',
      'float:F1',
      'instrument:H1',
      'weighed:100',
    ]);
    expect(everyAsk(bare).map(({ id }) => id)).toEqual(['weighed:100', 'hydrometer:sg']);
  });

  it('knows no others', () => {
    for (const id of [
      '',
      'cup',
      'cup:C9',
      'weighed:',
      'weighed:1e3',
      'weighed:-1',
      'hydrometer:toString',
      'x:y',
    ])
      expect(askFor(id, gear), id).toBeNull();
  });
});
