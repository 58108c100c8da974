import { describe, expect, it } from 'vitest';
import type { Way } from '../../server/buckets/advice.ts';
import type { Entry } from '../../server/buckets/kinds.ts';
import { emptyFacts, type Facts } from '../../server/buckets/ledger.ts';
import {
  cardWords,
  doubtWords,
  eventWords,
  flashWords,
  gravityFigure,
  jumpWords,
  takeOutWords,
  wayWords,
} from '../../server/buckets/sentences.ts';
import type { StateName, Verdict } from '../../server/buckets/verdict.ts';
import { HOUR, MINUTE } from '../../server/core/clock.ts';

const NOW = Date.UTC(2026, 2, 7, 14, 5);

const reading = (more: object = {}): Entry =>
  ({
    kind: 'reading',
    method: 'cup',
    specificGravity: 1.52,
    standardUncertainty: 0.01,
    stirred: true,
    ...more,
  }) as Entry;

describe('an event in words', () => {
  it.each<[string, Entry, string]>([
    [
      'set-up',
      {
        kind: 'setup',
        from: 'gravity',
        litres: 18,
        litresU: 0.36,
        specificGravity: 1.46,
        solidsKg: 13.5,
        waterKg: 12.8,
      },
      'Set up: 18 L at SG 1.46',
    ],
    [
      'set-up of a batch',
      {
        kind: 'setup',
        from: 'batch',
        litres: 18.2,
        litresU: 0.4,
        specificGravity: 1.4567,
        solidsKg: 13.5,
        waterKg: 13,
      },
      'Set up from a weighed batch: 13.5 kg of dry glaze makes 18.2 L at SG 1.46',
    ],
    [
      'set-up of a numbered batch',
      {
        kind: 'setup',
        from: 'batch',
        litres: 18.2,
        litresU: 0.4,
        specificGravity: 1.4567,
        solidsKg: 13.5,
        waterKg: 13,
        batch: 12,
      },
      'Set up from batch 12: 13.5 kg of dry glaze makes 18.2 L at SG 1.46',
    ],
    [
      'batch blended in',
      { kind: 'addition', what: 'slurry', litres: 4, specificGravity: 1.5, batch: 12 },
      'Blended in 4 L of batch 12 at SG 1.50',
    ],
    [
      'on test for a batch',
      { kind: 'service', state: 'on-test', cause: 'batch-12' },
      'Put on test: batch 12',
    ],
    [
      'accepted by a tile',
      { kind: 'service', state: 'in-service', cause: 'tile-3' },
      'Put in service: tile 3',
    ],
    ['reading by cup', reading({ typed: { vessel: 'A', grams: 512 } }), 'SG 1.52 ± 0.02, weighed in cup A'],
    [
      'reading by volume',
      reading({ method: 'weighed', typed: { grams: 380, millilitres: 250 } }),
      'SG 1.52 ± 0.02, weighed 250 mL',
    ],
    [
      'reading by hydrometer in SG',
      reading({ method: 'hydrometer', typed: { scale: 'sg', value: 1.52 } }),
      'SG 1.52 ± 0.02, hydrometer',
    ],
    [
      'reading by hydrometer in degrees',
      reading({ method: 'hydrometer', typed: { scale: 'twaddell', value: 104 } }),
      'SG 1.52 ± 0.02, hydrometer, 104 °Tw',
    ],
    [
      'reading by float, rising and sinking',
      reading({ method: 'float', typed: { float: 'F1', millimetres: 98.5, replicates: [96] } }),
      'SG 1.52 ± 0.02, float F1 at 98.5 and 96 mm',
    ],
    [
      'reading by float, once',
      reading({ method: 'float', typed: { float: 'F1', millimetres: 98 } }),
      'SG 1.52 ± 0.02, float F1 at 98 mm',
    ],
    ['stir', { kind: 'stir' }, 'Stirred to the bottom'],
    ['water', { kind: 'addition', what: 'water', litres: 1.75 }, 'Added 1.75 L of water'],
    ['dry', { kind: 'addition', what: 'dry', kilograms: 0.8 }, 'Mixed in 0.8 kg of dry glaze'],
    [
      'slurry',
      { kind: 'addition', what: 'slurry', litres: 1, specificGravity: 1.7 },
      'Blended in 1 L of slurry at SG 1.70',
    ],
    [
      'rinse',
      { kind: 'addition', what: 'rinse', litres: 0.8, specificGravity: null },
      'Own rinse back, 0.8 L, SG not known',
    ],
    [
      'rinse of a known gravity',
      { kind: 'addition', what: 'rinse', litres: 0.8, specificGravity: 1.105 },
      'Own rinse back, 0.8 L, SG 1.105',
    ],
    [
      'water taken off',
      { kind: 'draw-off', what: 'water', litres: 1.5, to: 'rinse' },
      'Took 1.5 L of clear water off, to the rinse store',
    ],
    [
      'slurry taken out',
      { kind: 'draw-off', what: 'slurry', litres: 2, to: 'batch' },
      'Took 2 L of slurry out, to the next batch',
    ],
    ['level', { kind: 'level', how: 'stick', litres: 17.84, litresU: 0.1 }, 'Level 17.8 L, by dip stick'],
    ['level in litres', { kind: 'level', how: 'litres', litres: 9, litresU: 0.2 }, 'Level 9 L'],
    [
      'level by quarters',
      { kind: 'level', how: 'quarters', litres: 12.5, litresU: 1.8 },
      'Level about 12.5 L, by quarters',
    ],
    [
      'one piece',
      { kind: 'dipping', pieces: 1, litres: 0.1, stirred: true },
      'Stirred, dipped 1 piece, about 0.1 L',
    ],
    ['pieces', { kind: 'dipping', pieces: 6, litres: 0.6, stirred: false }, 'Dipped 6 pieces, about 0.6 L'],
    ['sieve', { kind: 'sieve', mesh: 80 }, 'Sieved, 80 mesh'],
    [
      'contamination',
      { kind: 'service', state: 'do-not-use', cause: 'contaminated' },
      'Marked "Do not use": sponge or wrong glaze fell in',
    ],
    ['back in service', { kind: 'service', state: 'in-service', cause: null }, 'Put in service'],
    ['tag', { kind: 'tag-hung' }, 'Tag hung on the bucket'],
    [
      'recipe',
      { kind: 'recipe', recipeId: 7, version: 3, solidsDensity: 2.6, hasSolubles: false },
      'Recipe changed, version 3',
    ],
    ['problem', { kind: 'note', problem: 'lid-off' }, 'Problem: lid was left off'],
    ['note', { kind: 'note' }, 'Note'],
    ['void', { kind: 'void', voids: 12 }, 'Struck out number 12'],
  ])('%s', (_, entry, words) => {
    expect(eventWords(entry, 'metric')).toBe(words);
  });

  it('is in quarts and pounds for who prefers them', () => {
    expect(eventWords({ kind: 'addition', what: 'water', litres: 1.75 }, 'us')).toBe(
      'Added 1.85 qt of water',
    );
    expect(eventWords({ kind: 'addition', what: 'dry', kilograms: 0.8 }, 'us')).toBe(
      'Mixed in 1.8 lb of dry glaze',
    );
  });
});

describe('what is said once after an act', () => {
  it.each<[Entry, Entry | undefined, string]>([
    [reading({ specificGravity: 1.46 }), undefined, 'SG 1.46 ± 0.02 recorded.'],
    [{ kind: 'addition', what: 'water', litres: 1.75 }, undefined, 'Recorded: added 1.75 L of water.'],
    [{ kind: 'void', voids: 4 }, { kind: 'sieve', mesh: 80 }, 'Struck out: sieved, 80 mesh.'],
    [{ kind: 'void', voids: 4 }, undefined, 'Struck out number 4.'],
    [{ kind: 'void', voids: 4 }, reading(), 'Struck out: SG 1.52 ± 0.02, weighed in a cup.'],
    [{ kind: 'note', problem: 'smell' }, undefined, 'Reported: bad smell.'],
    [{ kind: 'note' }, undefined, 'Note kept.'],
  ])('%o', (entry, struck, words) => {
    expect(flashWords(entry, 'metric', struck)).toBe(words);
  });
});

describe('a way in words', () => {
  const water: Way = { kind: 'add-water', litres: 2.34, first: 1.75, range: { low: 1.68, high: 3.04 } };

  it('says the first stage, as it is poured, before the whole', () => {
    expect(wayWords(water, { aim: 1.46, units: 'metric' })).toEqual({
      title: 'Add 1.75 L of water, stir, check again',
      small: 'three and a half half-litre jugs; about 2.3 L in all (1.7 to 3.0) brings it to 1.46',
    });
  });

  it('says it in quarts and cups for who prefers them', () => {
    // 2.34 L, 1.68 L and 3.04 L in quarts of 0.946 L.
    expect(wayWords(water, { aim: 1.46, units: 'us' })).toEqual({
      title: 'Add 1.85 qt of water, stir, check again',
      small: '1 quart and 3½ cups; about 2.5 qt in all (1.8 to 3.2) brings it to 1.46',
    });
  });

  it('leaves out a whole that is no more than the first stage, and a range of nothing', () => {
    const drop: Way = { kind: 'add-water', litres: 0.05, first: 0.05, range: { low: 0.05, high: 0.05 } };
    expect(wayWords(drop, { aim: 1.455, units: 'metric' }).small).toBe(
      '50 mL; all of it at once brings it to 1.455',
    );
  });

  it('names the gravity of what is blended in', () => {
    const blend: Way = {
      kind: 'blend',
      litres: 3.6,
      first: 2.75,
      range: { low: 2, high: 5.2 },
      specificGravity: 1.7,
    };
    expect(wayWords(blend, { aim: 1.5, units: 'metric' })).toEqual({
      title: 'Blend in 2.75 L of slurry at SG 1.70, stir, check again',
      small:
        'a thick batch of the same glaze, if you have one; five and a half half-litre jugs; about 3.6 L in all (2.0 to 5.2) brings it to 1.50',
    });
  });

  it('lets water settle overnight before it is taken off', () => {
    const off: Way = { kind: 'take-water-off', litres: 2, first: 1.5, range: { low: 1, high: 3 } };
    expect(wayWords(off, { aim: 1.5, units: 'metric' }).title).toBe(
      'Let it settle; next morning take 1.5 L of clear water off',
    );
  });

  it('gives dry glaze by weight, slaked and sieved', () => {
    const dry: Way = { kind: 'add-dry', kilograms: 1.1, first: 0.8, range: { low: 0.5, high: 1.7 } };
    expect(wayWords(dry, { aim: 1.5, units: 'metric' })).toEqual({
      title: 'Mix in 0.8 kg of dry glaze, stir, check again',
      small: 'slaked and sieved; about 1.1 kg in all (0.5 to 1.7) brings it to 1.50',
    });
  });

  it('says what must come out first', () => {
    expect(takeOutWords(1.25, 'metric').title).toBe('Take 1.25 L of slurry out first');
  });
});

describe('a jump', () => {
  const band = { low: 1.44, high: 1.48 };
  const facts = (...values: [day: number, sg: number][]): Facts => ({
    ...emptyFacts({ solidsDensity: 2.6, hasSolubles: false }),
    recent: values.map(([day, specificGravity]) => ({
      at: NOW + day * 24 * HOUR,
      specificGravity,
      standardUncertainty: 0.004,
    })),
  });

  it('says how much, how fast, and what usually is behind it', () => {
    expect(jumpWords(facts([0, 1.46], [1, 1.5]), band)).toBe(
      'Jumped 0.04 in a day: something was added, or the lid was left off.',
    );
    expect(jumpWords(facts([0, 1.46], [3, 1.43]), band)).toBe(
      'Fell 0.03 in 3 days: water got in, or it was not stirred to the bottom.',
    );
  });

  it('is not worth a word up to a quarter of the band', () => {
    expect(jumpWords(facts([0, 1.45], [1, 1.462]), band)).toBeNull();
    expect(jumpWords(facts([0, 1.45]), band)).toBeNull();
  });
});

describe('a card on the wall', () => {
  const facts = (more: Partial<Facts> = {}): Facts => ({
    ...emptyFacts({ solidsDensity: 2.6, hasSolubles: false }),
    gravity: 1.52,
    gravityU: 0.01,
    gravityBasis: 'measured',
    readingAt: NOW - 25 * MINUTE,
    stirredAt: NOW - 25 * MINUTE,
    ...more,
  });
  const verdict = (state: StateName, more: Partial<Verdict> = {}): Verdict => ({
    state,
    why: '',
    band: 'in',
    edge: null,
    readyUntil: null,
    askLevel: false,
    needs: null,
    flow: null,
    ...more,
  });
  const water: Way = { kind: 'add-water', litres: 2.34, first: 1.75, range: { low: 1.68, high: 3.04 } };
  const words = (
    v: Verdict,
    f: Facts = facts(),
    advice: Way | null = null,
    technician = false,
    serviceReason: string | null = null,
  ) => cardWords({ verdict: v, facts: f, advice, serviceReason }, { technician, units: 'metric', now: NOW });

  it('gives the first stage', () => {
    expect(words(verdict('too-thick', { band: 'thick' }), facts(), water)).toEqual({
      next: 'add 1.75 L of water, check again',
      facts: 'read 25 min ago · stirred 25 min ago',
    });
  });

  it('asks how full it is before it names an amount', () => {
    const thick = verdict('too-thick', { band: 'thick', askLevel: true });
    expect(words(thick, facts(), water).next).toBe('see how full it is, then add');
  });

  it('sends a member to the technician for what is not theirs to do', () => {
    const blend: Way = { ...water, kind: 'blend', first: 2.5, specificGravity: 1.7 };
    expect(words(verdict('too-thin', { band: 'thin' })).next).toBe('tell the technician');
    expect(words(verdict('too-thin', { band: 'thin' }), facts(), blend, true).next).toBe(
      'blend in 2.5 L of heavier slurry, check again',
    );
    const full = { ...water, takeOutFirst: 1.2 };
    expect(words(verdict('too-thick', { band: 'thick' }), facts(), full).next).toBe('tell the technician');
    expect(words(verdict('too-thick', { band: 'thick' }), facts(), full, true).next).toBe(
      'take 1.2 L out first',
    );
  });

  it('says why nobody may dip', () => {
    const stopped = facts({ service: 'do-not-use', serviceCause: 'contaminated', serviceSince: NOW - HOUR });
    expect(words(verdict('do-not-use'), stopped)).toEqual({
      next: 'sponge or wrong glaze fell in',
      facts: '1 h ago',
    });
    expect(words(verdict('do-not-use'), stopped, null, false, 'to be sieved').next).toBe('to be sieved');
  });

  it('says why a reading is needed', () => {
    const never = facts({ readingAt: null });
    expect(words(verdict('needs-reading', { needs: 'first' }), never).facts).toBe('never read');
    expect(words(verdict('needs-reading', { needs: 'added' })).facts).toBe(
      'something was added since it was read 25 min ago',
    );
  });
});

it('says what is in doubt about an event', () => {
  const facts = emptyFacts({ solidsDensity: 2.6, hasSolubles: false });
  const doubted: Facts = { ...facts, doubts: [{ number: 5, what: 'over-capacity' }] };
  expect(doubtWords(doubted, 5)).toBe('more than the bucket holds: taken as full');
  expect(doubtWords(doubted, 6)).toBeNull();
});

it.each([
  [1.4, '1.40'],
  [1.46, '1.46'],
  [1.455, '1.455'],
])('writes a gravity that somebody set, %f, as %s', (sg, words) => {
  expect(gravityFigure(sg)).toBe(words);
});
