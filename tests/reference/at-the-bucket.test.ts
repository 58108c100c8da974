import { describe, expect, it } from 'vitest';
import { ways } from '../../server/buckets/advice.ts';
import { type BucketEvent, fold, type Payload } from '../../server/buckets/ledger.ts';
import { gravityOf } from '../../server/buckets/slurry.ts';
import { MINUTE } from '../../server/core/clock.ts';

// Common practice, no source.

const aim = 1.46;
const capacity = { capacityLitres: 25 };
const solids = { solidsDensity: 2.6, hasSolubles: false };

/** A uniform float sinks until it displaces its weight: its immersion goes with 1/SG. */
const gravityFromFloat = (immersionMm: number, immersionAtAimMm: number) =>
  (aim * immersionAtAimMm) / immersionMm;

const advise = (specificGravity: number) =>
  ways({ litres: 18, specificGravity, target: aim, solidsDensity: 2.6, capacityLitres: 25 });

const ledger = (...payloads: Payload[]): BucketEvent[] =>
  payloads.map((payload, i) => ({ number: i + 1, happenedAt: i * 10 * MINUTE, ...payload }));

const setup: Payload = {
  kind: 'setup',
  litres: 18,
  litresU: 0.36,
  specificGravity: 1.46,
  solidsKg: 0,
  waterKg: 0,
  from: 'gravity',
};

const reading = (specificGravity: number, stirred: boolean): Payload => ({
  kind: 'reading',
  method: 'float',
  specificGravity,
  standardUncertainty: 0.01,
  stirred,
});

describe('common practice at the bucket', () => {
  it('a float that rides too high means too thick: it wants water', () => {
    const [best] = advise(gravityFromFloat(95, 100));
    expect(best?.kind).toBe('add-water');
  });

  it('a float that sinks too deep means too thin: no water, but solids or less water', () => {
    const kinds = advise(gravityFromFloat(105, 100)).map((way) => way.kind);
    expect(kinds).toEqual(['take-water-off', 'add-dry']);
  });

  it('a float that sinks as far as it should wants nothing', () => {
    expect(advise(gravityFromFloat(100, 100))).toEqual([]);
  });

  it('rinse water thins, whether its gravity is known or not', () => {
    for (const specificGravity of [1.05, null]) {
      const facts = fold(
        solids,
        ledger(setup, reading(1.46, true), { kind: 'addition', what: 'rinse', litres: 1, specificGravity }),
        capacity,
      );
      expect(facts.gravity).toBeLessThan(1.46);
      expect(facts.gravity).toBeGreaterThan(1.42);
    }
  });

  it('solids that settled leave the top of a bucket thinner', () => {
    expect(gravityOf(7, 9, 2.6)).toBeLessThan(gravityOf(8, 9, 2.6));
  });

  it('so a reading without a stir does not count: the bucket stays what the last stirred reading said', () => {
    const facts = fold(solids, ledger(setup, reading(1.46, true), reading(1.39, false)), capacity);
    expect(facts.gravity).toBe(1.46);
    expect(facts.readingNumber).toBe(2);
  });
});
