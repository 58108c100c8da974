import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { Invalid } from '../../server/core/errors.ts';
import {
  code,
  colour,
  count,
  day,
  email,
  flag,
  instant,
  parse,
  quantity,
  readForm,
  text,
} from '../../server/core/forms.ts';

const metric = { units: 'metric', timeZone: 'Europe/London', currency: 'GBP' } as const;
const us = { units: 'us', timeZone: 'America/New_York', currency: 'USD' } as const;

function errorsOf(work: () => unknown): { path: string; message: string }[] {
  try {
    work();
  } catch (error) {
    if (error instanceof Invalid) return error.errors;
    throw error;
  }
  return [];
}

describe('atoms', () => {
  it.each([
    ['a NUL', text(20), 'a\0b'],
    ['a lone surrogate', text(20), 'a\ud800b'],
    ['nothing but spaces', text(20), '   '],
    ['too long', text(3), 'abcd'],
    ['infinite', quantity(0, 10), Number.POSITIVE_INFINITY],
    ['not a number', quantity(0, 10), Number.NaN],
    ['too much', quantity(0, 10), 10.01],
    ['a fraction', count(0, 10), 1.5],
    ['beyond int4', count(0, 2 ** 31 - 1), 2 ** 31],
    ['a code with a space', code(), 'H G'],
    ['a code too long', code(), 'ABCDEFGHIJKLM'],
    ['no address', email(), 'ida'],
    ['an address with a NUL', email(), 'i\0da@millrace.example'],
    ['a colour by name', colour(), 'red'],
    ['a time without its offset', instant(), '2026-03-07T14:05:00'],
    ['the last century', instant(), '1999-12-31T23:59:59Z'],
    ['a day no February has', day(), '2025-02-29'],
    ['a thirteenth month', day(), '2025-13-01'],
    ['a day the wrong way round', day(), '07-03-2026'],
    ['a day with its hour', day(), '2026-03-07T14:05'],
    ['a day of the last century', day(), '1999-12-31'],
    ['a day long hence', day(), '2101-01-01'],
    ['the day nought', day(), '2026-03-00'],
  ])('%s is refused in words', (_what, schema, value) => {
    const errors = errorsOf(() => parse(schema, value));
    expect(errors).toHaveLength(1);
    expect(errors[0]?.message).toMatch(/^[A-Z].*\.$/);
  });

  it('keep what they take in one form', () => {
    expect(parse(text(10), ' cafe\u0301 ')).toBe('caf\u00e9');
    expect(parse(email(), ' Ida@Millrace.Example ')).toBe('ida@millrace.example');
    expect(parse(instant(), '2026-03-07T14:05:00+01:00')).toBe(Date.UTC(2026, 2, 7, 13, 5));
    expect(parse(day(), ' 2024-02-29 ')).toBe('2024-02-29');
  });
});

describe('forms', () => {
  const schema = z.strictObject({
    litres: quantity(0.01, 100, 'L'),
    parts: z.array(quantity(0, 100)).optional(),
    stirred: flag().default(true),
    happenedAt: instant().optional(),
    note: text(20).optional(),
  });

  it('read what people type: comma or point, ticks, several under one name, empty as absent', () => {
    const typed = {
      litres: ' 1,75 ',
      parts: ['1', '', '2.5'],
      stirred: 'yes',
      note: '',
      happenedAt: '',
      key: 'x',
    };
    expect(readForm(schema, typed, metric)).toEqual({ litres: 1.75, parts: [1, 2.5], stirred: true });
  });

  it('an absent tick is no', () => {
    expect(readForm(schema, { litres: '1' }, metric).stirred).toBe(false);
  });

  it('litres come in quarts from whoever measures so', () => {
    // 1 US liquid quart = 57.75 cubic inches of 25.4 mm: 0.946352946 L
    expect(readForm(schema, { litres: '2' }, us).litres).toBeCloseTo(2 * 0.946352946, 9);
  });

  it('studio time is wall time', () => {
    const at = readForm(schema, { litres: '1', happenedAt: '2026-07-01T09:30' }, metric).happenedAt;
    expect(at).toBe(Date.UTC(2026, 6, 1, 8, 30));
  });

  it('an hour the clocks skipped is said to be none', () => {
    const errors = errorsOf(() => readForm(schema, { litres: '1', happenedAt: '2026-03-29T01:30' }, metric));
    expect(errors).toEqual([{ path: 'happenedAt', message: expect.stringContaining('No such time') }]);
  });

  it('a word where a number belongs', () => {
    expect(errorsOf(() => readForm(schema, { litres: 'plenty' }, metric))).toEqual([
      { path: 'litres', message: 'Type a number.' },
    ]);
  });

  it('choose the shape by what was chosen, and say so when nothing was', () => {
    const union = z.discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('water'), litres: quantity(0, 9) }),
      z.strictObject({ kind: z.literal('dry'), kilograms: quantity(0, 9) }),
    ]);
    expect(readForm(union, { kind: 'dry', kilograms: '2', litres: '1' }, metric)).toEqual({
      kind: 'dry',
      kilograms: 2,
    });
    expect(errorsOf(() => readForm(union, { litres: '1' }, metric))[0]?.path).toBe('kind');
  });
});
