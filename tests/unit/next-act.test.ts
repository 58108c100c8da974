import { describe, expect, it } from 'vitest';
import type { Way } from '../../server/buckets/advice.ts';
import { emptyFacts, type Facts } from '../../server/buckets/ledger.ts';
import { nextAct, otherWays } from '../../server/buckets/next-act.ts';
import type { StateName, Verdict } from '../../server/buckets/verdict.ts';

const water: Way = { kind: 'add-water', litres: 2.34, first: 1.75, range: { low: 1.65, high: 3.04 } };
const blend: Way = { ...water, kind: 'blend', specificGravity: 1.7 };
const dry: Way = { kind: 'add-dry', kilograms: 1, first: 0.75, range: { low: 0.5, high: 1.5 } };

const at = (
  state: StateName,
  o: { advice?: Way | null; alternatives?: Way[]; askLevel?: boolean; facts?: Partial<Facts> } = {},
) => ({
  verdict: { state, askLevel: o.askLevel ?? false } as Verdict,
  facts: { ...emptyFacts({ solidsDensity: 2.6, hasSolubles: false }), ...o.facts },
  advice: o.advice ?? null,
  alternatives: o.alternatives ?? [],
});

describe('the next act', () => {
  it.each<[StateName, string]>([
    ['ready', 'dip'],
    ['stir-first', 'stir'],
    ['needs-reading', 'check'],
  ])('%s: anybody may %s', (state, act) => {
    expect(nextAct(at(state), 'member')).toEqual({ do: act });
    expect(nextAct(at(state), 'technician')).toEqual({ do: act });
  });

  it('too thick: water, for everybody', () => {
    const thick = at('too-thick', { advice: water });
    expect(nextAct(thick, 'member')).toEqual({ do: 'follow', way: water });
    expect(nextAct(thick, 'technician')).toEqual({ do: 'follow', way: water });
  });

  it('asks for the level before it names an amount', () => {
    const thick = at('too-thick', { advice: water, alternatives: [blend], askLevel: true });
    expect(nextAct(thick, 'member')).toEqual({ do: 'ask-level' });
    expect(otherWays(thick, nextAct(thick, 'technician'))).toEqual([]);
  });

  it('takes slurry out before what would not fit; that is not a member’s to do', () => {
    const full = { ...water, takeOutFirst: 1.2 };
    const thick = at('too-thick', { advice: full });
    expect(nextAct(thick, 'technician')).toEqual({ do: 'take-out', litres: 1.2, way: full });
    expect(nextAct(thick, 'member')).toEqual({ do: 'tell-technician', because: 'full' });
  });

  it('too thin: a member tells the technician, even where the level is not known', () => {
    const thin = at('too-thin', { advice: blend, alternatives: [dry], askLevel: true });
    expect(nextAct(thin, 'member')).toEqual({ do: 'tell-technician', because: 'thin' });
    expect(nextAct(thin, 'technician')).toEqual({ do: 'ask-level' });
    const seen = { ...thin, verdict: { ...thin.verdict, askLevel: false } };
    expect(nextAct(seen, 'technician')).toEqual({ do: 'follow', way: blend });
    expect(otherWays(seen, nextAct(seen, 'technician'))).toEqual([dry]);
  });

  it('out of the band with nothing in it: check again', () => {
    expect(nextAct(at('too-thick'), 'technician')).toEqual({ do: 'check' });
  });

  it('do not use: the tag first, then whoever may put it back', () => {
    const stopped = at('do-not-use', { facts: { service: 'do-not-use' } });
    expect(nextAct(stopped, 'member')).toEqual({ do: 'hang-tag' });
    const hung = at('do-not-use', { facts: { service: 'do-not-use', tagHungAt: 1 } });
    expect(nextAct(hung, 'member')).toEqual({ do: 'use-another' });
    expect(nextAct(hung, 'technician')).toEqual({ do: 'return-to-service' });
    const retired = at('do-not-use', { facts: { service: 'retired' } });
    expect(nextAct(retired, 'member')).toEqual({ do: 'use-another' });
  });

  it('on test: a technician accepts it, and may mend it meanwhile', () => {
    const test = at('on-test', { advice: water, alternatives: [blend], facts: { service: 'on-test' } });
    expect(nextAct(test, 'member')).toEqual({ do: 'use-another' });
    expect(nextAct(test, 'technician')).toEqual({ do: 'accept-test' });
    expect(otherWays(test, nextAct(test, 'technician'))).toEqual([water, blend]);
  });
});
