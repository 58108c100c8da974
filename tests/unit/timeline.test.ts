import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dayAfter, gaps, type InForce, listOn, timeline } from '../../server/fees/timeline.ts';

const list = (number: number, validFrom: string, validUntil: string | null = null): InForce => ({
  number,
  validFrom,
  validUntil,
  inForceAt: number,
});

describe('which list counts', () => {
  it('the one that began last, and the open one again after it ends', () => {
    const lists = [list(1, '2026-01-01'), list(2, '2026-03-01', '2026-03-31')];
    expect(listOn(lists, '2025-12-31')).toBeNull();
    expect(listOn(lists, '2026-02-28')?.number).toBe(1);
    expect(listOn(lists, '2026-03-01')?.number).toBe(2);
    expect(listOn(lists, '2026-03-31')?.number).toBe(2);
    expect(listOn(lists, '2026-04-01')?.number).toBe(1);
    expect(timeline(lists).map(({ list, from, until }) => [list.number, from, until])).toEqual([
      [1, '2026-01-01', '2026-02-28'],
      [2, '2026-03-01', '2026-03-31'],
      [1, '2026-04-01', null],
    ]);
    expect(gaps(lists)).toEqual([]);
  });

  it('of two that begin on one day the one put in force last', () => {
    const first = { ...list(1, '2026-01-01'), inForceAt: 20 };
    const second = { ...list(2, '2026-01-01'), inForceAt: 10 };
    expect(listOn([first, second], '2026-01-01')?.number).toBe(1);
    expect(listOn([second, { ...first, inForceAt: 5 }], '2026-01-01')?.number).toBe(2);
  });

  it('finds the days between two lists, and those after the last', () => {
    expect(gaps([list(1, '2026-01-01', '2026-02-28'), list(2, '2026-03-02', '2026-03-31')])).toEqual([
      { from: '2026-03-01', until: '2026-03-01' },
      { from: '2026-04-01', until: null },
    ]);
    expect(gaps([])).toEqual([]);
  });

  it('knows leap days and the turn of a year', () => {
    expect(dayAfter('2028-02-28')).toBe('2028-02-29');
    expect(dayAfter('2026-12-31')).toBe('2027-01-01');
    expect(dayAfter('2026-03-01', -1)).toBe('2026-02-28');
  });

  it('agrees with asking every day, whatever the lists are', () => {
    const anyList = fc
      .tuple(fc.integer({ min: 0, max: 60 }), fc.option(fc.integer({ min: 0, max: 30 })), fc.nat(3))
      .map(([from, length, inForceAt]) => ({
        validFrom: dayAfter('2026-01-01', from),
        validUntil: length === null ? null : dayAfter('2026-01-01', from + length),
        inForceAt,
      }));
    fc.assert(
      fc.property(fc.array(anyList, { minLength: 1, maxLength: 6 }), (some) => {
        const lists = some.map((one, number) => ({ ...one, number }));
        const spans = timeline(lists);
        const holes = gaps(lists);
        const first = lists.map(({ validFrom }) => validFrom).sort()[0] as string;
        for (let i = 0; i < 100; i++) {
          const day = dayAfter('2026-01-01', i);
          const holds = ({ from, until }: { from: string; until: string | null }) =>
            from <= day && (until === null || day <= until);
          const found = listOn(lists, day);
          const covering = spans.filter(holds);
          if (covering.length > 1 || covering[0]?.list !== (found ?? undefined)) return false;
          if (day >= first && holes.some(holds) !== (found === null)) return false;
        }
        return true;
      }),
    );
  });
});
