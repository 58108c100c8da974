import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { fromWallTime, toWallTime } from '../../server/core/wall-time.ts';
import {
  addMonths,
  type Booking,
  bookingAt,
  coolingRead,
  daysFrom,
  downAbout,
  dueBy,
  isStaffed,
  type LoadTimes,
  mondayOf,
  nextSlots,
  nextStaffed,
  type PlaceSetting,
  placeOf,
  type StudioDay,
  staffedHours,
  type Wanted,
  weeksOfMonth,
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

const cooling = { kPerH: 0.17, slowest: 0.1, fastest: 0.3, logs: 0 };
const setting = (now: string): PlaceSetting => ({
  house,
  timeZone: ZONE,
  handsBelowC: 50,
  cooling,
  now: at(now),
});
const times: LoadTimes = {
  load: 7,
  kilnId: 1,
  kilowatts: 11,
  state: 'approved',
  startsAt: at('2026-03-06T12:00'),
  freeAt: at('2026-03-07T12:00'),
  startedAt: null,
  shutOffAt: null,
  unloadedAt: null,
  measuredC: null,
  measuredAt: null,
  heatingHours: 10,
  coolingHours: 14,
};

describe('where a load stands', () => {
  it('is by plan until it is started, and nowhere without one', () => {
    expect(placeOf(times, setting('2026-03-05T12:00'))).toMatchObject({
      startsAt: times.startsAt,
      offAt: at('2026-03-06T22:00'),
      freeAt: times.freeAt,
    });
    expect(placeOf({ ...times, startsAt: null, freeAt: null }, setting('2026-03-05T12:00'))).toBeNull();
    expect(placeOf({ ...times, state: 'cancelled' }, setting('2026-03-05T12:00'))).toBeNull();
    // Heating never outlasts what was promised as the end.
    expect(placeOf({ ...times, heatingHours: 99 }, setting('2026-03-05T12:00'))?.offAt).toBe(times.freeAt);
  });

  it('draws its power as long as it fires, past its time too', () => {
    const firing: LoadTimes = { ...times, state: 'firing', startedAt: at('2026-03-06T13:00') };
    expect(placeOf(firing, setting('2026-03-06T14:00'))?.offAt).toBe(at('2026-03-06T23:00'));
    const late = placeOf(firing, setting('2026-03-07T04:00'));
    expect(late?.offAt).toBe(at('2026-03-07T05:00'));
    expect(late && late.freeAt >= late.offAt + 14 * HOUR).toBe(true);
  });

  it('is not free before it is emptied, by no forecast, and never out of hours', () => {
    const off: LoadTimes = {
      ...times,
      state: 'cooling',
      startedAt: at('2026-03-06T12:00'),
      shutOffAt: at('2026-03-06T22:00'),
    };
    expect(placeOf(off, setting('2026-03-06T23:00'))?.freeAt).toBe(at('2026-03-07T12:00'));
    // Long past its forecast: now, or when somebody is there next.
    expect(placeOf(off, setting('2026-03-09T16:10'))?.freeAt).toBe(at('2026-03-09T16:10'));
    expect(placeOf(off, setting('2026-03-09T20:00'))?.freeAt).toBe(at('2026-03-10T09:00'));
    const read = { measuredC: 300, measuredAt: at('2026-03-07T11:00') };
    const hot = placeOf({ ...off, ...read }, setting('2026-03-07T11:00'));
    expect(hot && hot.freeAt > at('2026-03-08T00:00')).toBe(true);
    expect(
      placeOf({ ...off, state: 'unloaded', unloadedAt: at('2026-03-08T10:00') }, setting('2026-03-09T10:00')),
    ).toMatchObject({ startsAt: off.startedAt, offAt: off.shutOffAt, freeAt: at('2026-03-08T10:00') });
  });

  it('takes no reading for cool that was taken before it was shut off', () => {
    const shutOffAt = at('2026-03-06T22:00');
    expect(coolingRead({ shutOffAt, measuredC: 25, measuredAt: shutOffAt - HOUR })).toBeNull();
    expect(coolingRead({ shutOffAt: null, measuredC: 25, measuredAt: shutOffAt })).toBeNull();
    expect(coolingRead({ shutOffAt, measuredC: 25, measuredAt: shutOffAt })).toEqual({
      c: 25,
      at: shutOffAt,
    });
  });

  it('has its times in order, whatever was written', () => {
    const instant = fc.option(fc.integer({ min: at('2026-03-01T00:00'), max: at('2026-03-20T00:00') }));
    fc.assert(
      fc.property(
        fc.record({
          state: fc.constantFrom<LoadTimes['state'][]>(
            'proposed',
            'approved',
            'loaded',
            'firing',
            'cooling',
            'unloaded',
            'cancelled',
          ),
          startsAt: instant,
          freeAt: instant,
          startedAt: instant,
          shutOffAt: instant,
          unloadedAt: instant,
          measuredAt: instant,
          measuredC: fc.option(fc.double({ min: -30, max: 1500, noNaN: true })),
          heatingHours: fc.double({ min: 0, max: 60, noNaN: true }),
          coolingHours: fc.double({ min: 0, max: 80, noNaN: true }),
        }),
        (some) => {
          const place = placeOf({ ...times, ...some }, setting('2026-03-10T12:00'));
          if (!place) return;
          expect(place.startsAt <= place.offAt && place.offAt <= place.freeAt).toBe(true);
          // A kiln with ware in it is not free yet.
          if (some.state === 'firing' || some.state === 'cooling')
            expect(place.freeAt).toBeGreaterThanOrEqual(at('2026-03-10T12:00'));
        },
      ),
    );
  });
});

describe('when it is likely down to a temperature', () => {
  const takes = { hours: 10, openHours: { from: 8, to: 20.5 }, coolHours: { from: 10, to: 30 } };
  const ask = (load: Partial<LoadTimes>, now: string, to: 'open' | 'hands' = 'open') =>
    downAbout({ ...times, ...load }, to, {
      takes,
      settings: { openBelowC: 90, handsBelowC: 50 },
      cooling,
      now: at(now),
    });

  it('goes by plan, then by its start, then by when it was shut off, rounded up to half hours', () => {
    expect(ask({}, '2026-03-05T12:00')).toMatchObject({
      from: at('2026-03-07T06:00'),
      to: at('2026-03-07T18:30'),
      due: false,
    });
    expect(ask({ startsAt: null }, '2026-03-05T12:00')).toBeNull();
    const firing = { state: 'firing', startedAt: at('2026-03-06T12:54') } as const;
    expect(ask(firing, '2026-03-06T14:00')).toMatchObject({
      from: at('2026-03-07T07:00'),
      to: at('2026-03-07T19:30'),
    });
    // Past its time it goes on for another hour from now.
    expect(ask(firing, '2026-03-07T10:00')?.from).toBe(at('2026-03-07T19:00'));
    const off = { ...firing, state: 'cooling', shutOffAt: at('2026-03-06T20:24') } as const;
    expect(ask(off, '2026-03-06T21:00')).toMatchObject({
      from: at('2026-03-07T04:30'),
      to: at('2026-03-07T17:00'),
    });
    expect(ask(off, '2026-03-06T21:00', 'hands')?.to).toBe(at('2026-03-08T02:30'));
    expect(ask(off, '2026-03-09T21:10')).toMatchObject({ from: at('2026-03-09T21:30'), due: true });
  });

  it('goes by the newest reading once there is one since it was shut off', () => {
    const off = { state: 'cooling', shutOffAt: at('2026-03-06T20:24') } as const;
    const read = { ...off, measuredC: 112, measuredAt: at('2026-03-06T20:35') };
    const soon = ask(read, '2026-03-06T21:20');
    expect(soon && soon.to <= at('2026-03-07T00:30')).toBe(true);
    const before = { ...off, measuredC: 20, measuredAt: at('2026-03-06T10:00') };
    expect(ask(before, '2026-03-06T21:20')).toEqual(ask(off, '2026-03-06T21:20'));
  });

  it('is nothing for a load that is done with, or without a schedule', () => {
    expect(ask({ state: 'unloaded' }, '2026-03-06T21:20')).toBeNull();
    expect(ask({ state: 'cancelled' }, '2026-03-06T21:20')).toBeNull();
    const settings = { openBelowC: 90, handsBelowC: 50 };
    expect(
      downAbout(times, 'open', { takes: null, settings, cooling, now: at('2026-03-06T10:00') }),
    ).toBeNull();
  });
});

describe('when a load ought to be out', () => {
  const waits = { longestWaitDays: 14, longestWaitBisqueDays: 10 };
  it('is the nearest of the dates that are wanted and of the longest waits', () => {
    const since = at('2026-03-01T10:00');
    expect(dueBy([], 'glaze', waits, ZONE)).toBeNull();
    expect(dueBy([{ wantedBy: null, waitingSince: since }], 'glaze', waits, ZONE)).toBe(since + 14 * DAY);
    expect(dueBy([{ wantedBy: null, waitingSince: since }], 'bisque', waits, ZONE)).toBe(since + 10 * DAY);
    const two = [
      { wantedBy: '2026-03-28', waitingSince: null },
      { wantedBy: '2026-03-29', waitingSince: at('2026-03-25T10:00') },
    ];
    // The whole of the day, which has 23 hours for the next one.
    expect(dueBy(two, 'glaze', waits, ZONE)).toBe(at('2026-03-29T00:00'));
  });
});

describe('days, weeks and months', () => {
  it('begin at midnight by the studio clock, whatever the clocks do', () => {
    const days = daysFrom('2026-03-28', 3, ZONE);
    expect(days.map(({ from, to }) => (to - from) / HOUR)).toEqual([24, 23, 24]);
    expect(daysFrom('2026-10-25', 1, ZONE).map(({ from, to }) => (to - from) / HOUR)).toEqual([25]);
    // Midnight is skipped there on that day.
    const [first] = daysFrom('2026-09-06', 1, 'America/Santiago');
    expect(first && toWallTime(first.from, 'America/Santiago')).toBe('2026-09-06T01:00');
  });

  it('know their Monday, and a month the weeks it touches', () => {
    expect(mondayOf('2026-03-01')).toBe('2026-02-23');
    expect(mondayOf('2026-03-02')).toBe('2026-03-02');
    expect(weeksOfMonth('2026-03-17')).toEqual({ monday: '2026-02-23', weeks: 6 });
    expect(weeksOfMonth('2027-02-10')).toEqual({ monday: '2027-02-01', weeks: 4 });
    expect([addMonths('2026-01-31', 1), addMonths('2026-01-05', -1)]).toEqual(['2026-02-01', '2025-12-01']);
  });

  it('have hours when somebody is there, to the end of the day too', () => {
    const [saturday, sunday] = daysFrom('2026-03-07', 2, ZONE) as [StudioDay, StudioDay];
    expect(staffedHours(saturday, staffed, ZONE)).toEqual({
      from: at('2026-03-07T09:00'),
      to: at('2026-03-07T18:00'),
    });
    expect(staffedHours(sunday, staffed, ZONE)).toBeNull();
    const all = Array.from({ length: 7 }, () => ({ from: 0, to: 24 * 60 }));
    expect(staffedHours(sunday, all, ZONE)).toEqual({ from: sunday.from, to: sunday.to });
  });
});
