import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { faultRows, shareOf, totals } from '../../server/kilns/fault-shares.ts';

describe('a share with what it rests on', () => {
  it('of nothing says nothing', () => {
    expect(shareOf(0, 0)).toEqual({ faulty: 0, all: 0, share: 0, low: 0, high: 1 });
    expect(() => shareOf(2, 1)).toThrow(RangeError);
    expect(() => shareOf(-1, 1)).toThrow(RangeError);
  });

  test('property: the share lies between its ends, which lie between 0 and 1', () => {
    fc.assert(
      fc.property(fc.nat(500), fc.nat(500), (faulty, good) => {
        const { share, low, high } = shareOf(faulty, faulty + good);
        expect(0 <= low && low <= share + 1e-12 && share - 1e-12 <= high && high <= 1).toBe(true);
      }),
    );
  });
});

describe('what goes with a fault', () => {
  const bad = (outcome: string) => outcome !== 'good';
  const count = (key: string, outcome: string, n: number) => ({ key, outcome, count: n });

  it('is counted by outcome, and one of one does not lead', () => {
    const rows = faultRows(
      [
        count('A', 'crawl', 9),
        count('A', 'run', 3),
        count('A', 'good', 8),
        count('B', 'crack', 1),
        count('C', 'good', 40),
      ],
      0.2,
      bad,
    );
    expect(rows.map(({ key, share }) => [key, share.faulty, share.all])).toEqual([
      ['A', 12, 20],
      ['B', 1, 1],
      ['C', 0, 40],
    ]);
    expect(rows[0]?.outcomes).toEqual([
      { outcome: 'crawl', count: 9 },
      { outcome: 'run', count: 3 },
    ]);
    expect(rows.map(({ standsOut }) => standsOut)).toEqual([true, false, false]);
  });

  test('property: rows of one key and outcome are one, in whatever order they come', () => {
    const row = fc.record({
      key: fc.constantFrom('A', 'B'),
      outcome: fc.constantFrom('good', 'crawl', 'run'),
      count: fc.integer({ min: 1, max: 50 }),
    });
    fc.assert(
      fc.property(fc.array(row, { maxLength: 12 }), (rows) => {
        const found = faultRows(rows, 0.1, bad);
        expect(faultRows([...rows].reverse(), 0.1, bad)).toEqual(found);
        for (const { key, share, outcomes } of found) {
          expect(new Set(outcomes.map(({ outcome }) => outcome)).size).toBe(outcomes.length);
          const own = rows.filter((one) => one.key === key);
          expect(share.all).toBe(own.reduce((sum, one) => sum + one.count, 0));
          expect(totals(own).all).toBe(share.all);
        }
      }),
    );
  });

  it('of one fault only that one counts', () => {
    const [row] = faultRows(
      [count('A', 'crawl', 2), count('A', 'run', 5), count('A', 'good', 3)],
      0,
      (o) => o === 'run',
    );
    expect(row?.share).toMatchObject({ faulty: 5, all: 10 });
  });
});
