import { describe, expect, it } from 'vitest';
import type { StateName, Verdict } from '../../server/buckets/verdict.ts';
import { arrange, conesOf, counted, statesOf } from '../../server/buckets/wall.ts';

const bucket = (name: string, state: StateName, place = 'rack A', from = '6', to = from) => ({
  name,
  place,
  cones: { from, to },
  verdict: { state } as Verdict,
});

const all = [
  bucket('Tide', 'ready', 'rack B'),
  bucket('Kelp', 'stir-first', 'rack A', '10'),
  bucket('Harbour', 'too-thick', 'rack A', '5', '6'),
  bucket('Fern', 'do-not-use', 'rack B', '06', '04'),
  bucket('Chalk', 'ready', 'rack 10', '06'),
];
const anyhow = { sort: 'worst', cone: null, state: null } as const;
const shown = (how: Parameters<typeof arrange>[1]) =>
  arrange(all, how).map(({ place, buckets }) => [place, buckets.map((b) => b.name)]);

describe('the glaze wall', () => {
  it('shows what must not be used first and what is ready last, by name where equal', () => {
    expect(shown(anyhow)).toEqual([[null, ['Fern', 'Harbour', 'Kelp', 'Chalk', 'Tide']]]);
  });

  it('groups by place, as people count places', () => {
    expect(shown({ ...anyhow, sort: 'place' })).toEqual([
      ['rack 10', ['Chalk']],
      ['rack A', ['Harbour', 'Kelp']],
      ['rack B', ['Fern', 'Tide']],
    ]);
  });

  it('keeps those whose range holds the cone; 06 is cooler than 04, and 04 than 1', () => {
    expect(shown({ ...anyhow, cone: '5' })).toEqual([[null, ['Harbour']]]);
    expect(shown({ ...anyhow, cone: '05' })).toEqual([[null, ['Fern']]]);
    expect(shown({ ...anyhow, cone: '1' })).toEqual([[null, []]]);
    expect(conesOf(all)).toEqual(['06', '04', '5', '6', '10']);
    expect(conesOf([{ cones: null }, bucket('Half', 'ready', '', '5½')])).toEqual(['5½']);
  });

  it('keeps one state, of those there are', () => {
    expect(shown({ ...anyhow, state: 'ready' })).toEqual([[null, ['Chalk', 'Tide']]]);
    expect(statesOf(all)).toEqual(['do-not-use', 'too-thick', 'stir-first', 'ready']);
  });

  it('counts in words', () => {
    expect(counted(all)).toBe('2 ready, 1 to stir, 2 need somebody');
    expect(counted([bucket('Fern', 'on-test')])).toBe('1 needs somebody');
    expect(counted([])).toBe('');
  });
});
