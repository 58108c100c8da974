import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  cm3OfLitres,
  drawLitres,
  type Grant,
  litresBack,
  litresText,
  monthlyCm3,
} from '../../server/fees/litres.ts';

const grant = (id: number, source: Grant['source'], leftCm3: number, at = id): Grant => ({
  id,
  source,
  leftCm3,
  at,
});

describe('litres in figures', () => {
  it('are exact cm³ of a decimal text, down to the last whole one', () => {
    expect(cm3OfLitres('12.5')).toBe(12500);
    expect(cm3OfLitres('0.0019')).toBe(1);
    expect(cm3OfLitres('0')).toBe(0);
    expect(() => cm3OfLitres('twelve')).toThrow(RangeError);
  });

  it('are shown to a tenth', () => {
    expect(litresText(12500)).toBe('12.5 L');
    expect(litresText(960)).toBe('1.0 L');
  });
});

describe('litres of a month', () => {
  const monthly = [
    { memberClass: null, litres: '2' },
    { memberClass: 'student', litres: '10' },
  ];
  it('are those of the class, else those for everybody, else none', () => {
    expect(monthlyCm3({ monthly }, 'student')).toBe(10000);
    expect(monthlyCm3({ monthly }, 'guest')).toBe(2000);
    expect(monthlyCm3({ monthly }, null)).toBe(2000);
    expect(monthlyCm3({ monthly: [] }, 'student')).toBe(0);
  });
});

describe('a draw', () => {
  it('takes the month, then clay, then cards, the oldest first', () => {
    // 6000 wanted: 1000 of the month, 2000 of the clay, 1500 of the older card, 1500 of the 4000 of the newer.
    const grants = [grant(1, 'card', 4000, 20), grant(2, 'card', 1500, 10), grant(3, 'clay', 2000, 30)];
    const { uses, coveredCm3, left } = drawLitres({ monthCm3: 1000, grants }, 6000);
    expect(uses).toEqual([
      { source: 'month', grantId: null, cm3: 1000 },
      { source: 'clay', grantId: 3, cm3: 2000 },
      { source: 'card', grantId: 2, cm3: 1500 },
      { source: 'card', grantId: 1, cm3: 1500 },
    ]);
    expect(coveredCm3).toBe(6000);
    expect(left.monthCm3).toBe(0);
    expect(left.grants.find(({ id }) => id === 1)?.leftCm3).toBe(2500);
  });

  it('takes nothing of what is overdrawn, and no part of a cm³', () => {
    expect(drawLitres({ monthCm3: -300, grants: [grant(1, 'card', -5)] }, 10).uses).toEqual([]);
    expect(drawLitres({ monthCm3: 10, grants: [] }, 0.9).coveredCm3).toBe(0);
  });

  it('covers the lesser of what is wanted and what is left, and loses none', () => {
    const cm3 = fc.integer({ min: 0, max: 100_000 });
    const grants = fc.array(
      fc.record({ source: fc.constantFrom('card' as const, 'clay' as const), cm3, at: cm3 }),
    );
    fc.assert(
      fc.property(cm3, grants, cm3, (monthCm3, all, wanted) => {
        const before = all.map(({ source, cm3: leftCm3, at }, id) => ({ id, source, leftCm3, at }));
        const sum = (list: Grant[]) => list.reduce((total, { leftCm3 }) => total + leftCm3, 0);
        const { uses, coveredCm3, left } = drawLitres({ monthCm3, grants: before }, wanted);
        expect(coveredCm3).toBe(Math.min(wanted, monthCm3 + sum(before)));
        expect(uses.every((use) => use.cm3 > 0)).toBe(true);
        expect(left.monthCm3 + sum(left.grants) + coveredCm3).toBe(monthCm3 + sum(before));
        expect(Math.min(left.monthCm3, ...left.grants.map(({ leftCm3 }) => leftCm3))).toBeGreaterThanOrEqual(
          0,
        );
      }),
    );
  });
});

describe('litres that come back', () => {
  it('are the share of each use, whole cm³, rounded down', () => {
    const uses = [
      { source: 'month' as const, grantId: null, cm3: 1001 },
      { source: 'card' as const, grantId: 4, cm3: 1 },
    ];
    // 1001 × 50 % = 500.5; 1 × 50 % = 0.5
    expect(litresBack(uses, '50')).toEqual([{ source: 'month', grantId: null, cm3: 500 }]);
    expect(litresBack(uses, '100')).toEqual(uses);
    expect(litresBack(uses, '0')).toEqual([]);
    // 1001 × 33.3 % = 333.333
    expect(litresBack(uses, '33.3')).toEqual([{ source: 'month', grantId: null, cm3: 333 }]);
  });
});
