import { expect, it } from 'vitest';
import {
  costMinor,
  DUTY,
  energyKwh,
  plannedKwh,
  singlePhaseKw,
  threePhaseKw,
} from '../../server/kilns/energy.ts';
import { plan } from '../../server/kilns/schedule.ts';

it.each([
  [240, 15, 3.6, "a kiln maker's support note"],
  [240, 48, 11.52, "inputs of a ceramics school's note"],
])('one phase, %i V × %i A: %f kW (%s)', (volts, amps, kw) => {
  expect(singlePhaseKw(volts, amps)).toBeCloseTo(kw, 9);
});

it('three phases, 400 V × 16 A: 11.085 kW (definition, √3·U·I)', () => {
  expect(Math.abs(threePhaseKw(400, 16) - 11.085)).toBeLessThanOrEqual(0.001);
});

it('duty cycles: preheat 15 %, bisque 50 %, cone 6 glaze 65 % (a ceramics school’s note)', () => {
  expect(DUTY).toEqual({ preheat: 0.15, bisque: 0.5, glaze: 0.65 });
});

it('11.52 kW, 7 h preheat and 9 h of a bisque: 63.936 kWh (inputs as above)', () => {
  const parts = [
    { hours: 7, duty: DUTY.preheat },
    { hours: 9, duty: DUTY.bisque },
  ];
  expect(Math.abs(energyKwh(11.52, parts) - 63.936)).toBeLessThanOrEqual(0.001);
});

it('the same from a schedule: 7 h below red heat, 9 h to the top', () => {
  const segments = [
    { rateCPerH: 25, toC: 195, holdMin: 0 },
    { rateCPerH: 100, toC: 1095, holdMin: 0 },
  ];
  expect(plannedKwh(plan(segments, 20), 'bisque', 11.52)).toBeCloseTo(63.936, 9);
});

it.each([
  [10.8 * 5, '9', 486n, "54 kWh at $0.09: $4.86 (a kiln maker's support note)"],
  [8 * 9 * 0.5, '800', 28800n, "36 kWh at Rs 8: Rs 288 (a ceramics school's note)"],
  [3 * 4, '11', 132n, '12 kWh at 11 p: £1.32; the note that has it prints £1.31'],
])('cost of %f kWh at %s: %s (%s)', (kwh, price, cost) => {
  expect(costMinor(kwh, price)).toBe(cost);
});

it('measured kilns of 73.6 L took 26 to 29 kWh to cone 06: the same order from duty and hours (list of 2001)', () => {
  // 5.3 kW and 10 h for such a kiln: common practice, no source.
  const kwh = energyKwh(5.3, [{ hours: 10, duty: DUTY.bisque }]);
  expect(kwh).toBeGreaterThan(26 * 0.8);
  expect(kwh).toBeLessThan(29 * 1.2);
});
