import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  lacking,
  lastDay,
  namesIn,
  refusalWords,
  SOON_DAYS,
  standing,
  VERB_WORDS,
} from '../../server/safety/induction.ts';
import { VERBS, type Verb } from '../../server/safety/settings.ts';

const DAY = 86_400_000;
const dayAfter = (date: string, days: number) =>
  new Date(Date.parse(date) + days * DAY).toISOString().slice(0, 10);

const aDate = fc
  .integer({ min: Date.UTC(2000, 0, 1) / DAY, max: Date.UTC(2090, 0, 1) / DAY })
  .map((days) => new Date(days * DAY).toISOString().slice(0, 10));

describe('how long an induction holds', () => {
  it.each([
    ['2026-03-07', 12, '2027-03-07'],
    ['2026-12-31', 2, '2027-02-28'],
    ['2027-12-31', 2, '2028-02-29'],
    ['2028-02-29', 12, '2029-02-28'],
    ['2028-02-29', 48, '2032-02-29'],
    ['2026-01-31', 1, '2026-02-28'],
    ['2026-11-30', 3, '2027-02-28'],
    ['2026-05-15', 0, '2026-05-15'],
  ])('from %s for %i months ends with %s', (given, months, last) => {
    expect(lastDay(given, months)).toBe(last);
  });

  it('never ends earlier for having been given later or for longer', () => {
    fc.assert(
      fc.property(aDate, fc.nat(400), fc.nat(60), (given, later, months) => {
        expect(lastDay(dayAfter(given, later), months) >= lastDay(given, months)).toBe(true);
        expect(lastDay(given, months + 1) > lastDay(given, months)).toBe(true);
      }),
    );
  });

  it('holds on its last day and not on the next', () => {
    fc.assert(
      fc.property(aDate, fc.integer({ min: 1, max: 60 }), (given, months) => {
        const last = lastDay(given, months);
        expect(standing(given, months, last).standing).toBe('soon');
        expect(standing(given, months, dayAfter(last, 1)).standing).toBe('over');
        expect(standing(given, months, dayAfter(last, -SOON_DAYS)).standing).toBe('soon');
        expect(standing(given, months, dayAfter(last, -SOON_DAYS - 1)).standing).toBe('held');
      }),
    );
  });

  it('is neither held nor over where none was given', () => {
    expect(standing(null, 12, '2026-11-27')).toEqual({ standing: 'never', until: null });
  });
});

describe('what somebody lacks', () => {
  const today = '2026-11-27';
  const fresh = '2026-10-01';
  const old = '2025-11-26';
  const ask = (gated: Verb[], verb: Verb, newest: Partial<Record<Verb, string | null>>) =>
    lacking({ gated, inductionMonths: 12 }, verb, newest, today);

  it.each(VERBS)('is nothing for %s while nothing is asked for', (verb) => {
    expect(ask([], verb, {})).toEqual([]);
  });

  it.each(VERBS.filter((verb) => verb !== 'common'))('is asked for by its own name alone: %s', (verb) => {
    expect(ask([verb], verb, {})).toEqual([verb]);
    expect(ask([verb], verb, { [verb]: old })).toEqual([verb]);
    expect(ask([verb], verb, { [verb]: null })).toEqual([verb]);
    expect(ask([verb], verb, { [verb]: fresh })).toEqual([]);
    expect(
      ask(
        VERBS.filter((other) => other !== verb),
        verb,
        {},
      ),
    ).toEqual([]);
  });

  it('has the common rules beneath it where they are asked for', () => {
    expect(ask(['common', 'dip'], 'dip', { dip: fresh })).toEqual(['common']);
    expect(ask(['common', 'dip'], 'dip', { dip: fresh, common: old })).toEqual(['common']);
    expect(ask(['common', 'dip'], 'dip', { common: fresh })).toEqual(['dip']);
    expect(ask(['common', 'dip'], 'dip', {})).toEqual(['common', 'dip']);
    expect(ask(['common', 'dip'], 'dip', { common: fresh, dip: fresh })).toEqual([]);
    expect(ask(['common'], 'common', {})).toEqual(['common']);
  });

  it('is said in one plain sentence, with where to look at a bucket', () => {
    expect(refusalWords('open-kiln', ['open-kiln'], 12)).toBe(
      'You have not been shown how to open a kiln here, or it is more than 12 months ago. Ask a technician.',
    );
    expect(refusalWords('dip', ['common', 'dip'], 1)).toBe(
      'You have not been shown the common rules and how to dip here, or it is more than a month ago. Ask a technician. Nothing is recorded until then; the tag on the bucket says what to mind.',
    );
    for (const verb of VERBS) expect(VERB_WORDS[verb].name).not.toBe('');
  });
});

describe('a roster', () => {
  it('is one name a line, whatever the machine ends its lines with', () => {
    expect(namesIn('  Asa \r\nBirk\rCleo\n\n  \nDoro')).toEqual(['Asa', 'Birk', 'Cleo', 'Doro']);
    expect(namesIn(' \n\t\n')).toEqual([]);
  });
});
