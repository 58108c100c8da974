import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  keyAddress,
  keyInGroups,
  newKey,
  sixDigits,
  stepOfCode,
} from '../../server/members/one-time-code.ts';
import { asRecoveryCode, newSet, SET_SIZE } from '../../server/members/recovery-code.ts';
import { phoneShows } from '../helpers/second-factor.ts';

const STEP = 30_000;
const instants = fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2100, 0, 1) });

describe('a code of six digits', () => {
  it('is taken one step early or late, and never two', () => {
    const key = newKey();
    fc.assert(
      fc.property(instants, fc.integer({ min: -4, max: 4 }), (now, off) => {
        const step = Math.floor(now / STEP) + off;
        const code = phoneShows(key, step * STEP);
        // Two steps may show the same six digits.
        const near = [-1, 0, 1].map((one) => phoneShows(key, now + one * STEP));
        fc.pre(Math.abs(off) <= 1 || !near.includes(code));
        fc.pre(near.filter((one) => one === code).length <= 1);
        expect(stepOfCode(key, code, now, 0)).toBe(Math.abs(off) <= 1 ? step : null);
      }),
    );
  });

  it('is not taken twice, nor one from before the last that was', () => {
    const key = newKey();
    const now = Date.UTC(2026, 10, 28, 12);
    const step = now / STEP;
    const code = phoneShows(key, now);
    expect(stepOfCode(key, code, now, step - 1)).toBe(step);
    expect(stepOfCode(key, code, now, step)).toBeNull();
    expect(stepOfCode(key, phoneShows(key, now - STEP), now, step)).toBeNull();
    expect(stepOfCode(key, phoneShows(key, now + STEP), now, step)).toBe(step + 1);
  });

  it('is of its own key', () => {
    const now = Date.UTC(2026, 10, 28, 12);
    fc.assert(
      fc.property(fc.nat(999_999), (number) => {
        const digits = String(number).padStart(6, '0');
        const key = 'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ';
        const right = [-1, 0, 1].some((one) => phoneShows(key, now + one * STEP) === digits);
        expect(stepOfCode(key, digits, now, 0) !== null).toBe(right);
      }),
    );
  });

  it.each([
    ['123456', '123456'],
    [' 123 456 ', '123456'],
    ['123-456', '123456'],
    ['12345', null],
    ['1234567', null],
    ['12345a', null],
    ['١٢٣٤٥٦', null],
    ['', null],
    ['-1e999', null],
  ])('%j is read as %j', (typed, digits) => {
    expect(sixDigits(typed)).toBe(digits);
  });
});

describe('a key', () => {
  it('has 160 bits, is another each time, and is shown in groups of four', () => {
    const keys = Array.from({ length: 50 }, newKey);
    expect(new Set(keys).size).toBe(50);
    for (const key of keys) expect(key).toMatch(/^[A-Z2-7]{32}$/);
    expect(keyInGroups('ABCDEFGH')).toBe('ABCD EFGH');
    expect(keyInGroups(keys[0] as string).split(' ')).toHaveLength(8);
  });

  it('is handed to the phone with whose it is, whatever those are called', () => {
    const key = newKey();
    fc.assert(
      fc.property(
        fc.string({ minLength: 1, maxLength: 80, unit: 'binary' }).filter((text) => text.isWellFormed()),
        (studio) => {
          const url = new URL(keyAddress(key, { studio, email: 'ida@millrace.example' }));
          expect(url.protocol).toBe('otpauth:');
          expect(url.host).toBe('totp');
          expect(url.searchParams.get('secret')).toBe(key);
          expect(decodeURIComponent(url.pathname).split(':')).toHaveLength(2);
          expect(decodeURIComponent(url.pathname)).toMatch(/:ida@millrace\.example$/);
          for (const [name, value] of Object.entries({ algorithm: 'SHA1', digits: '6', period: '30' }))
            expect(url.searchParams.get(name)).toBe(value);
        },
      ),
      { numRuns: 30 },
    );
  });
});

describe('recovery codes', () => {
  it('are ten, and no two begin alike', () => {
    for (let n = 0; n < 50; n++) {
      const codes = newSet();
      expect(codes).toHaveLength(SET_SIZE);
      expect(new Set(codes.map((code) => code.slice(0, 4))).size).toBe(SET_SIZE);
      for (const code of codes) expect(code).toMatch(/^[A-HJKMNP-TV-Z2-9]{4}(-[A-HJKMNP-TV-Z2-9]{4}){2}$/);
    }
  });

  it('are read however they are copied, and nothing else is', () => {
    const [code = ''] = newSet();
    const plain = code.replaceAll('-', '');
    for (const typed of [code, plain, code.toLowerCase(), ` ${code.replaceAll('-', ' ')} `])
      expect(asRecoveryCode(typed)).toEqual({ beginning: plain.slice(0, 4), code: plain });
    for (const typed of [
      '',
      '123456',
      `${plain}A`,
      plain.slice(1),
      `%${plain.slice(1)}`,
      `0${plain.slice(1)}`,
    ])
      expect(asRecoveryCode(typed)).toBeNull();
  });
});
