import { describe, expect, it } from 'vitest';
import { compareCones, coneOrder, coneWithin } from '../../server/ware/cone.ts';

describe('the order of cones', () => {
  it('puts a half between its neighbours', () => {
    expect(compareCones('06', '05½')).toBeLessThan(0);
    expect(compareCones('05½', '05')).toBeLessThan(0);
    expect(compareCones('5', '5½')).toBeLessThan(0);
    expect(compareCones('5½', '6')).toBeLessThan(0);
  });

  it('keeps 06 and 6 far apart: the dearest slip in a shared studio', () => {
    expect(coneWithin('6', '5', '7')).toBe(true);
    expect(coneWithin('06', '5', '7')).toBe(false);
    expect(coneWithin('6', '07', '04')).toBe(false);
    expect(coneWithin('6', '6', '6')).toBe(true);
    expect(coneWithin('5½', '6', '5')).toBe(true);
  });

  it('refuses what is no cone', () => {
    for (const no of ['', '0', '00', '15', '023', '6.5', 'six', '-6', '½', '1e1'])
      expect(() => coneOrder(no), no).toThrow(RangeError);
  });
});
