import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import { refusalOf } from '../../server/core/mail.ts';
import {
  afterQuiet,
  atMinute,
  choiceOf,
  concerns,
  nextTry,
  oneLine,
  subjectOf,
  TOLD_KINDS,
  wayOf,
  withAddresses,
} from '../../server/core/told.ts';
import { toWallTime } from '../../server/core/wall-time.ts';

const LONDON = 'Europe/London';
const night = { from: 22 * 60, until: 7 * 60 };
const at = (text: string) => Date.parse(text);
const iso = (instant: number) => new Date(instant).toISOString().slice(0, 16);

describe('quiet time', () => {
  it.each([
    ['before it', '2026-12-01T21:59Z', '2026-12-01T21:59'],
    ['as it begins', '2026-12-01T22:00Z', '2026-12-02T07:00'],
    ['after midnight', '2026-12-02T03:00Z', '2026-12-02T07:00'],
    ['as it ends', '2026-12-02T07:00Z', '2026-12-02T07:00'],
    ['in summer, by the clock on the wall', '2026-07-01T21:30Z', '2026-07-02T06:00'],
    ['in the night that is an hour short', '2026-03-28T23:00Z', '2026-03-29T06:00'],
    ['in the night that is an hour longer', '2026-10-24T22:00Z', '2026-10-25T07:00'],
  ])('%s', (_, now, goesOut) => {
    expect(iso(afterQuiet(at(now), night, LONDON))).toBe(goesOut);
  });

  it('ends at the first time there is, where the clock skips its end', () => {
    const until = { from: 23 * 60, until: 90 };
    // 01:30 does not exist on 29 March 2026: 00:59 is followed by 02:00.
    expect(iso(afterQuiet(at('2026-03-29T00:30Z'), until, LONDON))).toBe('2026-03-29T01:00');
  });

  it('holds in the second of two equal hours, too', () => {
    const until = { from: 23 * 60, until: 105 };
    expect(iso(afterQuiet(at('2026-10-25T00:30Z'), until, LONDON))).toBe('2026-10-25T00:45');
    expect(iso(afterQuiet(at('2026-10-25T01:30Z'), until, LONDON))).toBe('2026-10-25T01:45');
  });

  it('is nothing where none was chosen', () => {
    const now = at('2026-12-02T03:00Z');
    for (const quiet of [
      { from: null, until: null },
      { from: 60, until: 60 },
    ])
      expect(afterQuiet(now, quiet, LONDON)).toBe(now);
  });

  it('never lets a mail out within it, nor keeps one for more than a day and an hour', () => {
    const minute = fc.integer({ min: 0, max: 1439 });
    const zone = fc.constantFrom(LONDON, 'America/New_York', 'Australia/Lord_Howe', 'Asia/Kathmandu', 'UTC');
    const now = fc.integer({ min: at('2026-01-01T00:00Z') / MINUTE, max: at('2027-12-31T00:00Z') / MINUTE });
    fc.assert(
      fc.property(now, minute, minute, zone, (minutes, from, until, timeZone) => {
        const quiet = { from, until };
        const out = afterQuiet(minutes * MINUTE, quiet, timeZone);
        expect(out).toBeGreaterThanOrEqual(minutes * MINUTE);
        expect(out - minutes * MINUTE).toBeLessThanOrEqual(25 * HOUR);
        expect(afterQuiet(out, quiet, timeZone)).toBe(out);
      }),
      { numRuns: 500 },
    );
  });
});

describe('a time of the day', () => {
  it('is found on every day, once', () => {
    for (const [day, minute, shown] of [
      ['2026-03-29', 450, '2026-03-29T07:30'],
      ['2026-03-29', 75, '2026-03-29T02:00'],
      ['2026-10-25', 90, '2026-10-25T01:30'],
      ['2026-12-31', 1439, '2026-12-31T23:59'],
    ] as const)
      expect(toWallTime(atMinute(day, minute, LONDON), LONDON)).toBe(shown);
  });
});

describe('what a mail is called', () => {
  it('is its first sentence, short and on one line, and says nothing of money', () => {
    expect(subjectOf('own-things', 'Ida added you to Wheel 2. See you there.')).toBe(
      'Ida added you to Wheel 2',
    );
    expect(subjectOf('fees', 'Your statement for October is ready: £12.00 to pay.')).toBe('Your account');
    expect([...subjectOf('safety', 'x'.repeat(500))]).toHaveLength(120);
    expect(subjectOf('safety', '🏺'.repeat(500))).toMatch(/^(🏺){119}…$/u);
  });

  it('can never be more than one line', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 0x2100 })), (letters) => {
        const words = String.fromCodePoint(...letters);
        for (const text of [oneLine(words), subjectOf('safety', words)])
          expect(text).not.toMatch(/[\p{Cc}\u2028\u2029]/u);
      }),
    );
  });

  it('names a page with its whole address, or says where to go by hand', () => {
    const body = 'It is fired.\n\nSee: /ware/3';
    expect(withAddresses(body, 'https://glaze.example')).toBe(
      'It is fired.\n\nSee: https://glaze.example/ware/3',
    );
    expect(withAddresses(body, null)).toBe('It is fired.\n\nIn Wareboard: /ware/3');
  });
});

describe('choices', () => {
  it('hold for every kind of message, and what must not be silenced is not', () => {
    for (const kind of ['load', 'dry', 'group', 'what-comes-one-day'])
      expect(choiceOf(kind)).toBe('own-things');
    expect(choiceOf('statement')).toBe('fees');
    expect(choiceOf('constructor')).toBe('own-things');
    expect(wayOf('fees', 'none')).toBe('mail');
    expect(wayOf('sign-in', 'none')).toBe('mail');
    expect(wayOf('notice', 'none')).toBe('inbox');
    expect(wayOf('stir', 'none')).toBe('none');
    expect(TOLD_KINDS.filter((kind) => concerns(kind, 'member'))).not.toContain('stir');
  });
});

describe('what a mail server says', () => {
  it.each([
    [{ code: 'EENVELOPE', command: 'RCPT TO', responseCode: 550, response: '550 No such user' }, 'never'],
    [{ code: 'EENVELOPE', command: 'RCPT TO', responseCode: 450, response: '450 Later' }, 'later'],
    [{ code: 'EMESSAGE', command: 'DATA', responseCode: 554, response: '554 Spam' }, 'never'],
    [{ code: 'EMESSAGE', command: 'DATA', responseCode: 421, response: '421 Closing' }, 'server'],
    [{ code: 'EMESSAGE', command: 'DATA', responseCode: 503, response: '503 Bad sequence' }, 'later'],
    [{ code: 'EENVELOPE', command: 'API', message: 'Invalid recipient "x"' }, 'never'],
    // What is ours to put right: no mail is given up for it.
    [
      { code: 'EENVELOPE', command: 'MAIL FROM', responseCode: 550, response: '550 Not your address' },
      'server',
    ],
    [{ code: 'EAUTH', command: 'AUTH PLAIN', responseCode: 535, response: '535 Wrong password' }, 'server'],
    [{ code: 'ECONNECTION', message: 'Connection closed' }, 'server'],
    [{ code: 'ETIMEDOUT', message: 'Timeout' }, 'server'],
    [new Error('The operation was aborted'), 'server'],
  ] as const)('%j: %s', (error, how) => {
    expect(refusalOf(error).how).toBe(how);
  });

  it('leads to a next try that comes later and later, and at least every hour', () => {
    const waits = [1, 2, 3, 4, 5, 6, 7, 8, 50, 5000].map((tries) => nextTry(tries, 0) / MINUTE);
    expect(waits).toEqual([1, 2, 4, 8, 16, 32, 60, 60, 60, 60]);
  });
});
