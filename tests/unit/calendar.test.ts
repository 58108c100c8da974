import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { fromWallTime, toWallTime } from '../../server/core/wall-time.ts';
import {
  type Booking,
  bookingAt,
  isStaffed,
  nextSlots,
  nextStaffed,
  type Wanted,
  whyNot,
} from '../../server/kilns/calendar.ts';

const ZONE = 'Europe/London';
const at = (wall: string) => fromWallTime(wall, ZONE) as number;
const nine = { from: 9 * 60, to: 18 * 60 };
// Nobody on Sundays.
const staffed = [nine, nine, nine, nine, nine, nine, null];
const house = { staffed, siteKilowatts: 20 };
const wanted: Wanted = { load: 7, kilnId: 1, heatingHours: 10, coolingHours: 14, kilowatts: 11 };
const booked = (start: string, over: Partial<Wanted> = {}): Booking =>
  bookingAt({ ...wanted, load: 1, ...over }, at(start), house, ZONE);

describe('when somebody is there', () => {
  it('is from opening up to closing, by the studio clock', () => {
    expect(isStaffed(at('2026-03-06T09:00'), staffed, ZONE)).toBe(true);
    expect(isStaffed(at('2026-03-06T17:59'), staffed, ZONE)).toBe(true);
    expect(isStaffed(at('2026-03-06T18:00'), staffed, ZONE)).toBe(false);
    expect(isStaffed(at('2026-03-08T12:00'), staffed, ZONE)).toBe(false);
  });

  it('comes again the next morning, and after a Sunday on Monday', () => {
    expect(nextStaffed(at('2026-03-06T03:00'), staffed, ZONE)).toBe(at('2026-03-06T09:00'));
    expect(nextStaffed(at('2026-03-07T18:30'), staffed, ZONE)).toBe(at('2026-03-09T09:00'));
    expect(nextStaffed(at('2026-03-07T12:10'), staffed, ZONE)).toBe(at('2026-03-07T12:10'));
  });

  it('holds over the change of clocks', () => {
    // The clocks go forward on 29 March 2026.
    expect(nextStaffed(at('2026-03-28T20:00'), staffed, ZONE)).toBe(at('2026-03-30T09:00'));
  });

  it('is never where no day has hours', () => {
    expect(
      nextStaffed(
        at('2026-03-06T03:00'),
        staffed.map(() => null),
        ZONE,
      ),
    ).toBeNull();
    expect(nextSlots(wanted, [], { ...house, staffed: [] }, ZONE, at('2026-03-06T03:00'))).toEqual([]);
  });
});

describe('a place on the calendar', () => {
  it('ends when it is cold and somebody is there to empty it', () => {
    // 12:00 + 10 h + 14 h is Saturday noon; from 17:00 it would be Saturday 17:00, from 17:30 in the Sunday.
    expect(toWallTime(booked('2026-03-06T12:00').freeAt, ZONE)).toBe('2026-03-07T12:00');
    expect(toWallTime(booked('2026-03-06T17:30', { coolingHours: 15 }).freeAt, ZONE)).toBe(
      '2026-03-09T09:00',
    );
  });

  it('is refused where another load has the kiln, and the next minute is free', () => {
    const other = booked('2026-03-06T12:00');
    const clash = bookingAt(wanted, other.freeAt - HOUR, house, ZONE);
    expect(whyNot(clash, [other], house, ZONE)).toEqual(['Load 1 has this kiln then.']);
    expect(whyNot(bookingAt(wanted, other.freeAt, house, ZONE), [other], house, ZONE)).toEqual([]);
  });

  it('is refused when nobody is there to start it', () => {
    expect(whyNot(bookingAt(wanted, at('2026-03-06T20:00'), house, ZONE), [], house, ZONE)).toEqual([
      'Nobody is in the studio at that time to load and start it.',
    ]);
  });

  it('counts the kW of kilns that heat at one moment only', () => {
    const other = booked('2026-03-06T09:00', { kilnId: 2 });
    const together = bookingAt(wanted, at('2026-03-06T12:00'), house, ZONE);
    expect(whyNot(together, [other], house, ZONE)).toEqual([
      'With the kilns that heat at that time it is 22 kW; the studio has 20.',
    ]);
    // Two that do not heat together are not added up.
    const long = { ...wanted, heatingHours: 30, kilowatts: 9 };
    const two = [
      booked('2026-03-06T09:00', { kilnId: 2 }),
      booked('2026-03-07T09:00', { load: 2, kilnId: 3 }),
    ];
    expect(whyNot(bookingAt(long, at('2026-03-06T10:00'), house, ZONE), two, house, ZONE)).toEqual([]);
    expect(whyNot({ ...together, kilowatts: null }, [other], house, ZONE)).toEqual([]);
  });

  it('does not clash with itself when it is moved', () => {
    const mine = booked('2026-03-06T12:00', { load: 7 });
    expect(whyNot(bookingAt(wanted, at('2026-03-06T13:00'), house, ZONE), [mine], house, ZONE)).toEqual([]);
  });
});

describe('the next places', () => {
  it('are free ones, on different openings, the soonest first', () => {
    const other = booked('2026-03-06T09:00');
    const slots = nextSlots(wanted, [other], house, ZONE, at('2026-03-06T10:10'));
    expect(slots.map((s) => toWallTime(s.startsAt, ZONE))).toEqual([
      toWallTime(other.freeAt, ZONE),
      '2026-03-09T09:00',
      '2026-03-10T09:00',
    ]);
  });

  it('never overlap and never pass the limit, whatever was placed one after the other', () => {
    const wish = fc.record({
      kilnId: fc.integer({ min: 1, max: 3 }),
      heatingHours: fc.double({ min: 0.5, max: 40, noNaN: true }),
      coolingHours: fc.double({ min: 0, max: 60, noNaN: true }),
      kilowatts: fc.option(fc.double({ min: 1, max: 15, noNaN: true })),
    });
    fc.assert(
      fc.property(fc.array(wish, { minLength: 2, maxLength: 7 }), fc.nat(9), (wishes, shift) => {
        const placed: Booking[] = [];
        const start = at('2026-03-25T08:00') + shift * 7 * HOUR;
        for (const [load, one] of wishes.entries()) {
          const [slot] = nextSlots({ ...one, load }, placed, house, ZONE, start, 1);
          if (slot) placed.push(slot);
        }
        for (const a of placed)
          for (const b of placed)
            if (a.load < b.load && a.kilnId === b.kilnId)
              expect(a.freeAt <= b.startsAt || b.freeAt <= a.startsAt).toBe(true);
        for (let t = start; t < start + 20 * DAY; t += HOUR / 2) {
          const drawn = placed
            .filter((p) => p.startsAt <= t && t < p.offAt)
            .reduce((sum, p) => sum + (p.kilowatts ?? 0), 0);
          expect(drawn).toBeLessThanOrEqual(20 + 1e-6);
        }
      }),
      { numRuns: 40 },
    );
  });
});
