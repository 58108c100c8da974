import { HOUR, type Instant } from '../core/clock.ts';
import type { Facts } from './ledger.ts';

/**
 * Seconds through the studio's own cup. ISO 2431 and ASTM D1200 describe standard ones; any cup with a hole serves,
 * as long as it is always the same and always used alike.
 */
export interface FlowBand {
  low: number;
  high: number;
}

/** How a slurry runs for the water that is in it, against its band. */
export type Flow = 'stiff' | 'in' | 'runny';

/**
 * How the bucket flows, by what was last seen: seconds against its band, or a word. Limits belong to the band.
 * @returns null when nothing was seen since the composition last changed, when that is as old as a reading that is
 * no longer trusted, or when seconds have no band to be held against
 */
export function flowOf(
  f: Pick<Facts, 'flowSeconds' | 'flowWord' | 'flowAt'>,
  band: FlowBand | null,
  trustedHours: number,
  now: Instant,
): Flow | null {
  if (f.flowAt === null || now - f.flowAt >= trustedHours * HOUR) return null;
  switch (f.flowWord) {
    case 'thin':
      return 'runny';
    case 'cream':
      return 'in';
    case 'custard':
    case 'gelled':
      return 'stiff';
    case null:
      break;
  }
  if (f.flowSeconds === null || band === null) return null;
  if (f.flowSeconds > band.high) return 'stiff';
  return f.flowSeconds < band.low ? 'runny' : 'in';
}

/** What was seen, against what is wanted: 'flow 41 s, wanted 18 to 30 s'; empty when nothing was. */
export function flowText(f: Pick<Facts, 'flowSeconds' | 'flowWord'>, band: FlowBand | null): string {
  if (f.flowWord === 'gelled') return 'it has gelled';
  if (f.flowWord !== null) return f.flowWord === 'thin' ? 'it runs thin' : `it flows like ${f.flowWord}`;
  if (f.flowSeconds === null) return '';
  return `flow ${f.flowSeconds} s${band === null ? '' : `, wanted ${flowBandText(band)}`}`;
}

export const flowBandText = ({ low, high }: FlowBand): string => `${low} to ${high} s`;
