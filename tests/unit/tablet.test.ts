import { describe, expect, it } from 'vitest';
import { byInitial, initialsOf } from '../../server/buckets/initials.ts';
import { deviceCookie, sentDevice } from '../../server/core/device.ts';
import { pinProblem } from '../../server/members/pin.ts';
import { PIN_WAITS, waitSeconds, waitWords } from '../../server/members/slow-down.ts';

const named = (...names: string[]) => names.map((name) => ({ name }));

describe('names by their first letter', () => {
  it('forget accents and case, and put what begins with none under #', () => {
    expect(initialsOf(named('Zoe', 'Åsa', 'ana', 'Émile', ' Ida', '3 Rivers', '…'))).toEqual([
      '#',
      'A',
      'E',
      'I',
      'Z',
    ]);
    expect(byInitial(named('Åsa', 'ana', 'Ida'), 'A')).toEqual(named('Åsa', 'ana'));
    expect(byInitial(named('3 Rivers', 'Ida'), '#')).toEqual(named('3 Rivers'));
  });
});

describe('a PIN', () => {
  it.each(['4071', '2804', '9175', '0391'])('%s is taken', (pin) => expect(pinProblem(pin)).toBeNull());
  it.each([
    '0000',
    '9999',
    '0123',
    '6789',
    '9876',
    '3210',
    '4545',
    '1930',
    '2039',
    '407',
    '40711',
    '40 1',
    '4o71',
  ])('%s is not', (pin) => expect(pinProblem(pin)).not.toBeNull());
  it('may look like a year that nobody here was born in', () => {
    expect(pinProblem('1929')).toBeNull();
    expect(pinProblem('2040')).toBeNull();
  });
});

describe('the waits between wrong PINs', () => {
  it('begin after three, double, and end at an hour', () => {
    const waits = [0, 2, 3, 4, 5, 10, 11, 400].map((failures) => waitSeconds(failures, 3, PIN_WAITS));
    expect(waits).toEqual([0, 0, 15, 30, 60, 1920, 3600, 3600]);
  });

  it('leave a day of guessing hardly a chance of ten thousand', () => {
    let [at, tries] = [0, 0];
    for (; at < 24 * 3600; tries++) at += waitSeconds(tries + 1, 3, PIN_WAITS);
    expect(tries).toBeLessThan(40);
  });

  it.each([
    [1, '1 second'],
    [15, '15 seconds'],
    [119, '119 seconds'],
    [120, '2 minutes'],
    [121, '3 minutes'],
    [3600, '60 minutes'],
  ])('of %d s is said as %s', (seconds, words) => expect(waitWords(seconds)).toBe(words));
});

describe('the cookie of a tablet', () => {
  const SECRET = 'a-secret_of-the-right-length';
  it('is found among others, and only under the name that its kind of address has', () => {
    const plain = deviceCookie(SECRET, false).split(';')[0] as string;
    const safe = deviceCookie(SECRET, true).split(';')[0] as string;
    expect(sentDevice(`wareboard=x; ${plain}; other=1`, false)).toBe(SECRET);
    expect(sentDevice(safe, true)).toBe(SECRET);
    expect(sentDevice(plain, true)).toBeNull();
    expect(sentDevice(safe, false)).toBeNull();
    expect(sentDevice(undefined, false)).toBeNull();
    expect(sentDevice('wareboard-tablet=short', false)).toBeNull();
    expect(deviceCookie(SECRET, true)).toMatch(/^__Host-.*Path=\/.*HttpOnly.*Secure$/);
  });
});
