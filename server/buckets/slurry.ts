import { WATER_20 } from './gravity.ts';

// Solids and water are taken to add by volume. Every function expects a gravity between that of water (rho) and
// that of the solids; advice.ts and ledger.ts see to it.

/**
 * Dry solids in kg of so many litres of slurry: V·(G − ρ_w)·S/(S − ρ_w).
 *
 * Source: the dry-content formula of A. Brongniart, Traité des arts céramiques, vol. 1 (1854) p. 249, metric.
 */
export function solidsKg(litres: number, sg: number, solidsDensity: number, rho = WATER_20): number {
  return (litres * (sg - rho) * solidsDensity) / (solidsDensity - rho);
}

/** Water in kg of so many litres of slurry: what is not solids. */
export function waterKg(litres: number, sg: number, solidsDensity: number, rho = WATER_20): number {
  return litres * sg - solidsKg(litres, sg, solidsDensity, rho);
}

/** Litres that so many kg of solids and water fill. */
export function litresOf(solids: number, water: number, solidsDensity: number, rho = WATER_20): number {
  return solids / solidsDensity + water / rho;
}

/** Specific gravity of so many kg of solids and water; NaN for none of either. */
export function gravityOf(solids: number, water: number, solidsDensity: number, rho = WATER_20): number {
  return (solids + water) / litresOf(solids, water, solidsDensity, rho);
}

/** Mass fraction of solids, 0 to 1: S·(G − ρ_w)/(G·(S − ρ_w)). */
export function solidsMassFraction(sg: number, solidsDensity: number, rho = WATER_20): number {
  return solidsKg(1, sg, solidsDensity, rho) / sg;
}

/** Litres of water that thin a slurry to a target below its gravity: V·(G − T)/(T − ρ_w). */
export function waterToThin(i: { litres: number; sg: number; target: number }, rho = WATER_20): number {
  return (i.litres * (i.sg - i.target)) / (i.target - rho);
}

/** Kilograms of dry glaze that thicken a slurry to a target above its gravity: V·(T − G)/(1 − T/S). */
export function dryToThicken(i: {
  litres: number;
  sg: number;
  target: number;
  solidsDensity: number;
}): number {
  return (i.litres * (i.target - i.sg)) / (1 - i.target / i.solidsDensity);
}

/** Litres of clear water to take off after settling to thicken to a target: V·(T − G)/(T − ρ_w). */
export function waterToTakeOff(i: { litres: number; sg: number; target: number }, rho = WATER_20): number {
  return (i.litres * (i.target - i.sg)) / (i.target - rho);
}

/** Litres of a slurry of gravity `blend` that bring a slurry to a target between the two: V·(T − G)/(B − T). */
export function slurryToBlend(i: { litres: number; sg: number; target: number; blend: number }): number {
  return (i.litres * (i.target - i.sg)) / (i.blend - i.target);
}
