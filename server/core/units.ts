/** SI inside; this is the edge where a person's preference decides what is shown and typed. */
export type UnitSystem = 'metric' | 'us';

const LITRES_A_QUART = 0.946352946;
const KG_A_POUND = 0.45359237;

export function volumeUnit(system: UnitSystem): 'L' | 'qt' {
  return system === 'us' ? 'qt' : 'L';
}

export function massUnit(system: UnitSystem): 'kg' | 'lb' {
  return system === 'us' ? 'lb' : 'kg';
}

/** Litres as shown: '1.75 L' or, in US liquid quarts, '1.85 qt'. */
export function volume(litres: number, system: UnitSystem): string {
  return `${amount(fromLitres(litres, system), 2)} ${volumeUnit(system)}`;
}

/** Kilograms as shown: '1.2 kg' or '2.6 lb'; from a pound up to a tenth, as a shop scale reads. */
export function mass(kg: number, system: UnitSystem): string {
  if (system === 'metric') return `${amount(kg, 2)} kg`;
  const pounds = kg / KG_A_POUND;
  return `${amount(pounds, pounds < 1 ? 2 : 1)} lb`;
}

/** What a person typed as a volume, in litres. */
export function toLitres(value: number, system: UnitSystem): number {
  return system === 'us' ? value * LITRES_A_QUART : value;
}

/** Litres as a person would type them: the inverse of `toLitres`. */
export function fromLitres(litres: number, system: UnitSystem): number {
  return system === 'us' ? litres / LITRES_A_QUART : litres;
}

/** What a person typed as a mass, in kilograms. */
export function toKg(value: number, system: UnitSystem): number {
  return system === 'us' ? value * KG_A_POUND : value;
}

/** Kilograms as a person would type them: the inverse of `toKg`. */
export function fromKg(kg: number, system: UnitSystem): number {
  return system === 'us' ? kg / KG_A_POUND : kg;
}

/** One decimal more below 0.1, one fewer from 10 up, where it would promise more than anybody measured. */
function amount(value: number, decimals: number): string {
  const size = Math.abs(value);
  if (size < 0.1) return trimmed(value, 3);
  return trimmed(value, size < 10 ? decimals : 1);
}

function trimmed(value: number, decimals: number): string {
  return String(Number(value.toFixed(decimals)));
}
