import { describe, expect, it, test } from 'vitest';
import { shareOf } from '../../server/kilns/fault-shares.ts';
import { PRESSURE_KPA } from '../../server/kilns/firing-record.ts';

// R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Stat. Med. 17 (1998) 857–872, table I,
// score method without continuity correction: from memory.
describe('the score interval of a share', () => {
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])('%i of %i: %f to %f', (faulty, all, low, high) => {
    const share = shareOf(faulty, all);
    expect(share.low).toBeCloseTo(low, 4);
    expect(share.high).toBeCloseTo(high, 4);
  });
});

// NIST SP 811, appendix B: psi, millibar and inch of water (4 °C) in pascals: from memory.
test('pressures at a burner in kPa', () => {
  expect(PRESSURE_KPA.psi * 1000).toBeCloseTo(6894.757, 3);
  expect(PRESSURE_KPA.inH2O * 1000).toBeCloseTo(249.082, 3);
  expect(PRESSURE_KPA.mbar * 1000).toBeCloseTo(100, 9);
});
