import type { FiringKind } from '../ware/firing.ts';
import type { Plan } from './schedule.ts';

/** Share of the time that the elements are on, by part of a firing, 0 … 1. */
export interface Duty {
  preheat: number;
  bisque: number;
  /** Glaze at about cone 6. */
  glaze: number;
}

/** Source: a ceramics school's note on kiln electricity (preheat 15 %, bisque 50 %, cone 6 glaze 65 %). */
export const DUTY: Duty = { preheat: 0.15, bisque: 0.5, glaze: 0.65 };

/** Steps that end no hotter than this count as preheat, °C: common practice, no source. */
const PREHEAT_C = 220;

/** Power in kW of a load on one phase: P = U·I. @param volts V @param amps A */
export function singlePhaseKw(volts: number, amps: number): number {
  return (volts * amps) / 1000;
}

/** Power in kW of a balanced load on three phases: P = √3·U·I. @param volts V between two phases @param amps A in each */
export function threePhaseKw(volts: number, amps: number): number {
  return (Math.sqrt(3) * volts * amps) / 1000;
}

/** Energy in kWh: power in kW times the hours of each part times the share of them that the elements are on. */
export function energyKwh(kw: number, parts: { hours: number; duty: number }[]): number {
  return kw * parts.reduce((sum, { hours, duty }) => sum + hours * duty, 0);
}

/**
 * What a schedule is expected to take, in kWh. Cooling takes nothing: steps that lead down count only with their hold.
 * @param kw the kiln's full power
 */
export function plannedKwh({ segments }: Plan, kind: FiringKind, kw: number, duty: Duty = DUTY): number {
  // Lustre, decals and whatever else fire no hotter than a bisque: common practice, no source.
  const firing = kind === 'glaze' ? duty.glaze : duty.bisque;
  return energyKwh(
    kw,
    segments.map(({ fromC, toC, rampS, holdS }) => ({
      hours: ((toC < fromC ? 0 : rampS) + holdS) / 3600,
      duty: toC <= PREHEAT_C ? duty.preheat : firing,
    })),
  );
}

const MOST_KWH = 1e9;
const PRICE = /^(\d{1,9})(?:\.(\d{1,6}))?$/;

/**
 * Cost in minor units of the currency, halves up; the energy counts in whole Wh, the rest is exact.
 * @param kwh energy, 0 … 10⁹ kWh
 * @param pricePerKwh minor units a kWh as a decimal, such as '27.35' (a numeric column gives it so)
 * @throws RangeError when either is no such number
 */
export function costMinor(kwh: number, pricePerKwh: string): bigint {
  const [, whole, fraction = ''] = PRICE.exec(pricePerKwh) ?? [];
  if (whole === undefined) throw new RangeError(`"${pricePerKwh}" is no price of a kWh.`);
  if (!(kwh >= 0 && kwh <= MOST_KWH)) throw new RangeError(`${kwh} kWh is no amount of energy.`);
  const millionths = BigInt(whole + fraction.padEnd(6, '0'));
  const product = BigInt(Math.round(kwh * 1000)) * millionths;
  const unit = 1_000_000_000n;
  return (product * 2n + unit) / (unit * 2n);
}
