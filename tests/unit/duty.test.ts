import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addDays } from '../../server/kilns/calendar.ts';
import { dutyStanding, everyWords, isFor, USUAL_DUTIES } from '../../server/safety/duty.ts';
import { KINDS } from '../../server/safety/log.ts';

const monthly = { everyDays: 30, fromOn: '2026-03-01' };
const session = { everyDays: 0, fromOn: '2026-03-01' };

describe('when a duty is due', () => {
  it('for the first time on its first day', () => {
    expect(dutyStanding(monthly, null, '2026-02-28')).toEqual({
      state: 'done',
      nextOn: '2026-03-01',
      lateDays: 0,
    });
    expect(dutyStanding(monthly, null, '2026-03-01').state).toBe('due');
    expect(dutyStanding(monthly, null, '2026-03-04')).toEqual({
      state: 'late',
      nextOn: '2026-03-01',
      lateDays: 3,
    });
  });

  it('again so many days after it was done, not after it should have been', () => {
    expect(dutyStanding(monthly, '2026-03-10', '2026-04-08')).toEqual({
      state: 'done',
      nextOn: '2026-04-09',
      lateDays: 0,
    });
    expect(dutyStanding(monthly, '2026-03-10', '2026-04-09').state).toBe('due');
  });

  it('after each session: every day until it is done, and late only after a week of nothing', () => {
    expect(dutyStanding(session, null, '2026-03-01').state).toBe('due');
    expect(dutyStanding(session, '2026-03-05', '2026-03-05').state).toBe('done');
    expect(dutyStanding(session, '2026-03-05', '2026-03-06').state).toBe('due');
    expect(dutyStanding(session, '2026-03-05', '2026-03-12').state).toBe('due');
    // common practice, no source
    expect(dutyStanding(session, '2026-03-05', '2026-03-13')).toMatchObject({ state: 'late', lateDays: 1 });
  });

  const days = fc.integer({ min: 0, max: 4000 }).map((n) => addDays('2024-01-01', n));

  it('as time goes by it never becomes less pressing, and doing it never makes it more so', () => {
    const order = ['done', 'due', 'late'];
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 800 }), days, days, days, (everyDays, fromOn, done, today) => {
        const duty = { everyDays, fromOn };
        const now = dutyStanding(duty, done, today);
        const later = dutyStanding(duty, done, addDays(today, 1));
        expect(order.indexOf(later.state)).toBeGreaterThanOrEqual(order.indexOf(now.state));
        const again = dutyStanding(duty, addDays(done, 1), today);
        expect(order.indexOf(again.state)).toBeLessThanOrEqual(order.indexOf(now.state));
        expect(now.lateDays > 0).toBe(now.state === 'late');
      }),
    );
  });
});

describe('days', () => {
  it('know leap years and the ends of months', () => {
    expect(addDays('2028-02-28', 1)).toBe('2028-02-29');
    expect(addDays('2026-02-28', 1)).toBe('2026-03-01');
    expect(addDays('2026-01-01', -1)).toBe('2025-12-31');
  });

  it('are told as people say them', () => {
    expect([0, 1, 7, 30, 365, 10].map(everyWords)).toEqual([
      'after each session',
      'every day',
      'every week',
      'every month',
      'every year',
      'every 10 days',
    ]);
  });
});

it('whoever may more does what is for those who may less', () => {
  expect(isFor('member', 'technician')).toBe(true);
  expect(isFor('technician', 'member')).toBe(false);
  expect(isFor('manager', 'technician')).toBe(false);
});

it('what is proposed to members is met by what members may write', () => {
  for (const { forRole, kind } of USUAL_DUTIES)
    if (forRole === 'member') expect(KINDS[kind].everyone).toBe(true);
});
