import { Secret } from 'otpauth';
import { describe, expect, it } from 'vitest';
import { stepOfCode } from '../../server/members/one-time-code.ts';
import { phoneShows } from '../helpers/second-factor.ts';

/** The ASCII string '12345678901234567890', which both RFCs take as the key. */
const KEY = 'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ';

it("is the RFCs' key", () => {
  expect(Buffer.from(Secret.fromBase32(KEY).bytes).toString('latin1')).toBe('12345678901234567890');
});

// RFC 6238, Appendix B, the rows of SHA-1: seconds since 1970, the step as hexadecimal digits, the code of eight digits. A
// code of six is its last six, since both are what RFC 4226, 5.3, cuts down modulo a power of ten.
describe('RFC 6238, Appendix B', () => {
  it.each([
    [59, '0000000000000001', '94287082'],
    [1_111_111_109, '00000000023523EC', '07081804'],
    [1_111_111_111, '00000000023523ED', '14050471'],
    [1_234_567_890, '000000000273EF07', '89005924'],
    [2_000_000_000, '0000000003F940AA', '69279037'],
    [20_000_000_000, '0000000027BC86AA', '65353130'],
  ])('at %i s', (seconds, step, code) => {
    const digits = code.slice(-6);
    const now = seconds * 1000;
    expect(stepOfCode(KEY, digits, now, 0)).toBe(Number.parseInt(step, 16));
    expect(phoneShows(KEY, now)).toBe(digits);
  });
});

// RFC 4226, Appendix D: codes of six digits by counter, here the number of the 30-second step.
describe('RFC 4226, Appendix D', () => {
  it.each([
    [1, '287082'],
    [2, '359152'],
    [3, '969429'],
    [4, '338314'],
    [5, '254676'],
    [6, '287922'],
    [7, '162583'],
    [8, '399871'],
    [9, '520489'],
  ])('counter %i', (counter, code) => {
    expect(stepOfCode(KEY, code, counter * 30_000, 0)).toBe(counter);
  });
});
