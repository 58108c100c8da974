import { addCup, addFloat, addInstrument, calibrateFloat } from '../server/buckets/service/index.ts';
import type { Act } from '../server/core/actor.ts';
import { CUPS } from './deeds.ts';

const INSTRUMENTS = [
  { kind: 'scale', code: 'S1', name: 'Bench scale', resolutionG: 1 },
  { kind: 'scale', code: 'S2', name: 'Oxide scale', resolutionG: 0.1 },
  { kind: 'hydrometer', code: 'H1', name: 'Glass hydrometer', scale: 'sg', division: 0.01 },
  { kind: 'flow-cup', code: 'V1', name: 'Tin with a 4 mm hole' },
] as const;

/** Weighed in the thickest and the thinnest glaze of the day, and in one between. */
const MARKS = [
  { millimetres: 54, specificGravity: 1.594 },
  { millimetres: 110, specificGravity: 1.463 },
  { millimetres: 176, specificGravity: 1.338 },
];

export async function bringGear(act: Act): Promise<void> {
  for (const cup of Object.values(CUPS)) await addCup(act, cup);
  for (const instrument of INSTRUMENTS) await addInstrument(act, instrument);
  await addFloat(act, { code: 'F1', name: 'Bottle with a thin neck' });
  await calibrateFloat(act, 'F1', { points: MARKS });
}
